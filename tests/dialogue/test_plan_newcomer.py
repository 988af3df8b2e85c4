"""A newcomer who reads nothing but the chat: a case with three suspects, from its opening to DONE.

What a sound plan holds is common practice, no source, but for two things: several points along the spill and the
source itself ("Guidelines for the collection of oil samples", appendix 5), and an unused one of the same lot that
travels along (ASTM D4489-95(2024)).
"""

from __future__ import annotations

import shutil
from collections.abc import AsyncIterator
from pathlib import Path

import pytest

from bot.rules.gsm import segments
from tests.talk import ADDRESSES, SETUP, Talk, talk_to

FRESH = SETUP.partition("[[cases]]")[0]


class Newcomer:
    """Says only what the chat has named: a command must have stood in a text before."""

    def __init__(self, talk: Talk) -> None:
        self.talk = talk
        self.read: list[str] = []

    async def says(self, text: str, *, command: bool = False) -> str:
        if command:
            assert any(text.upper() in one for one in self.read), f"nobody told them of {text}"
        sent = await self.talk.hears("R1", text)
        mine = [one.text for one in sent if one.address == ADDRESSES["R1"]]
        assert mine, text
        assert all(segments(one) <= 3 for one in mine), mine
        self.read.extend(mine)
        return "\n".join(mine)

    async def answers(self, *texts: str) -> str:
        return [await self.says(text) for text in texts][-1]

    def heard(self, words: str) -> int:
        return sum(words in one for one in self.read)


@pytest.fixture
async def newcomer(migrated_file: Path, tmp_path: Path) -> AsyncIterator[Newcomer]:
    shutil.copy(migrated_file, tmp_path / "coldjar.db")
    async with talk_to(f"sqlite:///{tmp_path / 'coldjar.db'}", tmp_path, FRESH) as talk:
        yield Newcomer(talk)


async def opens_the_case(new: Newcomer) -> str:
    assert "CASE" in await new.says("hello")
    await new.says("case", command=True)
    await new.answers("real", "CH-020", "oil along the fish quay", "fish quay", "harbour watch", "0750", "R1", "A")
    return await new.says("skip")


async def plans(new: Newcomer) -> str:
    await opens_the_case(new)
    await new.says("plan", command=True)
    return await new.answers("sheen", "large", "Marbel: 2P, bilge; Tolva: fore peak", "quay pipe", "skip", "no", "unsure")


async def test_the_opening_names_the_way_on(newcomer: Newcomer) -> None:
    opened = await opens_the_case(newcomer)
    assert "PLAN" in opened
    assert "JAR" in opened


async def test_the_offer_holds_what_an_instructor_asks_for(newcomer: Newcomer) -> None:
    offer = await plans(newcomer)
    wanted = {one["what"]: one["count"] for one in (await newcomer.talk.show("plan"))[0]["wanted"]}
    assert wanted["material_blank"] >= 1
    assert wanted["background"] >= 1
    assert wanted["spill"] >= 3
    assert {"Marbel 2P", "Marbel bilge", "Tolva fore peak", "quay pipe"} <= set(wanted), "the innocent neighbour too"
    oil = sum(wanted[what] for what in wanted if what not in ("material_blank", "background", "duplicate"))
    assert wanted["duplicate"] * 10 >= oil
    order = ("unused", "clean water", "spill", "Marbel", "Tolva", "quay pipe")
    assert [offer.index(word) for word in order] == sorted(offer.index(word) for word in order), "cleanest first"
    assert "New gloves between" in offer


async def takes_the_clean_ones(new: Newcomer) -> None:
    await new.says("jar", command=True)
    await new.answers("mate, cleared", "yes", "01")
    assert "one unused, same lot, from its wrapper" in await new.says("4")
    assert "an unused what?" in await new.says("shut now")
    await new.answers("net", "5101", "skip", "M 4.2C")
    await new.says("gloves changed ok")
    await new.says("jar", command=True)
    await new.says("02")
    assert "up-current, away from your own hull" in await new.says("3")
    await new.answers("shut now", "jar", "3/4", "47.2800N 19.9400W", "5102", "skip", "M 4.2C")
    await new.says("gloves changed ok")


async def test_the_whole_of_it_in_a_sensible_order_with_one_warning(newcomer: Newcomer) -> None:
    new, talk = newcomer, newcomer.talk
    await plans(new)
    await takes_the_clean_ones(new)
    await new.says("jar", command=True)
    await new.answers("03", "1")
    assert "jar if you can skim, else pad, net last" in await new.says("1")
    assert "one unused net or pad of the same lot" in await new.says("why", command=True)
    await new.answers("shut now net", "47.2830N 19.9510W", "5103", "skip", "M 4.2C", "gloves changed ok")
    for number, place in (("04", "47.2832N 19.9512W"), ("05", "47.2834N 19.9514W")):
        await new.says(f"{number} spill sheen now {place} net seal 51{number} cooler M gloves changed")
        await new.says("ok")
    assert "nets" not in new.read[-1]

    # One ship hurries: its jar comes first, a refusal is met, then what was left out.
    await new.says("Marbel sails 1130")
    assert "Marbel sails 11:30" in await new.says("what can I still take", command=True)
    await new.says("06 source Marbel 2P now clean tube drawn by chief seal 5106 cooler M gloves changed")
    await new.says("ok")
    await new.says("07 source Marbel bilge now clean tube drawn by chief seal 5107 cooler M gloves changed")
    await new.says("ok")
    asked = await new.says("refused Tolva: not without my agent")
    assert "who refused" in asked
    await new.answers("master, no name given", "now", "yes, not taken")
    assert "DONE" in " ".join(new.read)
    missing = await new.says("done", command=True)
    assert "Not taken of what was offered: quay pipe, 1 duplicate" in missing
    await new.says("08 source quay pipe now pad seal 5108 cooler M gloves changed")
    await new.says("ok")
    warned = await new.says("09 dup of 03 sheen now net seal 5109 cooler M gloves changed")
    assert "09 is cleaner than 08 before it" in warned
    await new.says("ok")
    assert (await new.says("done")).startswith(
        "Nothing that was offered is open: 9 taken, 1 refused, 0 not to be had."
    )

    assert new.heard("is cleaner than") == 1, "warned once"
    assert new.heard("Clean water is still wanted") == 0, "never told of what was done"
    assert [one for one in new.read if "Not understood" in one] == []
    shown = (await talk.show("plan"))[0]
    assert shown["missing"] == []
    assert [(one["what"], one["words"], one["by"]) for one in shown["refused"]] == [
        ("Tolva", "not without my agent", "master, no name given")
    ]
    assert not any(one["what"] == "Tolva fore peak" for one in shown["taken"]), "a refusal fills no gap"
    assert (await talk.verdict()).found == ()
    assert await talk.rebuilds_the_same()
