"""What reading and writing stand on: connections, tables, the hash chain."""
