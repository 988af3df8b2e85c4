"""Each kind of tampering is named exactly, by the chain's own arithmetic (SHA-256 of FIPS 180-4, RFC 8785).

Tampering is done with the engine's own client, its guards dropped, as by one who holds the whole file.
"""

from __future__ import annotations

import json
from collections.abc import Awaitable, Callable
from contextlib import AbstractAsyncContextManager
from pathlib import Path

import pytest

from storage.database import Database
from storage.ledger import canonical, sha256_of
from storage.verify import Verdict, verify
from tests.storage.record import Ask, fill, let_change, quoted, rewrite, text_of

Look = Callable[[], Awaitable[tuple[str, ...]]]
Opened = Callable[[str], AbstractAsyncContextManager[Database]]


@pytest.fixture
async def tamper(database_url: str, tmp_path: Path, outside: Ask) -> Ask:
    """The client's hand in a store full of everything: 13 entries of CH-014, 23 of the unit."""
    await fill(database_url, tmp_path)
    await let_change(outside, "sqlite" if database_url.startswith("sqlite") else "postgres")
    return outside


@pytest.fixture
def found(database_url: str, opened: Opened) -> Look:
    async def look() -> tuple[str, ...]:
        return (await whole(database_url, opened)).found

    return look


async def whole(url: str, opened: Opened) -> Verdict:
    async with opened(url) as database, database.read() as tx:
        return await verify(tx)


async def test_a_store_as_written_is_found_whole(database_url: str, tamper: Ask, opened: Opened) -> None:
    verdict = await whole(database_url, opened)
    assert verdict == Verdict(entries=37, chains=2, messages=12, found=())


async def test_an_altered_text_is_named(tamper: Ask, found: Look) -> None:
    held = await text_of(tamper, "CH-014", 13)
    await rewrite(tamper, "CH-014", 13, {**held, "author": "R1"}, hash_too=False)
    assert await found() == ("CH-014#13: its text does not give its hash",)


async def test_an_altered_text_shows_in_the_jar_too(tamper: Ask, found: Look) -> None:
    held = await text_of(tamper, "CH-014", 10)
    text = canonical(held).replace("5102", "5109")
    await rewrite(tamper, "CH-014", 10, json.loads(text), hash_too=False)
    assert await found() == (
        "CH-014#10: its text does not give its hash",
        "CH-014: sample 02 is shown differently from its entries",
    )


async def test_an_altered_hash_is_named_with_the_entry_that_no_longer_follows(tamper: Ask, found: Look) -> None:
    await tamper(f"UPDATE entries SET hash = '{'0' * 64}' WHERE chain = 'CH-014' AND seq = 11")
    assert await found() == (
        "CH-014#11: its text does not give its hash",
        "CH-014#12: it does not follow the entry before it",
    )


async def test_a_text_altered_with_its_hash_breaks_at_the_next_entry(tamper: Ask, found: Look) -> None:
    held = await text_of(tamper, "CH-014", 6)
    await rewrite(tamper, "CH-014", 6, {**held, "channel": "web"}, hash_too=True)
    assert await found() == ("CH-014#7: it does not follow the entry before it",)


async def test_the_last_entry_altered_with_its_hash_differs_from_the_head(tamper: Ask, found: Look) -> None:
    held = await text_of(tamper, "CH-014", 13)
    await rewrite(tamper, "CH-014", 13, {**held, "author": "R1"}, hash_too=True)
    assert await found() == ("CH-014: the table of heads says another end than its entries",)


async def test_an_entry_that_a_midnight_counted_is_held_by_it(tamper: Ask, found: Look) -> None:
    """The whole rest of the chain may be written anew and the heads with it: the midnight's hash stays."""
    previous = None
    for seq in range(10, 14):
        held = await text_of(tamper, "CH-014", seq)
        held |= {"channel": "web"} if previous is None else {"previous": previous}
        await rewrite(tamper, "CH-014", seq, held, hash_too=True)
        previous = sha256_of(canonical(held))
    await tamper(f"UPDATE heads SET hash = '{previous}' WHERE chain = 'CH-014'")
    assert await found() == ("CH-014#10: it has another hash than at a midnight before",)


