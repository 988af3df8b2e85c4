"""The house rules that a machine can hold: where files stand, who imports whom, what every name says."""

from __future__ import annotations

import ast
import io
import re
import subprocess
import sys
import tokenize
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest
from babel.messages.pofile import read_po

from bot.model.entries import BODIES
from bot.rules.limits import Limits

ROOT = Path(__file__).resolve().parent.parent
TOP = {"README.md", "DEVELOPERS.md", "LICENSE", "pyproject.toml", "bot", "storage", "tests", "deploy"}
LONGEST = 350
CODE = (".py", ".js", ".css", ".html", ".md", "")  # not tables, catalogues and locked lists
# Entries that stand in their chain and that no table is made from.
NO_TABLE = {
    "DisposalRefused", "DoneSaid", "EditProposed", "EvidenceViewed", "FloodStopped", "FileTaken", "GapExplained", "GasNoted", "HeadsSealed", "LinkIssued",
    "MessagesAdopted", "NoteMade", "Reminded", "ShiftOffered", "ShiftSummed", "SpeakerChanged",
}  # fmt: skip
ANY = r"\w+"
# Families of wordings whose keys are put together out of sight of the test that looks for them.
FAMILIES = [r"read\.(length|volume)\.unit", r"readback\.\w+\.confirmed"]
_MODEL = ("alert", "cold", "custody", "fold_sample", "case", "people", "kit", "plan")
FOLDS = (*(f"bot/model/{name}.py" for name in _MODEL), "storage/projections.py")
DEFINITIONS = (ast.ClassDef, ast.FunctionDef, ast.AsyncFunctionDef)
# In pieces, so that this file may stand with those it looks at.
REGISTRIES = [
    "py" + "pi.org", "python" + "hosted", "np" + "mjs", "unp" + "kg.com", "jsd" + "elivr", "cdn" + "js",
    "crates" + ".io", "docker" + ".io", "gh" + "cr.io", "qua" + "y.io", "ana" + "conda", "rubygems" + ".org",
]  # fmt: skip
SOURCE = re.compile(r"(: common practice, no source|\([^()]*[A-Z0-9][^()]*\))$")
IGNORED = re.compile(r"#\s*(?:noqa\b(?::\s*[A-Z0-9, ]+)?|type:\s*ignore\b(?:\[[\w, -]+\])?)(?P<why>.*)")
REASON = re.compile(r"\s*[-#]\s*\w+\W+\w+")


@cache
def files() -> list[Path]:
    """What is in the house: everything under version control, and what would be taken in next."""
    if not (ROOT / ".git").exists():
        pytest.skip("no version control here: it cannot be told what belongs to the house")
    # Another user may own the checkout, as on a build machine.
    git = ["git", "-c", f"safe.directory={ROOT}", "ls-files", "-coz", "--exclude-standard"]
    listed = subprocess.run(git, cwd=ROOT, check=True, capture_output=True, text=True).stdout
    return [ROOT / name for name in listed.split("\0") if name and (ROOT / name).is_file()]


def texts(*suffixes: str) -> Iterator[tuple[str, str]]:
    """(path from the top, contents) of each file with one of these endings; all where none is named."""
    for path in files():
        if not suffixes or path.suffix in suffixes:
            yield path.relative_to(ROOT).as_posix(), path.read_text(encoding="utf-8", errors="replace")


def trees(*tops: str) -> Iterator[tuple[str, ast.Module]]:
    """(path, syntax tree) of each Python file under these folders."""
    for name, text in texts(".py"):
        if name.split("/")[0] in tops:
            yield name, ast.parse(text)


def test_the_top_level_holds_the_house_and_nothing_else() -> None:
    tops = {path.relative_to(ROOT).parts[0] for path in files()}
    assert {top for top in tops if not top.startswith(".")} == TOP


def test_no_file_is_too_long_to_be_read_in_one_go() -> None:
    lines = {name: text.count("\n") for name, text in texts(*CODE) if name != "LICENSE"}
    assert {name: count for name, count in lines.items() if count > LONGEST} == {}


def test_every_floor_imports_only_what_is_below_it() -> None:
    # The contracts stand in pyproject.toml; import-linter reads them and the code by itself.
    command = [str(Path(sys.executable).with_name("lint-imports")), "--no-cache"]
    lint = subprocess.run(command, cwd=ROOT, capture_output=True, text=True)
    assert lint.returncode == 0, lint.stdout + lint.stderr


def test_no_file_names_the_host_of_a_package_registry() -> None:
    assert [(name, host) for name, text in texts() for host in REGISTRIES if host in text.lower()] == []


def test_every_silenced_warning_says_why() -> None:
    silent = [
        f"{name}:{token.start[0]}: {token.string}"
        for name, text in texts(".py")
        for token in tokenize.generate_tokens(io.StringIO(text).readline)
        if token.type == tokenize.COMMENT
        and (ignored := IGNORED.search(token.string))
        and not REASON.match(ignored["why"])
    ]
    assert silent == []


def test_every_rule_that_is_switched_off_says_why() -> None:
    whole = (ROOT / "pyproject.toml").read_text(encoding="utf-8")
    section = whole.partition("\nignore = [")[2].partition("mccabe")[0]
    listed = [line for line in section.splitlines() if re.match(r'\s+"[A-Z]+\d*"|"\S+" = \[".+\]', line)]
    assert listed
    assert [line for line in listed if not re.search(r"# \w+", line)] == []


