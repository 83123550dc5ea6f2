"""The fake camera plays the photo: a frame of the film measures like the photo itself."""

from pathlib import Path

import cv2
import numpy as np

from recorder.photo.image.conditions import Conditions
from recorder.photo.measure import measure
from tests.web.y4m import film

PHOTO = Path(__file__).parents[2] / "demo_media" / "job" / "photo_1_rejected.jpg"


def test_a_frame_of_the_film_measures_like_the_photo(tmp_path: Path) -> None:
    """Without EXIF, so that the lens is told by the card alone, as of every still from a video."""
    content = film(PHOTO, tmp_path / "film.y4m", (2560, 1440)).read_bytes()
    head, _, rest = content.partition(b"\n")
    assert head.split() == [b"YUV4MPEG2", b"W2560", b"H1440", b"F5:1", b"Ip", b"A1:1", b"C420"]
    size = 2560 * 1440 * 3 // 2
    assert len(rest) == 2 * (size + len(b"FRAME\n"))
    planes = np.frombuffer(rest[6 : 6 + size], np.uint8).reshape(1440 * 3 // 2, 2560)
    still = tmp_path / "still.png"
    cv2.imwrite(str(still), cv2.cvtColor(planes, cv2.COLOR_YUV2BGR_I420))
    one, other = (measure(path, Conditions(print_scale=(1.0, 1.0))) for path in (PHOTO, still))
    assert one.gap_max is not None
    assert other.gap_max is not None
    assert other.lens == "found from the card in the photo"
    assert other.gap_max.U >= one.gap_max.U
    assert abs(one.gap_max.value - other.gap_max.value) < one.gap_max.U + other.gap_max.U
