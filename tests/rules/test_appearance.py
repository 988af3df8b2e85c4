"""The five classes against the published table: A. Lewis, Current Status of the BAOAC, January 2007, table 1.

It prints thickness and litres per square kilometre side by side; both must follow from 1 um x 1 km2 = 1 m3.
"""

from __future__ import annotations

import pytest

from bot.rules.appearance import LITRES_PER_UM_KM2, LOOKS, NoVolume, SeenFrom, code_of, litres

PUBLISHED = [
    (1, 0.04, 0.30, 40, 300),
    (2, 0.30, 5.0, 300, 5_000),
    (3, 5.0, 50, 5_000, 50_000),
    (4, 50, 200, 50_000, 200_000),
    (5, 200, None, 200_000, None),
]


@pytest.mark.parametrize(("code", "least_um", "most_um", "least_l", "most_l"), PUBLISHED)
def test_every_class_has_the_published_thickness_and_litres(
    code: int, least_um: float, most_um: float | None, least_l: float, most_l: float | None
) -> None:
    assert (LOOKS[code].least_um, LOOKS[code].most_um) == (least_um, most_um)
    found = litres(code, 1.0, SeenFrom.AIR)
    assert isinstance(found, tuple)
    assert found[0] == pytest.approx(least_l)
    assert found[1] == (None if most_l is None else pytest.approx(most_l))


def test_a_micrometre_over_a_square_kilometre_is_a_cubic_metre() -> None:
    assert pytest.approx(LITRES_PER_UM_KM2) == 1e-6 * 1e6 * 1000  # m x m2 x litres per m3


def test_the_classes_leave_no_gap_and_the_last_has_no_upper_end() -> None:
    assert [LOOKS[code].most_um for code in (1, 2, 3, 4)] == [LOOKS[code].least_um for code in (2, 3, 4, 5)]
    assert LOOKS[5].most_um is None


def test_two_oiled_square_kilometres_of_four_classes_add_up() -> None:
    # 50, 30, 15 and 5 per cent of classes 1 to 4: 6,720 to 38,300 litres, worked out from the table above.
    parts = [litres(code, 2 * share, SeenFrom.AIR) for code, share in ((1, 0.5), (2, 0.3), (3, 0.15), (4, 0.05))]
    bounds = [part for part in parts if isinstance(part, tuple)]
    assert sum(least for least, _ in bounds) == pytest.approx(6_720)
    assert sum(most for _, most in bounds if most is not None) == pytest.approx(38_300)


@pytest.mark.parametrize("seen_from", [SeenFrom.BOAT, SeenFrom.QUAY])
@pytest.mark.parametrize("code", LOOKS)
def test_from_a_quay_or_a_boat_no_litres_follow(code: int, seen_from: SeenFrom) -> None:
    assert litres(code, 1.0, seen_from) == NoVolume(seen_from)


@pytest.mark.parametrize(
    ("words", "code"),
    [
        ("Rainbow", 2), ("silvery", 1), ("code 4", 4), ("Bonn code 5", 5), ("metallic.", 3), ("broken true colour", 4),
        ("unbroken true colour", 5), ("discontinuous true oil color", 4), ("black and thick", None), ("sheen", None),
        ("no rainbow", None), ("code 6", None),
    ],
)  # fmt: skip
def test_a_class_is_noted_only_where_the_observer_names_it(words: str, code: int | None) -> None:
    assert code_of(words) == code
