"""One file a schema version, named and numbered in order."""
