"""New readings held against what is known: the job card, and what was told before."""

from __future__ import annotations

from dataclasses import dataclass

from recorder.model.fields import FIELDS, Level
from recorder.model.job import on_job_card
from recorder.model.reading import Reading, Role, Spoken, Standing, Typed, show_value
from recorder.notes.fields.values import FAR_APART_K, TWINS, plausible
from recorder.notes.hearing.sameness import equal, same

_Key = tuple[str, int, int]
_FAR_APART = "top and bottom far apart"


@dataclass(frozen=True)
class Heard:
    """A new reading. knowingly: a word of correction or change led from the last value to it."""

    reading: Reading
    knowingly: bool = False


class Standings:
    """What holds for each field, splice and run while readings come in, oldest first.

    What the job card says holds for every splice and run, as in ``model.job.in_force``.
    """

    def __init__(self, known: tuple[Reading, ...]) -> None:
        self._told: dict[_Key, Reading] = {}
        self._in_force: dict[_Key, Reading] = {}
        self._card: dict[str, Reading] = {}
        self._asked: dict[str, Reading] = {}
        for reading in known:
            self.enter(reading)

    def copy(self) -> Standings:
        other = Standings(())
        other._told, other._in_force = dict(self._told), dict(self._in_force)
        other._card, other._asked = dict(self._card), dict(self._asked)
        return other

    def enter(self, reading: Reading) -> None:
        """The newest reading so far."""
        if reading.role is Role.ASKED:
            self._asked[reading.field] = reading
        if reading.role is not Role.USED:
            return
        if on_job_card(reading):
            self._card[reading.field] = reading
            for newest in (self._told, self._in_force):
                for key in [key for key in newest if key[0] == reading.field]:
                    del newest[key]
            return
        if reading.standing is Standing.WITHDRAWN:
            self._told.pop(_key(reading), None)
            self._in_force.pop(_key(reading), None)
            return
        before = self.in_force(reading)
        self._told[_key(reading)] = reading
        confirmed = before is not None and before.standing is Standing.CONFIRMED
        if not (confirmed and reading.standing is Standing.DOUBTFUL):
            self._in_force[_key(reading)] = reading

    def before(self, reading: Reading, told: Reading | None) -> Standings:
        """As it was when the field of the reading was last told as ``told``."""
        other = self.copy()
        for newest in (other._told, other._in_force):
            newest.pop(_key(reading), None)
            if told is not None and not on_job_card(told):
                newest[_key(reading)] = told
        return other

    def told(self, reading: Reading) -> Reading | None:
        """The last reading of the same field and place, doubtful or not."""
        return self._told.get(_key(reading)) or self._card.get(reading.field)

    def in_force(self, reading: Reading) -> Reading | None:
        """Likewise, but a doubtful one does not displace what a person confirmed."""
        return self._in_force.get(_key(reading)) or self._card.get(reading.field)

    def asked(self, reading: Reading) -> Reading | None:
        """What the job card asks for."""
        return self._asked.get(reading.field)

    def typed(self, reading: Reading) -> bool:
        """Whether the job card says the same or asks for it."""
        on_card = (self._card.get(reading.field), self._asked.get(reading.field))
        return any(other is not None and same(other, reading) for other in on_card)


def reconcile(known: tuple[Reading, ...], new: tuple[Heard, ...]) -> tuple[Reading, ...]:
    """The ``new`` readings with the standing that they have beside ``known``; the order and the
    values stay.

    The same as a person typed: clear. Another value than the one in force, without a word of
    correction or change: doubtful, with the earlier value as candidate. Heard, and not what the
    job card asks for: doubtful.
    """
    return judged(new, Standings(known))


def judged(new: tuple[Heard, ...], standings: Standings) -> tuple[Reading, ...]:
    """The same beside what holds by ``standings``, where they are entered."""
    found: list[Reading] = []
    for heard in new:
        result = heard.reading
        if result.standing is not Standing.CONFIRMED and result.role is Role.USED:
            result = _judge(heard, standings)
        found.append(result)
        standings.enter(result)
    return tuple(_far_apart(reading, standings) for reading in found)