async def test_a_removed_entry_is_named_by_its_gap(tamper: Ask, found: Look) -> None:
    await tamper("DELETE FROM entries WHERE chain = 'CH-014' AND seq = 6")
    assert await found() == (
        "CH-014: entries 6 to 6 are gone",
        "CH-014#7: it does not follow the entry before it",
        "CH-014: sample 01 is shown differently from its entries",
    )


async def test_several_removed_entries_are_named_as_one_gap(tamper: Ask, found: Look) -> None:
    await tamper("DELETE FROM entries WHERE chain = 'unit' AND seq IN (3, 4)")
    assert await found() == (
        "unit: entries 3 to 4 are gone",
        "unit#5: it does not follow the entry before it",
        "unit: person C1 is shown and no entry speaks of it",
        "unit: person R2 is shown and no entry speaks of it",
        "addresses: sms:+447700900002 is shown and no entry speaks of it",
        "addresses: sms:+447700900003 is shown and no entry speaks of it",
    )


async def test_the_last_entries_removed_with_every_trace_are_missed_by_the_midnight(
    tamper: Ask, found: Look
) -> None:
    """Back to the ninth entry, with the head and what was shown of them put right."""
    await tamper("DELETE FROM entries WHERE chain = 'CH-014' AND seq > 9")
    ((hash_,),) = await tamper("SELECT hash FROM entries WHERE chain = 'CH-014' AND seq = 9")
    await tamper(f"UPDATE heads SET seq = 9, hash = '{hash_}' WHERE chain = 'CH-014'")
    await tamper("DELETE FROM samples WHERE number IN ('02', '03')")
    assert "CH-014: a midnight counted 10 entries, entry 10 is gone" in await found()


async def test_a_chain_removed_whole_is_missed_by_the_midnight(tamper: Ask, found: Look) -> None:
    await tamper("DELETE FROM entries WHERE chain = 'CH-014'")
    assert await found() == (
        "CH-014: it is shown and has no entries",
        "photos: CH-014#5 is shown and no entry speaks of it",
        "photos: CH-014#7 is shown and no entry speaks of it",
        "readings: CH-014#3/in is shown and no entry speaks of it",
        "CH-014: a midnight counted 10 entries, entry 10 is gone",
        "CH-014: the table of heads says another end than its entries",
    )


async def test_an_altered_previous_hash_is_named(tamper: Ask, found: Look) -> None:
    held = await text_of(tamper, "CH-014", 13)
    await rewrite(tamper, "CH-014", 13, {**held, "previous": "0" * 64}, hash_too=True)
    assert await found() == (
        "CH-014#13: it does not follow the entry before it",
        "CH-014: the table of heads says another end than its entries",
    )


async def test_two_entries_that_changed_places_are_named(tamper: Ask, found: Look) -> None:
    for now, then in ((12, 99), (13, 12), (99, 13)):
        await tamper(f"UPDATE entries SET seq = {then} WHERE chain = 'CH-014' AND seq = {now}")
    assert set(await found()) == {
        "CH-014#12: it stands at another place than its text says",
        "CH-014#12: it does not follow the entry before it",
        "CH-014#13: it stands at another place than its text says",
        "CH-014#13: it does not follow the entry before it",
        "CH-014: the table of heads says another end than its entries",
    }


async def test_an_entry_moved_to_another_chain_is_named_in_both(tamper: Ask, found: Look) -> None:
    await tamper("UPDATE entries SET chain = 'unit', seq = 25 WHERE chain = 'CH-014' AND seq = 13")
    assert await found() == (
        "unit#25: it stands at another place than its text says",
        "unit#25: it does not follow the entry before it",
        "CH-014: the table of heads says another end than its entries",
        "unit: the table of heads says another end than its entries",
    )


