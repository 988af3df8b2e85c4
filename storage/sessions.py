"""One-time links and web sessions: commitments of tokens, never the tokens."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable

from bot.model.board import Code

from .database import Tx
from .engine import Found, Look

LINK = "sign_in"
PAGE = "page"


async def is_open(tx: Tx, address: str, now_us: int) -> bool:
    """True where this address has an unused link or a session that has not ended."""
    links = await tx.rows(
        "SELECT 1 FROM codes WHERE purpose = $1 AND address = $2 AND used_us IS NULL AND expires_us > $3",
        LINK,
        address,
        now_us,
    )
    return bool(links) or bool(
        await tx.rows("SELECT 1 FROM web_sessions WHERE address = $1 AND expires_us > $2", address, now_us)
    )


async def put_link(tx: Tx, commitment: str, address: str, expires_us: int, purpose: str = LINK) -> None:
    """The link is good once, until then; one that stands already stays as it is."""
    sql = """INSERT INTO codes (commitment, purpose, address, expires_us) VALUES ($1, $2, $3, $4)
    ON CONFLICT (commitment) DO NOTHING"""
    await tx.run(sql, commitment, purpose, address, expires_us)


async def use_link(tx: Tx, commitment: str, now_us: int, purpose: str = LINK) -> str | None:
    """The link's address, and it is used up; None where it is unknown, used or too old."""
    sql = """SELECT address FROM codes WHERE commitment = $1 AND purpose = $2 AND used_us IS NULL
    AND expires_us > $3"""
    rows = await tx.rows(sql, commitment, purpose, now_us)
    if not rows:
        return None
    await tx.run("UPDATE codes SET used_us = $2 WHERE commitment = $1", commitment, now_us)
    return str(rows[0][0])


def look_for(among: Callable[[str, str], str], commitments: Iterable[str]) -> Look:
    """The SELECT for those of these commitments that are a code's, used or not."""
    columns = "commitment, purpose, address, expires_us, used_us"
    sql = f"SELECT {columns} FROM codes WHERE {among('commitment', '$1')}"  # noqa: S608 - no values in it
    return sql, (json.dumps(sorted(commitments)),)


def codes_of(rows: Found) -> dict[str, Code]:
    """What `look_for` found, by commitment."""
    return {
        commitment: Code(purpose=purpose, holder=holder, expires_us=expires_us, used_us=used_us)
        for commitment, purpose, holder, expires_us, used_us in rows
    }


async def is_known(tx: Tx, commitment: str) -> bool:
    """True where this is the commitment of a code, used or not."""
    sql, values = look_for(tx.among, [commitment])
    return bool(await tx.rows(sql, *values))


async def put_code(tx: Tx, commitment: str, code: Code, now_us: int) -> None:
    """The code is its holder's only one for this purpose; those before it are good no longer."""
    await tx.run(
        "UPDATE codes SET used_us = $3 WHERE purpose = $1 AND address = $2 AND used_us IS NULL",
        code.purpose,
        code.holder,
        now_us,
    )
    sql = "INSERT INTO codes (commitment, purpose, address, expires_us) VALUES ($1, $2, $3, $4)"
    await tx.run(sql, commitment, code.purpose, code.holder, code.expires_us)


async def use_codes(tx: Tx, used: Iterable[tuple[str, int]]) -> None:
    """These codes (commitment, when) are good no longer."""
    await tx.run_many("UPDATE codes SET used_us = $2 WHERE commitment = $1 AND used_us IS NULL", list(used))


async def put_session(tx: Tx, commitment: str, address: str, expires_us: int) -> None:
    """The session is good until then."""
    sql = "INSERT INTO web_sessions (commitment, address, expires_us) VALUES ($1, $2, $3)"
    await tx.run(sql, commitment, address, expires_us)


async def address_of(tx: Tx, commitment: str, now_us: int) -> str | None:
    """The address behind a session, while it lasts and its person is enrolled."""
    rows = await tx.rows(
        """SELECT s.address FROM web_sessions AS s JOIN addresses AS a ON a.address = s.address
        WHERE s.commitment = $1 AND s.expires_us > $2 AND a.state = 'enrolled'""",
        commitment,
        now_us,
    )
    return str(rows[0][0]) if rows else None


async def end_session(tx: Tx, commitment: str) -> None:
    """The session is good no longer."""
    await tx.run("DELETE FROM web_sessions WHERE commitment = $1", commitment)
