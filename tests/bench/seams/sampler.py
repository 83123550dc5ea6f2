"""Scenes of a set: every factor of the issue at a stated share, the same ones each time."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, fields, is_dataclass, replace
from typing import Any

import numpy as np

from tests.bench.seams.camera import Camera
from tests.bench.seams.scene import (
    CARD_MM,
    Belt,
    Blur,
    CardLies,
    Colour,
    Cover,
    Light,
    Mark,
    Scene,
    Sensor,
    Shadow,
)
from tests.bench.seams.splice import Seam
from tests.bench.seams.truth import truth

Rng = np.random.Generator

# Tune on the first alone; the second is measured when a version is to be told about.
SEEDS = {"development": 20261, "report": 77053}
UNJUDGEABLE_SHARE = 0.16
# Of the judgeable: photos that a careful person took, so that no factor may make them hard.
CALM_SHARE = 0.4
EXCLUSIVE = (
    {"small_card", "large_card"}, {"coarse", "fine"}, {"blur", "crisp"}, {"blur", "defocus"},
    {"crisp", "defocus"}, {"crisp", "motion"}, {"print_scale", "unmeasured"}, {"dark", "colours"},
    {"dark", "light_bench"}, {"large_card", "coarse"}, {"bench", "stiff_card"},
)  # fmt: skip


@dataclass(frozen=True)
class Draft:
    """A scene in the making: its parts, its scale in px/mm, and how hard it has become."""

    scale: float
    tilt_deg: float
    k1: float
    k2: float
    belt: Belt
    seam: Seam
    card: CardLies
    light: Light
    blur: Blur
    sensor: Sensor
    bench: Colour
    bench_grain: float = 0.05
    marks: tuple[Mark, ...] = ()
    clutter: tuple[str, ...] = ()
    covers: tuple[Cover, ...] = ()
    more_seams: tuple[Seam, ...] = ()
    no_seam: bool = False
    shift: tuple[float, float] = (0.0, 0.0)
    hard: bool = False


def scenes(name: str, count: int, only: str | None = None) -> list[Scene]:
    """The first ``count`` scenes of a set, or of the suite of one factor of it."""
    return [scene(name, number, only) for number in range(count)]


def scene(name: str, number: int, only: str | None = None) -> Scene:
    """Raises KeyError for an unknown set or factor."""
    suite = sorted({**FACTORS, **REFUSED}).index(only) + 1 if only else 0
    rng = np.random.default_rng([SEEDS[name], number, suite])
    draft = _plain(rng)
    drawn: list[str] = []
    verdict = "good"
    if only in FACTORS or (only is None and rng.random() >= UNJUDGEABLE_SHARE):
        calm = only is None and rng.random() < CALM_SHARE
        for factor, (share, change) in FACTORS.items():
            wanted = rng.random() < share if only is None else only == factor
            if not wanted or any({factor, other} in EXCLUSIVE for other in drawn):
                continue
            changed = change(draft, rng)
            if calm and changed.hard:
                continue
            draft = changed
            drawn.append(factor)
        verdict = "degraded" if draft.hard else "good"
    else:
        kind = only or list(REFUSED)[int(rng.integers(len(REFUSED)))]
        draft = REFUSED[kind](draft, rng)
        drawn, verdict = [kind], "unjudgeable"
    label = f"{name[:3]}-{only + '-' if only else ''}{number:04d}"
    return _taken(draft, label, tuple(drawn), verdict, rng)


# ---- a plain good photo

_WIDTHS_MM = {"S": (12.0, 20.5), "M": (35.0, 100.0), "L": (90.0, 195.0)}
_PITCHES = {"S": ((4.0, 15.0), (5.0, 20.0)), "M": ((10.0, 30.0), (8.0, 25.0), (10.0, 40.0),
            (12.0, 35.0), (5.0, 20.0), (15.0, 45.0), (11.5, 35.0)),
            "L": ((10.0, 50.0), (15.0, 60.0), (20.0, 80.0), (11.5, 35.0))}  # fmt: skip


def _plain(rng: Rng) -> Draft:
    belt = _belt("M", rng)
    return Draft(
        scale=rng.uniform(10.5, 14.5),
        tilt_deg=rng.uniform(1, 9),
        k1=rng.normal(0, 0.003),
        k2=0.0,
        belt=belt,
        seam=_seam("M", belt, rng),
        card=CardLies(
            known_scale=_measured((1.0, 1.0), rng), thick_mm=rng.uniform(0.15, 0.4),
            yaw_deg=rng.normal(0, 1.0), at=tuple(rng.normal(0, 1.0, 2)),
            white=rng.uniform(0.75, 0.9), black=rng.uniform(0.03, 0.07),
        ),
        light=Light(
            slope=tuple(rng.normal(0, 0.04, 2)), from_deg=rng.uniform(0, 360),
            height_deg=rng.uniform(35, 75), direct=rng.uniform(0.15, 0.5),
            vignette=rng.uniform(0, 0.15), tint=tuple(np.clip(rng.normal(1, 0.02, 3), 0.9, 1.08)),
        ),
        blur=Blur(sigma_px=rng.uniform(0.85, 1.2)),
        sensor=Sensor(
            exposure=rng.uniform(0.75, 0.98), electrons=rng.uniform(6000, 15000),
            read=rng.uniform(2, 5), quality=int(rng.integers(90, 96)),
            sharpen=rng.uniform(0, 0.15), maker=_maker(rng), seed=int(rng.integers(1 << 30)),
        ),
        bench=tuple(np.clip(rng.uniform(0.04, 0.3) * rng.uniform(0.8, 1.15, 3), 0.02, 0.4)),
        bench_grain=rng.uniform(0.02, 0.08),
    )  # fmt: skip


def _maker(rng: Rng) -> tuple[str, str]:
    makers = (("Optika", "P1"), ("Optika", "P1 Max"), ("Lumen", "L20"), ("Ferno", "Tough 3"))
    return makers[int(rng.integers(len(makers)))]


def _measured(scale: tuple[float, float], rng: Rng) -> tuple[float, float]:
    """What a caliper of 0.02 mm reads on bars of 100 mm."""
    x, y = np.round(np.array(scale) + rng.normal(0, 2e-4, 2), 4)
    return float(x), float(y)


_BELTS: tuple[Colour, ...] = (
    (0.72, 0.74, 0.72), (0.62, 0.60, 0.52), (0.30, 0.48, 0.42), (0.20, 0.38, 0.55),
    (0.50, 0.55, 0.58), (0.28, 0.42, 0.24), (0.66, 0.64, 0.60), (0.45, 0.40, 0.30),
)  # fmt: skip


def _belt(size: str, rng: Rng) -> Belt:
    low, high = _WIDTHS_MM[size]
    width = float(np.round(rng.uniform(low, high), 2))
    if size == "M" and rng.random() < 0.5:
        width = float(rng.choice([40, 50, 60, 70, 80, 90])) + rng.normal(0, 0.15)
    colour = np.clip(np.array(_BELTS[int(rng.integers(len(_BELTS)))]) * rng.normal(1, 0.05, 3),
                     0.1, 0.8)  # fmt: skip
    other = np.clip(colour * rng.normal(1, 0.01), 0.1, 0.85)
    height = rng.uniform(1.0, 3.0)
    room = 0.3 if size == "S" else 1.0
    return Belt(
        widths=(width, width + rng.normal(0, 0.1)),
        heights=(height, height + rng.normal(0, 0.03)),
        colours=(tuple(colour), tuple(other)),
        offset_mm=rng.normal(0, 0.12), skew_deg=rng.normal(0, 0.06),
        yaw_deg=rng.normal(0, 1.2) * room, at=tuple(rng.normal(0, 1.2, 2) * room),
        groove_mm=None, under=tuple(rng.uniform(0.03, 0.12) * np.ones(3)),
        fabric=(rng.uniform(0.8, 1.6), rng.uniform(0, 0.03), rng.uniform(0, 90)),
        grain=rng.uniform(0.005, 0.02),
    )  # fmt: skip


def _seam(size: str, belt: Belt, rng: Rng) -> Seam:
    choices = _PITCHES[size]
    pitch, finger = choices[int(rng.integers(len(choices)))]
    kind = rng.random()
    gap = rng.uniform(0.0, 0.2) if kind < 0.12 else rng.uniform(0.2, 0.3) if kind < 0.3 else (
        0.3 + rng.gamma(1.6, 0.17)
    )  # fmt: skip
    gap = min(max(gap, 0.03), 1.3, 0.11 * pitch)
    flanks = tuple(_flank(gap * (1 + rng.normal(0, 0.05)), 0.03, rng) for _ in range(60))
    tip = min(max(rng.uniform(0.8, 2.2), 1.4 * gap + 0.5), (0.28 if pitch <= 5 else 0.36) * pitch)
    # A node falls so that no sliver of a finger is left at the upper edge.
    phase = -belt.widths[0] / pitch + rng.uniform(0.25, 0.75) * rng.choice([1, -1])
    return Seam(
        pitch_mm=pitch, finger_mm=finger, tip_mm=tip, gaps=flanks,
        tip_share=rng.uniform(0.6, 1.0), phase=float(phase), round_mm=rng.uniform(0, 0.15),
        fray_mm=rng.uniform(0, 0.008), seed=int(rng.integers(1 << 30)),
    )  # fmt: skip


def _flank(gap: float, wedge: float, rng: Rng) -> tuple[float, float]:
    change = gap * rng.uniform(-wedge, wedge)
    return (max(gap - change, 0.0), max(gap + change, 0.0))


# ---- what makes it hard; the order is that of drawing, sizes first

Change = Callable[[Draft, Rng], Draft]


def _in(draft: Draft, part: str, **values: Any) -> Draft:
    return replace(draft, **{part: replace(getattr(draft, part), **values)})


def _size(size: str, low: float, high: float) -> Change:
    def change(draft: Draft, rng: Rng) -> Draft:
        belt = _belt(size, rng)
        return replace(_in(draft, "card", size=size), belt=belt, seam=_seam(size, belt, rng),
                       scale=rng.uniform(low, high))  # fmt: skip

    return change


def _coarse(draft: Draft, rng: Rng) -> Draft:
    return replace(draft, scale=rng.uniform(8.0, 9.5), hard=True)


def _fine(draft: Draft, rng: Rng) -> Draft:
    most = {"S": 25.0, "M": 20.0, "L": 12.0}[draft.card.size]
    return replace(draft, scale=rng.uniform(0.75 * most, most))


def _tilt(draft: Draft, rng: Rng) -> Draft:
    tilt = rng.uniform(10, 30)
    return replace(draft, tilt_deg=tilt, hard=draft.hard or tilt > 16)


def _lens(draft: Draft, rng: Rng) -> Draft:
    strong = rng.random() < 0.25
    k1 = rng.uniform(0.02, 0.06) if strong else rng.uniform(0.004, 0.02)
    k1 *= rng.choice([-1, 1])
    return replace(draft, k1=k1, k2=-0.3 * k1 * rng.random(), hard=draft.hard or strong)


def _blur(draft: Draft, rng: Rng) -> Draft:
    return replace(_in(draft, "blur", sigma_px=rng.uniform(1.3, 2.2)), hard=True)


def _crisp(draft: Draft, rng: Rng) -> Draft:
    return _in(draft, "blur", sigma_px=rng.uniform(0.65, 0.8))


def _defocus(draft: Draft, rng: Rng) -> Draft:
    return replace(_in(draft, "blur", sigma_px=0.7, disc_px=rng.uniform(1.2, 3.0)), hard=True)


def _motion(draft: Draft, rng: Rng) -> Draft:
    moved = _in(draft, "blur", sigma_px=0.8, motion_px=rng.uniform(1.5, 4.0),
                motion_deg=rng.uniform(0, 180))  # fmt: skip
    return replace(moved, hard=True)


def _noise(draft: Draft, rng: Rng) -> Draft:
    noisy = _in(draft, "sensor", electrons=10 ** rng.uniform(2.7, 3.5), read=rng.uniform(4, 9),
                noise_px=rng.choice([0.0, 0.0, 0.6, 0.9]))  # fmt: skip
    return replace(noisy, hard=True)


def _sharpening(draft: Draft, rng: Rng) -> Draft:
    amount = rng.uniform(0.15, 0.8)
    done = _in(draft, "sensor", sharpen=amount, sharpen_px=rng.uniform(0.8, 1.8))
    return replace(done, hard=draft.hard or amount > 0.4)


def _jpeg(draft: Draft, rng: Rng) -> Draft:
    quality = int(rng.integers(60, 90))
    done = _in(draft, "sensor", quality=quality, chroma="4:2:0")
    return replace(done, hard=draft.hard or quality < 80)


def _tone(draft: Draft, rng: Rng) -> Draft:
    strength = rng.uniform(0.1, 0.5)
    return replace(_in(draft, "sensor", tone=strength), hard=draft.hard or strength > 0.25)


def _gradient(draft: Draft, rng: Rng) -> Draft:
    angle, size = rng.uniform(0, 2 * np.pi), rng.uniform(0.15, 0.45)
    slope = (size * np.cos(angle), size * np.sin(angle))
    dimmer = draft.sensor.exposure / (1 + 0.4 * size)
    return _in(_in(draft, "light", slope=slope), "sensor", exposure=dimmer)


def _dim(draft: Draft, rng: Rng) -> Draft:
    return replace(_in(draft, "sensor", exposure=rng.uniform(0.3, 0.55)), hard=True)


def _glare(draft: Draft, rng: Rng) -> Draft:
    half = draft.belt.widths[0] / 2
    spot = (rng.uniform(-45, 45), rng.uniform(-half, half), rng.uniform(6, 25),
            rng.uniform(0.08, 0.3))  # fmt: skip
    dimmer = draft.sensor.exposure * 0.85
    return replace(_in(_in(draft, "light", glare=spot), "sensor", exposure=dimmer), hard=True)


def _shadow(draft: Draft, rng: Rng) -> Draft:
    hard = rng.random() < 0.5
    shadow = Shadow(
        through=(rng.uniform(-30, 20), rng.uniform(-25, 25)), towards_deg=rng.uniform(0, 360),
        width_mm=rng.uniform(8, 60), half_shade_mm=rng.uniform(0.2, 1) if hard else
        rng.uniform(3, 15), depth=rng.uniform(0.2, 0.55),
    )  # fmt: skip
    return replace(_in(draft, "light", shadows=(shadow,)), hard=True)


def _fabric(draft: Draft, rng: Rng) -> Draft:
    period, contrast = rng.uniform(0.25, 1.0), rng.uniform(0.06, 0.25)
    done = _in(draft, "belt", fabric=(period, contrast, rng.uniform(0, 90)))
    return replace(done, hard=draft.hard or contrast > 0.12)


def _grain(draft: Draft, rng: Rng) -> Draft:
    done = _in(draft, "belt", grain=rng.uniform(0.03, 0.08), speckle=rng.choice([0, 0.3, 0.5]))
    return replace(done, hard=True)


def _cords(draft: Draft, rng: Rng) -> Draft:
    return _in(draft, "belt", cords=(rng.uniform(0.8, 4.0), rng.uniform(0.03, 0.12)))


def _colours(draft: Draft, rng: Rng) -> Draft:
    left = np.array(draft.belt.colours[0])
    right = np.clip(left * rng.uniform(0.65, 1.4) * rng.normal(1, 0.06, 3), 0.1, 0.85)
    return _in(draft, "belt", colours=(tuple(left), tuple(right)))


def _heights(draft: Draft, rng: Rng) -> Draft:
    left = draft.belt.heights[0]
    return _in(draft, "belt", heights=(left, left + rng.choice([-1, 1]) * rng.uniform(0.15, 0.5)))


def _dark(draft: Draft, rng: Rng) -> Draft:
    shade = rng.uniform(0.12, 0.2) * rng.normal(1, 0.05, 3)
    done = _in(draft, "belt", colours=(tuple(shade), tuple(shade * rng.normal(1, 0.02))))
    bench = tuple(np.clip(rng.uniform(0.3, 0.55) * np.ones(3), 0, 0.6))
    return replace(done, bench=bench, hard=True)


def _groove(draft: Draft, rng: Rng) -> Draft:
    """After the press: no slot through to the bench but a shallow line on darker material."""
    depth = min(rng.uniform(0.15, 0.9), 0.7 * min(draft.belt.heights))
    under = np.array(draft.belt.colours[0]) * rng.uniform(0.12, 0.45)
    return _in(draft, "belt", groove_mm=depth, under=tuple(under))


def _thick(draft: Draft, rng: Rng) -> Draft:
    height = rng.uniform(3.0, 6.0)
    return _in(draft, "belt", heights=(height, height + rng.normal(0, 0.05)))


def _bench(draft: Draft, rng: Rng) -> Draft:
    return _in(draft, "card", on="bench", thick_mm=rng.uniform(0.1, 0.25))


def _print_scale(draft: Draft, rng: Rng) -> Draft:
    scale = (1 + rng.uniform(-0.01, 0.01), 1 + rng.uniform(-0.01, 0.01))
    return _in(draft, "card", scale=scale, known_scale=_measured(scale, rng))


def _unmeasured(draft: Draft, rng: Rng) -> Draft:
    scale = (1 + rng.uniform(-0.008, 0.008), 1 + rng.uniform(-0.008, 0.008))
    return replace(_in(draft, "card", scale=scale, known_scale=None), hard=True)


def _curl(draft: Draft, rng: Rng) -> Draft:
    done = _in(draft, "card", curl_mm=rng.uniform(0.4, 2.0), curl_towards_deg=rng.uniform(0, 180))
    return replace(done, hard=True)


def _stiff_card(draft: Draft, rng: Rng) -> Draft:
    return _in(draft, "card", thick_mm=rng.uniform(0.5, 1.0))


def _lines(draft: Draft, rng: Rng) -> Draft:
    """Lines printed along or across the belt, or a lattice of fine ones."""
    half, marks = draft.belt.widths[0] / 2, []
    factor = rng.uniform(0.15, 0.7)
    for _ in range(int(rng.integers(1, 5))):
        width = rng.uniform(0.2, 1.5)
        if rng.random() < 0.5:
            y = rng.uniform(-0.9, 0.9) * half
            marks.append(Mark("print", ((-300, y), (300, y)), width, factor))
        else:
            x = rng.choice([-1, 1]) * rng.uniform(0.55, 1.1) * draft.seam.finger_mm
            marks.append(Mark("print", ((x, -half), (x, half)), width, factor))
    return replace(draft, marks=draft.marks + tuple(marks), hard=True)


def _zigzag(draft: Draft, rng: Rng) -> Draft:
    """The outline of a template drawn beside the seam with a pen: a seam to the hasty eye."""
    seam, half = draft.seam, draft.belt.widths[0] / 2
    at = rng.choice([-1, 1]) * (seam.finger_mm * rng.uniform(0.15, 0.9))
    n = np.arange(-40, 41)
    y = n * seam.pitch_mm / 2 + rng.uniform(0, seam.pitch_mm)
    x = at + np.where(n % 2 == 0, 1, -1) * seam.finger_mm * rng.uniform(0.1, 0.4)
    path = tuple((float(a), float(b)) for a, b in zip(x, y, strict=True) if abs(b) < half)
    mark = Mark("pen", path, rng.uniform(0.2, 0.6), rng.uniform(0.5, 0.85))
    return replace(draft, marks=(*draft.marks, mark), hard=True)


def _scratches(draft: Draft, rng: Rng) -> Draft:
    half, marks = draft.belt.widths[0] / 2, []
    for _ in range(int(rng.integers(2, 9))):
        start = np.array([rng.uniform(-40, 40), rng.uniform(-half, half)])
        turn, length = rng.uniform(0, 2 * np.pi), rng.uniform(5, 45)
        stop = start + length * np.array([np.cos(turn), np.sin(turn)])
        bend = (start + stop) / 2 + rng.normal(0, 1.0, 2)
        kind = "scratch" if rng.random() < 0.6 else "pen"
        factor = rng.uniform(0.4, 0.85)
        if kind == "scratch" and rng.random() < 0.4:
            factor = rng.uniform(1.1, 1.4)
        path = tuple((float(x), float(y)) for x, y in (start, bend, stop))
        marks.append(Mark(kind, path, rng.uniform(0.08, 0.5), factor))
    return replace(draft, marks=draft.marks + tuple(marks), hard=True)


def _wedge(draft: Draft, rng: Rng) -> Draft:
    mean = float(np.mean(draft.seam.gaps))
    return _in(draft, "seam", gaps=tuple(_flank(mean, 0.5, rng) for _ in range(60)))


def _per_finger(draft: Draft, rng: Rng) -> Draft:
    mean = float(np.mean(draft.seam.gaps))
    share = np.clip(rng.gamma(5, 0.2, 60), 0.3, 2.0)
    gaps = tuple(_flank(mean * float(s), 0.15, rng) for s in share)
    return _roomy(_in(draft, "seam", gaps=gaps))


def _roomy(draft: Draft) -> Draft:
    """Tips broad enough that the widest gap does not eat them."""
    widest = float(np.max(draft.seam.gaps))
    return _in(draft, "seam", tip_mm=max(draft.seam.tip_mm, min(1.3 * widest + 0.4,
               0.45 * draft.seam.pitch_mm)))  # fmt: skip


def _open_finger(draft: Draft, rng: Rng) -> Draft:
    """One finger stands open far beyond the others."""
    gaps = list(draft.seam.gaps)
    k, wide = int(rng.integers(len(gaps))), min(rng.uniform(0.8, 1.6), 0.22 * draft.seam.pitch_mm)
    for flank in range(k, k + 60, int(rng.integers(6, 9))):
        gaps[flank % 60] = (wide, wide * rng.uniform(0.6, 1.0))
    return replace(_roomy(_in(draft, "seam", gaps=tuple(gaps))), hard=True)


def _open_tips(draft: Draft, rng: Rng) -> Draft:
    """Some tips cut short; or the ends not pushed home, so that all tips and flanks stand open."""
    if rng.random() < 0.5:
        seam, apart = draft.seam, rng.uniform(1.0, 3.5)
        half = seam.pitch_mm / 2 - seam.tip_mm
        wider = apart * half / np.hypot(half, seam.finger_mm)
        gaps = tuple((a + wider, b + wider) for a, b in seam.gaps)
        short = tuple((n, apart) for n in range(-90, 91))
        return replace(_roomy(_in(draft, "seam", gaps=gaps, short=short)), hard=True)
    first = int(rng.integers(-3, 3))
    short = tuple((first + 7 * k, rng.uniform(1.2, 3.0)) for k in range(-4, 5))
    return replace(_in(draft, "seam", short=short), hard=True)


def _rounded(draft: Draft, rng: Rng) -> Draft:
    return _in(draft, "seam", round_mm=rng.uniform(0.2, 0.45 * draft.seam.tip_mm))


def _fray(draft: Draft, rng: Rng) -> Draft:
    return _in(draft, "seam", fray_mm=rng.uniform(0.01, 0.03))


def _flash(draft: Draft, rng: Rng) -> Draft:
    """Material pressed out beside the seam: a brighter bead that follows part of it."""
    seam, half = draft.seam, draft.belt.widths[0] / 2
    n = np.arange(-60, 61)
    y = (n + seam.phase) * seam.pitch_mm / 2
    x = np.where(n % 2 == 0, 1, -1) * seam.finger_mm / 2
    y_fine = np.arange(-half, half, 0.2)
    x_fine = np.interp(y_fine, y, x)
    start = int(rng.integers(0, max(len(y_fine) // 2, 1)))
    part = slice(start, start + len(y_fine) // 2)
    shift = rng.choice([-1, 1]) * rng.uniform(0.4, 1.0)
    path = tuple((float(a), float(b)) for a, b in zip(x_fine[part], y_fine[part] + shift,
                                                     strict=True))  # fmt: skip
    mark = Mark("flash", path, rng.uniform(0.4, 1.0), rng.uniform(1.08, 1.3))
    return replace(draft, marks=(*draft.marks, mark), hard=True)


def _burn(draft: Draft, rng: Rng) -> Draft:
    half, marks = draft.belt.widths[0] / 2, []
    for _ in range(int(rng.integers(1, 4))):
        x, y = rng.uniform(-0.5, 0.5) * draft.seam.finger_mm, rng.uniform(-half, half)
        path = ((x, y), (x + rng.normal(0, 4), y + rng.normal(0, 4)))
        marks.append(Mark("burn", path, rng.uniform(3, 9), rng.uniform(0.5, 0.85)))
    return replace(draft, marks=draft.marks + tuple(marks), hard=True)


def _clutter(draft: Draft, rng: Rng) -> Draft:
    things = ["cable", "rule", "tool", "paper", "squares"]
    picked = rng.choice(things, int(rng.integers(2, 6)))
    return replace(draft, clutter=tuple(str(thing) for thing in picked))


def _light_bench(draft: Draft, rng: Rng) -> Draft:
    """A bench nearly as bright as the belt: its edge has little contrast."""
    mean = float(np.mean(draft.belt.colours[0]))
    bench = tuple(
        np.clip(mean * rng.choice([0.6, 0.7, 1.3]) * np.array([1, 0.97, 0.92]), 0.05, 0.8)
    )
    return replace(draft, bench=bench, hard=True)


def _offset(draft: Draft, rng: Rng) -> Draft:
    return _in(draft, "belt", offset_mm=rng.choice([-1, 1]) * rng.uniform(0.3, 1.5))


def _skew(draft: Draft, rng: Rng) -> Draft:
    return _in(draft, "belt", skew_deg=rng.choice([-1, 1]) * rng.uniform(0.15, 0.8))


def _bow(draft: Draft, rng: Rng) -> Draft:
    return _in(draft, "belt", bow_mm=rng.choice([-1, 1]) * rng.uniform(0.03, 0.15))


def _guide(draft: Draft, rng: Rng) -> Draft:
    """A guide profile along the belt, seen as a ridge."""
    y = rng.uniform(-0.3, 0.3) * draft.belt.widths[0]
    return replace(_in(draft, "belt", profile=((y, rng.uniform(4, 9)),)), hard=True)


def _no_exif(draft: Draft, rng: Rng) -> Draft:
    return _in(draft, "sensor", exif="none" if rng.random() < 0.7 else "no35")


def _turned(draft: Draft, rng: Rng) -> Draft:
    return _in(draft, "sensor", orientation=int(rng.choice([3, 6, 8])))


FACTORS: dict[str, tuple[float, Change]] = {
    "small_card": (0.12, _size("S", 11.0, 20.0)),
    "large_card": (0.08, _size("L", 8.0, 10.0)),
    "coarse": (0.18, _coarse),
    "fine": (0.14, _fine),
    "tilt": (0.35, _tilt),
    "lens": (0.4, _lens),
    "blur": (0.25, _blur),
    "crisp": (0.15, _crisp),
    "defocus": (0.07, _defocus),
    "motion": (0.07, _motion),
    "noise": (0.2, _noise),
    "sharpening": (0.35, _sharpening),
    "jpeg": (0.3, _jpeg),
    "tone": (0.2, _tone),
    "gradient": (0.3, _gradient),
    "dim": (0.06, _dim),
    "glare": (0.1, _glare),
    "shadow": (0.15, _shadow),
    "fabric": (0.25, _fabric),
    "grain": (0.12, _grain),
    "cords": (0.08, _cords),
    "colours": (0.25, _colours),
    "dark": (0.06, _dark),
    "thick": (0.12, _thick),
    "heights": (0.2, _heights),
    "groove": (0.4, _groove),
    "bench": (0.25, _bench),
    "print_scale": (0.4, _print_scale),
    "unmeasured": (0.1, _unmeasured),
    "stiff_card": (0.1, _stiff_card),
    "curl": (0.1, _curl),
    "wedge": (0.25, _wedge),
    "per_finger": (0.25, _per_finger),
    "open_finger": (0.06, _open_finger),
    "open_tips": (0.04, _open_tips),
    "rounded": (0.2, _rounded),
    "fray": (0.2, _fray),
    "lines": (0.12, _lines),
    "zigzag": (0.05, _zigzag),
    "scratches": (0.15, _scratches),
    "flash": (0.08, _flash),
    "burn": (0.08, _burn),
    "clutter": (0.35, _clutter),
    "light_bench": (0.06, _light_bench),
    "offset": (0.25, _offset),
    "skew": (0.2, _skew),
    "bow": (0.1, _bow),
    "guide": (0.05, _guide),
    "no_exif": (0.25, _no_exif),
    "turned": (0.15, _turned),
}
"""Name -> share of the judgeable scenes, and what it changes."""


# ---- photos that nobody could judge


def _no_card(draft: Draft, rng: Rng) -> Draft:
    return _clutter(_in(draft, "card", shown=False), rng)


def _sheet(x0: float, y0: float, x1: float, y1: float, rng: Rng) -> tuple[tuple[float, float], ...]:
    """A rectangle with a ragged outline."""
    corners = np.array([[x0, y0], [x1, y0], [x1, y1], [x0, y1]])
    path = [a + t * (b - a) for a, b in zip(corners, np.roll(corners, -1, axis=0), strict=True)
            for t in np.linspace(0, 1, 12, endpoint=False)]  # fmt: skip
    return tuple((float(x), float(y)) for x, y in np.array(path) + rng.normal(0, 0.8, (48, 2)))


def _cloth(rng: Rng) -> Colour:
    r, g, b = rng.uniform(0.05, 0.6, 3)
    return (float(r), float(g), float(b))


def _markers_hidden(draft: Draft, rng: Rng) -> Draft:
    """A cloth over all markers beside one edge of the belt and all but one beside the other."""
    w, h = CARD_MM[draft.card.size]
    edge = draft.belt.widths[0] / 2 + 3
    covers = (
        Cover(_sheet(-w, -h, w, -edge, rng), _cloth(rng)),
        Cover(_sheet(-w / 2 + 22, edge, w, h, rng), _cloth(rng)),
    )
    return replace(draft, covers=covers)


def _far_out_of_focus(draft: Draft, rng: Rng) -> Draft:
    return _in(draft, "blur", sigma_px=rng.uniform(7, 14))


def _shaken(draft: Draft, rng: Rng) -> Draft:
    return _in(draft, "blur", motion_px=rng.uniform(25, 60), motion_deg=rng.uniform(0, 180))


def _too_small(draft: Draft, rng: Rng) -> Draft:
    return replace(draft, scale=rng.uniform(2.0, 3.5))


def _burnt_out(draft: Draft, rng: Rng) -> Draft:
    """The belt is white beyond the sensor's range, and the slot is flooded too."""
    bright = rng.uniform(0.6, 0.8) * np.ones(3)
    light = _in(draft, "light", glare=(0.0, 0.0, 45.0, rng.uniform(0.8, 1.4)))
    return _in(_in(light, "belt", colours=(tuple(bright), tuple(bright))), "sensor", exposure=2.2)


