"""What a kit's jars used is drafted by method, holds only when a person says so, and is put back."""

from __future__ import annotations

import asyncio
import csv
import io
import subprocess
import sys
from pathlib import Path

import pypdf

from bot.model.kit import Stock
from bot.model.sample import Sample
from bot.rules.kit import kit_short
from bot.show import restock
from bot.trades import par_table
from storage.views import read_unit
from tests.dialogue.test_kit import ALL, item
from tests.talk import ADDRESSES, Talk


def run(command: list[str]) -> subprocess.CompletedProcess[str]:
    return subprocess.run(command, capture_output=True, text=True, timeout=60)


async def counts(talk: Talk, *names: str) -> list[int]:
    return [(await item(talk, name))["counted"] for name in names]


async def two_jars(talk: Talk) -> None:
    await talk.says("R1", ALL)
    await talk.says("R1", "skip")
    await talk.says("R1", "03 spill sheen 0902 47.2830N 19.9510W pad seal 5103")
    await talk.says("R1", "04 spill sheen 0903 47.2830N 19.9510W net seal 5104")


async def test_use_is_drafted_by_method_and_is_no_count_before_a_person_says_so(talk: Talk) -> None:
    await two_jars(talk)
    assert "2 jars taken since it was counted: RESTOCK A." in await talk.says("R1", "kit A")
    said = await talk.says("R1", "restock A")
    assert said == (
        "Kit A, drafted from 2 jars: jars 2, seals 2, labels 2, pad halves 2, pads 1, nets 1. "
        "Count what is gone, then OK, or send your counts like: jars 7 nets 2."
    )
    assert await counts(talk, "jar", "pad", "net") == [16, 10, 5]
    assert "nothing is counted as used" in await talk.says("R1", "skip")
    assert await counts(talk, "jar", "pad", "net") == [16, 10, 5]


async def test_ok_makes_the_draft_hold_and_the_list_to_buy_by_follows(talk: Talk) -> None:
    await two_jars(talk)
    await talk.says("R1", "restock A")
    said = await talk.says("R1", "ok")
    assert said.startswith("Kit A, used: jars 2, seals 2, labels 2, pad halves 2, pads 1, nets 1. To restock kit A: jars 2")
    assert await counts(talk, "jar", "pad", "net") == [14, 9, 4]
    assert "no jar on record since" in await talk.says("R1", "used A")


async def test_other_counts_hold_instead_of_the_draft(talk: Talk) -> None:
    await two_jars(talk)
    await talk.says("R1", "restock A")
    await talk.says("R1", "jars 3 nets 2")
    assert await counts(talk, "jar", "pad", "net") == [13, 10, 3]


async def test_a_jar_that_comes_late_is_drafted_later(talk: Talk) -> None:
    await two_jars(talk)
    await talk.says("R1", "restock A")
    await talk.says("R1", "ok")
    await talk.says("R1", "05 background water 0903 47.2830N 19.9510W jar seal 5105")
    assert "drafted from 1 jars: jars 1, seals 1" in await talk.says("R1", "restock A")


async def test_ok_after_a_jar_that_came_between_is_about_that_jar_and_the_draft_stays_one(talk: Talk) -> None:
    await two_jars(talk)
    await talk.says("R1", "restock A")
    await talk.says("R1", "05 background water 0903 47.2830N 19.9510W jar seal 5105 gloves changed fill 3/4 cooler M 4.4C")
    assert (await talk.says("R1", "ok")).startswith("05 on record.")
    assert await counts(talk, "jar") == [16]
    assert "drafted from 3 jars" in await talk.says("R1", "restock A")


async def test_ok_confirms_the_counts_that_were_shown_and_another_persons_jar_is_drafted_later(talk: Talk) -> None:
    await two_jars(talk)
    await talk.says("R1", "restock A")
    await talk.says("R2", "06 spill sheen 0903 47.2830N 19.9510W pad seal 5106")
    assert "used: jars 2, seals 2" in await talk.says("R1", "ok")
    assert "drafted from 1 jars: jars 1, seals 1, labels 1, pad halves 1, pads 1." in await talk.says("R1", "restock A")


async def test_a_drills_jars_are_no_real_kits_use(drill: Talk) -> None:
    await drill.says("R1", ALL)
    await drill.says("R1", "skip")
    await drill.says("R1", "CH-900 03 spill sheen 0902 47.2830N 19.9510W pad seal 5103")
    assert (await drill.jar("03"))["exercise"]
    assert "no jar on record" in await drill.says("R1", "used A")


async def test_what_was_put_back_makes_the_kit_ready_and_due(talk: Talk) -> None:
    await two_jars(talk)
    await talk.says("R1", "used A jars 7 tubes 4 seals 7")
    said = await talk.says("R1", "restocked A jars 7")
    assert said == (
        "Kit A, put in: jars 7. Ready for 8 jars of 16: tubes. Buy: seals 7, tubes 4. "
        "It was used since: count it before the next shift."
    )
    assert "Ready for 16 jars." in await talk.says("R1", "restocked A all")
    assert await talk.says("R1", "restock A") != ""
    assert (await talk.show("kit"))[0]["ready_for_jars"] == 16
    assert await talk.rebuilds_the_same()


async def test_a_size_that_was_bought_is_there(talk: Talk) -> None:
    await talk.says("R1", ALL)
    await talk.says("R1", "XL")
    assert "gloves XL" in await talk.says("R1", "restock A")
    assert "No gloves" not in await talk.says("R1", "restocked A all")
    assert (await talk.show("kit"))[0]["gloves_without"] == {}


