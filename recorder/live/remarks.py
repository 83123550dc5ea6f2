"""What the recorder says of itself about press, template and recipe, once in a session each: that
a press drifts, that a check is due, and that a good splice can be kept.
"""

from __future__ import annotations

from recorder.live.deviating import before_pressing
from recorder.live.needs import moment_of
from recorder.live.past import belt_here, check_name, drift_name, named_here, not_to_keep
from recorder.live.saying import past as saying
from recorder.live.saying.words import sentence
from recorder.live.shelf import Shelf
from recorder.live.talk import Moment, Talk
from recorder.model.job import Job

_HINT = "hint:recipe"


def before(talk: Talk, job: Job, shelf: Shelf) -> tuple[str, str] | None:
    """By which name it is remembered and what is said before pressing. Raises SeamnoteError."""
    if not before_pressing(talk, job):
        return None
    if named_here(talk, job, "press") is None and named_here(talk, job, "template") is None:
        return None
    for check in shelf.checks(job, talk.splice):
        if check_name(check) not in talk.reminded:
            return check_name(check), saying.checks((check,))[0]
    for drift in shelf.drifts(job, talk.splice):
        if drift_name(drift) not in talk.reminded:
            return drift_name(drift), saying.drift(drift)
    return None


def after(talk: Talk, job: Job, shelf: Shelf) -> tuple[str, str] | None:
    """That an accepted splice on a belt without a recipe can be kept. Raises SeamnoteError."""
    if _HINT in talk.reminded or moment_of(talk, job) is not Moment.AFTER:
        return None
    if not_to_keep(talk, job) is not None:
        return None
    if belt_here(talk, job).belt_thickness is None or shelf.recipes(job, talk.splice).named:
        return None
    return _HINT, sentence("hint_recipe")
