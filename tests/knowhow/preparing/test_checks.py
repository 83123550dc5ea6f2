"""What is due for a check, from never to in good time."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from recorder.knowhow.preparing import checks
from recorder.knowhow.preparing.checks import CheckStanding
from recorder.model.inventory import Inventory, Press, Template

TODAY = date(2026, 11, 26)


def press(name: str, due_in: int | None, every: int | None = 100) -> Press:
    """due_in: days from today on; None where nobody noted a check."""
    last = None if due_in is None else TODAY + timedelta(days=due_in - (every or 0))
    return Press(name=name, last_check=last, check_days=every)


@pytest.mark.parametrize(
    ("due_in", "standing", "late", "said"),
    [
        (None, CheckStanding.NEVER, True, "due for a check: none was noted yet"),
        (-56, CheckStanding.OVERDUE, True, "overdue for its check since 2026-10-01, 56 days"),
        (-1, CheckStanding.OVERDUE, True, "overdue for its check since 2026-11-25, 1 day"),
        (0, CheckStanding.DUE, False, "due for its check today"),
        (14, CheckStanding.DUE, False, "due check on 2026-12-10, in 14 days"),
        (15, CheckStanding.IN_TIME, False, "next check on 2026-12-11, in 15 days"),
    ],
)
def test_a_check_and_its_words(
    due_in: int | None, standing: CheckStanding, late: bool, said: str
) -> None:
    (check,) = checks.checks(Inventory(presses=(press("P1", due_in),)), TODAY)
    assert checks.standing(check) is standing
    assert checks.late(check) is late
    assert checks.said(check) == said


def test_the_most_urgent_comes_first_and_what_is_in_time_is_not_told() -> None:
    owned = Inventory(
        presses=(press("later", 90), press("over", -3), press("free", None, every=None)),
        templates=(
            Template(name="never", splice_type="finger", check_days=30),
            Template(name="soon", splice_type="finger", check_days=30,
                     last_check=TODAY - timedelta(days=25)),
        ),
    )  # fmt: skip
    found = checks.checks(owned, TODAY)
    assert [check.name for check in found] == ["never", "over", "soon", "later"]
    assert [check.name for check in checks.to_tell(found)] == ["never", "over", "soon"]
    assert {check.name: check.kind for check in found}["soon"] == "template"


def test_the_check_list_has_each_moment_in_order_and_defers() -> None:
    moments = [point.when for point in checks.CHECK_LIST]
    assert list(dict.fromkeys(moments)) == ["before", "at the press", "after"]
    assert moments == sorted(moments, key=["before", "at the press", "after"].index)
    texts = " ".join(point.text for point in checks.CHECK_LIST).lower()
    for caution in ("isolated", "locked out", "hot platens", "crushing", "fumes", "supply"):
        assert caution in texts
    for first in ("plant's rules", "local codes", "belt maker's data", "licensed practice"):
        assert first in checks.DEFERS
