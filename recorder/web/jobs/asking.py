"""The address of a search to what is asked, and back: every search has an address of its own."""

from __future__ import annotations

from urllib.parse import urlencode

from starlette.datastructures import QueryParams

from recorder.archive.finding.saved import Asked
from recorder.model.base import Value
from recorder.model.fields import FIELDS

MOST_SHOWN = 500  # jobs on one page
# More than that nobody types; what an address holds beyond is left out.
LONGEST_WORDS, MOST_CONDITIONS = 400, 20
# How a condition compares, in words.
_SIGNS = {">=": "at least", "<=": "at most", ">": "more than", "<": "less than", "=": ""}
SIGNS = (
    ("=", "is"), (">=", "is at least"), ("<=", "is at most"), (">", "is more than"),
    ("<", "is less than"),
)  # fmt: skip
_ONE = ("outcome", "since", "until", "sort")


class Condition(Value):
    """words: 'Top platen at least 350 °F'. without: address of the search without it."""

    words: str
    without: str


def asked_of(query: QueryParams) -> Asked:
    """What the address asks. A field, a sign and a value that the form sends become a condition."""
    where = [text for text in query.getlist("where") if text.strip()]
    field, value = query.get("field", ""), query.get("value", "").strip()
    if field and value:
        sign = query.get("sign", "=")
        where.append(f"{field}{sign if sign in _SIGNS else '='}{value.replace(' to ', '..')}")
    single = {name: query.get(name, "").strip() or None for name in _ONE}
    limit = query.get("limit", "")
    return Asked(
        words=query.get("q", "")[:LONGEST_WORDS].strip(),
        where=tuple(dict.fromkeys(where))[:MOST_CONDITIONS],
        units=tuple(unit for unit in query.getlist("unit") if unit.strip())[:MOST_CONDITIONS],
        limit=min(max(int(limit), 1), MOST_SHOWN)
        if limit.isascii() and limit.isdecimal() and len(limit) < 9
        else None,
        **single,
    )


def address(asked: Asked, saved: str = "") -> str:
    """Of the page that answers it."""
    pairs = [("saved", saved)] if saved else []
    pairs += [("q", asked.words)] if asked.words else []
    pairs += [("where", text) for text in asked.where]
    told = {name: getattr(asked, name) for name in _ONE}
    pairs += [(name, str(value)) for name, value in told.items() if value is not None]
    pairs += [("unit", unit) for unit in asked.units]
    pairs += [("limit", str(asked.limit))] if asked.limit else []
    return f"/archive?{urlencode(pairs)}" if pairs else "/archive"


def conditions(asked: Asked, saved: str = "") -> tuple[Condition, ...]:
    """Each of what is asked besides words, in words, with the way to leave it out."""

    def without(**changes: object) -> str:
        return address(asked.model_copy(update={**changes, "limit": None}), saved)

    found = [
        Condition(
            words=in_words(text),
            without=without(where=tuple(other for other in asked.where if other != text)),
        )
        for text in asked.where
    ]
    if asked.outcome:
        found.append(Condition(words=f"Outcome {asked.outcome}", without=without(outcome=None)))
    if asked.since:
        found.append(Condition(words=f"Since {asked.since}", without=without(since=None)))
    if asked.until:
        found.append(Condition(words=f"Until {asked.until}", without=without(until=None)))
    return tuple(found)


def in_words(condition: str) -> str:
    """'top_temperature>=350degF' -> 'Top platen at least 350degF'; what is none, as it is."""
    for sign, words in _SIGNS.items():
        field, found, value = condition.partition(sign)
        row = FIELDS.get(field.strip().lower().replace(" ", "_").replace("-", "_"))
        if found and row:
            parts = (row.label, words, value.strip().replace("..", " to "))
            return " ".join(part for part in parts if part)
    return condition


def in_short(asked: Asked) -> str:
    """A whole search in one line."""
    parts = [asked.words, *(each.words for each in conditions(asked))]
    return "; ".join(part for part in parts if part) or "every job"
