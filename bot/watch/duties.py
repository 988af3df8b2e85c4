"""Standing work, a function a kind: what is done when its hour has come."""

from __future__ import annotations

from collections.abc import Callable

from ..model.due import Due
from .ladder import LADDER, climb
from .scene import Scene

# A kind of standing work is added here.
DUTIES: dict[str, Callable[[Scene, Due], None]] = {
    LADDER: climb,
}
