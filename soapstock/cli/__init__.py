"""The command line: one small file a noun; it parses, calls one action, and prints."""
