"""The bench itself: its sets are well formed, and it counts right."""

import numpy as np
import pytest

from recorder.model.fields import FIELDS
from recorder.model.reading import Reading, Spoken, Standing
from tests.bench.narrations import Narration, Told, load, slot
from tests.bench.plant import NOISES, condition, in_plant, noise_under, speech_power
from tests.bench.scoring import SILENT, Counts, Outcome, agree, judge
from tests.bench.voices import VOICES

SETS = ("development", "report")


@pytest.mark.parametrize("name", SETS)
def test_a_set_is_large_enough_and_says_its_numbers_in_words(name: str) -> None:
    narrations = load(name)  # raises for an unknown field, unit, choice or level
    assert len(narrations) >= 60
    for narration in narrations:
        assert narration.truth
        assert not any(char.isdigit() for line in narration.lines for char in line)


def test_no_narration_stands_twice_or_in_both_sets() -> None:
    narrations = [narration for name in SETS for narration in load(name)]
    assert len({narration.name for narration in narrations}) == len(narrations)
    assert len({narration.lines for narration in narrations}) == len(narrations)


@pytest.mark.parametrize("name", SETS)
def test_a_set_tells_of_several_splices_and_runs_and_most_fields(name: str) -> None:
    narrations = load(name)
    several = [n for n in narrations if any(slot.splice for slot in n.truth)]
    assert len(several) >= len(narrations) // 8
    fields = {slot.field for narration in narrations for slot in narration.truth}
    assert len(fields) >= 0.7 * len(FIELDS)


@pytest.mark.parametrize(("key", "given", "value"), [
    ("top_temperature", "356 degF", 180.0),
    ("dwell_time", "3.5 min", 210.0),
    ("belt_thickness", "100 thou", 2.54),
    ("supply_phases", 3, 3.0),
    ("bubbles", False, False),
    ("outcome", "rework", "rework"),
    ("arrived_at", "07:15", "07:15"),
])  # fmt: skip
def test_truth_is_kept_in_the_canonical_unit(key: str, given: Told, value: Told) -> None:
    kept = slot(key, given).value
    assert type(kept) is type(value)
    assert kept == (pytest.approx(value) if isinstance(value, float) else value)


def test_a_key_names_its_splice_and_run() -> None:
    told = slot("splice 2 run 3 / pressure", "30 psi")
    assert (told.field, told.splice, told.run) == ("pressure", 2, 3)
    told = slot("splice 1 / finger_gap", "0.4 mm")
    assert (told.field, told.splice, told.run) == ("finger_gap", 1, None)


@pytest.mark.parametrize(("key", "given"), [
    ("colour", "green"),
    ("top_temperature", "180"),
    ("top_temperature", "180 bar"),
    ("top_temperature", 180),
    ("bubbles", "no"),
    ("outcome", "fine"),
    ("arrived_at", "quarter past seven"),
    ("splice 1 / pressure", "2 bar"),
    ("splice 1 run 1 / finger_gap", "0.4 mm"),
    ("splice 1 / job_number", "4173"),
])  # fmt: skip
def test_truth_that_fits_no_field_is_refused(key: str, given: Told) -> None:
    with pytest.raises((ValueError, KeyError)):
        slot(key, given)


def _reading(
    field: str, value: Told, standing: Standing = Standing.CLEAR, splice: int = 1, run: int = 1
) -> Reading:
    evidence = Spoken(file="told", said="as said")
    return Reading(field=field, value=value, unit=FIELDS[field].unit, standing=standing,
                   evidence=evidence, splice=splice, run=run)  # fmt: skip


def _narration(**truth: Told) -> Narration:
    keys = {key.replace("__", " / ").replace("_of_", " "): given for key, given in truth.items()}
    return Narration("told", (), tuple(slot(key, given) for key, given in keys.items()))


def test_every_outcome_is_told_apart() -> None:
    narration = _narration(
        top_temperature="180 degC", bottom_temperature="179 degC", pressure="2 bar",
        dwell_time="4 min", cool_down_temperature="60 degC",
    )  # fmt: skip
    judged = judge(narration, (
        _reading("top_temperature", 180.0),
        _reading("bottom_temperature", 179.0, Standing.DOUBTFUL),
        _reading("pressure", 12.0, Standing.DOUBTFUL),
        _reading("dwell_time", 204.0),
        _reading("cycle_time", 600.0, Standing.DOUBTFUL),
        _reading("bubbles", False),
    ))  # fmt: skip
    assert {one.key: one.outcome for one in judged} == {
        "top_temperature": Outcome.RIGHT_CLEAR,
        "bottom_temperature": Outcome.RIGHT_ASKED,
        "pressure": Outcome.WRONG_ASKED,
        "dwell_time": Outcome.WRONG_CLEAR,
        "cool_down_temperature": Outcome.MISSING,
        "cycle_time": Outcome.INVENTED_ASKED,
        "bubbles": Outcome.INVENTED_CLEAR,
    }
    counts = Counts.over(judged)
    assert (counts.slots, counts.readings) == (5, 6)
    assert counts.right == pytest.approx(2 / 5)
    assert counts.of_readings(*SILENT) == pytest.approx(2 / 6)
    assert counts.share(Outcome.MISSING) == pytest.approx(1 / 5)


