"""How much a gradient-peak reader over-reads a narrow line, and that our fit does not.

C. Steger, An unbiased detector of curvilinear structures, IEEE Transactions on Pattern Analysis and
Machine Intelligence 20 (1998) 113: a bar from -h to h under a Gaussian blur has its steepest places
at -x and x with (x + h) / (x - h) = exp(2 x h / sigma²), beyond the true edges. Blurred bars are
made by scipy.ndimage.gaussian_filter1d, and photos of them by scipy.special.erf, apart from our
model.
"""

import numpy as np
import pytest
from scipy.ndimage import gaussian_filter1d
from scipy.optimize import brentq
from scipy.special import erf

from recorder.photo.edges.batch import fit_all
from recorder.photo.edges.response import NOISE_FLOOR, Response, slot_model
from recorder.photo.edges.strips import Frames, Strips, read
from recorder.photo.image.light import code

STEP = 0.002  # sigmas
BANK, OTHER_BANK, SLOT = 0.60, 0.45, 0.10  # light
SIGMA_PX = 2.0
PIXEL_PX = 12**-0.5  # standard deviation of a pixel's own width
# width over sigma, and how many times too wide the distance of the steepest places is
OVER_READING = [(1.0, 2.09), (2.0, 1.20), (3.0, 1.02)]

each_width = pytest.mark.parametrize(("width", "times"), OVER_READING)


def steepest(width: float) -> float:
    """Distance between the steepest places of a blurred bar in sigmas, by Steger's relation."""
    h = width / 2
    return 2 * brentq(lambda x: np.log((x + h) / (x - h)) - 2 * x * h, h * (1 + 1e-12), h + 6)


@each_width
def test_the_relation_gives_the_stated_over_reading(width: float, times: float) -> None:
    assert steepest(width) / width == pytest.approx(times, abs=0.005)


@each_width
def test_a_blurred_bar_follows_the_relation(width: float, times: float) -> None:
    x = np.arange(-12, 12, STEP) + STEP / 2
    sharp = np.where(np.abs(x) < width / 2, SLOT, BANK)
    slope = gaussian_filter1d(sharp, 1 / STEP, order=1, truncate=8)
    read_width = x[slope.argmax()] - x[slope.argmin()]
    assert read_width == pytest.approx(steepest(width), abs=2 * STEP)
    assert read_width / width == pytest.approx(times, abs=0.01)


@each_width
def test_our_model_follows_the_relation(width: float, times: float) -> None:
    """Its light by place is its derivative by the slot's place, turned round and decoded."""
    x = np.arange(-6, 6, STEP)
    grid = Strips(x, *np.zeros((2, 1, x.size)), np.ones((1, x.size)), np.zeros(1))
    model = slot_model(grid, Response(), np.array([1.0]))
    _, by_place = model(np.array([[BANK, BANK, SLOT, 0.0, width, 0.0]]))
    h = width / 2
    into, out = ((1 + erf((x + side) / np.sqrt(2))) / 2 for side in (h, -h))
    _, steep = code(BANK + (SLOT - BANK) * (into - out))
    slope = -by_place[0, :, 3] / steep
    read_width = x[slope.argmax()] - x[slope.argmin()]
    assert read_width == pytest.approx(steepest(width), abs=2 * STEP)
    assert read_width / width == pytest.approx(times, abs=0.01)


def photo(width_px: float, other_bank: float) -> tuple[np.ndarray, Frames]:
    """sRGB codes of a slanted slot, 64 x 160 pixels each averaged over 4 x 4 places, with noise."""
    turn = np.radians(7.0)
    across, along = np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
    middle = np.array([31.3, 79.8])
    columns, rows = ((np.arange(4 * count) + 0.5) / 4 - 0.5 for count in (64, 160))
    d = (columns - middle[0]) * across[0] + (rows[:, None] - middle[1]) * across[1]
    into, out = ((1 + erf((d + side) / SIGMA_PX / np.sqrt(2))) / 2
                 for side in (width_px / 2, -width_px / 2))  # fmt: skip
    light = BANK + (SLOT - BANK) * into + (other_bank - SLOT) * out
    coded = 255 * code(light.reshape(160, 4, 64, 4).mean(axis=(1, 3)))[0]
    coded += np.random.default_rng(3).normal(0, 1.0, coded.shape)
    frame = Frames(middle[None], along[None], across[None], np.array([60.0]), np.array([14.0]))
    return np.clip(coded, 0, 255).round().astype(np.uint8), frame


@each_width
@pytest.mark.parametrize("other_bank", [BANK, OTHER_BANK], ids=["even", "uneven"])
@pytest.mark.parametrize("floor_u", [None, 0.005], ids=["floor open", "floor known"])
def test_our_fit_reads_the_true_width(
    width: float, times: float, other_bank: float, floor_u: float | None
) -> None:
    """From raw pixels, starting at the over-read width.

    floor_u: standard uncertainty of the light in the slot, as far as a wide gap nearby tells it.
    """
    true, over_read = width * SIGMA_PX, steepest(width) * SIGMA_PX
    strips = read(*photo(true, other_bank))
    mean = np.array([[0.55, 0.55, SLOT, 0.5, over_read, 0.0]])
    stiff = np.array([[0.0, 0.0, 1 / floor_u if floor_u else 0.0, 0.0, 0.0, 100.0]])
    model = slot_model(strips, Response(), np.array([np.hypot(SIGMA_PX, PIXEL_PX)]))
    found = fit_all(model, strips.value, strips.count, mean, (mean, stiff), NOISE_FLOOR, steps=40)
    gap, u = found.values[0, 4], found.u(4)[0]
    print(
        f"\n{width:g} sigma: true {true:.2f} px, steepest places {over_read:.2f} px, "
        f"fit {gap:.3f} ± {2 * u:.3f} px"
    )
    assert abs(gap - true) <= 2 * u
    assert abs(gap - true) < 0.15 * (over_read - true)
    assert found.values[0, 3] == pytest.approx(0.0, abs=0.02), "the middle is not pulled aside"
