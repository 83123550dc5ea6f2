"""Many small least-squares fits at once: the same model on many profiles.

Levenberg's and Marquardt's way with normal priors, each profile with its own damping and noise.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Model = Callable[[Array], tuple[Array, Array]]


@dataclass(frozen=True)
class Fits:
    """values: (n, p) parameters. covariance: (n, p, p) from the noise of the residuals and the
    prior. noise: (n,) standard deviation of a residual. cost: (n,) sum of squares, prior included,
    in units of the noise of ``floor``. residual: (n, bins).
    """

    values: Array
    covariance: Array
    noise: Array
    cost: Array
    residual: Array

    def u(self, index: int) -> Array:
        """(n,) standard uncertainty of one parameter."""
        return np.asarray(np.sqrt(np.maximum(self.covariance[:, index, index], 0.0)))


@np.errstate(over="ignore", invalid="ignore")  # of a wild step, which is then refused
def fit_all(
    model: Model,
    observed: Array,
    weight: Array,
    start: Array,
    prior: tuple[Array, Array],
    noise_floor: float,
    steps: int = 14,
) -> Fits:
    """Fit ``model`` to n profiles.

    model: parameters (n, p) to predictions (n, bins) and derivatives (n, bins, p).
    observed, weight: (n, bins); a weight is how many pixels a value stands for, 0 for none.
    start: (n, p). prior: mean (n, p) and 1/u (n, p), 0 for none. noise_floor: the noise of a
    pixel is taken as no smaller, so that a clean picture does not make a model look perfect.
    """
    mean, stiff = prior
    values = start.copy()
    n, p = values.shape
    damping = np.full(n, 1e-2)
    free = np.maximum((weight > 0).sum(axis=1) - p, 1)
    predicted, slopes = model(values)
    residual = observed - predicted
    eye = np.eye(p)
    for _ in range(steps):
        variance = np.maximum((weight * residual**2).sum(axis=1) / free, noise_floor**2)
        cost = (weight * residual**2).sum(axis=1) / variance + _pull(values, mean, stiff)
        left = (slopes * weight[:, :, None]).transpose(0, 2, 1)
        normal = left @ slopes / variance[:, None, None] + eye * stiff[:, None, :] ** 2
        force = (left @ residual[:, :, None])[:, :, 0] / variance[:, None]
        force = force - stiff**2 * (values - mean)
        diagonal = np.maximum(np.einsum("npp->np", normal), 1e-12)
        ridge = eye * (damping[:, None] * diagonal)[:, None, :]
        step = np.linalg.solve(normal + ridge, force[:, :, None])[:, :, 0]
        trial = values + step
        new_predicted, new_slopes = model(trial)
        new_residual = observed - new_predicted
        new_cost = (weight * new_residual**2).sum(axis=1) / variance + _pull(trial, mean, stiff)
        better = np.isfinite(new_cost) & (new_cost <= cost)
        values = np.where(better[:, None], trial, values)
        residual = np.where(better[:, None], new_residual, residual)
        slopes = np.where(better[:, None, None], new_slopes, slopes)
        damping = np.clip(np.where(better, damping / 5, damping * 8), 1e-9, 1e9)
        if not np.any(better & (cost - new_cost > 1e-4 * cost)) and np.all(better | (damping > 1)):
            break
    variance = np.maximum((weight * residual**2).sum(axis=1) / free, noise_floor**2)
    normal = (slopes * weight[:, :, None]).transpose(0, 2, 1) @ slopes
    normal = normal / variance[:, None, None] + eye * stiff[:, None, :] ** 2
    covariance = np.linalg.pinv(normal, hermitian=True)
    cost = (weight * residual**2).sum(axis=1) / noise_floor**2 + _pull(values, mean, stiff)
    return Fits(values, np.asarray(covariance), np.sqrt(variance), cost, residual)


def _pull(values: Array, mean: Array, stiff: Array) -> Array:
    return np.asarray(((stiff * (values - mean)) ** 2).sum(axis=1))
