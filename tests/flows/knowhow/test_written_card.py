"""What is written of a job card: the file, the page, the card that waits."""

import io
from datetime import datetime, timedelta
from pathlib import Path

import pypdf
import pytest
from hypothesis import given
from hypothesis import strategies as st

from recorder.archive.disk.home import Home
from recorder.errors import (
    OutputExists,
    UnknownCard,
)
from recorder.flows import jobcard
from recorder.flows.knowhow import card_page, card_text, prepared, preparing
from recorder.flows.knowhow.card_words import text_of
from recorder.flows.knowhow.drafting import CARRIED, Draft
from recorder.flows.knowhow.filling import typed
from recorder.model.fields import FIELDS, Kind
from recorder.model.job import in_force
from recorder.model.quantity import Quantity
from recorder.model.reading import Reading, Role, Standing, Typed
from recorder.notes.languages import vocabulary_of
from recorder.notes.words.speaking import speaking
from tests.archive.sample_jobs import NOW
from tests.external import verapdf
from tests.flows.knowhow.cards import (
    INVENTORY,
    SETTINGS,
    TODAY,
    begin,
    job,
)
from tests.flows.knowhow.past_jobs import keep_job, told


@pytest.fixture
def home(tmp_path: Path) -> Home:
    return Home.open(tmp_path / "home")


def odd(name: str) -> str:
    """A value of a field as a person types it, by no rule that the program has."""
    field = FIELDS[name]
    if field.kind is Kind.QUANTITY:
        assert field.unit
        return f"123.456789 {field.unit}"
    if field.kind is Kind.COUNT:
        return "3"
    return field.choices[-1] if field.choices else 'Two "quoted" \\ words = \N{SNOWMAN}, # [x]'


@pytest.mark.parametrize("language", ["en", "de"])
def test_the_file_gives_the_same_values_again_in_every_language(
    home: Home, tmp_path: Path, language: str
) -> None:
    with speaking(vocabulary_of(language, home.vocabulary)):
        draft = typed(Draft(), {name: odd(name) for name in (*CARRIED, "pressure")})
        draft = typed(draft, {"top_temperature": "350.5 degF", "dwell_time": "3.25 min"})
        path = tmp_path / "job.toml"
        path.write_text(card_text.text(draft, NOW), encoding="utf-8")
        readings = jobcard.read(path).readings
    assert readings == tuple(each.reading for each in (*draft.used, *draft.asked))


@given(st.sampled_from(["bar", "psi", "kPa"]), st.floats(0.01, 900))
def test_any_number_is_read_as_it_was_written(unit: str, value: float) -> None:
    given_as = Quantity(value=float(f"{value:.12g}"), unit=unit)
    held = given_as.to("bar")
    told_of = Reading(
        field="pressure", value=held.value, unit="bar", standing=Standing.CONFIRMED,
        as_said=given_as if unit != "bar" else None, evidence=Typed(),
    )  # fmt: skip
    (again,) = typed(Draft(), {"pressure": text_of(told_of)}).asked
    assert (again.reading.value, again.reading.as_said) == (told_of.value, told_of.as_said)


@pytest.mark.parametrize("value", [0.00006103515625, 1e-14, 12.1234567890123])
def test_a_number_of_many_digits_is_read_as_well_as_it_can_be(value: float) -> None:
    told_of = Reading(
        field="pressure", value=value, unit="bar", standing=Standing.CONFIRMED, evidence=Typed()
    )
    (again,) = typed(Draft(), {"pressure": text_of(told_of)}).asked
    assert again.reading.value == pytest.approx(value, rel=1e-8, abs=1e-13)


def test_text_of_a_value_keeps_the_unit_in_which_it_was_given() -> None:
    draft = typed(Draft(), {"pressure": "32 psi", "belt_width": "2.75 inch"})
    assert [text_of(each.reading) for each in draft.used] == ["2.75 inch"]
    assert [text_of(each.reading) for each in draft.asked] == ["32 psi"]


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> tuple[Draft, preparing.Written]:
    """A card with everything that one can have."""
    home = Home.open(tmp_path_factory.mktemp("firm") / "home")
    (home.root / "inventory.toml").write_text(INVENTORY)
    for days, top in enumerate((171.0, 172.0, 173.0)):
        fingers = {"finger_length": 30.0, "finger_pitch": 10.0}
        keep_job(home, told(f"41{days}", "accepted", top, **fingers), days)
    settings = SETTINGS.model_copy(
        update={"report": SETTINGS.report.model_copy(update={"units": {"length": "inch"}})}
    )
    draft = preparing.begin(
        home,
        settings,
        [job()],
        {"job_number": "5120", "customer": "Ouzel & <Sons>", "top_temperature": "185 degC"},
        {"pulley_1": "250 mm", "pulley_2": "200 mm", "centres": "4.2 m", "trim": "20 mm",
         "take_up": "30 mm", "elongation": "0.8 %"},
        today=TODAY,
    )  # fmt: skip
    draft = preparing.answered(home, draft, "template", "yes", TODAY)
    return draft, preparing.write(home, settings, draft, home.root.parent / "out" / "card")


