"""Which template fits: never one that does not, nothing guessed, and why."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from recorder.knowhow.preparing.fitting import proposal
from recorder.knowhow.preparing.proposal import Proposal
from recorder.model.belt import Belt
from recorder.model.inventory import Inventory, Template

TODAY = date(2026, 11, 26)
NARROW = Template(
    name="T30-10",
    splice_type="finger",
    finger_length=30,
    finger_pitch=10,
    guide_profiles=("flat",),
    width=(60, 600),
    thickness=(0.8, 3),
)
WIDE = NARROW.model_copy(update={"name": "T30-10 wide", "width": (60.0, 1200.0)})
LONG = NARROW.model_copy(update={"name": "T80-20", "finger_length": 80.0, "finger_pitch": 20.0})
GUIDED = NARROW.model_copy(update={"name": "T30-10 V", "guide_profiles": ("v_guided",)})
JIG = Template(name="Jig", splice_type="overlap")
BELT = Belt(
    belt_material="TPU",
    belt_thickness=2,
    belt_width=450,
    guide_profile="flat",
    splice_type="finger",
    finger_length=30,
    finger_pitch=10,
)


def asked(*templates: Template, belt: Belt = BELT, used: dict[str, int] | None = None) -> Proposal:
    return proposal(belt, Inventory(templates=templates), used or {}, TODAY)


def names(found: Proposal) -> tuple[str | None, list[str], list[str]]:
    best = found.best.template.name if found.best else None
    return (
        best,
        [each.template.name for each in found.others],
        [each.template.name for each in found.unfit],
    )


def without(*fields: str) -> Belt:
    return BELT.model_copy(update=dict.fromkeys(fields))


def test_each_reason_is_in_words() -> None:
    found = asked(NARROW, LONG, GUIDED, JIG, used={"t30-10": 14})
    assert names(found) == ("T30-10", [], ["Jig", "T30-10 V", "T80-20"])
    assert found.best
    assert found.best.reasons == (
        "for finger splices",
        "finger length 30 mm",
        "finger pitch 10 mm",
        "for flat belts",
        "takes 60 mm to 600 mm of width, the belt has 450 mm",
        "takes 0.8 mm to 3 mm of thickness, the belt has 2 mm",
        "used on 14 accepted splices on such a belt",
    )
    assert [each.reasons for each in found.unfit] == [
        ("for overlap splices, the job is finger",),
        ("for V-guided belts only, the belt is flat",),
        ("its finger length is 80 mm, the splice has 30 mm",
         "its finger pitch is 20 mm, the splice has 10 mm"),
    ]  # fmt: skip
    assert found.why == "the only one that fits"


@pytest.mark.parametrize(
    ("change", "reason"),
    [
        ({"belt_width": 601.0}, "takes 60 mm to 600 mm of width, the belt has 601 mm"),
        ({"belt_width": 59.0}, "takes 60 mm to 600 mm of width, the belt has 59 mm"),
        ({"belt_thickness": 3.2}, "takes 0.8 mm to 3 mm of thickness, the belt has 3.2 mm"),
        ({"finger_length": 30.1}, "its finger length is 30 mm, the splice has 30.1 mm"),
        ({"guide_profile": "v_guided"}, "for flat belts only, the belt is V-guided"),
    ],
)
def test_a_belt_that_it_does_not_take(change: dict[str, object], reason: str) -> None:
    found = asked(NARROW, belt=BELT.model_copy(update=change), used={"T30-10": 90})
    assert found.best is None
    assert found.unfit[0].reasons == (reason,)
    assert found.why == "no template of the inventory fits"


@pytest.mark.parametrize("field", ["belt_width", "belt_thickness", "guide_profile"])
def test_what_the_belt_leaves_open_is_asked_and_not_guessed(field: str) -> None:
    found = asked(NARROW, belt=without(field), used={"T30-10": 90})
    assert names(found) == (None, ["T30-10"], [])
    assert found.others[0].unknown == (field,)
    assert found.why == f"T30-10 could fit; tell the {field.replace('_', ' ')}"


def test_the_fingers_come_with_the_template_where_one_was_used() -> None:
    belt = without("finger_length", "finger_pitch")
    assert names(asked(LONG, NARROW, belt=belt)) == (None, ["T30-10", "T80-20"], [])
    why = asked(LONG, NARROW, belt=belt).why
    assert why == "T30-10 and T80-20 fit; tell the finger length and finger pitch"
    found = asked(LONG, NARROW, belt=belt, used={"T80-20": 3, "T30-10": 1})
    assert names(found) == ("T80-20", ["T30-10"], [])
    assert found.why == "before T30-10: used on 3 accepted splices, that one on 1"
    assert asked(NARROW, belt=belt).best
    assert found.best
    assert found.best.unknown == ("finger_length", "finger_pitch")


def test_the_type_of_splice_is_not_guessed() -> None:
    belt = without("splice_type", "finger_length", "finger_pitch")
    assert asked(JIG, belt=belt).best is None
    assert asked(JIG, belt=belt).why == "Jig fits; tell the splice type"
    assert names(asked(JIG, NARROW, belt=belt, used={"jig": 2}))[0] == "Jig"


def test_a_size_that_is_not_in_the_inventory_is_no_fit() -> None:
    unsized = NARROW.model_copy(update={"finger_length": None})
    found = asked(unsized)
    assert found.best is None
    assert found.unfit[0].reasons == (
        "its finger length is not in the inventory, the splice has 30 mm",
    )


@pytest.mark.parametrize(
    "end",
    [
        {"belt_width": 60.0},
        {"belt_width": 600.0},
        {"belt_thickness": 0.8},
        {"belt_thickness": 3.0},
    ],
)
def test_both_ends_of_a_span_are_taken(end: dict[str, float]) -> None:
    assert asked(NARROW, belt=BELT.model_copy(update=end)).best


def test_inches_are_the_same_size_and_the_same_width() -> None:
    inches = NARROW.model_copy(update={"finger_length": 1.181 * 25.4, "width": (60.0, 18 * 25.4)})
    assert asked(inches, belt=BELT.model_copy(update={"belt_width": 457.2})).best


def test_a_late_check_stands_behind_and_is_told() -> None:
    late = NARROW.model_copy(update={"last_check": date(2026, 4, 4), "check_days": 180})
    found = asked(late, WIDE, used={"T30-10": 14})
    assert names(found) == ("T30-10 wide", ["T30-10"], [])
    since = "overdue for its check since 2026-10-01, 56 days"
    assert found.why == f"before T30-10, {since}, used on 14 accepted splices"
    assert since in found.others[0].reasons
    alone = asked(late).best
    assert alone
    assert since in alone.reasons


def test_among_equals_the_narrower_then_the_name() -> None:
    any_profile = WIDE.model_copy(update={"name": "any", "guide_profiles": ()})
    twin = NARROW.model_copy(update={"name": "A twin"})
    found = asked(any_profile, WIDE, NARROW, twin)
    assert names(found) == ("A twin", ["T30-10", "T30-10 wide", "any"], [])
    assert found.why == "as well as T30-10; the first by name"
    assert asked(WIDE, NARROW).why == "before T30-10 wide, which takes a wider range of belts"
    assert asked(any_profile, WIDE).why == "before any, which names no guide profile"


def test_one_whose_fit_is_open_stands_behind() -> None:
    found = asked(NARROW, JIG, WIDE.model_copy(update={"guide_profiles": ()}),
                  belt=without("guide_profile"), used={"T30-10": 5})  # fmt: skip
    assert names(found) == ("T30-10 wide", ["T30-10"], ["Jig"])
    assert found.why == "before T30-10, whose fit is open: guide profile not told"


def test_nothing_is_proposed_out_of_nothing() -> None:
    assert asked().why == "no template stands in the inventory"
    assert asked(NARROW, LONG, belt=Belt()).best is None


FACTS = st.sampled_from(["flat", "v_guided", "notched_v_guided", None])
SIZES = st.sampled_from([None, 10.0, 30.0, 80.0])
SPANS = st.sampled_from([None, (60.0, 600.0), (500.0, 900.0)])
TEMPLATES = st.builds(
    Template,
    name=st.just("T"),
    splice_type=st.sampled_from(["finger", "overlap"]),
    finger_length=SIZES,
    finger_pitch=SIZES,
    guide_profiles=st.sampled_from([(), ("flat",), ("flat", "v_guided")]),
    width=SPANS,
    thickness=st.sampled_from([None, (1.0, 3.0)]),
)
BELTS = st.builds(
    Belt,
    belt_width=st.sampled_from([None, 50.0, 550.0, 800.0]),
    belt_thickness=st.sampled_from([None, 2.0, 5.0]),
    guide_profile=FACTS,
    splice_type=st.sampled_from([None, "finger", "overlap"]),
    finger_length=SIZES,
    finger_pitch=SIZES,
)


@given(BELTS, st.lists(TEMPLATES, max_size=4), st.integers(0, 3))
def test_whatever_is_proposed_takes_the_belt(
    belt: Belt, templates: list[Template], used: int
) -> None:
    named = tuple(
        each.model_copy(update={"name": f"T{number}"}) for number, each in enumerate(templates)
    )
    found = asked(*named, belt=belt, used={"T0": used})
    assert found.why
    listed = [*found.others, *found.unfit, *([found.best] if found.best else [])]
    assert sorted(each.template.name for each in listed) == sorted(each.name for each in named)
    if found.best:
        taken = found.best.template
        for told, span in ((belt.belt_width, taken.width), (belt.belt_thickness, taken.thickness)):
            assert span is None or (told is not None and span[0] <= told <= span[1])
        assert not taken.guide_profiles or belt.guide_profile in taken.guide_profiles
        assert belt.splice_type == taken.splice_type or (belt.splice_type is None and used)
