"""Jar numbers listed as people read them out."""

from __future__ import annotations

from collections.abc import Iterable


def ranges(numbers: Iterable[str]) -> str:
    """Like "01-05 07 E07": runs of three or more of one width are drawn together, in order."""
    runs: list[list[str]] = []
    for number in sorted(set(numbers), key=_order):
        last = runs[-1][-1] if runs else ""
        if _follows(last, number):
            runs[-1].append(number)
        else:
            runs.append([number])
    return " ".join(f"{run[0]}-{run[-1]}" if len(run) > 2 else " ".join(run) for run in runs)


def _order(number: str) -> tuple[bool, int, str]:
    return (not number.isdigit(), int(number) if number.isdigit() else 0, number)


def _follows(last: str, number: str) -> bool:
    if not (last.isdigit() and number.isdigit() and len(last) == len(number)):
        return False
    return int(number) == int(last) + 1
