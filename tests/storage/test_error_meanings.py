"""Every error that the engines know is either told to people or known as a mistake of the program."""

from __future__ import annotations

import sqlite3

import asyncpg
import pytest

from bot.model.errors import ColdjarError
from storage import postgres, sqlite

# The primary result codes of https://www.sqlite.org/rescode.html, by what they are to us.
TOLD = {
    *("PERM", "BUSY", "LOCKED", "READONLY", "INTERRUPT", "IOERR", "CORRUPT", "FULL"),
    *("CANTOPEN", "PROTOCOL", "SCHEMA", "NOLFS", "FORMAT", "NOTADB"),
}
NO_ERRORS = {"OK", "ROW", "DONE", "NOTICE", "WARNING", "EMPTY"}
MISTAKES = {
    *("ERROR", "INTERNAL", "ABORT", "NOMEM", "NOTFOUND", "TOOBIG", "MISMATCH", "MISUSE", "AUTH", "RANGE"),
    "CONSTRAINT",  # told by its extended code
}
# Classes of PostgreSQL's appendix A that only a mistake of the program brings about.
MISTAKEN_CLASSES = {
    *("01", "02", "03", "09", "0A", "0B", "0F", "0L", "0P", "0Z", "10", "20", "21", "22", "23", "24"),
    *("25", "26", "27", "2B", "2D", "2F", "34", "38", "39", "3B", "3F", "42", "44", "54", "55", "HV", "P0"),
}


def test_every_result_code_of_sqlite_has_its_meaning():
    # Python's sqlite3 carries the codes: a primary one has a single byte.
    known = {name: getattr(sqlite3, f"SQLITE_{name}") for name in TOLD | NO_ERRORS | MISTAKES}
    assert sorted({*range(29), 100, 101}) == sorted(known.values())
    assert {name for name, code in known.items() if code in sqlite.MEANINGS} == TOLD


def test_every_error_class_of_postgresql_has_its_meaning():
    # asyncpg carries the codes, generated from PostgreSQL's own errcodes.txt.
    codes = {getattr(found, "sqlstate", None) for found in vars(asyncpg.exceptions).values()} - {None}
    assert len(codes) > 200
    classes = {key for key in postgres.MEANINGS if len(key) == 2}
    assert {code[:2] for code in codes} == classes | MISTAKEN_CLASSES
    assert classes.isdisjoint(MISTAKEN_CLASSES)
    assert {key for key in postgres.MEANINGS if len(key) == 5} <= codes


@pytest.mark.parametrize("meanings", [sqlite.MEANINGS, postgres.MEANINGS], ids=["sqlite", "postgres"])
def test_every_meaning_is_one_sentence_with_a_way_out(meanings):
    for kind, sentence in meanings.values():
        assert issubclass(kind, ColdjarError)
        assert sentence.endswith(".")
        assert sentence.count(".") == 1
        assert ";" in sentence
