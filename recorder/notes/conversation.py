"""The narration of a whole session, utterance by utterance: of each, only what is new.

What later words settle (in which unit a number was meant, how far two platens lie apart, what is
taken back) comes as one more reading of its field, as the record only grows. The readings in force
are those of ``extract`` over the same words, but for one thing: a number without a unit takes the
first unit that shows itself later, and not the last one.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from recorder.model.calibration import Calibration
from recorder.model.fields import Kind
from recorder.model.quantity import Quantity
from recorder.model.reading import Reading, Role, Spoken, Standing, Typed
from recorder.model.transcript import Utterance
from recorder.notes.answer import Question, by_yes_or_no, evidence_of, question_of
from recorder.notes.bare_answers import may_answer
from recorder.notes.extract import Extraction
from recorder.notes.habit import habit_after
from recorder.notes.hearing.sameness import Value, equal, said_as
from recorder.notes.hearing.trust import calibration_of
from recorder.notes.names.movement import Move, Way
from recorder.notes.narration import NONE_OWN, Narration
from recorder.notes.open_units import OpenUnit
from recorder.notes.place import Place
from recorder.notes.reconcile import Standings, corrects, judged, reopened
from recorder.notes.short_answers import (
    AnswerKind,
    chosen,
    is_soft,
    opening,
    put_off,
    yes_or_no,
)

_NOTHING = Extraction((), ())


@dataclass(frozen=True)
class Answer:
    """extraction: what the words gave, of the field asked about and of others. kind: what they
    are to the question; when they are no answer, nothing was taken from them.
    """

    extraction: Extraction
    kind: AnswerKind


_NO_ANSWER = Answer(_NOTHING, AnswerKind.NOT_AN_ANSWER)


class Conversation:
    """What went before in the session, as far as the next words can build on it.

    ``known`` is always all readings of the job by now, oldest first: those that this gave, and what
    a person typed or confirmed meanwhile. ``own``: the home's calibrations, by name of the model.
    Not for several threads at once.
    """

    def __init__(
        self, known: tuple[Reading, ...] = (), own: Mapping[str, Calibration] = NONE_OWN
    ) -> None:
        self._own = own
        self._narration = Narration("", known, calibration_of(None, own))
        self._begin(known)

    @property
    def splice(self) -> int:
        return self._narration.place.splice

    @property
    def run(self) -> int:
        return self._narration.place.run

    def move_to(self, splice: int, run: int) -> None:
        """Go to a place of which no reading tells, as after a restart."""
        self._narration.place = Place.of(self._known, splice, run)

    def next_splice(self) -> None:
        """As the words "next splice" do: where nothing was told of this one, it stays."""
        move = Move(Way.SPLICE, None, 0, 0)
        self._narration.place = self._narration.place.moved(move)

    def recall(
        self,
        file: str,
        utterances: Sequence[Utterance],
        model: str | None,
        known: tuple[Reading, ...],
    ) -> None:
        """The last words before a restart, whose readings are known: the next may go on from
        them."""
        here = self._narration.place
        for utterance in utterances:
            self._go_on(self._narration, file, model, known)
            self._narration.hear(utterance)
        self._narration.place = here

    def hear(
        self, file: str, utterance: Utterance, model: str | None, known: tuple[Reading, ...]
    ) -> Extraction:
        """What one utterance gives. ``model``: name of the one that heard it."""
        self._catch_up(known)
        self._go_on(self._narration, file, model, known)
        self._narration.hear(utterance)
        return self._extraction()

    def settled(self, known: tuple[Reading, ...]) -> Extraction:
        """What readings that a person gave settle, without any words."""
        self._catch_up(known)
        self._go_on(self._narration, "", None, known)
        return self._extraction()

    def answer(
        self,
        file: str,
        utterance: Utterance,
        model: str | None,
        question: Reading | str,
        known: tuple[Reading, ...],
        choosing: bool = False,
        at: tuple[int, int] | None = None,
    ) -> Answer:
        """The words as the answer to a question about a reading, or a field without a value.

        choosing: several values were offered, so that a bare yes means none of them. at: splice
        and run that are asked about, for a field without a value; else where the session is.
        Raises UnknownField.
        """
        self._catch_up(known)
        here = Place(*at, begun=True, pressed=True) if at else self._narration.place
        asked = question_of(question, here)
        said = evidence_of(file, (utterance,))
        short = _short(asked, utterance, said, choosing)
        if short is not None:
            return short
        opened = opening(utterance)
        bare = opened.rest if opened and opened.yes else utterance  # "yes, three bar"
        if self._gives_value(file, bare, model, asked, known):
            return Answer(self._extraction(asked), AnswerKind.VALUE)
        return self._opened(file, utterance, model, asked, known) or _NO_ANSWER

    def _gives_value(
        self,
        file: str,
        utterance: Utterance,
        model: str | None,
        asked: Question,
        known: tuple[Reading, ...],
    ) -> bool:
        """Whether the words give a value of the field; if so, they are taken in."""
        trial = self._narration.branch()
        self._go_on(trial, file, model, known)
        trial.answer(utterance, asked.told, asked.place)
        found = [h.reading for h in trial.new if h.reading.field == asked.field.name]
        if not found:
            return False
        # What names its field needs no question; a bare value needs a good look.
        plain = self._narration.branch()
        self._go_on(plain, file, model, known)
        plain.hear(utterance)
        named = any(heard.reading.field == asked.field.name for heard in plain.new)
        tells = bool(plain.new or plain.stages) or plain.place != self._narration.place
        if not named and asked.field.kind is Kind.TEXT and tells:
            return False
        if not named and not may_answer(asked.field, found[0], utterance):
            return False
        self._narration = trial
        return True

    def _opened(
        self,
        file: str,
        utterance: Utterance,
        model: str | None,
        asked: Question,
        known: tuple[Reading, ...],
    ) -> Answer | None:
        """As in "yes, and dwell four minutes": a yes or no, and something told behind it."""
        opened = opening(utterance) if asked.takes_yes_or_no else None
        # "No, the dwell was four minutes" may be about what was told, and not about the finding.
        if opened is None or (asked.field.kind is Kind.FLAG and not opened.yes):
            return None
        trial = self._narration.branch()
        self._go_on(trial, file, model, known)
        trial.hear(opened.rest)
        if not trial.new:
            return None
        self._narration = trial
        answered = by_yes_or_no(asked, opened.yes, evidence_of(file, (opened.first,)))
        told = self._extraction()
        readings = (*answered.readings, *told.readings)
        whole = replace(told, readings=readings, notes=(*answered.notes, *told.notes))
        return Answer(whole, AnswerKind.YES if opened.yes else AnswerKind.NO)

    def _begin(self, known: tuple[Reading, ...]) -> None:
        self._known = known
        self._standings = Standings(known)
        self._seen, self._newest = len(known), known[-1:]
        self._fresh: tuple[Reading, ...] = ()

    def _catch_up(self, known: tuple[Reading, ...]) -> None:
        """Take in what the record gained since."""
        if self._seen and known[self._seen - 1 : self._seen] != self._newest:
            self._begin(known)
            return
        self._known = known
        self._fresh = known[self._seen :]
        for reading in self._fresh:
            self._standings.enter(reading)
        typed = tuple(r for r in self._fresh if isinstance(r.evidence, Typed))
        if typed:
            self._narration.habit = habit_after(self._narration.habit, typed)
        self._seen, self._newest = len(known), known[-1:]

    def _go_on(
        self, narration: Narration, file: str, model: str | None, known: tuple[Reading, ...]
    ) -> None:
        narration.go_on(file, calibration_of(model, self._own), known, self._standings.copy())

    def _extraction(self, asked: Question | None = None) -> Extraction:
        narration, standings = self._narration, self._standings.copy()
        narration.settle_units()
        new = judged(narration.new, standings)
        if asked is not None:
            new = tuple(asked.restated(reading) for reading in new)
        later = self._units_settled(standings)
        later += reopened(self._fresh, (*later, *new), standings)
        # What was told last stays last, for "scrap that".
        return Extraction((*later, *new), tuple(narration.notes), tuple(narration.stages))

    def _units_settled(self, standings: Standings) -> tuple[Reading, ...]:
        """Readings that were asked for their unit alone, once it has shown itself."""
        settled: list[Reading] = []
        still: list[OpenUnit] = []
        for one in self._narration.open_units:
            reading = one.heard.reading
            newest = standings.told(reading)
            if newest is None or newest.evidence != reading.evidence:
                continue  # it was told anew, or a person said which
            found = one.settled(self._narration.habit)
            if found is None:
                still.append(one)
                continue
            settled += judged((found,), standings.before(reading, one.before))
            standings.enter(settled[-1])
        self._narration.open_units = still
        return tuple(settled)


def _short(asked: Question, utterance: Utterance, said: Spoken, choosing: bool) -> Answer | None:
    """What a few words without a value of their own are to the question."""
    yes = yes_or_no((utterance,))
    if yes is not None:
        if is_soft(utterance):
            return _NO_ANSWER
        if choosing:
            return Answer(_NOTHING, AnswerKind.NO) if not yes else _NO_ANSWER
        if asked.takes_yes_or_no:
            kind = AnswerKind.YES if yes else AnswerKind.NO
            return Answer(by_yes_or_no(asked, yes, said), kind)
        return _NO_ANSWER if yes else Answer(_NOTHING, AnswerKind.NO)
    put = put_off(utterance)
    if put is not None:
        return Answer(_NOTHING, put)
    found = chosen(utterance, asked.reading) if asked.reading else None
    if found is None or asked.reading is None:
        return None
    if not found:
        return Answer(_NOTHING, AnswerKind.NO)
    return Answer(Extraction((_as_chosen(asked.reading, found[0], said),), ()), AnswerKind.VALUE)


def _as_chosen(asked: Reading, value: Value, said: Spoken) -> Reading:
    update: dict[str, object] = {
        "value": value,
        "standing": Standing.CONFIRMED,
        "role": Role.USED,
        "why": "" if equal(value, asked.value) else corrects(asked.value, asked.field),
        "candidates": (),
        "evidence": said,
    }
    before = said_as(asked)
    if type(value) is float and asked.unit and before is not None and before.unit != asked.unit:
        update["as_said"] = Quantity(value=value, unit=asked.unit).to(before.unit)
    return asked.model_copy(update=update)
