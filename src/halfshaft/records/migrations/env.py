"""How Alembic reaches the database: by the connection that it is handed, in whose transaction it works."""

from alembic import context

from halfshaft.records.tables import metadata

context.configure(connection=context.config.attributes["connection"], target_metadata=metadata, render_as_batch=True)
context.run_migrations()
