"""A job card from what is known: which value comes from where, and what is asked."""

from pathlib import Path

import pytest

from recorder.archive.disk.home import Home
from recorder.archive.index.index import Index
from recorder.errors import (
    BadGeometry,
    BadValue,
    UnknownField,
    UnknownJob,
    UnknownName,
    UnknownRecipe,
    WrongUse,
)
from recorder.flows import jobcard
from recorder.flows.knowhow import card_text, preparing, recipes
from recorder.flows.knowhow.card_words import drifting
from recorder.flows.knowhow.drafting import ASKED_TOO, CARRIED, Draft, Origin, Source
from recorder.flows.knowhow.filling import with_answer
from recorder.model.job import in_force
from recorder.model.reading import Role, Standing
from tests.archive.sample_jobs import NOW, from_card, reading
from tests.flows.knowhow import light_jobs
from tests.flows.knowhow.cards import (
    CONVEYORS,
    INVENTORY,
    SETTINGS,
    TODAY,
    begin,
    job,
    said,
    whence,
)
from tests.flows.knowhow.past_jobs import keep_job, told


@pytest.fixture
def home(tmp_path: Path) -> Home:
    return Home.open(tmp_path / "home")


# From a past job


def test_of_a_past_job_only_what_holds_again_is_taken(home: Home) -> None:
    once = (
        from_card("customer", "Larkfield Bakery"), from_card("technician", "Imke Dorn"),
        from_card("belt_serial", "77-1"), reading("isolation_confirmed", True),
        reading("finger_gap", 0.2), reading("tension_mark_before", 1000.0),
        reading("arrived_at", "2026-03-04T07:15:00+01:00"), reading("materials", "foil"),
    )  # fmt: skip
    keep_job(home, (*told("4101", "accepted"), *once))
    draft = begin(home, job())
    assert whence(draft) == dict.fromkeys(
        ("customer", "belt_material", "belt_thickness", "belt_width", "guide_profile",
         "splice_type", "press", "pressure", "top_temperature"),
        "job 4101",
    )  # fmt: skip
    assert {each.reading.field for each in draft.used} <= set(CARRIED)
    assert [each.reading.role for each in draft.asked] == [Role.ASKED] * 2


@pytest.mark.parametrize("outcome", ["rework", "rejected", None])
def test_settings_of_a_splice_that_was_not_accepted_are_not_asked_for(
    home: Home, outcome: str | None
) -> None:
    keep_job(home, told("4101", outcome))
    draft = begin(home, job("4101"))
    assert draft.asked == ()
    assert draft.known.held is None
    assert draft.differing == ("job 4101 has no accepted splice; its settings are not taken",)


def test_a_splice_that_was_pressed_again_since_is_not_known_to_be_accepted(home: Home) -> None:
    again = reading("top_temperature", 190.0).model_copy(update={"run": 2})
    keep_job(home, (*told("4101", "accepted"), again))
    draft = begin(home, job("4101"))
    assert draft.asked == ()
    assert draft.differing == ("job 4101 has no accepted splice; its settings are not taken",)


def test_of_several_splices_the_last_accepted_one_counts(home: Home) -> None:
    second = (reading("top_temperature", 180.0, splice=2), reading("outcome", "rejected", splice=2))
    keep_job(home, (*told("4101", "accepted"), *second))
    assert begin(home, job()).settings["top_temperature"] == 172.0


def test_a_doubtful_value_is_none(home: Home) -> None:
    keep_job(home, told("4101", "accepted", standing=Standing.DOUBTFUL))
    assert begin(home, job()).settings == {"pressure": 2.2}


# Several sources


def test_typed_values_count_first_and_later_sources_fill_the_rest(home: Home) -> None:
    (home.root / "conveyors.toml").write_text(CONVEYORS)
    keep_job(home, told("4101", "accepted"))
    conveyor = Source(kind=Origin.CONVEYOR, name="oven outfeed 3")
    draft = begin(home, conveyor, job(), top_temperature="350 degF")
    told_by = whence(draft)
    assert told_by["top_temperature"] == "typed"
    assert told_by["belt_width"] == "conveyor list, Oven outfeed 3"
    assert told_by["belt_material"] == told_by["pressure"] == "job 4101"
    assert draft.value("site") == "Packing hall 2"
    assert draft.differing == (
        "belt_width: 80 mm (conveyor list, Oven outfeed 3); job 4101 says 70 mm",
        "top_temperature: 177 °C (350 °F) (typed); job 4101 says 172 °C",
    )
    answered = with_answer(draft, "top_temperature", "172 degC")
    assert answered.differing == draft.differing[:1]
    draft = begin(home, job(), conveyor)
    assert draft.value("belt_width") == 70.0