def _edge_cut_off(draft: Draft, rng: Rng) -> Draft:
    """So near that one edge of the belt lies outside the picture."""
    h = CARD_MM["M"][1]
    side = rng.choice([-1, 1])
    at = 0.65 * h - draft.belt.widths[0] / 2 + rng.uniform(3, 8)
    return replace(draft, shift=(0.0, float(side * at)))


def _no_seam(draft: Draft, rng: Rng) -> Draft:
    return replace(draft, no_seam=True)


def _two_seams(draft: Draft, rng: Rng) -> Draft:
    belt = _belt("M", rng)
    seam = replace(_seam("M", belt, rng), pitch_mm=10.0, finger_mm=25.0)
    wide = tuple((0.35, 0.35) for _ in seam.gaps)
    seam = replace(seam, gaps=wide, tip_mm=1.5)
    return replace(draft, belt=belt, seam=replace(seam, at_mm=-21.0),
                   more_seams=(replace(seam, at_mm=21.0, seed=seam.seed + 1),))  # fmt: skip


def _seam_hidden(draft: Draft, rng: Rng) -> Draft:
    """A cloth or glove over nearly all of the seam."""
    half, reach = draft.belt.widths[0] / 2, draft.seam.finger_mm / 2 + 4
    part = rng.uniform(0.75, 1.0)
    top = -half - 4
    return replace(draft, covers=(Cover(
        _sheet(-reach, top, reach, top + part * (2 * half + 8), rng), _cloth(rng), 4.0
    ),))  # fmt: skip


