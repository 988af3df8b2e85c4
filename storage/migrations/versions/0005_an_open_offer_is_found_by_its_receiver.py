"""An open offer is found by its receiver. After 0004."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op
from sqlalchemy.dialects import postgresql

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None

TEXT = sa.Text().with_variant(postgresql.TEXT(collation="C"), "postgresql")
HERE = sa.text("offered_to IS NOT NULL")


def upgrade() -> None:
    """Change the tables. Append-only ones keep their triggers: no batch alteration."""
    op.add_column("samples", sa.Column("offered_to", TEXT, nullable=True))
    name = "samples_offered_to_some"
    op.create_index(name, "samples", ["offered_to"], sqlite_where=HERE, postgresql_where=HERE)


def downgrade() -> None:
    """Refuse: what is on record is not undone."""
    raise NotImplementedError("Restore the backup that was taken before the migration.")
