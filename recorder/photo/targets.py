"""The flat target that a folder of photos shows for calibration, and its points in each photo."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from recorder.photo.boards import Board, Grey, find_board, luma, small, which_board
from recorder.photo.calibration import Sighting
from recorder.photo.exposure import burnt
from recorder.photo.fiducials import find_markers
from recorder.photo.layout import CARD_SIZES, CardLayout
from recorder.photo.lens import turned_back
from recorder.photo.picture import Picture
from recorder.photo.reference import LEAST_MARKERS, marker_corners

Array = NDArray[np.float64]
Target = CardLayout | Board


@dataclass(frozen=True)
class Glance:
    """What a first look at a photo keeps. card: size of the Seamnote card in it, empty for none.
    small: the picture, small, where there is none.
    """

    card: str
    small: Grey | None


def glance(photo: Picture) -> Glance:
    """A first look, by which the target of the folder is chosen."""
    grey = luma(photo.bgr)
    markers = find_markers(grey)
    size, seen = "", 0
    for layout in CARD_SIZES.values():
        mine = len(markers.keys() & layout.markers.keys())
        if mine > seen:
            size, seen = layout.size, mine
    return Glance(size, None) if seen >= LEAST_MARKERS else Glance("", small(grey))


def which_target(glances: Sequence[Glance]) -> Target | None:
    """The target that most photos show: a card, else a board; None when there is neither."""
    cards = Counter(seen.card for seen in glances if seen.card)
    if cards:
        return CARD_SIZES[cards.most_common(1)[0][0]]
    return which_board([seen.small for seen in glances if seen.small is not None])


def shown(target: Target) -> str:
    """The target in words."""
    if isinstance(target, CardLayout):
        return f"Seamnote card {target.size}"
    return target.shown


def sighting(name: str, photo: Picture, target: Target) -> Sighting | None:
    """The target in a photo, in the picture as the camera stored it; None where too little shows.

    Places are millimetres of the card's layout, or squares of a board.
    """
    grey = luma(photo.bgr)
    if isinstance(target, CardLayout):
        found = _card(grey, photo, target)
    else:
        found = find_board(grey, target)
    if found is None:
        return None
    places, px = found
    return Sighting(name, places, turned_back(px, photo.size_px, photo.orientation or 1))


def _card(grey: Grey, photo: Picture, layout: CardLayout) -> tuple[Array, Array] | None:
    mine = {id_: at for id_, at in find_markers(grey).items() if id_ in layout.markers}
    corners = marker_corners(grey, burnt(photo.bgr), mine)
    if len(corners) < LEAST_MARKERS:
        return None
    places = np.concatenate([layout.corners_mm(marker) for marker in corners])
    return places, np.concatenate(list(corners.values()))
