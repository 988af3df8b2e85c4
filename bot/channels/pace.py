"""A messenger's published limits, kept by waiting: so many texts a second overall, one a second to a chat."""

from __future__ import annotations

import asyncio
from collections import deque
from contextlib import suppress

from ..model.errors import ChannelDown

WINDOW_S = 1.05  # a second, and what the way to the messenger may squeeze together
REMEMBERED = 10_000  # chats; older ones are past their second long since


class ChatPace:
    """Gives each text its turn. Groups (accounts with a minus) have a limit a minute besides."""

    def __init__(self, overall_s: int, chat_s: float, group_minute: int) -> None:
        """`overall_s` texts a second, `chat_s` seconds between two to a chat, `group_minute` to a group."""
        self._overall, self.chat_s, self._group_minute = overall_s, chat_s, group_minute
        self._recent: deque[float] = deque(maxlen=overall_s)
        self._next: dict[str, float] = {}
        self._groups: dict[str, deque[float]] = {}
        self._halted_until = 0.0
        self._closed = asyncio.Event()

    async def turn(self, account: str) -> None:
        """Return when a text to this account may go; its place in the limits is taken then."""
        loop = asyncio.get_running_loop()
        while (
            wait_s := self._wait_s(account, loop.time())
        ) > 0:  # no place is taken yet: a halt holds
            with suppress(TimeoutError):
                await asyncio.wait_for(self._closed.wait(), wait_s)
            if self._closed.is_set():
                raise ChannelDown("the line stopped before this text had its turn")
        self._take(account, loop.time())

    def close(self) -> None:
        """Nobody waits for a turn any more."""
        self._closed.set()

    def halt(self, seconds: float) -> None:
        """Nobody gets a turn for so long: the messenger said so."""
        until = asyncio.get_running_loop().time() + seconds
        self._halted_until = max(self._halted_until, until)

    def _wait_s(self, account: str, now: float) -> float:
        ready = max(self._halted_until, self._next.get(account, 0.0))
        if len(self._recent) == self._overall:
            ready = max(ready, self._recent[0] + WINDOW_S)
        group = self._groups.get(account)
        if group is not None and len(group) == self._group_minute:
            ready = max(ready, group[0] + 60.0)
        return ready - now

    def _take(self, account: str, now: float) -> None:
        self._recent.append(now)
        if len(self._next) >= REMEMBERED:
            self._next = {chat: free for chat, free in self._next.items() if free > now}
        self._next[account] = now + self.chat_s
        if account.startswith("-"):
            self._groups.setdefault(account, deque(maxlen=self._group_minute)).append(now)
