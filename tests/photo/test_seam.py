"""The seam is found among everything that looks like one, and nothing else is taken for it."""

import functools
from itertools import pairwise

import numpy as np
import pytest

from recorder.photo.geometry.lines import Line as Straight
from recorder.photo.image.refusal import Refusal
from recorder.photo.seam.fingers import count_and_pitch, finger_length
from recorder.photo.seam.seam import Seam, find_seam
from tests.photo.drawn import CENTRE, WINDOW_MM, Drawn, Line, draw, zigzag

SMALL = functools.partial(Drawn, scale=6.0, blur_px=0.8)


def pen(at: float, leaves: float, amplitude: float) -> Line:
    """The outline of a template beside the seam, from edge to edge."""
    y = np.arange(-34.0, 36.0, 5.0)
    x = at + np.where(np.arange(len(y)) % 2 == 0, amplitude, -amplitude)
    return Line(tuple(zip(x.tolist(), y.tolist(), strict=True)), 0.4, leaves)


def upright(x: float, width: float, leaves: float) -> Line:
    """Printed across the belt."""
    return Line(((x, -36.0), (x, 36.0)), width, leaves)


def seam_of(shown: Drawn) -> Seam:
    photo = draw(shown)
    turn = np.radians(shown.turn_deg)
    edges = [
        Straight(CENTRE[0], CENTRE[1] + y / np.cos(turn), np.tan(turn), np.zeros((2, 2)))
        for y in (-shown.width / 2, shown.width / 2)
    ]
    return find_seam(photo.grey, photo.plane, WINDOW_MM, *edges)


SHOWN = {
    "narrow, a print across it": SMALL(gaps=(0.2,), lines=(upright(5.0, 1.0, 0.15),)),
    "nearly closed": SMALL(gaps=(0.07,), blur_px=1.2),
    "wide open": SMALL(gaps=(1.3,), tip_mm=2.2),
    "darker print and faint pen beside it": SMALL(
        gaps=(0.5,), lines=(upright(-30.0, 1.5, 0.15), pen(27.0, 0.88, 6.0))
    ),
    "pen through it, scratches": SMALL(
        lines=(
            pen(8.0, 0.6, 8.0),
            Line(((-30.0, -20.0), (10.0, 25.0)), 0.3, 0.4),
            Line(((-2.0, -30.0), (2.0, 30.0)), 0.2, 1.4),
        )
    ),
    "weave near the gap's period": SMALL(gaps=(0.3,), weave=(0.6, 0.2, 35.0)),
    "two tones, uneven light": SMALL(right=(0.25, 0.3, 0.5), slope=(0.4, 0.3)),
    "light slot in a dark belt": SMALL(left=(0.1, 0.1, 0.1), slot=(0.35, 0.35, 0.35)),
    "long fingers": SMALL(finger=70.0, pitch=12.0),
    "short fingers": SMALL(finger=8.0, pitch=6.0, tip_mm=0.8, gaps=(0.3,)),
    "oblique and askew, poor JPEG": SMALL(tilt=(1.5, -1.5), turn_deg=3.0, quality=60),
    "shadow": SMALL(lines=(Line(((-60, -60), (60, 30), (60, 60), (-60, 60)), 0, 0.5),)),
}


@pytest.mark.parametrize("name", SHOWN)
def test_seam(name: str) -> None:
    shown = SHOWN[name]
    seam = seam_of(shown)
    middle = zigzag(shown)
    fine = np.concatenate(
        [a + np.linspace(0, 1, 300)[:, None] * (b - a) for a, b in pairwise(middle)]
    )
    turn = np.radians(shown.turn_deg)
    to_belt = np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
    for flank in seam.flanks[1:-1]:
        at = to_belt @ ((flank.begin + flank.end) / 2 - CENTRE)
        assert np.hypot(*(fine - at).T).min() < 0.5
    length, (count, pitch) = finger_length(seam), count_and_pitch(seam)
    assert length is not None
    assert pitch is not None
    assert abs(length.value - shown.finger) < max(0.3, 3 * length.u)
    assert abs(pitch.value - shown.pitch) < 0.2
    assert count is not None
    assert abs(count - shown.width / shown.pitch) <= 1
    assert seam.dark is (name != "light slot in a dark belt")


def test_a_straight_seam_has_no_fingers() -> None:
    seam = seam_of(SMALL(seams_at=(), lines=(Line(((-20.0, -40.0), (20.0, 40.0)), 0.4, 0.1),)))
    assert len(seam.flanks) == 1
    assert seam.tips == 0
    assert finger_length(seam) is None
    assert count_and_pitch(seam) == (None, None)
    along = seam.flanks[0].along
    assert abs(along[0] / along[1] - 0.5) < 0.02


@pytest.mark.parametrize(
    ("shown", "words"),
    [
        (SMALL(seams_at=()), "no seam"),
        (SMALL(seams_at=(), weave=(0.9, 0.2, 35.0)), "no seam"),
        (
            SMALL(
                seams_at=(),
                lines=(
                    Line(((-30.0, -20.0), (10.0, 25.0)), 0.3, 0.4),
                    Line(((10.0, -33.0), (12.0, 28.0)), 0.3, 0.5),
                ),
            ),
            "seam",
        ),
        (SMALL(seams_at=(-25.0, 25.0), finger=25.0), "two seams"),
        (SMALL(lines=(pen(27.0, 0.4, 6.0),)), "two seams"),
    ],
    ids=["none", "weave", "scratches", "two", "seam and template"],
)
def test_no_seam_or_two(shown: Drawn, words: str) -> None:
    with pytest.raises(Refusal, match=words) as refused:
        seam_of(shown)
    assert ";" in refused.value.reason


def test_a_seam_under_a_cloth() -> None:
    cloth = Line(((-22, -40), (22, -40), (22, 30), (-22, 30)), 0, 0.0)
    with pytest.raises(Refusal, match="seam"):
        seam_of(SMALL(lines=(cloth,)))
