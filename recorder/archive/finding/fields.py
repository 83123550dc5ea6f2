"""Which field does a person mean?"""

from __future__ import annotations

from recorder.archive.finding.typos import near_names
from recorder.errors import UnknownField
from recorder.model.fields import FIELDS, Field, near_or_all


def known_field(name: str) -> Field:
    """The field of that name or label; blanks, hyphens and capitals do not matter.

    Raises UnknownField, which names the near ones.
    """
    plain = _plain(name)
    for field in FIELDS.values():
        if plain == _plain(field.name):
            return field
    for field in FIELDS.values():
        if plain == _plain(field.label):
            return field
    forms = [(f.name, form) for f in FIELDS.values() for form in (_plain(f.name), _plain(f.label))]
    near = near_names(plain, forms)
    raise UnknownField(wanted=name, near=near_or_all(near))


def _plain(name: str) -> str:
    return " ".join(name.lower().replace("_", " ").replace("-", " ").split())
