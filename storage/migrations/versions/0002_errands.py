"""Due things may be errands: what the doer must know, tries and leases. After 0001."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op
from sqlalchemy.dialects import postgresql

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None

TEXT = sa.Text().with_variant(postgresql.TEXT(collation="C"), "postgresql")
BIG = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
PENDING = sa.text("state IN ('asked', 'taken')")


def upgrade() -> None:
    """Change the tables. Append-only ones keep their triggers: no batch alteration."""
    op.add_column("due", sa.Column("try_us", BIG, nullable=True))
    op.add_column("due", sa.Column("doc", TEXT, nullable=True))
    op.add_column("due", sa.Column("attempts", sa.Integer, nullable=False, server_default=sa.text("0")))
    op.add_column("due", sa.Column("leased_by", TEXT, nullable=True))
    op.add_column("due", sa.Column("leased_until_us", BIG, nullable=True))
    op.add_column("due", sa.Column("problem", TEXT, nullable=True))
    op.create_index("due_try_us_some", "due", ["try_us"], sqlite_where=PENDING, postgresql_where=PENDING)


def downgrade() -> None:
    """Refuse: what is on record is not undone."""
    raise NotImplementedError("Restore the backup that was taken before the migration.")