async def test_more_used_than_was_counted_is_kept_and_said(talk: Talk) -> None:
    await talk.says("R1", ALL)
    assert "nets: 9 used, 5 were counted." in await talk.says("R1", "used A nets 9")
    assert await counts(talk, "net") == [0]


async def test_words_that_only_begin_like_a_kits_are_kept_as_they_were(talk: Talk) -> None:
    assert (await talk.says("R1", "used the last of it")).startswith("Kept as a note")
    assert await talk.says("R1", "used A jarz 3") == "Not understood: jarz 3. Nearest: jars."
    assert "To restock" not in await talk.says("R1", "restock")


async def test_the_restock_list_is_csv_in_buying_order(talk: Talk) -> None:
    # RFC 4180, as Python's own csv reads it.
    await talk.says("R1", "kit A nets 1 jars 14 gloves M")
    await talk.says("R1", "L")
    rows = list(csv.DictReader(io.StringIO(await restock(talk.house.store.database, None))))
    assert [(row["item"], row["par"], row["counted"], row["short"], row["sizes"]) for row in rows] == [
        ("jars", "16", "14", "2", ""),
        ("gloves", "2", "1", "1", "L"),
        ("nets", "5", "1", "4", ""),
    ]
    assert {row["source"] for row in rows} == {"common practice, no source"}


async def test_the_command_prints_it_and_names_the_kits_there_are(talk: Talk, tmp_path: Path) -> None:
    await talk.says("R1", "kit A nets 1")
    command = [sys.executable, "-m", "bot", "restock", "--store", str(tmp_path), "--kit"]
    done = await asyncio.to_thread(run, [*command, "A"])
    assert (done.returncode, done.stdout.splitlines()[1]) == (0, "A,nets,5,1,4,,carrier,\"common practice, no source\"")
    wrong = await asyncio.to_thread(run, [*command, "Q"])
    assert (wrong.returncode, wrong.stderr.strip()) == (2, "There is no kit Q; there are: A.")


async def test_a_kit_below_what_its_plans_want_raises_one_alert_that_closes_when_it_is_enough_again(talk: Talk) -> None:
    await talk.says("R1", ALL)
    await talk.says("R1", "skip")
    assert await talk.show("alerts") == []
    sent = await talk.hears("R1", "used A jars 13")
    assert {one.address for one in sent} == {ADDRESSES["R1"]}, "a digest's alert is pushed to nobody"
    (alert,) = await talk.show("alerts")
    assert (alert["kind"], alert["subject"], alert["level"]) == ("kit_short", "kit A", "digest")
    (raised,) = [e["body"] for e in await talk.show("entries") if e["kind"] == "AlertRaised"]
    assert raised["text"] == "Kit A is good for 3 jars, 6 are still offered in CH-014. It lacks: jars."
    await talk.says("R1", "used A tubes 7")
    assert len(await talk.show("alerts")) == 1
    await talk.says("R1", "restocked A all")
    assert (await talk.show("alerts"))[0]["closed_at"] is not None
    assert await talk.rebuilds_the_same()


async def test_what_jars_used_counts_for_the_alert_before_anybody_confirmed_it(talk: Talk) -> None:
    await two_jars(talk)
    async with talk.house.store.database.read() as tx:
        unit = await read_unit(tx)
    jars = [await jar_of(talk, "03"), await jar_of(talk, "04")]
    crew = unit.with_role("responder")
    short = kit_short(par_table(), unit.kits["A"], unit.stock["A"], crew, 16, jars)
    assert short is not None
    assert (short.good_for, short.drafted, set(short.limits)) == (14, 2, {"jars", "labels", "pad halves", "seals"})
    assert kit_short(par_table(), unit.kits["A"], unit.stock["A"], crew, 14, jars) is None
    assert kit_short(par_table(), unit.kits["A"], Stock(kit="A"), crew, 16, jars) is None, "nobody counted it"


async def jar_of(talk: Talk, number: str) -> Sample:
    async with talk.house.store.database.read() as tx:
        rows = await tx.rows("SELECT doc FROM samples WHERE number = $1", number)
    return Sample.model_validate_json(rows[0][0])


async def test_a_hand_over_drafts_the_sheet_that_it_used(talk: Talk) -> None:
    await two_jars(talk)
    await talk.says("R1", "ok")
    await talk.says("R1", "offer 03 04 to C1")
    await talk.says("C1", "03 5103 whole 04 5104 whole")
    assert (await talk.jar("03"))["with"] == "C1"
    assert "nets 1, custody sheets 1." in await talk.says("R1", "restock A")


async def test_the_restock_list_on_paper_is_what_the_chat_says(talk: Talk, tmp_path: Path) -> None:
    # Read back by pypdf.
    await talk.says("R1", "kit A nets 1 jars 14 gloves M tubes 6")
    await talk.says("R1", "L")
    command = [sys.executable, "-m", "bot", "restock", "--store", str(tmp_path), "--pdf", str(tmp_path / "list.pdf")]
    assert (await asyncio.to_thread(run, command)).returncode == 0
    text = " ".join(page.extract_text() for page in pypdf.PdfReader(tmp_path / "list.pdf").pages)
    flat = " ".join(text.split())
    assert "Kit A: restock list" in flat
    assert "Kit A: at most 12 jars of 16 by what is counted" in flat
    rows = [flat.index(row) for row in ("jars 2 14 16 carrier", "gloves L 1 1 2 carrier", "tubes 2 6 8 carrier", "nets 4 1 5 carrier")]
    assert rows == sorted(rows)
    assert "Not counted, so not known: rings, pads" in flat
    assert "EXERCISE" not in flat
