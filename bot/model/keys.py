"""By what a sample is looked up."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TypeAlias

from .custody import Custody
from .sample import Sample

Key: TypeAlias = tuple[str, ...]


def by_receipt(sample: Sample) -> tuple[int, str]:
    """What puts samples in the order in which they came."""
    return sample.received_us, sample.id


def keys_of(sample: Sample) -> Iterator[Key]:
    """Everything that this sample can be looked up by."""
    yield ("id", sample.id)
    yield ("number", sample.case, sample.number_key)
    yield ("by", sample.declared_by)
    if sample.is_open:
        yield ("open", sample.declared_by)
    seal = sample.seal
    if seal is not None:
        yield ("seal", seal.upper())
    if sample.evidence_number is not None:
        yield ("evidence", sample.evidence_number.upper())
    if sample.custody is not None:
        yield from _keys_of_custody(sample.case, sample.custody)
    kind = sample.text("kind")
    if kind is not None and sample.struck is None:
        yield ("kind", sample.case, kind)


def _keys_of_custody(case: str, custody: Custody) -> Iterator[Key]:
    if custody.offer is not None:
        yield ("offered", custody.offer.to)
    if custody.reseal is not None:
        yield ("reseal", custody.reseal)
    if custody.box is not None:
        yield ("box", case, custody.box.key)
