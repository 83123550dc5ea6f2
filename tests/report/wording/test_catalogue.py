"""One catalogue holds all wording of the report, and it is fit for translators."""

from babel.messages.catalog import Catalog, Message
from babel.messages.pofile import read_po

from recorder.report.wording.language import placeholders
from tests import wording


def key(message: Message) -> tuple[object, object]:
    return message.context, message.id


def keys(catalogue: Catalog) -> set[tuple[object, object]]:
    return {key(message) for message in catalogue if message.id}


def test_the_catalogue_is_that_of_the_code_and_the_templates() -> None:
    with wording.CATALOGUE.open("rb") as file:
        shipped = keys(read_po(file, abort_invalid=True))
    wanted = keys(wording.catalogue())
    assert len(wanted) > 100
    told = "run 'python -m tests.wording' and commit report.pot: "
    assert wanted - shipped == set(), told + "these are new"
    assert shipped - wanted == set(), told + "these are gone"


def test_every_message_can_be_translated() -> None:
    for message in wording.catalogue():
        if not message.id:
            continue
        forms = message.id if isinstance(message.id, tuple) else (message.id,)
        for text in forms:
            assert text == " ".join(text.split()), text
            assert placeholders(text) | {"n"} == placeholders(forms[0]) | {"n"}, text
        if len(forms) == 2:
            assert "n" in placeholders(forms[1]), forms
