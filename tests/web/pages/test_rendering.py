"""What the templates can and cannot do."""

import re
from pathlib import Path

import pytest
from jinja2 import UndefinedError

from recorder.model.measurement import Decision
from recorder.model.reading import Standing
from recorder.web.pages.rendering import TEMPLATES, environment

SCRIPT = re.compile(
    r"<script(?![^>]*\bsrc=)|\bon[a-z]+=|\bstyle=|<style|javascript:", re.IGNORECASE
)
FILES = sorted(TEMPLATES.rglob("*.html"))


@pytest.mark.parametrize("path", FILES, ids=lambda path: str(path.relative_to(TEMPLATES)))
def test_no_template_has_a_script_or_style_inside(path: Path) -> None:
    """The policy of the pages forbids both; only files of the program are loaded."""
    assert not SCRIPT.search(path.read_text(encoding="utf-8"))


def test_a_name_that_is_not_given_is_an_error_and_not_a_blank() -> None:
    with pytest.raises(UndefinedError):
        environment().from_string("{{ none_such }}").render()


def test_everything_is_escaped() -> None:
    shown = environment().from_string("{{ it }}").render(it="<script>")
    assert shown == "&lt;script&gt;"


@pytest.mark.parametrize("kind", [each.value for each in Standing])
def test_every_standing_has_sign_and_word(kind: str) -> None:
    macro = environment().get_template("marks.html").module.standing(kind)  # type: ignore[attr-defined]
    assert re.search(r'aria-hidden="true">\S+</span> \S+', macro)


@pytest.mark.parametrize("kind", [each.value for each in Decision])
def test_every_decision_has_sign_and_word(kind: str) -> None:
    macro = environment().get_template("marks.html").module.decision(kind)  # type: ignore[attr-defined]
    assert re.search(r'aria-hidden="true">\S+</span> \S+', macro)