@pytest.mark.parametrize("change", ["kind = 'GasNoted'", "received_us = received_us + 1"])
async def test_a_column_that_says_otherwise_than_its_text_is_named(change: str, tamper: Ask, found: Look) -> None:
    await tamper(f"UPDATE entries SET {change} WHERE chain = 'CH-014' AND seq = 13")
    assert await found() == ("CH-014#13: its columns say otherwise than its text",)


async def test_an_altered_message_is_named(tamper: Ask, found: Look) -> None:
    await tamper("UPDATE raw_messages SET text = replace(text, '5102', '5109') WHERE key = 'sms:m6'")
    assert await found() == ("message sms:m6: its text does not give its hash",)


async def test_a_message_altered_with_its_hash_is_missed_by_the_entries_that_cite_it(
    tamper: Ask, found: Look
) -> None:
    ((text,),) = await tamper("SELECT text FROM raw_messages WHERE key = 'sms:m6'")
    altered = text.replace("5102", "5109")
    await tamper(
        f"UPDATE raw_messages SET text = {quoted(altered)}, sha256 = '{sha256_of(altered)}' WHERE key = 'sms:m6'"
    )
    assert await found() == (
        "CH-014#9: the message it cites is gone or altered",
        "CH-014#10: the message it cites is gone or altered",
    )


async def test_a_removed_message_is_missed_by_the_entries_that_cite_it(tamper: Ask, found: Look) -> None:
    await tamper("DELETE FROM raw_messages WHERE key = 'sms:m11'")
    assert await found() == ("CH-014#13: the message it cites is gone or altered",)


@pytest.mark.parametrize(
    "change", ["address = 'sms:+447700900002'", "received_us = received_us - 1", "sent_us = 1", "key = 'sms:m99'"]
)
async def test_a_message_whose_columns_say_otherwise_is_named(change: str, tamper: Ask, found: Look) -> None:
    await tamper(f"UPDATE raw_messages SET {change} WHERE key = 'sms:m0'")
    (sentence,) = await found()
    assert sentence.endswith(": its columns say otherwise than its text")


SHOWN = [
    ("UPDATE samples SET doc = replace(doc, '5107', '5101') WHERE number = '01'", "CH-014: sample 01 {0}"),
    ("UPDATE samples SET seal = '5101' WHERE number = '01'", "CH-014: sample 01 {0}"),
    ("DELETE FROM samples WHERE number = '02'", "CH-014: sample 02 {0}"),
    ("UPDATE samples SET number = '04', id = 'CH-014#99' WHERE number = '03'", "CH-014: sample 03 {0}"),
    ("UPDATE cases SET doc = replace(doc, 'R2', 'R1')", "CH-014: the case {0}"),
    ("UPDATE cases SET state = 'closed'", "CH-014: the case {0}"),
    ("UPDATE heads SET seq = 12 WHERE chain = 'unit'", "unit: the table of heads says another end than its entries"),
    ("UPDATE unit_items SET doc = replace(doc, 'responder', 'supervisor') WHERE name = 'R2'", "unit: person R2 {0}"),
    ("DELETE FROM unit_items WHERE kind = 'cooler'", "unit: cooler M {0}"),
    ("INSERT INTO unit_items (kind, name, doc) VALUES ('limit', 'speed_knots', '90')", "unit: limit speed_knots {1}"),
    ("UPDATE addresses SET person = 'S1' WHERE person = 'R2'", "addresses: sms:+447700900002 {0}"),
    ("UPDATE photos SET sample_id = 'CH-014#9' WHERE person = 'R1'", "photos: CH-014#5 {0}"),
    ("DELETE FROM photos WHERE person = 'R2'", "photos: CH-014#7 {0}"),
    ("UPDATE alerts SET kind = 'stop' WHERE id = 'A14'", "alerts: A14 {0}"),
    ("UPDATE readings SET doc = replace(doc, '5.1', '4.1')", "readings: unit#13 {0}"),
    ("DELETE FROM readings WHERE id = 'unit#9'", "readings: unit#9 {0}"),
]
WORDS = ("is shown differently from its entries", "is shown and no entry speaks of it")


