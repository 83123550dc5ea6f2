"""The template of a summary uses what is declared, all of it, and nothing else."""

from recorder.report.summary.context import Summary
from tests.report.declared import declared, undeclared, used


def test_the_template_and_the_declared_names_are_the_same() -> None:
    assert undeclared("summary.html") == {"report"}
    assert used("summary.html", "head.html", "seam.svg") == declared(Summary)
