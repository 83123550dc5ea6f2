"""What a camera makes of edges and slots: blur in light, then tones, then its own sharpening.

The scene's light is blurred by the lens, coded as sRGB, and then sharpened by an unsharp mask on
the codes, as cameras do. For straight lines all of it is one-dimensional, so that the model is
exact. The reference card shows edges of known shape; ``learn`` reads the camera off them.
"""

from __future__ import annotations

import functools
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from recorder.photo.edges.batch import Fits, fit_all
from recorder.photo.edges.normal import normal_cdf, normal_pdf
from recorder.photo.edges.strips import Strips
from recorder.photo.image.light import code

Array = NDArray[np.float64]

NOISE_FLOOR = 1.5 / 255  # of a pixel's code: rounding and JPEG leave this much
_MIN_SIGMA_PX, _MAX_SIGMA_PX = 0.25, 12.0
_FLATTEST = 0.9
_RADII_PX = (1.0, 1.6, 2.6)
_AMOUNTS = (0.3, 0.7)
_FLATNESSES = (0.5, 0.75, 0.9)
_BLUR_OPEN = 1.0  # standard uncertainty of the logarithm of a blur that is to be found
_TRY_STEPS = 5
_GAIN_NEEDED = 0.02  # of the cost; a richer camera that explains no more is not believed


@dataclass(frozen=True)
class Response:
    """flat: shape of the blur from 0 (Gaussian) towards 1 (two points apart, as the edge of a
    defocused disc has it). sharpen: amount of the unsharp mask. radius_px: its Gaussian sigma.
    """

    flat: float = 0.0
    sharpen: float = 0.0
    radius_px: float = 1.4

    def edge(self, z: Array) -> tuple[Array, Array]:
        """Blurred unit step at ``z`` sigmas from it, and its density."""
        if not self.flat:
            return normal_cdf(z), normal_pdf(z)
        apart, narrow = self.flat, float(np.sqrt(1 - self.flat**2))
        left, right = (z + apart) / narrow, (z - apart) / narrow
        share = (normal_cdf(left) + normal_cdf(right)) / 2
        return share, (normal_pdf(left) + normal_pdf(right)) / (2 * narrow)

    def shown(self, strips: Strips, light: Array, slopes: Array) -> tuple[Array, Array]:
        """Codes (n, bins) of light (n, bins), and their derivatives (n, bins, p)."""
        coded, steep = code(light)
        turned = slopes * steep[:, :, None]
        if self.sharpen:
            bin_px = float(strips.place[1] - strips.place[0])
            mix = _mask(len(strips.place), bin_px, self.sharpen, self.radius_px)
            coded = coded @ mix.T
            turned = mix @ turned
        coded = coded + np.gradient(coded, strips.place, axis=1) * strips.aside
        over = coded > 1.0
        return np.where(over, 1.0, coded), np.where(over[:, :, None], 0.0, turned)


@functools.lru_cache(maxsize=64)
def _mask(bins: int, bin_px: float, sharpen: float, radius_px: float) -> Array:
    """(bins, bins) the unsharp mask as a matrix; the rims repeat what lies at the end."""
    reach = int(np.ceil(3.5 * radius_px / bin_px))
    offsets = np.arange(-reach, reach + 1)
    kernel = np.exp(-0.5 * (offsets * bin_px / radius_px) ** 2)
    kernel /= kernel.sum()
    soft = np.zeros((bins, bins))
    rows = np.arange(bins)
    for offset, share in zip(offsets, kernel, strict=True):
        soft[rows, np.clip(rows + offset, 0, bins - 1)] += share
    return np.asarray((1 + sharpen) * np.eye(bins) - sharpen * soft)


def step_model(strips: Strips, response: Response) -> Callable[[Array], tuple[Array, Array]]:
    """Parameters: place (px), logarithm of sigma (px), light before and after the edge."""

    def model(p: Array) -> tuple[Array, Array]:
        sigma = np.exp(np.clip(p[:, 1], np.log(_MIN_SIGMA_PX), np.log(_MAX_SIGMA_PX)))[:, None]
        z = (strips.place - p[:, :1]) / sigma
        share, density = response.edge(z)
        rise = (p[:, 3] - p[:, 2])[:, None]
        light = p[:, 2:3] + rise * share
        slopes = np.stack([-rise * density / sigma, -rise * density * z, 1 - share, share], axis=2)
        return response.shown(strips, light, slopes)

    return model


def slot_model(
    strips: Strips, response: Response, sigma_px: Array
) -> Callable[[Array], tuple[Array, Array]]:
    """Parameters: light of the left and of the right bank and of the floor, place and width of the
    slot (px), and lean: share by which the light rises over a pixel. sigma_px: (n,) known blur.
    """
    sigma = sigma_px[:, None]

    def model(p: Array) -> tuple[Array, Array]:
        left, right, floor, place, width, lean = (p[:, i : i + 1] for i in range(6))
        d = strips.place - place
        into, d_in = response.edge((d + width / 2) / sigma)
        out, d_out = response.edge((d - width / 2) / sigma)
        level = left + (floor - left) * into + (right - floor) * out
        tilt = 1 + lean * d
        fall, rise = (floor - left) * d_in / sigma, (right - floor) * d_out / sigma
        slopes = np.stack(
            [
                (1 - into) * tilt,
                out * tilt,
                (into - out) * tilt,
                -(fall + rise) * tilt - lean * level,
                (fall - rise) / 2 * tilt,
                level * d,
            ],
            axis=2,
        )
        return response.shown(strips, level * tilt, slopes)

    return model


