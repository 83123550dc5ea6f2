"""What a document says about itself, and what is attached to it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Literal

TECHNICIAN = "TechnicianSignature"
CUSTOMER = "CustomerSignature"


@dataclass(frozen=True)
class About:
    """The document as its metadata and a screen reader tell it.

    title, author, subject: for people. language: a BCP 47 tag. written_at: with zone.
    creator: the program that wrote it, with version. labels: for TECHNICIAN and CUSTOMER, what
    is to be signed there; empty where nothing is.
    """

    title: str
    author: str
    subject: str
    language: str
    written_at: datetime
    creator: str
    labels: Mapping[str, str]


@dataclass(frozen=True)
class Attachment:
    """A file inside the document.

    media_type: as ``application/json``. relationship: what it is to the pages (ISO 19005-3,
    annex E: the source they were made from, or data that they show). description: for people.
    """

    name: str
    content: bytes
    media_type: str
    relationship: Literal["Source", "Data"]
    description: str
