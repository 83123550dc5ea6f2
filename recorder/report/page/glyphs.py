"""Which characters the typefaces of a look have; the only module that imports fontTools.

A character that none has would be taken from whatever the machine has installed, or become a box
that PDF/A forbids. It is replaced by a visible sign instead, the same on every machine, and the
report says so.
"""

from __future__ import annotations

import functools
import io
import unicodedata
from collections.abc import Collection

from fontTools.ttLib import TTFont, TTLibError

from recorder.errors import BadTemplate
from recorder.report.content.text import UNPRINTABLE
from recorder.report.page.look import Look

_LISTED = 12
_MARKUP = {"\n", "\t"}


@functools.lru_cache(maxsize=4)
def coverage(look: Look) -> frozenset[str]:
    """Every character that one of its fonts has. Raises BadTemplate for a file that is no font."""
    found: set[str] = set()
    for name in look.fonts:
        try:
            with TTFont(io.BytesIO(look.files[name]), lazy=True) as font:
                found.update(map(chr, font.getBestCmap() or ()))
        except (TTLibError, OSError, ValueError, KeyError, AssertionError) as error:
            path = look.paths[name]
            raise BadTemplate(path=path, line=1, detail="not a font, otf or ttf") from error
    return frozenset(found)


def lacking(text: str, has: Collection[str]) -> tuple[str, ...]:
    """The characters of a text that the fonts lack, in the order of Unicode."""
    return tuple(sorted(set(text) - _MARKUP - set(has)))


def replaced(text: str, lacked: Collection[str]) -> str:
    """Signs for what is lacked; a mark or joiner that belongs to the sign before it goes."""
    table = {ord(c): "" if unicodedata.category(c) in ("Mn", "Me", "Cf") else UNPRINTABLE
             for c in lacked}  # fmt: skip
    return text.translate(table)


def listed(lacked: Collection[str]) -> str:
    """'U+4E2D, U+6587 …'"""
    names = [f"U+{ord(char):04X}" for char in lacked]
    return ", ".join(names[:_LISTED]) + (" …" if len(names) > _LISTED else "")
