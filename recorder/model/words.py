"""How a value becomes text for a person: in English as it stands in the code, or translated.

The values of this room show themselves with ``shown``. It takes the words to do so, and they are
English by default; a report in another language gives its own.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Protocol


class Say(Protocol):
    def __call__(self, text: str, /, **values: object) -> str: ...


@dataclass(frozen=True)
class Words:
    """say: an English text, with values for the names in its braces. digits: a number that was
    rounded to text with a decimal point, with the decimal mark that its reader expects.
    """

    say: Say
    digits: Callable[[str], str]


ENGLISH = Words(say=lambda text, /, **values: text.format(**values), digits=str)
