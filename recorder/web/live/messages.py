"""What a page says on its socket, and the frames of a body where a browser refuses the socket.

A frame is a chunk of sound (``recorder.live.chunks``) or a message, JSON in UTF-8. A body is frames
one behind the other, each behind its length as u32, little-endian.
"""

from __future__ import annotations

import struct
from collections.abc import Iterator
from typing import Annotated, Literal

from pydantic import Field, TypeAdapter, ValidationError

from recorder.live import chunks
from recorder.model.base import Value
from recorder.model.recording import GapReason

StretchName = Annotated[str, Field(pattern=r"^[0-9a-f]{32}$")]
SpeechName = Annotated[str, Field(pattern=r"^[0-9A-Za-z_-]{1,80}$")]
Sample = Annotated[int, Field(ge=0, lt=2**53)]
# Milliseconds since 1970 up to the year 2200: what is beyond is no clock.
Clock = Annotated[float, Field(ge=0, lt=7.3e12)]

_LENGTH = struct.Struct("<I")
MOST_FRAME_BYTES = 200_000
MOST_BODY_BYTES = 4_000_000


class BadFrame(ValueError):
    """What came is neither a chunk nor a message that a page says."""


class OpenStretch(Value):
    """A stretch of sound begins, or goes on after the link was lost. began_ms: its first sample, by
    the clock of this machine as the page knows it. after: why the sound before it had stopped.
    """

    do: Literal["stretch"]
    name: StretchName
    rate_hz: int = Field(ge=8_000, le=384_000)
    began_ms: Clock
    after: GapReason


class Speaking(Value):
    """The loudspeaker begins with a speech; sample: of the stretch, before the first sound."""

    do: Literal["speaking"]
    name: SpeechName
    stretch: StretchName
    sample: Sample


class Spoken(Value):
    """The loudspeaker has ended; sample: after the last sound."""

    do: Literal["spoken"]
    name: SpeechName
    stretch: StretchName
    sample: Sample


class Interrupt(Value):
    """A person cut the recorder off."""

    do: Literal["interrupt"]


class Stopped(Value):
    """The microphone has stopped."""

    do: Literal["gap"]
    reason: GapReason


class Here(Value):
    """Are you there? ms: comes back as it is."""

    do: Literal["here"]
    ms: float


class Claim(Value):
    """This page wants to be the microphone. take: even where another device is it."""

    do: Literal["microphone"]
    take: bool = False


class Release(Value):
    """This page is the microphone no longer."""

    do: Literal["release"]


Message = OpenStretch | Speaking | Spoken | Interrupt | Stopped | Here | Claim | Release
Frame = Message | chunks.Chunk
_MESSAGES: TypeAdapter[Message] = TypeAdapter(Annotated[Message, Field(discriminator="do")])


def frame(data: bytes | str) -> Frame:
    """One frame. Raises BadFrame; BadChunk where a chunk does not fit its checksum."""
    if isinstance(data, bytes) and data[:4] == chunks.MAGIC:
        return chunks.read(data)
    try:
        return _MESSAGES.validate_json(data)
    except ValidationError as failure:
        raise BadFrame("not a message of a page") from failure


def body_frames(body: bytes) -> Iterator[bytes]:
    """The frames of a body. Raises BadFrame."""
    place = 0
    while place < len(body):
        if place + _LENGTH.size > len(body):
            raise BadFrame("the body ends in a length")
        (length,) = _LENGTH.unpack_from(body, place)
        place += _LENGTH.size
        if length > MOST_FRAME_BYTES or place + length > len(body):
            raise BadFrame("a frame is longer than its body")
        yield body[place : place + length]
        place += length
