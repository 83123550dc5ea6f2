"""What people would ask a large archive, drawn by a seed, and beside each what it must find."""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime

from tests.bench.archive import jobs, words
from tests.bench.archive.truth import Truth, Within


@dataclass(frozen=True)
class Asked:
    """kind: for people. words, conditions, outcome: as they are typed. tests: what the conditions
    mean, by arithmetic of this file.
    """

    kind: str
    words: tuple[str, ...] = ()
    conditions: tuple[str, ...] = ()
    tests: tuple[Within, ...] = ()
    outcome: str | None = None
    since: datetime | None = None

    def expected(self, truth: Truth) -> list[str]:
        """Ids, newest first."""
        return truth.found(self.words, self.tests, self.outcome, self.since)

    def __str__(self) -> str:
        more = [f"outcome={self.outcome}"] if self.outcome else []
        more += [f"since {self.since:%Y-%m-%d}"] if self.since else []
        return f"{self.kind}: " + " ".join((*self.words, *self.conditions, *more))


Condition = tuple[str, Within]


def word_and_range(count: int, seed: int = 0) -> list[Asked]:
    """``count`` different queries of one or two words and one or two ranges, in equal shares of
    their kinds; a third has an outcome or a date as well.
    """
    dice = random.Random(f"word and range {seed}")
    made: dict[tuple[object, ...], Asked] = {}
    while len(made) < count:
        word_kind = list(_WORDS)[len(made) % len(_WORDS)]
        range_kind = dice.choice(list(_RANGES))
        conditions = [_RANGES[range_kind](dice)]
        if dice.random() < 0.2:
            conditions.append(_RANGES["a few values"](dice))
        texts, tests = zip(*dict(conditions).items(), strict=True)
        outcome, since = _further(dice)
        asked = Asked(
            f"{word_kind}, {range_kind}", _WORDS[word_kind](dice), texts, tests, outcome, since
        )
        made.setdefault((asked.words, texts, outcome, since), asked)
    return list(made.values())


def words_alone(count: int, seed: int = 0) -> list[Asked]:
    """As many of each kind of word, without any range."""
    dice = random.Random(f"words {seed}")
    kinds = [list(_WORDS)[at % len(_WORDS)] for at in range(count)]
    return [Asked(kind, _WORDS[kind](dice)) for kind in kinds]


def ranges_alone(count: int, seed: int = 0) -> list[Asked]:
    dice = random.Random(f"ranges {seed}")
    kinds = [list(_RANGES)[at % len(_RANGES)] for at in range(count)]
    made = [(kind, _RANGES[kind](dice)) for kind in kinds]
    return [Asked(kind, (), (text,), (test,)) for kind, (text, test) in made]


def mistyped(count: int, seed: int = 0) -> list[tuple[str, str]]:
    """Pairs of a word with two letters changed in their order, and the word that was meant."""
    dice = random.Random(f"mistyped {seed}")
    meant = [word for word in words.SPOKEN if word.isascii() and word.isalpha() and len(word) > 7]
    pairs = []
    for word in dice.sample(meant, count):
        at = next(at for at in range(3, len(word) - 1) if word[at] != word[at + 1])
        pairs.append((word[:at] + word[at + 1] + word[at] + word[at + 2 :], word))
    return pairs


def _further(dice: random.Random) -> tuple[str | None, datetime | None]:
    """Often nothing; else an outcome, or a date of the last years."""
    chance = dice.random()
    if chance < 0.17:
        return dice.choice(("accepted", "rework", "rejected")), None
    if chance < 0.34:
        day = jobs.FIRST + dice.uniform(0.3, 0.98) * jobs.YEARS
        return None, day.astimezone(UTC).replace(hour=0, minute=0, second=0, microsecond=0)
    return None, None


def _of_rank(first: int, last: int, dice: random.Random) -> str:
    return words.SPOKEN[dice.randrange(first, last)]


def _beginning(dice: random.Random) -> str:
    word = _of_rank(60, len(words.SPOKEN), dice)
    return word[: dice.choice((3, 4, 5))]


_WORDS: dict[str, Callable[[random.Random], tuple[str, ...]]] = {
    "common word": lambda dice: (_of_rank(0, 40, dice),),
    "middling word": lambda dice: (_of_rank(100, 500, dice),),
    "rare word": lambda dice: (_of_rank(1500, len(words.SPOKEN), dice),),
    "beginning of words": lambda dice: (_beginning(dice),),
    "two common words": lambda dice: (_of_rank(0, 60, dice), _of_rank(0, 60, dice)),
    "common and rare word": lambda dice: (_of_rank(0, 40, dice), _of_rank(600, 2500, dice)),
    "identifier": lambda dice: (dice.choice(words.IDENTIFIERS),),
    "customer": lambda dice: tuple(dice.choice(words.CUSTOMERS).split()),
    "name": lambda dice: (jobs.terms(dice.choice(words.SURNAMES[:40]))[-1].replace(" ", "'"),),
    "job number": lambda dice: (f"{dice.choice('JKS')}{100000 + dice.randrange(100000)}",),
}


def _at_least(name: str, typed: float, unit: str, canonical: float) -> Condition:
    return f"{name}>={typed:g}{unit}", Within(name, low=canonical)


def _between(name: str, low: float, high: float, unit: str, factor: float = 1.0) -> Condition:
    return f"{name}={low:g}{unit}..{high:g}{unit}", Within(name, low * factor, high * factor)


def _fahrenheit(dice: random.Random) -> Condition:
    typed = dice.randrange(325, 360) + 0.5  # never the very value of a whole degree Celsius
    return _at_least("top_temperature", typed, "degF", (typed - 32) * 5 / 9)


def _psi(dice: random.Random) -> Condition:
    low = dice.randrange(15, 40) + 0.5
    return _between("pressure", low, low + dice.randrange(1, 12), "psi", 0.0689475729316836)


def _narrow(dice: random.Random) -> Condition:
    low = dice.randrange(150, 190)
    return _between("top_temperature", low, low + 1, "degC")


def _few(dice: random.Random) -> Condition:
    low = dice.randrange(20, 1100, 10)
    return _between("belt_width", low, low + 10, "mm")


def _minutes(dice: random.Random) -> Condition:
    return _at_least("dwell_time", typed := dice.choice((1.5, 2, 3, 4.5, 6)), "min", typed * 60)


def _small_gap(dice: random.Random) -> Condition:
    high = dice.randrange(5, 60) / 100
    return f"finger_gap<={high}mm", Within("finger_gap", high=high)


_RANGES: dict[str, Callable[[random.Random], Condition]] = {
    "narrow": _narrow,
    "a few values": _few,
    "degrees Fahrenheit": _fahrenheit,
    "psi": _psi,
    "wide": lambda dice: _at_least("bottom_temperature", t := dice.randrange(120, 160), "degC", t),
    "minutes": _minutes,
    "of photos": _small_gap,
    "empty": lambda dice: _at_least("top_temperature", t := dice.randrange(300, 400), "degC", t),
    "flag": lambda _: ("bubbles=yes", Within("bubbles", 1, 1)),
}
