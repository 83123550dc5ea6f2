"""The edge and gap models against independent arithmetic."""

import math

import numpy as np
import pytest

from recorder.photo.edges.profiles import fit, gap_model, normal_cdf, step_model


def test_normal_distribution_function_against_the_standard_library() -> None:
    x = np.linspace(-6, 6, 401)
    exact = [0.5 * math.erfc(-v / math.sqrt(2)) for v in x]
    assert np.abs(normal_cdf(x) - exact).max() < 1e-7


@pytest.mark.parametrize("model", ["step", "gap"])
def test_derivatives_against_differences(model: str) -> None:
    rng = np.random.default_rng(1)
    s, d = rng.uniform(-2, 2, 200), rng.uniform(-1, 1, 200)
    chosen = step_model(s, d) if model == "step" else gap_model(d, 0.12)
    p = np.array([0.1, 0.02, -1.8, 0.2, 0.7] if model == "step" else [0.7, 0.6, 0.1, 0.05, 0.3])
    _, slopes = chosen(p)
    for i in range(5):
        h = np.zeros(5)
        h[i] = 1e-5
        difference = (chosen(p + h)[0] - chosen(p - h)[0]) / 2e-5
        assert np.abs(difference - slopes[:, i]).max() < 2e-3


@pytest.mark.parametrize("gap", [0.25, 0.5, 0.9])
def test_gap_is_recovered_from_an_averaged_picture(gap: float) -> None:
    """Pixels made by averaging a fine ideal slot under a sampled Gaussian, not by the model."""
    fine = np.linspace(-3, 3, 12_001)
    slot = np.where(np.abs(fine - 0.013) < gap / 2, 0.06, 0.55)
    sigma = 0.08
    kernel = np.exp(-0.5 * (np.arange(-800, 801) * 0.0005 / sigma) ** 2)
    blurred = np.convolve(slot, kernel / kernel.sum(), mode="same")
    rng = np.random.default_rng(3)
    d = rng.uniform(-1.1, 1.1, 900)
    seen = np.interp(d, fine, blurred) + rng.normal(0, 0.01, d.size)
    found = fit(gap_model(d, sigma), seen, np.array([0.5, 0.5, 0.1, 0.0, 0.4]))
    assert found.values[4] == pytest.approx(gap, abs=max(3 * found.u(4), 0.003))
    assert found.values[3] == pytest.approx(0.013, abs=0.004)
    assert found.u(4) < 0.01
