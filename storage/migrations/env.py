"""How the migrations run: in one transaction, on the connection that storage/migrate.py opens."""

from __future__ import annotations

from alembic import context
from sqlalchemy import text

LOCK = 0x636F6C646D6967  # any 64-bit number that nobody else locks, the writer's claim included

connection = context.config.attributes["connection"]
# SQLite too undoes CREATE TABLE, though the library assumes that it does not.
context.configure(connection=connection, transactional_ddl=True)
with context.begin_transaction():
    if connection.dialect.name == "postgresql":
        # A second migration waits here, then finds nothing to do. SQLite waits at BEGIN IMMEDIATE.
        connection.execute(text(f"SELECT pg_advisory_xact_lock({LOCK})"))
    context.run_migrations()
