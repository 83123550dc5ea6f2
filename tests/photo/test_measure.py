"""On scenes with known truth every number is right within its uncertainty."""

import json
from pathlib import Path

import pytest

from demo_media.scene import Scene, truth
from recorder.model.measurement import Decision, Limit, SeamMeasurement
from recorder.photo.image.conditions import Conditions
from recorder.photo.measure import measure
from recorder.resources import shipped
from recorder.settings import HOUSE_LIMITS
from tests.photo.scenes import SMALL, scene, written

TRUE_PRINT = Conditions(print_scale=(1.0, 1.0), limits=HOUSE_LIMITS)
LENGTHS = ("gap_max", "gap_mean", "splice_width", "belt_width", "edge_offset", "finger_pitch")
# the largest error that a good photo may have, so that a huge U does not make a test pass
CLOSE = {
    "gap_max": 0.03,
    "gap_mean": 0.03,
    "splice_width": 0.1,
    "belt_width": 0.1,
    "edge_offset": 0.05,
    "finger_pitch": 0.03,
}


def assert_true(
    found: SeamMeasurement, wanted: dict[str, float], gap_max_close: float = CLOSE["gap_max"]
) -> None:
    assert found.status == "measured", found.reason
    for name in (*LENGTHS, "skew"):
        number = getattr(found, name)
        assert not number.below, name
        error = number.value - wanted[name]
        assert abs(error) <= number.U, f"{name}: error {error:+.4f}, U {number.U:.4f}"
        close = gap_max_close if name == "gap_max" else CLOSE.get(name, 0.1)
        assert abs(error) <= close, f"{name}: error {error:+.4f}"
    assert found.finger_count == wanted["finger_count"]


@pytest.mark.parametrize(
    "shown",
    [
        SMALL,
        scene(belt={"gaps_mm": (0.3,), "offset_mm": 0.0, "skew_deg": 0.0}),
        scene(belt={"gaps_mm": (1.4, 1.1), "gap_light": 0.03}),
        scene(camera={"tilt_x_deg": 13.0, "tilt_y_deg": 11.0, "distance_mm": 165.0}),
        scene(camera={"roll_deg": 181.0}),
        scene(belt={"width_mm": 35.0, "pitch_mm": 7.0}, card_shift_mm=(3.0, -4.0)),
        scene(belt={"width_mm": 100.0, "pitch_mm": 12.5, "turn_deg": 1.0}),
        scene(belt={"colour": (0.04, 0.12, 0.35)}, look={"bench": "wood"}),
        scene(belt={"second_colour": (0.36, 0.57, 0.5), "finger_mm": 20.0}),
        scene(
            camera={"width": 1100, "height": 760, "focal_px": 900.0, "distance_mm": 75.0},
            belt={"width_mm": 20.0, "pitch_mm": 5.0, "finger_mm": 15.0, "gaps_mm": (0.4, 0.5)},
            card="S",
        ),
    ],
    ids=[
        "usual", "narrow", "wide", "oblique", "upside down",
        "narrow belt", "wide belt", "dark belt", "two belts", "small card",
    ],
)  # fmt: skip
def test_numbers_are_true_within_their_uncertainty(shown: Scene, tmp_path: Path) -> None:
    assert_true(measure(written(shown, tmp_path), TRUE_PRINT), truth(shown))


@pytest.mark.parametrize(
    ("look", "gaps"),
    [
        ({"blur_px": 0.4, "defocus_px": 2.0, "sharpen": 0.4}, (0.45, 0.6, 0.5)),
        ({"blur_px": 0.4, "defocus_px": 2.0, "sharpen": 0.4}, (0.2, 0.25)),
        ({"blur_px": 0.4, "defocus_px": 1.2, "sharpen": 0.6}, (0.2,)),
        ({"blur_px": 0.4, "defocus_px": 6.0, "sharpen": 0.4}, (0.45, 0.6, 0.5)),
    ],
    ids=["defocused", "defocused and narrow", "sharpened and narrow", "far out of focus"],
)
def test_a_blur_that_the_model_does_not_know_stays_within_u_or_is_refused(
    tmp_path: Path, look: dict[str, float], gaps: tuple[float, ...]
) -> None:
    """A defocus disc, and the camera's own sharpening in coded light."""
    shown = scene(belt={"gaps_mm": gaps}, look=look)
    found, wanted = measure(written(shown, tmp_path), TRUE_PRINT), truth(shown)
    if look["defocus_px"] > 5:
        assert found.status == "refused"
        assert "out of focus" in found.reason
        return
    for name in (*LENGTHS, "skew"):
        number = getattr(found, name)
        if number.below:
            assert wanted[name] <= number.value, name
        else:
            assert abs(number.value - wanted[name]) <= number.U, name
    assert found.gap_max is not None
    assert found.gap_max.U < 0.15, "and U still says something"


def test_wedges_are_widest_at_tips_that_no_window_sees(tmp_path: Path) -> None:
    shown = scene(belt={"gaps_mm": ((0.4, 0.7), (0.7, 0.4))})
    found = measure(written(shown, tmp_path), TRUE_PRINT)
    assert_true(found, truth(shown), gap_max_close=0.07)
    by_name = {term.name: term.u for term in found.budget["gap_max"]}
    assert by_name["tips not seen"] > 0.01


