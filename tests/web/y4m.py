"""A photo as the endless film that Chromium's fake camera plays: YUV4MPEG2, 4:2:0.

``--use-fake-device-for-media-stream --use-file-for-fake-video-capture=FILM``; the browser offers
the film's own size and no other, and plays it over and over.
"""

from __future__ import annotations

from pathlib import Path

import cv2
import numpy as np

_GROUND = 96  # grey around a photo of another shape


def film(photo: Path, target: Path, size_px: tuple[int, int], rate: int = 5) -> Path:
    """Two frames of a photo, as large as fits into ``size_px`` (even numbers), on grey."""
    bgr = cv2.imread(str(photo))
    width, height = size_px
    share = min(width / bgr.shape[1], height / bgr.shape[0])
    if share != 1:
        way = cv2.INTER_AREA if share < 1 else cv2.INTER_CUBIC
        bgr = cv2.resize(bgr, None, fx=share, fy=share, interpolation=way)
    left, top = (width - bgr.shape[1]) // 2, (height - bgr.shape[0]) // 2
    frame = np.full((height, width, 3), _GROUND, np.uint8)
    frame[top : top + bgr.shape[0], left : left + bgr.shape[1]] = bgr
    planes = cv2.cvtColor(frame, cv2.COLOR_BGR2YUV_I420).tobytes()
    head = b"YUV4MPEG2 W%d H%d F%d:1 Ip A1:1 C420\n" % (width, height, rate)
    target.write_bytes(head + 2 * (b"FRAME\n" + planes))
    return target
