"""Real photos from Debian's package opencv-doc (OpenCV's own samples and documentation).

left01..left14.jpg and right01..right14.jpg: a chessboard of 9 x 6 inner corners before the two
cameras of a stereo pair, whose lenses bend lines visibly; OpenCV samples/data. choriginal.jpg: a
ChArUco board of 5 x 7 squares, page 'Detection of ChArUco Boards' of the manual; beside it lies a
calibration of that camera by OpenCV's authors (aruco/tutorial_camera_params.yml).

The scale is taken from two outer strips of a board, as the reference card has them, and predicts
lengths in between: with a calibrated lens, with the lens that the strips tell, and with none. No
number of the budget was chosen on these photos: LENGTH_PER_MISFIT comes from simulated cards.
"""

import functools
from dataclasses import replace
from functools import partial
from pathlib import Path

import cv2
import numpy as np
import pytest

from recorder.photo.calibration.boards import Charuco, Chessboard, find_board, which_board
from recorder.photo.calibration.calibration import Calibrated, Sighting, calibrate
from recorder.photo.card.fiducials import find_markers
from recorder.photo.geometry.lens import Lens
from recorder.photo.geometry.optics import Optics, optics_of, plane_of_card, relative_lens_u
from recorder.photo.geometry.plane import Plane, from_points
from recorder.photo.image.conditions import Conditions
from recorder.photo.image.picture import Picture
from recorder.photo.measure import measure

SAMPLES = Path("/usr/share/doc/opencv-doc/examples/data")
ARUCO = Path("/usr/share/doc/opencv-doc/examples/aruco")
MANUAL = Path("/usr/share/doc/opencv-doc/opencv4/html")
NUMBERS = (1, 2, 3, 4, 5, 6, 7, 8, 9, 11, 12, 13, 14)
CALIBRATED_ON = [n for n in NUMBERS if n % 2 == 0]
HELD_OUT = [(side, n) for side in ("left", "right") for n in NUMBERS if n % 2]
COLUMNS, ROWS = 9, 6
SIZE = (640, 480)
CORNER_PX = 0.1  # of a corner in these small photos
BOARD = Chessboard((COLUMNS, ROWS))


def grey_of(path: Path) -> np.ndarray:
    grey = cv2.imread(str(path), cv2.IMREAD_GRAYSCALE)
    assert grey is not None, path
    return grey


@functools.cache
def corners(side: str, number: int) -> tuple[np.ndarray, np.ndarray]:
    """(n, 2) places in squares and (n, 2) pixels; of 54 corners two may not be placed."""
    found = find_board(grey_of(SAMPLES / f"{side}{number:02d}.jpg"), BOARD)
    assert found is not None
    assert len(found[0]) >= COLUMNS * ROWS - 2
    return found


def outer(places: np.ndarray) -> np.ndarray:
    """Which corners are on the two strips."""
    return (places[:, 0] <= 1) | (places[:, 0] >= COLUMNS - 2)


@functools.cache
def calibration(side: str) -> Calibrated:
    """From the even photos of one camera."""
    seen = [Sighting(str(n), *corners(side, n)) for n in CALIBRATED_ON]
    return calibrate(seen, SIZE)


def by_the_strips_alone() -> Optics:
    return optics_of(Picture(np.zeros((*SIZE[::-1], 3), np.uint8)), Conditions())


def calibrated(lens: Lens, held_out: float) -> Optics:
    alone = by_the_strips_alone()
    said = replace(lens, said="calibrated")
    return Optics(said, None, 0.01, held_out, alone=alone)


def inner_lengths(places: np.ndarray) -> list[tuple[int, int]]:
    """Pairs of corners between the strips: along each row, and down each column."""
    along = [((2, row), (COLUMNS - 3, row)) for row in range(ROWS)]
    down = [((column, 0), (column, ROWS - 1)) for column in range(2, COLUMNS - 2)]
    index = {(int(x), int(y)): i for i, (x, y) in enumerate(places)}
    pairs = [(index.get(one), index.get(other)) for one, other in along + down]
    return [(i, j) for i, j in pairs if i is not None and j is not None]


