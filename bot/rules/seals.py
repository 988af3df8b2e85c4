"""How a seal read off a jar is held against the record, and who is shown none: common practice, no source."""

from __future__ import annotations

from ..model.sample import Sample


def agreement(sample: Sample, number: str | None, tape: str | None) -> bool | None:
    """Whether a reading is a seal on record for the jar, None where nothing can be compared.

    A broken seal stays on beside the new one: either is one of the jar's.
    Hyphens and case do not count; every digit does.
    """
    told = sample.told("seal")
    recorded, initials = told.get("number"), told.get("tape")
    later = [seal.number for seal in sample.custody.seals] if sample.custody is not None else []
    if recorded or later:
        return number is not None and any(same_seal(number, str(one)) for one in (recorded, *later) if one)
    if initials:
        return tape is not None and same_seal(tape, str(initials))
    return None


def same_seal(one: str, other: str) -> bool:
    """True where both are the same letters and digits."""
    return _bare(one) == _bare(other)


def _bare(text: str) -> str:
    return "".join(letter for letter in text.upper() if letter.isalnum())


def is_blind(sample: Sample, person: str) -> bool:
    """True while this person is to read the jar's seal: no page, sheet or reply may show it to them."""
    return sample.offer is not None and sample.offer.to == person
