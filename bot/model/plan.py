"""What a case's plan is made from, as its chain tells it: never what is taken, which the jars say."""

from __future__ import annotations

from . import entries as said
from .base import Frozen
from .entries import Draft, FactTold


class Suspect(Frozen):
    """A vessel or place that may be the source. `sails`: (ISO 8601, us UTC); `left`: the words of it."""

    name: str
    tanks: tuple[str, ...] = ()
    by: str = ""
    sails: tuple[str, int] | None = None
    left: str | None = None


class Refusal(Frozen):
    """A refused sample: the exact words, who refused, when, whether a split was offered; who told it."""

    what: str
    told_by: str
    received_us: int
    told: dict[str, FactTold] = {}
    before: tuple[FactTold, ...] = ()

    def raw(self, field: str) -> str | None:
        """What was told of it, None where nothing was."""
        fact = self.told.get(field)
        return fact.raw if fact is not None and fact.value is not None else None


class Impossible(Frozen):
    """A sample that cannot be had, and why."""

    what: str
    why: str
    told_by: str
    received_us: int


class Promise(Frozen):
    """What somebody promised to a suspect, in their words."""

    to: str
    words: str
    by: str
    received_us: int


class Plan(Frozen):
    """What the plan is made from. `before` are values that a later one followed; `warned` "person/rule"."""

    told: dict[str, FactTold] = {}
    before: tuple[FactTold, ...] = ()
    suspects: dict[str, Suspect] = {}
    refused: tuple[Refusal, ...] = ()
    impossible: tuple[Impossible, ...] = ()
    warned: tuple[str, ...] = ()
    promises: tuple[Promise, ...] = ()

    def text(self, field: str) -> str:
        """The value told for a field, empty where none was."""
        fact = self.told.get(field)
        return fact.value if fact is not None and isinstance(fact.value, str) else ""


def fold_plan(plan: Plan, draft: Draft) -> Plan:
    """The plan after this entry; the same one where it says nothing of it."""
    body = draft.body
    match body:
        case said.PlanTold():
            change = _told(plan, body.facts)
        case said.SuspectNamed() | said.SuspectMoved():
            change = {"suspects": {**plan.suspects, body.name: _suspect(plan, body, draft.author)}}
        case said.SampleRefused():
            change = {"refused": (*plan.refused, _refusal(body, draft))}
        case said.RefusalTold():
            refused = list(plan.refused)
            refused[body.refusal] = _with(refused[body.refusal], body.fact)
            change = {"refused": tuple(refused)}
        case said.SampleImpossible():
            one = Impossible(
                what=body.what, why=body.why, told_by=draft.author, received_us=draft.received_us
            )
            change = {"impossible": (*plan.impossible, one)}
        case said.PromiseMade():
            made = Promise(to=body.to, words=body.words, by=draft.author, received_us=draft.received_us)
            change = {"promises": (*plan.promises, made)}
        case said.Warned():
            change = {"warned": (*plan.warned, f"{draft.author}/{body.rule}")}
        case _:
            return plan
    return plan.model_copy(update=change)


def _told(plan: Plan, facts: tuple[FactTold, ...]) -> dict[str, object]:
    struck = tuple(plan.told[fact.field] for fact in facts if fact.field in plan.told)
    return {"told": {**plan.told, **{fact.field: fact for fact in facts}}, "before": (*plan.before, *struck)}


def _suspect(plan: Plan, body: said.SuspectNamed | said.SuspectMoved, author: str) -> Suspect:
    """A suspect named again has its further tanks too, and is there again."""
    known = plan.suspects.get(body.name) or Suspect(name=body.name, by=author)
    if isinstance(body, said.SuspectNamed):
        tanks = (*known.tanks, *(tank for tank in body.tanks if tank not in known.tanks))
        return known.model_copy(update={"tanks": tanks, "left": None})
    if body.how == "sails":
        sails = (body.at, body.at_us) if body.at is not None else None
        return known.model_copy(update={"sails": sails, "left": None})
    return known.model_copy(update={"left": body.words if body.how == "left" else None, "sails": None})


def _refusal(body: said.SampleRefused, draft: Draft) -> Refusal:
    told = {}
    if body.words:
        told["words"] = FactTold(field="words", value=body.words, raw=body.words)
    if body.at is not None:
        told["when"] = FactTold(field="when", value=body.at, raw=body.at)
    return Refusal(what=body.what, told_by=draft.author, received_us=draft.received_us, told=told)


def _with(refusal: Refusal, fact: FactTold) -> Refusal:
    struck = (refusal.told[fact.field],) if fact.field in refusal.told else ()
    change = {"told": {**refusal.told, fact.field: fact}, "before": (*refusal.before, *struck)}
    return refusal.model_copy(update=change)
