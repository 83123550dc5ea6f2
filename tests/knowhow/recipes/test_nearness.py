"""Which belts are near, and what is said of the difference."""

from __future__ import annotations

import random

import pytest

from recorder.knowhow.recipes.nearness import differs, nearest
from recorder.model.belt import Belt
from tests.knowhow.recipes.past_runs import BELT


def other(**changes: object) -> Belt:
    return Belt.model_validate({**BELT.told(), **changes})


def test_the_material_counts_before_anything_else() -> None:
    far_off = other(belt_thickness=4.0, belt_width=900.0, guide_profile="v_guided")
    belts = [(other(belt_material="TPU CV-60"), 9), (far_off, 1), (other(belt_width=90.0), 1)]
    found = nearest(BELT, belts)
    assert found == [other(belt_width=90.0), far_off, other(belt_material="TPU CV-60")]


@pytest.mark.parametrize(
    "material", ["PVC CV-120A", "green belt", "Polyester 120A", "120", None, "vinyl cv"]
)
def test_a_belt_of_another_material_is_never_near(material: str | None) -> None:
    green = BELT.model_copy(update={"belt_material": "Green TPU CV-120A belt"})
    assert nearest(green, [(other(belt_material=material), 100)]) == []


def test_two_words_for_one_material_are_near() -> None:
    urethane = other(belt_material="Polyurethane 90")
    assert nearest(BELT, [(urethane, 1)]) == [urethane]


@pytest.mark.parametrize(
    ("asked", "known", "near"),
    [
        ("TPEE", "Polyester 2 ply PVC", False),
        ("TPEE", "Polyester HT", True),
        ("PVC", "Polyester 2 ply PVC", True),
        ("Polyester PVC", "Polyester TPU", False),
        ("Rubber 2 ply", "Silicone 2", False),
    ],
)
def test_the_fabric_and_a_number_make_no_two_belts_alike(
    asked: str, known: str, near: bool
) -> None:
    belt = BELT.model_copy(update={"belt_material": asked})
    assert bool(nearest(belt, [(other(belt_material=known), 1)])) is near


def test_of_belts_as_near_the_more_used_comes_first() -> None:
    rare, usual = other(splice_type="butt"), other(splice_type="overlap")
    assert nearest(BELT, [(rare, 1), (usual, 5)]) == [usual, rare]


def test_what_is_not_told_lies_between_the_same_and_another() -> None:
    same, untold, v = other(), other(guide_profile=None), other(guide_profile="v_guided")
    assert nearest(BELT, [(v, 9), (untold, 1), (same, 1)]) == [same, untold, v]


def test_a_thickness_counts_by_its_ratio_and_more_than_a_width() -> None:
    thick, thin, wide = (
        other(belt_thickness=2.5), other(belt_thickness=1.0), other(belt_width=140.0),
    )  # fmt: skip
    assert nearest(BELT, [(thin, 1), (thick, 1), (wide, 1)]) == [wide, thick, thin]


def test_leaving_off_far_materials_changes_nothing() -> None:
    """The search ends early; held against all belts asked for at once."""
    dice = random.Random(8)
    materials = ("TPU", "TPU CV-60A", "TPU 120A", "CV-120A matt", "TPU CV-120A twill")
    belts = [
        (
            other(
                belt_material=dice.choice(materials),
                belt_thickness=dice.choice([1.0, 2.0, 3.0]),
                belt_width=dice.choice([60.0, 70.0, 600.0]),
            ),
            dice.randrange(1, 9),
        )
        for _ in range(500)
    ]
    every = nearest(BELT, belts, len(belts))
    assert all(nearest(BELT, belts, most) == every[:most] for most in (1, 3, 150))


@pytest.mark.parametrize(
    ("changes", "told"),
    [
        ({"belt_width": 90.0}, ("20 mm wider",)),
        ({"belt_width": 60.0}, ("10 mm narrower",)),
        ({"belt_thickness": 3.0}, ("3 mm instead of 2 mm thick",)),
        ({"guide_profile": "v_guided"}, ("V-guided instead of flat",)),
        ({"guide_profile": None}, ("guide profile not told",)),
        ({"belt_material": "TPU CV-60"}, ("TPU CV-60 instead of TPU CV-120A",)),
        ({"belt_material": "tpu  cv-120a", "belt_width": 70.001}, ()),
        ({"belt_width": 70.01}, ("0.01 mm wider",)),
        ({"finger_pitch": 10.0}, ()),  # nobody asked for it
    ],
)
def test_what_differs_is_said_in_words(changes: dict[str, object], told: tuple[str, ...]) -> None:
    assert differs(BELT, other(**changes)) == told


def test_fingers_are_told_by_name() -> None:
    asked = Belt(belt_material="TPU", finger_length=80.0, finger_pitch=20.0)
    fits = Belt(belt_material="TPU", finger_length=100.0, finger_pitch=10.0)
    assert differs(asked, fits) == (
        "finger length 100 mm instead of 80 mm", "finger pitch 10 mm instead of 20 mm",
    )  # fmt: skip


def test_a_size_of_nothing_is_as_good_as_none() -> None:
    slip = Belt(belt_material="TPU", belt_thickness=0.0)
    thin = Belt(belt_material="TPU", belt_thickness=2.0)
    assert nearest(slip, [(thin, 1)]) == [thin]
    assert nearest(thin, [(slip, 1)]) == [slip]
