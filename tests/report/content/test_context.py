"""Templates use what is declared, all of it, and nothing else."""

import types
import typing
from pathlib import Path

import pytest
from jinja2 import Environment, nodes
from jinja2.meta import find_undeclared_variables

from recorder.errors import BadTemplate
from recorder.model.base import Value
from recorder.report.content.compose import compose
from recorder.report.content.context import Report
from recorder.report.content.pictures import PictureTray
from recorder.report.page import look as looks
from recorder.report.page.templates import fill
from recorder.resources import shipped
from tests.report import sample

TEMPLATES = shipped("report_templates")
NAMES = ("report.html", "parts.html", "seam.svg", "draft.svg")


def declared() -> dict[str, set[str]]:
    """Every value that hangs from ``Report``, with the names of its fields."""
    found: dict[str, set[str]] = {}
    waiting: list[typing.Any] = [Report]
    while waiting:
        kind = waiting.pop()
        if isinstance(kind, types.UnionType) or typing.get_origin(kind) is not None:
            waiting += typing.get_args(kind)
        elif isinstance(kind, type) and issubclass(kind, Value) and kind.__name__ not in found:
            found[kind.__name__] = set(kind.model_fields)
            waiting += [field.annotation for field in kind.model_fields.values()]
    return found


def parsed() -> dict[str, nodes.Template]:
    engine = Environment()
    engine.filters["css"] = str
    return {name: engine.parse((TEMPLATES / name).read_text("utf-8")) for name in NAMES}


def used() -> set[str]:
    """All attribute names in the templates, but for the macros of parts.html."""
    return {
        node.attr
        for tree in parsed().values()
        for node in tree.find_all(nodes.Getattr)
        if not (isinstance(node.node, nodes.Name) and node.node.name in ("parts", "loop"))
    } - {"rjust"}


def test_no_template_uses_an_undeclared_name() -> None:
    assert used() <= set.union(*declared().values())
    said = {"say", "say_in", "count", "bdi", "range", "figure_space"}
    assert find_undeclared_variables(parsed()["report.html"]) - said == {"report"}
    assert find_undeclared_variables(parsed()["parts.html"]) - said == set()
    for name in ("seam.svg", "draft.svg"):
        assert find_undeclared_variables(parsed()[name]) - said <= {"report"}


def test_no_name_is_declared_in_vain() -> None:
    unused = set.union(*declared().values()) - used()
    assert unused == {"count"}  # summed up for the counts on top


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
