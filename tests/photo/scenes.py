"""Small rendered scenes for the tests, each drawn once a session."""

import functools
from dataclasses import replace
from pathlib import Path

from demo_media.scene import Belt, Camera, Look, Scene, jpeg

SMALL = Scene(
    camera=Camera(
        width=1120, height=1440, focal_px=1150, distance_mm=144, tilt_x_deg=3, tilt_y_deg=-4
    ),
    belt=Belt(gaps_mm=(0.45, 0.6, 0.5), offset_mm=0.3, skew_deg=0.2),
    look=Look(bench="steel", blur_px=0.7),
)


def scene(camera: dict | None = None, belt: dict | None = None, look: dict | None = None, **rest):
    """SMALL with some of its numbers changed."""
    return replace(
        SMALL,
        camera=replace(SMALL.camera, **(camera or {})),
        belt=replace(SMALL.belt, **(belt or {})),
        look=replace(SMALL.look, **(look or {})),
        **rest,
    )


@functools.cache
def drawn(wanted: Scene) -> bytes:
    return jpeg(wanted)


def written(wanted: Scene, folder: Path, name: str = "photo.jpg") -> Path:
    path = folder / name
    path.write_bytes(drawn(wanted))
    return path
