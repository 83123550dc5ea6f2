"""What makes one belt and its splice like another: the key to recipes, templates and trends."""

from __future__ import annotations

from collections.abc import Mapping

from recorder.model.base import Value
from recorder.model.reading import Reading, Standing, show_value
from recorder.model.words import ENGLISH, Words

SAME_MM = 0.005  # sizes that lie nearer are the same, told in other units


class Belt(Value):
    """A belt and how it is joined; None for what was not told. Lengths in mm, canonical words for
    choices; the names are those of the catalogue of fields.
    """

    belt_material: str | None = None
    belt_thickness: float | None = None
    belt_width: float | None = None
    guide_profile: str | None = None
    splice_type: str | None = None
    finger_length: float | None = None
    finger_pitch: float | None = None

    @classmethod
    def of(cls, known: Mapping[str, Reading]) -> Belt:
        """known: readings in force, by field; what is doubtful tells nothing of the belt."""
        told = {
            name: known[name].value
            for name in cls.model_fields
            if name in known and known[name].standing is not Standing.DOUBTFUL
        }
        return cls.model_validate(told)

    def told(self) -> dict[str, str | float]:
        """What is known of it, by field, in the order of the class."""
        return {name: value for name in BELT_FIELDS if (value := getattr(self, name)) is not None}

    def shown(self, words: Words = ENGLISH) -> str:
        """For people: 'Polyurethane, 2 mm, 600 mm, flat, finger, 80 mm, 20 mm'."""
        return ", ".join(show_value(name, value, words) for name, value in self.told().items())


BELT_FIELDS = tuple(Belt.model_fields)


def folded(name: str) -> str:
    """A name or a material as it is compared: capitals and white space make no difference."""
    return " ".join(name.split()).casefold()
