"""A chunk of sound as a page sends it: which stretch, which number, how much, and proof of it.

::

    0   4 bytes   "sea1"
    4   16 bytes  the stretch, a random name made by the page
    20  u32       number of the chunk in it, from 0
    24  u64       place of its first sample in the stretch
    32  u32       CRC-32 (ISO-HDLC, as in zlib) of bytes 0 to 32 and of the samples
    36  i16 ...   the samples, mono

All little-endian.
"""

from __future__ import annotations

import struct
import zlib
from dataclasses import dataclass

MAGIC = b"sea1"
_HEAD = struct.Struct("<4s16sIQI")
_PROVEN = 32  # bytes of the head that the checksum covers
SAMPLE_BYTES = 2
# Of one chunk. A page sends a tenth of a second; after an outage it still sends them one by one.
MOST_SAMPLES = 96_000


class BadChunk(ValueError):
    """The bytes are no chunk, or not as they were sent; the page sends it again."""


@dataclass(frozen=True)
class Chunk:
    """stretch: 32 hex digits. number: in it. first: place of its first sample. samples: PCM, int16
    little-endian.
    """

    stretch: str
    number: int
    first: int
    samples: bytes

    @property
    def count(self) -> int:
        return len(self.samples) // SAMPLE_BYTES


def read(message: bytes) -> Chunk:
    """Raises BadChunk."""
    if len(message) < _HEAD.size + SAMPLE_BYTES or (len(message) - _HEAD.size) % SAMPLE_BYTES:
        raise BadChunk(f"{len(message)} bytes are no chunk")
    if len(message) > _HEAD.size + SAMPLE_BYTES * MOST_SAMPLES:
        raise BadChunk("it is too long")
    magic, stretch, number, first, proof = _HEAD.unpack_from(message)
    if magic != MAGIC:
        raise BadChunk("it does not begin as one")
    samples = message[_HEAD.size :]
    if zlib.crc32(samples, zlib.crc32(message[:_PROVEN])) != proof:
        raise BadChunk("its checksum differs")
    return Chunk(stretch.hex(), number, first, samples)


def write(chunk: Chunk) -> bytes:
    """The message that ``read`` takes."""
    head = _HEAD.pack(MAGIC, bytes.fromhex(chunk.stretch), chunk.number, chunk.first, 0)[:_PROVEN]
    proof = zlib.crc32(chunk.samples, zlib.crc32(head))
    return head + struct.pack("<I", proof) + chunk.samples