def length(plane: Plane, px: np.ndarray, i: int, j: int) -> float:
    one, other = plane.to_mm(px[[i, j]])
    return float(np.linalg.norm(other - one))


def largest(
    plane: Plane, optics: Optics, places: np.ndarray, px: np.ndarray, strips: np.ndarray,
    pairs: list[tuple[int, int]],
) -> tuple[float, float]:  # fmt: skip
    """Largest error over its own U, and mean U over the length, both of the pairs."""
    size_px = float(np.linalg.norm(np.ptp(px[strips], axis=0)))
    lens = relative_lens_u(optics, plane.residual_px, size_px)
    shares, wide = [], []
    for i, j in pairs:
        true = float(np.linalg.norm(places[j] - places[i]))
        ends = CORNER_PX * np.sqrt(2) / plane.scale_px_per_mm(places[i])
        corner_noise = plane.u_of(partial(length, px=px, i=i, j=j))
        expanded = 2 * np.sqrt(corner_noise**2 + (lens * true) ** 2 + ends**2)
        shares.append(abs(length(plane, px, i, j) - true) / expanded)
        wide.append(expanded / true)
    return max(shares), float(np.mean(wide))


def seen_by(optics: Optics, side: str, number: int) -> tuple[Plane, Optics, float, float]:
    """Plane and optics from the strips of a photo; largest error over U, and U over the length."""
    places, px = corners(side, number)
    strips = outer(places)
    plane, used = plane_of_card(places[strips], px[strips], CORNER_PX, optics)
    return plane, used, *largest(plane, used, places, px, strips, inner_lengths(places))


@pytest.mark.parametrize(("side", "number"), HELD_OUT)
def test_lengths_between_two_strips_lie_within_their_uncertainty(side: str, number: int) -> None:
    shares, wide, bends = {}, {}, {}
    alone = by_the_strips_alone()
    found = calibration(side)
    for way, optics in (
        ("none", replace(alone, radial_u=None)),
        ("strips", alone),
        ("calibrated", calibrated(found.lens, found.held_out)),
    ):
        plane, used, shares[way], wide[way] = seen_by(optics, side, number)
        assert used.warnings == ()
        bends[way] = plane.residual_px
    assert max(shares.values()) <= 1, f"errors over U: {shares}"
    assert wide["none"] < 0.045
    assert max(wide["strips"], wide["calibrated"]) < 0.01, "and U says something"
    assert max(bends["strips"], bends["calibrated"]) < 0.4 * bends["none"]


@pytest.mark.parametrize("side", ["left", "right"])
def test_the_calibration_is_that_of_opencv(side: str) -> None:
    """Its function calibrateCamera, asked on the same corners."""
    found = calibration(side)
    seen = [corners(side, n) for n in CALIBRATED_ON]
    spaces = [np.column_stack([p, np.zeros(len(p))]).astype(np.float32) for p, _ in seen]
    views = [px.astype(np.float32) for _, px in seen]
    rms, matrix, bend, _, _ = cv2.calibrateCamera(spaces, views, SIZE, None, None)
    assert found.lens.focal_px == pytest.approx((matrix[0, 0], matrix[1, 1]), rel=0.004)
    assert found.lens.centre_px == pytest.approx((matrix[0, 2], matrix[1, 2]), abs=2)
    assert found.lens.distortion[0] == pytest.approx(bend.ravel()[0], abs=0.02)
    assert found.rms_px == pytest.approx(rms / np.sqrt(2), rel=0.1)
    assert found.left_out == ()


def test_a_lens_with_another_bend_is_found_out_or_does_no_harm() -> None:
    """Made up, with a third of the bend, and given to every held-out photo."""
    found_out = 0
    for side, number in HELD_OUT:
        wrong = replace(calibration(side).lens, distortion=(-0.1, 0.0, 0.0, 0.0, 0.0))
        _, used, share, _ = seen_by(calibrated(wrong, 0.001), side, number)
        found_out += any("does not fit this photo" in warning for warning in used.warnings)
        assert share <= 1, (side, number)
    assert found_out >= 0.7 * len(HELD_OUT)


