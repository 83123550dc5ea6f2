"""Where in the job an utterance belongs: which splice, and which press run of it."""

from __future__ import annotations

from dataclasses import dataclass, replace

from recorder.model.fields import FIELDS, Level
from recorder.model.job import last_run, last_splice
from recorder.model.reading import Reading, Role
from recorder.model.stages import StageMark
from recorder.notes.fields.slot import Slot
from recorder.notes.hearing.said import Said
from recorder.notes.hearing.understand import Understood
from recorder.notes.names.movement import Move, Way
from recorder.notes.names.stages import stages_of
from recorder.notes.words.speaking import kept
from recorder.notes.words.vocabulary import Phrases, words

_BARE = 5  # words; a sentence as short as this that names a splice moves on to it


@dataclass(frozen=True)
class Place:
    """splice, run: counted from 1. begun: something was told of this splice; pressed: a setting
    was told of this run.
    """

    splice: int = 1
    run: int = 1
    begun: bool = False
    pressed: bool = False

    @classmethod
    def after(cls, known: tuple[Reading, ...]) -> Place:
        used = tuple(r for r in known if r.role is Role.USED)
        splice = last_splice(used)
        return cls.of(used, splice, last_run(used, splice))

    @classmethod
    def of(cls, known: tuple[Reading, ...], splice: int, run: int) -> Place:
        """A place with what is known of it."""
        here = [r for r in known if r.role is Role.USED and r.splice == splice]
        told = any(FIELDS[r.field].level is not Level.JOB for r in here)
        pressed = any(FIELDS[r.field].level is Level.RUN and r.run == run for r in here)
        return cls(splice, run, told, pressed)

    def moved(self, move: Move) -> Place:
        if move.way is Way.SPLICE:
            number = move.number or (self.splice + 1 if self.begun else self.splice)
            return self if number == self.splice else Place(splice=number)
        if move.way is Way.ONE:
            known = move.number is not None and move.number < self.splice
            return Place(splice=move.number or 1) if known else self
        if move.way is Way.RUN:
            number = move.number or (self.run + 1 if self.pressed else self.run)
            return self if number == self.run else replace(self, run=number, pressed=False)
        return self

    def with_slot(self, slot: Slot) -> Place:
        level = FIELDS[slot.field].level
        if level is Level.JOB:
            return self
        return replace(self, begun=True, pressed=self.pressed or level is Level.RUN)


@dataclass(frozen=True)
class SlotPlace:
    """unsure: "both splices" was said while only one is known."""

    splices: tuple[int, ...]
    run: int
    unsure: bool = False


@dataclass(frozen=True)
class Places:
    """of_slots: for each slot in order. after: where the narration then is."""

    of_slots: tuple[SlotPlace, ...]
    after: Place


def place_of(heard: Understood, before: Place) -> Places:
    """Places of all slots of an utterance.

    A move counts for its whole sentence when it is the only one in it ("accepted, the second
    splice"). A look back at an earlier splice ("splice one is rejected") holds for its sentence.
    """
    place = before
    found: list[SlotPlace] = []
    by_sentence: dict[int, list[Slot]] = {}
    moves: dict[int, list[Move]] = {}
    for slot in heard.slots:
        by_sentence.setdefault(heard.scope.sentence_of(slot.start), []).append(slot)
    for move in heard.moves:
        moves.setdefault(heard.scope.sentence_of(move.start), []).append(move)
    sizes: dict[int, int] = {}
    for clause in heard.scope.clauses:
        sizes[clause.sentence] = sizes.get(clause.sentence, 0) + clause.end - clause.start
    elsewhen = _not_now(heard) if heard.moves else set()
    for sentence in sorted({*by_sentence, *moves}):
        slots, here = by_sentence.get(sentence, []), moves.get(sentence, [])
        if not slots and sentence in elsewhen:
            continue
        if len(here) == 1:
            here = [replace(here[0], start=-1)]
        place = _sentence(slots, here, sizes[sentence], place, found)
    return Places(tuple(found), place)


def _not_now(heard: Understood) -> set[int]:
    """Sentences in which nobody turns to what is named: "the next splice is tomorrow"."""
    hits = _elsewhen().all(heard.tokens)
    now = [i for i, token in enumerate(heard.tokens) if token.text == "now"]
    sentence = heard.scope.sentence_of
    return {sentence(hit.start) for hit in hits} - {sentence(i) for i in now}


@kept
def _elsewhen() -> Phrases[str]:
    return Phrases((phrase, phrase) for phrase in words("movement", "elsewhen"))


def _sentence(
    slots: list[Slot], moves: list[Move], size: int, place: Place, found: list[SlotPlace]
) -> Place:
    here, lasting = place, place
    things: list[Slot | Move] = [*slots, *moves]
    # A finding may begin at the word that names its splice.
    queue = sorted(things, key=lambda thing: (thing.start, isinstance(thing, Slot)))
    every = False
    for thing in queue:
        if isinstance(thing, Move):
            every = thing.way is Way.ALL_SPLICES
            here = here.moved(thing)
            settings = any(FIELDS[slot.field].level is Level.RUN for slot in slots)
            back = here.splice < place.splice
            if not back or settings or (not slots and size <= _BARE):
                lasting = here
            continue
        splices = tuple(range(1, here.splice + 1)) if every else (here.splice,)
        found.append(SlotPlace(splices, here.run, every and len(splices) == 1))
        stays = here.splice == lasting.splice
        here = here.with_slot(thing)
        lasting = here if stays else lasting
    return lasting


def stage_marks(heard: Understood, said: Said, file: str, place: Place) -> list[StageMark]:
    """The stages that begin; a written narration has no clock, and so none."""
    found = []
    for hit in stages_of(heard.tokens, heard.scope):
        words = said.words_of(hit.start, hit.end)
        if words.start_s is not None:
            mark = StageMark(
                stage=hit.meanings[0],
                file=file,
                at_s=words.start_s,
                said=words.said,
                splice=place.splice,
                run=place.run,
            )
            found.append(mark)
    return found
