"""${message}. After ${down_revision or "nothing"}."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = ${repr(up_revision)}
down_revision = ${repr(down_revision)}
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Change the tables. Append-only ones keep their triggers: no batch alteration."""


def downgrade() -> None:
    """Refuse: what is on record is not undone."""
    raise NotImplementedError("Restore the backup that was taken before the migration.")
