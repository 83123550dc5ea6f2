"""length: an endless belt over two pulleys, and what is cut for it."""

from __future__ import annotations

import argparse
from collections.abc import Collection
from typing import TYPE_CHECKING, Any

from recorder.cli.terminal import (
    Commands,
    Parser,
    command,
    open_home,
    print_json,
    settings_of,
    warn,
    words_of,
)

if TYPE_CHECKING:
    from recorder.flows.knowhow.length import Worked

_HOW = """\
    |<------------------------- cut -------------------------->|  between square cuts
    |trim|<------------------- punched ------------------>|trim|  from tips to tips
    |    <<<<<<<<<<==========================>>>>>>>>>>>>>>    |

  joined   (endless + take-up) / (1 + wanted elongation)
  punched  joined + the length by which the ends reach over one another
  cut      punched + trim at both ends

examples:
  seamnote length --pulley 200mm --pulley 120mm --centres 1500mm --thickness 2mm \\
      --splice-type finger --finger-length 80mm --trim 20mm --elongation 1%
  seamnote length --pulley 8in --pulley 4in --length 12ft --unit inch
  seamnote length --conveyor 'Oven outfeed 3' --trim 20mm
  seamnote length --marks 1000mm 1012mm

Where ends lie on one another or fingers are staggered from ply to ply, --overlap
says by how much; the belt maker's data do. Diameters are those of the pulleys,
the length is that along the middle of the belt.
"""

_AMOUNTS = {
    "centres": "between the axes, where the belt is to be joined",
    "length": "endless length, in place of --centres",
    "thickness": "of the belt (default: 0)",
    "finger-length": "of a finger splice",
    "overlap": "by which the ends reach over one another",
    "take-up": "made longer by it, or with a minus shorter",
    "trim": "cut off each end when it is punched",
    "elongation": "that is wanted, e.g. 1%%",
    "mark-spacing": "of the tension marks on the slack belt (default: up to 1000 mm)",
}


def add(commands: Commands, shared: argparse.ArgumentParser) -> None:
    length = command(
        commands, shared, "length", "how long a belt over two pulleys is, and what is cut", _length
    )
    length.formatter_class = argparse.RawDescriptionHelpFormatter
    length.epilog = _HOW
    add_amounts(length)
    length.add_argument(
        "--splice-type", metavar="TYPE", help="finger, double_finger, overlap or butt"
    )
    length.add_argument(
        "--conveyor", metavar="NAME", help="take pulleys and belt from the list of conveyors"
    )
    length.add_argument(
        "--marks", nargs=2, metavar=("BEFORE", "AFTER"),
        help="tell the elongation from the tension marks, slack and tensioned; stands by itself",
    )  # fmt: skip
    length.add_argument("--unit", metavar="UNIT", help="show lengths in it (default: mm)")


def add_amounts(parser: Parser, known: Collection[str] = ()) -> None:
    """The options that ``told`` reads. known: of those that are told otherwise."""
    parser.add_argument(
        "--pulley", action="append", default=[], metavar="LENGTH", help="diameter; give two"
    )
    for name, about in _AMOUNTS.items():
        if name not in known:
            metavar = {"elongation": "PERCENT"}.get(name, "LENGTH")
            parser.add_argument(f"--{name}", metavar=metavar, help=about)
    parser.dashed = frozenset({"--take-up"})


def told(arguments: argparse.Namespace, command: str) -> dict[str, str]:
    """What was typed, by the keys of ``recorder/flows/knowhow/length.py``. Raises WrongUse."""
    from recorder.errors import WrongUse

    if len(arguments.pulley) > 2:
        raise WrongUse(detail="a belt here runs over two pulleys", command=command)
    amounts = {f"pulley_{number}": text for number, text in enumerate(arguments.pulley, 1)}
    keys = (name.replace("-", "_") for name in _AMOUNTS)
    typed = {key: getattr(arguments, key, None) for key in keys}
    return amounts | {key: text for key, text in typed.items() if text is not None}


