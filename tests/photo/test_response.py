"""Edges and slots as a camera shows them, against independent arithmetic."""

import math

import numpy as np
import pytest

from recorder.photo.edges.normal import normal_cdf
from recorder.photo.edges.response import Response, fit_steps, learn, slot_model, step_model
from recorder.photo.edges.strips import Strips
from recorder.photo.image.light import code

PLACE = np.arange(-60, 61) * 0.25


def strips(value: np.ndarray) -> Strips:
    """Profiles (n, bins) with four pixels in every bin."""
    aside = np.zeros_like(value)
    return Strips(PLACE, value, aside, np.full_like(value, 4.0), np.zeros(len(value)))


def shot(edge: np.ndarray, sigma: float, sharpen: float, radius: float) -> np.ndarray:
    """Codes of a scene on a fine grid, by convolution and no formula of the model."""
    fine = np.arange(-9000, 9001) * 0.005

    def blurred(values: np.ndarray, by: float) -> np.ndarray:
        kernel = np.exp(-0.5 * (np.arange(-3000, 3001) * 0.005 / by) ** 2)
        padded = np.pad(values, 3000, mode="edge")
        return np.convolve(padded, kernel / kernel.sum(), mode="valid")

    coded = code(blurred(edge, sigma))[0]
    coded = coded + sharpen * (coded - blurred(coded, radius))
    return np.interp(PLACE, fine, np.minimum(coded, 1.0))


FINE = np.arange(-9000, 9001) * 0.005


def test_normal_distribution_function_against_the_standard_library() -> None:
    x = np.linspace(-6, 6, 401)
    exact = [0.5 * math.erfc(-v / math.sqrt(2)) for v in x]
    assert np.abs(normal_cdf(x) - exact).max() < 1e-7


@pytest.mark.parametrize("response", [Response(), Response(0.6, 0.5, 1.4)])
@pytest.mark.parametrize("model", ["step", "slot"])
def test_derivatives_against_differences(model: str, response: Response) -> None:
    seen = strips(np.zeros((1, len(PLACE))))
    chosen = (
        step_model(seen, response)
        if model == "step"
        else slot_model(seen, response, np.array([1.1]))
    )
    p = np.array([[0.3, 0.1, 0.05, 0.6]] if model == "step" else [[0.5, 0.4, 0.1, 0.2, 3.0, 0.002]])
    _, slopes = chosen(p)
    for i in range(p.shape[1]):
        h = np.zeros_like(p)
        h[0, i] = 1e-5
        difference = (chosen(p + h)[0] - chosen(p - h)[0]) / 2e-5
        assert np.abs(difference - slopes[:, :, i])[:, 3:-3].max() < 3e-3


@pytest.mark.parametrize(("sharpen", "radius"), [(0.0, 1.4), (0.5, 1.4), (0.8, 1.8)])
def test_the_camera_is_learnt_from_steps(sharpen: float, radius: float) -> None:
    """Places stay true to two hundredths of a pixel whatever the camera does after its lens."""
    shots = np.array([
        shot(np.where(at > FINE, 0.04, 0.7), 1.1, sharpen, radius)
        for at in (-0.4, -0.1, 0.2, 0.45)
    ])  # fmt: skip
    learnt = learn(strips(shots), np.full(4, 1.3))
    # amount and radius can stand in for each other, whether there is any they cannot
    assert (learnt.response.sharpen > 0.2) == (sharpen > 0)
    fits = fit_steps(strips(shots), learnt.response, np.full(4, 1.3), 1.0)
    assert np.abs(fits.values[:, 0] - (-0.4, -0.1, 0.2, 0.45)).max() < 0.02
    assert np.exp(fits.values[:, 1]) == pytest.approx(1.1, abs=0.05)


def test_a_slot_is_shown_as_the_camera_would() -> None:
    scene = np.where(np.abs(FINE - 0.2) < 1.5, 0.05, 0.5)
    seen = strips(shot(scene, 1.2, 0.5, 1.4)[None])
    shown, _ = slot_model(seen, Response(0.0, 0.5, 1.4), np.array([1.2]))(
        np.array([[0.5, 0.5, 0.05, 0.2, 3.0, 0.0]])
    )
    assert np.abs(shown - seen.value).max() < 2e-3
