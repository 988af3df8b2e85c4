"""What happens to a jar until it is handed on."""

from __future__ import annotations

from ..message import Attachment
from .base import Body, FactTold

__all__ = [
    "AccountGiven",
    "CodeGiven",
    "CodeLacked",
    "CorrectionExplained",
    "EarlierStatementKept",
    "EvidenceNumberAsked",
    "EvidenceNumberGiven",
    "NumberSettled",
    "PhotoAssigned",
    "PhotoDeclared",
    "PhotoKept",
    "QueryClosed",
    "QueryRaised",
    "SampleConfirmed",
    "SampleCorrected",
    "SampleDeclared",
    "SampleStruck",
    "SampleTold",
]


class SampleDeclared(Body):
    """A jar is on record under the number written on it; `apart_from` is another jar so numbered."""

    sample: str
    number: str
    number_key: str
    apart_from: str | None = None


class SampleTold(Body):
    """Fields that were empty hold a value."""

    sample: str
    facts: tuple[FactTold, ...]


class SampleCorrected(Body):
    """A field holds a second value; the first stays, struck in place."""

    sample: str
    field: str
    old: str
    fact: FactTold
    why: str | None
    sort: str = "correction"


class CorrectionExplained(Body):
    """The reason of the last correction of a field, in its author's words (None: none given)."""

    sample: str
    field: str
    why: str | None


class EarlierStatementKept(Body):
    """What was said before a later correction and arrived after it stands beside the record."""

    sample: str
    facts: tuple[FactTold, ...]


class AccountGiven(Body):
    """Another person told of the same jar; both accounts stand."""

    sample: str
    facts: tuple[FactTold, ...]


class CodeLacked(Body):
    """A field that wants its author's code was told without: it stands, and is marked so."""

    sample: str
    field: str


class CodeGiven(Body):
    """Its author's code came for a field that was told without."""

    sample: str
    field: str


class SampleConfirmed(Body):
    """Its author agreed to the read-back."""

    sample: str


class SampleStruck(Body):
    """A jar is off the count and stays visible."""

    sample: str
    why: str


class NumberSettled(Body):
    """A human said which jar bears this number; the doubt about this one is gone."""

    sample: str


class QueryRaised(Body):
    """What was told differs from a rule; no right value is proposed."""

    sample: str
    query: str
    field: str
    rule: str
    text: str


class QueryClosed(Body):
    """A person answered a query: by a value told again, or that it stands."""

    sample: str
    query: str
    how: str


class PhotoKept(Body):
    """A file is on disk; `sample` is None while nobody has said which jar it shows."""

    photo: Attachment
    caption: str = ""

    @property
    def of_card(self) -> bool:
        """True where its sender said that it shows a filled card, which is no photo of a jar."""
        return self.sample is None and self.caption.lower().split()[:1] == ["card"]

    @property
    def to_be_typed(self) -> bool:
        """True where nothing in it counts before a person has typed it: a filled card, a voice note."""
        return self.of_card or self.photo.problem == "voice"


class PhotoAssigned(Body):
    """A person said which jar a kept file shows."""

    sample: str
    photo_id: str
    photo: Attachment


class PhotoDeclared(Body):
    """A photo was said to exist; its file has not come."""

    sample: str


class EvidenceNumberAsked(Body):
    """The custodian or the office was asked for an evidence control number."""

    sample: str


class EvidenceNumberGiven(Body):
    """The custodian or the office gave this jar its evidence control number."""

    sample: str
    number: str
