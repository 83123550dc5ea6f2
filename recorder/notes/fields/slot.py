"""What a sentence puts into a field, before it is judged, and what the next one may build on."""

from __future__ import annotations

from dataclasses import dataclass

from recorder.model.quantity import Quantity
from recorder.notes.fields.mentions import Mention
from recorder.notes.numbers.amounts import Amount


@dataclass(frozen=True)
class Slot:
    """A value found for a field in tokens[start:end], before it is judged.

    value: canonical, or words or a flag. places: the tokens that carry it. number: what was said,
    before any unit. doubts: why it may be wrong, unless the job card says the same. unsettled:
    doubts that no job card removes. candidates: what it may be instead.
    corrects: a correction phrase led to it. changes: it was told as a change of the setting.
    unit_open: ``doubts`` are of its unit alone, which may show itself later.
    passing: told as not so yet, so that the opposite is no contradiction.
    """

    field: str
    value: bool | float | str
    start: int
    end: int
    places: tuple[int, ...]
    as_said: Quantity | None = None
    amount: Amount | None = None
    doubts: tuple[str, ...] = ()
    unsettled: tuple[str, ...] = ()
    candidates: tuple[bool | float | str, ...] = ()
    corrects: bool = False
    changes: bool = False
    unit_open: bool = False
    passing: bool = False


@dataclass(frozen=True)
class Told:
    """What came before, as far as a sentence can go on from it.

    last: the slots of the last amount that was told. pending: a trade word that still waits for
    its number. correcting: the last words were a correction phrase. asked: the field about which
    the program has asked, whose bare value the words may be. pair: the name of two fields of
    which it told one. since: utterances that went by after ``last``. same: fields that are to be
    the same as another one, which has no value yet. choice, name: the field of the last choice
    and of the last name. subject: what was spoken of without a value. like: the number that was
    told of it and was none. wondered: the speaker himself has asked, and not the program.
    """

    last: tuple[Slot, ...] = ()
    pending: Mention | None = None
    correcting: bool = False
    asked: str | None = None
    pair: str = ""
    since: int = 0
    same: tuple[tuple[str, str], ...] = ()
    choice: str = ""
    name: str = ""
    subject: Mention | None = None
    like: Amount | None = None
    wondered: bool = False
