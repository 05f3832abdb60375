"""Alembic's entry: runs on the connection soapstock.ledger.keep.migrate hands over, quietly."""

from alembic import context
from sqlmodel import SQLModel

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=SQLModel.metadata,
    transactional_ddl=True,
)
context.run_migrations()
