"""When a stage of the press run begins, as it is said."""

import pytest

from recorder.model.stages import Stage, StageMark
from recorder.notes.languages import vocabulary_of
from recorder.notes.words.speaking import speaking
from tests.notes.telling import heard, told, utterance


def marks(*lines: str) -> tuple[StageMark, ...]:
    """What is marked in utterances that begin ten seconds apart."""
    said = [utterance(line, "=", start_s=10.0 * n) for n, line in enumerate(lines)]
    return heard(*said).stages


def stages(*lines: str) -> list[Stage]:
    return [mark.stage for mark in marks(*lines)]


@pytest.mark.parametrize(
    ("said", "stage"),
    [
        ("Preheating now.", Stage.PREHEAT),
        ("Okay, heat is on.", Stage.HEATING),
        ("Both at temperature, dwell starts.", Stage.DWELL),
        ("Dwell is over, cooling starts now.", Stage.COOLING),
        ("Opening the press.", Stage.OPEN),
        ("The press is open. Cycle time eleven minutes.", Stage.OPEN),
    ],
)
def test_a_stage_that_begins(said: str, stage: Stage) -> None:
    assert stage in stages(said)


@pytest.mark.parametrize(
    "said",
    [
        "The heat is not on yet.",
        "Is the press open?",
        "Last time I was opening the press too early.",
        "Wait until the press is open.",
        "When cooling starts, watch the edges.",
        "Dwell three minutes.",
        "Cool down to fifty five degrees.",
        "The heating plate is dirty.",
    ],
)
def test_what_does_not_begin_now(said: str) -> None:
    assert stages(said) == []


def test_a_mark_has_its_time_words_splice_and_run() -> None:
    found = marks(
        "First splice. Pressure two bar.", "Heat is on.", "First splice is rejected.",
        "Second splice. Pressure three bar.", "And now the heat is on.",
    )  # fmt: skip
    assert [(m.at_s, m.said, m.splice, m.run) for m in found] == [
        (10.0, "Heat is on.", 1, 1),
        (41.5, "heat is on.", 2, 1),
    ]
    assert {mark.file for mark in found} == {"heard.wav"}


def test_a_written_narration_has_no_clock() -> None:
    assert told("Heat is on. Dwell starts. Opening the press.").stages == ()


def test_german() -> None:
    with speaking(vocabulary_of("de", None)):
        assert stages("Heizung ist an.", "Die Haltezeit beginnt.", "Die Presse ist offen.") == [
            Stage.HEATING, Stage.DWELL, Stage.OPEN,
        ]  # fmt: skip
        assert stages("Die Heizung ist noch nicht an.") == []
