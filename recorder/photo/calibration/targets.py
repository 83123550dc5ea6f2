"""The flat target that a folder of photos shows for calibration, and its points in each photo."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from recorder.photo.calibration.boards import Board, Grey, find_board, luma, small, which_board
from recorder.photo.calibration.calibration import Sighting
from recorder.photo.card.fiducials import find_markers
from recorder.photo.card.layout import CARD_SIZES, CardLayout
from recorder.photo.card.reference import LEAST_MARKERS, marker_corners
from recorder.photo.geometry.lens import turned_back
from recorder.photo.image.exposure import burnt
from recorder.photo.image.picture import Picture

Array = NDArray[np.float64]
Target = CardLayout | Board


@dataclass(frozen=True)
class Glance:
    """What a first look at a photo keeps. card: the Seamnote card in it, None for none; corners:
    its places in millimetres of the layout (n, 2) and where the photo has them (n, 2).
    small: the picture, small, where there is no card.
    """

    card: CardLayout | None = None
    corners: tuple[Array, Array] | None = None
    small: Grey | None = None


def glance(photo: Picture) -> Glance:
    """A first look, by which the target of the folder is chosen."""
    grey = luma(photo.bgr)
    markers = find_markers(grey)
    layout = max(CARD_SIZES.values(), key=lambda card: len(markers.keys() & card.markers.keys()))
    mine = {marker: at for marker, at in markers.items() if marker in layout.markers}
    if len(mine) < LEAST_MARKERS:
        return Glance(small=small(grey))
    corners = marker_corners(grey, burnt(photo.bgr), mine)
    if len(corners) < LEAST_MARKERS:
        return Glance(layout)
    places = np.concatenate([layout.corners_mm(marker) for marker in corners])
    return Glance(layout, (places, np.concatenate(list(corners.values()))))


def which_target(glances: Sequence[Glance]) -> Target | None:
    """The target that most photos show: a card, else a board; None when there is neither."""
    cards = Counter(seen.card.size for seen in glances if seen.card)
    if cards:
        return CARD_SIZES[cards.most_common(1)[0][0]]
    return which_board([seen.small for seen in glances if seen.small is not None])


def shown(target: Target) -> str:
    """The target in words."""
    if isinstance(target, CardLayout):
        return f"Seamnote card {target.size}"
    return target.shown


def sighting(name: str, photo: Picture, seen: Glance, target: Target) -> Sighting | None:
    """The target in a photo, in the picture as the camera stored it; None where too little shows.

    Places are millimetres of the card's layout, or squares of a board.
    """
    if isinstance(target, CardLayout):
        found = seen.corners if seen.card == target else None
    else:
        found = find_board(luma(photo.bgr), target)
    if found is None:
        return None
    places, px = found
    if np.linalg.matrix_rank(places - places.mean(axis=0)) < 2:  # one row of a ChArUco board
        return None
    return Sighting(name, places, turned_back(px, photo.size_px, photo.orientation or 1))
