"""Make the pictures of the README's tour from a real run of the demo.

``python -m demo_media.make_tour``; needs pdftoppm (Debian's poppler-utils). Prints the demo's
summary for the README's text.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
from pathlib import Path

from PIL import Image

TOUR = Path(__file__).with_name("tour")


def main() -> None:
    TOUR.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory() as folder:
        home = Path(folder) / "home"
        done = subprocess.run(
            [sys.executable, "-m", "recorder", "demo", "--home", home],
            check=True, capture_output=True, text=True,
        )  # fmt: skip
        print(done.stdout)
        (pdf,) = home.glob("jobs/*/reports/*-approved.pdf")
        subprocess.run(
            ["pdftoppm", "-r", "75", "-l", "3", "-png", pdf, TOUR / "report"], check=True
        )
        (overlay,) = home.glob("jobs/*/derived/*photo_1_rejected_measured.jpg")
        with Image.open(overlay) as picture:
            picture.thumbnail((1000, 1200))
            picture.save(TOUR / "overlay.jpg", quality=85)
        (plot,) = home.glob("jobs/*/derived/*photo_1_rejected_gap.png")
        with Image.open(plot) as picture:
            picture.thumbnail((1000, 1200))
            picture.save(TOUR / "gap.png")
    for page in TOUR.glob("*.png"):
        with Image.open(page) as picture:
            picture.quantize(128).save(page, optimize=True)


if __name__ == "__main__":
    main()
