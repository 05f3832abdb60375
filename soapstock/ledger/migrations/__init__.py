"""Alembic migrations of the ledger, carried by the package and run by soapstock.ledger.migrate."""
