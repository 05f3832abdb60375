"""Reading: everything the other rooms ask of the ledger."""
