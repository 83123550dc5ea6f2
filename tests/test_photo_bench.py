"""The photo bench itself: its pictures are true to their truth, and it counts right."""

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import cv2
import numpy as np
import pytest
from numpy.typing import NDArray
from PIL import Image, ImageOps

from recorder.cli import main
from recorder.model.measurement import Decision, Measurement, SeamMeasurement
from tests.bench.seams import lens
from tests.bench.seams.camera import Camera
from tests.bench.seams.coverage import Shape
from tests.bench.seams.render import render, to_world
from tests.bench.seams.sampler import FACTORS, REFUSED, scene
from tests.bench.seams.scene import CARD_MM, Belt, Blur, CardLies, Light, Scene, Sensor
from tests.bench.seams.scoring import Error, Outcome, targets
from tests.bench.seams.sensor import save
from tests.bench.seams.splice import Seam
from tests.bench.seams.truth import truth

BELT, FLOOR = 0.8, 0.002

# Thin, so that no wall shows; without card, noise, texture or lamp. One finger over the belt.
PLAIN = Scene(
    name="plain",
    camera=Camera(600, 600, 6000.0, 500.0),
    belt=Belt((30.0, 30.4), (0.002, 0.002), ((BELT,) * 3, (BELT,) * 3), grain=0.0),
    seams=(Seam(24.0, 20.0, 2.0, ((0.3, 0.3), (0.5, 0.5)), phase=0.0),),
    card=CardLies(shown=False),
    bench=(0.0, 0.0, 0.0),
    bench_grain=0.0,
    light=Light(direct=0.0),
    blur=Blur(sigma_px=1.8),
)
POSES = {
    "square on": {},
    "tilted and turned": {"tilt_deg": 25.0, "tilt_towards_deg": 60.0, "roll_deg": 31.0},
    "through a lens": {"tilt_deg": 8.0, "roll_deg": 90.0, "k1": 3.0, "centre": (7.0, -5.0)},
}


def _along(picture: NDArray[np.float32], seen: Scene, begin: Any, finish: Any) -> Any:
    """Light along a straight line of the belt frame, and its points there, 400 of them."""
    t = np.linspace(0, 1, 400)[:, None]
    line = np.asarray(begin) + t * (np.asarray(finish) - np.asarray(begin))
    world = to_world(seen, line)
    heights = np.full((len(world), 1), seen.belt.heights[0])
    pixels = seen.camera.project(np.hstack([world, heights])) - 0.5
    low = np.floor(pixels).astype(int)
    u, v = (pixels - low).T
    x, y = low.T
    light = picture[..., 1].astype(float)
    mixed = (1 - v) * ((1 - u) * light[y, x] + u * light[y, x + 1])
    mixed += v * ((1 - u) * light[y + 1, x] + u * light[y + 1, x + 1])
    return mixed, line


@pytest.mark.parametrize("pose", POSES.values(), ids=POSES)
def test_the_light_that_a_seam_lacks_is_its_gap(pose: dict[str, Any]) -> None:
    seen = replace(PLAIN, camera=replace(PLAIN.camera, **pose))
    picture = render(seen)
    for number, gap in ((0, 0.3), (1, 0.5)):
        # The flank from the node at (10, 0) to that at (-10, 12), or to (10, -12) from before it.
        side = 1 if number == 0 else -1
        flank = np.array([[10.0, side * 1.0], [-10.0, side * 11.0]])
        along = (flank[1] - flank[0]) / np.linalg.norm(flank[1] - flank[0])
        normal = np.array([along[1], -along[0]])
        gaps = []
        for t in np.linspace(0.3, 0.7, 9):
            at = flank[0] + t * (flank[1] - flank[0])
            light, line = _along(picture, seen, at - 1.6 * normal, at + 1.6 * normal)
            step = np.linalg.norm(line[1] - line[0])
            gaps.append(np.sum(BELT - light) / (BELT - FLOOR) * step)
        assert np.mean(gaps) == pytest.approx(gap, abs=0.005)


