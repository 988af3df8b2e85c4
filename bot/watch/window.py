"""The cold window: told while jars are still cold, when the forecast's early bound comes before a look."""

from __future__ import annotations

from ..model.due import Due
from ..model.times import MINUTE_US
from ..rules.cold import OK
from .cold import WINDOW, Cold, due_of, exercise_in, jars_text, look
from .ladder import close, raise_alert
from .scene import Scene

ICE_MINUTES = 10  # ice is asked for so long before the bound, by the clock's full ten minutes


def weigh_window(scene: Scene, due: Due) -> None:
    """Where one draw in ten is warm before the next reading, holder and ladder hear it; else it is over."""
    cold = look(scene, due.subject)
    if cold is None or not cold.jars or cold.bands[-1] != OK:
        return
    alert = scene.open_alert(WINDOW, cold.subject)
    bound_us, next_us = _bound(cold), due_of(scene, cold)
    if bound_us is None or next_us is None or bound_us >= next_us:
        if alert is not None:
            close(scene, alert, scene.word("alert.cold_window.over", cooler=cold.life.name))
        return
    if alert is not None:
        return
    text = _text(scene, cold, bound_us, next_us)
    scene.remind(WINDOW, cold.subject, (cold.last.by,), text, exercise=exercise_in(scene, cold))
    text = scene.word("alert.cold_window", text=text, jars=jars_text(scene, cold), cooler=cold.life.name)
    cause = f"after {cold.last.at_us}"
    raise_alert(scene, WINDOW, cold.subject, text, cause=cause, cases=cold.cases, numbers=cold.numbers)


def _bound(cold: Cold) -> int | None:
    """The early bound of the newest forecast, None where there is none or a reading came after it."""
    made = cold.life.forecasts[-1] if cold.life.forecasts else None
    if made is None or made.off is not None or made.made_us < cold.last.at_us:
        return None
    return made.p10_us


def _text(scene: Scene, cold: Cold, bound_us: int, next_us: int) -> str:
    ten = ICE_MINUTES * MINUTE_US
    ice_us = max(scene.now_us, (bound_us - 1) // ten * ten)
    return scene.word(
        "alert.cold_window.text",
        cooler=cold.life.name,
        limit=f"{scene.limits.cold_limit_c:.1f}",
        by=scene.clock(bound_us),
        next=scene.clock(next_us),
        ice=scene.clock(ice_us),
    )