def test_a_recipe_gives_belt_press_and_settings_until_it_is_retired(home: Home) -> None:
    kept = keep_job(home, told("4101", "accepted"))
    recipes.keep(home, kept, 1, "Oven 70")
    recipe = Source(kind=Origin.RECIPE, name="oven 70")
    draft = begin(home, recipe)
    assert whence(draft)["top_temperature"] == "recipe Oven 70, version 1"
    assert draft.text("press") == "P 600"
    assert draft.known.held
    assert draft.known.held.whence == "recipe Oven 70, version 1"
    recipes.retire(home, "Oven 70", reason="the platen was changed")
    with pytest.raises(BadValue, match="it was retired: the platen was changed"):
        begin(home, recipe)


def test_words_fill_what_they_say_clearly_and_tell_what_no_card_holds(home: Home) -> None:
    draft = begin(home, said("Belt width seventy millimetres. Top at 172 degrees. No bubbles."))
    assert draft.value("belt_width") == 70.0
    assert draft.settings == {"top_temperature": 172.0}
    assert draft.differing == ("bubbles: said, and on no card, since it is found during the job",)


def test_what_was_half_heard_is_asked_and_stands_nowhere(home: Home) -> None:
    doubt = reading("belt_width", 70.0, standing=Standing.DOUBTFUL)
    source = Source(kind=Origin.SAID, readings=(doubt.model_copy(update={"candidates": (17.0,)}),))
    draft = begin(home, source)
    assert draft.value("belt_width") is None
    assert draft.questions[0].text.startswith("belt_width: 70 mm, or 17 mm?")
    assert with_answer(draft, "belt_width", "yes").value("belt_width") == 70.0
    assert with_answer(draft, "belt_width", "17 mm").value("belt_width") == 17.0
    left_open = with_answer(draft, "belt_width", "")
    assert (left_open.doubts, left_open.open) == ((), ("belt_width",))
    assert "belt_width" in left_open.missing


@pytest.mark.parametrize(
    ("source", "error"),
    [
        (job("nobody's"), UnknownJob),
        (Source(kind=Origin.RECIPE, name="none"), UnknownRecipe),
        (Source(kind=Origin.CONVEYOR, name="none"), UnknownName),
    ],
)
def test_a_source_that_is_not_there_is_refused(
    home: Home, source: Source, error: type[Exception]
) -> None:
    with pytest.raises(error):
        begin(home, source)


@pytest.mark.parametrize(
    ("field", "text", "error"),
    [
        ("belt_wdith", "70 mm", UnknownField),
        ("belt_width", "70", BadValue),
        ("outcome", "accepted", WrongUse),
        ("finger_gap", "0.2 mm", WrongUse),
        ("cycle_time", "12 min", WrongUse),
    ],
)
def test_a_value_that_is_no_matter_of_a_card_is_refused(
    home: Home, field: str, text: str, error: type[Exception]
) -> None:
    with pytest.raises(error, match=field):
        begin(home, **{field: text})


# What is asked


def test_what_a_card_needs_is_asked_in_its_order_and_fingers_only_of_fingers() -> None:
    fields = [question.field for question in Draft().questions]
    assert fields[:2] == ["job_number", "customer"]
    assert fields[-4:] == ["finger_length", "finger_pitch", "template", "press"]
    butt = with_answer(Draft(), "splice_type", "butt")
    assert {"finger_length", "finger_pitch", "template"}.isdisjoint(butt.missing)
    assert {question.field for question in butt.questions if question.optional} == set(ASKED_TOO)


def test_the_template_that_fits_is_proposed_once_the_belt_says_enough(home: Home) -> None:
    (home.root / "inventory.toml").write_text(INVENTORY)
    draft = begin(home, splice_type="finger", finger_length="30 mm", belt_width="70 mm")
    assert all(question.why == "missing" for question in draft.questions)
    draft = preparing.answered(home, draft, "finger_pitch", "10 mm", TODAY)
    (proposed,) = [each for each in draft.questions if each.why == "template"]
    assert (proposed.field, proposed.proposed) == ("template", "T30-10")
    assert preparing.answered(home, draft, "template", "y", TODAY).text("template") == "T30-10"


