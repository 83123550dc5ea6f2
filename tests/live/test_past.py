"""What past jobs say in a live session: looked up when it is needed, said once, put down."""

from __future__ import annotations

import pytest

from recorder.knowhow.preparing.proposal import Check
from recorder.knowhow.trends.chart import Characteristic, Drift, Signal
from recorder.live import turn as live
from recorder.live.known import knowledge
from recorder.live.saying import past as saying
from recorder.live.shown import asked
from recorder.model.belt import Belt
from recorder.model.length import BeltLength
from recorder.model.past import STREAMS
from recorder.model.reading import Role
from recorder.notes.requests.request import Ask, Request
from tests.archive.sample_jobs import from_card
from tests.live.session import FILE, Session, new_job
from tests.live.shelves import THIN, Scripted, run, shelf
from tests.live.test_saying import LANGUAGES, spoken_in


def on_thin_belt(made: Scripted) -> Session:
    """Isolated, on the belt that the shelves know."""
    session = Session(shelf=made)
    for said in ("The conveyor is isolated.", "The belt is polyurethane.", "yes"):
        session.says(said)
    session.says("The belt is 2 millimetres thick.")
    return session


def test_the_length_is_that_of_the_job_card() -> None:
    worked_out = BeltLength(
        endless=12435.6, joined=12435.6, cut=12525.6, punched=12515.6, mark_spacing=1000.0,
        mark_tensioned=1003.0,
    )  # fmt: skip
    session = Session(job=new_job().model_copy(update={"belt_length": worked_out}))
    first = session.says("how long do i cut")
    said = " ".join((first, *session.waits(3)))
    assert said == (
        "Cut twelve thousand five hundred twenty-five point six millimetres. After punching twelve "
        "thousand five hundred fifteen point six millimetres, tip to tip. Draw the marks one "
        "thousand millimetres apart. Under tension one thousand three millimetres."
    )


def test_that_a_setting_is_meant_stands_in_the_record_with_its_words() -> None:
    session = on_thin_belt(shelf("kept"))
    session.says("Top 185 degrees.")
    session.waits(7)
    before_s = session.at_s
    session.says("yes")
    (note,) = session.job.notes
    assert note.text == ("Top platen 185 °C is meant; recipe Oven 70, version 1: 172 °C to 176 °C")
    assert (note.file, note.start_s) == (FILE, before_s)
    assert session.in_force()["top_temperature"].value == 185.0


@pytest.mark.parametrize(("meant", "asked_about"), [(185.0, False), (180.0, True)])
def test_what_was_confirmed_on_the_job_card_is_not_asked_again(
    meant: float, asked_about: bool
) -> None:
    card = [
        from_card("top_temperature", value, role)
        for role, value in ((Role.ASKED, 185.0), (Role.MEANT, meant))
    ]
    session = Session(shelf=shelf("kept"), job=new_job(*card))
    for said in ("The conveyor is isolated.", "The belt is polyurethane.", "yes"):
        session.says(said)
    session.says("The belt is 2 millimetres thick.")
    said = " ".join(session.waits(7))
    assert ("Is one eighty-five meant?" in said) == asked_about
    answer = session.says("does this differ from the recipe")
    assert answer.startswith("The card asks for top one eighty-five, recipe Oven 70 used")


def test_a_recipe_that_was_kept_stands_in_the_record() -> None:
    made = shelf("empty")
    session = on_thin_belt(made)
    session.says("Pressure two bar. The splice is accepted.")
    session.says("keep this as recipe Oven 70")
    assert made.recipes_kept == []
    session.says("yes")
    (kept,) = made.recipes_kept
    assert (kept.name, kept.belt) == ("Oven 70", Belt.model_validate(THIN | {
        "belt_material": "polyurethane"}))  # fmt: skip
    assert [note.text for note in session.job.notes] == ["kept as recipe Oven 70, version 1"]


def test_nothing_is_kept_when_nobody_says_yes_or_the_answer_came_too_late() -> None:
    made = shelf("empty")
    session = on_thin_belt(made)
    session.says("Pressure two bar. The splice is accepted.")
    session.says("keep this as recipe")
    session.waits(25)
    assert session.says("Oven 70") == ""
    session.asks(Request(ask=Ask.KEEP_RECIPE, said="", text="Oven 70", sure=False))
    session.take(live.deny(session.talk, session.job, session.now))
    session.says("yes")
    assert made.recipes_kept == []


def test_the_page_has_buttons_for_a_yes_and_none_for_a_name() -> None:
    session = on_thin_belt(shelf("empty"))
    session.says("Pressure two bar. The splice is accepted.")
    session.says("keep this as recipe")
    shown = asked(session.talk, session.job)
    assert shown is not None
    assert (shown.text, shown.by_yes) == ("Under which name?", False)
    session.says("Oven 70")
    shown = asked(session.talk, session.job)
    assert shown is not None
    assert (shown.text, shown.by_yes) == ("Keep it as recipe Oven 70?", True)


def test_an_archive_that_cannot_be_read_is_told_once_and_the_job_goes_on() -> None:
    session = on_thin_belt(shelf("unreadable"))
    session.says("Top 185 degrees.")
    said = session.waits(600, step_s=5)
    assert said.count("The archive cannot be read now. The job goes on.") == 1
    assert "Job number?" in said
    assert session.says("Pressure two bar.") == "Pressure two bar."


def test_a_recipe_that_cannot_be_read_is_told_with_every_answer() -> None:
    made = shelf("kept")
    session = on_thin_belt(made)
    made.unread = ("version 2 of the recipe 'Oven 71' is not as it was kept",)
    for asks in ("what is the recipe", "does this differ from the recipe"):
        session.says("Top 173 degrees.")
        assert session.says(asks).startswith("A recipe cannot be read. Look at the recipes.")


