"""The log: one JSON line an event on stderr, with no secret in it."""

from __future__ import annotations

import json
import logging
import re
import sys
from collections.abc import Iterable

from .model.times import iso_utc

HIDDEN = "[hidden]"
# What looks like a secret wherever it stands: one-time codes, passwords in addresses, bot tokens.
LOOKS_SECRET = re.compile(
    r"\b[0-9A-Fa-f]{40}\b|(?<=://)[^\s/:@]+:[^\s/@]+(?=@)|\d{6,12}:[A-Za-z0-9_-]{30,}\b"
)


class JsonLines(logging.Formatter):
    """Each record as one JSON object; known secrets and what looks like one are hidden."""

    def __init__(self, secrets: Iterable[str] = ()) -> None:
        super().__init__()
        known = "|".join(re.escape(one) for one in sorted(secrets, key=len, reverse=True) if one)
        self._known = re.compile(known) if known else None

    def format(self, record: logging.LogRecord) -> str:
        """One line, keys in a fixed order; a traceback stands in `error`."""
        line = {
            "at": iso_utc(int(record.created * 1_000_000)),
            "level": record.levelname.lower(),
            "from": record.name,
            "event": self._hide(record.getMessage()),
        }
        if record.exc_info:
            line["error"] = self._hide(self.formatException(record.exc_info))
        return json.dumps(line, ensure_ascii=False)

    def _hide(self, text: str) -> str:
        text = self._known.sub(HIDDEN, text) if self._known else text
        return LOOKS_SECRET.sub(HIDDEN, text)


def begin_log(level: str, secrets: Iterable[str] = ()) -> None:
    """From now on the log goes to stderr in JSON lines."""
    handler = logging.StreamHandler(sys.stderr)
    handler.setFormatter(JsonLines(secrets))
    logging.basicConfig(level=level, handlers=[handler], force=True)
    for chatty in ("apscheduler", "httpx", "httpcore"):  # they tell of every tick, and whole addresses
        logging.getLogger(chatty).setLevel(logging.WARNING)
