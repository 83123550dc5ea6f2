"""What ``seamnote verify`` finds, each fact by itself.

Nothing here is one merged "ok": a signature is intact, its signer is trusted, the evidence agrees
with the page, and each of these can be so without the others.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from recorder.model.evidence import Evidence
from recorder.report.verifying.reasons import Doubt, Fault, Finding

__all__ = [
    "ArchiveFacts",
    "Doubt",
    "EvidenceFacts",
    "Expected",
    "Fault",
    "Finding",
    "Role",
    "SignatureFacts",
    "Signer",
    "Time",
    "Verification",
]


class Role(StrEnum):
    """What a signature stands for, told by the field that holds it."""

    TECHNICIAN = "technician"
    CUSTOMER = "customer"
    OTHER = "other"
    UNKNOWN = "unknown"

    @property
    def says(self) -> str:
        return {
            Role.TECHNICIAN: "the technician certifies the report",
            Role.CUSTOMER: "the customer's drawing, witnessed by the technician",
            Role.OTHER: "in a field that no report has",
            Role.UNKNOWN: "what it is for cannot be told",
        }[self]


@dataclass(frozen=True)
class Signer:
    """Who signed, as the certificate says. Only ``trusted`` ties it to a person.

    name, organization: of the certificate's subject. fingerprint: SHA-256 of the certificate.
    authority, authority_fingerprint: of the certificate that the chain ends at; empty when it
    cannot be told. trusted: the chain ends at a certificate that this home knows. why_not: in
    words; empty when it is. in_time: the certificate was valid at the time of signing.
    fit: it is one for signing documents. demo: a throw-away key.
    """

    name: str
    organization: str
    fingerprint: str
    authority: str
    authority_fingerprint: str
    trusted: bool
    why_not: str
    in_time: bool
    fit: bool
    demo: bool


@dataclass(frozen=True)
class Time:
    """When a signature was made.

    claimed: by the clock of the device; None when it cannot be read. stamped: by a time-stamp
    authority; None without a stamp. authority: its name. stamp_trusted: this home knows it.
    """

    claimed: datetime | None = None
    stamped: datetime | None = None
    authority: str = ""
    stamp_trusted: bool = False

    @property
    def best(self) -> datetime | None:
        """The stamped time where its authority is known, else the claimed."""
        return self.stamped if self.stamp_trusted else self.claimed


@dataclass(frozen=True)
class SignatureFacts:
    """What was found of one signature, in the order of signing.

    field: the name of its field. intact: the bytes that it covers are those that were signed.
    valid: its value was made by the key of the certificate in it. signer: None when the container
    cannot be read. changes_since: what was added to the file after it, in words; empty if nothing.
    """

    field: str
    role: Role
    intact: bool
    valid: bool
    signer: Signer | None
    time: Time
    changes_since: str = ""


@dataclass(frozen=True)
class Expected:
    """How many signatures there should be. number: None when nothing says it. by: who says it."""

    number: int | None = None
    by: str = ""


@dataclass(frozen=True)
class EvidenceFacts:
    """How the page, the attached evidence and the attached job agree.

    page_digest: as the code on the first page gives it; empty without one. digest: SHA-256 of the
    attached evidence.json; empty when none is attached. Each agreement is None where one side is
    missing. job: its number, or its id.
    """

    page_digest: str = ""
    digest: str = ""
    page_matches: bool | None = None
    job_matches: bool | None = None
    job: str = ""


@dataclass(frozen=True)
class ArchiveFacts:
    """What this home's archive says.

    job: its id; empty where the archive does not hold it. recorded: the SHA-256 of this file is
    that of a report on record; None without the job. originals: how many the evidence names.
    changed, missing: names of those that lie there with other bytes, and of those that do not.
    removed: names of those that were taken out on request, which is no fault; removals: one line
    for each such deed.
    """

    job: str = ""
    recorded: bool | None = None
    originals: int = 0
    changed: tuple[str, ...] = ()
    missing: tuple[str, ...] = ()
    removed: tuple[str, ...] = ()
    removals: tuple[str, ...] = ()


@dataclass(frozen=True)
class Verification:
    """All that was found. faults: why it must not be relied on; doubts: why it is not trusted.

    file: its name. sha256: of it. covers_whole_file: no byte lies outside of what the last
    signature covers. metadata_consistent: None where there is nothing to compare. manifest: the
    attached evidence, where it could be read.
    """

    file: str
    sha256: str = ""
    signatures: tuple[SignatureFacts, ...] = ()
    expected: Expected = Expected()
    covers_whole_file: bool = False
    evidence: EvidenceFacts = EvidenceFacts()
    archive: ArchiveFacts = ArchiveFacts()
    metadata_consistent: bool | None = None
    manifest: Evidence | None = None
    faults: tuple[Finding, ...] = ()
    doubts: tuple[Finding, ...] = ()

    @property
    def failed(self) -> str:
        """The first reason why this is not the report that was signed; empty when it is."""
        return self.faults[0].words if self.faults else ""

    @property
    def signer(self) -> str:
        """Common name of the certifying technician; empty when it cannot be read."""
        first = self.signatures[0].signer if self.signatures else None
        return first.name if first else ""

    @property
    def known(self) -> bool:
        """Whether this home knows who vouches for every one of the signatures."""
        signers = [each.signer for each in self.signatures]
        return bool(signers) and all(each is not None and each.trusted for each in signers)

    @property
    def customer_signed(self) -> bool:
        return any(each.role is Role.CUSTOMER for each in self.signatures)
