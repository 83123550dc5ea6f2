"""Blurred edges and gaps, fitted to raw pixels.

A picture of a step is the step convolved with the camera's blur; with a Gaussian blur that is the
normal distribution function. Pixels are taken as they are, each with its own distance from the
line, because resampling a picture first moves and widens what is measured.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Model = Callable[[Array], tuple[Array, Array]]


def normal_cdf(x: Array) -> Array:
    """Standard normal distribution function, to 1e-7.

    Abramowitz and Stegun, Handbook of Mathematical Functions (1964), 26.2.17.
    """
    t = 1.0 / (1.0 + 0.2316419 * np.abs(x))
    series = t * (
        0.319381530 + t * (-0.356563782 + t * (1.781477937 + t * (-1.821255978 + t * 1.330274429)))
    )
    upper = normal_pdf(x) * series
    return np.where(x >= 0, 1.0 - upper, upper)


def normal_pdf(x: Array) -> Array:
    return np.exp(-0.5 * np.minimum(x * x, 700.0)) * 0.3989422804014327


@dataclass(frozen=True)
class Fit:
    """values: the parameters. covariance: of them, from the noise of the residuals (and the prior).
    noise: standard deviation of the residuals. ok: whether the iteration settled.
    """

    values: Array
    covariance: Array
    noise: float
    ok: bool

    def u(self, index: int) -> float:
        return float(np.sqrt(max(self.covariance[index, index], 0.0)))


def fit(
    model: Model,
    observed: Array,
    start: Array,
    prior: tuple[Array, Array] | None = None,
    steps: int = 25,
) -> Fit:
    """Least squares by Levenberg and Marquardt, with independent normal priors where wanted.

    ``model`` gives predictions (n,) and their derivatives (n, p). ``prior`` holds a mean and a
    weight 1/u² per parameter (0: none); it is balanced against the noise of the residuals.
    """
    mean, weight = prior if prior else (start, np.zeros_like(start))
    values, damping = start.astype(float).copy(), 1e-3
    predicted, slopes = model(values)
    residual = observed - predicted
    free = max(len(observed) - len(values), 1)
    variance = max(float(residual @ residual) / free, 1e-12)
    cost = float(residual @ residual) / variance + float(weight @ (values - mean) ** 2)
    ok = False
    for _ in range(steps):
        normal = slopes.T @ slopes / variance + np.diag(weight)
        pull = slopes.T @ residual / variance - weight * (values - mean)
        ridge = np.diag(damping * np.maximum(np.diag(normal), 1e-12))
        step = np.linalg.lstsq(normal + ridge, pull, rcond=None)[0]
        trial = values + step
        predicted, trial_slopes = model(trial)
        trial_residual = observed - predicted
        trial_cost = float(trial_residual @ trial_residual) / variance + float(
            weight @ (trial - mean) ** 2
        )
        if np.isfinite(trial_cost) and trial_cost <= cost:
            settled = cost - trial_cost < 1e-7 * (cost + 1e-12)
            values, residual, slopes, cost = trial, trial_residual, trial_slopes, trial_cost
            damping = max(damping / 6, 1e-9)
            if settled:
                ok = True
                break
            variance = max(float(residual @ residual) / free, 1e-12)
            cost = float(residual @ residual) / variance + float(weight @ (values - mean) ** 2)
        else:
            damping *= 8
            if damping > 1e8:
                ok = True
                break
    normal = slopes.T @ slopes / variance + np.diag(weight)
    covariance = np.asarray(np.linalg.pinv(normal, hermitian=True), float)
    return Fit(values, covariance, float(np.sqrt(variance)), ok)


def step_model(along: Array, across: Array) -> Model:
    """Edge at ``p0 + p1 along``, blur ``exp(p2)``, light ``p3`` before it and ``p4`` after it."""

    def model(p: Array) -> tuple[Array, Array]:
        sigma = float(np.exp(np.clip(p[2], -7, 7)))
        z = (across - p[0] - p[1] * along) / sigma
        share, density = normal_cdf(z), normal_pdf(z)
        rise = p[4] - p[3]
        shift = -rise * density / sigma
        slopes = np.column_stack([shift, shift * along, -rise * density * z, 1 - share, share])
        return p[3] + rise * share, slopes

    return model


def gap_model(across: Array, sigma: float) -> Model:
    """A slot from ``p3 - p4/2`` to ``p3 + p4/2`` of light ``p2`` between banks ``p0`` and ``p1``.

    ``sigma``: the known blur. Same unit as ``across``.
    """

    def model(p: Array) -> tuple[Array, Array]:
        half = p[4] / 2
        z_in, z_out = (across - p[3] + half) / sigma, (across - p[3] - half) / sigma
        inside, beyond = normal_cdf(z_in), normal_cdf(z_out)
        d_in = (p[2] - p[0]) * normal_pdf(z_in) / sigma
        d_out = (p[1] - p[2]) * normal_pdf(z_out) / sigma
        predicted = p[0] + (p[2] - p[0]) * inside + (p[1] - p[2]) * beyond
        slopes = np.column_stack(
            [1 - inside, beyond, inside - beyond, -d_in - d_out, (d_in - d_out) / 2]
        )
        return predicted, slopes

    return model
