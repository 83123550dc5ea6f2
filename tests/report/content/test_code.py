"""The code on the first page, read back by OpenCV's detector, which shares nothing with segno."""

from datetime import datetime, timedelta, timezone

import cv2
import numpy as np
import pytest

from recorder.report.content import code

WHEN = datetime(2026, 11, 25, 23, 30, tzinfo=timezone(timedelta(hours=-5)))
DIGEST = "0123456789abcdef" * 4


def decoded(drawn: bytes) -> str:
    """Draw the SVG's path, whose rows are horizontal strokes, at four pixels a module."""
    svg = drawn.decode()
    side = int(svg.split('width="')[1].split('"')[0])
    modules = np.full((side, side), 255, np.uint8)
    path = svg.split('stroke="#000"')[1].split('d="')[1].split('"')[0]
    x = y = 0.0
    for kind, numbers in _steps(path):
        if kind == "M":
            x, y = numbers
        elif kind == "m":
            x, y = x + numbers[0], y + numbers[1]
        else:
            modules[int(y), int(x) : int(x + numbers[0])] = 0
            x += numbers[0]
    picture = np.kron(modules, np.ones((4, 4), np.uint8))
    said, _, _ = cv2.QRCodeDetector().detectAndDecode(picture)
    return str(said)


def _steps(path: str) -> list[tuple[str, list[float]]]:
    steps: list[tuple[str, list[float]]] = []
    for part in path.replace("M", "|M").replace("m", "|m").replace("h", "|h").split("|"):
        if part:
            steps.append((part[0], [float(n) for n in part[1:].replace("-", " -").split()]))
    return steps


@pytest.mark.parametrize("job", ["4817", "Ä 7/2 & more", "", "x" * 5000])
def test_what_is_drawn_is_read_back(job: str) -> None:
    said = code.text(job, "20251125-204530-3f9a", WHEN, DIGEST)
    assert decoded(code.drawing(said)) == said


def test_the_text_is_a_uri_whose_parts_stay_apart() -> None:
    said = code.text("A&B=C", "id", WHEN, DIGEST)
    assert said == f"seamnote:report?job=A%26B%3DC&date=2026-11-25&sha256={DIGEST}"


@pytest.mark.parametrize("number", ["", "9" * 41])
def test_the_id_stands_in_for_a_number_that_does_not_serve(number: str) -> None:
    assert "?job=20251125-204530-3f9a&" in code.text(number, "20251125-204530-3f9a", WHEN, DIGEST)


def test_the_same_text_has_the_same_bytes() -> None:
    said = code.text("4817", "id", WHEN, DIGEST)
    assert code.drawing(said) == code.drawing(said)
    assert code.drawing(said) != code.drawing(code.text("4818", "id", WHEN, DIGEST))