def test_the_card_that_was_written_is_the_draft(
    written: tuple[Draft, preparing.Written],
) -> None:
    draft, files = written
    card = jobcard.read(files.card)
    known = in_force(card.readings)
    assert {name: held.value for name, held in known.items()} == {
        each.reading.field: each.reading.value for each in draft.used
    }
    asked = in_force(card.readings, role=Role.ASKED)
    assert {name: held.value for name, held in asked.items()} == draft.settings
    recipe = in_force(card.readings, role=Role.RECIPE)
    assert recipe["top_temperature"].value == 171.0, "of the newest accepted one"
    assert card.belt_length == draft.length


def test_the_page_holds_all_of_it_on_one_sheet(
    written: tuple[Draft, preparing.Written],
) -> None:
    _, files = written
    pages = pypdf.PdfReader(files.page).pages
    assert len(pages) == 1
    text = " ".join(pages[0].extract_text().split())
    for part in (
        "Job 5120", "Ouzel & <Sons>", "T30-10", "185 °C", "171 °C", "171 °C to 173 °C, 3 times",
        "Top platen: 185 °C is asked for; 3 accepted runs on such a belt",
        "P 600: overdue for its check since 2026-07-09", "Conveyor isolated and locked out",
        "The plant's rules, local codes, the belt maker's data and licensed practice come first",
        "What has no source beside it was typed for this card.",
    ):  # fmt: skip
        assert part in text, part


def test_the_page_is_for_every_reader(written: tuple[Draft, preparing.Written]) -> None:
    pdf = written[1].page.read_bytes()
    assert verapdf.failures(pdf, "ua1") == []


def test_a_card_that_is_there_is_not_overwritten(home: Home, tmp_path: Path) -> None:
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "job_card.pdf").write_bytes(b"mine")
    with pytest.raises(OutputExists, match=r"job_card\.pdf"):
        preparing.write(home, SETTINGS, Draft(), tmp_path / "out")
    assert [path.name for path in (tmp_path / "out").iterdir()] == ["job_card.pdf"]
    assert (tmp_path / "out" / "job_card.pdf").read_bytes() == b"mine"


def test_an_empty_card_is_lines_to_write_on(home: Home) -> None:
    page = card_page.pdf(home, SETTINGS, Draft(), NOW)
    reader = pypdf.PdfReader(io.BytesIO(page))
    assert "Not told: Customer, Belt material" in reader.pages[0].extract_text()
    assert len(reader.pages) == 1


# Cards that wait


def test_a_card_waits_in_the_home_until_it_is_discarded(home: Home) -> None:
    assert prepared.prepared(home) == ()
    draft = begin(home, job_number="5120", customer="Ouzel Söhne", belt_width="70 mm")
    kept = prepared.keep(home, draft)
    assert (kept.title, kept.belt) == ("5120, Ouzel Söhne", "70 mm")
    assert datetime.now().astimezone() - kept.kept_at < timedelta(minutes=5)
    (home.root / "prepared" / "spoilt.toml").write_text("belt_width = 70")
    assert prepared.prepared(home) == (kept,)
    prepared.discard(home, kept.name)
    prepared.discard(home, kept.name)
    assert prepared.prepared(home) == ()
    with pytest.raises(UnknownCard, match="no job card"):
        prepared.path_of(home, "../settings")


def test_readings_of_a_card_are_typed_and_confirmed() -> None:
    (filled,) = typed(Draft(), {"belt_width": "70 mm"}).used
    assert isinstance(filled.reading, Reading)
    assert filled.reading.standing is Standing.CONFIRMED
    assert filled.reading.evidence.source == "typed"
