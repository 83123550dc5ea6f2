"""Everything that the template of a job card may use, declared: one ``Card``, named ``report``.

All texts are ready for a person, as in ``recorder/report/content/context.py``.
"""

from __future__ import annotations

from recorder.model.base import Value
from recorder.report.content.frame import Document, Mark
from recorder.report.content.text import Text


class Fact(Value):
    """value: in SI; also: as it was given, or in the customer's unit. whence: where it came from.
    open: nobody told it, and there is a line to write on.
    """

    label: Text
    value: Text = ""
    also: Text = ""
    whence: Text = ""
    open: bool = False


class SettingLine(Value):
    """asked: what is asked for, empty for a line to write on. held: what held on such a belt. span:
    of the accepted jobs, with their number.
    """

    label: Text
    asked: Fact
    held: Text = ""
    span: Text = ""


class Template(Value):
    """name: empty for a line to write on. reasons: why it fits. others: runners-up, in words."""

    name: Text
    whence: Text = ""
    reasons: tuple[Text, ...] = ()
    others: tuple[Text, ...] = ()


class Length(Value):
    """src: address of the drawing. alt: all that it shows, in words. facts: what it rests on.
    remark: how it was worked out.
    """

    src: str
    alt: Text
    facts: tuple[Fact, ...]
    remark: Text


class Checks(Value):
    """One part of the check list. items: each with a box to tick."""

    heading: Text
    items: tuple[Text, ...]


class Card(Document):
    """The whole card.

    name: of the job, or what stands for it. written_on: day. held_from: whose settings 'held' are,
    with the jobs that they rest on; empty where nothing is known. notices: deviations, drifts, due
    checks, and where sources disagree. defers: what comes before this card.
    """

    name: Text
    written_on: Text
    place: tuple[Fact, ...]
    belt: tuple[Fact, ...]
    settings: tuple[SettingLine, ...]
    held_from: Text
    template: Template | None
    length: Length | None
    notices: tuple[Mark, ...]
    checks: tuple[Checks, ...]
    defers: Text
