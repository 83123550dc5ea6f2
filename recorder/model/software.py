"""Which program or model, of which version, did what for a job."""

from __future__ import annotations

from enum import StrEnum

from recorder.model.base import Value


class Use(StrEnum):
    """What a piece of software did."""

    HEARING = "hearing"
    MEASURING = "measuring"
    REPORT = "report"


class Software(Value):
    """use: what it did. name: as its makers call it. version: empty for a speech model, which has
    none. sha256: of a model's weights where they are known and were checked, else empty.
    """

    use: Use
    name: str
    version: str = ""
    sha256: str = ""