@pytest.mark.parametrize("pose", POSES.values(), ids=POSES)
def test_an_edge_lies_where_half_the_light_is_lost(pose: dict[str, Any]) -> None:
    seen = replace(
        PLAIN,
        camera=replace(PLAIN.camera, **pose),
        belt=replace(PLAIN.belt, offset_mm=0.7, yaw_deg=2.0),
    )
    picture = render(seen)
    true = truth(seen)
    assert true is not None
    crossings = []
    for x in (-13.0, 13.0):
        for outward in (-1, 1):
            light, line = _along(picture, seen, (x, outward * 13.5), (x, outward * 17.5))
            k = int(np.argmax(light < (BELT + FLOOR) / 2))
            part = (light[k - 1] - (BELT + FLOOR) / 2) / (light[k - 1] - light[k])
            crossings.append(line[k - 1, 1] + part * (line[k, 1] - line[k - 1, 1]))
    left_top, left_bottom, right_top, right_bottom = crossings
    assert left_bottom - left_top == pytest.approx(true.belt_width[0], abs=0.01)
    assert right_bottom - right_top == pytest.approx(true.belt_width[1], abs=0.01)
    assert right_top - left_top == pytest.approx(true.edge_offset_upper, abs=0.01)
    assert right_bottom - left_bottom == pytest.approx(true.edge_offset_lower, abs=0.01)


def test_coverage_is_the_area_cut_from_each_cell() -> None:
    triangle = np.array([[2.25, 1.5], [7.5, 3.0], [3.0, 6.75]])
    cover = Shape([triangle], 10).rows(0, 9)
    (ax, ay), (bx, by), (cx, cy) = triangle
    area = abs((bx - ax) * (cy - ay) - (cx - ax) * (by - ay)) / 2
    assert cover.sum() == pytest.approx(area, rel=1e-6)
    assert cover[3, 3] == pytest.approx(1)
    assert np.array_equal(Shape([triangle], 10).rows(2, 5), cover[2:5])
    beyond = Shape([triangle * [10, 1] - [30, 0]], 10).rows(0, 9)  # reaches over both sides
    assert beyond.max() <= 1
    assert beyond[3, 0] == pytest.approx(1)


def test_a_wall_shows_on_the_side_that_the_camera_does_not_stand() -> None:
    deep = replace(
        PLAIN,
        belt=replace(PLAIN.belt, heights=(3.0, 3.0)),
        camera=replace(PLAIN.camera, tilt_deg=20.0, tilt_towards_deg=90.0),
        seams=(replace(PLAIN.seams[0], gaps=((1.2, 1.2),), tip_mm=3.0),),
    )
    light, _ = _along(render(deep), deep, (0.0, 4.0), (0.0, 8.0))
    slot = light[light < 0.5 * BELT]
    straight = replace(deep, camera=PLAIN.camera)
    below, _ = _along(render(straight), straight, (0.0, 4.0), (0.0, 8.0))
    assert slot.max() > 3 * max(below.min(), FLOOR)


