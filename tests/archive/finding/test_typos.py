import pytest

from recorder.archive.finding.fields import known_field
from recorder.archive.finding.typos import errors_allowed, near_words
from recorder.errors import UnknownField
from recorder.model.fields import FIELDS

TERMS = {"forklift": 9, "gasket": 4, "basket": 2, "casket": 5, "belt": 90, "larkfield": 7}


@pytest.mark.parametrize(
    ("word", "near"),
    [
        ("forklfit", ("forklift",)),  # neighbours changed
        ("forlift", ("forklift",)),
        ("frklft", ()),  # six letters may have one error
        ("larkfeeld", ("larkfield",)),
        ("larkfeild", ("larkfield",)),
        ("lrkfeild", ("larkfield",)),
        ("lrkfeidl", ()),
        ("kasket", ("casket", "gasket", "basket")),  # the most frequent first
        ("belf", ("belt",)),
        ("balf", ()),
    ],
)
def test_near_words(word: str, near: tuple[str, ...]) -> None:
    assert near_words(word, TERMS) == near


def test_the_fewest_errors_count_before_the_most_jobs() -> None:
    assert near_words("gaskets", {"gasket": 1, "baskets": 1, "caskets": 3}) == (
        "caskets", "baskets", "gasket",
    )  # fmt: skip
    assert near_words("conveyer", {"conveyor": 1, "convener": 50, "conversed": 99}) == (
        "convener", "conveyor",
    )  # fmt: skip


@pytest.mark.parametrize(("letters", "errors"), [(3, 0), (4, 1), (7, 1), (8, 2), (40, 2)])
def test_how_many_errors_a_word_may_have(letters: int, errors: int) -> None:
    assert errors_allowed("x" * letters) == errors


@pytest.mark.parametrize(
    ("wrong", "near"),
    [
        ("top_temp", "did you mean top_temperature?"),
        ("toptemp", "did you mean top_temperature?"),
        ("width", "did you mean belt_width or splice_width?"),
        ("gap", "did you mean finger_gap?"),
        ("volts", "did you mean supply_voltage"),
        ("temperature", "cool_down_temperature"),
        ("serial", "did you mean belt_serial"),
        ("cooldown", "did you mean cool_down_temperature"),
        ("qqq", "the fields are job_number, customer, "),
        ("", "the fields are job_number"),
    ],
)
def test_a_wrong_field_names_the_near_ones(wrong: str, near: str) -> None:
    with pytest.raises(UnknownField) as caught:
        known_field(wrong)
    assert near in str(caught.value)


@pytest.mark.parametrize("field", FIELDS.values(), ids=lambda field: field.name)
def test_a_field_answers_to_its_name_and_its_label(field: object) -> None:
    name, label = field.name, field.label  # type: ignore[attr-defined]
    for said in (name, name.upper(), name.replace("_", " "), label, f" {label.lower()} "):
        assert known_field(said) is field
