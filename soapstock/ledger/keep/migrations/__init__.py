"""Alembic migrations of the ledger, carried by the package; keep.migrate runs them."""
