"""What the firm owns and whom it serves: presses, templates, conveyors, and what is due."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response

from recorder.archive.disk.home import Home
from recorder.errors import BadFirmFile, FileTooLarge, InputRefused, SeamnoteError, WrongUse
from recorder.flows.knowhow import firm, recipes
from recorder.knowhow.preparing import checks
from recorder.model.base import Value
from recorder.model.fields import choice_label
from recorder.model.inventory import Conveyor, Press, Template
from recorder.model.plural import counted
from recorder.model.units import show as shown_in
from recorder.web.house import House
from recorder.web.jobs.work import at_work, form_of, go, house_of, text_in
from recorder.web.knowhow import files
from recorder.web.pages.errors import status_of, words_of
from recorder.web.pages.rendering import page

PRESS, TEMPLATE = "press", "template"
LATE = ("never", "overdue")


class Owned(Value):
    """A press or a template. about: what it takes, in words. state: of its check as
    ``CheckStanding`` has it, '' where none is due ever; told: the same in words.
    """

    kind: str
    name: str
    about: tuple[str, ...]
    note: str
    state: str
    told: str


class Conveyed(Value):
    """A customer's conveyor. key: by which the preparation page names it."""

    customer: str
    site: str
    name: str
    belt: str
    drive: str
    used: str
    note: str
    key: str


class Inventory(Value):
    """Everything that the template may use. late: things whose check is overdue, or
    was never noted. complaint: why a file or a check was not taken. taken: what was, in words.
    """

    presses: tuple[Owned, ...] = ()
    templates: tuple[Owned, ...] = ()
    conveyors: tuple[Conveyed, ...] = ()
    late: int = 0
    complaint: str = ""
    taken: str = ""


def show(request: Request) -> Response:
    """GET /inventory"""
    return _shown(request)


async def checked(request: Request) -> Response:
    """POST /inventory/checked: kind, name"""
    form = await form_of(request)
    kind, name = text_in(form, "kind"), text_in(form, "name")
    return await run_in_threadpool(_checked, request, kind, name)


async def take(request: Request) -> Response:
    """POST /inventory/take: what, file"""
    form = await form_of(request, files=1)
    what, (name, content) = text_in(form, "what"), await files.file_in(form, "file")
    return await run_in_threadpool(_take, request, what, name, content)


def _checked(request: Request, kind: str, name: str) -> Response:
    house = house_of(request)
    try:
        with at_work(house):
            firm.checked(house.home, kind, name)
    except WrongUse as error:
        return _shown(request, error)
    return go(request, f"/inventory#{kind}")


def _take(request: Request, what: str, name: str, content: bytes) -> Response:
    house = house_of(request)
    called = files.shown(name)
    try:
        if not name:
            raise BadFirmFile(path="nothing", detail="no file was chosen")
        if len(content) > files.LARGEST_BYTES:
            size = f"{len(content) / 1e6:.1f} MB"
            raise FileTooLarge(path=called, size=size, limit="1 MB")
        with at_work(house), files.kept(name, content) as path:
            try:
                taken = _TAKES.get(what, _owned_list)(house.home, path)
            except InputRefused as error:
                if error.data.get("path") == path:
                    raise type(error)(**{**error.data, "path": called}) from error
                raise
    except (InputRefused, WrongUse) as error:
        return _shown(request, error)
    return _shown(request, taken=f"{called} was taken: {taken}.")


def _owned_list(home: Home, path: Path) -> str:
    owned = firm.take_inventory(home, path).now
    presses = f"{len(owned.presses)} press{'' if len(owned.presses) == 1 else 'es'}"
    return f"{presses} and {counted(len(owned.templates), 'template')}"


def _conveyors(home: Home, path: Path) -> str:
    return counted(len(firm.take_conveyors(home, path).now), "conveyor")


def _windows(home: Home, path: Path) -> str:
    return counted(len(recipes.take_windows(home, path)), "window")


def _recipes(home: Home, path: Path) -> str:
    return counted(len(recipes.take(home, path)), "recipe")


# What each list holds now, in words.
_TAKES = {"conveyors": _conveyors, "windows": _windows, "recipes": _recipes}


def _shown(request: Request, error: SeamnoteError | None = None, taken: str = "") -> Response:
    complaint = "; ".join(words_of(request, error)) if error else ""
    view = inventory(house_of(request)).model_copy(update={"complaint": complaint, "taken": taken})
    status = status_of(error) if error else 200
    return page(request, "knowhow/inventory.html", status=status, inventory=view)


def inventory(house: House) -> Inventory:
    """Raises BadFirmFile."""
    owned, served = firm.inventory(house.home), firm.conveyors(house.home)
    presses = tuple(_owned(PRESS, each) for each in owned.presses)
    templates = tuple(_owned(TEMPLATE, each) for each in owned.templates)
    return Inventory(
        presses=presses,
        templates=templates,
        conveyors=tuple(_served(each) for each in served),
        late=sum(each.state in LATE for each in (*presses, *templates)),
    )


def _owned(kind: str, each: Press | Template) -> Owned:
    check = checks.check_of(kind, each, date.today())
    last = f"checked on {each.last_check}" if each.last_check else "no check is due"
    return Owned(
        kind=kind,
        name=each.name,
        about=_press(each) if isinstance(each, Press) else _template(each),
        note=each.note,
        state=checks.standing(check).value if check else "",
        told=checks.said(check) if check else last,
    )


def _press(press: Press) -> tuple[str, ...]:
    told = []
    if press.platen_width and press.platen_length:
        told.append(f"platens {press.platen_width:g} × {press.platen_length:g} mm")
    elif press.platen_width:
        told.append(f"platens {press.platen_width:g} mm wide")
    if press.top is not None:
        told.append(f"up to {shown_in(press.top, 'degC')}")
    if press.pressure is not None:
        told.append(f"up to {shown_in(press.pressure, 'bar')}")
    return tuple(told)


def _template(template: Template) -> tuple[str, ...]:
    told = [choice_label(template.splice_type)]
    sizes = (("fingers", template.finger_length), ("pitch", template.finger_pitch))
    told += [f"{name} {shown_in(size, 'mm')}" for name, size in sizes if size]
    told += [f"for {' or '.join(map(choice_label, template.guide_profiles))}"] * bool(
        template.guide_profiles
    )
    spans = (("wide", template.width), ("thick", template.thickness))
    told += [f"{it[0]:g} to {shown_in(it[1], 'mm')} {name}" for name, it in spans if it]
    return tuple(told)


def _served(conveyor: Conveyor) -> Conveyed:
    drive, used = conveyor.drive, (conveyor.press, conveyor.template)
    return Conveyed(
        customer=conveyor.customer,
        site=conveyor.site,
        name=conveyor.name,
        belt=conveyor.belt.shown(),
        drive=f"pulleys {drive.pulley_1:g} and {drive.pulley_2:g} mm, {drive.centres:g} mm apart"
        if drive
        else "",
        used=", ".join(filter(None, used)),
        note=conveyor.note,
        key=conveyor.full_name,
    )
