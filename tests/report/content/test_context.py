"""Templates use what is declared, all of it, and nothing else."""

from pathlib import Path

import pytest

from recorder.errors import BadTemplate
from recorder.report.content.compose import compose
from recorder.report.content.context import Report
from recorder.report.content.pictures import PictureTray
from recorder.report.page import look as looks
from recorder.report.page.templates import fill
from tests.report import sample
from tests.report.declared import declared, undeclared, used

NAMES = ("report.html", "head.html", "parts.html", "seam.svg", "draft.svg")


def test_no_template_uses_an_undeclared_name() -> None:
    assert used(*NAMES) - {"rjust"} <= declared(Report)
    assert undeclared("report.html") == {"report"}
    assert undeclared("parts.html") == set()
    for name in ("seam.svg", "draft.svg"):
        assert undeclared(name) <= {"report"}


def test_no_name_is_declared_in_vain() -> None:
    assert declared(Report) - used(*NAMES) == {"count"}  # summed up for the counts on top


@pytest.mark.parametrize(
    "template",
    [
        "{{ undeclared }}",
        "{{ report.undeclared }}",
        "{% for each in report.overview.facts %}{{ each.undeclared }}{% endfor %}",
        "{% if report.undeclared %}{% endif %}",
    ],
)
def test_a_template_with_an_undeclared_name_fails(
    template: str, report: Report, tmp_path: Path
) -> None:
    (tmp_path / "report.html").write_text(template)
    with pytest.raises(BadTemplate, match="undeclared"):
        fill(report, looks.read(tmp_path))


@pytest.fixture(scope="module")
def report(tmp_path_factory: pytest.TempPathFactory) -> Report:
    folder = tmp_path_factory.mktemp("job")
    job = sample.demo_job(folder)
    return compose(job, PictureTray(folder), sample.SETTINGS, sample.DRAFT)
