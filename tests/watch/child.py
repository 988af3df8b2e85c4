"""A child that does what its job says, to see how children are kept: `python -m tests.watch.child`."""

from __future__ import annotations

import json
import os
import sys

if __name__ == "__main__":
    exec(json.load(sys.stdin), {"os": os})
