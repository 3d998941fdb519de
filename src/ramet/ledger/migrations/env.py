"""Runs the migrations on the connection that the ledger hands over."""

from alembic import context

from ramet.ledger.tables import metadata

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=metadata,
    transaction_per_migration=False,
)
with context.begin_transaction():
    context.run_migrations()
