"""The machine of the command line, apart from what its commands do."""
