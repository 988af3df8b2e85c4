"""The jars at hand: what was read or written lately, found under the keys that the store knows too.

They stay from one transaction to the next, as long as no other process writes the store.
"""

from __future__ import annotations

from collections.abc import Iterable

from .keys import Key, by_receipt, keys_of
from .sample import Sample

MOST = 512  # of what is at hand, of each sort; beyond it one begins anew
MOST_KEYS = 16 * MOST
OPEN_MOST = 20  # of one person's open jars, the latest


class Shelf:
    """`samples`: jars by id as they stand; `read`: keys that need no reading."""

    def __init__(self) -> None:
        self.samples: dict[str, Sample] = {}
        self.read: set[Key] = set()
        self._index: dict[Key, dict[str, None]] = {}
        self._keys: dict[str, tuple[Key, ...]] = {}
        self._placed: dict[str, int] = {}  # when the jars were taken that have a time and a place

    def supply(self, keys: Iterable[Key], samples: Iterable[Sample]) -> None:
        """These are all jars that the store holds under these keys; what is at hand is newer and stays."""
        for sample in samples:
            if sample.id not in self.samples:
                self.put(sample)
        self.read.update(keys)

    def put(self, sample: Sample) -> None:
        """This is how the sample stands now, found under all its keys and no old one.

        A key that it left is read anew: of some keys only the latest jars were read.
        """
        id_ = sample.id
        self.samples[id_] = sample
        self._place(sample)
        keys, before = keys_of(sample), self._keys.get(id_, ())
        if keys == before:
            return
        for key in before:
            if key not in keys:
                del self._index[key][id_]
                self.read.discard(key)
        for key in keys:
            self._index.setdefault(key, {})[id_] = None
        self._keys[id_] = keys
        self.read.add(("id", id_))

    def _place(self, sample: Sample) -> None:
        """When it was taken is known; where it was taken earlier than was told, another may be the last."""
        taken_us = sample.event_us if "position" in sample.facts and sample.place is not None else None
        before_us = self._placed.get(sample.id)
        if taken_us == before_us:
            return
        if taken_us is not None:
            self._placed[sample.id] = taken_us
        else:
            del self._placed[sample.id]
        if before_us is not None and (taken_us is None or taken_us < before_us):
            self.read.discard(("by", sample.declared_by))

    def find(self, key: Key) -> list[Sample]:
        """The samples under a key that was read, oldest first: as many as the store would show."""
        found = [self.samples[id_] for id_ in self._index.get(key, ())]
        if len(found) < 2:
            return found
        found.sort(key=by_receipt)
        if key[0] == "by":
            return self._last_told_and_placed(found)
        return found[-OPEN_MOST:] if key[0] == "open" else found

    def _last_told_and_placed(self, found: list[Sample]) -> list[Sample]:
        """The two jars told last, and the two taken last of those with a place and a time."""
        placed = [(self._placed[one.id], n) for n, one in enumerate(found) if one.id in self._placed]
        kept = {len(found) - 2, len(found) - 1, *(n for _, n in sorted(placed)[-2:])}
        return [found[n] for n in sorted(kept)]

    @property
    def is_full(self) -> bool:
        """It is larger than it should become."""
        return len(self.samples) > MOST or len(self.read) > MOST_KEYS
