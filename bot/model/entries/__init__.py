"""What happened, one body a kind: facts in the past tense, each with a version of its own.

A body is what an entry says; the chain, author, times and hashes around it are `Entry`.
A new kind is added in the module of what it speaks of, and folded in `sample.py`, `case.py` or `people.py`.
"""

from .base import UNIT_CHAIN, Body, Draft, FactTold, OfCustody, OfSamples
from .case import *  # noqa: F403 - the vocabulary is one; its modules only keep it readable
from .cold import *  # noqa: F403 - as above
from .custody import *  # noqa: F403 - as above
from .kit import *  # noqa: F403 - as above
from .kit import Addition, ItemTold
from .page import *  # noqa: F403 - as above
from .people import *  # noqa: F403 - as above
from .plan import *  # noqa: F403 - as above
from .sample import *  # noqa: F403 - as above
from .sending import *  # noqa: F403 - as above
from .unit import *  # noqa: F403 - as above
from .watch import *  # noqa: F403 - as above

BODIES: dict[str, type[Body]] = {
    kind.__name__: kind
    for kind in (*Body.__subclasses__(), *OfSamples.__subclasses__(), *OfCustody.__subclasses__())
    if kind not in (OfSamples, OfCustody)
}

__all__ = [
    "BODIES",
    "UNIT_CHAIN",
    "Addition",
    "Body",
    "Draft",
    "FactTold",
    "ItemTold",
    "OfCustody",
    "OfSamples",
    *BODIES,
]
