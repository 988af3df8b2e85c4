"""Where a jar's way ends: the laboratory reads it, its result comes, an order keeps it, two people dispose of it."""

from __future__ import annotations

from bot.model.message import Attachment
from tests.dialogue.conftest import COURIER
from tests.dialogue.test_custody import jars, links
from tests.dialogue.test_custody_seals import says, told
from tests.talk import Talk

REPORT = Attachment(
    sha256="cd" * 32, size=9, media_type="application/pdf", name="report.pdf", problem="not_image"
)


async def at_laboratory(talk: Talk) -> None:
    await jars(talk, "01", "02")
    await says(talk, "R1", "box 1 seal 7001 jars 01-02")
    await says(talk, "R1", "offer box 1 to L1")
    await says(talk, "L1", "box 1 7001 whole")


async def test_the_laboratory_reads_what_arrived_one_by_one(sending: Talk) -> None:
    await at_laboratory(sending)
    answer = await says(sending, "L1", "01 5101 whole 4.2C")
    assert answer == "01 read where it arrived. Still to read of its box: 02."
    assert await says(sending, "L1", "02 5102 cut") == (
        "02 read where it arrived, and what you told of its seal stays on record."
    )
    read = [line for line in await sending.show("custody") if "reading" in line]
    assert [(one["sample"], one["reading"]["seal"], one["reading"]["temperature"]) for one in read] == [
        ("01", "5101", "4.2C"), ("02", "5102", None),
    ]  # fmt: skip
    jar = await sending.jar("02")
    assert (jar["seals"][0]["state"], jar["status"]) == ("cut", "at_laboratory")


async def test_a_laboratorys_new_seal_is_a_declared_change_and_no_exception(sending: Talk) -> None:
    await at_laboratory(sending)
    await says(sending, "L1", "01 5101 whole")
    assert "as declared" in await says(sending, "L1", "reseal 01 5120 opened for analysis")
    jar = await sending.jar("01")
    assert [(one["number"], one["state"]) for one in jar["seals"]] == [("5101", "whole"), ("5120", "whole")]
    assert "exception" not in jar["flags"]


async def test_a_result_is_kept_word_for_word_with_its_file(sending: Talk) -> None:
    await at_laboratory(sending)
    answer = await sending.says(COURIER["L1"], "result 01-02 report K-77: profiles 01 and 02 differ", files=(REPORT,))
    assert "word for word" in answer
    assert await sending.show("results") == [
        {
            "case": "CH-014", "samples": ["01", "02"], "words": "report K-77: profiles 01 and 02 differ",
            "file": "cd" * 32, "by": "L1", "received_at": "2026-10-12T08:06:00Z",
        }
    ]  # fmt: skip
    assert "cd" * 32 in [one["sha256"] for one in await sending.show("photos")]
    assert "kept as a note" in await says(sending, "R1", "result 01 report K-78")
    assert await sending.rebuilds_the_same()


async def test_a_retention_order_is_the_supervisors_and_its_holder_hears_it(talk: Talk) -> None:
    await jars(talk, "01", "02")
    assert "come from the supervisor" in await talk.says("C1", "retain 01 order of the court")
    assert await talk.says("S1", "retain all order of the court, 12 Oct") == (
        "01 02 under a retention order, on record. RELEASE and why lifts it."
    )
    assert "retention order by S1" in told(talk, "R1")
    assert [(await talk.jar(n))["retained"] for n in ("01", "02")] == ["order of the court, 12 Oct"] * 2
    assert await talk.says("S1", "release 01 order lifted by the court") == "01: no retention order stands, on record."
    assert (await talk.jar("01"))["retained"] is None
    assert "No retention order" in await talk.says("S1", "release 01 again")
    assert "whose order" in await talk.says("S1", "retain 01")


async def test_disposal_needs_two_people_and_an_authority(talk: Talk) -> None:
    await jars(talk, "01")
    await talk.says("R1", "offer 01 to C1")
    await talk.says("C1", "01 5101 whole")
    for text in ("dispose 01", "dispose 01 with R2", "dispose 01 authority letter 77"):
        assert "by what authority" in await talk.says("C1", text)
    assert "second person" in await talk.says("C1", "dispose 01 with C1 authority court letter 77")
    assert "custodian's or the supervisor's" in await talk.says("R1", "dispose 01 with R2 authority court letter 77")
    assert await talk.says("C1", "dispose 01 with R2 authority court letter 77, licensed waste") == (
        "01: R2 reads the seals, then it is on record as disposed of."
    )
    assert (await talk.jar("01"))["status"] != "disposed", "one alone does not do it"
    assert "5101" not in told(talk, "R2")
    assert "received" in await talk.says("R2", "01 5101 whole")
    jar = await talk.jar("01")
    assert jar["status"] == "disposed"
    done = (await links(talk, "01"))[-1]
    assert (done["type"], done["authority"], done["from"], done["to"]) == (
        "disposal", "court letter 77, licensed waste", "C1", "R2",
    )  # fmt: skip
    assert await talk.says("R2", "offer 01 to R1") == "01 is disposed of, on record."


async def test_disposal_under_an_order_is_refused_and_the_refusal_is_on_record(talk: Talk) -> None:
    await jars(talk, "01")
    await talk.says("R1", "offer 01 to C1")
    await talk.says("C1", "01 5101 whole")
    await talk.says("S1", "retain 01 order of the court")
    assert await talk.says("C1", "dispose 01 with R2 authority court letter 77") == (
        "01 is under a retention order: not disposed of, and on record that it was asked."
    )
    assert "refused" in told(talk, "S1")
    refused = [one for one in await talk.show("entries") if one["kind"] == "DisposalRefused"]
    assert [(one["author"], one["body"]["why"]) for one in refused] == [("C1", "retention order")]
    assert (await talk.jar("01"))["with"] == "C1"


async def test_an_order_that_comes_while_the_second_reads_still_keeps_the_jar(talk: Talk) -> None:
    await jars(talk, "01")
    await talk.says("R1", "offer 01 to C1")
    await talk.says("C1", "01 5101 whole")
    await talk.says("C1", "dispose 01 with R2 authority court letter 77")
    await talk.says("S1", "retain 01 order of the court")
    assert "not disposed of" in await talk.says("R2", "01 5101 whole")
    jar = await talk.jar("01")
    assert (jar["with"], jar["status"]) == ("C1", "cold" if jar["cooler"] else "sealed")


async def test_a_result_of_jars_before_a_colon_is_the_result_of_each(sending: Talk) -> None:
    await sending.says("R1", "01 spill sheen 0855 seal 5101")
    await sending.says("R1", "02 spill sheen 0856 seal 5102")
    assert await sending.says("C1", "RESULT 01 02: report K-77") == (
        "Result for 01 02 on record, word for word: report K-77"
    )
