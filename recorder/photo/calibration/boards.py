"""Chessboards and ChArUco boards in photos: the wrapper around OpenCV's detectors of them.

Any size is recognised by itself. What the detectors say is good to about a pixel; the corners are
then placed in linear light and in small windows, since large ones reach the next square.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from recorder.photo.image.light import linear

Array = NDArray[np.float64]
Grey = NDArray[np.uint8]

_SEARCH_PX = 1600  # longer side of the picture in which a board is searched
_SMALLEST = (3, 3)  # inner corners
# Of each kind one dictionary; the smaller ones are its beginning, and no board needs the larger.
_FAMILIES = (
    cv2.aruco.DICT_4X4_250, cv2.aruco.DICT_5X5_250, cv2.aruco.DICT_6X6_250,
    cv2.aruco.DICT_7X7_250, cv2.aruco.DICT_ARUCO_ORIGINAL, cv2.aruco.DICT_ARUCO_MIP_36h12,
    cv2.aruco.DICT_APRILTAG_16h5, cv2.aruco.DICT_APRILTAG_25h9, cv2.aruco.DICT_APRILTAG_36h11,
)  # fmt: skip
_MARKED_TRIES, _PLAIN_TRIES = 2, 6  # pictures that are asked which board it is
_MOST_COLUMNS = 30
_LEAST_MARKERS = 6
_ROOM = 0.25  # in squares, around a corner
_REACH = 0.01  # of the picture's longer side: wider than its blur, as far as there is room
_OFF_SQUARES = 0.2  # of a marker from its place: a bent lens gives less, a wrong board far more


@dataclass(frozen=True)
class Chessboard:
    """inner: corners between squares, the longer side first."""

    inner: tuple[int, int]

    @property
    def shown(self) -> str:
        return f"chessboard of {self.inner[0]} x {self.inner[1]} inner corners"


@dataclass(frozen=True)
class Charuco:
    """family: OpenCV's number of the dictionary. squares: columns and rows. legacy: the upper left
    square holds a marker. marker: side of a marker over that of a square.
    """

    family: int
    squares: tuple[int, int]
    legacy: bool
    marker: float

    @property
    def shown(self) -> str:
        return f"ChArUco board of {self.squares[0]} x {self.squares[1]} squares"


Board = Chessboard | Charuco


def luma(bgr: NDArray[np.uint8]) -> Grey:
    """(h, w) of a blue-green-red picture, coded as it is."""
    return np.asarray(cv2.cvtColor(bgr, cv2.COLOR_BGR2GRAY), np.uint8)


def small(grey: Grey) -> Grey:
    """The picture in which a board is searched."""
    shrink = max(grey.shape) / _SEARCH_PX
    if shrink <= 1:
        return grey
    size = (round(grey.shape[1] / shrink), round(grey.shape[0] / shrink))
    return np.asarray(cv2.resize(grey, size, interpolation=cv2.INTER_AREA), np.uint8)


def which_board(pictures: Sequence[Grey]) -> Board | None:
    """The board that some small pictures show; None when they show none."""
    return _which_charuco(_some(pictures, _MARKED_TRIES), pictures) or _which_chessboard(
        _some(pictures, _PLAIN_TRIES)
    )


def _some(pictures: Sequence[Grey], most: int) -> Sequence[Grey]:
    """As many pictures as asked for, from all over the list."""
    return pictures[:: max(1, len(pictures) // most)][:most]


def find_board(grey: Grey, board: Board) -> tuple[Array, Array] | None:
    """Inner corners of the board in a picture: (n, 2) places in squares, and (n, 2) pixels.

    None where it is not found; a chessboard must show as a whole.
    """
    reduced = small(grey)
    across = np.array([grey.shape[1] / reduced.shape[1], grey.shape[0] / reduced.shape[0]])
    if isinstance(board, Charuco):
        found, room = _charuco(reduced, board), 0.9 * (1 - board.marker) / 2
    else:
        found, room = _chessboard(reduced, board), _ROOM
    if found is None:
        return None
    places, rough = found
    return _placed(grey, places, (rough + 0.5) * across - 0.5, min(room, _ROOM))


def _which_chessboard(pictures: Sequence[Grey]) -> Chessboard | None:
    """Parts of a board are found as well, so the sizes are tried, and the best one counts."""
    flags = cv2.CALIB_CB_LARGER | cv2.CALIB_CB_NORMALIZE_IMAGE
    votes: Counter[tuple[int, int]] = Counter()
    for grey in pictures:
        found, _, squares = cv2.findChessboardCornersSBWithMeta(grey, _SMALLEST, flags)
        if found:
            rows, columns = sorted(squares.shape[:2])
            votes[columns, rows] += 1
    scores = {
        inner: inner[0] * inner[1] * sum(_quickly(grey, inner) is not None for grey in pictures)
        for inner, _ in votes.most_common(3)
    }
    best = max(scores, key=lambda inner: scores[inner], default=None)
    return Chessboard(best) if best and scores[best] else None


def _quickly(grey: Grey, inner: tuple[int, int]) -> Array | None:
    """Rough corners, row after row, of a chessboard of a known size."""
    found, corners = cv2.findChessboardCorners(grey, inner)
    return np.reshape(corners, (-1, 2)).astype(float) if found else None


def _thoroughly(grey: Grey, inner: tuple[int, int]) -> Array | None:
    found, corners = cv2.findChessboardCornersSB(grey, inner, flags=cv2.CALIB_CB_NORMALIZE_IMAGE)
    return np.reshape(corners, (-1, 2)).astype(float) if found else None


def _chessboard(grey: Grey, board: Chessboard) -> tuple[Array, Array] | None:
    corners = _quickly(grey, board.inner)
    if corners is None:
        corners = _thoroughly(grey, board.inner)
    if corners is None:
        return None
    columns, rows = board.inner
    places = np.array([(column, row) for row in range(rows) for column in range(columns)], float)
    return places, corners


def _which_charuco(some: Sequence[Grey], pictures: Sequence[Grey]) -> Charuco | None:
    """Recognised in one of some pictures; how far its numbers go is seen in all."""
    for grey in some:
        best: tuple[int, dict[int, Array]] = (0, {})
        for family in _FAMILIES:
            markers = _markers(grey, family)
            if len(markers) > len(best[1]):
                best = (family, markers)
        family, markers = best
        layout = _layout(markers) if len(markers) >= _LEAST_MARKERS else None
        if layout is None:
            continue
        columns, legacy, side = layout
        last = max(max(_markers(other, family), default=0) for other in pictures)
        rows = int(_places(np.array([last]), columns, legacy)[0, 1]) + 1
        return Charuco(family, (columns, rows + (legacy and rows % 2)), legacy, side)
    return None


def _markers(grey: Grey, family: int) -> dict[int, Array]:
    """Corners (4, 2) of markers by their number."""
    dictionary = cv2.aruco.getPredefinedDictionary(family)
    corners, numbers, _ = cv2.aruco.ArucoDetector(dictionary).detectMarkers(grey)
    found = [] if numbers is None else np.ravel(numbers)
    return {int(n): np.reshape(c, (4, 2)) for n, c in zip(found, corners, strict=True)}


def _layout(markers: dict[int, Array]) -> tuple[int, bool, float] | None:
    """Columns, whether the upper left square holds a marker, and side of a marker in squares.

    The numbers run row by row through every second square, so that only the right count of columns
    brings the markers onto one plane.
    """
    numbers = np.array(list(markers))
    corners = np.array(list(markers.values()), float)
    centres = corners.mean(axis=1)
    best: tuple[float, int, bool, float] | None = None
    for columns in range(3, _MOST_COLUMNS + 1):
        for legacy in (False, True):
            places = _places(numbers, columns, legacy) + 0.5
            if np.linalg.matrix_rank(places - places.mean(axis=0)) < 2:
                continue
            back, _ = cv2.findHomography(centres, places)
            if back is None:
                continue
            matrix = np.asarray(back, float)
            off = _through(matrix, centres) - places
            rms = float(np.sqrt((off**2).sum(axis=1).mean()))
            sides = _through(matrix, corners.reshape(-1, 2)).reshape(-1, 4, 2)
            side = float(np.median(np.linalg.norm(sides - np.roll(sides, 1, axis=1), axis=2)))
            if best is None or rms < best[0]:
                best = (rms, columns, legacy, side)
    if best is None or best[0] > _OFF_SQUARES or not 0.2 < best[3] < 1:
        return None
    return best[1:]


def _places(numbers: NDArray[np.int_], columns: int, legacy: bool) -> Array:
    """(n, 2) column and row of the squares that hold the markers of these numbers."""
    rows = 2 * int(numbers.max()) // max(columns - 1, 1) + 2
    row, column = np.mgrid[0:rows, 0:columns]
    holds = (row + column) % 2 == (0 if legacy else 1)
    return np.column_stack([column[holds], row[holds]])[numbers].astype(float)


def _through(matrix: Array, points: Array) -> Array:
    moved = cv2.perspectiveTransform(points.reshape(-1, 1, 2), matrix)
    return np.asarray(moved, float).reshape(-1, 2)


def _charuco(grey: Grey, board: Charuco) -> tuple[Array, Array] | None:
    dictionary = cv2.aruco.getPredefinedDictionary(board.family)
    layout = cv2.aruco.CharucoBoard(board.squares, 1.0, board.marker, dictionary)
    layout.setLegacyPattern(board.legacy)
    corners, numbers, _, _ = cv2.aruco.CharucoDetector(layout).detectBoard(grey)
    if numbers is None or len(numbers) < _LEAST_MARKERS:
        return None
    places = np.array(layout.getChessboardCorners())[np.ravel(numbers), :2].astype(float)
    return places, np.reshape(corners, (-1, 2)).astype(float)


def _placed(grey: Grey, places: Array, rough: Array, room: float) -> tuple[Array, Array] | None:
    """The corners to a few hundredths of a pixel; those that move far from the rough ones go.

    room: in squares, from a corner to what does not belong to it.
    """
    apart = np.linalg.norm(rough[:, None] - rough[None], axis=2)
    squares = np.linalg.norm(places[:, None] - places[None], axis=2)
    beside = np.where(np.abs(squares - 1) < 0.01, apart, np.inf).min()
    if not np.isfinite(beside):
        return None
    reach = int(np.clip(room * beside, 2, max(12, _REACH * max(grey.shape))))
    stop = (cv2.TERM_CRITERIA_COUNT | cv2.TERM_CRITERIA_EPS, 60, 1e-4)
    start = rough.astype(np.float32).reshape(-1, 1, 2)
    found = cv2.cornerSubPix(linear(grey), start, (reach, reach), (-1, -1), stop)
    corners = np.reshape(found, (-1, 2)).astype(float)
    good = np.linalg.norm(corners - rough, axis=1) < max(2.0, 0.1 * beside)
    return (places[good], corners[good]) if good.sum() >= _LEAST_MARKERS else None
