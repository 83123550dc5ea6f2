"""How much a gradient-peak reader over-reads a narrow line, and that our fit does not.

C. Steger, An unbiased detector of curvilinear structures, IEEE Transactions on Pattern Analysis and
Machine Intelligence 20 (1998) 113: a bar from -h to h under a Gaussian blur has its steepest places
at -x and x with (x + h) / (x - h) = exp(2 x h / sigma²), beyond the true edges. The blurred bars
are made by scipy.ndimage.gaussian_filter1d, apart from our model. Widths are in sigmas of the blur.
"""

import functools

import numpy as np
import pytest
from scipy.ndimage import gaussian_filter1d
from scipy.optimize import brentq

from recorder.photo.profiles import fit, gap_model

STEP = 0.002
BANK, OTHER_BANK, SLOT = 0.60, 0.45, 0.10  # light
# width over sigma, and how many times too wide the distance of the steepest places is
OVER_READING = [(1.0, 2.09), (2.0, 1.20), (3.0, 1.02)]

each_width = pytest.mark.parametrize(("width", "times"), OVER_READING)


def steepest(width: float) -> float:
    """Distance between the steepest places of a blurred bar, by Steger's relation."""
    h = width / 2
    return 2 * brentq(lambda x: np.log((x + h) / (x - h)) - 2 * x * h, h * (1 + 1e-12), h + 6)


@functools.cache
def blurred(width: float, other_bank: float = BANK, derivative: int = 0):
    """Places and light (or its slope) of a bar between two banks under a blur of sigma 1."""
    x = np.arange(-12, 12, STEP) + STEP / 2
    sharp = np.where(x < -width / 2, BANK, np.where(x < width / 2, SLOT, other_bank))
    return x, gaussian_filter1d(sharp, 1 / STEP, order=derivative, truncate=8)


@each_width
def test_the_relation_gives_the_stated_over_reading(width: float, times: float) -> None:
    assert steepest(width) / width == pytest.approx(times, abs=0.005)


@each_width
def test_a_blurred_bar_follows_the_relation(width: float, times: float) -> None:
    x, slope = blurred(width, derivative=1)
    read = x[slope.argmax()] - x[slope.argmin()]
    assert read == pytest.approx(steepest(width), abs=2 * STEP)
    assert read / width == pytest.approx(times, abs=0.01)


@each_width
def test_our_model_follows_the_relation(width: float, times: float) -> None:
    """The slope along x is the model's derivative by the middle of the gap, turned round."""
    x = np.arange(-6, 6, STEP)
    _, derivatives = gap_model(x, 1.0)(np.array([BANK, BANK, SLOT, 0.0, width]))
    slope = -derivatives[:, 3]
    read = x[slope.argmax()] - x[slope.argmin()]
    assert read == pytest.approx(steepest(width), abs=2 * STEP)


@each_width
@pytest.mark.parametrize("other_bank", [BANK, OTHER_BANK], ids=["even", "uneven"])
def test_our_fit_reads_the_true_width(width: float, times: float, other_bank: float) -> None:
    """It starts from the over-read width, on samples with noise at places of no order."""
    x, light = blurred(width, other_bank)
    rng = np.random.default_rng(5)
    places = rng.uniform(-5, 5, 1500)
    noise = 0.002
    seen = np.interp(places, x, light) + rng.normal(0, noise, places.size)
    start = np.array([0.55, 0.55, 0.2, 0.2, steepest(width)])
    found = fit(gap_model(places, 1.0), seen, start)
    read, u = found.values[4], found.u(4)
    print(f"\n{width:g} sigma: steepest places {steepest(width):.3f}, fit {read:.3f} ± {2 * u:.3f}")
    assert found.ok
    assert found.noise == pytest.approx(noise, rel=0.1)
    assert abs(read - width) <= 3 * u
    assert abs(read - width) < 0.15 * (steepest(width) - width)
    assert found.values[3] == pytest.approx(0.0, abs=0.02), "the middle is not pulled aside"
