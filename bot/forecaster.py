"""Works a cooler's forecast out, in a process of its own, and puts it on record; tells whoever asked."""

from __future__ import annotations

import zlib
from collections.abc import Awaitable, Callable
from typing import Any

from storage import due
from storage.lookups import cold_rows
from storage.views import read_unit
from storage.work import Store, Work

from .children import answer_of
from .dialogue.forecast_says import Fan, chart_text, forecast_text
from .dialogue.turn import Trade
from .model.cold import Life, key_of, life_of
from .model.due import COLD_WINDOW, Due
from .model.entries import UNIT_CHAIN, Draft, ForecastMade
from .model.errand import Errand
from .model.message import Outgoing
from .model.people import Unit
from .ports import Clock
from .reports.forecast_chart import Ahead, draw_forecast
from .rules.forecast.grade import grade
from .rules.forecast.known import Known, known_of

SHOWING = ("web", "telegram")  # channels that can show a drawing


class Forecaster:
    """The doer of `forecast` errands."""

    def __init__(self, store: Store, clock: Clock, trade_of: Callable[[Unit], Trade]) -> None:
        self._store = store
        self._clock = clock
        self._trade_of = trade_of

    async def __call__(self, errand: Errand) -> Callable[[Work], Awaitable[list[Outgoing]]]:
        """Return what puts the forecast on record and tells whoever asked. Raises ErrandFailed."""
        name = str(errand.doc["cooler"])
        async with self._store.database.read() as tx:
            unit = await read_unit(tx)
            rows = await cold_rows(tx, key_of(name))
        trade = self._trade_of(unit)
        life = life_of(name, rows)
        set_up = unit.coolers.get(name)
        made, fan = await self._made(life, set_up.cooler_class if set_up else None, trade, errand)

        async def finish(work: Work) -> list[Outgoing]:
            if _is_news(life, made):
                await work.record([_draft(made)])
                await due.wait(work.tx, [Due(made.made_us, COLD_WINDOW, life.name)])
            language = work.snapshot.unit.language_of(made.asked_by or "")
            return _answer(made, fan, life, trade, errand, language)

        return finish

    async def _made(
        self, life: Life, cooler_class: str | None, trade: Trade, errand: Errand
    ) -> tuple[ForecastMade, Fan]:
        """The forecast, and its hours where there is one."""
        now_us = self._clock.now_us()
        seed = zlib.crc32(f"{key_of(life.name)} {now_us}".encode())
        known = known_of(life, cooler_class, trade.limits, now_us, seed)
        asked_by = errand.doc.get("person")
        made = ForecastMade(
            cooler=life.name,
            made_us=now_us,
            limit_c=trade.limits.cold_limit_c,
            seed=seed,
            better=known.better,
            asked_by=None if asked_by is None else str(asked_by),
        )
        if not isinstance(known, Known):
            return made.model_copy(update={"off": known.why}), ()
        answer = await answer_of("The forecast's process", ["bot.rules.forecast"], known.facts)
        if answer["off"] is not None:
            off = {"off": answer["off"], "draws": answer["draws"], "better": ("reading",)}
            return made.model_copy(update=off), ()
        fan = [(known.start_us + round(at * 1_000_000), *rest) for at, *rest in answer["fan"]]
        return made.model_copy(update=_times(answer, known.start_us)), fan


def _times(answer: dict[str, Any], start_us: int) -> dict[str, Any]:
    def instant(seconds: float | None) -> int | None:
        return None if seconds is None else start_us + round(seconds * 1_000_000)

    places = ("p10_us", "p50_us", "p90_us")
    warm = dict(zip(places, map(instant, answer["warm"]), strict=True))
    cold = {f"freezing_{k}": v for k, v in zip(places, map(instant, answer["freezing"]), strict=True)}
    return {**warm, **cold, "until_us": instant(answer["until"]), "draws": answer["draws"]}


def _is_news(life: Life, made: ForecastMade) -> bool:
    """A refusal that stands already is not written again, unless somebody asked."""
    last = life.forecasts[-1] if life.forecasts else None
    return made.off is None or made.asked_by is not None or last is None or last.off != made.off


def _draft(made: ForecastMade) -> Draft:
    return Draft(
        chain=UNIT_CHAIN,
        body=made,
        author="",
        channel="errand",
        said_us=made.made_us,
        received_us=made.made_us,
    )


def _answer(
    made: ForecastMade, fan: Fan, life: Life, trade: Trade, errand: Errand, language: str | None
) -> list[Outgoing]:
    address = errand.doc.get("address")
    if address is None:
        return []
    channel, _, account = str(address).partition(":")
    trade = trade.spoken(language)
    text = forecast_text(made, grade(life, trade.limits), trade)
    mark, drawing = str(errand.doc.get("mark") or ""), None
    if fan and errand.doc.get("chart"):
        text = chart_text(made, fan, trade)
        drawing = _drawing(made, fan, life, trade, mark) if channel in SHOWING else None
    return [
        Outgoing(
            channel=channel,
            account=account,
            person=made.asked_by,
            text=f"{mark} {text}".strip(),
            drawing=drawing,
            queued_us=made.made_us,
        )
    ]


def _drawing(made: ForecastMade, fan: Fan, life: Life, trade: Trade, mark: str) -> str:
    freezing_c, passes_us = trade.limits.cold_freezing_c, (made.p10_us, made.p50_us)
    ahead = Ahead(fan, freezing_c, made.limit_c, made.made_us, passes_us, mark)
    read = [(one.at_us, one.celsius) for one in life.readings]
    return draw_forecast(made.cooler, read, ahead, trade.zone, trade.words.say)
