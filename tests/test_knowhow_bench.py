"""The bench of know-how finds what is wrong, and finds nothing in what is sound."""

import json
import math
from collections import Counter
from collections.abc import Sequence
from pathlib import Path

import pytest

from recorder.archive.disk.home import Home
from recorder.archive.index.index import bring_up_to_date
from recorder.flows.knowhow.recipes import look_up
from recorder.knowhow.recipes.answer import RecipeAnswer
from recorder.knowhow.trends.chart import Characteristic, Chart
from recorder.knowhow.trends.charting import chart
from recorder.model.belt import Belt
from recorder.model.past import PastRun
from tests.bench.archive.figures import Figure
from tests.bench.knowhow import __main__ as bench
from tests.bench.knowhow import belts, home, jobs, recipes, summary, trends
from tests.bench.knowhow.jobs import Truth

JOBS = 240


@pytest.fixture(scope="module")
def firm(tmp_path_factory: pytest.TempPathFactory) -> Home:
    made = home.made(tmp_path_factory.mktemp("knowhow"), JOBS)
    bring_up_to_date(made)
    return made


@pytest.fixture(scope="module")
def truths(firm: Home) -> list[Truth]:
    return home.truth_of(firm)


def by_name(figures: Sequence[Figure]) -> dict[str, Figure]:
    return {figure.name: figure for figure in figures}


def test_a_job_is_the_same_in_every_run_and_holds_what_no_person_would_count() -> None:
    assert jobs.job(7, JOBS) == jobs.job(7, JOBS)
    made = [jobs.job(number, JOBS) for number in range(JOBS)]
    moments = [job.created_at for job, _ in made]
    assert moments == sorted(set(moments))
    assert any(not job.complete and not truths for job, truths in made)
    every = [truth for _, truths in made for truth in truths]
    assert any(not truth.outcome for truth in every)
    assert any(math.isnan(value) for truth in every for value in truth.settings)
    assert {truth.run for truth in every} == {1, 2}
    assert {truth.below for truth in every} == {False, True}


def test_a_home_that_fits_is_used_again_and_a_strange_folder_is_left(
    firm: Home, tmp_path: Path
) -> None:
    before = (firm.root / home.TRUTH).stat().st_mtime_ns
    assert home.made(firm.root, JOBS) == firm
    assert (firm.root / home.TRUTH).stat().st_mtime_ns == before
    (tmp_path / "letter.txt").write_text("keep me")
    with pytest.raises(SystemExit, match="left as it is"):
        home.made(tmp_path, JOBS)
    assert (tmp_path / "letter.txt").exists()


def test_sound_answers_are_found_right(firm: Home, truths: list[Truth]) -> None:
    found, mistakes = recipes.figures(firm, JOBS, truths, 12)
    assert mistakes == []
    told = by_name(found)
    assert told["recipe, a known belt, worst"].most == 100
    assert told["answers held against the planted truth"].value >= 12


def _counting_one_more(home: Home, belt: Belt) -> RecipeAnswer:
    found = look_up(home, belt)
    if found.exact is None:
        return found
    share = found.exact.share
    more = share.model_copy(update={"accepted": share.accepted + 1})
    return found.model_copy(update={"exact": found.exact.model_copy(update={"share": more})})


def _with_what_failed(home: Home, belt: Belt) -> RecipeAnswer:
    """What failed taken for what was accepted."""
    found = look_up(home, belt)
    if found.exact is None or len(found.exact.tried) < 2:
        return found
    first, other, *rest = found.exact.tried
    mixed = first.model_copy(update={"settings": other.settings})
    tried = (mixed, other, *rest)
    return found.model_copy(update={"exact": found.exact.model_copy(update={"tried": tried})})


def _with_another_nearest(home: Home, belt: Belt) -> RecipeAnswer:
    found = look_up(home, belt)
    return found.model_copy(update={"nearest": found.nearest[1:]})


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        (_counting_one_more, "share: "),
        (_with_what_failed, "accepted, top_temperature: "),
        (_with_another_nearest, "nearest is "),
    ],
)
def test_wrong_answers_are_found(
    firm: Home, truths: list[Truth], wrong: recipes.LookUp, said: str
) -> None:
    _, mistakes = recipes.figures(firm, JOBS, truths, 4, wrong)
    assert any(said in mistake for mistake in mistakes)