def test_nothing_is_looked_up_while_somebody_speaks_or_a_question_is_open() -> None:
    made = shelf("kept")
    session = on_thin_belt(made)
    session.says("Top 185 degrees.")
    session.waits(5)
    assert made.asked == 0
    session.waits(3)
    assert session.talk.question is not None
    looked = made.asked
    session.waits(10)
    assert made.asked == looked > 0


def test_a_setting_is_asked_about_once_whoever_it_differs_from_and_in_no_other_splice() -> None:
    made = shelf("kept")
    made.windows = shelf("window").windows
    session = on_thin_belt(made)
    session.says("Top 185 degrees.")
    said = session.waits(20)
    assert [("the belt maker gives" in each, "meant" in each) for each in said] == [(True, True)]
    session.says("yes")
    assert not any("meant" in each for each in session.waits(30))
    session.says("Next splice.")
    session.take(live.enter(session.talk, session.job, "top_temperature", "185 degC", session.now))
    assert not any("meant" in each for each in session.waits(60))


def test_nobody_is_asked_whether_a_setting_is_meant_after_the_dwell_began() -> None:
    session = on_thin_belt(shelf("kept"))
    session.says("Top 185 degrees.")
    session.says("Dwell starts now.")
    assert not any("meant" in each for each in session.waits(120))


def test_what_was_looked_up_stays_on_the_page_as_a_table() -> None:
    session = on_thin_belt(shelf("kept"))
    assert session.talk.known is None
    session.says("what did we use on this belt last time")
    shown = session.talk.known
    assert shown is not None
    assert shown.title == "Recipe Oven 70, version 1; 5 of 6 splices accepted on such a belt"
    assert shown.head == ("Setting", "Recipe", "Accepted", "Rework")
    rows = [tuple(cell.replace("\N{NO-BREAK SPACE}", " ") for cell in row) for row in shown.rows]
    assert ("Top platen", "174 °C", "174 °C (172 to 176 °C)", "185 °C") in rows
    assert all(len(row) == len(shown.head) for row in shown.rows)
    assert session.restarted().talk.known == shown


def test_a_gap_under_the_limit_is_an_upper_bound_in_the_table() -> None:
    made = shelf("empty")
    made.runs = [run(n, 20 + n, finger_gap=0.1, gap_below=True) for n in range(2)]
    shown = knowledge(made.recipes(on_thin_belt(made).job, 1))
    assert shown is not None
    assert shown.rows[-1][1].startswith("at most")
    made.runs.append(run("2", 5, finger_gap=0.3))
    made.runs.append(run("3", 4, finger_gap=0.4))
    shown = knowledge(made.recipes(on_thin_belt(made).job, 1))
    assert shown is not None
    assert shown.rows[-1][1].replace("\N{NO-BREAK SPACE}", " ") == "0.1 mm (0.1 to 0.4 mm)"


def test_nothing_differs_is_not_said_where_there_is_nothing_to_compare_with() -> None:
    made = shelf("empty")
    made.runs = [run(1, 20)]  # one job is no rule
    session = on_thin_belt(made)
    assert session.says("does this differ from the recipe") == "No setting was told yet."
    session.says("Top 172 degrees.")
    said = session.says("does this differ from the recipe")
    assert said == "There is nothing to compare with for this belt."


def test_there_is_no_table_of_nothing() -> None:
    session = on_thin_belt(shelf("empty"))
    assert knowledge(shelf("empty").recipes(session.job, 1)) is None


@pytest.mark.parametrize("language", LANGUAGES)
def test_everything_that_can_drift_or_be_due_has_its_words(language: str) -> None:
    said = set()
    with spoken_in(language):
        for characteristic in Characteristic:
            for stream in (*STREAMS, "all"):
                for side in ("above", "below", ""):
                    signal = Signal(at=9, since=1, rule="drift", text="", side=side)
                    found = Drift(
                        stream=stream, name="Q7", characteristic=characteristic, signal=signal
                    )
                    said.add(saying.drift(found))
        for kind in ("press", "template"):
            for days in (None, -400, -60, -14, -2, -1, 0, 1, 30):
                said |= {*saying.checks([Check(kind=kind, name="Q7", due=None, overdue_days=days)])}
    assert len(said) == len(Characteristic) * 5 * 3 + 2 * 9
    assert not any("{" in each for each in said)


@pytest.mark.parametrize(
    ("days", "spoken"),
    [(0, "today"), (1, "yesterday"), (2, "two days ago"), (13, "thirteen days ago"),
     (14, "two weeks ago"), (59, "eight weeks ago"), (60, "two months ago"),
     (800, "two years ago")],
)  # fmt: skip
def test_how_long_ago(days: int, spoken: str) -> None:
    with spoken_in("en"):
        assert saying.ago(days) == spoken


def test_an_open_end_of_a_range() -> None:
    with spoken_in("en"):
        assert saying.span("top_temperature", None, 178.0) == "at most one seventy-eight"
        assert saying.span("top_temperature", 165.0, None) == "at least one sixty-five"
        assert saying.span("dwell_time", 240.0, 240.0) == "four minutes"


def test_a_name_that_says_what_it_is_is_not_told_twice() -> None:
    assert saying.where("press", "P2") == "on press P2"
    assert saying.where("press", "Press 2") == "on Press 2"
    (said,) = saying.checks([Check(kind="press", name="Press 2", due=None, overdue_days=None)])
    assert said == "Press 2: no check noted yet."
