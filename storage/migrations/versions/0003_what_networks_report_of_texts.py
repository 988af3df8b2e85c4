"""What networks report of texts. After 0002."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op
from sqlalchemy.dialects import postgresql

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None

TEXT = sa.Text().with_variant(postgresql.TEXT(collation="C"), "postgresql")
BIG = sa.BigInteger().with_variant(sa.Integer(), "sqlite")


def upgrade() -> None:
    """Keep a delivery report, and when it came, with each text."""
    op.add_column("outbox", sa.Column("report", TEXT, nullable=True))
    op.add_column("outbox", sa.Column("report_us", BIG, nullable=True))


def downgrade() -> None:
    """Refuse: what is on record is not undone."""
    raise NotImplementedError("Restore the backup that was taken before the migration.")
