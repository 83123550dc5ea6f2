"""Which limit is in force, who set it, and what a bad file of limits is told."""

from pathlib import Path

import pytest

from recorder.errors import BadLimits, FileMissing
from recorder.flows import limits
from recorder.flows.jobcard import read as read_job_card
from recorder.flows.measure import conditions
from recorder.model.job import in_force
from recorder.model.measurement import Limit
from recorder.model.reading import Reading, Standing, Typed
from recorder.settings import HOUSE_LIMITS, PhotoSettings, load
from tests.cli.command import seamnote

TYPES = """
[[photo.belt_limits]]
name = "white TPU, thin"
belt_material = "tpu white"
belt_thickness_mm = [0.8, 3.0]
limits = [
  {name = "finger_gap", high = "0.3 mm"},
  {name = "splice_width", tolerance = "0.5 mm", source = "sheet 4"},
]

[[photo.belt_limits]]
name = "any TPU"
belt_material = "TPU"
limits = [{name = "finger_gap", high = 0.4}, {name = "skew", high = "0.5 deg"}]
"""


def told(**values: float | str) -> dict[str, Reading]:
    return {
        name: Reading(
            field=name,
            value=value,
            unit=None if isinstance(value, str) else "mm",
            standing=Standing.CONFIRMED,
            evidence=Typed(),
        )
        for name, value in values.items()
    }


@pytest.fixture
def settings(tmp_path: Path) -> PhotoSettings:
    (tmp_path / "settings.toml").write_text(TYPES)
    return load(tmp_path / "settings.toml").photo


def test_the_house_speaks_where_nobody_else_does() -> None:
    assert limits.in_force(PhotoSettings(), {}) == HOUSE_LIMITS
    assert all("common practice, set your own" in limit.source for limit in HOUSE_LIMITS)


def test_job_card_before_belt_type_before_house(settings: PhotoSettings) -> None:
    belt = told(belt_material="Polyurethane (TPU), white", belt_thickness=2.0, belt_width=70.0)
    own = (Limit(name="edge_offset", high=0.8, source="job card"),)
    found = {limit.name: limit for limit in limits.in_force(settings, belt, own)}
    assert list(found) == ["finger_gap", "splice_width", "edge_offset", "skew"]
    assert (found["edge_offset"].high, found["edge_offset"].source) == (0.8, "job card")
    assert found["finger_gap"].high == 0.3
    assert found["finger_gap"].source == "belt type white TPU, thin"
    assert (found["skew"].high, found["skew"].unit) == (0.5, "deg")
    assert found["skew"].source == "belt type any TPU"
    assert (found["splice_width"].low, found["splice_width"].high) == (69.5, 70.5)
    assert found["splice_width"].source == "sheet 4, ± 0.5 mm of the belt width told (70 mm)"


@pytest.mark.parametrize(
    ("belt", "gap"),
    [
        ({"belt_material": "TPU white", "belt_thickness": 3.01}, 0.4),
        ({"belt_material": "TPU white"}, 0.4),
        ({"belt_material": "PVC white", "belt_thickness": 2.0}, 0.5),
        ({"belt_thickness": 2.0}, 0.5),
    ],
    ids=["too thick", "thickness not told", "other material", "material not told"],
)
def test_a_type_holds_only_when_all_that_it_asks_was_told(
    settings: PhotoSettings, belt: dict[str, float | str], gap: float
) -> None:
    found = {limit.name: limit for limit in limits.in_force(settings, told(**belt))}
    assert found["finger_gap"].high == gap


def test_what_is_doubtful_selects_no_type_and_is_no_nominal_size(settings: PhotoSettings) -> None:
    belt = told(belt_material="TPU white", belt_thickness=2.0, belt_width=17.0)
    for name in ("belt_thickness", "belt_width"):
        belt[name] = belt[name].model_copy(update={"standing": Standing.DOUBTFUL})
    assert limits.in_force(settings, belt)[0].high == 0.4
    wide = limits.around((Limit(name="splice_width", tolerance=0.5),), belt)
    assert wide == (Limit(name="splice_width", tolerance=0.5),)


def test_limits_of_the_settings_without_a_source_are_the_settings() -> None:
    own = PhotoSettings(limits=(Limit(name="finger_gap", high=0.6),))
    assert limits.in_force(own, {})[0].source == "settings"


def test_the_job_card_beside_a_photo_counts(tmp_path: Path) -> None:
    (tmp_path / "a.jpg").touch()
    (tmp_path / "job.toml").write_text(
        'belt_width = "70 mm"\nbelt_thickness = "2 mm"\n'
        '[[limit]]\nname = "splice_width"\ntolerance = "0.7 mm"\n'
        '[[limit]]\nname = "skew"\nhigh = "0.3 deg"\nsource = "drawing 12"\n'
        "[reference_card]\nprint_scale = [1.001, 0.999]\n"
    )
    found = conditions(tmp_path / "a.jpg", PhotoSettings(), None, "bench", None, None, None, ())
    assert found.print_scale == (1.001, 0.999)
    assert (found.card_on, found.belt_thickness_mm) == ("bench", 2.0)
    by_name = {limit.name: limit for limit in found.limits}
    assert by_name.keys() == {"finger_gap", "edge_offset", "splice_width", "skew"}
    assert by_name["splice_width"].low == 69.3
    assert by_name["splice_width"].source.startswith("job card, ± 0.7 mm of the belt width")
    assert by_name["skew"].source == "drawing 12"
    own = (Limit(name="splice_width", tolerance=0.2, source="file"),)
    alone = conditions(tmp_path / "a.jpg", PhotoSettings(), "3 mm", None, "1,1", own, None, ())
    assert [(limit.name, limit.high) for limit in alone.limits] == [("splice_width", 70.2)]
    assert (alone.belt_thickness_mm, alone.print_scale) == (3.0, (1.0, 1.0))


