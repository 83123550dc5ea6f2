"""Templates use what is declared, all of it, and nothing else."""

import types
import typing

import pytest
from jinja2 import Environment, FileSystemLoader, nodes
from jinja2.exceptions import UndefinedError
from jinja2.meta import find_undeclared_variables

from recorder.model.base import Value
from recorder.report.content.compose import compose
from recorder.report.content.context import Report
from recorder.report.content.pictures import PictureTray
from recorder.report.page import render as page
from recorder.resources import shipped
from tests.report import sample

TEMPLATES = shipped("report_templates")
NAMES = sorted(path.name for path in TEMPLATES.glob("*.html"))


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
    return {name: engine.parse((TEMPLATES / name).read_text("utf-8")) for name in NAMES}


def used() -> set[str]:
    """All attribute names in the templates, but for the macros of parts.html."""
    macros = {macro.name for tree in parsed().values() for macro in tree.find_all(nodes.Macro)}
    return {
        node.attr
        for tree in parsed().values()
        for node in tree.find_all(nodes.Getattr)
        if not (isinstance(node.node, nodes.Name) and node.node.name == "parts")
    } - (macros - set.union(*declared().values()))


def test_no_template_uses_an_undeclared_name() -> None:
    assert used() <= set.union(*declared().values())
    assert find_undeclared_variables(parsed()["report.html"]) == {"report"}
    assert find_undeclared_variables(parsed()["parts.html"]) == set()


def test_no_name_is_declared_in_vain() -> None:
    unused = set.union(*declared().values()) - used()
    assert unused == {"count"}  # summed up for the counts on top


@pytest.mark.parametrize(
    "template",
    [
        "{{ undeclared }}",
        "{{ report.undeclared }}",
        "{% for splice in report.splices %}{{ splice.undeclared }}{% endfor %}",
        "{% if report.undeclared %}{% endif %}",
    ],
)
def test_a_template_with_an_undeclared_name_fails(
    template: str, tmp_path: typing.Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "bad.html").write_text(template)
    job = sample.demo_job(tmp_path)
    report = compose(job, PictureTray(tmp_path), sample.SETTINGS, sample.DRAFT)
    monkeypatch.setattr(page._environment(), "loader", FileSystemLoader(tmp_path))
    with pytest.raises(UndefinedError):
        page.fill(report, "bad.html")
