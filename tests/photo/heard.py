"""Listens to what a Pen writes, so that words can be held to their places."""

import pytest

from recorder.photo.shown.pen import Pen, drawable, font


class Heard:
    """Boxes of all that is written or set into a picture, by the size of that picture."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.texts: list[tuple[str, int]] = []
        self.boxes: dict[tuple[int, int], list[tuple[str, tuple[float, ...]]]] = {}
        for name in ("text", "balloon", "flag", "ring"):
            monkeypatch.setattr(Pen, name, getattr(self, name)(getattr(Pen, name)))

    def text(self, real):
        def text(pen, at, words, size, colour=(28, 32, 38), bold=False, anchor="ls"):
            self.texts.append((words, size))
            box = pen.draw.textbbox(at, drawable(words), font(size, bold), anchor=anchor)
            self._keep(pen, words, box)
            real(pen, at, words, size, colour, bold, anchor)

        return text

    def balloon(self, real):
        def balloon(pen, centre, words, radius):
            self._keep(pen, words, (*(centre - radius), *(centre + radius)))
            seen_before = len(self.boxes[pen.image.size])
            real(pen, centre, words, radius)
            del self.boxes[pen.image.size][seen_before:]  # its own letter lies on it

        return balloon

    flag = balloon

    def ring(self, real):
        def ring(pen, centre, radius, *rest, **more):
            self._keep(pen, "ring", (*(centre - radius), *(centre + radius)))
            real(pen, centre, radius, *rest, **more)

        return ring

    def _keep(self, pen, words, box):
        self.boxes.setdefault(pen.image.size, []).append((words, box))

    def overlapping(self) -> list[tuple[str, str]]:
        found = []
        for boxes in self.boxes.values():
            for i, (one, a) in enumerate(boxes):
                for other, b in boxes[:i]:
                    across = min(a[2], b[2]) - max(a[0], b[0])
                    if across > 0 and min(a[3], b[3]) > max(a[1], b[1]):
                        found.append((other, one))
        return found

    def outside(self) -> list[str]:
        return [
            words
            for (wide, high), boxes in self.boxes.items()
            for words, (left, top, right, bottom) in boxes
            if left < 0 or top < 0 or right > wide or bottom > high
        ]
