"""What thinking about one message gives."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import NamedTuple

from ..model.board import Conversation
from ..model.case import Case
from ..model.entries import Draft
from ..model.errand import Errand
from ..model.message import AlertMark, Choice, MessageState
from ..model.people import Unit
from ..model.sample import Sample


class Say(NamedTuple):
    """One text to one address. `catch_up` names the jar it is about, for one text after a dead zone."""

    address: str
    person: str | None
    text: str
    asks: str | None = None
    choices: tuple[Choice, ...] = ()
    alert: AlertMark | None = None
    catch_up: str | None = None


@dataclass(slots=True)
class Outcome:
    """Everything that follows from one message: nothing of it is stored yet. `unit` where it changed.

    `used_codes` are good no longer; `adopts`: what waited from its address is now to be thought about.
    """

    state: MessageState
    conversation: Conversation
    drafts: list[Draft] = field(default_factory=list)
    says: list[Say] = field(default_factory=list)
    samples: dict[str, Sample] = field(default_factory=dict)
    cases: dict[str, Case] = field(default_factory=dict)
    errands: list[Errand] = field(default_factory=list)
    unit: Unit | None = None
    used_codes: tuple[str, ...] = ()
    adopts: bool = False
