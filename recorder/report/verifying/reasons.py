"""Why a report must not be relied on, or is not trusted here: each reason by name and in words."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum


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
    AMBIGUOUS = "ambiguous"
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
    Fault.AMBIGUOUS: "two readers can find two documents in it ({detail})",
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
    TIME_AHEAD = "time_ahead"
    TIMES_REVERSED = "times_reversed"
    NOT_IN_ARCHIVE = "not_in_archive"
    EVENTS_DIFFER = "events_differ"

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
    Doubt.TIME_AHEAD: "a signature claims a time that has not come yet ({detail}): the clock of "
    "the device was wrong, or that of this machine is",
    Doubt.TIMES_REVERSED: "the later signature claims an earlier time ({detail}): the clock of the "
    "device was set back in between",
    Doubt.NOT_IN_ARCHIVE: "this home holds the job, but has no record of this report",
    Doubt.EVENTS_DIFFER: "it is as it was signed, but the history of the job in this home is not "
    "the one that it was written after ({detail}): see 'seamnote archive check'",
}


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


def in_order(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Each finding once, those first that tell most."""
    ranks = {reason: rank for rank, reason in enumerate((*Fault, *Doubt))}
    return tuple(sorted(dict.fromkeys(findings), key=lambda each: ranks[each.reason]))
