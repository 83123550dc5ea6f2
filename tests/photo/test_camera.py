"""Which lens is used for a photo: the calibrated one where it holds, else what the card tells."""

from datetime import UTC, datetime
from typing import Any

import numpy as np
import pytest

from recorder.model.camera import Camera
from recorder.photo.card.layout import CARD_SIZES
from recorder.photo.geometry.lens import Lens, of_camera
from recorder.photo.geometry.optics import Optics, optics_of, plane_of_card, relative_lens_u
from recorder.photo.geometry.plane import apply
from recorder.photo.image.conditions import Conditions
from recorder.photo.image.picture import Picture

CAMERA = Camera(
    name="q7",
    make="Quillback",
    model="Q7",
    focal_mm=5.1,
    focal_35mm=26,
    size_px=(4000, 3000),
    focal_px=(2900.0, 2900.0),
    centre_px=(2030.0, 1460.0),
    distortion=(0.05, -0.04, 0.001, -0.001, 0.0),
    rms_px=0.1,
    held_out=0.0002,
    photos=12,
    target="chessboard",
    calibrated_at=datetime(2026, 11, 26, tzinfo=UTC),
)


def photo(width: int = 4000, height: int = 3000, **said: Any) -> Picture:
    """A picture without content, one byte large, as the camera of CAMERA writes it."""
    nothing = np.broadcast_to(np.uint8(0), (height, width, 3))
    known = {
        "make": "QUILLBACK", "model": "Q7", "focal_mm": 5.1, "focal_35mm": 26, "orientation": 1,
        "said_px": (4000, 3000),
    }  # fmt: skip
    return Picture(nothing, **{**known, **said})  # type: ignore[arg-type]


def kept(*cameras: Camera) -> Conditions:
    return Conditions(cameras=cameras or (CAMERA,))


def uses_the_calibration(optics: Optics) -> bool:
    assert (optics.radial_u is None) == (optics.held_out is not None)
    return optics.radial_u is None


def test_the_kept_camera_is_used_by_itself() -> None:
    optics = optics_of(photo(), kept())
    assert uses_the_calibration(optics)
    assert optics.lens == of_camera(CAMERA, (4000, 3000), 1)
    assert (optics.warnings, optics.turned) == ((), ())


@pytest.mark.parametrize("said", [
    {"model": "Q8"}, {"make": "", "model": ""}, {"focal_mm": 9.0},
])  # fmt: skip
def test_another_camera_or_lens_is_not_asked(said: dict[str, Any]) -> None:
    optics = optics_of(photo(**said), kept())
    assert not uses_the_calibration(optics)
    assert optics.warnings == ()


@pytest.mark.parametrize("orientation", range(1, 9))
def test_it_is_turned_as_exif_says(orientation: int) -> None:
    size = (4000, 3000) if orientation < 5 else (3000, 4000)
    optics = optics_of(photo(*size, orientation=orientation), kept())
    assert optics.lens == of_camera(CAMERA, size, orientation)
    assert optics.turned == ()


@pytest.mark.parametrize(("size", "orientation", "turns"), [
    ((4000, 3000), None, (1, 3)),
    ((3000, 4000), None, (6, 8)),
    ((3000, 4000), 1, (6, 8)),  # turned by a program, which says that it was not turned
])  # fmt: skip
def test_every_turn_is_tried_where_the_file_does_not_tell(
    size: tuple[int, int], orientation: int | None, turns: tuple[int, int]
) -> None:
    optics = optics_of(photo(*size, orientation=orientation), kept())
    assert (optics.lens, *optics.turned) == tuple(of_camera(CAMERA, size, t) for t in turns)


def test_a_still_from_a_video_tells_nothing_of_its_lens_and_that_counts() -> None:
    """It has no EXIF: a usual phone is taken, with four times the uncertainty."""
    told, silent = (
        optics_of(photo(make="", model="", focal_mm=None, focal_35mm=focal), Conditions())
        for focal in (27, None)
    )
    assert silent.lens.focal_px == told.lens.focal_px
    assert silent.focal_u == pytest.approx(4 * told.focal_u)
    assert silent.radial_u is not None


