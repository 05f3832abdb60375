"""The tables as the code sees them are the tables the migrations make."""

from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from sqlmodel import SQLModel

from soapstock.ledger.base.schema import newest
from soapstock.ledger.base.tables import ORDER, fact_tables


def test_migrations_make_exactly_the_models(ledger):
    """Alembic finds no difference between the migrated database and the models."""
    assert ORDER.metadata is SQLModel.metadata
    with ledger.read() as r:
        context = MigrationContext.configure(r.db, opts={"compare_type": True})
        differences = compare_metadata(context, SQLModel.metadata)
        assert context.get_current_revision() == newest()
    assert differences == []


def test_every_fact_table_is_in_the_hash(ledger):
    """A table left out of the chain could be changed unseen."""
    covered = {"entry", *(table.name for table in fact_tables())}
    with ledger.read():
        assert covered == set(SQLModel.metadata.tables)
