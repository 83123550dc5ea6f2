"""What a job card says of settings: asked for, and what a recipe says."""

from pathlib import Path

import pytest

from recorder.errors import BadJobCard
from recorder.flows import jobcard
from recorder.model.job import in_force
from recorder.model.reading import Role


def test_asked_and_recipe_are_no_settings_that_were_used(tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    path.write_text('[asked]\npressure = "2.2 bar"\n[recipe]\npressure = "30 psi"\n')
    readings = jobcard.read(path).readings
    assert in_force(readings) == {}
    assert in_force(readings, role=Role.ASKED)["pressure"].value == 2.2
    recipe = in_force(readings, role=Role.RECIPE)["pressure"]
    assert recipe.value == pytest.approx(2.068, abs=0.001)
    assert recipe.as_said is not None


def test_a_recipe_that_cannot_be_read_is_refused_with_its_entry(tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    path.write_text('[recipe]\npressure = "hot"\n')
    with pytest.raises(BadJobCard, match="pressure"):
        jobcard.read(path)
