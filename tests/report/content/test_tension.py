"""The elongation that follows from the tension marks stands in the report once."""

from recorder.report.content.tension import entries
from tests.report.sample import card

MARKS = {
    "tension_mark_before": card("tension_mark_before", 1000.0, "mm"),
    "tension_mark_after": card("tension_mark_after", 1004.0, "mm"),
}


def test_it_is_worked_out_where_nobody_told_it() -> None:
    (entry,) = entries(MARKS)
    assert (entry.label, entry.value, entry.also) == ("Elongation", "0.4 %", "from the marks")
    assert entries({"tension_mark_after": MARKS["tension_mark_after"]}) == ()


def test_a_told_one_stands_alone_unless_the_marks_say_another() -> None:
    assert entries(MARKS | {"elongation": card("elongation", 0.4, "percent")}) == ()
    (entry,) = entries(MARKS | {"elongation": card("elongation", 4.0, "percent")})
    assert entry.value == "0.4 %"
