"""How a picture is to look: its room, the firm's colour, and in which zone its days are."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import tzinfo


@dataclass(frozen=True)
class Look:
    """width: in units, of which one is a pixel of a small screen; 360 for a phone, 720 for a page.
    own: the firm's colour, dark enough to be read on white. zone: in which dates are shown, None
    for that of this machine.
    """

    width: int = 720
    own: str = "#0d5661"
    zone: tzinfo | None = None

    @property
    def narrow(self) -> bool:
        return self.width < 560
