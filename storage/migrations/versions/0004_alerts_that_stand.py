"""Alerts as they stand, and by what people call them. After 0003."""

from __future__ import annotations

import json

import sqlalchemy as sa
from alembic import op
from sqlalchemy.dialects import postgresql

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None

TEXT = sa.Text().with_variant(postgresql.TEXT(collation="C"), "postgresql")
BIG = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
OPEN = sa.text("state = 'open'")


def upgrade() -> None:
    """Change the tables. Append-only ones keep their triggers: no batch alteration."""
    for column in (
        sa.Column("handle", TEXT, nullable=True),
        sa.Column("incident", TEXT, nullable=True),
        sa.Column("told_us", BIG, nullable=True),
        sa.Column("standing", TEXT, nullable=True),
    ):
        op.add_column("alerts", column)
    op.create_index("alerts_handle_some", "alerts", ["handle"], sqlite_where=OPEN, postgresql_where=OPEN)
    op.create_index("alerts_incident_told_us", "alerts", ["incident", "told_us"])
    stand()


def stand() -> None:
    """Alerts on record stand as they were raised: nothing else could become of one before."""
    alerts = sa.table("alerts", *(sa.column(n) for n in ("id", "doc", "raised_us", *STANDING)))
    connection = op.get_bind()
    for id_, doc, raised_us in connection.execute(sa.select(alerts.c.id, alerts.c.doc, alerts.c.raised_us)):
        said = json.loads(doc)
        if "alert" in said:
            change = dict(zip(STANDING, standing(said, raised_us), strict=True))
            connection.execute(sa.update(alerts).where(alerts.c.id == id_).values(change))


STANDING = ("handle", "incident", "told_us", "standing")


def standing(said: dict[str, object], raised_us: int) -> tuple[str, str, int, str]:
    """What an alert's new columns hold, from its body and when it was raised."""
    subject, told = str(said["subject"]), list(map(str, said["told"]))  # type: ignore[call-overload]  # a list of names
    alert = {
        "id": said["alert"],
        "kind": said["alert_kind"],
        "subject": subject,
        "level": said["level"],
        "text": "",
        "cause": "",
        "cases": [],
        "numbers": [],
        "rank": 0,
        "exercise": False,
        "told": told,
        "raised_us": raised_us,
        "ladder_us": raised_us,
        "rungs": 1 if told else 0,
        "told_us": raised_us,
        "repeats": 0,
        "pushes": [{"to": name, "at_us": raised_us} for name in told],
        "owner": None,
        "taken_us": None,
        "closed_us": None,
        "closed_how": None,
    }
    words = subject.split()
    return (
        words[-1].lower() if words else "",
        "",
        raised_us,
        json.dumps(alert, ensure_ascii=False, separators=(",", ":"), sort_keys=True),
    )


def downgrade() -> None:
    """Refuse: what is on record is not undone."""
    raise NotImplementedError("Restore the backup that was taken before the migration.")
