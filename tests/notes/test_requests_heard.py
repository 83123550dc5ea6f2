"""Requests said by a real voice and heard by the bundled model."""

from __future__ import annotations

import pytest

from recorder.notes.requests.request import Ask
from recorder.notes.requests.requests import asked
from tests.bench.plant import condition
from tests.bench.requests import Case, spoken
from tests.bench.voices import VOICES

SAID = (
    ("Take one more photo.", Ask.PHOTO),
    ("Start the next splice.", Ask.NEXT_SPLICE),
    ("He said that we should finish the job today.", None),
)


def test_a_voice_is_understood(monkeypatch: pytest.MonkeyPatch) -> None:
    """By the voice that every machine has."""
    (robot,) = (voice for voice in VOICES if voice.name == "en-us")
    monkeypatch.setattr("tests.bench.requests.VOICES", (robot,))
    cases = [Case(said, None) for said, _ in SAID]
    heard = list(spoken(cases, condition("clean"), None))
    found = [[one.ask for one in asked(utterance).requests] for utterance in heard]
    assert found == [[ask] if ask else [] for _, ask in SAID]
