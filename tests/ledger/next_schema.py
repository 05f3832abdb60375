"""An invented schema after today's, for tests of going from one to the next.

It stands in a copy of the program's migrations and adds one fact about a lot.
"""

from __future__ import annotations

import shutil
from pathlib import Path

from soapstock.ledger.base import schema

TODAY, TOMORROW = schema.newest(), f"{int(schema.newest()) + 1:04d}"
MIGRATION = f"""
import sqlalchemy as sa

from soapstock.ledger.keep.migrations.steps import fact_about_lot

revision, down_revision = "{TOMORROW}", "{TODAY}"


def upgrade():
    fact_about_lot("stamp_mark", sa.Column("mark", sa.String(), nullable=False))
"""


def migrations(folder: Path) -> Path:
    """The program's migrations and the invented one, in a folder of their own."""
    copy = folder / "migrations"
    shutil.copytree(schema.MIGRATIONS, copy)
    (copy / "versions" / f"v{TOMORROW}_invented.py").write_text(MIGRATION, encoding="utf-8")
    return copy
