"""The template of a job card uses what is declared, all of it, and nothing else."""

import types
import typing

from jinja2 import Environment, nodes
from jinja2.meta import find_undeclared_variables

from recorder.model.base import Value
from recorder.report.card.context import Card
from recorder.resources import shipped

TEMPLATES = shipped("report_templates")


def declared() -> set[str]:
    """Names of the fields of every value that hangs from ``Card``."""
    found: set[str] = set()
    waiting: list[typing.Any] = [Card]
    while waiting:
        kind = waiting.pop()
        if isinstance(kind, types.UnionType) or typing.get_origin(kind) is not None:
            waiting += typing.get_args(kind)
        elif isinstance(kind, type) and issubclass(kind, Value):
            found |= set(kind.model_fields)
            waiting += [field.annotation for field in kind.model_fields.values()]
    return found


def test_the_template_and_the_declared_names_are_the_same() -> None:
    engine = Environment()
    engine.filters["css"] = str
    used = set()
    for name in ("job_card.html", "seam.svg"):
        tree = engine.parse((TEMPLATES / name).read_text("utf-8"))
        assert find_undeclared_variables(tree) - {"say", "bdi", "range"} == {"report"}
        used |= {
            node.attr
            for node in tree.find_all(nodes.Getattr)
            if not (isinstance(node.node, nodes.Name) and node.node.name in ("parts", "loop"))
        }
    assert used == declared()
