"""The base of every value of the model: frozen, strict about unknown names, JSON both ways."""

from __future__ import annotations

from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field

# Of a splice or press run, counted from 1. No job has more: what counts them may go through all.
Number = Annotated[int, Field(ge=1, le=999)]


class Value(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)
