"""Our markers read by the AprilTag project's own detector.

pupil-apriltags (https://pypi.org/project/pupil-apriltags, MIT) wraps the C library of E. Olson,
AprilTag: a robust and flexible visual fiducial system, IEEE ICRA 2011, in its third version (BSD),
which carries the code words of the family 36h11. We draw and search markers by OpenCV's table of
them. The library counts pixels from the corner of the picture, we from the middle of its first
pixel.
"""

import functools
import io

import cv2
import numpy as np
import pytest
from PIL import Image
from pupil_apriltags import Detection, Detector

from recorder.photo.card.card import card_png
from recorder.photo.card.fiducials import find_markers, marker_modules
from recorder.photo.card.layout import CARD_SIZES, MODULES, CardLayout
from recorder.photo.card.reference import find_card
from recorder.photo.geometry.optics import optics_of
from recorder.photo.image.conditions import Conditions
from recorder.photo.image.exposure import burnt
from recorder.photo.image.light import code
from recorder.photo.image.picture import Picture

each_card = pytest.mark.parametrize("card", CARD_SIZES.values(), ids=CARD_SIZES)

PAPER, INK = 225.0, 12.0
ART_PER_MM = 10
MARGIN = 60  # pixels of white around the art
# The library starts at the corner that OpenCV calls top right, and goes round the other way.
AS_OURS = [1, 0, 3, 2]


class Lasting(Detector):
    """Never freed: the wrapper frees the family before the detector that still uses it, which
    crashes now and then (pupil-labs/apriltags, pull request 65).
    """

    def __del__(self) -> None:
        pass


@functools.cache
def library() -> Detector:
    return Lasting(families="tag36h11", nthreads=1, quad_decimate=1.0, quad_sigma=0.0)


def corners_of(found: Detection) -> np.ndarray:
    return np.asarray(found.corners)[AS_OURS] - 0.5


@each_card
def test_code_words(card: CardLayout) -> None:
    """Every marker by itself: the library reads our number, without a bit to mend."""
    for marker in card.markers:
        black = np.pad(marker_modules(marker), 2)
        drawn = np.kron(np.where(black, 0, 255).astype(np.uint8), np.ones((12, 12), np.uint8))
        (found,) = library().detect(drawn)
        assert (found.tag_id, found.hamming) == (marker, 0)
        square = np.array([(2, 2), (MODULES + 2, 2), (MODULES + 2, MODULES + 2), (2, MODULES + 2)])
        assert np.abs(corners_of(found) + 0.5 - 12 * square).max() < 1, "and stands upright"


def seen(card: CardLayout, width: int) -> tuple[np.ndarray, np.ndarray]:
    """Light (0 to 255) of the card's art seen obliquely, with a blur of 1 px; the homography to its
    pixels from the art's. Drawn three times too fine and then averaged.
    """
    image = Image.open(io.BytesIO(card_png(card, ART_PER_MM * 25.4)))
    paper = Image.new("L", image.size, 255)
    paper.paste(image.convert("L"), mask=image.getchannel("A"))
    art = np.pad(np.asarray(paper, np.float32), MARGIN, constant_values=255)
    art = INK + (PAPER - INK) / 255 * art
    height = round(width * art.shape[0] / art.shape[1])
    right, bottom = art.shape[1] - 1, art.shape[0] - 1
    corners = np.array([(0, 0), (right, 0), (right, bottom), (0, bottom)], np.float32)
    turned = np.array([(0.02, 0.03), (0.97, 0.01), (0.93, 0.98), (0.01, 0.95)], np.float32)
    matrix = cv2.getPerspectiveTransform(corners, turned * np.array([width, height], np.float32))
    finer = np.array([[3.0, 0, 1], [0, 3, 1], [0, 0, 1]])
    fine = cv2.warpPerspective(art, finer @ matrix, (3 * width, 3 * height), borderValue=PAPER)
    fine = cv2.GaussianBlur(fine, (0, 0), 3.0)
    return cv2.resize(fine, (width, height), interpolation=cv2.INTER_AREA), matrix


def pixels(values: np.ndarray) -> np.ndarray:
    """In 8 bits, with noise."""
    noisy = values + np.random.default_rng(1).normal(0, 1.0, values.shape)
    return np.clip(noisy, 0, 255).round().astype(np.uint8)


def ours(coded: np.ndarray, card: CardLayout) -> dict[int, np.ndarray]:
    """Corners by the plane that our fit to the marker sides gives."""
    bgr = np.dstack([coded] * 3)
    optics = optics_of(Picture(bgr), Conditions())
    plane = find_card(coded, burnt(bgr), Conditions(), optics).plane
    return {marker: plane.to_px(card.corners_mm(marker)) for marker in card.markers}


@each_card
def test_card_in_perspective(card: CardLayout) -> None:
    """Same markers, and corners where the layout says and where the others see them.

    The library takes codes for light, so that it is shown linear light; we are shown a photo.
    """
    light, matrix = seen(card, 900)
    photo = pixels(255 * code(light / 255)[0])
    theirs = {found.tag_id: found for found in library().detect(pixels(light))}
    rough, fitted = find_markers(photo), ours(photo, card)
    assert theirs.keys() == rough.keys() == card.markers.keys()
    assert {found.hamming for found in theirs.values()} == {0}
    their_misses, our_misses, apart = [], [], []
    for marker, found in theirs.items():
        in_art = card.corners_mm(marker) * ART_PER_MM + MARGIN - 0.5
        true = cv2.perspectiveTransform(in_art[None], matrix)[0]
        their_misses.append(corners_of(found) - true)
        our_misses.append(fitted[marker] - true)
        apart.append(corners_of(found) - fitted[marker])
    their_rms, our_rms = (np.sqrt(np.mean(np.square(m))) for m in (their_misses, our_misses))
    largest = np.abs(apart).max()
    print(
        f"\n{card.size}: corners off the layout by {their_rms:.3f} px (library, rms) and "
        f"{our_rms:.4f} px (ours); apart by at most {largest:.2f} px"
    )
    assert their_rms < 0.1
    assert our_rms < 0.02
    assert largest < 0.3
