"""A small document with its fields, certified and approved once for all tests of this folder."""

from datetime import datetime
from pathlib import Path

import pytest

from recorder.report.identity.identity import Identity
from recorder.report.signing.approve import approve
from recorder.report.signing.certify import certify
from tests.report.document.conftest import document as document
from tests.report.signing import authority
from tests.report.signing.drawings import as_bytes, scribble

NOW = datetime.now().astimezone().replace(microsecond=0)
CUSTOMER = "Jörn Gärtner"


@pytest.fixture(scope="session")
def certified(document: bytes, key: Identity) -> bytes:
    return certify(document, key, "Record of the splice job", "Larkfield, Halle 2 ü", NOW)


@pytest.fixture(scope="session")
def approved(certified: bytes, key: Identity) -> bytes:
    return approve(certified, key, as_bytes(scribble()), CUSTOMER, NOW)


@pytest.fixture(scope="session")
def tick(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of a time-stamp authority."""
    folder = tmp_path_factory.mktemp("tick")
    authority.make(folder)
    return folder
