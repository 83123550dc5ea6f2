"""Digests and sizes as records hold them."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field as Constraint

Sha256 = Annotated[
    str,
    Constraint(
        pattern=r"\A[0-9a-f]{64}\z",
        json_schema_extra={"pattern": "^[0-9a-f]{64}$"},  # JSON Schema knows neither \A nor \z
    ),
]
Size = Annotated[int, Constraint(ge=0)]
