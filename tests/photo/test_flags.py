"""What a person should look at is pointed out, at its place, and a good splice is left alone."""

import functools

import numpy as np
import pytest

from recorder.model.measurement import FlagKind
from recorder.photo.belt.belt import BeltEdges, EdgePoint
from recorder.photo.geometry.lines import Line as Straight
from recorder.photo.seam.ends import split
from recorder.photo.seam.flags import Notice, notices
from recorder.photo.seam.gap import GapPoint, GapProfile
from recorder.photo.seam.seam import Seam, find_seam
from recorder.photo.seam.tips import open_tips
from tests.photo.drawn import CENTRE, WINDOW_MM, Drawn, Line, draw

SMALL = functools.partial(Drawn, scale=6.0, blur_px=0.8, gaps=(0.4,))


def profile(seam: Seam, gaps: dict[int, float]) -> GapProfile:
    """As if every flank had been read as 0.4 mm but for those told."""
    points = []
    for k, flank in enumerate(seam.flanks):
        for share in (0.3, 0.5, 0.7):
            x, y = flank.begin + share * (flank.end - flank.begin)
            points.append(
                GapPoint(x, y, share * flank.length, gaps.get(k, 0.4), 0.01, 0.1, k, 0.0, 0.0, 0.0,
                         0.85, 2.0, (0.0, 1.0))
            )  # fmt: skip
    return GapProfile(tuple(points), seam.flanks, 0.85, 0.05, True, ())


def seen(shown: Drawn, gaps: dict[int, float] | None = None) -> tuple[Notice, ...]:
    photo = draw(shown)
    edges = [
        Straight(CENTRE[0], CENTRE[1] + y, 0.0, np.zeros((2, 2)))
        for y in (-shown.width / 2, shown.width / 2)
    ]
    seam = find_seam(photo.grey, photo.plane, WINDOW_MM, *edges)
    x = np.arange(12.0, 112.0, 3.0)
    upper, lower = (tuple(EdgePoint(a, line.at(a), 0.01, 0.1) for a in x) for line in edges)
    ends = split(BeltEdges(upper, lower), seam)
    found = profile(seam, gaps or {})
    tips = open_tips(photo.grey, photo.plane, seam, found.contrast, 0.4)
    return notices(photo.grey, photo.plane, WINDOW_MM, seam, found, tips, ends)


def spot(x: float, y: float, leaves: float) -> Line:
    angle = np.linspace(0, 2 * np.pi, 24, endpoint=False)
    corners = zip((x + 3 * np.cos(angle)).tolist(), (y + 3 * np.sin(angle)).tolist(), strict=True)
    return Line(tuple(corners), 0, leaves)


@pytest.mark.parametrize(
    "shown",
    [
        SMALL(),
        SMALL(weave=(0.9, 0.1, 35.0), slope=(0.4, 0.3)),
        SMALL(lines=(Line(((-60, -60), (60, 30), (60, 60), (-60, 60)), 0, 0.6),)),
        SMALL(lines=(spot(-38.0, 5.0, 0.6),)),
    ],
    ids=["plain", "woven, uneven light", "shadow", "stain beside the splice"],
)
def test_a_good_splice_is_left_alone(shown: Drawn) -> None:
    assert seen(shown) == ()


def test_an_open_finger() -> None:
    (notice,) = seen(SMALL(), {4: 1.4})
    assert notice.kind is FlagKind.OPEN_FINGER
    assert "1.4 mm where others have 0.4 mm" in notice.text


def test_a_finger_cut_short_is_open_at_its_tip_alone() -> None:
    (notice,) = seen(SMALL(tip_mm=1.6, wide_tips=((2, 2.2),)))
    assert notice.kind is FlagKind.TRUNCATED_FINGER
    assert notice.at is not None
    assert np.abs(notice.at - CENTRE - (-15.0, 12.5)).max() < 1.2


def test_a_finger_pulled_back_is_open_along_its_flanks_too() -> None:
    shown = SMALL(tip_mm=1.6, wide_tips=((2, 2.2),))
    flanks = {flank: 0.65 for flank in range(15) if flank in (9, 10)}
    kinds = {notice.kind for notice in seen(shown, flanks)}
    assert kinds == {FlagKind.UNMESHED_FINGER}


@pytest.mark.parametrize(
    ("leaves", "word"), [(0.7, "darker"), (1.25, "brighter")], ids=["burn", "flash"]
)
def test_a_spot_at_the_splice(leaves: float, word: str) -> None:
    (notice,) = seen(SMALL(lines=(spot(0.0, 0.0, leaves),)))
    assert notice.kind is FlagKind.BRIGHTNESS_STEP
    assert word in notice.text
    assert notice.at is not None
    assert np.abs(notice.at - CENTRE).max() < 2


def test_ends_of_another_tone() -> None:
    (notice,) = seen(SMALL(right=(0.35, 0.4, 0.24)))
    assert notice.kind is FlagKind.BRIGHTNESS_STEP
    assert notice.text.startswith("the left end is ")
