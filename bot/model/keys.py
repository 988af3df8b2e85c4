"""By what a sample is looked up."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TypeAlias

from .custody import Custody
from .sample import Sample

Key: TypeAlias = tuple[str, ...]


def by_receipt(sample: Sample) -> tuple[int, int, str]:
    """What puts samples in the order in which they came: those of one text by the number of their entry."""
    return sample.received_us, len(sample.id), sample.id


def keys_of(sample: Sample) -> tuple[Key, ...]:
    """Everything that this sample can be looked up by."""
    case, by = sample.case, sample.declared_by
    keys: list[Key] = [("id", sample.id), ("number", case, sample.number_key), ("by", by), ("jars", case)]
    if sample.is_open:
        keys.append(("open", by))
    seal = sample.seal
    if seal is not None:
        keys.append(("seal", seal.upper()))
    if sample.evidence_number is not None:
        keys.append(("evidence", sample.evidence_number.upper()))
    if sample.custody is not None:
        keys.extend(_keys_of_custody(case, sample.custody))
    kind = sample.text("kind")
    if kind is not None and sample.struck is None:
        keys.append(("kind", case, kind))
    return tuple(keys)


def _keys_of_custody(case: str, custody: Custody) -> Iterator[Key]:
    if custody.offer is not None:
        yield ("offered", custody.offer.to)
    if custody.reseal is not None:
        yield ("reseal", custody.reseal)
    if custody.box is not None:
        yield ("box", case, custody.box.key)