@pytest.mark.parametrize("said_px", [(4000, 3000), (1600, 1200), None])
def test_a_smaller_copy_has_the_lens_made_smaller(said_px: tuple[int, int] | None) -> None:
    optics = optics_of(photo(1600, 1200, said_px=said_px), kept())
    assert uses_the_calibration(optics)
    assert optics.lens.focal_px == pytest.approx((1160, 1160))
    assert optics.lens.centre_px == pytest.approx((2030.5 * 0.4 - 0.5, 1460.5 * 0.4 - 0.5))


@pytest.mark.parametrize(("changed", "reason"), [
    ({"zoom": 2.0}, "digital zoom"),
    ({"focal_35mm": 52}, "35 mm film"),
    ({"width": 3000, "height": 3000}, "cropped"),
    ({"width": 4000, "height": 2250}, "cropped"),
    ({"width": 4000, "height": 2250, "said_px": (4000, 2250)}, "4000 x 2250"),
    ({"width": 4000, "height": 2250, "said_px": None}, "same format"),
])  # fmt: skip
@pytest.mark.parametrize("named", [True, False])
def test_a_part_of_the_picture_is_not_measured_with_the_whole_lens(
    changed: dict[str, Any], reason: str, named: bool
) -> None:
    conditions = Conditions(camera=CAMERA) if named else kept()
    optics = optics_of(photo(**changed), conditions)
    assert not uses_the_calibration(optics)
    assert "q7 was not used: " in optics.warnings[0]
    assert reason in optics.warnings[0]


@pytest.mark.parametrize(("changed", "reason"), [
    ({"model": "Q8"}, "QUILLBACK Q8 took the photo"),
    ({"focal_mm": 9.0}, "focal length is 5.1 mm and that of the photo 9 mm"),
])  # fmt: skip
def test_a_named_camera_that_did_not_take_the_photo_is_told(
    changed: dict[str, Any], reason: str
) -> None:
    optics = optics_of(photo(**changed), Conditions(camera=CAMERA))
    assert not uses_the_calibration(optics)
    assert reason in optics.warnings[0]


def test_a_named_camera_serves_a_photo_that_says_nothing() -> None:
    silent = photo(make="", model="", focal_mm=None, focal_35mm=None, said_px=None)
    assert uses_the_calibration(optics_of(silent, Conditions(camera=CAMERA)))


def test_of_several_sizes_the_nearest_that_holds_is_used() -> None:
    small = CAMERA.model_copy(update={"name": "small", "size_px": (2000, 1500)})
    wide = CAMERA.model_copy(update={"name": "wide", "size_px": (4000, 2250)})
    assert "calibrated as q7" in optics_of(photo(), kept(small, wide, CAMERA)).lens.said
    assert "calibrated as small" in optics_of(photo(1600, 1200), kept(CAMERA, small)).lens.said
    full = photo(4000, 2250, said_px=(4000, 2250))
    assert "calibrated as wide" in optics_of(full, kept(CAMERA, wide)).lens.said


def test_a_cropped_photo_says_so_and_counts_for_more() -> None:
    cropped = optics_of(photo(3000, 3000), Conditions())
    whole = optics_of(photo(), Conditions())
    assert "cropped from 4000 x 3000 to 3000 x 3000" in cropped.warnings[0]
    assert cropped.focal_px == whole.focal_px, "it was not made smaller"
    assert relative_lens_u(cropped, 1.0, 3000) > relative_lens_u(whole, 1.0, 3000)
    assert cropped.focal_u > whole.focal_u


CARD = CARD_SIZES["M"]
CORNERS = np.concatenate([CARD.corners_mm(marker) for marker in CARD.markers])
SQUARE_ON = np.array([[20.0, 0.4, 700.0], [-0.3, 20.0, 100.0], [1e-4, -2e-4, 1.0]])


def seen_by(lens: Lens, noise_px: float = 0.03, bent_mm: float = 0.0) -> np.ndarray:
    """The card's corners in a photo by a lens; with a card that is bent up along its length."""
    rng = np.random.default_rng(3)
    middle = np.array(CARD.splice_centre_mm)
    way = (CORNERS - middle)[:, 1] / 80
    nearer = 1 + bent_mm * way[:, None] ** 2 / 145
    straight = apply(SQUARE_ON, (CORNERS - middle) * nearer + middle)
    return lens.bent(straight) + rng.normal(0, noise_px, straight.shape)


