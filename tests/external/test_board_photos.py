"""Real photos from Debian's package opencv-doc (OpenCV's own samples and documentation).

left01..left14.jpg and right01..right14.jpg: a chessboard of 9 x 6 inner corners before the two
uncalibrated cameras of a stereo pair, whose lenses bend lines visibly; OpenCV samples/data. The
scale is taken from two outer strips of the board, as the reference card has them, and predicts
lengths in between. The one number of the budget that these photos gave was chosen on the even
left ones; it is held against the odd left ones and all right ones.
"""

from functools import partial
from pathlib import Path

import cv2
import numpy as np
import pytest

from recorder.photo.budget import LENS_PER_MISFIT, LENS_UNCALIBRATED_WIDTH, relative_lens
from recorder.photo.conditions import Conditions
from recorder.photo.fiducials import find_markers
from recorder.photo.layout import CARD_SIZES
from recorder.photo.measure import measure
from recorder.photo.plane import Plane, from_points
from recorder.photo.reference import FoundCard

SAMPLES = Path("/usr/share/doc/opencv-doc/examples/data")
MANUAL = Path("/usr/share/doc/opencv-doc/opencv4/html")
NUMBERS = (1, 2, 3, 4, 5, 6, 7, 8, 9, 11, 12, 13, 14)
CHOSEN_ON = [f"left{n:02d}.jpg" for n in NUMBERS if n % 2 == 0]
HELD_OUT = [
    *(f"left{n:02d}.jpg" for n in NUMBERS if n % 2),
    *(f"right{n:02d}.jpg" for n in NUMBERS),
]
COLUMNS, ROWS = 9, 6
SQUARES = np.array([(c, r) for r in range(ROWS) for c in range(COLUMNS)], float)
OUTER = (SQUARES[:, 0] <= 1) | (SQUARES[:, 0] >= COLUMNS - 2)
CORNER_PX = 0.1  # of a corner found by OpenCV's cornerSubPix in these small photos


def corners(name: str) -> np.ndarray:
    grey = cv2.imread(str(SAMPLES / name), cv2.IMREAD_GRAYSCALE)
    ok, rough = cv2.findChessboardCorners(grey, (COLUMNS, ROWS))
    assert ok, name
    stop = (cv2.TERM_CRITERIA_COUNT | cv2.TERM_CRITERIA_EPS, 50, 1e-4)
    return cv2.cornerSubPix(grey, rough, (4, 4), (-1, -1), stop).reshape(-1, 2).astype(float)


def card_of(plane: Plane, px: np.ndarray) -> FoundCard:
    """The budget asks a card; here the board stands for it."""
    size = float(np.linalg.norm(np.ptp(px, axis=0)))
    return FoundCard(CARD_SIZES["M"], plane, 1.0, 0.1, 8, size, (1.0, 1.0))


def inner_lengths() -> list[tuple[int, int]]:
    """Pairs of corners between the strips: along each row, and down each column."""
    along = [(2 + COLUMNS * r, COLUMNS - 3 + COLUMNS * r) for r in range(ROWS)]
    down = [(c, c + COLUMNS * (ROWS - 1)) for c in range(2, COLUMNS - 2)]
    return along + down


def length(plane: Plane, px: np.ndarray, i: int, j: int) -> float:
    one, other = plane.to_mm(px[[i, j]])
    return float(np.linalg.norm(other - one))


def true_length(i: int, j: int) -> float:
    return float(np.linalg.norm(SQUARES[j] - SQUARES[i]))


def test_where_the_number_of_the_budget_comes_from() -> None:
    """Largest error of a length over the misfit at the strips; covered with k = 2."""
    worst = []
    for name in CHOSEN_ON:
        px = corners(name)
        plane = from_points(SQUARES[OUTER], px[OUTER], CORNER_PX)
        size = float(np.linalg.norm(np.ptp(px[OUTER], axis=0)))
        errors = [abs(length(plane, px, i, j) / true_length(i, j) - 1) for i, j in inner_lengths()]
        worst.append(max(errors) / (plane.residual_px / size))
    assert 7.4 < min(worst) < max(worst) < 11.4
    assert np.ceil(max(worst) / 2) == LENS_PER_MISFIT


@pytest.mark.parametrize("name", HELD_OUT)
def test_scale_from_two_strips_holds_between_them(name: str) -> None:
    px = corners(name)
    plane = from_points(SQUARES[OUTER], px[OUTER], CORNER_PX)
    lens = relative_lens(card_of(plane, px[OUTER]))
    assert lens > LENS_UNCALIBRATED_WIDTH, "the bent lens shows at the strips"
    for i, j in inner_lengths():
        true = true_length(i, j)
        ends = CORNER_PX * np.sqrt(2) / plane.scale_px_per_mm(SQUARES[i])
        u = np.sqrt(
            plane.u_of(partial(length, px=px, i=i, j=j)) ** 2 + (lens * true) ** 2 + ends**2
        )
        error = length(plane, px, i, j) - true
        assert abs(error) <= 2 * u, f"{error:+.4f} squares, U {2 * u:.4f}"
        assert 2 * u < 0.06 * true, "and U still says something"


def test_strips_on_both_sides_beat_one_side() -> None:
    """Why the card surrounds the splice: from one side the errors grow, on every one of them."""
    worse = []
    one_side = SQUARES[:, 0] <= 2
    for name in (*CHOSEN_ON, *HELD_OUT):
        px = corners(name)
        errors = []
        for chosen in (OUTER, one_side):
            plane = from_points(SQUARES[chosen], px[chosen], CORNER_PX)
            mm = plane.to_mm(px)
            errors.append(
                max(
                    abs(np.linalg.norm(mm[j] - mm[i]) / np.linalg.norm(SQUARES[j] - SQUARES[i]) - 1)
                    for i, j in inner_lengths()
                )
            )
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
