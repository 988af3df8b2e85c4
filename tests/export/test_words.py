"""Six words of a day (RFC 1751), and a paper, from the command line."""

from __future__ import annotations

import hashlib
import json
import re
import subprocess
import sys
from pathlib import Path

import pypdf
import pytest
import rfc8785
from Crypto.Util.RFC1751 import key_to_english

from bot.export.verify import Bundle, six_words
from tests.test_cli import coldjar


def words_of(store: Path) -> dict[str, str]:
    done = coldjar("show", "words", "--store", store, "--json")
    return {one["day"]: one["words"] for one in json.loads(done.stdout)}


def test_six_words_from_a_notebook_find_their_day_in_the_store_and_in_the_bundle(store: Path, folder: Path) -> None:
    words = words_of(store)
    assert list(words) == ["2026-10-12", "2026-10-13"]
    done = coldjar("verify", "--store", store, "--words", words["2026-10-12"].lower())
    assert done.stdout.startswith("These are the words of 2026-10-12: CH-014 ")
    assert done.returncode == 0
    command = [sys.executable, "-I", "-S", folder / "verify.py", "--words", words["2026-10-13"]]
    said = subprocess.run(command, capture_output=True, text=True)
    assert (said.returncode, said.stdout.splitlines()[0]) == (0, "These are the words of 2026-10-13.")


def test_the_words_that_the_bundle_makes_are_those_of_rfc_1751(folder: Path) -> None:
    # Against pycryptodome's own encoder, on each midnight's heads.
    lines = [json.loads(one)["entry"] for one in (folder / "data/unit.jsonl").read_text().splitlines()]
    heads = [one["body"]["heads"] for one in lines if one["kind"] == "HeadsSealed"]
    assert len(heads) == 2
    for one in heads:
        digest = hashlib.sha256(rfc8785.dumps(one)).digest()
        assert six_words(Bundle(str(folder)), one) == key_to_english(digest[:8])


@pytest.mark.parametrize(
    ("words", "code", "told"),
    [
        # RFC 1751, appendix B: words of the standard's own example, of no day here.
        ("TIDE ITCH SLOW REIN RULE MOT", 1, "no midnight of this store has the words TIDE ITCH SLOW REIN RULE MOT"),
        ("TIDE ITCH SLOW REIN RULE MOP", 2, "A word was heard wrongly, or two changed places; read them again."),
        ("TIDE ITCHY SLOW REIN RULE MOT", 2, "ITCHY is not a word of the list (RFC 1751); read them again."),
        ("TIDE ITCH", 2, "2 words were given and a day has six; read them again."),
    ],
)
def test_words_that_are_of_no_day_or_no_words_are_told_apart(store: Path, words: str, code: int, told: str) -> None:
    done = coldjar("verify", "--store", store, "--words", words)
    assert done.returncode == code
    assert told in (done.stderr if code == 2 else done.stdout)


def test_a_paper_is_written_as_pdf_and_a_wrong_size_is_one_sentence(store: Path, tmp_path: Path) -> None:
    to = tmp_path / "sheet.pdf"
    words = ("print", "custody", "CH-014", "--store", store)
    assert coldjar(*words, "--out", to, "--size", "letter").stdout == f"{to} is written.\n"
    text = "".join(page.extract_text() for page in pypdf.PdfReader(to).pages)
    assert "E-118" in text
    assert re.search(r"Record up to CH-014#\d+ [0-9a-f]{16}", text)
    refused = coldjar(*words, "--size", "a0")
    assert (refused.returncode, refused.stderr) == (2, "There is no paper size a0; there are: a4, letter.\n")
