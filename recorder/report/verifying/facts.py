"""What ``seamnote verify`` finds, each fact by itself, and the words for what is wrong.

Nothing here is one merged "ok": a signature is intact, its signer is trusted, the evidence agrees
with the page, and each of these can be so without the others.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from recorder.model.evidence import Evidence


class Fault(StrEnum):
    """Why a report must not be relied on, what tells most first. The value is its name in JSON."""

    UNSIGNED = "unsigned"
    SIGNATURE_EMPTIED = "signature_emptied"
    RANGE_HOLDS_MORE = "range_holds_more"
    SIGNATURE_DAMAGED = "signature_damaged"
    RANGE_CHANGED = "range_changed"
    BYTES_MISSING = "bytes_missing"
    OTHER_CERTIFICATE = "other_certificate"
    BYTES_CHANGED = "bytes_changed"
    BYTES_APPENDED = "bytes_appended"
    PAGE_DRAWN_OVER = "page_drawn_over"
    PAGE_CHANGED = "page_changed"
    ANNOTATION_CHANGED = "annotation_changed"
    FONT_CHANGED = "font_changed"
    APPEARANCE_CHANGED = "appearance_changed"
    ATTACHMENT_CHANGED = "attachment_changed"
    METADATA_CHANGED = "metadata_changed"
    SIGNATURE_REMOVED = "signature_removed"
    STRUCTURE_CHANGED = "structure_changed"
    SECOND_OPINION = "second_opinion"
    UNREADABLE = "unreadable"
    SIGNATURES_DISAGREE = "signatures_disagree"
    NOT_CERTIFIED = "not_certified"
    STRANGER = "stranger"
    NOT_IN_TIME = "not_in_time"
    UNFIT_CERTIFICATE = "unfit_certificate"
    STAMP_BROKEN = "stamp_broken"
    NUMBER_OF_SIGNATURES = "number_of_signatures"
    DIGEST_DIFFERS = "digest_differs"
    JOB_DIFFERS = "job_differs"
    EVIDENCE_MISSING = "evidence_missing"
    EVIDENCE_UNREADABLE = "evidence_unreadable"
    METADATA_INCONSISTENT = "metadata_inconsistent"
    ORIGINAL_DIFFERS = "original_differs"

    def says(self, detail: str = "") -> str:
        return WORDS[self].format(detail=detail)


WORDS = {
    Fault.UNSIGNED: "it carries no signature",
    Fault.RANGE_CHANGED: "the range of bytes that a signature covers was changed",
    Fault.RANGE_HOLDS_MORE: "what a signature leaves out holds more than the signature: something "
    "was wrapped into it",
    Fault.SIGNATURE_EMPTIED: "a signature was overwritten with zeros",
    Fault.SIGNATURE_DAMAGED: "a signature is not one that this program wrote ({detail})",
    Fault.BYTES_CHANGED: "its content was changed after signing",
    Fault.OTHER_CERTIFICATE: "a signature was not made by the key of the certificate in it",
    Fault.BYTES_MISSING: "its end is missing ({detail})",
    Fault.BYTES_APPENDED: "what means nothing was added behind its last signature ({detail})",
    Fault.PAGE_DRAWN_OVER: "something was drawn over a page after signing ({detail})",
    Fault.PAGE_CHANGED: "a page was changed after signing ({detail})",
    Fault.ANNOTATION_CHANGED: "an annotation was added or changed after signing ({detail})",
    Fault.FONT_CHANGED: "a font was changed after signing ({detail})",
    Fault.APPEARANCE_CHANGED: "the drawing in a signature field was changed after signing "
    "({detail})",
    Fault.ATTACHMENT_CHANGED: "an attached file was changed after signing ({detail})",
    Fault.METADATA_CHANGED: "the description of the document was changed after signing ({detail})",
    Fault.SIGNATURE_REMOVED: "a signature was taken out of the form after signing ({detail})",
    Fault.STRUCTURE_CHANGED: "the document was changed after signing ({detail})",
    Fault.SECOND_OPINION: "pyHanko finds a change after signing that is not permitted ({detail})",
    Fault.UNREADABLE: "it cannot be read as a PDF ({detail})",
    Fault.SIGNATURES_DISAGREE: "the signatures in its form are not those in its bytes",
    Fault.NOT_CERTIFIED: "its first signature does not certify it as a report ({detail})",
    Fault.STRANGER: "the signature in {detail} is by somebody whom the authority of the "
    "certifying technician did not name",
    Fault.NOT_IN_TIME: "a certificate was not valid at the time of signing ({detail})",
    Fault.UNFIT_CERTIFICATE: "a certificate is not one for signing documents ({detail})",
    Fault.STAMP_BROKEN: "its time stamp is not for this signature, or was changed ({detail})",
    Fault.NUMBER_OF_SIGNATURES: "it carries {detail}",
    Fault.DIGEST_DIFFERS: "the evidence attached to it is not the one that its first page names",
    Fault.JOB_DIFFERS: "the attached job is not the one that its evidence names ({detail})",
    Fault.EVIDENCE_MISSING: "{detail}, which its first page vouches for, is not attached",
    Fault.EVIDENCE_UNREADABLE: "{detail} in it cannot be read",
    Fault.METADATA_INCONSISTENT: "its description contradicts itself ({detail})",
    Fault.ORIGINAL_DIFFERS: "the archive of this home holds other files than it was made of "
    "({detail})",
}


class Doubt(StrEnum):
    """What keeps a good report from being trusted here. The value is its name in JSON."""

    SIGNER_UNKNOWN = "signer_unknown"
    NAMESAKE = "namesake"
    STAMP_UNKNOWN = "stamp_unknown"
    NOT_IN_ARCHIVE = "not_in_archive"

    def says(self, detail: str = "") -> str:
        return DOUBTS[self].format(detail=detail)


DOUBTS = {
    Doubt.SIGNER_UNKNOWN: "the signatures are good, but this home does not know who signed "
    "({detail}): compare the fingerprint of the authority with the one that the firm gave you",
    Doubt.NAMESAKE: "the signatures are good, but not by the authority that this home knows: that "
    "of the signer ({detail}) bears the same name and has another key; ask the firm whether it is "
    "theirs",
    Doubt.STAMP_UNKNOWN: "the time stamp is good, but this home does not know its authority "
    "({detail})",
    Doubt.NOT_IN_ARCHIVE: "this home holds the job, but has no record of this report",
}


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
class Finding:
    """One reason, by its name and in words."""

    reason: Fault | Doubt
    words: str

    @classmethod
    def of(cls, reason: Fault | Doubt, detail: str = "") -> Finding:
        return cls(reason, reason.says(plain(detail)))


def plain(text: str) -> str:
    """Text out of a file as one line that can move no cursor and turn no direction of writing, so
    that a name in a forger's certificate cannot pass for a line of this program.
    """
    return "".join(char if char.isprintable() else "\ufffd" for char in text)


def counted(number: int, what: str) -> str:
    """'1 byte', '2 bytes'."""
    return f"{number} {what}" if number == 1 else f"{number} {what}s"


def in_order(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Each finding once, those first that tell most."""
    ranks = {reason: rank for rank, reason in enumerate((*Fault, *Doubt))}
    return tuple(sorted(dict.fromkeys(findings), key=lambda each: ranks[each.reason]))


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
    """

    job: str = ""
    recorded: bool | None = None
    originals: int = 0
    changed: tuple[str, ...] = ()
    missing: tuple[str, ...] = ()


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
