"""An index of postings by place, so that a full rack is noticed without reading every posting."""

from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the index."""
    op.create_index("ix_posting_place", "posting", ["place", "unit", "quantity"])


def downgrade() -> None:
    """A ledger is never taken down."""
    raise NotImplementedError("a ledger is never taken down; restore a backup instead")
