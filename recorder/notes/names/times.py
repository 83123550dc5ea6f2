"""Times of day: "arrived at quarter past eight", "left at ten to twelve", "clocked in 13:05"."""

from __future__ import annotations

from dataclasses import dataclass, replace

from recorder.notes.fields.scope import fillers
from recorder.notes.fields.slot import Slot
from recorder.notes.fields.values import Habit
from recorder.notes.numbers.number_words import word_at
from recorder.notes.numbers.numbers import number_at
from recorder.notes.words.lexer import Sort, Tokens
from recorder.notes.words.speaking import kept
from recorder.notes.words.vocabulary import Hit, Phrases, speech, vocabulary, words

_LONGEST = 5  # small words between the cue and its time
_NOON = 12
# Hours of a twelve-hour dial that a day's work leaves no doubt about; common practice, no source.
_DAY = range(6, 13)
# And those at which somebody leaves rather in the afternoon, when only the hour was said.
_AFTERNOON = range(1, 6)


@dataclass(frozen=True)
class _Time:
    """hour, minute: as said. end: the place after it. dial: said on a dial of twelve hours."""

    hour: int
    minute: int
    end: int
    dial: bool


@kept
def _cues() -> Phrases[str]:
    table: dict[str, list[str]] = vocabulary().get("moments", {})
    return Phrases((phrase, field) for field, phrases in table.items() for phrase in phrases)


@kept
def _halves() -> Phrases[str]:
    table: dict[str, list[str]] = vocabulary().get("halves_of_day", {})
    return Phrases((phrase, half) for half, phrases in table.items() for phrase in phrases)


def times_of(tokens: Tokens, habit: Habit) -> list[Slot]:
    """All times of arrival and leaving, from left to right.

    The value is an ISO 8601 time of day, "08:15"; with the date and the zone before and behind it
    when a person typed one of the two times for this job.
    """
    found: list[Slot] = []
    end = 0
    for hit in _cues().all(tokens):
        if hit.start < end or _of_another(tokens, hit.start):
            continue
        told = _after(tokens, hit.end, tokens[hit.end - 1].text in words("time_words", "at"))
        if told is None:
            continue
        found.append(_slot(tokens, hit.meanings[0], hit.start, told, habit))
        end = found[-1].end
        cue = _correction(tokens, end)
        anew = _after(tokens, cue, at=True) if cue else None
        if anew is not None:
            corrected = _slot(tokens, hit.meanings[0], cue, anew, habit)
            found.append(replace(corrected, corrects=True))
            end = corrected.end
            continue
        until = word_at(tokens, end) in words("time_words", "until") and len(hit.meanings) > 1
        last = _after(tokens, end + 1, at=True) if until else None
        if last is not None:
            found.append(_slot(tokens, hit.meanings[1], end + 1, last, habit))
            end = found[-1].end
    return found or [slot for hit in _behind().all(tokens) if (slot := _before(tokens, hit, habit))]


def _correction(tokens: Tokens, i: int) -> int:
    """The place behind a word of correction that follows at once: "at two, no, two twenty"."""
    i += word_at(tokens, i) == ","
    hit = speech("corrections").at(tokens, i) if i < len(tokens) else None
    return hit.end + (word_at(tokens, hit.end) == ",") if hit else 0


def _before(tokens: Tokens, hit: Hit[str], habit: Habit) -> Slot | None:
    """As in "eight oh five, that's when I arrived"."""
    for i in range(max(0, hit.start - 2 * _LONGEST), hit.start):
        told = _time_at(tokens, i, at=True)
        if told is None:
            continue
        slot = _slot(tokens, hit.meanings[0], i, told, habit)
        return slot if all(t.text in (",", "-") for t in tokens[slot.end : hit.start]) else None
    return None


@kept
def _behind() -> Phrases[str]:
    table: dict[str, list[str]] = vocabulary().get("moments_behind", {})
    return Phrases((phrase, field) for field, phrases in table.items() for phrase in phrases)


def _of_another(tokens: Tokens, i: int) -> bool:
    """As in "my van's been parked here since seven", "the train left at ten"."""
    near = range(max(0, i - _LONGEST), i + 1)
    who, the = word_at(tokens, i - 1), word_at(tokens, i - 2)
    other = the in words("naming", "article") and who not in words("speech", "ours")
    if who in words("speech", "persons") or (other and tokens[i - 1].sort is Sort.WORD):
        return True
    deed = tokens[i].text in words("time_words", "deeds") and i > 0
    if deed and tokens[i - 1].sort is Sort.WORD and who not in words("time_words", "doers"):
        return True
    return any(speech("elsewhere").at(tokens, j) for j in near)


def answered_time(
    tokens: Tokens, field: str, habit: Habit, begin: int = 0, whole: bool = False
) -> Slot | None:
    """A time as an answer, from ``begin`` on: "quarter past eight".

    whole: only a time of which nothing leaves a doubt, with nothing but small words beside it.
    """
    while begin < len(tokens) and not _time_at(tokens, begin, at=True):
        small = tokens[begin].sort is Sort.SIGN or tokens[begin].text in fillers()
        if not small:
            break
        begin += 1
    told = _after(tokens, begin, at=True)
    slot = _slot(tokens, field, begin, told, habit) if told else None
    if slot is None or not whole:
        return slot
    # A bare number is no time: "two twenty" may be a temperature.
    named = slot.end > (told.end if told else 0) or (told is not None and not told.dial)
    rest = all(t.sort is Sort.SIGN or t.text in fillers() for t in tokens[slot.end :])
    return slot if named and rest else None


