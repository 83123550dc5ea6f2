"""The job cards that wait in the home until somebody begins with them."""

from __future__ import annotations

import contextlib
from datetime import datetime

from recorder.archive.disk.home import Home
from recorder.archive.firm import prepared as store
from recorder.errors import BadJobCard
from recorder.flows import jobcard
from recorder.flows.knowhow import card_text
from recorder.flows.knowhow.drafting import Draft
from recorder.model.base import Value
from recorder.model.belt import Belt
from recorder.model.job import in_force

path_of = store.path_of
discard = store.remove
_STEM = ("job_number", "customer", "conveyor")


class Prepared(Value):
    """A card that waits. title: job number and customer, or what else it says. belt: in words.
    kept_at: when, with zone.
    """

    name: str
    title: str
    belt: str
    kept_at: datetime


def keep(home: Home, draft: Draft) -> Prepared:
    """Raises OutputUnwritable."""
    now = datetime.now().astimezone().replace(microsecond=0)
    stem = " ".join(filter(None, map(draft.text, _STEM)))
    name = store.keep(home, stem, card_text.text(draft, now).encode(), now)
    return _read(home, name)


def prepared(home: Home) -> tuple[Prepared, ...]:
    """The newest first. A card that somebody spoilt by hand is left out."""
    found = []
    for name in store.names(home):
        with contextlib.suppress(BadJobCard):
            found.append(_read(home, name))
    return tuple(sorted(found, key=lambda each: each.kept_at, reverse=True))


def _read(home: Home, name: str) -> Prepared:
    path = store.path_of(home, name)
    known = in_force(jobcard.read(path).readings)
    told = [known[field].shown() for field in _STEM if field in known]
    return Prepared(
        name=name,
        title=", ".join(told) or name,
        belt=Belt.of(known).shown(),
        kept_at=datetime.fromtimestamp(path.stat().st_mtime).astimezone().replace(microsecond=0),
    )
