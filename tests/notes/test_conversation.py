"""A session's narration, utterance by utterance."""

from __future__ import annotations

import time
from collections.abc import Iterable

import pytest

from recorder.model.job import in_force, last_run, last_splice
from recorder.model.reading import Note, Reading, Standing, Typed
from recorder.model.stages import StageMark
from recorder.model.transcript import Transcript, Utterance
from recorder.notes.conversation import Conversation
from recorder.notes.extract import extract
from recorder.notes.typed import typed_reading
from tests.bench.narrations import load
from tests.bench.requests import as_text
from tests.notes.telling import utterance

CLEAR, DOUBTFUL, CONFIRMED = Standing.CLEAR, Standing.DOUBTFUL, Standing.CONFIRMED
FILE = "one.flac"


class Session:
    """A conversation with its record, as a caller keeps them."""

    def __init__(self, *known: Reading) -> None:
        self.readings = known
        self.notes: tuple[Note, ...] = ()
        self.stages: tuple[StageMark, ...] = ()
        self.conversation = Conversation(known)

    def hear(self, *said: str | Utterance) -> tuple[Reading, ...]:
        """What the last of the words gave."""
        new: tuple[Reading, ...] = ()
        for words in said:
            heard = as_text(words) if isinstance(words, str) else words
            found = self.conversation.hear(FILE, heard, None, self.readings)
            new = found.readings
            self.readings += new
            self.notes += found.notes
            self.stages += found.stages
        return new

    def type(self, field: str, text: str) -> None:
        reading = typed_reading(field, text, Typed())
        self.readings += (reading,)


def forces(readings: tuple[Reading, ...]) -> dict[tuple[str, int, int], Reading]:
    """What is in force everywhere."""
    return {
        (name, splice, run): reading
        for splice in range(1, last_splice(readings) + 1)
        for run in range(1, last_run(readings, splice) + 1)
        for name, reading in in_force(readings, splice, run).items()
    }


def shown(readings: Iterable[Reading]) -> list[tuple[str, str, str]]:
    return [(r.field, r.shown(), r.standing) for r in readings]


def differences(lines: Iterable[Utterance]) -> list[str]:
    """Where one utterance at a time gives another record than all of them at once."""
    told = tuple(lines)
    whole = extract(Transcript(file=FILE, utterances=told))
    session = Session()
    session.hear(*told)
    once, one_by_one = forces(whole.readings), forces(session.readings)
    found = [
        f"{key}: {once.get(key)!r} and not {one_by_one.get(key)!r}"
        for key in {*once, *one_by_one}
        if once.get(key) != one_by_one.get(key)
    ]
    found += ["other notes"] if session.notes != whole.notes else []
    return found + (["other stages"] if session.stages != whole.stages else [])


@pytest.mark.parametrize("name", ["development", "report"])
def test_one_by_one_gives_the_record_of_all_at_once(name: str) -> None:
    narrations = load(name)[::5]
    told = {n.name: differences(map(as_text, n.lines)) for n in narrations}
    assert len(told) > 10
    assert {name: found for name, found in told.items() if found} == {}


def test_only_what_is_new_is_given() -> None:
    session = Session()
    assert shown(session.hear("Pressure two bar.")) == [("pressure", "2 bar", CLEAR)]
    assert shown(session.hear("Dwell four minutes.")) == [("dwell_time", "240 s (4 min)", CLEAR)]
    assert session.hear("The floor is wet.") == ()
    assert [note.text for note in session.notes] == ["The floor is wet."]


def test_what_was_begun_goes_on_in_the_next_words() -> None:
    session = Session()
    session.hear("Pressure.")
    assert shown(session.hear("Two bar.")) == [("pressure", "2 bar", CLEAR)]
    (corrected,) = session.hear("No, two point two.")
    assert (corrected.value, corrected.why) == (2.2, "corrects 2 bar")


def test_a_unit_that_shows_itself_later_settles_the_number() -> None:
    session = Session()
    (open_,) = session.hear("Belt width thirty.")
    assert open_.standing is DOUBTFUL
    settled, told = session.hear("Belt thickness two millimetres.")
    assert (settled.field, settled.value, settled.standing) == ("belt_width", 30.0, CLEAR)
    assert told.field == "belt_thickness"
    assert len(session.readings) == 3


def test_what_a_person_said_meanwhile_is_not_settled_anew() -> None:
    session = Session()
    session.hear("Belt width thirty.")
    session.type("belt_width", "30 inch")
    assert [r.field for r in session.hear("Belt thickness two millimetres.")] == ["belt_thickness"]


