"""The bundle adjustment, on corners whose lens and poses are known."""

import numpy as np
import pytest

from recorder.photo.calibration.calibration import Calibrated, Sighting, calibrate
from recorder.photo.geometry.plane import apply
from recorder.photo.image.refusal import Refusal
from tests.photo.target_shots import LENS, SIZE, VIEWS, View, chessboard, homography

ART = chessboard(9, 6)
PLACES = np.array([(x, y) for y in range(6) for x in range(9)], float)
NOISE_PX = 0.05


def seen(
    views: tuple[View, ...] = VIEWS, longer_y: float = 1.0, noise_px: float = NOISE_PX
) -> list[Sighting]:
    rng = np.random.default_rng(7)
    found = []
    for i, view in enumerate(views):
        mm = PLACES * (12.0, 12.0 * longer_y) + 24
        px = LENS.bent(apply(homography(ART, view, LENS, SIZE), mm))
        inside = ((px > 2) & (px < np.array(SIZE) - 3)).all(axis=1)
        px = px + rng.normal(0, noise_px, px.shape)
        found.append(Sighting(f"photo {i}", PLACES[inside], px[inside]))
    return found


def bent_apart(found: Calibrated) -> float:
    """How far the found lens and the true one part in the picture, but for what a move of the
    camera makes good: pixels, largest.
    """
    x, y = np.meshgrid(np.linspace(20, SIZE[0] - 20, 20), np.linspace(20, SIZE[1] - 20, 15))
    places = np.column_stack([x.ravel(), y.ravel()])
    straight = found.lens.straight(places)
    true = LENS.straight(places)
    rows = np.column_stack([straight, np.ones(len(straight))])
    nearest = rows @ np.linalg.lstsq(rows, true, rcond=None)[0]
    return float(np.abs(nearest - true).max())


def test_the_lens_is_found() -> None:
    found = calibrate(seen(), SIZE)
    assert found.lens.focal_px == pytest.approx(LENS.focal_px, rel=0.002)
    assert found.lens.centre_px == pytest.approx(LENS.centre_px, abs=1.0)
    assert bent_apart(found) < 0.25
    assert found.rms_px == pytest.approx(NOISE_PX, rel=0.15)
    assert found.held_out < 0.001
    assert abs(found.lens.focal_px[0] / LENS.focal_px[0] - 1) < 3 * found.focal_u
    assert found.left_out == ()
    assert (len(found.used), found.points) == (10, sum(map(sum, found.fields)))


def test_a_print_longer_one_way_does_not_bend_the_lens() -> None:
    found = calibrate(seen(longer_y=1.004), SIZE)
    assert found.rms_px == pytest.approx(NOISE_PX, rel=0.15)
    assert found.lens.focal_px == pytest.approx(LENS.focal_px, rel=0.003)
    assert bent_apart(found) < 0.25
    assert found.held_out < 0.001


def test_noise_of_the_corners_shows_in_what_is_held_out() -> None:
    assert calibrate(seen(noise_px=0.3), SIZE).held_out > 2 * calibrate(seen(), SIZE).held_out


def test_a_photo_that_does_not_fit_is_left_out_by_name() -> None:
    sightings = seen()
    spoilt = sightings[3].px + 4 * np.sin(sightings[3].places)
    sightings[3] = Sighting("moved.jpg", sightings[3].places, spoilt)
    found = calibrate(sightings, SIZE)
    ((name, reason),) = found.left_out
    assert name == "moved.jpg"
    assert "the target was bent or the camera moved" in reason
    assert "moved.jpg" not in found.used
    assert bent_apart(found) < 0.25


SQUARE_ON = tuple(View((0, 0), r, a, aim) for r, a, aim in [
    (0, 1.2, (0.5, 0.5)), (90, 1.2, (0.5, 0.5)), (3, 1.9, (0.3, 0.3)), (-4, 1.9, (0.7, 0.3)),
    (2, 1.9, (0.3, 0.7)), (0, 1.9, (0.7, 0.7)),
])  # fmt: skip
NO_CORNER = tuple(View(view.tilt_deg, view.roll_deg, 1.9, (0.66, 0.66)) for view in VIEWS)


@pytest.mark.parametrize(("views", "reason"), [
    (VIEWS[:4], "only 4 photos show the target"),
    (SQUARE_ON, "nearly one direction"),
    (NO_CORNER, "the upper left and the upper right and the lower left of the picture"),
])  # fmt: skip
def test_photos_that_tell_too_little_are_refused(views: tuple[View, ...], reason: str) -> None:
    with pytest.raises(Refusal) as refused:
        calibrate(seen(views), SIZE)
    assert reason in refused.value.reason
    assert "; " in refused.value.reason


def test_a_target_that_is_never_flat_is_refused() -> None:
    bent = []
    for i, sighting in enumerate(seen()):
        way = (sighting.places[:, :1] - 4) / 4
        bent.append(
            Sighting(sighting.name, sighting.places, sighting.px + 9 * way**2 * (i % 3 - 1))
        )
    with pytest.raises(Refusal, match="flat"):
        calibrate(bent, SIZE)


def test_photos_of_the_targets_edge_alone_are_refused() -> None:
    """As of a ChArUco board of which two columns show: no length lies between two strips."""
    strips = [
        Sighting(s.name, s.places[s.places[:, 0] > 6], s.px[s.places[:, 0] > 6]) for s in seen()
    ]
    cut = [Sighting(s.name, s.places[:3], s.px[:3]) for s in seen()]
    for sightings in (strips, cut):
        with pytest.raises(Refusal):
            calibrate(sightings, SIZE)


def test_nonsense_is_refused() -> None:
    rng = np.random.default_rng(1)
    wild = [Sighting(s.name, s.places, rng.uniform(0, 700, s.px.shape)) for s in seen()]
    with pytest.raises(Refusal):
        calibrate(wild, SIZE)
