"""How many quantities in other people's sentences are read right, by kind, beside the peers.

``python -m tests.bench.quantities [--recognizers FOLDER] [--quantulum FILE] [--misses]`` prints for
the development half and the held-out half of the sentences, for each reader: the share of
quantities with the right value and unit (equal by conversion), the share that has its exact place
too, and how many quantities it found where none is stated. ``--misses`` lists what we do not read,
of the development half alone.

Customs of the suites differ, so three answers count as right that are not literally the same: a
compound ("5 ft 2 in") as one quantity or as its parts, a range as its two ends or as their mean,
and a month or a year of any usual length.
"""

from __future__ import annotations

import argparse
import collections
from collections.abc import Sequence
from pathlib import Path

from tests.bench.peers import Reader, readers
from tests.bench.suites import REGISTRY, Case, Stated, kind_of, ours, quantulum, recognizers

_NAMES = ("temperature", "length", "pressure", "duration", "volt and ampere", "percent")


def main() -> None:
    arguments = _parse()
    cases = ours() + quantulum(arguments.quantulum)
    if arguments.recognizers:
        cases += recognizers(arguments.recognizers)
    for suites in (("quantulum3", "recognizers"), ("ours",)):
        for held_out in (False, True):
            half = [c for c in cases if c.held_out is held_out and c.suite in suites]
            title = f"{' and '.join(suites)}, {'held-out' if held_out else 'development'} half"
            _print(title, half, readers(), arguments.misses and not held_out)


def _parse() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--recognizers", type=Path, help="folder with its specification files")
    parser.add_argument("--quantulum", type=Path, help="its quantities.json, if not installed")
    parser.add_argument("--misses", action="store_true")
    return parser.parse_args()


def _print(title: str, cases: Sequence[Case], all_readers: dict[str, Reader], list_: bool) -> None:
    print(f"\n{title}: {len(cases)} sentences; right, with its exact place, found where none is")
    print(f"{'':14}" + "".join(f"{name:>22}" for name in _NAMES))
    for name, reader in all_readers.items():
        stated, right, placed, extra, misses = score(cases, reader)
        cells = [
            f"{right[k]}/{stated[k]} {right[k] / stated[k]:.0%} {placed[k] / stated[k]:.0%} "
            f"+{extra[k]}" if stated[k] else f"- +{extra[k]}"
            for k in _NAMES
        ]  # fmt: skip
        print(f"{name:14}" + "".join(f"{cell:>22}" for cell in cells))
        if list_ and name == "ours":
            print("\n".join(misses))


def score(cases: Sequence[Case], reader: Reader) -> tuple[
    collections.Counter[str], collections.Counter[str], collections.Counter[str],
    collections.Counter[str], list[str],
]:  # fmt: skip
    """Of each kind: stated, right, right and placed, found where none is stated; and the misses."""
    stated, right, placed, extra = (collections.Counter[str]() for _ in range(4))
    misses = []
    for case in cases:
        found = reader(case.text)
        for wanted in case.stated:
            kind = kind_of(wanted.unit) if wanted.unit else None
            if kind is None:
                continue
            stated[kind] += 1
            answer = _answer(wanted, case.stated, found)
            if answer is None:
                misses.append(f"    MISSED {case.text[wanted.start : wanted.end]!r} in "
                              f"{case.text[:90]!r}: {_shown(found, case.text)}")  # fmt: skip
                continue
            right[kind] += 1
            placed[kind] += answer
        for quantity in found:
            if not any(_overlap(quantity, wanted) for wanted in case.stated):
                extra[kind_of(quantity.unit or "") or "length"] += 1
                misses.append(f"    EXTRA {_shown([quantity], case.text)} in {case.text[:90]!r}")
    return stated, right, placed, extra, misses


def _shown(found: Sequence[Stated], text: str) -> str:
    return ", ".join(f"{q.value:g} {q.unit} {text[q.start : q.end]!r}" for q in found) or "nothing"


def _answer(wanted: Stated, stated: Sequence[Stated], found: Sequence[Stated]) -> bool | None:
    """None when no answer is right; else whether it stands in its exact place."""
    near = [q for q in found if _overlap(q, wanted)]
    for q in near:
        if _equal(q, wanted):
            return (q.start, q.end) == (wanted.start, wanted.end)
        parts = [part for part in stated if q.start <= part.start and part.end <= q.end]
        if len(parts) > 1 and all(part.unit for part in parts) and _is_whole(q, parts):
            return (q.start, q.end) == (parts[0].start, parts[-1].end)
    if len(near) == 2 and _is_whole(wanted, near):
        return (near[0].start, near[-1].end) == (wanted.start, wanted.end)
    return None


def _overlap(one: Stated, other: Stated) -> bool:
    return one.start < other.end and other.start < one.end


def _equal(found: Stated, wanted: Stated, shares: float = 1e-4) -> bool:
    if found.unit is None or wanted.unit is None:
        return False
    if "deg" in (found.unit, wanted.unit) and found.unit != wanted.unit:
        return False
    if kind_of(found.unit) != kind_of(wanted.unit):
        return False
    value, other = _magnitude(found), _magnitude(wanted)
    # A month is 28 to 31 days and a year 365 or 365.25.
    if kind_of(found.unit) == "duration" and min(value, other) > 27 * 86400:
        shares = 0.03
    return abs(value - other) <= shares * max(abs(value), abs(other)) + 1e-12


def _is_whole(whole: Stated, parts: Sequence[Stated]) -> bool:
    """Whether the whole is the sum of its parts, or the mean of two ends."""
    unit = parts[-1].unit
    if whole.unit is None or unit is None or any(
        part.unit is None or kind_of(part.unit) != kind_of(whole.unit) for part in parts
    ):  # fmt: skip
        return False
    values = [REGISTRY.Quantity(part.value, part.unit).to(unit).magnitude for part in parts]
    sums = [sum(values), sum(values) / len(values)]
    return any(_equal(whole, Stated(value, unit, 0, 1)) for value in sums)


def _magnitude(quantity: Stated) -> float:
    return float(REGISTRY.Quantity(quantity.value, quantity.unit).to_base_units().magnitude)


if __name__ == "__main__":
    main()