def test_platens_far_apart_are_both_asked_until_one_is_put_right() -> None:
    session = Session()
    session.hear("Top platen one eighty degrees.")
    top, bottom = session.hear("Bottom platen one thirty degrees.")
    assert (top.field, top.standing, bottom.standing) == ("top_temperature", DOUBTFUL, DOUBTFUL)
    top, bottom = session.hear("Bottom platen, correction, one seventy eight degrees.")
    assert (top.field, top.value, top.standing) == ("top_temperature", 180.0, CLEAR)
    assert bottom.value == 178.0
    session = Session()
    session.hear("Top platen one eighty degrees.", "Bottom platen one thirty degrees.")
    session.type("bottom_temperature", "178 degC")
    (top,) = session.conversation.settled(session.readings).readings
    assert (top.field, top.standing) == ("top_temperature", CLEAR)


def test_what_is_taken_back_is_asked_at_once_and_told_anew_knowingly() -> None:
    session = Session()
    session.hear("Pressure two bar.")
    (back,) = session.hear("That was wrong.")
    assert (back.standing, back.why) == (DOUBTFUL, "2 bar was taken back")
    (anew,) = session.hear("Pressure two point two bar.")
    assert (anew.standing, anew.why) == (CLEAR, "corrects 2 bar")
    assert session.hear("The floor is wet.") == ()


def test_what_a_person_typed_counts_as_told() -> None:
    session = Session()
    session.hear("Pressure two bar.")
    session.type("pressure", "2.2 bar")
    (other,) = session.hear("Pressure two bar.")
    assert (other.standing, other.why) == (DOUBTFUL, "a person confirmed 2.2 bar")
    session.type("pressure", "32 psi")
    session.hear("Second splice.")
    assert session.hear("Pressure thirty one.")[-1].shown() == "2.14 bar (31 psi)"


def test_a_withdrawn_value_is_as_if_it_had_not_been_told() -> None:
    session = Session()
    (told,) = session.hear("Pressure two bar.")
    gone = {"standing": Standing.WITHDRAWN, "evidence": Typed(), "why": "taken back"}
    session.readings += (told.model_copy(update=gone),)
    assert shown(session.hear("Pressure two point two bar.")) == [("pressure", "2.2 bar", CLEAR)]


def test_words_and_a_request_lead_to_the_same_place() -> None:
    said, asked = Session(), Session()
    for session in (said, asked):
        session.hear("Pressure two bar.")
    said.hear("Next splice.")
    asked.conversation.next_splice()
    for session in (said, asked):
        assert (session.conversation.splice, session.conversation.run) == (2, 1)
        session.conversation.next_splice()
        assert session.conversation.splice == 2  # nothing was told of the second one yet
        (reading,) = session.hear("Pressure two bar.")
        assert reading.splice == 2
    said.hear("Press it again.")
    assert (said.conversation.splice, said.conversation.run) == (2, 2)


def test_after_a_restart_it_goes_on_where_it_was() -> None:
    before = Session()
    lines = ("Pressure two bar.", "Second splice.", "Dwell.")
    before.hear(*lines)
    after = Session(*before.readings)
    after.conversation.move_to(before.conversation.splice, before.conversation.run)
    after.conversation.recall(FILE, [as_text(line) for line in lines[-2:]], None, after.readings)
    assert (after.conversation.splice, after.conversation.run) == (2, 1)
    (reading,) = after.hear("Four minutes.")
    assert (reading.field, reading.splice, reading.standing) == ("dwell_time", 2, CLEAR)


def test_a_record_that_was_changed_otherwise_is_read_anew() -> None:
    session = Session()
    session.hear("Pressure two bar.", "Dwell four minutes.")
    session.readings = session.readings[1:]
    assert shown(session.hear("Pressure three bar.")) == [("pressure", "3 bar", CLEAR)]


def test_an_utterance_costs_no_more_late_in_a_session() -> None:
    session = Session()

    def told_in_s(first: int, count: int) -> float:
        began = time.process_time()
        for n in range(first, first + count):
            place = (f"Splice {n // 40 + 1}, pressure 2.{n % 9} bar.", "Top platen one eighty.")
            words = place[n % 2] if n % 5 else "The roller by the door squeaks again today."
            session.hear(utterance(words, "=", start_s=float(n)))
        return time.process_time() - began

    told_in_s(0, 10)  # what is made of the words once
    early = told_in_s(10, 40)
    session.readings += session.readings * 20  # as of a much longer session
    session.hear("Okay.")
    assert len(session.readings) > 600
    assert told_in_s(50, 40) < 2.0 * early + 0.1


@pytest.mark.parametrize(
    ("words", "splice"),
    [
        ("The next splice is tomorrow.", 1),
        ("After the next splice we go home.", 1),
        ("The customer wants a new splice on the other line.", 1),
        ("If it opens again we do another splice.", 1),
        ("Next splice.", 2),
        ("On to the second splice.", 2),
        ("Second splice now, it would not fit before.", 2),
        ("The next splice, which they wanted shorter, pressure two bar.", 2),
    ],
)
def test_a_splice_that_is_only_spoken_of_is_not_gone_to(words: str, splice: int) -> None:
    session = Session()
    session.hear("Pressure two bar.", words)
    assert session.conversation.splice == splice
