"""scikit-image as a second opinion on where an edge lies, in drawn pictures and in real photos.

skimage.measure.find_contours (https://scikit-image.org, marching squares) follows the level midway
between dark and light through the pixels; our edge model is fitted to all of them. Both mean
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

from recorder.photo.edges.response import Response, fit_steps
from recorder.photo.edges.strips import Frames, read
from recorder.photo.image.light import code, linear

SAMPLES = Path("/usr/share/doc/opencv-doc/examples/data")
PHOTOS = [f"left{n:02d}.jpg" for n in (1, 2, 3, 4, 5, 6, 7, 8, 9, 11, 12, 13, 14)]
COLUMNS, ROWS = 9, 6
OFFSET_PX = 0.317

# pixels: what the two may differ in real photos at the middle of an edge (93 edges a photo)
MEDIAN_PX, MOST_PX, LARGEST_PX = 0.03, 0.06, 0.12
# and each from the truth in drawn pictures; the contour meets fewer pixels, so that noise moves it
OURS_PX, THEIRS_PX = 0.01, 0.02


@dataclass(frozen=True)
class Stretch:
    """A straight edge in a picture from ``begin`` to ``end`` (x, y), in pixels.

    Looked at is its middle part, ``half`` to both sides; beyond ``far`` lies its blur.
    """

    begin: np.ndarray
    end: np.ndarray
    half: float
    far: float

    @property
    def middle(self) -> np.ndarray:
        return (self.begin + self.end) / 2

    @property
    def half_length(self) -> float:
        return 0.3 * float(np.linalg.norm(self.end - self.begin))

    @property
    def axes(self) -> np.ndarray:
        """(2, 2) unit vectors along and across."""
        along = (self.end - self.begin) / np.linalg.norm(self.end - self.begin)
        return np.array([along, (along[1], -along[0])])

    def seen_from(self, x: np.ndarray, y: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Ways along and across from the middle, of points."""
        dx, dy = x - self.middle[0], y - self.middle[1]
        (ax, ay), (bx, by) = self.axes
        return dx * ax + dy * ay, dx * bx + dy * by

    def box(self, light: np.ndarray) -> tuple[np.ndarray, int, int]:
        """The part of the picture around it, with its left and top."""
        points = np.array([self.begin, self.end])
        left, top = np.maximum(np.floor(points.min(0) - self.half - 2).astype(int), 0)
        right, bottom = np.ceil(points.max(0) + self.half + 3).astype(int)
        return light[top:bottom, left:right], left, top


def ours(coded: np.ndarray, edges: list[Stretch]) -> np.ndarray:
    """How far across each edge lies at its middle, by our fit to the raw codes."""
    frames = Frames(
        np.array([edge.middle for edge in edges]),
        *np.array([edge.axes for edge in edges]).transpose(1, 0, 2),
        np.array([edge.half_length for edge in edges]),
        np.array([edge.half for edge in edges]),
    )
    rough_px, open_to = np.ones(len(edges)), 1.0
    return fit_steps(read(coded, frames), Response(), rough_px, open_to).values[:, 0]


def theirs(coded: np.ndarray, edges: list[Stretch]) -> np.ndarray:
    """The same by scikit-image: a line through the contour midway between the two sides."""
    light = linear(coded).astype(float)
    return np.array([on_contour(light, edge) for edge in edges])


def on_contour(light: np.ndarray, edge: Stretch) -> float:
    box, left, top = edge.box(light)
    rows, columns = np.mgrid[: box.shape[0], : box.shape[1]]
    along, across = edge.seen_from(columns + left, rows + top)
    near = (np.abs(along) < edge.half_length) & (np.abs(across) < edge.half)
    before = np.median(box[near & (across < -edge.far)])
    after = np.median(box[near & (across > edge.far)])
    contours = np.concatenate(find_contours(box, (before + after) / 2))
    along, across = edge.seen_from(contours[:, 1] + left, contours[:, 0] + top)
    on_it = (np.abs(along) < edge.half_length) & (np.abs(across) < edge.far)
    return float(np.polyfit(along[on_it], across[on_it], 1)[1])