def test_a_job_card_is_a_source_and_its_sizes_are_nominal(tmp_path: Path) -> None:
    (tmp_path / "job.toml").write_text(
        'finger_pitch = "10 mm"\n[[limit]]\nname = "finger_pitch"\ntolerance = "0.1 mm"\n'
    )
    card = read_job_card(tmp_path / "job.toml")
    (found,) = limits.around(card.limits, in_force(card.readings))
    assert (found.low, found.high) == (9.9, 10.1)
    assert found.source.startswith("job card")


FILES = {
    "a.toml": '[[limit]]\nname = "finger_gap"\nhigh = "0.4 mm"\n'
    '[[limit]]\nname = "bow"\nhigh = "0.02 inch"\nsource = "works rule 3"\n',
    "b.toml": 'limits = [{name = "finger_gap", high = 0.4}, {name = "bow", high = 0.508}]',
    "c.json": '{"limit": [{"name": "finger_gap", "high": "0.4 mm"},'
    ' {"name": "bow", "high": 0.02, "unit": "inch"}]}',
    "d.json": '[{"name": "finger_gap", "high": 0.4}, {"name": "bow", "high": "508 um"}]',
}


@pytest.mark.parametrize("name", FILES)
def test_a_file_of_limits_in_each_form(tmp_path: Path, name: str) -> None:
    (tmp_path / name).write_text(FILES[name])
    gap, bow = limits.read(tmp_path / name)
    assert (gap.name, gap.high, gap.unit) == ("finger_gap", 0.4, "mm")
    assert gap.source == f"limits file {name}"
    assert bow.high == pytest.approx(0.02 if bow.unit == "inch" else 0.508)
    assert bow.source == ("works rule 3" if name == "a.toml" else f"limits file {name}")


@pytest.mark.parametrize(("name", "text", "wrong"), [
    ("l.toml", '[[limit]]\nname = "finger_gab"\nhigh = 1', "use finger_gap, splice_width"),
    ("l.toml", '[[limit]]\nname = "finger_gap"\nhigh = "0.5"', "no number with its unit"),
    ("l.toml", '[[limit]]\nname = "finger_gap"\nhigh = "2 bar"', "high: bar cannot become mm"),
    ("l.toml", '[[limit]]\nname = "skew"\nhigh = "2 mm"', "high: mm cannot become deg"),
    ("l.toml", '[[limit]]\nname = "finger_gap"\nhigh = nan', "finite"),
    ("l.toml", '[[limit]]\nname = "finger_gap"\nhigh = -1', "greater than or equal to 0"),
    ("l.toml", '[[limit]]\nname = "finger_gap"\ntolerance = 1', "no nominal size"),
    ("l.toml", '[[limit]]\nname = "finger_gap"\nhihg = 1', "there is no limit.0.hihg"),
    ("l.toml", '[[limit]]\nname = "bow"\nhigh = 1\n' * 2, "more than one limit"),
    ("l.toml", "", "there is no limit in it"),
    ("l.toml", "limit = 5", "there is no limit in it"),
    ("l.toml", "belt = 5", "'belt' is no list of limits"),
    ("l.toml", "limit = [5]", "limit.0"),
    ("l.toml", "[[limit]", "line 1"),
    ("l.json", "[" * 100_000, "nested too deeply"),
    ("l.json", '{"limit": []}', "there is no limit in it"),
    ("l.json", "5", "there is no limit in it"),
    ("l.json", "{", "line 1"),
])  # fmt: skip
def test_a_bad_file_of_limits_is_named(tmp_path: Path, name: str, text: str, wrong: str) -> None:
    (tmp_path / name).write_text(text)
    with pytest.raises(BadLimits) as caught:
        limits.read(tmp_path / name)
    assert wrong in str(caught.value)
    assert str(tmp_path / name) in str(caught.value)


def test_a_file_that_is_none(tmp_path: Path) -> None:
    (tmp_path / "l.toml").write_bytes(b"\xff\xfe\x00")
    for path in (tmp_path, tmp_path / "l.toml"):
        with pytest.raises(BadLimits):
            limits.read(path)
    with pytest.raises(FileMissing):
        limits.read(tmp_path / "nothing.toml")


def test_the_command_complains_once_and_measures_nothing(tmp_path: Path) -> None:
    (tmp_path / "l.toml").write_text('[[limit]]\nname = "finger_gab"\nhigh = 1')
    ran = seamnote("measure", "a.jpg", "b.jpg", "--limits", "l.toml", cwd=tmp_path)
    assert ran.code == 3
    assert "finger_gab" in ran.complains_once()
    assert ran.out == ""
