"""Boards of any size are recognised by themselves, and their corners placed where they are."""

import cv2
import numpy as np
import pytest

from recorder.photo.calibration.boards import Charuco, Chessboard, find_board, luma, which_board
from recorder.photo.geometry.lens import Lens
from recorder.photo.geometry.plane import apply
from tests.photo.target_shots import BENCH, LENS, Art, View, charuco, chessboard, homography, shot

VIEW = View((14, -18), 8, 1.25)
SMALLER = (800, 600)
WEAK = Lens((640.0, 640.0), (404.0, 290.0), LENS.distortion)


def true_corners(art: Art, places: np.ndarray, square_mm: float, rim_mm: float) -> np.ndarray:
    """Where the picture must have the corners at these places of the board."""
    straight = apply(homography(art, VIEW, WEAK, SMALLER), places * square_mm + rim_mm)
    return WEAK.bent(straight)


@pytest.mark.parametrize("inner", [(9, 6), (5, 4)])
def test_a_chessboard_is_recognised_and_placed(inner: tuple[int, int]) -> None:
    art = chessboard(*inner)
    grey = shot(art, VIEW, WEAK, SMALLER)
    board = which_board([grey])
    assert board == Chessboard(inner)
    found = find_board(grey, board)
    assert found is not None
    places, px = found
    assert len(places) == inner[0] * inner[1]
    # Which corner is called the first is free, for a board with a turn onto itself.
    expected = true_corners(art, places, 12.0, 24.0)
    off = np.linalg.norm(px[:, None] - expected[None], axis=2)
    assert off.min(axis=1).max() < 0.08
    assert sorted(off.argmin(axis=1)) == list(range(len(places)))


@pytest.mark.parametrize(("squares", "family", "legacy"), [
    ((7, 5), cv2.aruco.DICT_5X5_100, False),
    ((6, 8), cv2.aruco.DICT_4X4_50, True),
])  # fmt: skip
def test_a_charuco_board_is_recognised_and_placed(
    squares: tuple[int, int], family: int, legacy: bool
) -> None:
    art = charuco(*squares, family, legacy)
    grey = shot(art, VIEW, WEAK, SMALLER)
    board = which_board([grey])
    assert isinstance(board, Charuco)
    assert (board.squares, board.legacy) == (squares, legacy)
    assert board.marker == pytest.approx(0.7, abs=0.03)
    found = find_board(grey, board)
    assert found is not None
    places, px = found
    assert len(places) > 0.7 * (squares[0] - 1) * (squares[1] - 1)
    expected = true_corners(art, places, 12.0, 6.0)
    assert np.sqrt(np.mean((px - expected) ** 2)) < 0.08


def test_a_part_of_a_charuco_board_is_enough_and_of_a_chessboard_is_not() -> None:
    board = charuco(7, 5, cv2.aruco.DICT_5X5_100)
    cut = shot(board, View((14, -18), 8, 1.25, (0.9, 0.5)), WEAK, SMALLER)
    found = find_board(cut, Charuco(cv2.aruco.DICT_5X5_100, (7, 5), False, 0.7))
    assert found is not None
    assert 6 <= len(found[0]) < 24
    cut = shot(chessboard(9, 6), View((14, -18), 8, 1.25, (0.9, 0.5)), WEAK, SMALLER)
    assert find_board(cut, Chessboard((9, 6))) is None


def test_no_board_is_seen_where_there_is_none() -> None:
    rng = np.random.default_rng(1)
    noise = cv2.GaussianBlur(rng.integers(0, 255, (300, 400)).astype(np.uint8), (0, 0), 3)
    assert which_board([noise, np.full((300, 400), int(255 * BENCH), np.uint8)]) is None
    assert which_board([]) is None


def test_luma_is_grey_for_grey() -> None:
    assert luma(np.full((2, 3, 3), 77, np.uint8)).tolist() == [[77] * 3] * 2
