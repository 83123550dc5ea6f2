"""scikit-image as a second opinion on where an edge lies, in drawn pictures and in real photos.

skimage.measure.find_contours (https://scikit-image.org, marching squares) follows the level midway
between dark and light through the pixels; our edge model is fitted to all of them. Both look at
linear light. The photos are left01.jpg .. left14.jpg of Debian's package opencv-doc: a chessboard
of 9 x 6 inner corners, JPEG, 640 x 480 pixels; looked at is every side of a square between two
inner corners. The drawn pictures come from scipy.special.erf, averaged over each pixel's area.
"""

from dataclasses import dataclass
from pathlib import Path

import cv2
import numpy as np
import pytest
from scipy.special import erf
from skimage.measure import find_contours

from recorder.photo.light import linear
from recorder.photo.profiles import fit, step_model

SAMPLES = Path("/usr/share/doc/opencv-doc/examples/data")
PHOTOS = [f"left{n:02d}.jpg" for n in (1, 2, 3, 4, 5, 6, 7, 8, 9, 11, 12, 13, 14)]
COLUMNS, ROWS = 9, 6

# pixels: what the two may differ in real photos at the middle of an edge (93 edges a photo)
MEDIAN_PX, MOST_PX, LARGEST_PX = 0.025, 0.07, 0.20
DRAWN_PX = 0.01  # and each from the truth in drawn pictures


@dataclass(frozen=True)
class Stretch:
    """A straight edge in a picture from ``begin`` to ``end`` (x, y), in pixels.

    Across: at most ``half`` to both sides; light beyond ``far`` is past the blur.
    """

    begin: np.ndarray
    end: np.ndarray
    half: float
    far: float

    @property
    def length(self) -> float:
        return float(np.linalg.norm(self.end - self.begin))

    def seen_from(self, x: np.ndarray, y: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Ways along and across from the middle, of points."""
        along = (self.end - self.begin) / self.length
        dx, dy = x - (self.begin + self.end)[0] / 2, y - (self.begin + self.end)[1] / 2
        return dx * along[0] + dy * along[1], dx * along[1] - dy * along[0]

    def box(self, light: np.ndarray) -> tuple[np.ndarray, int, int]:
        """The part of the picture around it, with its left and top."""
        points = np.array([self.begin, self.end])
        left, top = np.floor(points.min(0) - self.half - 2).astype(int)
        right, bottom = np.ceil(points.max(0) + self.half + 3).astype(int)
        return light[top:bottom, left:right], left, top


def places(light: np.ndarray, edge: Stretch) -> tuple[float, float]:
    """How far across the edge lies at its middle: by our fit, and by scikit-image."""
    box, left, top = edge.box(light)
    rows, columns = np.mgrid[: box.shape[0], : box.shape[1]]
    along, across = edge.seen_from(columns.ravel() + left, rows.ravel() + top)
    near = (np.abs(along) < 0.3 * edge.length) & (np.abs(across) < edge.half)
    values = box.ravel()
    before = float(np.median(values[near & (across < -edge.far)]))
    after = float(np.median(values[near & (across > edge.far)]))
    start = np.array([0.0, 0.0, 0.0, before, after])
    ours = fit(step_model(along[near], across[near]), values[near], start).values[0]

    contours = np.concatenate(find_contours(box, (before + after) / 2))
    along, across = edge.seen_from(contours[:, 1] + left, contours[:, 0] + top)
    on_it = (np.abs(along) < 0.3 * edge.length) & (np.abs(across) < edge.far)
    theirs = np.polyfit(along[on_it], across[on_it], 1)[1]
    return float(ours), float(theirs)


def drawn(angle_deg: float, sigma: float, offset: float) -> tuple[np.ndarray, Stretch]:
    """A blurred edge in 64 x 64 pixels, each the mean of 8 x 8 places in it, and a stretch that
    lies ``offset`` beside it.
    """
    turn = np.radians(angle_deg)
    along = np.array([-np.sin(turn), np.cos(turn)])
    middle = np.array([31.5, 31.5])
    edge = Stretch(middle + 20 * along, middle - 20 * along, half=9.0, far=6.0)
    fine = (np.arange(64 * 8) + 0.5) / 8 - 0.5
    _, across = edge.seen_from(fine[None, :], fine[:, None])
    light = 0.35 + 0.25 * erf((across - offset) / sigma / np.sqrt(2))
    light = light.reshape(64, 8, 64, 8).mean(axis=(1, 3))
    return light + np.random.default_rng(3).normal(0, 0.004, light.shape), edge


@pytest.mark.parametrize("angle_deg", [2, 7, 23, 41, 95])
@pytest.mark.parametrize("sigma", [0.7, 1.2, 2.0])
def test_slanted_edges(angle_deg: float, sigma: float) -> None:
    light, edge = drawn(angle_deg, sigma, 0.317)
    ours, theirs = places(light, edge)
    assert ours == pytest.approx(0.317, abs=DRAWN_PX)
    assert theirs == pytest.approx(0.317, abs=DRAWN_PX)


@pytest.mark.parametrize("sigma", [0.7, 1.2, 2.0])
def test_edges_along_the_rows(sigma: float) -> None:
    """Interpolating between two rows is then off by the same amount all along; the fit is not."""
    light, edge = drawn(90.0, sigma, 0.317)
    ours, theirs = places(light, edge)
    assert ours == pytest.approx(0.317, abs=DRAWN_PX)
    assert theirs == pytest.approx(0.317, abs=3 * DRAWN_PX)


def sides(name: str) -> tuple[np.ndarray, list[Stretch]]:
    """Linear light of a photo, and the sides of its squares between inner corners."""
    grey = cv2.imread(str(SAMPLES / name), cv2.IMREAD_GRAYSCALE)
    ok, rough = cv2.findChessboardCorners(grey, (COLUMNS, ROWS))
    assert ok, name
    stop = (cv2.TERM_CRITERIA_COUNT | cv2.TERM_CRITERIA_EPS, 50, 1e-4)
    board = cv2.cornerSubPix(grey, rough, (4, 4), (-1, -1), stop).reshape(ROWS, COLUMNS, 2)
    pairs = [(board[r, c], board[r, c + 1]) for r in range(ROWS) for c in range(COLUMNS - 1)]
    pairs += [(board[r, c], board[r + 1, c]) for r in range(ROWS - 1) for c in range(COLUMNS)]
    lengths = [float(np.linalg.norm(end - begin)) for begin, end in pairs]
    return linear(grey).astype(float), [
        Stretch(begin.astype(float), end.astype(float), half=0.4 * length, far=0.22 * length)
        for (begin, end), length in zip(pairs, lengths, strict=True)
    ]


@pytest.mark.parametrize("name", PHOTOS)
def test_edges_of_real_squares(name: str) -> None:
    light, edges = sides(name)
    differences = np.abs([ours - theirs for ours, theirs in (places(light, e) for e in edges)])
    median, most = np.percentile(differences, [50, 95])
    print(
        f"\n{name}: {len(edges)} edges, ours and scikit-image's differ by {median:.3f} px "
        f"(median), {most:.3f} px (95 %), {differences.max():.3f} px (largest)"
    )
    assert len(edges) == 93
    assert median < MEDIAN_PX
    assert most < MOST_PX
    assert differences.max() < LARGEST_PX
