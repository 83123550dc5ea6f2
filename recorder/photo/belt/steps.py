"""Many blurred steps fitted at once: the edge of the belt, band by band.

The pixels of a band are averaged by their distance from the edge, each bin at the mean distance of
its own pixels, so that nothing is resampled; then all bands take their steps together.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from recorder.photo.edges.normal import normal_cdf, normal_pdf

Array = NDArray[np.float64]

_BIN_MM = 0.05
_SHARPNESS_U = 0.25  # of the logarithm of an edge's blur about that of the card
_STEPS = 14
_LEAST_PIXELS = 40
_LEAST_CONTRAST = 2.5  # of a step, in its noise


@dataclass(frozen=True)
class Steps:
    """Each (n,), mm: place of the step, its standard uncertainty, its blur; whether it settled."""

    place: Array
    u: Array
    sigma: Array
    ok: NDArray[np.bool_]


@dataclass(frozen=True)
class _Binned:
    """(n, k) each: mean distance, light and number of a bin's pixels; noise (n,) of a pixel."""

    d: Array
    light: Array
    count: Array
    noise: Array


def fit_steps(
    d: Array, light: Array, band: NDArray[np.int64], centre: Array, sigma: Array, half: Array
) -> Steps:
    """Steps in every band, of pixels (m,) at signed distance ``d`` with light (m, 3).

    centre, sigma, half: (n,) where each is looked for, its expected blur, and how far to each side.
    The three channels are summed as shows the step best.
    """
    away = d - centre[band]
    inside = np.abs(away) < half[band]
    away, light, band = away[inside], light[inside], band[inside]
    value = _best_channel(away, light, band, half)
    binned = _binned(away, value, band, len(centre), float(half.max()))
    enough = (binned.count.sum(axis=1) >= _LEAST_PIXELS) & _both_sides(binned, half)
    found = _solve(binned, sigma)
    place, u, blur, rise, noise = found
    ok = enough & np.isfinite(place) & (np.abs(place) < 0.8 * half)
    ok &= np.abs(rise) > _LEAST_CONTRAST * noise
    return Steps(place + centre, u, blur, ok)


def _best_channel(away: Array, light: Array, band: NDArray[np.int64], half: Array) -> Array:
    """Sum of the channels weighted by contrast over variance, band by band (Fisher)."""
    count = len(half)
    means, spreads = [], []
    for outer in (False, True):
        side = (away > 0.4 * half[band]) if outer else (away < -0.4 * half[band])
        number = np.maximum(np.bincount(band[side], minlength=count), 1)[:, None]
        mean = _per_band(light[side], band[side], count) / number
        square = _per_band(light[side] ** 2, band[side], count) / number
        means.append(mean)
        spreads.append(np.maximum(square - mean**2, 0))
    weight = (means[1] - means[0]) / (spreads[0] + spreads[1] + 1e-4)
    weight /= np.maximum(np.abs(weight).sum(axis=1), 1e-9)[:, None]
    return np.asarray((light * weight[band]).sum(axis=1))


def _per_band(values: Array, band: NDArray[np.int64], count: int) -> Array:
    return np.column_stack(
        [np.bincount(band, values[:, channel], minlength=count) for channel in range(3)]
    )


def _binned(away: Array, value: Array, band: NDArray[np.int64], bands: int, half: float) -> _Binned:
    bins = int(np.ceil(2 * half / _BIN_MM)) + 1
    cell = band * bins + np.clip(((away + half) / _BIN_MM).astype(int), 0, bins - 1)
    count = np.bincount(cell, minlength=bands * bins).astype(float)
    some = np.maximum(count, 1)
    mean_d = np.bincount(cell, away, minlength=bands * bins) / some
    mean = np.bincount(cell, value, minlength=bands * bins) / some
    rest = value - mean[cell]
    spread = np.bincount(band, rest**2, minlength=bands)
    free = np.maximum(np.bincount(band, minlength=bands) - bins / 2, 1)
    shape = (bands, bins)
    return _Binned(
        mean_d.reshape(shape), mean.reshape(shape), count.reshape(shape), np.sqrt(spread / free)
    )


