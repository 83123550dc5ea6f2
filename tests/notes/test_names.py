from __future__ import annotations

import pytest

from recorder.model.reading import Standing
from tests.notes.telling import states, values


@pytest.mark.parametrize(
    "text",
    [
        "Job number 4817.",
        "job 4817",
        "Job no. 4817",
        "Job number four eight one seven.",
        "Job number forty-eight seventeen.",
        "Job number four, eight, one, seven.",
        "Job number 4 8 1 7.",
        "Job number 4-8-1-7.",
        "Job number is 4,817.",
        "Job number four thousand eight hundred and seventeen",
        "Work order 4817",
    ],
)
def test_job_number(text: str) -> None:
    assert values(text) == {"job_number": "4817"}


def test_words_taken_for_digits_are_asked() -> None:
    assert states("Job number 2 to 1 8.") == {"job_number": ("2218", Standing.DOUBTFUL)}


def test_for_after_a_job_number_is_no_four() -> None:
    assert values("Job number 481 for Larkfield Bakery.") == {
        "job_number": "481",
        "customer": "Larkfield Bakery",
    }


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("Customer is Larkfield Bakery.", {"customer": "Larkfield Bakery"}),
        ("customer: larkfield bakery", {"customer": "larkfield bakery"}),
        (
            "Customer Larkfield Bakery, belt width 70 mm.",
            {"customer": "Larkfield Bakery", "belt_width": 70},
        ),
        ("Technician Imke Dorn.", {"technician": "Imke Dorn"}),
        ("Conveyor: Oven outfeed 3", {"conveyor": "Oven outfeed 3"}),
        ("Press P2, template T30-10.", {"press": "P2", "template": "T30-10"}),
        ("Press P 2.", {"press": "P2"}),
    ],
)
def test_names(text: str, expected: dict[str, str]) -> None:
    assert values(text) == expected


@pytest.mark.parametrize(
    "text",
    ["It was a good job.", "The press opened.", "The customer is happy.", "Job done in 3 hours."],
)
def test_no_name(text: str) -> None:
    assert values(text) == {}
