"""An index of entries by day: asking for the last day on record reads one row, not all of them."""

from alembic import op

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the index."""
    op.create_index("ix_entry_happened_on", "entry", ["happened_on"])


def downgrade() -> None:
    """A ledger is never taken down."""
    raise NotImplementedError("a ledger is never taken down; restore a backup instead")
