"""The summary of a month as a person reads it, by poppler, and as it must never be."""

import re
import subprocess
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pypdf
import pytest

from recorder.archive.disk.home import Home
from recorder.errors import BadValue, OutputUnwritable, UnknownName
from recorder.flows.knowhow.firm import take_inventory
from recorder.flows.knowhow.summary import file_name, write_summary
from recorder.report.summary.compose import Asked
from recorder.report.summary.month import Month
from recorder.settings import ReportSettings, Settings
from tests.external import verapdf
from tests.flows.knowhow.light_jobs import FIRST, STABLE, home_of, job, jobs

NOW = datetime(2026, 11, 3, 9, 0, tzinfo=UTC)
SETTINGS = Settings(
    report=ReportSettings(firm="Quillback Belt Service", units={"length": "inch"}, paper="Letter")
)
# Of the other customer alone: the names of everything, so that any leak would show.
OTHER = {
    "customer": "Osterholm Parcel",
    "technician": "Ansgar Tolliver",
    "press": "Kestrel 1200",
    "template": "TX-99",
    "belt_material": "Corvane PVC 12",
}


@pytest.fixture(scope="module")
def home(tmp_path_factory: pytest.TempPathFactory) -> Home:
    """In October 2026 31 splices for one customer, on a press that wears, and 6 for another one
    that went badly; one in November.
    """
    ours = jobs((*STABLE, 0.36))
    theirs = [
        job(7000 + n, FIRST + timedelta(hours=30 * n), round(0.9 + n * 0.03, 2),
            outcome="rejected", **OTHER)
        for n in range(6)
    ]  # fmt: skip
    later = job(88001, datetime(2026, 11, 2, 9, tzinfo=UTC), 0.21)
    return home_of(tmp_path_factory.mktemp("summary"), [*ours, *theirs, later])


def told(path: Path) -> str:
    done = subprocess.run(["pdftotext", path, "-"], capture_output=True, text=True, check=True)
    return " ".join(done.stdout.split())


@pytest.fixture(scope="module")
def firms(home: Home, tmp_path_factory: pytest.TempPathFactory) -> Path:
    out = tmp_path_factory.mktemp("pdf") / "firm.pdf"
    return write_summary(home, SETTINGS, "2026-10", out=out, now=NOW)


@pytest.fixture(scope="module")
def customers(home: Home, tmp_path_factory: pytest.TempPathFactory) -> Path:
    out = tmp_path_factory.mktemp("pdf") / "customer.pdf"
    return write_summary(home, SETTINGS, "2026-10", "larkfield  BAKERY", out, now=NOW)


def test_the_firm_sees_all_of_the_month_and_nothing_of_the_next(firms: Path) -> None:
    text = told(firms)
    for expected in (
        "October 2026", "Quillback Belt Service", "31 of 37 splices accepted", "6 rejected",
        "37 jobs", "37 measured gaps", "between 69 % and 92 %", "Not signed", "page 1 of",
        "Osterholm Parcel", "Larkfield Bakery", "Finger gap, press Kestrel 1200",
        "This is a record, not an instruction.", "written November 3, 2026",
    ):  # fmt: skip
        assert expected in text, expected
    assert "88001" not in text


def test_values_stand_in_the_unit_of_the_reader_too(firms: Path) -> None:
    text = told(firms)
    assert "Finger gap in mm / in" in text
    assert "0.36 ± 0.05 / 0.014 ± 0.002" in text


def test_a_customer_sees_nothing_of_another_one(customers: Path) -> None:
    text = told(customers)
    for expected in ("For Larkfield Bakery", "31 of 31 splices accepted", "31 jobs", "T30-10"):
        assert expected in text, expected
    reader = pypdf.PdfReader(customers)
    contents = [page.get_contents() for page in reader.pages]
    drawn = customers.read_bytes() + b"".join(each.get_data() for each in contents if each)
    alternatives = " ".join(str(value) for value in _texts(reader.trailer["/Root"]))
    assert "customer Larkfield Bakery" in alternatives
    for name in (*OTHER.values(), "7000", "7005", "1.05"):
        assert name not in text + alternatives, name
        assert name.encode() not in drawn, name
    assert not reader.attachments


def _texts(node: object) -> list[object]:
    """What a screen reader says of the pictures, by following the whole structure."""
    found: list[object] = []
    waiting, seen = [node], set()
    while waiting:
        at = waiting.pop()
        held = at.get_object() if isinstance(at, pypdf.generic.IndirectObject) else at
        if id(held) in seen:
            continue
        seen.add(id(held))
        if isinstance(held, pypdf.generic.DictionaryObject):
            found += [held["/Alt"]] if "/Alt" in held else []
            waiting += list(held.values())
        elif isinstance(held, pypdf.generic.ArrayObject):
            waiting += list(held)
    return found


def test_it_is_archival_and_accessible(firms: Path) -> None:
    assert verapdf.failures(firms, "3a") == []
    assert verapdf.failures(firms, "ua1") == []
    page = pypdf.PdfReader(firms).pages[0].mediabox
    assert (round(page.width), round(page.height)) == (612, 792)  # Letter


def test_the_same_month_gives_the_same_bytes(tmp_path: Path) -> None:
    home = home_of(tmp_path, jobs(STABLE[:6]))
    first, second = (
        write_summary(home, SETTINGS, "2026-10", out=tmp_path / name, now=NOW).read_bytes()
        for name in ("a.pdf", "b.pdf")
    )
    assert first == second


