"""Writing: every fact the ledger takes, guarded by the rules of stock."""