@pytest.mark.parametrize(("change", "sentence"), SHOWN)
async def test_what_people_read_is_held_against_the_entries(
    change: str, sentence: str, tamper: Ask, found: Look
) -> None:
    await tamper(change)
    told = await found()
    assert told[0] == sentence.format(*WORDS)
    assert len(told) == (2 if "#99" in change else 1)


LATER = [  # (table, its document, what a later release added, what that is where nothing says otherwise)
    ("samples", "doc", "number_open", False),
    ("cases", "doc", "state", "open"),
    ("alerts", "standing", "closed_how", None),
    ("unit_items", "doc", "active", True),
]


@pytest.mark.parametrize(("table", "column", "added", "plain"), LATER)
async def test_a_row_of_a_release_that_lacked_a_field_is_no_finding_and_another_value_of_it_is_one(
    table: str, column: str, added: str, plain: object, tamper: Ask, found: Look
) -> None:
    rows = await tamper(f"SELECT {column} FROM {table}")
    docs = [doc for (doc,) in rows if json.loads(doc).get(added, "lacks it") == plain]
    assert docs
    older = {}
    for doc in docs:
        older[doc] = canonical({name: value for name, value in json.loads(doc).items() if name != added})
        await tamper(f"UPDATE {table} SET {column} = {quoted(older[doc])} WHERE {column} = {quoted(doc)}")
    assert await found() == ()
    forged = json.loads(docs[0]) | {added: {"active": False, "number_open": True}.get(added, "x")}
    change = f"UPDATE {table} SET {column} = {quoted(canonical(forged))}"
    await tamper(f"{change} WHERE {column} = {quoted(older[docs[0]])}")
    assert len(await found()) == 1


async def test_a_jar_that_no_entry_declared_is_named(tamper: Ask, found: Look) -> None:
    await tamper(
        "INSERT INTO samples (id, case_name, number, jar_key, told_by, declared_us, has_position, open, doc)"
        " VALUES ('CH-014#77', 'CH-014', '77', 'CH-014/77', 'R1', 1, 0, 1, '{}')"
    )
    assert await found() == ("CH-014: sample 77 is shown and no entry speaks of it",)


async def test_an_exchanged_value_of_a_commitment_is_named(tamper: Ask, found: Look) -> None:
    ((commitment,),) = await tamper("SELECT commitment FROM salts WHERE value = 'sms:+447700900098'")
    await tamper("UPDATE salts SET value = 'sms:+447700900097' WHERE value = 'sms:+447700900098'")
    assert set(await found()) == {
        f"the side table's value for the commitment {commitment[:12]} does not give it",
        "message sms:m8: its columns say otherwise than its text",
    }


async def test_a_missing_value_of_a_commitment_is_named(tamper: Ask, found: Look) -> None:
    ((commitment,),) = await tamper("SELECT commitment FROM salts WHERE value = 'web:r1'")
    await tamper("DELETE FROM salts WHERE value = 'web:r1'")
    assert await found() == (f"unit: the side table has no value for the commitment {commitment[:12]}",)


async def test_an_entry_that_is_no_json_is_named_and_the_rest_is_looked_at(tamper: Ask, found: Look) -> None:
    await tamper("UPDATE entries SET text = 'x' WHERE chain = 'CH-014' AND seq = 13")
    await tamper("UPDATE cases SET state = 'closed'")
    assert await found() == (
        "CH-014#13: its text does not give its hash",
        "CH-014#13: its text is not JSON",
        "CH-014#13: it cannot be read (JSONDecodeError)",
        "CH-014: the case is shown differently from its entries",
    )