@pytest.mark.parametrize(
    ("count", "headline", "charted"),
    [(0, "No splice", False), (1, "1 of 1 splice accepted", False), (3, "3 of 3 splices", False)],
)
def test_a_month_with_little_in_it(
    tmp_path: Path, count: int, headline: str, charted: bool
) -> None:
    home = home_of(tmp_path, jobs(STABLE[:count]))
    text = told(write_summary(home, Settings(), "2026-10", out=tmp_path / "a.pdf", now=NOW))
    assert headline in text
    assert ("Moving range" in text) is charted
    assert "A chart over time wants 5 measured splices" in text
    assert ("Splices of the month" in text) is (count > 0)
    assert "page 1 of 1" in text


def test_checks_are_for_the_firm_alone(tmp_path: Path) -> None:
    home = home_of(tmp_path, jobs(STABLE[:2]))
    owned = tmp_path / "inventory.toml"
    owned.write_text(
        '[[press]]\nname = "Kestrel 900"\nlast_check = 2026-05-01\ncheck_days = 100\n'
        '[[press]]\nname = "Kestrel 950"\nlast_check = 2026-10-30\ncheck_days = 100\n'
    )
    take_inventory(home, owned, today=NOW.date())
    out = tmp_path / "a.pdf"
    text = told(write_summary(home, Settings(), "2026-10", out=out, now=NOW))
    assert "1 check is due or overdue" in text
    assert "Due for a check on November 3, 2026" in text
    assert "Kestrel 900" in text
    assert "August 9, 2026" in text
    assert "950" not in text
    text = told(write_summary(home, Settings(), "2026-10", "Larkfield Bakery", out, now=NOW))
    assert "Kestrel" not in text
    assert "Due for a check" not in text


def test_splices_without_an_outcome_are_no_part_of_the_share(tmp_path: Path) -> None:
    home = home_of(tmp_path, jobs(STABLE[:2], outcome=None))
    text = told(write_summary(home, Settings(), "2026-10", out=tmp_path / "a.pdf", now=NOW))
    assert "2 splices, none with an outcome" in text
    assert "A share of" not in text


def test_hostile_and_long_names_bend_no_page(tmp_path: Path) -> None:
    names = ("</text><script>alert(1)</script>", "\u0645\u062e\u0628\u0632 4", "x" * 300, "\u202eP")
    every = [
        each for n, name in enumerate(names)
        for each in jobs(STABLE[:6], FIRST + timedelta(minutes=n), press=name, customer=name)
    ]  # fmt: skip
    path = write_summary(
        home_of(tmp_path, every), Settings(), "2026-10", out=tmp_path / "a.pdf", now=NOW
    )
    assert "24 of 24 splices" in told(path)
    assert "<script>" in told(path)
    assert verapdf.failures(path, "3a") == []


@pytest.mark.parametrize(
    ("month", "why"),
    [
        ("2026-13", "'2026-13' cannot be a month; write a month of the calendar like 2026-10"),
        ("October", "'October' cannot be a month"),
        ("2026-1", "cannot be a month"),
        ("0000-01", "cannot be a month"),
        ("0001-01", "cannot be a month"),
        ("9999-12", "cannot be a month"),
        ("2026-12", "cannot be the month of a summary; it has not begun yet"),
    ],
)
def test_a_month_that_is_none(home: Home, tmp_path: Path, month: str, why: str) -> None:
    out = tmp_path / "a.pdf"
    with pytest.raises(BadValue) as caught:
        write_summary(home, Settings(), month, out=out, now=NOW)
    assert why in str(caught.value)
    assert caught.value.exit_code == 2
    assert not out.exists()


def test_an_unknown_customer_offers_near_ones_and_writes_nothing(
    home: Home, tmp_path: Path
) -> None:
    with pytest.raises(UnknownName, match="did you mean 'Larkfield Bakery'"):
        write_summary(home, Settings(), "2026-10", "Larkfeld Bakery", tmp_path / "a.pdf", now=NOW)
    assert not list(tmp_path.iterdir())


def test_no_customers_summary_takes_the_place_of_another_one() -> None:
    def name(customer: str | None) -> str:
        return file_name(
            Asked(month=Month.read("2026-10"), customer=customer, now=NOW, version="", paper="A4")
        )

    assert name(None) == "summary_2026-10.pdf"
    assert name("Larkfield  Bakery") == "summary_2026-10_Larkfield-Bakery.pdf"
    others = (
        "Müller", "Möller", "Mueller", "Кафе", "Пекарня", "../x", "..", "x/", "A+B", "A B",
        f"{'Osterholm ' * 5} East", f"{'Osterholm ' * 5} West",
    )  # fmt: skip
    names = {name(None), *map(name, others)}
    assert len(names) == len(others) + 1
    assert all(re.fullmatch(r"[A-Za-z0-9_.-]{1,80}", each) for each in names)


def test_a_place_that_cannot_be_written(tmp_path: Path) -> None:
    home = home_of(tmp_path, ())
    with pytest.raises(OutputUnwritable):
        write_summary(home, Settings(), "2026-10", None, tmp_path / "no" / "a.pdf", now=NOW)


def test_a_month_knows_its_year() -> None:
    month = Month.read(" 2026-02")
    assert [each.iso for each in month.year_before()][:2] == ["2025-03", "2025-04"]
    assert month.year_before()[-1] == month
    assert (month.first_day, month.later(-2).iso) == (date(2026, 2, 1), "2025-12")
    assert month.end.date() == date(2026, 3, 1)