def fit_steps(
    strips: Strips, response: Response, sigma_px: Array, sigma_u: float, steps: int = 14
) -> Fits:
    """Edges in n profiles; sigma_px: (n,) expected blur, sigma_u: of its logarithm."""
    before, after = banks(strips)
    start = np.column_stack([_rough_place(strips, before, after), np.log(sigma_px), before, after])
    stiff = np.zeros_like(start)
    stiff[:, 1] = 1 / sigma_u
    return fit_all(
        step_model(strips, response), strips.value, strips.count, start, (start, stiff),
        NOISE_FLOOR, steps,
    )  # fmt: skip


def banks(strips: Strips) -> tuple[Array, Array]:
    """Light at the two ends of each profile."""
    reach = np.where(strips.count > 0, np.abs(strips.place), 0).max(axis=1, keepdims=True)
    ends = []
    for way in (-1, 1):
        beyond = (way * strips.place > 0.45 * reach) * strips.count
        mean = (beyond * strips.value).sum(axis=1) / np.maximum(beyond.sum(axis=1), 1)
        ends.append(((mean + 0.055) / 1.055) ** 2.4)
    return ends[0], ends[1]


def _rough_place(strips: Strips, before: Array, after: Array) -> Array:
    """Where the code is half way between those of the ends, by area."""
    low, high = code(before)[0][:, None], code(after)[0][:, None]
    apart = np.where(np.abs(high - low) < 1e-6, 1e-6, high - low)
    share = np.clip((strips.value - low) / apart, 0, 1)
    used = strips.count > 0
    step = strips.place[1] - strips.place[0]
    last = np.where(used, strips.place, strips.place[0]).max(axis=1)
    return np.asarray(last - (share * used).sum(axis=1) * step)


@dataclass(frozen=True)
class Learnt:
    """response: of the camera. sharper: noise of the fits with it over that of a plain camera."""

    response: Response
    sharper: float


def learn(strips: Strips, sigma_px: Array) -> Learnt:
    """The response that explains known straight edges best.

    A coarse search over sharpening and shape, each refined by a parabola; the blur and the light
    of every edge are its own. strips: (n, bins) profiles of edges. sigma_px: (n,) rough blur.
    """
    first = fit_steps(strips, Response(), sigma_px, _BLUR_OPEN)
    open_blur = np.zeros_like(first.values)
    open_blur[:, 1] = 1 / _BLUR_OPEN
    tried = {Response(): float(first.cost.sum())}

    def cost(response: Response) -> float:
        if response not in tried:
            fits = fit_all(
                step_model(strips, response), strips.value, strips.count, first.values,
                (first.values, open_blur), NOISE_FLOOR, _TRY_STEPS,
            )  # fmt: skip
            tried[response] = float(fits.cost.sum())
        return tried[response]

    plain = Response()
    sharpened = (Response(0.0, amount, r) for r in _RADII_PX for amount in _AMOUNTS)
    best = min([plain, *sharpened], key=cost)
    if best.sharpen:
        best = _refined(best, "sharpen", (0.6, 1.5), cost)
        best = _refined(best, "radius_px", (0.8, 1.25), cost)
        best = _refined(best, "sharpen", (0.85, 1.18), cost)
    best = min([best, *(replace(best, flat=flat) for flat in _FLATNESSES)], key=cost)
    if best.flat:
        best = _refined(best, "flat", (0.85, 1.15), cost)
        again = [replace(best, sharpen=best.sharpen * k) for k in (0.5, 0.8, 1.25)]
        best = min([best, *again], key=cost)
    if cost(best) > (1 - _GAIN_NEEDED) * cost(plain):
        best = plain
    return Learnt(best, float(np.sqrt(cost(best) / max(cost(plain), 1e-9))))


def _refined(
    best: Response, name: str, factors: Iterable[float], cost: Callable[[Response], float]
) -> Response:
    """The minimum of the parabola through three tries of one number, where that is better."""
    low, high = factors
    here = getattr(best, name)
    limit = _FLATTEST if name == "flat" else np.inf
    at = np.array([here * low, here, min(here * high, limit)])
    costs = np.array([cost(replace(best, **{name: float(x)})) for x in at])
    curve = np.polyfit(at, costs, 2) if np.ptp(at[1:]) > 0 else np.zeros(3)
    choices = [replace(best, **{name: float(x)}) for x in at]
    if curve[0] > 0:
        bottom = float(np.clip(-curve[1] / (2 * curve[0]), at[0], at[2]))
        choices.append(replace(best, **{name: bottom}))
    return min(choices, key=cost)
