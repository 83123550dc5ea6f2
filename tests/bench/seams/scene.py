"""What stands in one picture and how it was taken: frozen values, millimetres and pixels."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from tests.bench.seams.camera import Camera
from tests.bench.seams.splice import Seam

Colour = tuple[float, float, float]
"""Reflectance in linear red, green, blue, 0..1."""


@dataclass(frozen=True)
class Belt:
    """widths, heights (of the top face above the bench) and colours of the left and right end.
    offset_mm: middle of the right end below that of the left. skew_deg: right end against left.
    bow_mm: sagitta of both edges over 100 mm. yaw_deg, at: how it lies under the card.
    groove_mm: the slot is so deep and ends on an under-layer of that colour; None: it goes
    through to the bench. fabric: period mm, contrast and angle of a weave; grain: rms of a fine
    speckle; profile: height of a guide profile's ridges is painted as stripes (y, width).
    """

    widths: tuple[float, float]
    heights: tuple[float, float]
    colours: tuple[Colour, Colour]
    offset_mm: float = 0.0
    skew_deg: float = 0.0
    bow_mm: float = 0.0
    yaw_deg: float = 0.0
    at: tuple[float, float] = (0.0, 0.0)
    groove_mm: float | None = None
    under: Colour = (0.05, 0.05, 0.05)
    fabric: tuple[float, float, float] = (0.5, 0.0, 0.0)
    cords: tuple[float, float] = (2.0, 0.0)
    grain: float = 0.01
    speckle: float = 0.0
    profile: tuple[tuple[float, float], ...] = ()


@dataclass(frozen=True)
class Mark:
    """Something on the belt that is no seam: a line, stroke or scratch; or a stain or bead.

    path: points in the belt frame. factor: what it leaves of the reflectance; above 1 brighter.
    """

    kind: Literal["print", "scratch", "pen", "burn", "flash", "dust"]
    path: tuple[tuple[float, float], ...]
    width_mm: float
    factor: float


CARD_MM = {"S": (85.6, 53.98), "M": (124.0, 164.0), "L": (190.0, 277.0)}
"""What 'seamnote card --json' says of each size; a test holds the art against it."""


@dataclass(frozen=True)
class CardLies:
    """size and how the card was printed (true / nominal length in x and y) and lies.

    thick_mm: its face above what it lies on. curl_mm: how far its corners rise. covered: markers'
    corners of the card (0..1 in both directions: x0, y0, x1, y1) under a cloth or glove.
    """

    size: str = "M"
    on: Literal["belt", "bench"] = "belt"
    scale: tuple[float, float] = (1.0, 1.0)
    known_scale: tuple[float, float] | None = (1.0, 1.0)
    thick_mm: float = 0.3
    curl_mm: float = 0.0
    curl_towards_deg: float = 0.0
    yaw_deg: float = 0.0
    at: tuple[float, float] = (0.0, 0.0)
    white: float = 0.85
    black: float = 0.04
    shown: bool = True


@dataclass(frozen=True)
class Shadow:
    """Beside a line through a point, dimmed by ``depth`` over a half-shade, in world mm."""

    through: tuple[float, float]
    towards_deg: float
    width_mm: float
    half_shade_mm: float
    depth: float


@dataclass(frozen=True)
class Light:
    """slope: relative change of the light per 100 mm in x and y. from_deg, height_deg: where the
    lamp is. direct: its share. glare: x, y, radius mm, strength. vignette: loss at the corners.
    """

    slope: tuple[float, float] = (0.0, 0.0)
    from_deg: float = 45.0
    height_deg: float = 55.0
    direct: float = 0.4
    shadows: tuple[Shadow, ...] = ()
    glare: tuple[float, float, float, float] | None = None
    vignette: float = 0.0
    tint: Colour = (1.0, 1.0, 1.0)


@dataclass(frozen=True)
class Blur:
    """sigma_px of the lens without the pixel's own aperture; a disc's radius; a motion."""

    sigma_px: float = 1.0
    disc_px: float = 0.0
    motion_px: float = 0.0
    motion_deg: float = 0.0


@dataclass(frozen=True)
class Sensor:
    """exposure: what a reflectance of 1 gives, 1 is full scale. electrons: full well. read: noise,
    electrons. tone: strength of an s-curve. sharpen, sharpen_px: unsharp mask on coded values.
    quality, chroma: of the JPEG. noise_px: how far noise is smeared. seed.
    """

    exposure: float = 0.9
    electrons: float = 8000.0
    read: float = 4.0
    noise_px: float = 0.0
    tone: float = 0.0
    sharpen: float = 0.0
    sharpen_px: float = 1.0
    quality: int = 92
    chroma: Literal["4:4:4", "4:2:0"] = "4:4:4"
    exif: Literal["full", "no35", "none"] = "full"
    maker: tuple[str, str] = ("Optika", "P1")
    orientation: int = 1
    seed: int = 0


@dataclass(frozen=True)
class Cover:
    """A cloth, glove or sheet over the scene: outline in world mm."""

    outline: tuple[tuple[float, float], ...]
    colour: Colour
    height_mm: float = 8.0


@dataclass(frozen=True)
class Scene:
    """name: stable within its set. verdict: what a careful person would make of the photo.
    factors: what makes it hard. limits: in force, chosen so that truth is clear of them.
    """

    name: str
    camera: Camera
    belt: Belt
    seams: tuple[Seam, ...]
    card: CardLies = CardLies()
    marks: tuple[Mark, ...] = ()
    clutter: tuple[str, ...] = ()
    bench: Colour = (0.25, 0.22, 0.18)
    bench_grain: float = 0.05
    covers: tuple[Cover, ...] = ()
    light: Light = Light()
    blur: Blur = Blur()
    sensor: Sensor = Sensor()
    verdict: Literal["good", "degraded", "unjudgeable"] = "good"
    factors: tuple[str, ...] = ()
    seed: int = 0
    limits: tuple[tuple[str, float | None, float | None], ...] = field(default=())
