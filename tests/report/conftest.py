"""One key and one page of the demo report for all tests of this folder; making a key is slow."""

from pathlib import Path

import pytest

from recorder.report.identity import identity
from recorder.report.page.render import render
from tests.report import sample

PASSPHRASE = "a passphrase of the tests"


@pytest.fixture(scope="session")
def key_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("identity") / "keys" / "signer.p12"
    identity.create(path, PASSPHRASE, "Imke Dorn", "Quillback Belt Service", demo=True)
    return path


@pytest.fixture(scope="session")
def key(key_file: Path) -> identity.Identity:
    return identity.load(key_file, PASSPHRASE)


@pytest.fixture(scope="session")
def job_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("job")
    sample.demo_job(folder)
    return folder


@pytest.fixture(scope="session")
def demo_pdf(job_folder: Path) -> bytes:
    job = sample.demo_job(job_folder)
    return render(job, job_folder, sample.SETTINGS, sample.EDITION)
