"""Holding times told of by text; the arrival is judged as Wis. Adm. Code NR 149.442(2)(c) words it.

Preserved "at a temperature greater than its freezing point to 6 C"; the figures: `tests/rules/test_holding.py`.
"""

from __future__ import annotations

from tests.talk import Talk

LINE = "03 background water 0901 47.2830N 19.9510W jar seal 5103 fill 80% gloves yes"


async def test_clocks_are_told_of_and_judged_by_text(talk: Talk) -> None:
    await talk.says("R1", LINE, at="2026-10-12T08:10:00Z")
    said = await talk.says("R1", "clock 03")
    assert said == (
        "03: 7 d to extraction by 19 Oct 09:01, semivolatiles (SW-846 ch. 4); "
        "40 d to analysis, from extraction on, semivolatiles (SW-846 ch. 4)."
    )
    said = await talk.says("C1", "CH-014 arrived 03 4.8C at 1100 13 oct", at="2026-10-13T10:30:00Z")
    assert said.startswith("03 arrived at the laboratory, on record. 4.8 C is over 0.0 and up to 6.0."), said
    said = await talk.says("C1", "CH-014 extracted 03", at="2026-10-20T10:00:00Z")
    assert "past the 7 d figure of SW-846 ch. 4, to extraction by 19 Oct 09:01, semivolatiles: flagged" in said
    line = await talk.jar("03")
    assert "holding" in line["flags"]
    assert line["holding"][0]["state"] == "past"
    assert line["more"]["arrival_celsius"]["celsius"] == 4.8
    assert line["status"] != "disposed"
    assert await talk.rebuilds_the_same()


async def test_the_laboratory_s_own_figure_is_kept_in_its_words(talk: Talk) -> None:
    await talk.says("R1", "04 spill thick 0901 47.2830N 19.9510W jar seal 5104", at="2026-10-12T08:10:00Z")
    assert await talk.says("R1", "clock 04") == "04: no holding time runs."
    said = await talk.says("R1", "clock 04 10 d from receipt, lab letter 12")
    assert said == "04: 10 d to analysis, from its arrival on, analysis (lab letter 12)."
    said = await talk.says("R1", "clock 04 something odd")
    assert said.startswith("No holding time is known as something odd.")
    await talk.says("R1", "clock 04 none")
    assert await talk.says("R1", "clock 04") == "04: no holding time runs."
    corrections = [(one["field"], one["old"]) for one in (await talk.jar("04"))["corrections"]]
    assert corrections == [("holding", "10 d from receipt, lab letter 12")]


async def test_an_arrival_outside_the_limits_is_disclosed(talk: Talk) -> None:
    await talk.says("R1", LINE, at="2026-10-12T08:10:00Z")
    said = await talk.says("R1", "arrived 03 7.2C")
    assert "7.2 C is not over 0.0 and up to 6.0: disclosed with the jars." in said
    said = await talk.says("R1", "arrived 03 0.0C")
    assert "0.0 C is not over 0.0" in said


async def test_what_was_done_is_read_with_the_jars_named_first_too(talk: Talk) -> None:
    await talk.says("R1", LINE, at="2026-10-12T08:10:00Z")
    said = await talk.says("R1", "03 extracted 0912", at="2026-10-12T08:30:00Z")
    assert said.startswith("03 extracted, on record.")
    jar = await talk.jar("03")
    assert (jar["event_time"], jar["corrections"]) == ("2026-10-12T09:01:00+01:00", [])
