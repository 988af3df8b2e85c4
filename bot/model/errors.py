"""The tree of errors: each is one plain sentence with the way out."""

from __future__ import annotations


class ColdjarError(Exception):
    """Something a person can act on; its text is one sentence."""


class AskedWrongly(ColdjarError):
    """The command or its input cannot be used as it stands (exit 2)."""


class StoreUnavailable(ColdjarError):
    """The store did not take a write: nothing of it was acknowledged, send again."""


class Conflict(ColdjarError):
    """A unique key already stands: nothing of this transaction was stored."""


class StoreUnfit(ColdjarError):
    """The store is missing, from another release, or not a store."""


class SendFailed(ColdjarError):
    """A channel did not take a text, or did not say so (`maybe_sent`); it may be tried again."""

    def __init__(
        self, sentence: str, retry_after_s: float | None = None, *, maybe_sent: bool = False
    ) -> None:
        super().__init__(sentence)
        self.retry_after_s = retry_after_s
        self.maybe_sent = maybe_sent


class ChannelDown(SendFailed):
    """A channel reaches nobody just now: its texts wait, and no try is counted."""


class AddressGone(SendFailed):
    """This address will not take texts any more: do not try again."""


class ErrandFailed(ColdjarError):
    """Slow work did not get done; it may be tried again."""

    def __init__(self, sentence: str, retry_after_s: float | None = None) -> None:
        super().__init__(sentence)
        self.retry_after_s = retry_after_s


class ErrandHopeless(ErrandFailed):
    """Slow work will never get done this way: do not try again."""


class FileTooLarge(ColdjarError):
    """A file is over the configured limit and was not taken whole."""

    def __init__(self, limit_bytes: int) -> None:
        super().__init__(f"That file is over {limit_bytes // 1_000_000} MB. Send a smaller copy.")
        self.limit_bytes = limit_bytes
