"""Pictures that mean harm, made here byte by byte or from good ones."""

import io
import struct
import zlib

import numpy as np
import pillow_heif
from PIL import Image


def png(width: int, height: int, bits: int = 8, colour: int = 0, whole: bool = True) -> bytes:
    """A PNG of zeros, however large it says to be (W3C PNG, 5 and 11). whole: else it stops
    after a tenth of its rows.
    """
    channels = {0: 1, 2: 3, 6: 4}[colour]
    row = 1 + (width * channels * bits + 7) // 8
    packer = zlib.compressobj(9)
    data = bytearray()
    for _ in range(height if whole else height // 10):
        data += packer.compress(bytes(row))
    data += packer.flush()
    head = struct.pack(">IIBBBBB", width, height, bits, colour, 0, 0, 0)
    chunks = ((b"IHDR", head), (b"IDAT", bytes(data)), (b"IEND", b""))
    return b"\x89PNG\r\n\x1a\n" + b"".join(_chunk(*each) for each in chunks)


def _chunk(kind: bytes, data: bytes) -> bytes:
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))


def text_bomb() -> bytes:
    """A small PNG whose comment is 200 MB when it is unpacked."""
    good = png(8, 8)
    comment = b"Comment\0\0" + zlib.compress(bytes(200_000_000), 9)
    return good[:33] + _chunk(b"zTXt", comment) + good[33:]


def noise(width: int, height: int) -> Image.Image:
    dice = np.random.default_rng(4817)
    return Image.fromarray(dice.integers(0, 255, (height, width, 3), dtype=np.uint8))


def jpeg(image: Image.Image, **options: object) -> bytes:
    file = io.BytesIO()
    image.save(file, "JPEG", **options)  # type: ignore[arg-type]
    return file.getvalue()


def huge_heic(width: int, height: int) -> bytes:
    """A small HEIC that says in its box 'ispe' (ISO/IEC 23008-12, 6.5.3) to be of that size."""
    file = io.BytesIO()
    pillow_heif.from_pillow(noise(64, 64)).save(file)
    content = bytearray(file.getvalue())
    at = -1
    while (at := content.find(b"ispe", at + 1)) >= 0:
        struct.pack_into(">II", content, at + 8, width, height)
    return bytes(content)
