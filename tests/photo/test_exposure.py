"""Whatever brightness, tone curve or contrast a phone puts on a photo: inside U, or refused."""

import io
from dataclasses import replace
from pathlib import Path

import pytest
from PIL import Image, ImageEnhance

from demo_media.scene import Scene, truth
from recorder.model.measurement import Decision, SeamMeasurement
from recorder.photo.image.conditions import Conditions
from recorder.photo.image.exposure import UNKNOWN_BEND, tone_bend
from recorder.photo.image.refusal import Refusal
from recorder.photo.measure import measure
from recorder.settings import HOUSE_LIMITS
from tests.photo.scenes import SMALL, drawn, scene

CONDITIONS = Conditions(print_scale=(1.0, 1.0), limits=HOUSE_LIMITS)
OPEN = replace(SMALL, belt=replace(SMALL.belt, gaps_mm=(0.3, 0.55, 0.35, 0.3, 0.55, 0.3, 0.3)))
NARROW = scene(belt={"gaps_mm": (0.3,), "colour": (0.5, 0.62, 0.6)}, look={"bench": "wood"})


def processed(shown: Scene, folder: Path, change) -> SeamMeasurement:
    image = Image.open(io.BytesIO(drawn(shown)))
    path = folder / "photo.png"
    change(image).save(path, compress_level=1)
    return measure(path, CONDITIONS)


def powered(gamma: float):
    table = [round(255 * (code / 255) ** gamma) for code in range(256)] * 3
    return lambda image: image.point(table)


def brighter(factor: float):
    return lambda image: ImageEnhance.Brightness(image).enhance(factor)


def contrasted(factor: float):
    return lambda image: ImageEnhance.Contrast(image).enhance(factor)


def assert_inside_or_refused(found: SeamMeasurement, shown: Scene) -> None:
    if found.status == "refused":
        assert ";" in found.reason, "what is wrong; what to do"
        return
    for name in ("gap_max", "gap_mean", "splice_width", "belt_width", "edge_offset"):
        number, wanted = getattr(found, name), truth(shown)[name]
        if number.below:
            assert wanted <= number.value, name
        else:
            assert abs(number.value - wanted) <= number.U, f"{name} {number} not {wanted}"
    wrong = Decision.WITHIN if truth(shown)["gap_max"] > 0.5 else Decision.OUTSIDE
    assert found.decisions["finger_gap"] is not wrong


@pytest.mark.parametrize("shown", [OPEN, NARROW], ids=["open", "narrow"])
@pytest.mark.parametrize("factor", [0.4, 0.5, 0.75, 1.0, 1.1, 1.2, 1.4, 1.6, 1.8, 2.1, 2.6])
def test_brightness(tmp_path: Path, shown: Scene, factor: float) -> None:
    found = processed(shown, tmp_path, brighter(factor))
    assert_inside_or_refused(found, shown)
    assert found.status == "measured" or factor > 1, found.reason
    if factor >= 1.8:
        assert found.status == "refused"


@pytest.mark.parametrize("shown", [OPEN, NARROW], ids=["open", "narrow"])
@pytest.mark.parametrize(
    "change",
    [*(powered(gamma) for gamma in (0.45, 0.6, 0.8, 1.25, 1.6, 2.2)),
     *(contrasted(factor) for factor in (0.5, 0.7, 1.4, 2.0))],
    ids=["gamma 0.45", "gamma 0.6", "gamma 0.8", "gamma 1.25", "gamma 1.6", "gamma 2.2",
         "contrast 0.5", "contrast 0.7", "contrast 1.4", "contrast 2"],
)  # fmt: skip
def test_tone_curve(tmp_path: Path, shown: Scene, change) -> None:
    assert_inside_or_refused(processed(shown, tmp_path, change), shown)


def test_belt_burnt_out_under_a_card_that_is_not(tmp_path: Path) -> None:
    """A lamp on the splice: the paper of the card tells nothing of it."""
    shiny = scene(belt={"gaps_mm": (0.55,), "colour": (1.9, 1.9, 1.8)})
    found = processed(shiny, tmp_path, lambda image: image)
    assert found.status == "refused"
    assert "burnt out" in found.reason


def test_mild_processing_is_measured_with_a_larger_u_and_a_warning(tmp_path: Path) -> None:
    plain = processed(OPEN, tmp_path, lambda image: image)
    mild = processed(OPEN, tmp_path, powered(1.25))
    assert plain.gap_max is not None
    assert mild.gap_max is not None, mild.reason
    assert mild.gap_max.U > 1.2 * plain.gap_max.U
    assert any("black is unlike print" in warning for warning in mild.warnings)
    assert not any("black is unlike print" in warning for warning in plain.warnings)


def test_bend_is_the_logarithm_of_the_power_within_a_limit() -> None:
    assert abs(tone_bend(0.045, 1.0)) < 1e-9
    assert tone_bend(0.045**1.3, 1.0) == pytest.approx(0.2624, abs=1e-4)
    assert tone_bend(0.045**0.7, -0.3) == pytest.approx(-0.3567, abs=1e-4)
    for crushed in (0.045**2, 0.0):
        assert tone_bend(crushed, 1.0) == UNKNOWN_BEND
        assert tone_bend(crushed, 0.0) < 0.1, "nothing swelled, so the black is merely good"
    for grey in (0.045**0.5, 1.0):
        with pytest.raises(Refusal, match="processed too strongly"):
            tone_bend(grey, 0.0)


def test_burnt_out_paper_beside_a_sound_belt_is_measured_with_a_warning(tmp_path: Path) -> None:
    found = processed(OPEN, tmp_path, brighter(1.2))
    assert found.status == "measured", found.reason
    assert_inside_or_refused(found, OPEN)
    assert any("paper is burnt out" in warning for warning in found.warnings)