def _unnamed(name: str, tree: ast.Module) -> Iterator[str]:
    """Public things of a module that no docstring speaks for."""

    def look(node: ast.AST, path: str) -> Iterator[str]:
        for one in ast.iter_child_nodes(node):
            if isinstance(one, DEFINITIONS) and not one.name.startswith("_"):
                if ast.get_docstring(one) is None:
                    yield f"{path}:{one.name}"
                if isinstance(one, ast.ClassDef):
                    yield from look(one, f"{path}:{one.name}")

    if ast.get_docstring(tree) is None:
        yield name
    yield from look(tree, name)


def test_every_public_name_says_what_it_is() -> None:
    assert [lack for name, tree in trees("bot", "storage") for lack in _unnamed(name, tree)] == []


def _words(node: ast.AST) -> Iterator[str]:
    """What a node names: variables, attributes, parameters, modules."""
    match node:
        case ast.Name(id=word) | ast.Attribute(attr=word) | ast.arg(arg=word) | ast.alias(name=word):
            yield word
        case ast.ImportFrom(module=str(word)):
            yield word


def test_no_test_pretends() -> None:
    banned = re.compile("(?i)mock|monkeypatch")
    said = {(name, word) for name, tree in trees("tests") for node in ast.walk(tree) for word in _words(node)}
    assert sorted((name, word) for name, word in said if banned.search(word)) == []


def test_no_test_sleeps_and_hopes() -> None:
    calls = [
        (f"{name}:{node.lineno}", [ast.unparse(one) for one in node.args])
        for name, tree in trees("tests")
        if not name.startswith("tests/bench/")  # a benchmark paces its load
        for node in ast.walk(tree)
        if isinstance(node, ast.Call) and ast.unparse(node.func).rpartition(".")[2] == "sleep"
    ]
    assert [where for where, arguments in calls if arguments != ["0"]] == []


def test_every_limit_names_its_source() -> None:
    assert Limits.model_fields
    assert [n for n, field in Limits.model_fields.items() if not SOURCE.search(field.description or "")] == []


def test_every_limit_is_held_against_something() -> None:
    used = {node.attr for _, tree in trees("bot") for node in ast.walk(tree) if isinstance(node, ast.Attribute)}
    assert sorted(set(Limits.model_fields) - used) == []


def test_every_kind_of_entry_changes_a_table_or_is_known_to_change_none() -> None:
    named = {
        node.attr
        for name, tree in trees("bot", "storage")
        if name in FOLDS
        for node in ast.walk(tree)
        if isinstance(node, ast.Attribute) and ast.unparse(node.value) == "said"
    }
    assert set(BODIES) - named == NO_TABLE
    assert named & NO_TABLE == set()


def _patterns(given: ast.expr, inside: ast.AST) -> Iterator[str]:
    """The wording keys that an expression may give, as patterns; a name gives what is assigned to it."""
    match given:
        case ast.Constant(value=str(key)):
            yield re.escape(key)
        case ast.JoinedStr(values=parts):
            literal = (re.escape(str(one.value)) if isinstance(one, ast.Constant) else ANY for one in parts)
            yield "".join(literal)
        case ast.IfExp(body=one, orelse=other):
            yield from _patterns(one, inside)
            yield from _patterns(other, inside)
        case ast.Name(id=name):
            for node in ast.walk(inside):
                match node:
                    case ast.Assign(targets=[ast.Name(id=assigned)], value=value) if assigned == name:
                        yield from _patterns(value, inside)
                    case ast.For(target=ast.Name(id=assigned), iter=ast.Tuple(elts=values)) if assigned == name:
                        yield from (pattern for value in values for pattern in _patterns(value, inside))


def _asked_for() -> Iterator[tuple[str, str]]:
    """(where, pattern) of each wording key that the code asks for."""
    for name, tree in trees("bot"):
        for function in (node for node in ast.walk(tree) if isinstance(node, (ast.FunctionDef, ast.AsyncFunctionDef))):
            for node in (node for node in ast.walk(function) if isinstance(node, ast.Call) and node.args):
                called = ast.unparse(node.func)
                if re.search(r"(^|\.)(word|words\.say|words\.has|Ask)$", called):
                    yield from ((f"{name}:{node.lineno}", one) for one in _patterns(node.args[0], function))


def _catalogue() -> set[str]:
    keys: list[str] = []
    for part in sorted((ROOT / "bot/dialogue/catalogues/en").glob("*.po")):
        with part.open("rb") as file:
            keys += [str(message.id) for message in read_po(file) if message.id]
    assert len(keys) == len(set(keys)), "a wording stands in two catalogues"
    return set(keys)


def test_every_wording_that_the_code_asks_for_is_in_the_catalogue() -> None:
    keys = _catalogue()
    asked = set(_asked_for())
    assert len(asked) > 100
    assert sorted((w, one) for w, one in asked if not any(re.fullmatch(one, key) for key in keys)) == []


def test_every_wording_of_the_catalogue_is_said_somewhere() -> None:
    asked = {one for _, one in _asked_for()} | set(FAMILIES)
    assert sorted(key for key in _catalogue() if not any(re.fullmatch(one, key) for one in asked)) == []