def test_an_answer_without_one_job_is_found(firm: Home, truths: list[Truth]) -> None:
    belt = belts.kinds(JOBS)[0].belt
    group = [truth for truth in truths if truth.belt == 0]
    assert recipes.wrong(look_up(firm, belt), group) == []
    newest = group[-1].job
    lacking = recipes.wrong(look_up(firm, belt, but=newest), group)
    assert any(mistake.startswith("accepted, ") for mistake in lacking)


def test_sound_charts_have_the_planted_points(firm: Home, truths: list[Truth]) -> None:
    found, mistakes = trends.figures(firm, JOBS, truths)
    assert mistakes == []
    told = by_name(found)
    assert len(told) == 9
    assert told["finger_gap: jobs to the signal of one sigma"].most == 12
    assert told["edge_offset: false alarms in 1,000 jobs"].met is True


def _without_signals(
    characteristic: Characteristic, stream: str, name: str, runs: Sequence[PastRun]
) -> Chart:
    found = chart(characteristic, stream, name, runs)
    return found.model_copy(update={"signals": ()})


def _always_alarming(
    characteristic: Characteristic, stream: str, name: str, runs: Sequence[PastRun]
) -> Chart:
    found = chart(characteristic, stream, name, runs)
    every = {"at": len(found.points) - 1, "since": 0, "first": 0, "rule": "drift", "text": ""}
    return Chart.model_validate(found.model_dump() | {"signals": (every,)})


def _without_a_point(
    characteristic: Characteristic, stream: str, name: str, runs: Sequence[PastRun]
) -> Chart:
    return chart(characteristic, stream, name, runs[1:])


def _of_other_values(
    characteristic: Characteristic, stream: str, name: str, runs: Sequence[PastRun]
) -> Chart:
    found = chart(characteristic, stream, name, runs)
    points = (
        found.points[0].model_copy(update={"value": found.points[0].value + 0.01}),
        *found.points[1:],
    )
    return found.model_copy(update={"points": points})


def test_charts_that_say_nothing_or_too_much_miss_their_targets(
    firm: Home, truths: list[Truth]
) -> None:
    told = by_name(trends.figures(firm, JOBS, truths, _without_signals)[0])
    assert told["finger_gap: jobs to the signal of one sigma"].met is False
    told = by_name(trends.figures(firm, JOBS, truths, _always_alarming)[0])
    assert told["finger_gap: false alarms in 1,000 jobs"].met is False
    assert told["edge_offset: false alarms in 1,000 jobs"].met is False


@pytest.mark.parametrize(
    ("wrong", "said"),
    [(_without_a_point, "were planted"), (_of_other_values, "was planted")],
)
def test_charts_of_other_points_are_found(
    firm: Home, truths: list[Truth], wrong: trends.Charting, said: str
) -> None:
    _, mistakes = trends.figures(firm, JOBS, truths, wrong)
    assert said in mistakes[0]


def test_a_summary_that_counts_otherwise_is_found(truths: list[Truth]) -> None:
    group = truths[:40]
    jobs_told = len({truth.job for truth in group})
    last = {(truth.job, truth.splice): truth.outcome for truth in group}
    by = Counter(last.values())
    page = (
        f"{jobs_told} jobs  {len(group)} press runs\n✓ {by['accepted']} accepted {by['rework']} to "
        f"be reworked {by['rejected']} rejected {by['']} without an outcome"
    )
    assert summary.wrong(page, group) == []
    (mistake,) = summary.wrong(page, [*group, group[-1]])
    assert mistake.endswith(f"{len(group)} press runs?, but {len(group) + 1} were planted")
    assert len(summary.wrong("nothing", group)) >= 5


def test_it_ends_with_a_failure_when_a_target_is_missed(
    firm: Home, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    kept = tmp_path / "figures.json"
    chosen = ["--jobs", str(JOBS), "--home", str(firm.root), "--only", "recipes", "--asked", "4"]
    assert bench.main([*chosen, "--json", str(kept)]) == 0
    assert json.loads(kept.read_text(encoding="utf-8"))["wrong"] == []
    monkeypatch.setattr(recipes, "MOST_MS", 0.0)
    assert bench.main(chosen) == 1
    assert "0 wrong, 6 targets missed" in capsys.readouterr().out
