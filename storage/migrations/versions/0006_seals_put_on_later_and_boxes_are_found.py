"""Seals put on later and boxes are found. After 0005."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op
from sqlalchemy.dialects import postgresql

revision = "0006"
down_revision = "0005"
branch_labels = None
depends_on = None

TEXT = sa.Text().with_variant(postgresql.TEXT(collation="C"), "postgresql")


def upgrade() -> None:
    """Change the tables. Append-only ones keep their triggers: no batch alteration."""
    for name in ("reseal", "box"):
        here = sa.text(f"{name} IS NOT NULL")
        op.add_column("samples", sa.Column(name, TEXT, nullable=True))
        op.create_index(f"samples_{name}_some", "samples", [name], sqlite_where=here, postgresql_where=here)


def downgrade() -> None:
    """Refuse: what is on record is not undone."""
    raise NotImplementedError("Restore the backup that was taken before the migration.")