def reopened(
    since: tuple[Reading, ...], new: tuple[Reading, ...], standings: Standings
) -> tuple[Reading, ...]:
    """Platen temperatures of before, as readings told once more: doubtful when one of the other
    platen lies far from them, and clear again when it no longer does. ``since``: what the record
    gained meanwhile. ``new``: what it is about to gain, and is judged already.
    """
    told = {_key(reading) for reading in new}
    found: dict[_Key, Reading] = {}
    for reading in (*since, *new):
        if reading.field not in TWINS or reading.role is not Role.USED:
            continue
        twin = standings.in_force(reading.model_copy(update={"field": TWINS[reading.field]}))
        if twin is None or on_job_card(twin) or _key(twin) in told:
            continue
        again = _far_apart(_near_again(twin), standings, twin)
        if again.standing is not twin.standing:
            found[_key(twin)] = again
    return tuple(found.values())


def _near_again(reading: Reading) -> Reading:
    """The reading without the doubt that it lies far from the other platen's, if it has that."""
    parts = reading.why.split("; ")
    why = [part for part in parts if not part.startswith(_FAR_APART)]
    if len(why) == len(parts):
        return reading
    return reading.model_copy(update={"standing": Standing.CLEAR, "why": "; ".join(why)})


def _far_apart(reading: Reading, standings: Standings, newest: Reading | None = None) -> Reading:
    """A clear platen temperature that lies far from the other platen's is doubtful, unless a
    person typed it: one of the two was heard wrong. ``newest``: as it is in force, when not so.
    """
    if reading.field not in TWINS or reading.role is not Role.USED:
        return reading
    twin = standings.in_force(reading.model_copy(update={"field": TWINS[reading.field]}))
    if twin is None or reading.standing is not Standing.CLEAR:
        return reading
    superseded = standings.in_force(reading) != (newest or reading)
    # An implausible twin is asked about by itself.
    if superseded or standings.typed(reading) or not plausible(twin.field, float(twin.value)):
        return reading
    if abs(float(twin.value) - float(reading.value)) <= FAR_APART_K:
        return reading
    why = f"{_FAR_APART} ({twin.shown()})"
    update = {"standing": Standing.DOUBTFUL, "why": "; ".join(filter(None, (reading.why, why)))}
    return reading.model_copy(update=update)


def _key(reading: Reading) -> _Key:
    level = FIELDS[reading.field].level
    splice = 1 if level is Level.JOB else reading.splice
    return reading.field, splice, reading.run if level is Level.RUN else 1


def _judge(heard: Heard, standings: Standings) -> Reading:
    reading = heard.reading
    told, in_force = standings.told(reading), standings.in_force(reading)
    if in_force is not None and in_force.standing is Standing.CONFIRMED:
        if same(in_force, reading):
            return _cleared(reading) if isinstance(in_force.evidence, Typed) else reading
        # "Twelve, no, thirteen" corrects the twelve, and not the ten that a person typed.
        replaced = heard.knowingly and told is not None and same(told, in_force)
        if not replaced:
            who = "the job card says" if on_job_card(in_force) else "a person confirmed"
            return _doubted(reading, f"{who} {in_force.shown()}", in_force)
    elif told is not None and not same(told, reading) and not heard.knowingly:
        return _doubted(reading, f"earlier it was {told.shown()}", told)
    asked = standings.asked(reading)
    spoken = isinstance(reading.evidence, Spoken) and reading.evidence.start_s is not None
    if asked is not None and spoken and not same(asked, reading):
        return _doubted(reading, f"the job card asks for {asked.shown()}", asked)
    return reading


def _cleared(reading: Reading) -> Reading:
    if reading.standing is Standing.CLEAR:
        return reading
    return reading.model_copy(update={"standing": Standing.CLEAR, "why": "", "candidates": ()})


def _doubted(reading: Reading, why: str, other: Reading) -> Reading:
    rest = [value for value in reading.candidates if not equal(value, other.value)]
    return reading.model_copy(
        update={
            "standing": Standing.DOUBTFUL,
            "why": f"{reading.why}; {why}" if reading.why else why,
            "candidates": (other.value, *rest),
        }
    )


def corrects(value: bool | float | str, field: str) -> str:
    """The ``why`` of a reading that corrects a value: 'corrects 175 °C'."""
    return f"corrects {show_value(field, value)}"


def changes(value: bool | float | str, field: str) -> str:
    """Likewise when the setting itself was changed."""
    return f"changes {show_value(field, value)}"
