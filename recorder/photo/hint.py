"""What a frame of the camera says of the photo that would be taken now. No numbers."""

from __future__ import annotations

from recorder.model.base import Value


class Hint(Value):
    """card_seen: enough of the reference card's markers. belt_whole: both edges of the belt, inside
    of the card. sharp: enough for a photo of the camera's full size. square: the camera looks down
    steeply enough. words: one short line, what to do; empty where there is nothing new. ready: a
    photo taken now can most likely be measured.
    """

    card_seen: bool = False
    belt_whole: bool = False
    sharp: bool = False
    square: bool = False
    words: str = ""
    ready: bool = False
