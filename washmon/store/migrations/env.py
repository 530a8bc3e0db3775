"""Runs the migrations on the connection that the store hands over, inside its transaction."""

from alembic import context

context.configure(
    connection=context.config.attributes["connection"],
    render_as_batch=True,  # SQLite alters a table by making it anew
)
with context.begin_transaction():
    context.run_migrations()
