"""The edges of the belt are found to a few hundredths of a millimetre whatever lies beside them."""

import functools

import numpy as np
import pytest

from recorder.photo.belt.belt import find_edges
from recorder.photo.image.refusal import Refusal
from tests.photo.drawn import CENTRE, WINDOW_MM, Drawn, Line, draw

CLOSE_MM = 0.05
FAR = 60.0


def across(y: float, width: float, leaves: float) -> Line:
    """Printed along the belt."""
    return Line(((-FAR, y), (FAR, y)), width, leaves)


def sheet(*corners: tuple[float, float], leaves: float) -> Line:
    return Line(corners, 0, leaves)


SMALL = functools.partial(Drawn, scale=6.0, blur_px=0.8)

SHOWN = {
    "dark belt on a dark bench": SMALL(left=(0.03, 0.035, 0.03), bench=(0.06, 0.06, 0.065)),
    "white, wide, on a light bench": SMALL(
        width=100.0, left=(0.7, 0.7, 0.7), bench=(0.55, 0.56, 0.5)
    ),
    "two ends, printed along": SMALL(
        right=(0.2, 0.35, 0.5),
        offset=0.6,
        skew_deg=0.4,
        lines=(across(-31, 1.5, 0.3), across(30, 0.6, 0.3)),
    ),
    "shadow along the edge and on the belt": SMALL(
        lines=(
            sheet((-FAR, -35), (FAR, -35), (FAR, -37), (-FAR, -37), leaves=0.3),
            sheet((-FAR, 15), (FAR, 18), (FAR, FAR), (-FAR, FAR), leaves=0.5),
        )
    ),
    "things that touch it, poor JPEG": SMALL(
        quality=60,
        lines=(
            Line(((-40, 20), (-25, FAR)), 8, 0.2),
            Line(((30, -34), (40, -FAR)), 6, 0.3),
            across(-40, 4, 0.3),
        ),
    ),
    "woven, in a shadow across, uneven light": SMALL(
        weave=(0.9, 0.2, 35),
        slope=(0.4, 0.3),
        lines=(sheet((-FAR, -FAR), (FAR, 30), (FAR, FAR), (-FAR, FAR), leaves=0.5),),
    ),
    "oblique, askew and soft": SMALL(
        tilt=(1.5, -1.5), turn_deg=3.0, offset=-1.5, skew_deg=-0.8, blur_px=1.6
    ),
}


def errors(shown: Drawn) -> list[float]:
    """Median error of each edge of each end, away from the seam, mm."""
    photo = draw(shown)
    edges = find_edges(photo.bgr, photo.plane, WINDOW_MM, shown.blur_px)
    turn = np.radians(shown.turn_deg)
    to_belt = np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
    found = []
    for name, sign in (("upper", -1), ("lower", 1)):
        at = np.array([(p.x, p.y) for p in edges.points(name)]) - CENTRE - (0, shown.at_y)
        x, y = to_belt @ at.T
        for right in (False, True):
            skew = np.radians(shown.skew_deg) if right else 0.0
            offset = shown.offset if right else 0.0
            true = (sign * shown.width / 2 + offset) / np.cos(skew) + np.tan(skew) * x
            beside = x > shown.finger / 2 + 2 if right else x < -shown.finger / 2 - 2
            assert beside.sum() >= 6
            found.append(float(np.median((y - true)[beside])))
    return found


@pytest.mark.parametrize("name", SHOWN)
def test_edges(name: str) -> None:
    assert np.abs(errors(SHOWN[name])).max() < CLOSE_MM


def test_the_uncertainty_of_a_point_is_of_the_size_of_its_error() -> None:
    shown = SMALL(noise=0.02)
    photo = draw(shown)
    edges = find_edges(photo.bgr, photo.plane, WINDOW_MM, shown.blur_px)
    points = [p for p in edges.points("upper") if abs(p.x - CENTRE[0]) > 18]
    error = np.array([p.y - (CENTRE[1] - shown.width / 2) for p in points])
    u = np.array([p.u for p in points])
    assert 0.3 < np.std(error) / np.median(u) < 3


@pytest.mark.parametrize(
    ("shown", "words"),
    [
        (SMALL(at_y=24.0), "lower edge of the belt does not show"),
        (SMALL(bench=(0.44, 0.5, 0.3)), "edge of the belt does not show"),
        # nobody could tell it from a stripe that was printed on a wider belt
        (
            SMALL(
                bench=(0.44, 0.5, 0.3),
                lines=(
                    sheet((-FAR, 35), (FAR, 35), (FAR, 37.5), (-FAR, 37.5), leaves=0.4),
                    sheet((-FAR, -35), (FAR, -35), (FAR, -36.2), (-FAR, -36.2), leaves=0.6),
                ),
            ),
            "edge of the belt does not show",
        ),
    ],
    ids=["under the card", "bench like the belt", "bench like the belt, but for the shadow"],
)
def test_an_edge_that_does_not_show(shown: Drawn, words: str) -> None:
    photo = draw(shown)
    with pytest.raises(Refusal, match=words):
        find_edges(photo.bgr, photo.plane, WINDOW_MM, shown.blur_px)


def test_an_edge_outside_the_picture() -> None:
    photo = draw(SMALL())
    cut = photo.bgr[: round(130 * 6.0)]
    with pytest.raises(Refusal, match="cut off at the rim of the picture"):
        find_edges(np.ascontiguousarray(cut), photo.plane, WINDOW_MM, 1.0)
