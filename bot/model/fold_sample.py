"""A jar as its entries make it: `fold` is the only way that a sample comes to be or changes."""

from __future__ import annotations

from functools import singledispatch

from . import entries as said
from .cold import OF_COOLER, facts_of_move
from .custody import Custody, fold_custody
from .entries import Body, Draft, FactTold, OfCustody
from .sample import Account, Correction, Fact, Photo, Query, Sample


def fold(sample: Sample | None, draft: Draft) -> Sample:
    """The sample after this entry. Raises ValueError where the entry speaks of no known sample."""
    if isinstance(draft.body, said.SampleDeclared):
        return _declare(draft.body, draft)
    if sample is None:
        raise ValueError(f"{draft.kind} speaks of a sample that no entry declared")
    return sample.model_copy(update=_change(draft.body, sample, draft))


def _declare(body: said.SampleDeclared, draft: Draft) -> Sample:
    return Sample(
        id=body.sample,
        case=draft.chain,
        number=body.number,
        number_key=body.number_key,
        declared_by=draft.author,
        said_us=draft.said_us,
        received_us=draft.received_us,
        apart_from=body.apart_from,
        number_open=body.apart_from is not None,
    )


def _fact(told: FactTold, draft: Draft) -> Fact:
    return Fact(
        value=told.value,
        raw=told.raw,
        by=draft.author,
        said_us=draft.said_us,
        received_us=draft.received_us,
        copied_from=told.copied_from,
    )


def _facts(told: tuple[FactTold, ...], draft: Draft) -> dict[str, Fact]:
    return {fact.field: _fact(fact, draft) for fact in told}


def _correction(
    draft: Draft, field: str, old: str | None, new: str, why: str | None, sort: str
) -> Correction:
    return Correction(
        field=field,
        old=old,
        new=new,
        by=draft.author,
        said_us=draft.said_us,
        received_us=draft.received_us,
        why=why,
        sort=sort,
    )


@singledispatch
def _change(body: Body, sample: Sample, draft: Draft) -> dict[str, object]:
    """What of the sample this entry changes. Kinds that change nothing of it are an error."""
    raise ValueError(f"{draft.kind} does not speak of a sample")


@_change.register
def _(body: said.SampleTold, sample: Sample, draft: Draft) -> dict[str, object]:
    change: dict[str, object] = {"facts": {**sample.facts, **_facts(body.facts, draft)}}
    if sample.confirmed:
        late = tuple(_correction(draft, f.field, None, f.raw, None, "late_addition") for f in body.facts)
        change["corrections"] = sample.corrections + late
    return change


@_change.register
def _(body: said.SampleCorrected, sample: Sample, draft: Draft) -> dict[str, object]:
    correction = _correction(draft, body.field, body.old, body.fact.raw, body.why, body.sort)
    change: dict[str, object] = {"corrections": (*sample.corrections, correction)}
    if body.field == "number":
        change |= {"number": body.fact.raw, "number_key": str(body.fact.value), "number_open": False}
    else:
        change["facts"] = {**sample.facts, body.field: _fact(body.fact, draft)}
    return change


@_change.register
def _(body: said.CorrectionExplained, sample: Sample, draft: Draft) -> dict[str, object]:
    corrections = list(sample.corrections)
    for place in range(len(corrections) - 1, -1, -1):
        if corrections[place].field == body.field:
            corrections[place] = corrections[place].model_copy(update={"why": body.why or "none given"})
            break
    return {"corrections": tuple(corrections)}


def _beside(facts: tuple[FactTold, ...], sample: Sample, draft: Draft, sort: str) -> dict[str, object]:
    account = Account(
        by=draft.author,
        said_us=draft.said_us,
        received_us=draft.received_us,
        sort=sort,
        facts=_facts(facts, draft),
    )
    return {"accounts": (*sample.accounts, account)}


@_change.register
def _(body: said.JarsMoved, sample: Sample, draft: Draft) -> dict[str, object]:
    facts = {field: fact for field, fact in sample.facts.items() if field not in OF_COOLER}
    return {"facts": facts | _facts(facts_of_move(body), draft)}


@_change.register
def _(body: said.AccountGiven, sample: Sample, draft: Draft) -> dict[str, object]:
    return _beside(body.facts, sample, draft, "account")


@_change.register
def _(body: said.EarlierStatementKept, sample: Sample, draft: Draft) -> dict[str, object]:
    return _beside(body.facts, sample, draft, "earlier_statement")


@_change.register
def _(body: said.CodeLacked, sample: Sample, draft: Draft) -> dict[str, object]:
    return {"without_code": True}


@_change.register
def _(body: said.CodeGiven, sample: Sample, draft: Draft) -> dict[str, object]:
    return {"without_code": False}


@_change.register
def _(body: said.SampleConfirmed, sample: Sample, draft: Draft) -> dict[str, object]:
    return {"confirmed": True}


@_change.register
def _(body: said.SampleStruck, sample: Sample, draft: Draft) -> dict[str, object]:
    return {"struck": body.why}


@_change.register
def _(body: said.NumberSettled, sample: Sample, draft: Draft) -> dict[str, object]:
    return {"number_open": False}


@_change.register
def _(body: said.QueryRaised, sample: Sample, draft: Draft) -> dict[str, object]:
    query = Query(
        id=body.query, field=body.field, rule=body.rule, text=body.text, raised_us=draft.received_us
    )
    change: dict[str, object] = {"queries": (*sample.queries, query)}
    if body.rule == "number_twice":
        change["number_open"] = True
    return change


@_change.register
def _(body: said.QueryClosed, sample: Sample, draft: Draft) -> dict[str, object]:
    closed = {"open": False, "how": body.how}
    queries = tuple(q.model_copy(update=closed) if q.id == body.query else q for q in sample.queries)
    return {"queries": queries}


def _with_photo(sample: Sample, photo: Photo) -> dict[str, object]:
    """A file that comes takes the place of one that was only announced."""
    photos = list(sample.photos)
    waiting = next((p for p in photos if p.sha256 is None), None)
    if waiting is not None:
        photos.remove(waiting)
    return {"photos": (*photos, photo)}


@_change.register
def _(body: said.PhotoKept, sample: Sample, draft: Draft) -> dict[str, object]:
    if body.photo.problem is not None:
        return {}  # kept, and no photo
    photo = Photo(sha256=body.photo.sha256, state="received", camera_time=body.photo.camera_time)
    return _with_photo(sample, photo)


@_change.register
def _(body: said.PhotoAssigned, sample: Sample, draft: Draft) -> dict[str, object]:
    photo = Photo(sha256=body.photo.sha256, state="received", camera_time=body.photo.camera_time)
    return _with_photo(sample, photo)


@_change.register
def _(body: said.PhotoDeclared, sample: Sample, draft: Draft) -> dict[str, object]:
    return {"photos": (*sample.photos, Photo(sha256=None, state="declared"))}


@_change.register
def _(body: said.EvidenceNumberAsked, sample: Sample, draft: Draft) -> dict[str, object]:
    return {"evidence_asked_by": draft.author}


@_change.register
def _(body: said.EvidenceNumberGiven, sample: Sample, draft: Draft) -> dict[str, object]:
    return {"evidence_number": body.number}


@_change.register
def _(body: OfCustody, sample: Sample, draft: Draft) -> dict[str, object]:
    since_us = sample.event_us or sample.said_us
    custody = sample.custody or Custody(holder=sample.declared_by, since_us=since_us)
    return {"custody": fold_custody(custody, draft)}