def _steep(draft: Draft, rng: Rng) -> Draft:
    return replace(draft, tilt_deg=rng.uniform(60, 68))


REFUSED: dict[str, Change] = {
    "no_card": _no_card,
    "markers_hidden": _markers_hidden,
    "far_out_of_focus": _far_out_of_focus,
    "shaken": _shaken,
    "too_small": _too_small,
    "burnt_out": _burnt_out,
    "edge_cut_off": _edge_cut_off,
    "no_seam": _no_seam,
    "two_seams": _two_seams,
    "seam_hidden": _seam_hidden,
    "steep": _steep,
}


# ---- the camera that takes it


def _taken(draft: Draft, name: str, factors: tuple[str, ...], verdict: Any, rng: Rng) -> Scene:
    """Stand the camera so that the whole card is in the picture with some margin."""
    card = draft.card
    w, h = CARD_MM[card.size]
    margin = rng.uniform(1.06, 1.2)
    towards = rng.uniform(0, 360)
    steep = 1 + 0.45 * np.sin(np.radians(min(draft.tilt_deg, 60)))
    quarter = rng.random() < 0.3
    roll = (90.0 if quarter else 0.0) + rng.normal(0, 2.0)
    long_mm = max(w, h) * margin * steep
    short_mm = max(min(w, h) * margin * steep, 0.72 * long_mm)
    across, down = (short_mm, long_mm) if (h > w) != quarter else (long_mm, short_mm)
    width, height = (int(round(v * draft.scale / 8) * 8) for v in (across, down))
    focal = rng.uniform(0.72, 1.05) * max(width, height)
    distance = focal / draft.scale + float(np.mean(draft.belt.heights))
    camera = Camera(
        width, height, focal, distance, draft.tilt_deg, towards, roll,
        (draft.shift[0] + rng.normal(0, 1.5), draft.shift[1] + rng.normal(0, 1.5)),
        draft.k1, draft.k2, tuple(rng.normal(0, 0.004, 2) * width),
    )  # fmt: skip
    seams = () if draft.no_seam else (draft.seam, *draft.more_seams)
    made = Scene(
        name=name, camera=camera, belt=draft.belt, seams=seams, card=card,
        marks=draft.marks, clutter=draft.clutter, bench=draft.bench,
        bench_grain=draft.bench_grain, covers=draft.covers, light=draft.light, blur=draft.blur,
        sensor=draft.sensor, verdict=verdict, factors=factors, seed=int(rng.integers(1 << 30)),
    )  # fmt: skip
    return _plain_numbers(replace(made, limits=_limits(made, rng)))


