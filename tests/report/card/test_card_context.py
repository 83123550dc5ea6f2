"""The template of a job card uses what is declared, all of it, and nothing else."""

from recorder.report.card.context import Card
from tests.report.declared import declared, undeclared, used


def test_the_template_and_the_declared_names_are_the_same() -> None:
    assert undeclared("job_card.html") == {"report"}
    assert used("job_card.html", "head.html", "seam.svg") == declared(Card)