def _length(arguments: argparse.Namespace) -> int:
    from recorder.errors import WrongUse
    from recorder.flows.knowhow import firm
    from recorder.flows.knowhow import length as flow

    home = open_home(arguments)
    with words_of(home.root, settings_of(home.root)):
        unit = _unit(arguments.unit)
        amounts = told(arguments, "length")
        if arguments.splice_type is not None:
            amounts["splice_type"] = arguments.splice_type
        if arguments.marks:
            return _elongation(arguments, bool(amounts))
        conveyor = firm.conveyor(home, arguments.conveyor) if arguments.conveyor else None
        if conveyor and not conveyor.drive and not amounts.keys() & {"pulley_1", "length"}:
            detail = f"no pulleys of {conveyor.name!r} are listed: give them, or --length"
            raise WrongUse(detail=detail, command="length")
        worked = flow.typed(
            amounts,
            conveyor.belt if conveyor else None,
            conveyor.drive if conveyor else None,
            inches=unit in ("inch", "foot"),
        )
    if arguments.json:
        print_json(_as_json(worked))
    else:
        print("\n".join(_lines(worked, unit)))
    return 4 if worked.missing else 0


def _elongation(arguments: argparse.Namespace, more: bool) -> int:
    from recorder.errors import WrongUse
    from recorder.flows.knowhow.length import elongation

    if more or arguments.conveyor:
        raise WrongUse(detail="--marks stands by itself", command="length")
    percent = elongation(*arguments.marks)
    if arguments.json:
        print_json({"elongation": percent, "unit": "percent"})
    else:
        print(f"elongation {percent:z.2f} %")
    if percent >= 0:
        return 0
    warn("the marks lie nearer under tension than they did slack: measure both again")
    return 4


def _unit(text: str | None) -> str:
    """The name of a unit of length. Raises UnknownUnit."""
    from recorder.errors import UnknownUnit
    from recorder.flows.wanted_units import wanted_units

    if text is None:
        return "mm"
    wanted = wanted_units([text])
    if "length" not in wanted:
        raise UnknownUnit(wanted=text, field="a length", near="mm, cm, m, inch, foot")
    return wanted["length"]


# Digits behind the point by unit, so that the last one is finer than a steel tape.
_DECIMALS = {"mm": 1, "cm": 2, "m": 4, "inch": 2, "foot": 3}


def _lines(worked: Worked, unit: str) -> list[str]:
    from recorder.model.fields import FIELDS
    from recorder.model.units import convert, show

    def shown(mm: float) -> str:
        return show(convert(mm, "mm", unit), unit, _DECIMALS.get(unit, 3))

    found = worked.length
    rows: list[tuple[str, str]] = []
    if worked.centres:
        rows.append(("axes apart", shown(worked.centres.exact)))
        rows.append(("", f"{_error(worked.centres.error)} by the usual formula"))
    rows.append(("endless", shown(found.endless)))
    if found.approximation_error is not None and not worked.centres:
        rows.append(("", f"{_error(found.approximation_error)} by the usual formula"))
    rows.append(("joined", f"{shown(found.joined)}, slack"))
    if worked.missing:
        labels = " and ".join(
            FIELDS[key].label.lower() if key in FIELDS else key for key in worked.missing
        )
        rows.append(("cut", f"open: tell the {labels}"))
    else:
        rows.append(("punched", f"{shown(found.punched)}, from end to end"))
        rows.append(("cut", f"{shown(found.cut)}, between square cuts"))
    marks = f"{shown(found.mark_spacing)} apart on the slack belt"
    if found.mark_tensioned is not None and found.elongation is not None:
        marks += f", {shown(found.mark_tensioned)} at {found.elongation:g} %"
    rows.append(("marks", marks))
    lines = [f"{label:11}{text}" for label, text in rows]
    return lines + [f"{'assumed' if not number else '':11}{text}"
                    for number, text in enumerate(worked.assumed)]  # fmt: skip


def _error(mm: float) -> str:
    """Of the usual formula; a hundredth of a millimetre is worth no number."""
    if abs(mm) < 0.005:
        return "the same to 0.01 mm"
    return f"{abs(mm):.2f} mm {'less' if mm < 0 else 'more'}"


def _as_json(worked: Worked) -> dict[str, Any]:
    """In mm. What cannot be cut yet is null."""
    found = worked.length.model_dump(mode="json")
    if worked.missing:
        found |= {"punched": None, "cut": None}
    centres = worked.centres.model_dump(mode="json") if worked.centres else None
    return {
        **found,
        "centres": centres,
        "missing": list(worked.missing),
        "assumed": list(worked.assumed),
    }
