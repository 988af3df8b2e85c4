"""What every value of the model shares."""

from __future__ import annotations

from pydantic import BaseModel, ConfigDict, JsonValue

__all__ = ["Frozen", "JsonValue"]


class Frozen(BaseModel):
    """A value: never changed after it is made, and it refuses what it does not know."""

    model_config = ConfigDict(frozen=True, extra="forbid")
