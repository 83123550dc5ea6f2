"""What a photo cannot tell about itself: how the card lay, how true it is, which limits hold."""

from __future__ import annotations

from typing import Literal

from recorder.model.base import Value
from recorder.model.camera import Camera
from recorder.model.measurement import Limit
from recorder.settings import CARD_THICKNESS_MM


class Conditions(Value):
    """card_on: where the card lies. belt_thickness_mm: needed when it lies on the bench.
    card_thickness_mm: from what the card lies on up to its print.
    print_scale: true / nominal length of the card's bars in x and y, None when never measured.
    print_scale_size: size of the card on which that was measured, None for any.
    print_scales: of cards of other sizes, by size.
    camera: calibrated, that a person named for the photo. cameras: all calibrated ones that are
    kept, of which the photo's EXIF chooses where none was named.
    limits: in force.
    """

    card_on: Literal["belt", "bench"] = "belt"
    belt_thickness_mm: float | None = None
    card_thickness_mm: float = CARD_THICKNESS_MM
    print_scale: tuple[float, float] | None = None
    print_scale_size: str | None = None
    print_scales: dict[str, tuple[float, float]] = {}
    camera: Camera | None = None
    cameras: tuple[Camera, ...] = ()
    limits: tuple[Limit, ...] = ()

    def for_card(self, size: str) -> Conditions:
        """The same for a card of that size: the print scale of another card says nothing of it."""
        if self.print_scale_size in (None, size):
            return self
        own = self.print_scales.get(size)
        known = {"print_scale": own, "print_scale_size": size if own else self.print_scale_size}
        return self.model_copy(update=known)
