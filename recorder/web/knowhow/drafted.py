"""A job card in the making as an address or a form holds it, and the draft that it makes."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from starlette.datastructures import FormData, QueryParams

from recorder.flows.knowhow import preparing, sources
from recorder.flows.knowhow.drafting import ON_CARD, Draft, Origin, Source
from recorder.flows.knowhow.length import AMOUNTS
from recorder.model.base import Value
from recorder.model.past import SETTINGS
from recorder.web.house import House
from recorder.web.jobs.work import text_in

FIELDS = (*ON_CARD, *SETTINGS)
# The belt itself tells the others.
LENGTHS = tuple(key for key in AMOUNTS if key not in ("thickness", "finger_length"))
MOST_FIELDS = 2 * (len(FIELDS) + len(LENGTHS))
_VALUE, _LENGTH = "v_", "l_"
_LONGEST, _LONGEST_SAID = 200, 2000


class Asked(Value):
    """from_job, from_recipe, from_conveyor: names, '' for none. said: a description in words.
    values: typed, by field. lengths: by the keys of ``LENGTHS``. meant: settings that deviate and
    that a person said yes to.
    """

    from_job: str = ""
    from_recipe: str = ""
    from_conveyor: str = ""
    said: str = ""
    values: dict[str, str] = {}
    lengths: dict[str, str] = {}
    meant: tuple[str, ...] = ()

    @property
    def anything(self) -> bool:
        return bool(
            self.from_job or self.from_recipe or self.from_conveyor or self.said or self.values
            or self.lengths
        )  # fmt: skip


def asked_of(sent: FormData | QueryParams) -> Asked:
    """What a form, or an address, asks for."""

    def text(name: str, longest: int = _LONGEST) -> str:
        return _text(sent, name)[:longest]

    def told(names: Iterable[str], before: str) -> dict[str, str]:
        return {name: value for name in names if (value := text(before + name))}

    meant = (str(each) for each in sent.getlist("meant"))
    return Asked(
        from_job=text("from_job"),
        from_recipe=text("from_recipe"),
        from_conveyor=text("from_conveyor"),
        said=text("said", _LONGEST_SAID),
        values=told(FIELDS, _VALUE),
        lengths=told(LENGTHS, _LENGTH),
        meant=tuple(dict.fromkeys(each for each in meant if each in SETTINGS)),
    )


def draft_of(house: House, asked: Asked) -> Draft:
    """Raises as ``preparing.begin``."""
    return preparing.begin(
        house.home,
        house.settings,
        tuple(_sources(house, asked)),
        asked.values,
        asked.lengths,
        asked.meant,
    )


def taken(asked: Asked, draft: Draft, field: str) -> Asked:
    """With yes to what was proposed for a field: its value, or that a deviation is meant."""
    found = next((each for each in draft.questions if each.field == field), None)
    if found is None or found.proposed is None:
        return asked
    if found.why == "deviation":
        return asked.model_copy(update={"meant": (*asked.meant, field)})
    return asked.model_copy(update={"values": {**asked.values, field: found.proposed}})


def names() -> Mapping[str, str]:
    """Name in the form by field, and by key of a length."""
    return {**{f: _VALUE + f for f in FIELDS}, **{key: _LENGTH + key for key in LENGTHS}}


def _sources(house: House, asked: Asked) -> Iterator[Source]:
    named = (
        (Origin.JOB, asked.from_job), (Origin.RECIPE, asked.from_recipe),
        (Origin.CONVEYOR, asked.from_conveyor),
    )  # fmt: skip
    for kind, name in named:
        if name:
            yield Source(kind=kind, name=name)
    if asked.said:
        yield sources.said(asked.said, house.settings)


def _text(sent: FormData | QueryParams, name: str) -> str:
    return text_in(sent, name) if isinstance(sent, FormData) else sent.get(name, "").strip()
