"""How a running line is, as its keeper and their monitoring see it."""

from __future__ import annotations

from .base import Frozen


class StoreVitals(Frozen):
    """What a store holds and what waits in it. Instants in microseconds UTC, None where there is none."""

    chains: int
    entries: int
    messages: int
    texts_waiting: int
    oldest_text_us: int | None
    last_message_us: int | None


class Vitals(Frozen):
    """The store's vitals beside the process's own: messages at the desk, free bytes of the store's disk.

    `writes` is false while it stands by for another; `refused` says why the store took its last write not.
    """

    store: StoreVitals
    at_desk: int
    free_bytes: int
    now_us: int
    writes: bool = True
    refused: str | None = None

    @property
    def oldest_text_s(self) -> float:
        """How long the oldest text has waited, in seconds; 0 where none waits."""
        oldest = self.store.oldest_text_us
        return 0.0 if oldest is None else max(0.0, (self.now_us - oldest) / 1_000_000)
