"""Which edition of a report is wanted: when, for whom, how long, on which paper."""

from __future__ import annotations

from pathlib import Path
from typing import Literal

from pydantic import AwareDatetime

from recorder.model.base import Value
from recorder.model.report_record import Variant
from recorder.model.software import Software


class Edition(Value):
    """now: when the page is written, with zone. draft: marks every page as not signed.
    signer: common name on the key that will sign; not shown on a draft. digest: SHA-256 of the
    evidence manifest in hex, for the code on page 1; empty where there is none. software: what
    heard, measured and writes, as in the manifest; else what the job knows. variant: all of the
    record, or its first page alone. drawn: the technician's field will show a drawing. overrides:
    folder of the home with templates, style sheets and fonts that stand in for the shipped ones of
    the same name.
    """

    now: AwareDatetime
    draft: bool
    signer: str
    digest: str = ""
    software: tuple[Software, ...] = ()
    variant: Variant = "full"
    drawn: bool = False
    paper: Literal["A4", "Letter"] = "A4"
    overrides: Path | None = None
