"""The tree of errors: one line, a remedy, an exit code, and its drawing true."""

import re

import pytest

from recorder import errors
from recorder.errors import SeamnoteError


def tree(root: type[SeamnoteError]) -> list[type[SeamnoteError]]:
    return [root, *(cls for child in root.__subclasses__() for cls in tree(child))]


@pytest.mark.parametrize("cls", tree(SeamnoteError)[1:], ids=lambda c: c.__name__)
def test_every_error_is_one_line_that_says_what_to_do(cls: type[SeamnoteError]) -> None:
    data: dict[str, object] = dict.fromkeys(cls.data_names(), "a\nb")
    if cls.__name__ in ("NoSpeech",):
        data["seconds"] = 1.5  # type: ignore[assignment]
    text = str(cls(**data))
    assert "\n" not in text
    assert "; " in text
    assert cls.exit_code in (2, 3, 5)


def test_forgotten_data_is_noticed_at_once() -> None:
    with pytest.raises(TypeError, match="needs path"):
        errors.FileEmpty()


def test_the_drawing_names_every_class_at_its_place() -> None:
    drawing = re.findall(r"^    ([│├└─ ]*)(\w+)", errors.__doc__ or "", re.MULTILINE)
    drawn = [(len(lead) // 4, name) for lead, name in drawing]

    def depth(cls: type[SeamnoteError]) -> int:
        return cls.__mro__.index(SeamnoteError)

    assert sorted(drawn) == sorted((depth(cls), cls.__name__) for cls in tree(SeamnoteError))