def test_a_setting_beyond_the_accepted_ones_is_asked_about_and_not_forbidden(
    home: Home, tmp_path: Path
) -> None:
    for days, top in enumerate((171.0, 172.0, 173.0)):
        keep_job(home, told(f"41{days}", "accepted", top), days)
    draft = begin(home, job(), top_temperature="185 degC")
    (question,) = [each for each in draft.questions if each.why == "deviation"]
    assert question.text == (
        "top_temperature: is 185 °C meant? 3 accepted runs on such a belt: 171 °C to 173 °C"
    )
    meant = preparing.answered(home, draft, "top_temperature", "yes", TODAY)
    assert (meant.meant, meant.deviations) == (("top_temperature",), ())
    assert meant.settings["top_temperature"] == 185.0
    card_path = tmp_path / "job.toml"
    card_path.write_text(card_text.text(meant, NOW))
    (line,) = [each for each in card_path.read_text().splitlines() if "# not" in each]
    assert line == (
        'top_temperature = "185 degC"  # not 3 accepted runs on such a belt: 171 °C to 173 °C'
    )
    known = in_force(jobcard.read(card_path).readings, role=Role.MEANT)
    assert {name: each.value for name, each in known.items()} == {"top_temperature": 185.0}
    other = preparing.answered(home, draft, "top_temperature", "172 degC", TODAY)
    assert other.known.deviations == ()


def test_held_is_one_accepted_splice_as_a_whole_and_no_mixture(home: Home) -> None:
    keep_job(home, told("4101", "accepted", 171.0), 2)
    keep_job(home, told("4102", "accepted", 173.0), 1)
    keep_job(home, told("4103", "rejected", 190.0), 0)
    held = begin(home, job("4101")).known.held
    assert held
    assert held.whence == "job 4102"
    assert held.settings == {"pressure": 2.2, "top_temperature": 173.0}


def test_a_press_that_drifts_is_told_before_the_next_job(tmp_path: Path) -> None:
    crept = [0.45 + 0.03 * step for step in range(9)]
    home = light_jobs.home_of(tmp_path, light_jobs.jobs((*light_jobs.STABLE, *crept)))
    with Index.open(home):  # a scan enters what lies in the folders
        draft = begin(home, press="p2")
    drifts = [drifting(each) for each in draft.known.drifts]
    assert any(each.startswith("Finger gap, press P2: crept up over") for each in drifts), drifts
    assert begin(home, press="P 600").known.drifts == ()


def test_a_template_that_does_not_fit_the_belt_now_is_told(home: Home) -> None:
    (home.root / "inventory.toml").write_text(INVENTORY)
    draft = begin(home, template="t30-10", belt_width="24 inch", splice_type="finger")
    assert draft.needs_person
    assert draft.differing[0].startswith("template: T30-10 does not fit, takes ")


def test_a_check_of_this_press_that_is_overdue_is_told_and_no_other(home: Home) -> None:
    (home.root / "inventory.toml").write_text(INVENTORY)
    (check,) = begin(home, press="p 600").known.checks
    assert (check.name, check.overdue_days) == ("P 600", 140)
    assert begin(home, press="P2").known.checks == ()


# The length


def test_a_conveyor_s_drive_gives_the_length_once_the_fingers_are_told(home: Home) -> None:
    (home.root / "conveyors.toml").write_text(CONVEYORS)
    draft = begin(home, Source(kind=Origin.CONVEYOR, name="Oven outfeed 3"))
    assert (draft.length, draft.length_lacks) == (None, ("splice_type",))
    assert draft.needs_person
    draft = preparing.answered(home, draft, "splice_type", "butt", TODAY)
    assert draft.length
    assert draft.length.drive
    assert draft.length.drive.thickness == 2.0
    assert draft.length.endless == pytest.approx(9113.29, abs=0.01)


def test_pulleys_that_cannot_be_are_refused(home: Home) -> None:
    told_of = {"pulley_1": "5 m", "pulley_2": "5 m", "centres": "1 m"}
    with pytest.raises(BadGeometry, match="5000 mm"):
        preparing.begin(home, SETTINGS, (), {}, told_of)
