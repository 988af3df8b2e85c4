"""A command line that cannot be read is answered in one sentence with the way out, and exit code 2.

Exit code and stream: errors go to stderr (POSIX.1-2017, 1.4, Utility Description Defaults).
"""

from __future__ import annotations

import pytest
from typer.main import get_command

from bot.cli import app
from tests.test_cli import coldjar

ALL = sorted(get_command(app).commands)  # type: ignore[attr-defined]  # it is a group


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        ("frobnicate", "coldjar has no command frobnicate; coldjar --help lists them."),
        ("serv", "coldjar has no command serv; did you mean serve?"),
        ("--", "coldjar cannot be read as it was typed; coldjar --help shows how."),
        ("--version", "coldjar has no option --version; coldjar --help lists what it has."),
        ("serve", "coldjar serve lacks --store (the store's folder); add it."),
        ("setup --store x", "coldjar setup lacks FILE (the file to read); add it."),
        ("serve --stroe x", "coldjar serve has no option --stroe; did you mean --store?"),
        ("digest -z", "coldjar digest has no option -z; coldjar digest --help lists what it has."),
        ("serve --store", "--store wants a value; write it behind."),
        ("code R1 --store x --once=1", "--once takes no value; write it alone."),
        (
            "serve --store a b c",
            "coldjar serve cannot read b c there; leave it out, or put words with spaces in quotes.",
        ),
        ("demo --port www", "--port of coldjar demo takes a whole number; write one behind it."),
        ("demo --port 65536", "There is no port 65536; take one from 1 to 65535, or 0 for a free one."),
        ("drill sheen --store x --pace fast", "--pace of coldjar drill takes a number; write one behind it."),
        ("drill sheen --store x --pace 61", "--pace goes from 0.1 to 60; 2 is twice as fast."),
        ("drill sheen --store x --pace nan", "--pace goes from 0.1 to 60; 2 is twice as fast."),
    ],
)
def test_what_is_wrong_is_said_in_one_sentence(words: str, sentence: str) -> None:
    done = coldjar(*words.split())
    assert (done.returncode, done.stdout, done.stderr) == (2, "", f"{sentence}\n")


@pytest.mark.parametrize("command", ALL)
def test_every_command_says_what_it_lacks_and_what_it_has_not(command: str) -> None:
    for words in ((command, "--none-of-ours"), (command,)) if command != "demo" else ((command, "--none-of-ours"),):
        done = coldjar(*words)
        assert (done.returncode, done.stdout, done.stderr.count("\n")) == (2, "", 1)
        assert done.stderr.startswith(f"coldjar {command} ")
        assert done.stderr.endswith((".\n", "?\n"))
