"""The answers for belts of the firm, and for belts like them, held against what was planted."""

from __future__ import annotations

import math
import random
import statistics
from collections import defaultdict
from collections.abc import Callable, Iterator, Sequence

from recorder.archive.disk.home import Home
from recorder.flows.knowhow.recipes import look_up
from recorder.knowhow.recipes.answer import OnBelt, RecipeAnswer, Share, Spread
from recorder.model.belt import Belt
from recorder.model.fields import FIELDS
from tests.bench.archive.figures import Figure, Spent, percentile, timed
from tests.bench.knowhow import belts, jobs
from tests.bench.knowhow.jobs import Truth

MOST_MS = 100.0
REPEATS = 4  # of which the quickest counts: what else a machine does only adds
QUANTILE = 1.959964  # of the standard normal distribution at 97.5 %, e.g. NIST e-Handbook 1.3.6.7.1

LookUp = Callable[[Home, Belt], RecipeAnswer]
Group = list[Truth]


def figures(
    home: Home, count: int, truths: Sequence[Truth], asked: int, answered: LookUp = look_up
) -> tuple[list[Figure], list[str]]:
    """``asked`` known belts and half as many unknown ones; also all that is wrong, in full."""
    groups: dict[int, Group] = defaultdict(list)
    for truth in truths:
        groups[truth.belt].append(truth)
    mistakes: list[str] = []
    exact, near = [], []
    every = belts.kinds(count)
    for place in _some(len(every), asked):
        belt = every[place].belt
        found, spent = _answered(answered, home, belt)
        exact.append(spent)
        mistakes += [f"{belt.shown()}: {it}" for it in wrong(found, groups[place])]
    unknown = belts.unknown_belts(count)
    for belt, kind in unknown[: max(1, asked // 2)]:
        found, spent = _answered(answered, home, belt)
        near.append(spent)
        mistakes += [f"{belt.shown()}: {it}" for it in _wrong_nearest(found, kind.belt)]
    largest = max(len(group) for group in groups.values())
    return [
        *_spread("recipe, a known belt", exact, f"up to {largest:,} runs on one"),
        *_spread("recipe, the nearest belts", near, f"of {len(every):,} belts"),
        Figure("answers held against the planted truth", len(exact) + len(near), ""),
    ], mistakes


def wrong(found: RecipeAnswer, group: Group) -> list[str]:
    """What an answer says otherwise than the runs on that belt."""
    return [
        f"{name}: {told}, but {planted} was planted"
        for name, (told, planted) in _compared(found, group).items()
        if not _agree(told, planted)
    ]


def _compared(found: RecipeAnswer, group: Group) -> dict[str, tuple[object, object]]:
    """What the answer says, and what it should, by what it is about."""
    settled = [truth for truth in group if truth.outcome]
    pairs: dict[str, tuple[object, object]] = {
        "unsettled": (found.unsettled, len(group) - len(settled))
    }
    if found.exact is None or not settled:
        return pairs | {"an exact answer": (found.exact is not None, bool(settled))}
    pairs["share"] = (_of(found.exact.share), _share(group))
    outcomes = [o for o in FIELDS["outcome"].choices if any(t.outcome == o for t in settled)]
    pairs["outcomes"] = ([tried.outcome for tried in found.exact.tried], outcomes)
    for outcome in outcomes:
        told, planted = _told(found.exact, outcome), _planted(outcome, settled)
        pairs |= {f"{outcome}, {name}": (told.get(name), it) for name, it in planted.items()}
    return pairs


def _of(share: Share) -> tuple[object, ...]:
    return (share.accepted, share.of, share.low, share.high)


def _share(group: Group) -> tuple[object, ...]:
    """Of splices by their last run, with the bounds where (p - share)^2 = z^2 p (1 - p) / n."""
    last: dict[tuple[str, int], Truth] = {}
    for truth in group:  # by rising run
        last[truth.job, truth.splice] = truth
    ends = [truth.outcome for truth in last.values() if truth.outcome]
    accepted, of = ends.count("accepted"), len(ends)
    if not of:
        return (0, 0, 0.0, 1.0)
    part, z2 = accepted / of, QUANTILE**2
    # p^2 (1 + z2/n) - p (2 share + z2/n) + share^2 = 0
    a, b, c = 1 + z2 / of, -(2 * part + z2 / of), part**2
    root = math.sqrt(max(0.0, b * b - 4 * a * c))
    return (accepted, of, (-b - root) / (2 * a), (-b + root) / (2 * a))


def _told(on: OnBelt, outcome: str) -> dict[str, object]:
    tried = next(each for each in on.tried if each.outcome == outcome)
    spreads = {each.field: _numbers(each) for each in (*tried.settings, *tried.measured)}
    return {
        "jobs": tried.jobs,
        "runs": tried.runs,
        "last job": tried.last_job,
        "presses": {name.strip().casefold(): count for name, count in tried.presses},
        **spreads,
    }


def _numbers(spread: Spread) -> tuple[object, ...]:
    return (spread.count, spread.usual, spread.low, spread.high, spread.spread, spread.below)


def _planted(outcome: str, settled: Group) -> dict[str, object]:
    group = [truth for truth in settled if truth.outcome == outcome]
    last = max(group, key=lambda truth: (truth.number, truth.splice, truth.run))
    presses: dict[str, int] = defaultdict(int)
    for truth in group:
        presses[jobs.press_name(truth.press).casefold()] += 1
    names = belts.kinds(1)[0].settings
    values = {name: [truth.settings[at] for truth in group] for at, name in enumerate(names)}
    values["finger_gap"] = [truth.measured[0] for truth in group]
    return {
        "jobs": len({truth.job for truth in group}),
        "runs": len(group),
        "last job": last.job,
        "presses": dict(presses),
        **{
            name: _summary(of, sum(t.below for t in group) if name == "finger_gap" else 0)
            for name, of in values.items()
        },
    }


def _summary(values: list[float], below: int) -> tuple[object, ...] | None:
    """below: how many of them are upper bounds, with which there is no deviation."""
    known = sorted(value for value in values if not math.isnan(value))
    if not known:
        return None
    usual = known[(len(known) - 1) // 2]
    deviation = statistics.stdev(known) if len(known) > 1 and not below else None
    return (len(known), usual, known[0], known[-1], deviation, below)


def _agree(told: object, planted: object) -> bool:
    if isinstance(told, tuple) and isinstance(planted, tuple):
        return len(told) == len(planted) and all(map(_agree, told, planted))
    if isinstance(told, float) and isinstance(planted, float):
        return math.isclose(told, planted, rel_tol=1e-6, abs_tol=1e-6)
    return told == planted


def _wrong_nearest(found: RecipeAnswer, like: Belt) -> Iterator[str]:
    if found.exact is not None:
        yield "an exact answer for a belt that nobody joined"
    first = found.nearest[0].belt if found.nearest else None
    if first is None or _plain(first) != _plain(like):
        yield f"nearest is {first and first.shown()}, but {like.shown()} was planted"
    elif len(found.nearest[0].differs) != 1:
        yield f"only the width differs, but it says {found.nearest[0].differs}"


def _plain(belt: Belt) -> dict[str, str | float]:
    return belt.told() | {"belt_material": " ".join(str(belt.belt_material).upper().split())}


def _answered(answered: LookUp, home: Home, belt: Belt) -> tuple[RecipeAnswer, Spent]:
    """The answer, and what it costs when it was asked for before."""
    found = answered(home, belt)
    spent = [timed(lambda: answered(home, belt)) for _ in range(REPEATS)]
    return found, Spent(min(one.wall_s for one in spent), min(one.cpu_s for one in spent))


def _some(number: int, count: int) -> list[int]:
    """Places of belts: the most frequent ones, the rarest one, and some between."""
    often = list(range(min(count // 4, number)))
    rest = random.Random(1).sample(range(number), min(count - len(often), number))
    return list(dict.fromkeys([*often, *rest, number - 1]))


def _spread(name: str, spent: Sequence[Spent], note: str) -> list[Figure]:
    """In ms by the clock; in the note by CPU time."""
    wall, cpu = ([one[at] * 1e3 for one in spent] for at in (0, 1))
    return [
        Figure(
            f"{name}, {what}", percentile(wall, share), "ms", most=MOST_MS,
            note=f"CPU {percentile(cpu, share):.1f} ms{', ' + note if share == 100 else ''}",
        )
        for what, share in (("median", 50), ("95 %", 95), ("worst", 100))
    ]  # fmt: skip