def test_the_calibrated_lens_stays_where_it_fits() -> None:
    optics = optics_of(photo(), kept())
    plane, used = plane_of_card(CORNERS, seen_by(optics.lens), 0.03, optics)
    assert uses_the_calibration(used)
    assert used.warnings == ()
    assert plane.residual_px < 0.04
    assert relative_lens_u(used, plane.residual_px, 4000) < 0.0003


def test_the_turn_that_fits_is_found() -> None:
    """The principal point lies off the middle, so that a photo upside down shows it."""
    optics = optics_of(photo(orientation=None), kept())
    plane, used = plane_of_card(CORNERS, seen_by(of_camera(CAMERA, (4000, 3000), 3)), 0.03, optics)
    assert used.lens == of_camera(CAMERA, (4000, 3000), 3)
    assert plane.residual_px < 0.05


@pytest.mark.parametrize("k1", [-0.02, 0.15])
def test_a_calibration_that_does_not_fit_the_card_is_left_aside(k1: float) -> None:
    optics = optics_of(photo(), kept())
    other = Lens((2900.0, 2900.0), (1999.5, 1499.5), (k1, 0.0, 0.0, 0.0, 0.0))
    plane, used = plane_of_card(CORNERS, seen_by(other), 0.03, optics)
    assert not uses_the_calibration(used)
    assert plane.residual_px < 0.1
    assert "calibrated as q7 does not fit this photo" in used.warnings[0]
    ends = np.array([(62.0, 47.0), (62.0, 117.0)])
    one, other_end = plane.to_mm(other.bent(apply(SQUARE_ON, ends)))
    error = np.linalg.norm(other_end - one) / 70 - 1
    assert abs(error) < 2 * relative_lens_u(used, plane.residual_px, 4000)


@pytest.mark.parametrize("distortion", [
    (3.0, 0.0, 0.0, 0.0, 0.0), (-3.0, 0.0, 0.0, 0.0, 0.0), (0.0, 0.0, 0.0, 0.0, 500.0),
    (1e6, 1e6, 0.0, 0.0, 0.0),
])  # fmt: skip
def test_a_calibration_without_sense_is_left_aside(distortion: tuple[float, ...]) -> None:
    named = CAMERA.model_copy(update={"distortion": distortion})
    optics = optics_of(photo(), Conditions(camera=named))
    plane, used = plane_of_card(CORNERS, seen_by(of_camera(CAMERA, (4000, 3000), 1)), 0.03, optics)
    assert not uses_the_calibration(used)
    assert plane.residual_px < 0.5
    assert "does not fit this photo" in used.warnings[0]


def test_a_crop_of_the_same_shape_is_found_out_by_the_card() -> None:
    """A program cut the middle out and left no trace: it looks like a smaller copy."""
    optics = optics_of(photo(2000, 1500, said_px=None), kept())
    assert uses_the_calibration(optics)
    whole = of_camera(CAMERA, (4000, 3000), 1)
    x, y = whole.centre_px
    cut = Lens(whole.focal_px, (x - 1000, y - 750), whole.distortion)
    inside = np.diag([0.5, 0.5, 1.0]) @ SQUARE_ON
    middle = np.array(CARD.splice_centre_mm)
    px = cut.bent(apply(inside, (CORNERS - middle) * 0.9 + middle))
    _, used = plane_of_card((CORNERS - middle) * 0.9 + middle, px, 0.03, optics)
    assert not uses_the_calibration(used)
    assert "does not fit this photo" in used.warnings[0]


def test_a_bent_card_is_no_reason_to_doubt_the_lens() -> None:
    optics = optics_of(photo(), kept())
    plane, used = plane_of_card(CORNERS, seen_by(optics.lens, bent_mm=1.0), 0.03, optics)
    assert plane.residual_px > 0.3
    assert uses_the_calibration(used)
    assert used.warnings == ()
