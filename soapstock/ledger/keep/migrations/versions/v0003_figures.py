"""A table of further figures: acid value and moisture of a fat lot, how long a lye took to cool."""

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the table, append-only like the others."""
    op.create_table(
        "figure",
        sa.Column("entry_id", sa.Integer(), sa.ForeignKey("entry.id"), primary_key=True),
        sa.Column("line", sa.Integer(), primary_key=True),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("value", sa.Float(), nullable=False),
    )
    if op.get_bind().dialect.name == "sqlite":
        for verb in ("UPDATE", "DELETE"):
            op.execute(
                f"CREATE TRIGGER figure_no_{verb.lower()} BEFORE {verb} ON figure "
                f"BEGIN SELECT RAISE(ABORT, 'append-only: {verb} of figure refused'); END"
            )
        op.execute(
            "CREATE TRIGGER figure_no_replace BEFORE INSERT ON figure WHEN EXISTS "
            "(SELECT 1 FROM figure WHERE entry_id = NEW.entry_id AND line = NEW.line) "
            "BEGIN SELECT RAISE(ABORT, 'append-only: figure row is there already'); END"
        )
        return
    op.execute(
        "CREATE TRIGGER figure_no_change BEFORE UPDATE OR DELETE ON figure "
        "FOR EACH ROW EXECUTE FUNCTION soapstock_refuse()"
    )
    op.execute(
        "CREATE TRIGGER figure_no_truncate BEFORE TRUNCATE ON figure "
        "FOR EACH STATEMENT EXECUTE FUNCTION soapstock_refuse()"
    )


def downgrade() -> None:
    """A ledger is never taken down."""
    raise NotImplementedError("a ledger is never taken down; restore a backup instead")
