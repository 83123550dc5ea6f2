"""What is made once for many tests: the home that the demo fills, and a firm with a report."""

import shutil
from pathlib import Path

import pytest

from recorder.archive.disk.home import Home
from recorder.archive.jobs.folder import JobFolder
from recorder.flows import report
from recorder.report.identity import identity
from tests.cli.command import Ran, seamnote
from tests.flows.firm import PASSPHRASE, SETTINGS, Firm
from tests.flows.quiet import Quiet
from tests.report import jobs
from tests.report.signing.drawings import as_bytes, scribble


@pytest.fixture(scope="session")
def demo(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Ran]:
    """The home that the demo filled, and what the command printed."""
    home = tmp_path_factory.mktemp("demo") / "home"
    foreign = tmp_path_factory.mktemp("foreign folder")
    return home, seamnote("demo", "--home", home, cwd=foreign)


@pytest.fixture(scope="session")
def made(tmp_path_factory: pytest.TempPathFactory) -> Firm:
    home = Home.open(tmp_path_factory.mktemp("firm") / "home")
    folder = jobs.into_home(home, jobs.no_photo)
    key = identity.create(home.identity / "signer.p12", PASSPHRASE, "Imke Dorn", "Quillback")
    drawing = home.root / "drawing.png"
    drawing.write_bytes(as_bytes(scribble()))
    written = report.write(home, folder, SETTINGS, key, Quiet())
    return Firm(home, folder, key, written, drawing)


@pytest.fixture
def firm(made: Firm, tmp_path: Path) -> Firm:
    """A copy for each test, because approving leaves a file."""
    home = Home(Path(shutil.copytree(made.home.root, tmp_path / "home")))
    folder = JobFolder(home.jobs / made.folder.id)
    path = folder.path_of(made.written.record.path)
    written = made.written.model_copy(update={"path": path})
    return Firm(home, folder, made.key, written, home.root / "drawing.png")
