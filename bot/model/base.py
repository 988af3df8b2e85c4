"""What every value of the model shares."""

from __future__ import annotations

from typing import Annotated, Any, TypeAlias

import pydantic
from pydantic import AfterValidator, BaseModel, ConfigDict, GetPydanticSchema

__all__ = ["Frozen", "JsonValue", "KeptValue"]

EXACT = 2**53  # whole numbers below it are exact in JSON (RFC 8785, 3.2.2.3)


class Frozen(BaseModel):
    """A value: never changed after it is made, and it refuses what it does not know."""

    model_config = ConfigDict(frozen=True, extra="forbid")


def _as_json_holds_it(value: pydantic.JsonValue) -> pydantic.JsonValue:
    """75.0 as 75 and keys in order, as a chain holds them: told and read back are the same value.

    What JSON cannot hold at all is refused where the entry is written.
    """
    if isinstance(value, dict):
        return {key: _as_json_holds_it(held) for key, held in sorted(value.items())}
    if isinstance(value, list):
        return [_as_json_holds_it(held) for held in value]
    if isinstance(value, float) and value.is_integer() and abs(value) < EXACT:
        return int(value)
    return value


# Told values come in many shapes, each from a reader that made it: looking at their types again, in or out,
# costs more than all else that is validated.
_AS_MADE = GetPydanticSchema(lambda _source, handler: handler(Any))
# A value that an entry holds already.
KeptValue: TypeAlias = Annotated[pydantic.JsonValue, _AS_MADE]
JsonValue: TypeAlias = Annotated[KeptValue, AfterValidator(_as_json_holds_it)]
