"""Everything that was found in one photo, before it becomes numbers with uncertainties."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from recorder.photo.belt.belt import BeltEdges
from recorder.photo.card.reference import FoundCard
from recorder.photo.geometry.optics import Optics
from recorder.photo.geometry.plane import Plane
from recorder.photo.seam.ends import Ends
from recorder.photo.seam.flags import Notice
from recorder.photo.seam.gap import GapProfile
from recorder.photo.seam.seam import Seam
from recorder.photo.seam.tips import Tip

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Seen:
    """plane: of the belt's top, in whose millimetres edges, seam, gaps and ends are.
    tips: that are flat, with the gap there. notices: what a person should look at.
    optics: what was known of the camera. eye: (3,) where the camera was: along and across
    the belt, and its height above it, mm.
    """

    card: FoundCard
    plane: Plane
    edges: BeltEdges
    seam: Seam
    gaps: GapProfile
    ends: Ends
    tips: tuple[Tip, ...]
    notices: tuple[Notice, ...]
    optics: Optics
    eye: Array

    @property
    def away_mm(self) -> float:
        """Height of the camera above the belt."""
        return float(self.eye[2])
