"""The base of every value of the model: frozen, strict about unknown names, JSON both ways."""

from __future__ import annotations

from pydantic import BaseModel, ConfigDict


class Value(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)
