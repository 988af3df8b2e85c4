"""A case as its own chain makes it."""

from __future__ import annotations

from . import entries as said
from .base import Frozen
from .entries import Draft, FactTold
from .plan import Plan, fold_plan
from .times import us_of_iso


class EarlyCorrection(Frozen):
    """A correction whose jar is not on record yet."""

    by: str
    number_key: str
    words: str
    said_us: int

    @classmethod
    def of(cls, draft: Draft, body: said.CorrectionKept) -> EarlyCorrection:
        """What the entry says of it."""
        return cls(by=draft.author, number_key=body.number_key, words=body.words, said_us=draft.said_us)


class Case(Frozen):
    """One spill. `safety` holds each person's last answers: question, words, answer, us UTC.

    `laboratory_told` is (by, words, us UTC) of the last time that somebody said so.
    """

    name: str
    exercise: bool
    people: tuple[str, ...]
    kits: tuple[str, ...]
    opened: str
    opened_us: int
    told: dict[str, FactTold] = {}
    state: str = "open"
    safety: dict[str, tuple[str, str, int]] = {}
    stops: dict[str, int] = {}
    plan: Plan = Plan()
    laboratory_told: tuple[str, str, int] | None = None
    early: tuple[EarlyCorrection, ...] = ()


def fold_case(case: Case | None, draft: Draft) -> Case | None:
    """The case after this entry; unchanged where the entry is not about the case itself."""
    body = draft.body
    if isinstance(body, said.CaseOpened):
        known = body.model_dump(include={"name", "exercise", "people", "kits", "opened"})
        return Case(**known, told=body.told, opened_us=us_of_iso(body.opened))
    if case is None:
        return None
    if isinstance(body, said.CaseChanged):
        return case.model_copy(update={"people": body.people, "kits": body.kits})
    if isinstance(body, said.CaseClosed | said.CaseReopened):
        return case.model_copy(update={"state": "closed" if isinstance(body, said.CaseClosed) else "open"})
    return _with_told(case, draft)


def _with_told(case: Case, draft: Draft) -> Case:
    """The case with what people answered and told about it besides jars."""
    body = draft.body
    if isinstance(body, said.SafetyAnswered):
        answer = (body.words, body.answer, draft.received_us)
        return case.model_copy(update={"safety": {**case.safety, f"{draft.author}/{body.question}": answer}})
    if isinstance(body, said.EntryStopped):
        return case.model_copy(update={"stops": {**case.stops, draft.author: draft.received_us}})
    if isinstance(body, said.LaboratoryTold):
        return case.model_copy(update={"laboratory_told": (draft.author, body.words, draft.received_us)})
    if isinstance(body, said.CorrectionKept):
        kept = EarlyCorrection.of(draft, body)
        return case.model_copy(update={"early": (*case.early, kept)})
    plan = fold_plan(case.plan, draft)
    return case if plan is case.plan else case.model_copy(update={"plan": plan})
