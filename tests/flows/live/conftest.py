"""The waiting for what may still be on its way is shortened, as nothing is here."""

import pytest


@pytest.fixture(autouse=True)
def brief(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("recorder.flows.live.hearing.LATE_S", 0.1)
    monkeypatch.setattr("recorder.flows.live.session._LAST_S", 0.1)
