"""The first tables.

Instants (`_us`) are integer microseconds UTC; a `doc` or `text` is a JSON text, kept to the byte.
Three sorts of table: append-only (what was said), work (where the house stands), projections
(rebuilt from the entries at any time).
"""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa
from alembic import op
from sqlalchemy.dialects import postgresql

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None

# Compared byte by byte on both engines, so that both sort alike.
TEXT = sa.Text().with_variant(postgresql.TEXT(collation="C"), "postgresql")
BIG = sa.BigInteger().with_variant(sa.Integer(), "sqlite")  # SQLite's INTEGER has 64 bits
APPEND_ONLY = ("raw_messages", "entries")


def upgrade() -> None:
    """Make all tables in an empty store."""
    append_only_tables()
    for name in APPEND_ONLY:
        refuse_changes(name)
    work_tables()
    record_tables()
    sample_tables()
    watch_tables()


def downgrade() -> None:
    """Refuse: what is on record is not undone."""
    raise NotImplementedError("Restore the backup that was taken before the migration.")


def append_only_tables() -> None:
    """Make the tables that nobody changes."""
    table(
        "raw_messages",
        sa.Column("row", BIG, sa.Identity(), primary_key=True),
        text("key", unique=True),
        text("address"),
        big("received_us"),
        big("sent_us", nullable=True),
        text("state"),
        text("sha256"),
        text("text"),
    )
    index("raw_messages", "address", "row")
    table(
        "entries",
        text("chain", primary_key=True),
        big("seq", primary_key=True, autoincrement=False),
        text("kind"),
        big("received_us"),
        text("hash"),
        text("text"),
    )


def refuse_changes(name: str) -> None:
    """Make the database itself refuse to change or remove rows of the table."""
    if op.get_context().dialect.name == "postgresql":
        refuse_changes_on_postgres(name)
    else:
        refuse_changes_on_sqlite(name)


def refuse_changes_on_postgres(name: str) -> None:
    """Refuse UPDATE and DELETE of any row, and TRUNCATE."""
    op.execute(
        "CREATE OR REPLACE FUNCTION stays_on_record() RETURNS trigger LANGUAGE plpgsql AS $$ "
        "BEGIN RAISE EXCEPTION '% is append-only', TG_TABLE_NAME USING ERRCODE = 'CJ001'; END $$"
    )
    op.execute(
        f"CREATE TRIGGER {name}_stays BEFORE UPDATE OR DELETE ON {name} "
        "FOR EACH ROW EXECUTE FUNCTION stays_on_record()"
    )
    op.execute(
        f"CREATE TRIGGER {name}_stays_whole BEFORE TRUNCATE ON {name} "
        "FOR EACH STATEMENT EXECUTE FUNCTION stays_on_record()"
    )


def refuse_changes_on_sqlite(name: str) -> None:
    """Refuse UPDATE, DELETE and INSERT OR REPLACE.

    A REPLACE removes the old row without firing the DELETE trigger. But the way a statement settles
    conflicts is inherited by the statements of its triggers: under OR REPLACE the inner INSERT must
    meet its CHECK and fails, under a plain INSERT or ON CONFLICT DO NOTHING it ignores itself.
    """
    op.execute(
        'CREATE TABLE IF NOT EXISTS replacing (never INTEGER CONSTRAINT "append-only" CHECK (0)) STRICT'
    )
    op.execute(
        f"CREATE TRIGGER {name}_no_replace BEFORE INSERT ON {name} "  # noqa: S608 - names, no values
        "BEGIN INSERT OR IGNORE INTO replacing VALUES (1); END"
    )
    for change in ("UPDATE", "DELETE"):
        op.execute(
            f"CREATE TRIGGER {name}_no_{change.lower()} BEFORE {change} ON {name} "
            f"BEGIN SELECT RAISE(ABORT, '{name} is append-only'); END"
        )


def work_tables() -> None:
    """Make the tables of where the house stands."""
    table(
        "store_state",
        sa.Column("id", sa.Integer, primary_key=True, autoincrement=False),
        big("writes"),
        sa.CheckConstraint("id = 1", name="one_row"),
    )
    op.execute("INSERT INTO store_state (id, writes) VALUES (1, 0)")
    table("salts", text("commitment", primary_key=True), text("value", unique=True), text("salt"))
    table(
        "codes",
        text("commitment", primary_key=True),
        text("purpose"),
        text("address"),
        big("expires_us"),
        big("used_us", nullable=True),
    )
    table("web_sessions", text("commitment", primary_key=True), text("address"), big("expires_us"))
    table("conversations", text("address", primary_key=True), text("doc"), big("touched_us"))
    outbox_table()
    table(
        "due",
        text("kind", primary_key=True),
        text("subject", primary_key=True),
        big("due_us", primary_key=True, autoincrement=False),
        text("state"),
        big("done_us", nullable=True),
    )
    index("due", "due_us", where="state = 'waiting'")


