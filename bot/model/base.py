"""What every value of the model shares."""

from __future__ import annotations

from typing import Annotated, TypeAlias

import pydantic
from pydantic import AfterValidator, BaseModel, ConfigDict

__all__ = ["Frozen", "JsonValue"]

EXACT = 2**53  # whole numbers below it are exact in JSON (RFC 8785, 3.2.2.3)


class Frozen(BaseModel):
    """A value: never changed after it is made, and it refuses what it does not know."""

    model_config = ConfigDict(frozen=True, extra="forbid")


def _as_json_holds_it(value: pydantic.JsonValue) -> pydantic.JsonValue:
    """75.0 as 75: JSON knows one sort of number, so told and read back are the same value."""
    if isinstance(value, dict):
        return {key: _as_json_holds_it(held) for key, held in value.items()}
    if isinstance(value, list):
        return [_as_json_holds_it(held) for held in value]
    if isinstance(value, float) and value.is_integer() and abs(value) < EXACT:
        return int(value)
    return value


JsonValue: TypeAlias = Annotated[pydantic.JsonValue, AfterValidator(_as_json_holds_it)]
