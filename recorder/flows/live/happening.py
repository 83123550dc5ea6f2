"""What a live session tells those who show it."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Changed:
    """The view is another one."""


@dataclass(frozen=True)
class Speak:
    """Something is to be spoken. name: by which ``LiveSession.say`` gives its sound."""

    name: str
    text: str


@dataclass(frozen=True)
class Hush:
    """What is being spoken is to stop."""


@dataclass(frozen=True)
class TakePhoto:
    """A photo is asked for."""


@dataclass(frozen=True)
class Finished:
    """The job is complete, with its draft, and its report where there is a key."""

    job_id: str


Happening = Changed | Speak | Hush | TakePhoto | Finished