def outbox_table() -> None:
    """Make the table of texts to send. A row's number is never given out again."""
    table(
        "outbox",
        sa.Column("row", BIG, sa.Identity(), primary_key=True),
        text("address"),
        text("doc"),
        big("queued_us"),
        big("due_us"),
        text("state"),
        sa.Column("attempts", sa.Integer, nullable=False, server_default=sa.text("0")),
        text("leased_by", nullable=True),
        big("leased_until_us", nullable=True),
        big("done_us", nullable=True),
        sa.Column("again", sa.Integer, nullable=False, server_default=sa.text("0")),
        text("problem", nullable=True),
        sqlite_autoincrement=True,
    )
    index("outbox", "due_us", "row", where="state IN ('waiting', 'leased')")
    index("outbox", "address", "row")
    index("outbox", "address", "row", where="state IN ('waiting', 'leased')")


def record_tables() -> None:
    """Make the projections of the chains, the unit and its cases."""
    table("heads", text("chain", primary_key=True), big("seq"), text("hash"))
    table("unit_items", text("kind", primary_key=True), text("name", primary_key=True), text("doc"))
    table("addresses", text("address", primary_key=True), text("person"), text("state"))
    table("cases", text("name", primary_key=True), text("state"), text("doc"))
    index("cases", "state")


def sample_tables() -> None:
    """Make the projections of jars and photos."""
    table(
        "samples",
        text("id", primary_key=True),
        text("case_name"),
        text("number"),
        text("jar_key"),
        big("number_int", nullable=True),
        text("told_by"),
        big("declared_us"),
        big("event_us", nullable=True),
        sa.Column("has_position", sa.Integer, nullable=False),
        text("kind", nullable=True),
        sa.Column("open", sa.Integer, nullable=False),
        text("seal", nullable=True),
        text("evidence", nullable=True),
        text("doc"),
    )
    index("samples", "jar_key")
    index("samples", "case_name", "kind")
    index("samples", "case_name", "number_int")
    index("samples", "told_by", "declared_us")
    index("samples", "told_by", "event_us", where="has_position = 1")
    index("samples", "told_by", "declared_us", where="open = 1")
    index("samples", "seal", where="seal IS NOT NULL")
    index("samples", "evidence", where="evidence IS NOT NULL")
    table(
        "photos",
        text("id", primary_key=True),
        text("sha256"),
        text("person"),
        text("chain"),
        text("sample_id", nullable=True),
        big("received_us"),
        text("doc"),
    )
    index("photos", "sha256")
    index("photos", "sample_id")
    index("photos", "person", "received_us", where="sample_id IS NULL")


def watch_tables() -> None:
    """Make the projections of alerts and cooler readings."""
    table(
        "alerts",
        text("id", primary_key=True),
        text("kind"),
        text("subject"),
        text("state"),
        big("raised_us"),
        text("doc"),
    )
    index("alerts", "kind", "subject", "raised_us")
    table("readings", text("id", primary_key=True), text("cooler"), big("at_us"), text("doc"))
    index("readings", "cooler", "at_us")


def table(name: str, *columns: sa.Column[Any] | sa.CheckConstraint, **more: Any) -> None:
    """Make a table; on SQLite a strict one, which refuses a text for a number as PostgreSQL does."""
    op.create_table(name, *columns, sqlite_strict=True, **more)


def index(table_name: str, *columns: str, where: str | None = None) -> None:
    """Make an index, over the rows that fit `where` only; both engines name it alike."""
    condition = None if where is None else sa.text(where)
    op.create_index(
        "_".join((table_name, *columns, *(("some",) if where else ()))),
        table_name,
        list(columns),
        sqlite_where=condition,
        postgresql_where=condition,
    )


def text(name: str, *, nullable: bool = False, **more: Any) -> sa.Column[Any]:
    """Return a column of text."""
    return sa.Column(name, TEXT, nullable=nullable, **more)


def big(name: str, *, nullable: bool = False, **more: Any) -> sa.Column[Any]:
    """Return a column of 64-bit integers."""
    return sa.Column(name, BIG, nullable=nullable, **more)
