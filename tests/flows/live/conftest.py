"""The waiting for what may still be on its way is shortened, as nothing is here."""

import pytest

from recorder.report.identity import identity
from recorder.report.identity.identity import Identity


@pytest.fixture(autouse=True)
def brief(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("recorder.flows.live.hearing.LATE_S", 0.1)
    monkeypatch.setattr("recorder.flows.live.ending.LAST_S", 0.1)


@pytest.fixture(scope="session")
def key(tmp_path_factory: pytest.TempPathFactory) -> Identity:
    path = tmp_path_factory.mktemp("key") / "signer.p12"
    return identity.create(path, "of the tests", "Imke Dorn", "Quillback Belt Service")