def _after(tokens: Tokens, i: int, at: bool = False) -> _Time | None:
    small = words("time_words", "before")
    for j in range(i, min(len(tokens), i + _LONGEST)):
        time = _time_at(tokens, j, at)
        if time is not None:
            return time
        if tokens[j].text not in small:
            return None
        at = at or tokens[j].text in words("time_words", "at")
    return None


def _time_at(tokens: Tokens, i: int, at: bool) -> _Time | None:
    """at: a word before it says that a time follows, so an hour alone will do."""
    token = tokens[i]
    for hour, key in ((12, "noon"), (0, "midnight")):
        if token.text in words("time_words", key):
            return _Time(hour, 0, i + 1, False)
    if token.sort is Sort.CLOCK:
        hour, minute = (int(part) for part in token.raw.split(":")[:2])
        dial = not token.raw.startswith("0") and hour <= _NOON
        return _Time(hour, minute, i + 1, dial) if hour < 24 and minute < 60 else None
    return _by_hand(tokens, i) or _by_number(tokens, i, at)


def _by_hand(tokens: Tokens, i: int) -> _Time | None:
    """As in "quarter past eight", "ten to twelve", "half eight"."""
    j = i + 1 if tokens[i].text in words("time_words", "articles") else i
    if j >= len(tokens):
        return None
    if tokens[j].text in words("time_words", "half"):
        past = j + 1 < len(tokens) and tokens[j + 1].text in words("time_words", "past")
        hour = _hour(tokens, j + 2 if past else j + 1)
        return _Time(hour[0], 30, hour[1], True) if hour else None
    if tokens[j].text in words("time_words", "quarter"):
        minute, j = 15, j + 1
    else:
        number = number_at(tokens, j)
        if number is None or not number.digits or not 0 < number.value < 60:
            return None
        minute, j = int(number.value), number.end
        j += word_at(tokens, j) in words("units", "min")
    side = word_at(tokens, j)
    hour = _hour(tokens, j + 1)
    if hour is None:
        return None
    if side in words("time_words", "past"):
        return _Time(hour[0], minute, hour[1], True)
    if side in words("time_words", "to_the_hour"):
        return _Time((hour[0] - 2) % 12 + 1, 60 - minute, hour[1], True)
    return None


def _hour(tokens: Tokens, i: int) -> tuple[int, int] | None:
    number = number_at(tokens, i) if i < len(tokens) else None
    if number is None or not number.digits or not 1 <= number.value <= _NOON:
        return None
    return int(number.value), number.end


def _by_number(tokens: Tokens, i: int, at: bool) -> _Time | None:
    """As in "seven forty", "thirteen oh five", "eight", "fourteen hundred hours"."""
    number = number_at(tokens, i)
    if number is None or not number.digits:
        return None
    digits, end = number.digits, number.end
    clock = word_at(tokens, end) in words("time_words", "o_clock")
    end += clock
    if len(digits) in (3, 4) and (len(number.groups) > 1 or at):
        hour, minute = int(digits[:-2]), int(digits[-2:])
    elif len(digits) <= 2 and (at or clock):
        hour, minute = int(digits), 0
    else:
        return None
    if hour > 23 or minute > 59:
        return None
    end += word_at(tokens, end) in words("units", "hour")
    return _Time(hour, minute, end, hour <= _NOON and not digits.startswith("0"))


def _slot(tokens: Tokens, field: str, start: int, told: _Time, habit: Habit) -> Slot:
    hour, end, dial = told.hour, told.end, told.dial
    half = ""
    for i in range(end, min(len(tokens), end + 4)):
        hit = _halves().at(tokens, i)
        if hit:
            half, end = hit.meanings[0], hit.end
            break
        if tokens[i].sort is Sort.SIGN or tokens[i].text in words("time_words", "until"):
            break
    if half and dial:
        hour, dial = hour % 12 + (12 if half == "after_noon" else 0), False
    doubts: tuple[str, ...] = ()
    others: tuple[str, ...] = ()
    value = _iso(hour, told.minute, habit)
    if dial and hour in _AFTERNOON and field == "left_at":
        doubts = ("before or after noon was not said",)
        others = (value,)
        value = _iso(hour + 12, told.minute, habit)
    elif dial and hour not in _DAY:
        doubts = ("before or after noon was not said",)
        others = (_iso((hour + 12) % 24, told.minute, habit),)
    places = tuple(range(start, end))
    return Slot(field, value, start, end, places, unsettled=doubts, candidates=others)


def _iso(hour: int, minute: int, habit: Habit) -> str:
    time = f"{hour:02d}:{minute:02d}"
    if not habit.day:
        return time
    date, zone = habit.day
    return f"{date}T{time}:00{zone}"
