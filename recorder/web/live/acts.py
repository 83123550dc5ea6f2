"""What a touch or a key can do on the live page: each is one turn, like something spoken."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, TypeAdapter, ValidationError

from recorder.flows.live.session import LiveSession
from recorder.model.base import Value
from recorder.notes.requests.request import Ask, Request, Timer
from recorder.web.live.messages import BadFrame

_Place = Annotated[int, Field(ge=0, lt=1_000_000)]
_Text = Annotated[str, Field(max_length=2000)]
_Name = Annotated[str, Field(max_length=80)]


class Confirm(Value):
    """The reading at this place of the job is right; without one, yes to the open question."""

    do: Literal["confirm"]
    place: _Place | None = None


class Deny(Value):
    """No, to the open question."""

    do: Literal["deny"]


class Replace(Value):
    """It is another value."""

    do: Literal["replace"]
    place: _Place
    text: _Text


class Enter(Value):
    """A value for a field."""

    do: Literal["enter"]
    field: _Name
    text: _Text


class Later(Value):
    """The open question can wait."""

    do: Literal["later"]


class Asking(Value):
    """What the voice could ask for. text: of a note."""

    do: Literal["ask"]
    ask: Ask
    field: _Name | None = None
    timer: Timer | None = None
    seconds: Annotated[float, Field(gt=0, le=86_400)] | None = None
    text: _Text = ""


_Act = Confirm | Deny | Replace | Enter | Later | Asking
_ACTS: TypeAdapter[_Act] = TypeAdapter(Annotated[_Act, Field(discriminator="do")])


def act(session: LiveSession, body: bytes) -> None:
    """Raises BadFrame for what no page sends, and what the session raises of values and fields."""
    try:
        wanted = _ACTS.validate_json(body)
    except ValidationError as failure:
        raise BadFrame("not an act of a page") from failure
    match wanted:
        case Confirm(place=place):
            session.confirm(place)
        case Deny():
            session.deny()
        case Replace(place=place, text=text):
            session.replace(place, text)
        case Enter(field=field, text=text):
            session.enter(field, text)
        case Later():
            session.later()
        case Asking():
            session.ask(_request(wanted))


def _request(asking: Asking) -> Request:
    return Request(
        ask=asking.ask,
        said=asking.text,
        field=asking.field,
        timer=asking.timer,
        seconds=asking.seconds,
        text=asking.text,
    )
