"""The markers of the card: the wrapper around OpenCV's detector of AprilTag 36h11.

That family gave no false positive on marker-free photos, where smaller ones did.
"""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from recorder.photo.card.layout import MODULES

_SEARCH_PX = 2000  # longer side of the picture in which markers are searched; refined in full later


def _family() -> cv2.aruco.Dictionary:
    return cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_APRILTAG_36h11)


def marker_modules(marker: int) -> NDArray[np.bool_]:
    """(8, 8) modules of a marker, True where it is black."""
    art = cv2.aruco.generateImageMarker(_family(), marker, MODULES, borderBits=1)
    return np.asarray(art) < 128


def find_markers(grey: NDArray[np.uint8]) -> dict[int, NDArray[np.float64]]:
    """Rough corners (4, 2) in pixels of each marker in a grey picture, good to about one pixel.

    Order: top left, top right, bottom right, bottom left of the marker as it is read. A marker id
    that is seen twice is left out, since nobody can tell which one belongs to the card.
    """
    shrink = max(grey.shape) / _SEARCH_PX
    small = grey
    if shrink > 1:
        size = (round(grey.shape[1] / shrink), round(grey.shape[0] / shrink))
        small = np.asarray(cv2.resize(grey, size, interpolation=cv2.INTER_AREA), np.uint8)
    parameters = cv2.aruco.DetectorParameters()
    parameters.minMarkerPerimeterRate = 0.02
    detector = cv2.aruco.ArucoDetector(_family(), parameters)
    corners, ids, _ = detector.detectMarkers(small)
    found: dict[int, NDArray[np.float64]] = {}
    twice: set[int] = set()
    across = np.array([grey.shape[1] / small.shape[1], grey.shape[0] / small.shape[0]])
    for square, marker in zip(corners, [] if ids is None else np.ravel(ids), strict=True):
        if int(marker) in found:
            twice.add(int(marker))
        found[int(marker)] = (np.reshape(square, (4, 2)).astype(float) + 0.5) * across - 0.5
    return {marker: square for marker, square in found.items() if marker not in twice}
