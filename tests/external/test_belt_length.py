"""Belt lengths against a handbook of machine design, plane geometry and numeric integration.

Shigley's Mechanical Engineering Design (Budynas, Nisbett; McGraw-Hill), chapter on flexible
mechanical elements: the angle of contact of an open drive, theta_d = pi - 2 asin((D - d) / 2C), the
length from both angles, L = sqrt(4 C^2 - (D - d)^2) + (D theta_D + d theta_d) / 2, and its worked
example of a flat belt with pulleys of 6 in and 18 in whose axes are 8 ft apart, theta_d =
3.0165 rad. Equations and numbers are quoted from memory and not copied from the book, which gives
no length for the example.

Shapely (GEOS) knows of polygons and of no belts; SciPy integrates; Pint converts.
"""

from __future__ import annotations

import math

import pint
import pytest
from scipy.integrate import quad
from scipy.optimize import brentq
from shapely.affinity import translate
from shapely.geometry import MultiPoint, Point, Polygon, box
from shapely.ops import unary_union

from recorder.flows.knowhow.length import elongation, typed
from recorder.knowhow.preparing import length
from recorder.model.length import Allowances, Drive

# pulley_1, pulley_2, centres, thickness; mm. From equal pulleys to ones that nearly touch.
DRIVES = [
    (100.0, 100.0, 1000.0, 0.0),
    (200.0, 120.0, 1500.0, 2.0),
    (457.2, 152.4, 2438.4, 0.0),
    (60.0, 500.0, 4250.0, 1.2),
    (1000.0, 50.0, 530.0, 5.0),
    (300.0, 299.0, 299.6, 0.8),
    (25.0, 2000.0, 1012.6, 3.0),
]


def drive(pulley_1: float, pulley_2: float, centres: float, thickness: float) -> Drive:
    return Drive(pulley_1=pulley_1, pulley_2=pulley_2, centres=centres, thickness=thickness)


def test_the_worked_example_of_the_handbook() -> None:
    large, small, between, theta_small = 18.0, 6.0, 8 * 12.0, 3.0165
    theta_large = 2 * math.pi - theta_small
    straight = math.sqrt(4 * between**2 - (large - small) ** 2)
    inches = straight + (large * theta_large + small * theta_small) / 2
    told = {"pulley_1": "6 in", "pulley_2": "18 in", "centres": "8 ft"}
    # Half a digit of the angle is worth (D - d) / 2 of it.
    digit = 0.00005 * (large - small) / 2
    assert typed(told).length.endless / 25.4 == pytest.approx(inches, abs=digit)


@pytest.mark.parametrize("sizes", DRIVES)
def test_the_handbooks_equation(sizes: tuple[float, float, float, float]) -> None:
    first, second, between, thickness = sizes
    large, small = max(first, second) + thickness, min(first, second) + thickness
    theta = math.pi - 2 * math.asin((large - small) / 2 / between)
    straight = math.sqrt(4 * between**2 - (large - small) ** 2)
    expected = straight + (large * (2 * math.pi - theta) + small * theta) / 2
    assert length.exact(drive(*sizes)) == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize("sizes", DRIVES)
def test_a_band_drawn_tight_around_two_circles(sizes: tuple[float, float, float, float]) -> None:
    """The convex hull of both circles as polygons. One of n corners is too short by less than
    (pi / n)^2 / 6 of its length.
    """
    first, second, between, thickness = sizes
    quarter = 500
    circles = [
        Point(at, 0).buffer((diameter + thickness) / 2, quad_segs=quarter)
        for at, diameter in ((0.0, first), (between, second))
    ]
    hull = MultiPoint([p for circle in circles for p in circle.exterior.coords]).convex_hull
    worked_out = length.exact(drive(*sizes))
    assert hull.length <= worked_out * (1 + 1e-12)
    assert worked_out - hull.length <= worked_out * (math.pi / (4 * quarter)) ** 2 / 6 * 1.01


def integrated(between: float, large: float, small: float) -> float:
    """Cauchy: the perimeter of what is convex is the integral of its width from a point inside to
    the line that touches it, over all directions; of two circles the farther one counts.
    """
    turn = math.acos((large - small) / 2 / between)  # where both are touched

    def reach(angle: float) -> float:
        return max(large / 2, small / 2 + between * math.cos(angle))

    return 2 * float(quad(reach, 0.0, math.pi, points=[turn], epsabs=1e-10, epsrel=1e-12)[0])


