"""Run the steps on the connection that was handed over, within its transaction."""

from alembic import context

from trialcut.records.migrate import VERSION_TABLE
from trialcut.records.tables import TABLES

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=TABLES[0].metadata,
    version_table=VERSION_TABLE,
    render_as_batch=True,
    transactional_ddl=True,
)
context.run_migrations()