@pytest.mark.parametrize("side", ["left", "right"])
def test_the_chessboard_is_recognised_by_itself(side: str) -> None:
    some = [grey_of(SAMPLES / f"{side}{n:02d}.jpg") for n in NUMBERS[:4]]
    assert which_board(some) == BOARD


def test_the_charuco_photo() -> None:
    """One photo does not calibrate; its board tells the lens, and others have calibrated it."""
    grey = grey_of(MANUAL / "choriginal.jpg")
    board = which_board([grey])
    assert isinstance(board, Charuco)
    assert board.squares == (5, 7)
    assert board.marker == pytest.approx(0.5, abs=0.04)
    found = find_board(grey, board)
    assert found is not None
    places, px = found
    assert len(places) == 4 * 6
    strips = (places[:, 1] <= 2) | (places[:, 1] >= 5)
    inner = np.flatnonzero(~strips)
    pairs = [(i, j) for i in inner for j in inner if np.linalg.norm(places[i] - places[j]) > 1.5]
    file = cv2.FileStorage(str(ARUCO / "tutorial_camera_params.yml"), cv2.FILE_STORAGE_READ)
    (fx, _, x), (_, fy, y), _ = file.getNode("camera_matrix").mat()
    bend = file.getNode("distortion_coefficients").mat().ravel()
    theirs = Lens((fx, fy), (x, y), tuple(float(k) for k in bend))  # type: ignore[arg-type]
    alone = by_the_strips_alone()
    for optics in (replace(alone, radial_u=None), alone, calibrated(theirs, 0.001)):
        plane, used = plane_of_card(places[strips], px[strips], CORNER_PX, optics)
        share, wide = largest(plane, used, places, px, strips, pairs)
        assert share <= 1
        assert wide < 0.01


def test_strips_on_both_sides_beat_one_side() -> None:
    """Why the card surrounds the splice: from one side the errors grow, on every one of them."""
    worse = []
    for side in ("left", "right"):
        for number in NUMBERS:
            places, px = corners(side, number)
            errors = []
            for chosen in (outer(places), places[:, 0] <= 2):
                mm = from_points(places[chosen], px[chosen], CORNER_PX).to_mm(px)
                lengths = [
                    np.linalg.norm(mm[j] - mm[i]) / np.linalg.norm(places[j] - places[i])
                    for i, j in inner_lengths(places)
                ]
                errors.append(np.abs(np.array(lengths) - 1).max())
            worse.append(errors[1] / errors[0])
    assert np.median(worse) > 1.5


MARKER_FREE = [
    *(f"{side}{n:02d}.jpg" for side in ("left", "right") for n in (1, 3, 5, 7, 9, 11, 13)),
    "aero1.jpg", "aero3.jpg", "aloeL.jpg", "aloeR.jpg", "apple.jpg", "baboon.jpg", "board.jpg",
    "box_in_scene.png", "building.jpg", "butterfly.jpg", "fruits.jpg", "graf1.png", "graf3.png",
    "home.jpg", "leuvenA.jpg", "leuvenB.jpg", "licenseplate_motion.jpg", "messi5.jpg",
    "orange.jpg", "rubberwhale1.png", "smarties.png", "squirrel_cls.jpg", "stuff.jpg",
    "sudoku.png",
]  # fmt: skip


@pytest.mark.parametrize("name", MARKER_FREE)
def test_no_card_is_seen_where_there_is_none(name: str) -> None:
    found = measure(SAMPLES / name, Conditions())
    assert found.status == "refused"
    assert "no reference card" in found.reason


def test_foreign_markers_are_not_taken_for_ours() -> None:
    """OpenCV's manual, page 'Detection of ArUco Markers': a photo of markers of another family."""
    name = "singlemarkersoriginal.jpg"
    grey = cv2.imread(str(MANUAL / name), cv2.IMREAD_GRAYSCALE)
    family = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_6X6_250)
    theirs = cv2.aruco.ArucoDetector(family).detectMarkers(grey)[1]
    assert theirs is not None, "there are markers in it"
    assert find_markers(grey) == {}
    assert measure(MANUAL / name, Conditions()).status == "refused"
