"""Fits of cooling, against certified values and printed exercises, the wrong ones among them.

NIST StRD, nonlinear regression: Misra1a and BoxBOD, certified to eleven digits. Printed cooling exercises: 87 to 86 F
in an hour in a room of 70; 23 to 20 C in an hour in air of 15; 95 to 61 C in half an hour in a room of 20.
"""

from __future__ import annotations

import pytest

from bot.model.cold import Life, Reading, Stay
from bot.model.entries import CoolerTold
from bot.model.times import HOUR_US, MINUTE_US
from bot.rules.approach import Approach, Undetermined, fit_approach, newton_hours, newton_rate, under_at_us
from bot.rules.limits import Limits

BOXBOD = [(1, 109), (2, 149), (3, 149), (5, 191), (7, 213), (10, 224)]
MISRA1A = [
    (77.6, 10.07), (114.9, 14.73), (141.1, 17.94), (190.8, 23.93), (239.9, 29.61), (289.0, 35.18), (332.8, 40.02),
    (378.4, 44.82), (434.8, 50.76), (477.3, 55.05), (536.8, 61.01), (593.1, 66.40), (689.1, 75.47), (760.0, 81.78),
]  # fmt: skip


@pytest.mark.parametrize("start", [(500, 0.0001), (250, 0.0005)])
def test_misra1a_from_both_starts(start: tuple[float, float]) -> None:
    found = fit_approach(MISRA1A, start)
    assert isinstance(found, Approach)
    assert (found.b1, found.b2) == (pytest.approx(238.94212918, rel=1e-6), pytest.approx(5.5015643181e-4, rel=1e-6))
    assert (found.sd1, found.sd2) == (pytest.approx(2.7070075241, rel=1e-4), pytest.approx(7.2668688436e-6, rel=1e-4))
    assert found.rss == pytest.approx(0.12455138894, rel=1e-8)


def test_boxbod_from_the_near_start() -> None:
    found = fit_approach(BOXBOD, (100, 0.75))
    assert isinstance(found, Approach)
    assert (found.b1, found.b2) == (pytest.approx(213.80940889, rel=1e-6), pytest.approx(0.54723748542, rel=1e-6))
    assert (found.sd1, found.sd2) == (pytest.approx(12.354515176, rel=1e-4), pytest.approx(0.10455993237, rel=1e-4))
    assert found.rss == pytest.approx(1168.0088766, rel=1e-8)


def test_boxbod_from_the_far_start_is_never_reported_wrong() -> None:
    # A well-known fitting routine lands from (1, 1) on 172.5 with a sum of squares of 9771.5, and says nothing.
    found = fit_approach(BOXBOD, (1, 1))
    assert isinstance(found, Undetermined) or found.rss == pytest.approx(1168.0088766, rel=1e-8)


@pytest.mark.parametrize("start", [(172.5, 40.0), (172.5, 200.0), (1.0, 60.0)])
def test_a_start_where_the_curve_is_flat_makes_it_refuse(start: tuple[float, float]) -> None:
    assert isinstance(fit_approach(BOXBOD, start), Undetermined)


def test_readings_that_settle_no_rate_make_it_refuse() -> None:
    assert isinstance(fit_approach([(0, 0), (1, 1), (2, 2), (3, 3)], (5, 0.5)), Undetermined), "a straight line"
    assert isinstance(fit_approach([(0, 0), (1, 1)], (1, 1)), Undetermined)
    assert isinstance(fit_approach([(1, 1.0), (2, -1.0), (3, 1.0), (4, -1.0)], (1, 1)), Undetermined)


def test_printed_cooling_exercises_come_out_as_printed() -> None:
    rate = newton_rate(87, 86, 70, 1)
    assert (rate, newton_hours(98.6, 87, 70, rate)) == (pytest.approx(0.0606, abs=5e-5), pytest.approx(8.58, abs=0.005))
    rate = newton_rate(23, 20, 15, 1)
    assert (rate, newton_hours(37, 23, 15, rate)) == (pytest.approx(0.470, abs=5e-4), pytest.approx(2.1523, abs=5e-5))
    assert newton_rate(95, 61, 20, 30) == pytest.approx(0.020131, abs=5e-7), "a minute"


def test_a_printed_answer_that_is_wrong_is_not_met() -> None:
    # 92.9 to 88.7 F in 2 h in a room of 65: printed are 0.0770 and 2.00 h, right are 0.08158 and 2.279 h.
    rate = newton_rate(92.9, 88.7, 65, 2)
    assert rate == pytest.approx(0.08158, abs=5e-6)
    assert newton_hours(98.6, 92.9, 65, rate) == pytest.approx(2.279, abs=5e-4)


def cooling(*celsius: float) -> Life:
    told = (CoolerTold(cooler="M", at="", at_us=0, words="", ice_kg=5),)
    readings = tuple(
        Reading((n + 1) * 15 * MINUTE_US, c, f"{c}C", "R1", 0, "") for n, c in enumerate(celsius)
    )
    return Life("M", readings, told, (Stay("a", 0),))


def test_jars_that_cool_are_in_range_when_the_fitted_rate_says() -> None:
    # 18 C towards 3 C at 1.2 an hour, told to a tenth: 6 C are passed ln(15/3)/1.2 = 1.341 h after the first.
    limits = Limits()
    found = under_at_us(cooling(18.0, 14.1, 11.2, 9.1, 7.5), limits)
    assert found is not None
    assert (found - 15 * MINUTE_US) / HOUR_US == pytest.approx(1.341, abs=0.05)
    assert under_at_us(cooling(18.0, 14.1, 11.2), limits) is None
    assert under_at_us(cooling(18.0, 17.5, 17.0, 16.5), limits) is None, "a straight line names no end"
