"""Slots fitted to windows across a seam: how wide, how dark, where.

Below about two sigma of the blur a slot only shows how much light it takes away, which is its
width times its contrast; so the contrast is learned where the gap is wide, and elsewhere taken
from a prior whose width goes into the uncertainty. What the camera does to edges is known from
the card. The gaps are not asked for the blur: where they are narrow enough for it to matter, a
slot with more blur and one with a lighter floor look alike, and a blur that is no Gaussian pulled
it by a quarter.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import cv2
import numpy as np
from numpy.typing import NDArray

from recorder.photo.edges.batch import Fits, fit_all
from recorder.photo.edges.response import NOISE_FLOOR, banks, fit_steps, slot_model
from recorder.photo.edges.strips import Strips
from recorder.photo.seam.looks import Look

Array = NDArray[np.float64]

_TELLING_SIGMAS = 2.6  # from here on the floor of the gap shows and tells the contrast
# How dark a gap is against the belt, where no wide gap tells: common practice, no source. An open
# cut in a belt gives back 0 to 35 % of the light of the belt around it, and up to 1.2 % of that of
# white paper by reflections and haze, which counts on a black belt.
_FLOOR_SHARE, _FLOOR_SHARE_U = 0.13, 0.11
_VEIL, _VEIL_U = 0.006, 0.004
_WHITE = 0.8
_LEAST_SPREAD = 0.03  # of the contrast along a seam
_LEAST_TELLING = 5
_OPEN_CONTRAST_U = 0.5
_TIES = 4.0  # pixels that texture and JPEG tie together: this many count as one
_LEAN_U = 0.04  # of the light over a millimetre
_TWO_EDGES_SIGMAS = 5.0  # from here on the edges of a gap are told apart from its inside
_EDGE_REACH_SIGMAS, _BANK_REACH_SIGMAS = 2.5, 5.0  # into the gap, and onto the belt
_EDGE_BLUR_U = 0.08  # of the logarithm of the blur of such an edge


@dataclass(frozen=True)
class Slots:
    """What fits gave, by window. gap, place, u_gap: pixels. bank: light of the two banks together.
    edges: where the gap is that between two edges which were fitted each by itself.
    """

    fits: Fits
    gap: Array
    place: Array
    u_gap: Array
    bank: Array
    contrast: Array
    u_contrast: Array
    edges: NDArray[np.bool_]


def prior_of(look: Look) -> tuple[Array, Array]:
    """Mean and standard uncertainty of the contrast of each window, by the light of its banks."""
    bank = np.maximum(sum(banks(look.strips)) / 2, 1e-3)
    veil, veil_u = _VEIL * _WHITE / bank, _VEIL_U * _WHITE / bank
    return np.clip(1 - _FLOOR_SHARE - veil, 0.3, 0.95), np.hypot(_FLOOR_SHARE_U, veil_u)


def _light(coded: Array) -> Array:
    """Linear light of codes, good enough to start a fit."""
    return np.asarray(((coded + 0.055) / 1.055) ** 2.4)


def fit(look: Look, contrast: Array, contrast_u: Array, start: Array | None = None) -> Slots:
    """Slots whose floor is held near ``contrast`` (n,) below the banks."""
    strips = look.strips
    left, right = banks(strips)
    bank = (left + right) / 2
    floor = bank * (1 - contrast)
    if start is None:
        where, area = _darkest(strips, np.minimum(left, right), look.near_px)
        gap = np.clip(area / np.maximum(bank - floor, 1e-4), 0.5 * look.sigma, 2.0 / look.mm)
        start = np.column_stack([left, right, floor, where, gap, np.zeros_like(bank)])
    mean = start.copy()
    mean[:, 2], mean[:, 5] = floor, 0.0
    stiff = np.zeros_like(start)
    stiff[:, 2] = 1 / np.maximum(bank * contrast_u, 1e-6)
    stiff[:, 5] = 1 / (_LEAN_U * look.mm)
    model = slot_model(strips, look.response, look.sigma)
    fits = fit_all(model, strips.value, strips.count / _TIES, start, (mean, stiff), NOISE_FLOOR)
    left, right, inside, place, wide = fits.values.T[:5]
    bank = np.maximum((left + right) / 2, 1e-6)
    return Slots(
        fits=fits,
        gap=wide,
        place=place,
        u_gap=fits.u(4),
        bank=bank,
        contrast=1 - inside / bank,
        u_contrast=fits.u(2) / bank,
        edges=np.zeros(len(wide), bool),
    )


def by_edges(look: Look, slots: Slots) -> Slots:
    """Where a gap is wide, each of its edges by itself: its floor is no even dark, since walls and
    depth show in it, and only what lies within a few sigma of an edge tells where that is.
    """
    room = np.array([window.half_width for window in look.windows]) / look.mm
    inside = np.abs(slots.place) + slots.gap / 2 < room
    wide = np.flatnonzero(inside & (slots.gap > _TWO_EDGES_SIGMAS * look.sigma))
    if not len(wide):
        return slots
    sigma, middle, half = look.sigma[wide], slots.place[wide], slots.gap[wide] / 2
    strips = look.strips.take(wide)
    reach = np.minimum(_EDGE_REACH_SIGMAS * sigma, half)
    places, variances, good = [], [], np.ones(len(wide), bool)
    for way in (-1, 1):
        at = middle + way * half
        beyond = _BANK_REACH_SIGMAS * sigma
        low, high = (at - beyond, at + reach) if way < 0 else (at - reach, at + beyond)
        fits = fit_steps(strips.within(low, high), look.response, sigma, _EDGE_BLUR_U)
        before, after = fits.values[:, 2], fits.values[:, 3]
        good &= (np.abs(fits.values[:, 0] - at) < 1.5 * sigma) & (way * (after - before) > 0)
        places.append(fits.values[:, 0])
        variances.append(fits.covariance[:, 0, 0] * _TIES)
    chosen = wide[good]
    gap, place, u = slots.gap.copy(), slots.place.copy(), slots.u_gap.copy()
    gap[chosen] = (places[1] - places[0])[good]
    place[chosen] = ((places[1] + places[0]) / 2)[good]
    u[chosen] = np.sqrt(variances[0] + variances[1])[good]
    edges = np.zeros(len(gap), bool)
    edges[chosen] = True
    return replace(slots, gap=gap, place=place, u_gap=u, edges=edges)


def _darkest(strips: Strips, bank: Array, near_px: Array) -> tuple[Array, Array]:
    """Rough place of the slot and the light that it takes away times its width, in pixels.

    bank: (n,) light of the darker bank. near_px: (n,) how far from the line the slot may lie.
    """
    lack = np.where(strips.count > 0, bank[:, None] - _light(strips.value), 0.0)
    bin_px = strips.place[1] - strips.place[0]
    width = max(1, round(1.0 / bin_px))
    lack = np.maximum(cv2.blur(lack, (width | 1, 1)), 0)
    close = np.abs(strips.place) <= near_px[:, None]
    peak = strips.place[np.argmax(np.where(close, lack, -1.0), axis=1)]
    near = np.abs(strips.place - peak[:, None]) < 0.45 * float(np.abs(strips.place).max())
    most = np.where(close, lack, 0.0).max(axis=1, keepdims=True)
    lack = np.where(near & (lack > 0.2 * most), lack, 0)
    total = np.maximum(lack.sum(axis=1), 1e-9)
    return np.asarray((lack @ strips.place) / total), total * bin_px


def contrast_of(
    look: Look, slots: Slots, good: NDArray[np.bool_]
) -> tuple[tuple[Array, Array], bool]:
    """Contrast and its standard uncertainty for each window: learned, or the prior."""
    prior = prior_of(look)
    free = fit(look, prior[0], np.full_like(prior[0], _OPEN_CONTRAST_U), slots.fits.values)
    telling = good & (free.gap > _TELLING_SIGMAS * look.sigma) & (free.u_contrast < 0.12)
    telling &= (free.contrast > 0.15) & (free.contrast < 1.05)
    if telling.sum() < _LEAST_TELLING:
        return prior, False
    found = free.contrast[telling]
    middle = float(np.median(found))
    spread = 1.4826 * float(np.median(np.abs(found - middle)))
    each = np.ones_like(prior[0])
    return (middle * each, max(spread, _LEAST_SPREAD) * each), True
