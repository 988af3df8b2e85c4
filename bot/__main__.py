"""`python -m bot`, and the `coldjar` command."""

from __future__ import annotations

import sys

from .cli import run


def main() -> None:
    """Exit 0 done, 1 found something wrong, 2 asked wrongly."""
    sys.exit(run())


if __name__ == "__main__":
    main()