@pytest.mark.parametrize("sizes", DRIVES)
def test_numeric_integration(sizes: tuple[float, float, float, float]) -> None:
    first, second, between, thickness = sizes
    large, small = max(first, second) + thickness, min(first, second) + thickness
    expected = integrated(between, large, small)
    assert length.exact(drive(*sizes)) == pytest.approx(expected, rel=1e-10)


@pytest.mark.parametrize("sizes", DRIVES)
def test_the_axes_found_by_another_solver(sizes: tuple[float, float, float, float]) -> None:
    first, second, between, thickness = sizes
    large, small = max(first, second) + thickness, min(first, second) + thickness
    wanted = integrated(between, large, small)
    touching = (first + second) / 2
    found = brentq(lambda c: integrated(c, large, small) - wanted, touching, 2 * between)
    told = length.centres(wanted, first, second, thickness)
    assert told.exact == pytest.approx(found, rel=1e-8)
    assert told.exact == pytest.approx(between, rel=1e-8)


@pytest.mark.parametrize("sizes", DRIVES)
def test_the_usual_formula_and_its_error(sizes: tuple[float, float, float, float]) -> None:
    first, second, between, thickness = sizes
    large, small = max(first, second) + thickness, min(first, second) + thickness
    usual = 2 * between + math.pi * (large + small) / 2 + (large - small) ** 2 / (4 * between)
    found = length.belt_length(drive(*sizes))
    assert found.approximate == pytest.approx(usual, rel=1e-12)
    error = usual - integrated(between, large, small)
    assert found.approximation_error == pytest.approx(error, abs=1e-6)


@pytest.mark.parametrize(("fingers", "count"), [(80.0, 10), (30.0, 7), (20.0, 1)])
def test_punched_ends_meet_without_gap_and_without_lying_on_one_another(
    fingers: float, count: int
) -> None:
    """A belt of 200 mm, cut, punched at both ends with one punch, and laid around once."""
    found = length.of_endless(1200.0, Allowances(fingers=fingers, trim=15.0))
    width, pitch = 200.0, 200.0 / count
    piece = box(0, 0, found.cut, width)
    # What the punch leaves of the left end: teeth that point to the left, tips behind the trim.
    teeth = [
        point
        for tooth in range(count)
        for point in (
            (15.0 + fingers, tooth * pitch),
            (15.0, (tooth + 0.5) * pitch),
        )
    ]
    middle = found.cut / 2
    left = Polygon([*teeth, (15.0 + fingers, width), (middle, width), (middle, 0)])
    # The right end is what is left where another left end lies over it, one turn farther on.
    over = translate(left, xoff=found.joined)
    right = box(middle, 0, found.cut, width).difference(over)
    tips = max(x for x, _ in right.exterior.coords) if right.geom_type == "Polygon" else 0.0
    assert tips - 15.0 == pytest.approx(found.punched)
    assert found.cut - tips == pytest.approx(15.0)
    belt = unary_union([left, right])
    assert piece.covers(belt.buffer(-1e-6))
    assert belt.intersection(translate(belt, xoff=found.joined)).area == pytest.approx(0, abs=1e-6)
    assert belt.area == pytest.approx(found.joined * width)


@pytest.fixture(scope="module")
def registry() -> pint.UnitRegistry[float]:
    return pint.UnitRegistry()


UNITS = [("mm", "millimeter"), ("cm", "centimeter"), ("m", "meter"), ("in", "inch"), ("ft", "foot")]


@pytest.mark.parametrize(("symbol", "unit"), UNITS)
def test_lengths_in_every_unit_against_pint(
    symbol: str, unit: str, registry: pint.UnitRegistry[float]
) -> None:
    values = {"pulley_1": 1.25, "pulley_2": 0.75, "centres": 12.5, "thickness": 0.125}
    told = {key: f"{value} {symbol}" for key, value in values.items()}
    mm = {
        key: float(registry.Quantity(value, unit).to("millimeter").magnitude)
        for key, value in values.items()
    }
    assert typed(told).length.endless == pytest.approx(length.exact(Drive(**mm)), rel=1e-12)
    before = registry.Quantity(1000, "millimeter").to(unit).magnitude
    assert elongation(f"{before:.9f} {symbol}", "1012 mm") == pytest.approx(1.2, abs=1e-5)
