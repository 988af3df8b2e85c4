"""A newcomer who reads nothing but the chat: a short kit counted, bought for, used, and restocked.

Each answer is what the next text is made from. No outside source tells how a conversation goes.
"""

from __future__ import annotations

import re

from tests.talk import Talk

WALK = (
    ("14", "jars 14. Kit A, 2 of 26: rings"),
    ("16 opened 2", "rings: 2 with the wrapper open, for training only, not counted. Kit A, 3 of 26: nets"),
    ("3 nets", "nets 3. Kit A, 4 of 26: pads"),
    ("ok", "A count is wanted. Kit A, 4 of 26: pads, how many?"),
    ("10", "Kit A, 5 of 26: twine, OK or none? Read its label"),
    ("waxed", "Twine told as waxed does not count"),
    ("8", "Kit A, 7 of 26: pole"),
    ("ok in van 2", "pole ok (van 2). Kit A, 8 of 26: cutter"),
    ("yes", "Kit A, 9 of 26: pad halves"),
    ("160", "Kit A, 10 of 26: spare halves"),
    ("wrong", "Kit A, 9 of 26: pad halves"),
    ("16", "pad halves was 160. Kit A, 10 of 26: spare halves"),
    ("4", "Kit A, 11 of 26: electrical tape"),
    ("ok", "Kit A, 12 of 26: seals, from which number to which?"),
    ("5101 to 5121", "seals 5101-5121. Kit A, 13 of 26: labels"),
    ("16", "Kit A, 14 of 26: markers"),
    ("2", "Kit A, 15 of 26: gloves, which sizes"),
    ("M", "Kit A, 16 of 26: rubbish bags"),
    ("2", "Kit A, 17 of 26: tubes"),
    ("6 of them", "Kit A, 18 of 26: carrier"),
    ("fine", "Kit A, 19 of 26: cooler"),
    ("ok", "Kit A, 20 of 26: ice bags"),
    ("2", "Kit A, 21 of 26: check bottle"),
    ("ok", "Kit A, 22 of 26: thermometer, what does it read in ice slurry?"),
    ("0.2", "thermometer 0.2 C. Kit A, 23 of 26: custody sheets"),
    ("4", "Kit A, 24 of 26: paper cards"),
    ("4", "Kit A, 25 of 26: notebook"),
    ("ok", "Kit A, 26 of 26: photo scale"),
    ("ok", "Kit A is gone through. Ready for 12 jars of 16: tubes. Buy: jars 2, tubes 2, nets 2, rings 2, twine 1."),
)
JARS = (
    "01 unused material pad 0950 seal 5101 gloves changed cooler M 4.4C",
    "02 clean water 0952 47.2830N 19.9510W jar seal 5102 gloves changed cooler M 4.4C fill 3/4",
    "03 spill sheen 0955 47.2831N 19.9511W pad seal 5103 gloves changed cooler M 4.4C",
    "04 spill sheen 0957 47.2832N 19.9512W net seal 5104 gloves changed cooler M 4.4C",
)


async def test_a_newcomer_counts_a_short_kit_buys_uses_and_restocks_it(talk: Talk) -> None:
    assert "KIT" in await talk.says("R1", "?")
    assert await talk.says("R1", "KIT") == "A: Not counted yet."
    assert "INSPECT A asks item by item" in await talk.says("R1", "kit A")
    assert "Kit A, 1 of 26: jars, how many? Clean, no chip, liner in place." in await talk.says("R1", "INSPECT A")
    for text, answer in WALK:
        said = await talk.says("R1", text)
        assert answer in said, f"{text}: {said}"
    assert "Which glove size do you wear?" in said
    await talk.says("R1", "L")
    bought = await talk.says("R1", "What do I buy?")
    assert bought == "A: jars 2, gloves L, tubes 2, nets 2, rings 2, twine 1."
    told_how = await talk.says("R1", "buy A")
    (sent,) = re.findall(r"or (RESTOCKED A ALL)\.", told_how)
    assert "Ready for 16 jars." in await talk.says("R1", sent)
    for jar in JARS:
        await talk.says("R1", jar)
        await talk.says("R1", "ok")
    assert "4 jars taken since it was counted: RESTOCK A." in await talk.says("R1", "kit A")
    draft = await talk.says("R1", "RESTOCK A")
    assert "drafted from 4 jars: jars 4, seals 4, labels 4, pad halves 4, pads 2, nets 1." in draft
    assert "To restock kit A: jars 4" in await talk.says("R1", "OK")
    done = await talk.says("R1", "restocked A all")
    assert "Ready for 16 jars. It was used since: count it before the next shift." in done
    assert (await talk.verdict()).found == ()
    assert await talk.rebuilds_the_same()


async def test_nothing_a_newcomer_is_asked_or_told_about_a_kit_names_what_the_count_should_have_been(talk: Talk) -> None:
    # A count is a witness's: what would be right is said only after it was told.
    said = [await talk.says("R1", "INSPECT A")]
    said += [await talk.says("R1", "skip") for _ in range(25)]
    assert [one for one in said if re.search(r"\bpar\b|\b16\b(?! of)|\bshould\b", re.sub(r"\d+ of 26", "", one))] == []
