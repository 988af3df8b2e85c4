"""What a validator has against a value, in words of whoever wrote it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

_WANTED = {
    "int": "write a whole number",
    "float": "write a number",
    "string": "write text in quotes",
    "bool": "write true or false",
    "tuple": "write a list in [ ]",
    "list": "write a list in [ ]",
    "dict": "write a table",
    "model": "write a table",
    "extra": "nothing of that name belongs here; correct the name or take it out",
    "missing": "it is missing; add it",
}


def plainly(error: Mapping[str, Any]) -> str:
    """What is to be written, without a full stop, of one of pydantic's error details; no value is shown."""
    kind, said = str(error["type"]), str(error["msg"])
    if kind == "value_error":
        return said.removeprefix("Value error, ")
    if kind == "missing" and error.get("loc") and isinstance(error["loc"][-1], int):
        return "the list is too short; add what is missing"
    wanted = _WANTED.get(kind.partition("_")[0])
    return wanted or said.replace("Input should", "it should").replace("String should", "it should")
