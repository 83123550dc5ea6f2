"""From one photo to one measurement: the stages in order."""

from __future__ import annotations

from pathlib import Path

import cv2
import numpy as np

from recorder.errors import NotAPicture
from recorder.model.measurement import SeamMeasurement
from recorder.photo.belt.belt import find_edges
from recorder.photo.card.reference import FoundCard, find_card
from recorder.photo.geometry.optics import Optics, optics_of
from recorder.photo.geometry.plane import Plane, eye_mm, raised
from recorder.photo.image import picture
from recorder.photo.image.conditions import Conditions
from recorder.photo.image.exposure import burnt
from recorder.photo.image.refusal import Refusal
from recorder.photo.numbers.results import results
from recorder.photo.numbers.seen import Seen
from recorder.photo.seam.ends import level, split, whole_line
from recorder.photo.seam.flags import notices
from recorder.photo.seam.gap import measure_gaps
from recorder.photo.seam.heights import levelled
from recorder.photo.seam.looks import Face
from recorder.photo.seam.seam import find_seam
from recorder.photo.seam.tips import open_tips
from recorder.photo.shown.overlay import draw
from recorder.photo.shown.plot import draw_plot

LEAST_PX_PER_MM = 5.0
LARGEST_BLUR_MM = 0.32
LARGEST_BLUR_PX = 4.0


def measure(
    path: Path, conditions: Conditions, overlay: Path | None = None, name: str | None = None,
    plot: Path | None = None,
) -> SeamMeasurement:  # fmt: skip
    """Measure the seam in a photo; a photo that carries no measurement is refused with a reason.

    name: what the user calls the photo, when ``path`` is a copy under another name.
    overlay, plot: where to write the picture that shows what was measured, and that of the gap
    along the seam (PNG or JPEG by their names); none is written for a refused photo.
    Raises FileMissing, FileEmpty, FileTooLarge, NotAPicture, OutputUnwritable.
    """
    photo = picture.load(path)
    name = name or path.name
    try:
        seen = look(photo, conditions)
        measured = results(name, seen, conditions)
    except Refusal as refusal:
        return SeamMeasurement(
            file=name, status="refused", reason=refusal.reason, limits=conditions.limits
        )
    except np.linalg.LinAlgError:
        reason = "the shapes in the photo make no sense together; take it again, square on"
        return SeamMeasurement(file=name, status="refused", reason=reason, limits=conditions.limits)
    except cv2.error as error:
        raise NotAPicture(path=path, detail=f"it cannot be worked on: {error}") from error
    written: dict[str, str] = {}
    if overlay is not None:
        draw(photo.bgr, seen, measured, overlay)
        written["overlay"] = overlay.name
    if plot is not None:
        draw_plot(measured, plot)
        written["plot"] = plot.name
    return measured.model_copy(update=written)


def look(photo: picture.Picture, conditions: Conditions) -> Seen:
    """Find card, belt and seam; raises Refusal."""
    bgr = photo.bgr
    # The luma of the code: JPEG keeps it sharp, where colour is averaged over several pixels.
    grey = np.asarray(cv2.cvtColor(bgr, cv2.COLOR_BGR2GRAY), np.uint8)
    ends_of_range = burnt(bgr)
    optics = optics_of(photo, conditions)
    card = find_card(grey, ends_of_range, conditions, optics)
    across, down = card.print_scale
    plane = _belt_plane(card, conditions, card.optics)
    left, top, right, bottom = card.layout.window_mm
    window = (left * across, top * down, right * across, bottom * down)
    _sharp_enough(plane, window, card)
    edges = find_edges(bgr, plane, window, card.blur_px)
    upper = whole_line(edges.points("upper"), "upper")
    lower = whole_line(edges.points("lower"), "lower")
    seam = find_seam(grey, plane, window, upper, lower)
    ends = split(edges, seam)
    gaps = measure_gaps(
        Face(grey, ends_of_range, plane, upper, lower, card.blur, card.response, card.plain_blur),
        seam,
    )
    lens = card.optics.lens
    eye = eye_mm(plane, card.optics.focal_px, np.array(lens.centre_px))
    gaps = levelled(gaps, eye)
    ends = level(ends, gaps.step_mm, eye)
    usual = float(np.median([point.gap for point in gaps.points]))
    tips = open_tips(grey, plane, seam, gaps.contrast, usual) if seam.dark else []
    return Seen(
        card=card,
        plane=plane,
        edges=edges,
        seam=seam,
        gaps=gaps,
        ends=ends,
        tips=tuple(tips),
        notices=notices(grey, plane, window, seam, gaps, tips, ends),
        optics=card.optics,
        eye=eye,
    )


def _belt_plane(card: FoundCard, conditions: Conditions, optics: Optics) -> Plane:
    """The plane of the belt's top: under the card's print, or above it for a card on the bench."""
    height_mm = -conditions.card_thickness_mm
    if conditions.card_on == "bench":
        if conditions.belt_thickness_mm is None:
            raise Refusal(
                "the card lies on the bench, so that the belt is nearer to the camera; "
                "say how thick the belt is, or lay the card on the belt"
            )
        height_mm += conditions.belt_thickness_mm
    return raised(card.plane, height_mm, optics.focal_px, np.array(optics.lens.centre_px))


def _sharp_enough(plane: Plane, window: tuple[float, float, float, float], card: FoundCard) -> None:
    centre = np.array([(window[0] + window[2]) / 2, (window[1] + window[3]) / 2])
    scale = plane.scale_px_per_mm(centre)
    if scale < LEAST_PX_PER_MM:
        raise Refusal(
            f"the photo has {scale:.1f} pixels a millimetre at the splice and needs "
            f"{LEAST_PX_PER_MM:g}; go closer, or use the camera's full resolution"
        )
    blur_mm = card.blur_px / scale
    if blur_mm > LARGEST_BLUR_MM or card.blur_px > LARGEST_BLUR_PX:
        raise Refusal(
            f"the photo is out of focus or moved (blur {blur_mm:.2f} mm); "
            "focus on the splice, hold still, and give more light"
        )