def test_the_card_is_as_large_as_the_scenes_take_it_to_be(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    for size, mm in CARD_MM.items():
        asked = ["card", "--size", size, "--png", str(tmp_path / "card.png"), "--dpi", "75"]
        assert main([*asked, "--json", "--home", str(tmp_path)]) == 0
        assert json.loads(capsys.readouterr().out)["size_mm"] == pytest.approx(mm)


@pytest.mark.parametrize("orientation", [1, 3, 6, 8])
def test_a_calibrated_lens_is_that_of_the_stored_picture(
    orientation: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A bright pixel, saved and found again in the stored file, is straight through the lens."""
    monkeypatch.setattr(lens, "KNOWN_SHARE", 1.0)
    monkeypatch.setattr(lens, "WRONG_SHARE", 0.0)
    seen = replace(PLAIN.camera, width=640, height=480, k1=0.02, centre=(9.0, -4.0), focal_px=500.0)
    sensor = Sensor(orientation=orientation, quality=100)
    camera, _ = lens.calibrated(replace(PLAIN, camera=seen, sensor=sensor))
    assert camera is not None
    column, row = 600, 70
    picture = np.zeros((480, 640, 3), np.uint8)
    picture[row, column] = 255
    save(picture, tmp_path / "dot.jpg", seen, sensor)
    with Image.open(tmp_path / "dot.jpg") as image:
        stored = np.asarray(image)
        assert image.getexif().get(0x0112, 1) == orientation
        upright = np.asarray(ImageOps.exif_transpose(image))
    assert upright[row, column].min() > 128
    assert camera.size_px == stored.shape[1::-1]
    y, x = np.unravel_index(stored[..., 1].argmax(), stored.shape[:2])
    matrix = np.diag([*camera.focal_px, 1.0])
    matrix[:2, 2] = camera.centre_px
    at = np.array([[[float(x), float(y)]]])
    straight = cv2.undistortPoints(at, matrix, np.array(camera.distortion))
    ray = (seen.on_height(np.array([column + 0.5, row + 0.5]), 0.0)) / seen.distance_mm
    # The same way off the lens's axis; 3 px of principal point are a calibration's own error.
    assert np.hypot(*straight.ravel()) == pytest.approx(np.hypot(*ray), abs=0.02)


def test_the_same_scene_comes_each_time_and_another_in_the_report_set() -> None:
    assert scene("development", 3) == scene("development", 3)
    assert scene("development", 3) != scene("report", 3)


@pytest.mark.parametrize("factor", ["wedge", "bench", "small_card", "two_seams", "steep"])
def test_a_suite_holds_one_factor(factor: str) -> None:
    drawn = scene("development", 0, factor)
    assert drawn.factors == (factor,)
    assert (drawn.verdict == "unjudgeable") is (factor in REFUSED)
    assert set(FACTORS).isdisjoint(REFUSED)


def test_limits_are_clear_of_the_truth() -> None:
    drawn = [scene("development", number) for number in range(5)]
    for one in drawn:
        true = truth(one)
        if true is None:
            continue
        for name, low, high in one.limits:
            value = true.gap_max if name == "finger_gap" else getattr(true, name)
            clear = 0.1 if name == "finger_gap" else 0.25
            for bound in (low, high):
                assert bound is None or abs(bound - value) >= clear


def _outcome(verdict: str, told: SeamMeasurement | None, gap: float = 0.5) -> Outcome:
    true = {
        "gap_max": gap, "gap_mean": gap, "splice_width": 70.0, "belt_width": [69.9, 70.2],
        "edge_offset": 0.2, "edge_offset_upper": 0.2, "edge_offset_lower": 0.1,
        "skew_deg": 0.1, "finger_pitch": 10.0, "finger_length": 30.0,
    }  # fmt: skip
    record = {
        "name": "told", "verdict": verdict, "calibrated": False, "factors": [], "truth": true,
        "conditions": {"print_scale": [1.0, 1.0], "limits": [["finger_gap", None, 0.8]]},
    }  # fmt: skip
    return Outcome(record, told, 0.1)


def _told(gap: Measurement, decision: Decision) -> SeamMeasurement:
    return SeamMeasurement(
        file="x.jpg", status="measured", gap_max=gap, decision=decision,
        decisions={"finger_gap": decision},
    )  # fmt: skip


def _figures(*outcomes: Outcome) -> dict[str, tuple[str, bool | None]]:
    lines = targets(list(outcomes))
    return {line.name.split(" (n")[0]: (line.figure, line.met) for line in lines}


def test_errors_are_counted_against_u_and_twice_u() -> None:
    right, beyond, far = (
        Error("s", "gap_max", 0.5, value, 0.04, False) for value in (0.53, 0.55, 0.59)
    )
    assert (right.covered, right.far) == (True, False)
    assert (beyond.covered, beyond.far) == (False, False)
    assert (far.covered, far.far) == (False, True)


@pytest.mark.parametrize(("bound", "covered", "far"), [
    (0.15, True, False), (0.6, True, False), (0.09, False, False), (0.04, False, True),
])  # fmt: skip
def test_a_bound_is_right_when_the_truth_is_not_above_it(
    bound: float, covered: bool, far: bool
) -> None:
    error = Error("s", "gap_max", 0.1, bound, 0.02, True)
    assert (error.covered, error.far) == (covered, far)


def test_a_wrong_decision_counts_and_an_undecided_one_is_not_wrong() -> None:
    gap = Measurement(value=0.9, unit="mm", U=0.03)
    wrong = _outcome("good", _told(gap, Decision.OUTSIDE))
    assert wrong.wrong_decisions() == ["finger_gap"]
    assert not wrong.undecided
    undecided = _outcome("good", _told(gap, Decision.UNDECIDED))
    assert undecided.wrong_decisions() == []
    assert undecided.undecided
    figures = _figures(wrong, undecided)
    assert figures["wrong decisions"] == ("1", False)
    assert figures["errors beyond 2 U"] == ("2", False)
    assert figures["refused or undecided among the judgeable <= 15 %"] == ("50.0 %", False)


def test_a_hopeless_photo_must_be_refused() -> None:
    refusal = SeamMeasurement(file="x.jpg", status="refused", reason="no card")
    measured = _told(Measurement(value=0.5, unit="mm", U=0.03), Decision.WITHIN)
    name = "refused among the unjudgeable"
    assert _figures(_outcome("unjudgeable", refusal))[name] == ("100.0 %", True)
    both = (_outcome("unjudgeable", refusal), _outcome("unjudgeable", measured))
    assert _figures(*both)[name] == ("50.0 %", False)
    assert _figures(*both)["|error| <= U, all"] == ("-", None)
    assert _figures(_outcome("good", None))["failures (exceptions)"] == ("1", False)
