import csv
import io
from datetime import UTC, datetime

import pytest

from recorder.archive.sharing.table import Cell, heading, unit_in, value_in, write_csv

IMPERIAL = {"temperature": "degF", "pressure": "psi", "length": "inch"}


def written(*rows: list[Cell]) -> str:
    file = io.StringIO(newline="")
    write_csv(file, ["a", "b"], rows)
    return file.getvalue()


@pytest.mark.parametrize(
    ("field", "units", "name"),
    [
        ("top_temperature", {}, "top_temperature_degC"),
        ("top_temperature", IMPERIAL, "top_temperature_degF"),
        ("elongation", IMPERIAL, "elongation_percent"),
        ("customer", IMPERIAL, "customer"),
        ("supply_phases", IMPERIAL, "supply_phases"),
        ("bubbles", IMPERIAL, "bubbles"),
    ],
)
def test_a_heading_says_the_unit(field: str, units: dict[str, str], name: str) -> None:
    assert heading(field, units) == name


def test_values_are_given_in_the_wanted_unit() -> None:
    assert value_in("top_temperature", 180.0, IMPERIAL) == 356.0
    assert value_in("belt_width", 50.8, IMPERIAL) == 2.0
    assert value_in("pressure", 2.20632233322, IMPERIAL) == 32.0
    assert value_in("belt_width", 50.8, {}) == 50.8
    assert value_in("dwell_time", 90.0, IMPERIAL) == 90.0
    assert value_in("bubbles", True, IMPERIAL) is True
    assert value_in("supply_phases", 3.0, IMPERIAL) == 3.0
    assert value_in("customer", "Veldt", IMPERIAL) == "Veldt"
    assert value_in("top_temperature", None, IMPERIAL) is None
    assert unit_in("customer", IMPERIAL) is None


def test_the_form_is_that_of_rfc_4180() -> None:
    assert written(["x,y", 'say "no"'], ["two\nlines", "plain"]) == (
        'a,b\r\n"x,y","say ""no"""\r\n"two\nlines",plain\r\n'
    )


@pytest.mark.parametrize(
    ("cell", "text"),
    [
        (None, ""),
        (True, "true"),
        (False, "false"),
        (172.0, "172"),
        (-5.5, "-5.5"),
        (176.666666667, "176.666666667"),
        (1e15, "1e+15"),
        (datetime(2026, 11, 25, 20, 45, tzinfo=UTC), "2026-11-25T20:45:00+00:00"),
        ("Larkfield, “Bakery”", "Larkfield, “Bakery”"),
        ("=1+1", "'=1+1"),
        ("+49 30 1234", "'+49 30 1234"),
        ("-5 °C", "'-5 °C"),
        ("@SUM(A1)", "'@SUM(A1)"),
        ("\t=1", "'\t=1"),
        ("＝1", "'＝1"),
        ("a=b", "a=b"),
        ("'quoted", "'quoted"),
        ("\ud800", "?"),
    ],
)
def test_cells(cell: Cell, text: str) -> None:
    (_, row) = csv.reader(io.StringIO(written([cell, "end"]), newline=""))
    assert row == [text, "end"]