def _both_sides(binned: _Binned, half: Array) -> NDArray[np.bool_]:
    outer = binned.d > 0.4 * half[:, None]
    inner = binned.d < -0.4 * half[:, None]
    return np.asarray(
        ((binned.count * outer).sum(axis=1) >= 8) & ((binned.count * inner).sum(axis=1) >= 8)
    )


def _solve(binned: _Binned, sigma: Array) -> tuple[Array, Array, Array, Array, Array]:
    """Place, its u, blur, rise and noise of a bin's pixel: Gauss and Newton with a damping."""
    d, value, count = binned.d, binned.light, binned.count
    inner = (count * value * (d < 0)).sum(1) / np.maximum((count * (d < 0)).sum(1), 1)
    outer = (count * value * (d > 0)).sum(1) / np.maximum((count * (d > 0)).sum(1), 1)
    p = np.column_stack([np.zeros_like(sigma), np.log(sigma), inner, outer])
    mean_log, damping = np.log(sigma), np.full(len(sigma), 1e-3)
    noise = np.maximum(binned.noise, 1e-5)
    for _ in range(2):  # once with the noise of the pixels, once with that of the residuals
        cost, normal, pull = _normal(d, value, count, p, mean_log, noise)
        for _ in range(_STEPS):
            ridge = normal + damping[:, None, None] * normal * np.eye(4)
            step = np.linalg.solve(ridge + 1e-12 * np.eye(4), pull[..., None])[..., 0]
            step[:, :2] = np.clip(step[:, :2], -0.5, 0.5)
            trial = p + step
            trial_cost, trial_normal, trial_pull = _normal(d, value, count, trial, mean_log, noise)
            better = trial_cost <= cost
            p = np.where(better[:, None], trial, p)
            cost = np.where(better, trial_cost, cost)
            normal = np.where(better[:, None, None], trial_normal, normal)
            pull = np.where(better[:, None], trial_pull, pull)
            damping = np.clip(np.where(better, damping / 6, damping * 8), 1e-9, 1e6)
        free = np.maximum((count > 0).sum(axis=1) - 4, 1)
        misfit = np.sqrt(np.maximum(cost, 0) / free)
        noise = noise * np.maximum(misfit, 1.0)
    _, normal, _ = _normal(d, value, count, p, mean_log, noise)
    covariance = np.linalg.pinv(normal, hermitian=True)
    u = np.sqrt(np.maximum(covariance[:, 0, 0], 0))
    return p[:, 0], u, np.exp(p[:, 1]), p[:, 3] - p[:, 2], noise


def _normal(
    d: Array, value: Array, count: Array, p: Array, mean_log: Array, noise: Array
) -> tuple[Array, Array, Array]:
    """Cost (n,), normal equations (n, 4, 4) and right side (n, 4) of the weighted step model."""
    sigma = np.exp(np.clip(p[:, 1], -7, 7))[:, None]
    z = (d - p[:, :1]) / sigma
    share, density = normal_cdf(z), normal_pdf(z)
    rise = (p[:, 3] - p[:, 2])[:, None]
    slopes = np.stack([-rise * density / sigma, -rise * density * z, 1 - share, share], axis=2)
    rest = value - (p[:, 2:3] + rise * share)
    weight = count / noise[:, None] ** 2
    off = p[:, 1] - mean_log
    cost = (weight * rest**2).sum(axis=1) + (off / _SHARPNESS_U) ** 2
    weighted = slopes * weight[..., None]
    normal = np.einsum("nki,nkj->nij", weighted, slopes)
    pull = np.einsum("nki,nk->ni", weighted, rest)
    normal[:, 1, 1] += 1 / _SHARPNESS_U**2
    pull[:, 1] -= off / _SHARPNESS_U**2
    return cost, normal, pull
