"""Keeping a ledger: audit, backups, migrations, moving to another database."""
