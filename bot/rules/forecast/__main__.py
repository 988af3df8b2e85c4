"""One forecast in a process of its own, so that numpy's memory goes with it: JSON in, JSON out."""

from __future__ import annotations

import json
import sys

from .ensemble import forecast


def main() -> None:
    """Read what is known from standard input, write the answer to standard output."""
    json.dump(forecast(json.load(sys.stdin)), sys.stdout)


if __name__ == "__main__":
    main()
