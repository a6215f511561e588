"""How Alembic runs: always inside a connection handed over by ``upgrade``."""

from alembic import context

from bloomless.storage.tables import metadata

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=metadata,
    render_as_batch=True,  # SQLite cannot alter a constraint in place
)
with context.begin_transaction():
    context.run_migrations()
