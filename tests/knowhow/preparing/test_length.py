"""The length over two pulleys: what holds of every drive, and what cannot be."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from recorder.knowhow.preparing import length
from recorder.model.length import Allowances, Drive

MM = st.floats(10.0, 2000.0)
GAPS = st.floats(0.1, 20_000.0)


@st.composite
def drives(draw: st.DrawFn) -> Drive:
    """Pulleys that do not touch, a thickness, and a gap between them."""
    first, second = draw(MM), draw(MM)
    between = (first + second) / 2 + draw(GAPS)
    return Drive(
        pulley_1=first, pulley_2=second, centres=between, thickness=draw(st.floats(0.0, 20.0))
    )


@given(drives())
def test_a_belt_is_never_shorter_than_around_and_there_and_back(drive: Drive) -> None:
    around = math.pi * ((drive.pulley_1 + drive.pulley_2) / 2 + drive.thickness)
    assert length.exact(drive) >= (2 * drive.centres + around) * (1 - 1e-12)


@given(drives(), st.floats(0.5, 5000.0))
def test_it_grows_with_the_distance_but_not_by_more_than_there_and_back(
    drive: Drive, farther: float
) -> None:
    apart = drive.model_copy(update={"centres": drive.centres + farther})
    grown = length.exact(apart) - length.exact(drive)
    assert 0 < grown <= 2 * farther + 1e-6


@given(drives())
def test_it_is_the_same_from_the_other_side(drive: Drive) -> None:
    turned = drive.model_copy(update={"pulley_1": drive.pulley_2, "pulley_2": drive.pulley_1})
    assert length.exact(turned) == length.exact(drive)
    assert length.usual(turned) == length.usual(drive)


@given(drives())
def test_the_usual_formula_is_never_too_long_nor_far_off(drive: Drive) -> None:
    """With u = (D - d) / 2C it lacks C u^4 / 12, the next term of the series, and at most
    C u^4 (pi - 3), as where a pulley has no size and its axis lies on the other one.
    """
    u = abs(drive.pulley_1 - drive.pulley_2) / 2 / drive.centres
    short = length.exact(drive) - length.usual(drive)
    rounding = 1e-9 * drive.centres
    assert -rounding <= short
    assert drive.centres * u**4 / 12 - rounding <= short
    error = length.belt_length(drive).approximation_error
    assert error is not None
    assert error == -short
    assert short <= drive.centres * u**4 * (math.pi - 3 + 1e-9) + rounding


@given(drives())
def test_from_a_length_the_axes_are_found_again(drive: Drive) -> None:
    found = length.centres(length.exact(drive), drive.pulley_1, drive.pulley_2, drive.thickness)
    assert found.exact == pytest.approx(drive.centres, rel=1e-7)
    assert found.error == found.approximate - found.exact


@given(drives(), st.floats(0.0, 300.0), st.floats(0.0, 100.0), st.floats(-100.0, 100.0))
def test_what_is_cut_is_what_lies_on_the_pulleys_and_what_is_lost(
    drive: Drive, fingers: float, trim: float, take_up: float
) -> None:
    allowances = Allowances(
        fingers=min(fingers, drive.centres / 2), take_up=max(take_up, -drive.centres), trim=trim
    )
    found = length.belt_length(drive, allowances)
    assert found.joined == pytest.approx(found.endless + allowances.take_up)
    assert found.punched - found.joined == pytest.approx(allowances.fingers, abs=1e-6)
    assert found.cut - found.punched == pytest.approx(2 * trim, abs=1e-6)
    assert 0 < found.mark_spacing <= found.joined


def test_equal_pulleys_by_hand() -> None:
    drive = Drive(pulley_1=100, pulley_2=100, centres=1000)
    found = length.belt_length(drive, Allowances(fingers=80, take_up=-4, trim=20), elongation=1.0)
    assert found.endless == pytest.approx(2000 + 100 * math.pi)
    assert found.approximation_error == pytest.approx(0.0, abs=1e-9)
    assert found.joined == pytest.approx((2000 + 100 * math.pi - 4) / 1.01)
    assert found.punched == pytest.approx(found.joined + 80)
    assert found.cut == pytest.approx(found.joined + 120)
    assert found.drive == drive


def test_the_middle_of_the_belt_counts() -> None:
    thin, thick = (
        length.exact(Drive(pulley_1=100, pulley_2=60, centres=500, thickness=mm)) for mm in (0, 3)
    )
    assert thick - thin == pytest.approx(3 * math.pi)


def test_a_measured_belt_needs_no_pulleys() -> None:
    found = length.of_endless(5000.0, Allowances(fingers=50), elongation=0.5)
    assert found.drive is None
    assert found.approximate is None
    assert found.joined == pytest.approx(5000 / 1.005)


def test_marks_are_round_on_the_tape_that_measures_them() -> None:
    for endless, mm, inches in (
        (9000.0, 1000.0, 40.0), (2500.0, 500.0, 20.0), (400.0, 100.0, 5.0),
    ):  # fmt: skip
        assert length.of_endless(endless).mark_spacing == mm
        assert length.of_endless(endless, inches=True).mark_spacing == pytest.approx(inches * 25.4)
    assert length.of_endless(150.0).mark_spacing == 50.0


@pytest.mark.parametrize(
    ("drive", "why"),
    [
        (Drive(pulley_1=200, pulley_2=100, centres=150), "touch when their axes are 150 mm apart"),
        (Drive(pulley_1=900, pulley_2=100, centres=300), "touch when their axes are 500 mm apart"),
    ],
)
def test_pulleys_do_not_lie_in_one_another(drive: Drive, why: str) -> None:
    for work_out in (length.exact, length.usual, length.belt_length):
        with pytest.raises(ValueError, match=why):
            work_out(drive)


@pytest.mark.parametrize("too_short", [1.0, 700.0, 150 * math.pi + 300])
def test_a_belt_reaches_around_its_pulleys(too_short: float) -> None:
    with pytest.raises(ValueError, match="too short: where these pulleys touch"):
        length.centres(too_short, 150, 150)


@pytest.mark.parametrize(
    ("changes", "why"),
    [
        ({"allowances": Allowances(take_up=-3000)}, "leaves nothing of 2000.0 mm"),
        ({"allowances": Allowances(fingers=2000)}, "longer than the belt of 2000.0 mm"),
        ({"mark_spacing": 2001.0}, "do not fit on a belt of 2000 mm"),
        ({"mark_spacing": 0.0}, "0 mm apart do not fit"),
        ({"elongation": -1.0}, "not stretched by -1 %"),
        ({"elongation": 100.0}, "not stretched by 100 %"),
    ],
)
def test_what_cannot_be_cut_is_told(changes: dict[str, object], why: str) -> None:
    with pytest.raises(ValueError, match=why):
        length.of_endless(2000.0, **changes)  # type: ignore[arg-type]
