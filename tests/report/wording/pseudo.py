"""A language that nobody speaks: English in brackets, and longer; what is no message stands out.

Only the words of a message are in brackets, not the values in it: ``⟦Splice ~⟧2``.
"""

from __future__ import annotations

import re
import string
from html.parser import HTMLParser
from pathlib import Path

from babel.messages.catalog import Catalog
from babel.messages.pofile import write_po

from tests import wording

OPEN, CLOSE = "⟦", "⟧"
_SHOWN = ("alt", "title", "aria-label", "placeholder", "summary")


def write(folder: Path) -> None:
    """The file of the language, in the place of English, for a folder of templates."""
    pseudo = Catalog("en")
    for message in wording.catalogue():
        if message.id:
            forms = message.id if isinstance(message.id, tuple) else (message.id,)
            told = tuple(map(bracketed, forms))
            pseudo.add(message.id, told if len(told) > 1 else told[0], context=message.context)
    path = folder / "wording" / "en.po"
    path.parent.mkdir(parents=True)
    with path.open("wb") as file:
        write_po(file, pseudo)


def bracketed(text: str) -> str:
    parts = []
    for literal, name, _, _ in string.Formatter().parse(text):
        if literal.strip():
            parts.append(f"{OPEN}{literal}~~~{CLOSE}")
        else:
            parts.append(literal)
        if name is not None:
            parts.append(f"{{{name}}}")
    return "".join(parts)


def outside(html: str) -> str:
    """What the page shows that no message holds."""
    reader = _Shown()
    reader.feed(html)
    reader.close()
    return re.sub(f"{OPEN}[^{OPEN}{CLOSE}]*{CLOSE}", " ", "\n".join(reader.found))


class _Shown(HTMLParser):
    """Texts and readable attributes of a page, and the strings of the style sheet in it."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []
        self._in_style = False

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self._in_style = tag == "style"
        self.found += [value for name, value in attrs if name in _SHOWN and value]

    def handle_endtag(self, tag: str) -> None:
        self._in_style = False

    def handle_data(self, data: str) -> None:
        if self._in_style:
            data = " ".join(re.findall(r"content:([^}]*)}", data))
            data = " ".join(re.findall(r'"([^"]*)"', data))
            data = re.sub(r"\\([0-9a-f]{6})", lambda code: chr(int(code[1], 16)), data)
        self.found.append(data)
