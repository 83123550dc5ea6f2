"""What a page may use, and what its templates do use."""

import types
import typing

from jinja2 import Environment, nodes
from jinja2.meta import find_undeclared_variables

from recorder.model.base import Value
from recorder.resources import shipped

TEMPLATES = shipped("report_templates")
SAID = {"say", "say_in", "count", "bdi", "range", "figure_space"}  # functions of every template


def declared(page: type[Value]) -> set[str]:
    """Names of the fields of every value that hangs from the one of a page."""
    names: set[str] = set()
    met: set[type] = set()
    waiting: list[typing.Any] = [page]
    while waiting:
        kind = waiting.pop()
        if isinstance(kind, types.UnionType) or typing.get_origin(kind) is not None:
            waiting += typing.get_args(kind)
        elif isinstance(kind, type) and issubclass(kind, Value) and kind not in met:
            met.add(kind)
            names |= set(kind.model_fields)
            waiting += [field.annotation for field in kind.model_fields.values()]
    return names


def parsed(name: str) -> nodes.Template:
    engine = Environment()
    engine.filters["css"] = str
    return engine.parse((TEMPLATES / name).read_text("utf-8"))


def used(*names: str) -> set[str]:
    """All attribute names in these templates, but for the macros of others."""
    return {
        node.attr
        for name in names
        for node in parsed(name).find_all(nodes.Getattr)
        if not (isinstance(node.node, nodes.Name) and node.node.name in ("head", "parts", "loop"))
    }


def undeclared(name: str) -> set[str]:
    """Variables that a template takes from outside, but for the functions."""
    return find_undeclared_variables(parsed(name)) - SAID
