"""Pictures that came from a page, looked at by others: no file of a stranger is decoded in here.

::

    picture ─► first bytes ─► looker (a process with limits): size ─► decode ─► measure ─► answer

There are two seats: photos are measured at one, and at the other frames of the camera get their
hint, and pictures are made smaller for a page. A looker that dies or hangs costs one picture and is
made anew; each ends with the program.
"""

from __future__ import annotations

import atexit
from pathlib import Path

from pydantic import JsonValue, ValidationError

from recorder import errors
from recorder.errors import (
    InputRefused,
    NotADrawing,
    OutputUnwritable,
    PictureTooHard,
    SeamnoteError,
)
from recorder.flows.looking.first_bytes import need_picture
from recorder.flows.looking.messages import Message
from recorder.flows.looking.seat import Ended, Seat, Taken
from recorder.inputs import read_head
from recorder.model.measurement import SeamMeasurement
from recorder.photo.hint import Hint
from recorder.photo.image.conditions import Conditions
from recorder.report.signing.drawing import LARGEST_BYTES

# A photo of 64 megapixels takes 0.9 GB beyond what the looker begins with, and 8 s of one core
# (tests/flows/looking measures it); a small computer takes five times as long.
_PHOTOS = Seat(memory_bytes=1_600_000_000, cpu_s=90.0, wall_s=120.0, patience_s=300.0)
_FRAMES = Seat(memory_bytes=900_000_000, cpu_s=20.0, wall_s=30.0, patience_s=5.0)
_PATIENCE_S = 60.0  # of one who waits for a page, and not for the next frame
_LONGEST_WORD = 300
MOST_FRAME_BYTES = 2_000_000
atexit.register(lambda: close())


def warm() -> None:
    """Start both lookers, which takes them half a second each."""
    _FRAMES.warm()
    _PHOTOS.warm()


def close() -> None:
    """End both lookers."""
    _FRAMES.close()
    _PHOTOS.close()


def admit(path: Path, name: str) -> tuple[int, int]:
    """Width and height of a picture, by its first bytes and its header; nothing of it is decoded.

    Raises FileEmpty, NotAPicture, FileTooLarge, PictureTooHard; ``name`` is what a person calls it.
    """
    need_picture(read_head(path), name)
    head = _asked(_FRAMES, {"do": "size", "path": str(path)}, name).head
    return int(str(head["width"])), int(str(head["height"]))


def measure_aside(
    path: Path, conditions: Conditions, overlay: Path, plot: Path, name: str
) -> SeamMeasurement:
    """As ``recorder.photo.measure.measure``. Waits for the photo before; raises PictureTooHard as
    well, and OutputUnwritable.
    """
    need_picture(read_head(path), name)
    asked: dict[str, JsonValue] = {
        "do": "measure", "path": str(path), "name": name, "overlay": str(overlay),
        "plot": str(plot), "conditions": conditions.model_dump(mode="json"),
    }  # fmt: skip
    told = _asked(_PHOTOS, asked, name).head
    try:
        return SeamMeasurement.model_validate(told["seam"])
    except (KeyError, ValidationError) as error:
        raise PictureTooHard(path=name, detail="what was measured makes no sense") from error


def preview(jpeg: bytes, photo_px: int = 0) -> Hint:
    """What a frame of the camera says of the photo that would be taken now. Never raises for a bad
    frame: then it says so. photo_px: longer side of that photo, 0 for as large as the frame.
    """
    if len(jpeg) > MOST_FRAME_BYTES:
        return Hint(words="the camera's frame is too large")
    try:
        need_picture(jpeg[:32], "frame")
        told = _asked(_FRAMES, {"do": "preview", "photo_px": photo_px}, "frame", jpeg).head
        return Hint.model_validate(told["hint"])
    except (SeamnoteError, KeyError, ValidationError):
        return Hint(words="the camera's frame cannot be read")


def redraw(path: Path, name: str, longest_px: int) -> bytes:
    """A JPEG of a picture, upright and no longer than that on either side, without anything that
    the camera wrote beside it, such as where it was taken. Raises as ``admit``.
    """
    need_picture(read_head(path), name)
    asked: dict[str, JsonValue] = {"do": "redraw", "path": str(path), "longest_px": longest_px}
    return _asked(_FRAMES, asked, name, patience_s=_PATIENCE_S).body


def drawing(content: bytes) -> bytes:
    """A signature that a person drew, as ``recorder.report.signing.drawing`` makes it fit for a
    document. Raises NotADrawing, PictureTooHard.
    """
    if len(content) > LARGEST_BYTES:
        raise NotADrawing(path="the drawing", detail=f"it has more than {LARGEST_BYTES} bytes")
    return _asked(_FRAMES, {"do": "drawing"}, "the drawing", content, _PATIENCE_S).body


def pages(path: Path, name: str) -> int:
    """How many pages of a report ``page`` can draw. Raises NotAReport, PictureTooHard."""
    asked: dict[str, JsonValue] = {"do": "pages", "path": str(path)}
    return int(str(_asked(_FRAMES, asked, name, patience_s=_PATIENCE_S).head["pages"]))


def page(path: Path, name: str, number: int) -> bytes:
    """A page of a report, from 1, as ``recorder.report.page.pictures`` draws it: PNG. A report may
    have come from elsewhere. Raises as ``pages``.
    """
    asked: dict[str, JsonValue] = {"do": "page", "path": str(path), "number": number}
    return _asked(_FRAMES, asked, name, patience_s=_PATIENCE_S).body


def _asked(
    seat: Seat, question: dict[str, JsonValue], name: str, body: bytes = b"",
    patience_s: float | None = None,
) -> Message:  # fmt: skip
    try:
        told = seat.ask(Message(question, body), patience_s)
    except Taken as error:
        raise PictureTooHard(path=name, detail="others are still being looked at") from error
    except Ended as error:
        detail = "it took too long" if error.late else "opening it needs more than a picture may"
        raise PictureTooHard(path=name, detail=detail) from error
    if "error" in told.head:
        raise _error(told.head, name)
    return told


def _error(head: dict[str, JsonValue], name: str) -> SeamnoteError:
    """As the looker raised it, under the name by which a person knows the picture."""
    kind = getattr(errors, str(head["error"]), None)
    data = head.get("data")
    told = {k: str(v)[:_LONGEST_WORD] for k, v in data.items()} if isinstance(data, dict) else {}
    if (
        isinstance(kind, type)
        and issubclass(kind, (InputRefused, OutputUnwritable))
        and kind.data_names() <= told.keys() | {"path"}
    ):
        return kind(**{**told, "path": name})
    return PictureTooHard(path=name, detail="it needs more memory than a picture may")