def test_the_last_telling_counts_and_what_it_replaced_is_no_invention() -> None:
    told = (_reading("pressure", 1.5), _reading("pressure", 2.0))
    (judged,) = judge(_narration(pressure="2 bar"), told)
    assert judged.outcome is Outcome.RIGHT_CLEAR


def test_a_value_counts_only_at_its_own_splice_and_run() -> None:
    narration = _narration(
        pressure="2 bar", splice_of_1_of_run_of_1__pressure="1.5 bar",
        splice_of_1__finger_gap="0.4 mm",
    )  # fmt: skip
    told = (
        _reading("pressure", 1.5),
        _reading("finger_gap", 0.4),
        _reading("pressure", 2.0, splice=2),
    )
    assert {one.outcome for one in judge(narration, told)} == {Outcome.RIGHT_CLEAR}
    muddled = (_reading("pressure", 1.5), _reading("pressure", 2.0), _reading("finger_gap", 0.4))
    outcomes = {one.key: one.outcome for one in judge(narration, muddled)}
    assert outcomes["splice 1 run 1 / pressure"] is Outcome.WRONG_CLEAR


def test_a_splice_that_nobody_told_of_is_invented() -> None:
    told = (_reading("pressure", 3.0), _reading("pressure", 2.0, splice=2))
    judged = judge(_narration(pressure="2 bar"), told)
    assert [(one.key, one.outcome) for one in judged] == [
        ("pressure", Outcome.RIGHT_CLEAR),
        ("splice 1 run 1 / pressure", Outcome.INVENTED_CLEAR),
    ]


@pytest.mark.parametrize(("field", "value", "truth", "same"), [
    ("top_temperature", 179.4444, 179.44, True),
    ("top_temperature", 179.0, 180.0, False),
    ("pressure", 2.0, 2.0684, False),
    ("customer", "pendrake dairy.", "Pendrake Dairy", True),
    ("customer", "Pendrick Dairy", "Pendrake Dairy", False),
    ("materials", "2 sheets of film", "Two sheets of film", True),
    ("arrived_at", "T07:15:00", "07:15", True),
    ("arrived_at", "2026-11-25T19:15", "07:15", False),
    ("bubbles", False, False, True),
    ("bubbles", True, False, False),
])  # fmt: skip
def test_values_agree(field: str, value: Told, truth: Told, same: bool) -> None:
    assert agree(field, value, truth) is same


@pytest.mark.parametrize("kind", [kind for kind in NOISES if kind != "babble"])
def test_noise_lies_under_the_speech_by_as_much_as_it_is_called(kind: str) -> None:
    second = 0.3 * np.sin(np.arange(16000) / 4)
    said = np.concatenate([np.zeros(16000), second, np.zeros(16000)])
    noise = noise_under(said, kind, 5.0, np.random.default_rng(7))
    snr_db = 10 * np.log10(np.mean(second**2) / np.mean(noise**2))
    assert snr_db == pytest.approx(5.0, abs=0.2)


def test_a_plant_sounds_the_same_each_time_and_clean_is_untouched() -> None:
    said = 0.3 * np.sin(np.arange(32000) / 4)
    once, again = (in_plant(said, condition("fan10"), 3) for _ in range(2))
    assert np.array_equal(once, again)
    assert not np.array_equal(once, in_plant(said, condition("fan10"), 4))
    assert np.array_equal(in_plant(said, condition("clean"), 3), said)


def test_only_what_sounds_counts_as_speech() -> None:
    second = 0.3 * np.sin(np.arange(16000) / 4)
    with_pauses = np.concatenate([np.zeros(32000), second, np.zeros(32000)])
    assert speech_power(with_pauses) == pytest.approx(speech_power(second), rel=0.02)


def test_each_voice_meets_each_kind_of_noise() -> None:
    pairs = {(n % len(VOICES), condition("10").kind_for(n)) for n in range(len(VOICES) * 4)}
    assert len(pairs) == len(VOICES) * len(NOISES)


@pytest.mark.parametrize("name", ["hum10", "loud", "15bar", ""])
def test_an_unknown_condition_is_refused(name: str) -> None:
    with pytest.raises(ValueError, match="neither"):
        condition(name)
