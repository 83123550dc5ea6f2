"""The card's art as the program itself writes it: the one thing that both sides know."""

from __future__ import annotations

import functools
import json
import subprocess
import sys
import tempfile
from dataclasses import dataclass
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray

cv2.setNumThreads(1)


@dataclass(frozen=True)
class Art:
    """face: (rows, columns, 2): whiteness times cover, and cover, each 0..1.
    per_mm: its pixels a nominal millimetre. size, centre: nominal mm. turned: the belt's axis
    runs along the art's y.
    """

    face: NDArray[np.float32]
    per_mm: float
    size: tuple[float, float]
    centre: tuple[float, float]
    turned: bool

    def coarser(self, per_mm: float) -> Art:
        """The same averaged down to about so many pixels a millimetre; never up."""
        if per_mm >= self.per_mm:
            return self
        rows, columns = self.face.shape[:2]
        scale = per_mm / self.per_mm
        new = (round(columns * scale), round(rows * scale))
        face = cv2.resize(self.face, new, interpolation=cv2.INTER_AREA)
        return Art(face, self.per_mm * new[0] / columns, self.size, self.centre, self.turned)

    def outline(self) -> NDArray[np.float64]:
        w, h = self.size
        return np.array([[0, 0], [w, 0], [w, h], [0, h]], float)


@functools.cache
def art(size: str, dpi: int = 600) -> Art:
    """Made by 'seamnote card' in a process of its own."""
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "card.png"
        command = [sys.executable, "-m", "recorder", "card", "--size", size, "--png", str(file),
                   "--dpi", str(dpi), "--json", "--home", folder]  # fmt: skip
        done = subprocess.run(command, capture_output=True, text=True, check=True)
        told = json.loads(done.stdout)
        image = cv2.imread(str(file), cv2.IMREAD_UNCHANGED)
    face = np.ascontiguousarray(image[..., [1, 3]], np.float32) / 255
    face[..., 0] *= face[..., 1]
    width, height = told["size_mm"]
    x, y = told["splice_centre_mm"]
    return Art(face, dpi / 25.4, (width, height), (x, y), told["belt_axis"] == "y")