def test_card_on_the_bench_needs_the_thickness_and_uses_it(tmp_path: Path) -> None:
    shown = scene(card_on="bench", belt={"thickness_mm": 4.0})
    path = written(shown, tmp_path)
    refused = measure(path, Conditions(card_on="bench"))
    assert refused.status == "refused"
    assert "how thick" in refused.reason
    told = Conditions(card_on="bench", belt_thickness_mm=4.0, print_scale=(1.0, 1.0))
    found = measure(path, told)
    width = found.belt_width
    assert width is not None
    assert abs(width.value - 70.0) <= width.U
    ignored = measure(path, TRUE_PRINT).belt_width
    assert ignored is not None
    assert ignored.value > 71.0  # the parallax is there, and was taken out


def test_print_scale_is_applied_and_its_lack_costs_one_percent(tmp_path: Path) -> None:
    path = written(scene(print_scale=(1.01, 0.99)), tmp_path)
    told = measure(path, Conditions(print_scale=(1.01, 0.99))).splice_width
    untold = measure(path, Conditions())
    assert told is not None
    assert untold.splice_width is not None
    assert abs(told.value - 70.0) <= told.U
    assert abs(untold.splice_width.value - 70.0) <= untold.splice_width.U
    assert abs(untold.splice_width.value - 70.0) > 0.5
    by_name = {term.name: term.u for term in untold.budget["splice_width"]}
    assert by_name["print scale"] >= 0.01 * 69
    assert any("never measured" in warning for warning in untold.warnings)


def test_the_print_scale_of_another_card_is_not_used(tmp_path: Path) -> None:
    path = written(SMALL, tmp_path)  # a card of size M
    scale = (1.03, 1.03)
    of_other = measure(path, Conditions(print_scale=scale, print_scale_size="S"))
    assert of_other.belt_width == measure(path, Conditions()).belt_width
    (said,) = [text for text in of_other.warnings if "print" in text]
    assert "card S was measured" in said
    assert "shows card M" in said
    for size in ("M", None):
        own = measure(path, Conditions(print_scale=scale, print_scale_size=size))
        assert own.belt_width is not None
        assert own.belt_width.value > 71.5
        assert not [text for text in own.warnings if "print" in text]


def test_a_gap_under_the_quantification_limit_is_an_upper_bound(tmp_path: Path) -> None:
    shown = scene(belt={"gaps_mm": (0.12,)}, look={"blur_px": 1.3})
    found = measure(written(shown, tmp_path), TRUE_PRINT)
    assert found.gap_max is not None
    assert found.gap_max.below
    assert 0.12 <= found.gap_max.value <= 0.45
    assert found.decisions["finger_gap"] is Decision.WITHIN


def test_decisions_follow_the_limits_in_force(tmp_path: Path) -> None:
    path = written(SMALL, tmp_path)  # its largest gap is 0.6 mm, its offset 0.25 mm
    limits = (
        Limit(name="finger_gap", high=0.6),
        Limit(name="edge_offset", high=0.1),
        Limit(name="splice_width", low=65.0, high=75.0),
    )
    found = measure(path, Conditions(print_scale=(1.0, 1.0), limits=limits))
    assert found.decisions == {
        "finger_gap": Decision.UNDECIDED,
        "edge_offset": Decision.OUTSIDE,
        "splice_width": Decision.WITHIN,
    }
    assert found.decision is Decision.OUTSIDE
    assert measure(path, Conditions()).decision is None


def test_budget_terms_make_up_the_uncertainty(tmp_path: Path) -> None:
    found = measure(written(SMALL, tmp_path), TRUE_PRINT)
    for name in (*LENGTHS, "skew"):
        number = getattr(found, name)
        total = sum(term.u**2 for term in found.budget[name]) ** 0.5
        assert pytest.approx(2 * total) == number.U
        assert number.k == 2
    assert {term.name for term in found.budget["gap_max"]} == {
        "fit and scatter",
        "variation within a stretch",
        "tips not seen",
        "blur of the photo",
        "contrast of the gap",
        "sharpening and blur shape",
        "tone curve and jpeg",
        "step between the ends",
        "wall of the gap",
        "print scale",
        "plane offset",
        "lens",
        "corner noise",
        "temperature of the belt",
    }


def test_demo_photos_measure_as_their_truth_says() -> None:
    """Also the decisions that the demo's story needs."""
    record = json.loads((shipped("demo_media") / "photo_truth.json").read_text(encoding="utf-8"))
    width = Limit(name="splice_width", low=69.3, high=70.7, source="job card")
    conditions = Conditions(**record["conditions"], limits=(*HOUSE_LIMITS, width))
    story = {
        "photo_1_rejected.jpg": Decision.OUTSIDE,
        "photo_2_before.jpg": Decision.WITHIN,
        "photo_3_accepted.jpg": Decision.WITHIN,
    }
    for name, decision in story.items():
        found = measure(shipped("demo_media") / "job" / name, conditions)
        assert_true(found, record[name]["truth"])
        assert found.decision is decision, (name, found.decisions)
        others = {found.decisions["edge_offset"], found.decisions["splice_width"]}
        assert others == {Decision.WITHIN}
