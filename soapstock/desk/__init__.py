"""One shop, its open ledger, the day, the person; and finding what a person typed."""