def drawn(angle_deg: float, sigma: float) -> tuple[np.ndarray, list[Stretch]]:
    """sRGB codes of a blurred edge in 64 x 64 pixels, each the mean light of 8 x 8 places in it,
    with noise; and a stretch beside which the edge lies by OFFSET_PX.
    """
    turn = np.radians(angle_deg)
    along = np.array([-np.sin(turn), np.cos(turn)])
    middle = np.array([31.5, 31.5])
    edge = Stretch(middle + 32 * along, middle - 32 * along, half=9.0, far=6.0)
    fine = (np.arange(64 * 8) + 0.5) / 8 - 0.5
    _, across = edge.seen_from(fine[None, :], fine[:, None])
    light = 0.35 + 0.25 * erf((across - OFFSET_PX) / sigma / np.sqrt(2))
    coded = 255 * code(light.reshape(64, 8, 64, 8).mean(axis=(1, 3)))[0]
    coded += np.random.default_rng(3).normal(0, 0.5, coded.shape)
    return np.clip(coded, 0, 255).round().astype(np.uint8), [edge]


@pytest.mark.parametrize("angle_deg", [2, 7, 23, 41, 95])
@pytest.mark.parametrize("sigma", [0.7, 1.2, 2.0])
def test_slanted_edges(angle_deg: float, sigma: float) -> None:
    coded, edge = drawn(angle_deg, sigma)
    assert ours(coded, edge) == pytest.approx(OFFSET_PX, abs=OURS_PX)
    assert theirs(coded, edge) == pytest.approx(OFFSET_PX, abs=THEIRS_PX)


@pytest.mark.parametrize("sigma", [0.7, 1.2, 2.0])
def test_edges_along_the_rows(sigma: float) -> None:
    """Interpolating between two rows is then off by the same amount all along; the fit is not."""
    coded, edge = drawn(90.0, sigma)
    assert ours(coded, edge) == pytest.approx(OFFSET_PX, abs=OURS_PX)
    assert theirs(coded, edge) == pytest.approx(OFFSET_PX, abs=0.03)


def sides(name: str) -> tuple[np.ndarray, list[Stretch]]:
    """A photo, and the sides of its squares between inner corners."""
    grey = cv2.imread(str(SAMPLES / name), cv2.IMREAD_GRAYSCALE)
    ok, rough = cv2.findChessboardCorners(grey, (COLUMNS, ROWS))
    assert ok, name
    stop = (cv2.TERM_CRITERIA_COUNT | cv2.TERM_CRITERIA_EPS, 50, 1e-4)
    board = cv2.cornerSubPix(grey, rough, (4, 4), (-1, -1), stop).reshape(ROWS, COLUMNS, 2)
    pairs = [(board[r, c], board[r, c + 1]) for r in range(ROWS) for c in range(COLUMNS - 1)]
    pairs += [(board[r, c], board[r + 1, c]) for r in range(ROWS - 1) for c in range(COLUMNS)]
    lengths = [float(np.linalg.norm(end - begin)) for begin, end in pairs]
    return grey, [
        Stretch(begin.astype(float), end.astype(float), half=0.25 * length, far=0.15 * length)
        for (begin, end), length in zip(pairs, lengths, strict=True)
    ]


@pytest.mark.parametrize("name", PHOTOS)
def test_edges_of_real_squares(name: str) -> None:
    grey, edges = sides(name)
    differences = np.abs(ours(grey, edges) - theirs(grey, edges))
    median, most = np.percentile(differences, [50, 95])
    print(
        f"\n{name}: {len(edges)} edges, ours and scikit-image's differ by {median:.3f} px "
        f"(median), {most:.3f} px (95 %), {differences.max():.3f} px (largest)"
    )
    assert len(edges) == 93
    assert median < MEDIAN_PX
    assert most < MOST_PX
    assert differences.max() < LARGEST_PX