def _plain_numbers(value: Any) -> Any:
    """The same value with Python's numbers where numpy's had slipped in."""
    if is_dataclass(value):
        parts = {part.name: _plain_numbers(getattr(value, part.name)) for part in fields(value)}
        return replace(value, **parts)
    if isinstance(value, tuple):
        return tuple(_plain_numbers(one) for one in value)
    return value.item() if isinstance(value, np.generic) else value


def _limits(made: Scene, rng: Rng) -> tuple[tuple[str, float | None, float | None], ...]:
    """Limits clear of the truth, on either side: by twice what the targets allow, and more."""
    true = truth(made)
    if true is None:
        return (("finger_gap", None, 0.8),)
    clear = 0.12 + 0.15 * true.gap_max
    over = true.gap_max > 0.35 and rng.random() < 0.4
    gap = true.gap_max - clear if over else max(true.gap_max + clear, 0.35)
    gap += (-1 if over else 1) * rng.uniform(0, 0.1)
    spare = 0.9 + 0.012 * true.splice_width + rng.uniform(0, 0.5)
    shift = rng.choice([0.0, 0.0, 0.0, 2.5 * spare])
    width = true.splice_width + shift
    offset = true.edge_offset + 0.3 + rng.uniform(0, 0.4)
    return (
        ("finger_gap", None, round(max(gap, 0.1), 3)),
        ("splice_width", round(width - spare, 2), round(width + spare, 2)),
        ("edge_offset", None, round(offset, 2)),
    )
