"""Where the passphrase comes from."""

from collections.abc import Callable, Iterator
from pathlib import Path

import keyring
import pytest
from keyring.backend import KeyringBackend
from keyring.backends.fail import Keyring as NoKeyring
from keyring.errors import KeyringError

from recorder.errors import PassphraseMissing
from recorder.report.identity import passphrase

KEY = Path("signer.p12")


class InMemory(KeyringBackend):
    priority = 1.0

    def __init__(self) -> None:
        super().__init__()
        self.kept: dict[tuple[str, str], str] = {}

    def get_password(self, service: str, username: str) -> str | None:
        return self.kept.get((service, username))

    def set_password(self, service: str, username: str, password: str) -> None:
        self.kept[service, username] = password


class Broken(InMemory):
    def get_password(self, service: str, username: str) -> str | None:
        raise KeyringError("no desktop session")

    def set_password(self, service: str, username: str, password: str) -> None:
        raise OSError("no desktop session")


def answers(*given: str) -> Callable[[str], str]:
    left = iter(given)
    return lambda prompt: next(left)


@pytest.fixture(autouse=True)
def _no_keyring(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    monkeypatch.delenv(passphrase.VARIABLE, raising=False)
    before = keyring.get_keyring()
    keyring.set_keyring(NoKeyring())
    yield
    keyring.set_keyring(before)


@pytest.fixture
def working() -> InMemory:
    backend = InMemory()
    keyring.set_keyring(backend)
    return backend


def test_environment_comes_first(monkeypatch: pytest.MonkeyPatch, working: InMemory) -> None:
    working.set_password(passphrase.SERVICE, str(KEY.resolve()), "from the keyring")
    monkeypatch.setenv(passphrase.VARIABLE, "from the environment")
    assert passphrase.obtain(KEY, None, creating=False) == "from the environment"


def test_an_empty_variable_is_none(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(passphrase.VARIABLE, "")
    assert passphrase.obtain(KEY, answers("typed"), creating=False) == "typed"


def test_keyring_comes_before_the_prompt(working: InMemory) -> None:
    working.set_password(passphrase.SERVICE, str(KEY.resolve()), "from the keyring")
    assert passphrase.obtain(KEY, answers(), creating=False) == "from the keyring"


def test_a_new_passphrase_is_asked_twice_and_kept(working: InMemory) -> None:
    assert passphrase.obtain(KEY, answers("new", "new"), creating=True) == "new"
    assert passphrase.obtain(KEY, None, creating=False) == "new"


def test_until_both_are_alike(working: InMemory) -> None:
    asked = answers("one", "two", "", "new", "new")
    assert passphrase.obtain(KEY, asked, creating=True) == "new"


def test_not_for_ever() -> None:
    with pytest.raises(PassphraseMissing):
        passphrase.obtain(KEY, lambda prompt: "", creating=True)


def test_a_failing_keyring_is_none() -> None:
    keyring.set_keyring(Broken())
    assert passphrase.obtain(KEY, answers("new", "new"), creating=True) == "new"
    assert passphrase.obtain(KEY, answers("new"), creating=False) == "new"


@pytest.mark.parametrize("creating", [True, False])
def test_nobody_to_ask(creating: bool) -> None:
    with pytest.raises(PassphraseMissing):
        passphrase.obtain(KEY, None, creating)


def test_nothing_typed() -> None:
    with pytest.raises(PassphraseMissing):
        passphrase.obtain(KEY, answers(""), creating=False)


def right(passphrase: str) -> bool:
    return passphrase == "right"


def test_a_wrong_one_in_the_keyring_is_asked_for_and_replaced(working: InMemory) -> None:
    entry = (passphrase.SERVICE, str(KEY.resolve()))
    working.set_password(*entry, "old")
    asked = answers("typo", "right")
    assert passphrase.obtain(KEY, asked, creating=False, opens=right) == "right"
    assert working.get_password(*entry) == "right"
    assert passphrase.obtain(KEY, None, creating=False, opens=right) == "right"


def test_three_wrong_answers_are_enough(working: InMemory) -> None:
    entry = (passphrase.SERVICE, str(KEY.resolve()))
    working.set_password(*entry, "old")
    asked = answers("one", "two", "three", "right")
    assert passphrase.obtain(KEY, asked, creating=False, opens=right) == "three"
    assert asked("") == "right", "it was not asked for a fourth time"
    assert working.get_password(*entry) == "old"


def test_a_wrong_one_in_the_keyring_where_nobody_can_answer(working: InMemory) -> None:
    """The key itself then tells that it is wrong."""
    working.set_password(passphrase.SERVICE, str(KEY.resolve()), "old")
    assert passphrase.obtain(KEY, None, creating=False, opens=right) == "old"


def test_what_is_typed_for_a_key_outside_the_keyring_is_not_kept(working: InMemory) -> None:
    assert passphrase.obtain(KEY, answers("right"), creating=False, opens=right) == "right"
    assert working.kept == {}


def test_a_wrong_variable_is_not_hidden_by_a_prompt(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(passphrase.VARIABLE, "wrong")
    assert passphrase.obtain(KEY, answers(), creating=False, opens=right) == "wrong"
