"""What is installed, which speech model is used, what is missing and how to get it."""

from __future__ import annotations

import importlib
import os
import platform
import shutil
import sys
from collections.abc import Callable
from datetime import UTC, datetime
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path

from recorder import __version__
from recorder.archive.disk.home import Home
from recorder.errors import BadSettings, SeamnoteError
from recorder.model.base import Value
from recorder.resources import shipped
from recorder.settings import Settings, load


class Finding(Value):
    """One line. ok: usable as it is. detail: version, place or what is wrong. mend: the command
    or step that brings it, empty when nothing is to be done.
    """

    name: str
    ok: bool
    detail: str
    mend: str = ""


def examine(home: Path) -> tuple[Finding, ...]:
    """All findings, in the order in which a job needs the parts. Raises nothing."""
    try:
        settings, fault = load(Home(home).settings), tuple[Finding, ...]()
    except BadSettings as error:
        settings, fault = Settings(), (_fault("settings", error),)
    return (
        Finding(name="seamnote", ok=True, detail=f"{__version__}, {_python()}"),
        *fault,
        _home(home),
        _space(home),
        _package("sound decoding", "av", "av"),
        _package("speech engine", "faster_whisper", "faster-whisper"),
        _model(settings),
        _trust(settings),
        _voice(settings),
        _package("units", "pint", "pint"),
        _package("photo measurement", "cv2", "opencv-python-headless"),
        _package("HEIC photos", "pillow_heif", "pillow-heif"),
        _weasyprint(),
        _language(home, settings),
        _package("signing", "pyhanko", "pyhanko"),
        _cameras(home),
        _identity(home, settings),
        _passphrase(),
        _shipped("report_templates"),
        _shipped("demo_media"),
    )


def _python() -> str:
    return f"Python {platform.python_version()} on {platform.system()} {platform.machine()}"


def _package(name: str, module: str, distribution: str) -> Finding:
    """Whether a package can be imported; by name, because nothing of it is used here."""
    try:
        importlib.import_module(module)
        detail = f"{distribution} {version(distribution)}"
    except (ImportError, OSError, PackageNotFoundError) as error:
        return Finding(
            name=name, ok=False, detail=f"{distribution}: {_line(error)}",
            mend=f"{sys.executable} -m pip install {distribution}",
        )  # fmt: skip
    return Finding(name=name, ok=True, detail=detail)


def _weasyprint() -> Finding:
    """The wrapper is asked: it knows that Pango comes from the system and not from pip."""
    from recorder.report.page import weasy

    return _try("report pages", lambda: f"weasyprint {weasy.version()}")


def _language(home: Path, settings: Settings) -> Finding:
    """Whether the words of the page can be read in the language of the settings."""
    from recorder.report.page import look
    from recorder.report.wording import language

    def state() -> str:
        folders = look.read(home / look.FOLDER).folders
        return language.load(settings.report.language, folders).tag

    return _try("language of the report", state)


def _model(settings: Settings) -> Finding:
    from recorder.voice import whisper

    name = f"speech model ({settings.speech.model})"
    return _try(name, lambda: whisper.describe(settings.speech))


def _trust(settings: Settings) -> Finding:
    """Whether the trust in what the model hears was fitted to it."""
    from recorder.notes.hearing.trust import is_calibrated
    from recorder.voice import whisper

    def state() -> str:
        model = whisper.model_name(settings.speech)
        if is_calibrated(model, settings.trust):
            return f"calibrated for {model}"
        return f"not calibrated for {model}, weighed as the bundled model; DEVELOPERS.md says how"

    return _try("trust in what is heard", state)


def _voice(settings: Settings) -> Finding:
    """Without one the live page shows what it would say."""
    from recorder.voice import speak

    return _try("voice of the recorder", lambda: speak.describe(settings.speaking))


def _home(home: Path) -> Finding:
    return _try("home", lambda: str(Home.open(home).root))


def _space(home: Path) -> Finding:
    existing = next(path for path in (home, *home.parents) if path.exists())
    free_gb = shutil.disk_usage(existing).free / 1e9
    ok = free_gb > 1.0
    mend = "" if ok else "free some disk space, or move the home with --home"
    return Finding(name="disk space", ok=ok, detail=f"{free_gb:.1f} GB free", mend=mend)


def _cameras(home: Path) -> Finding:
    """The lenses that were calibrated; a photo by another camera has to tell its own."""
    from recorder.flows.cameras import all_kept

    def state() -> str:
        kept = ", ".join(camera.name for camera in all_kept(Home(home)))
        return kept or "none; the card in each photo tells the lens, 'seamnote camera' does better"

    return _try("calibrated cameras", state)


def _identity(home: Path, settings: Settings) -> Finding:
    from recorder.flows import authority
    from recorder.flows.identity import ASK_OFFICE, RENEW

    name = "signing key"
    state = authority.state(Home(home), settings.identity)
    if state.waiting:
        mend = "take the office's answer with 'seamnote identity install FILE'"
        return Finding(name=name, ok=state.signer is not None, detail="asked for", mend=mend)
    if state.signer is None:
        detail = state.key or "not made yet; the first 'seamnote report' makes it"
        return Finding(name=name, ok=True, detail=detail)
    detail = f"of {state.signer.common_name}, until {state.signer.until:%Y-%m-%d}"
    if state.self_signed:
        detail += "; the next 'seamnote report' replaces it, as it vouches for itself"
    if state.signer.until > datetime.now(UTC):
        return Finding(name=name, ok=True, detail=detail)
    return Finding(name=name, ok=False, detail=detail, mend=RENEW if state.issuing else ASK_OFFICE)


def _passphrase() -> Finding:
    from recorder.report.identity import passphrase

    if os.environ.get(passphrase.VARIABLE):
        return Finding(name="passphrase", ok=True, detail=f"from {passphrase.VARIABLE}")
    backend = passphrase.keyring_name()
    detail = f"kept by {backend}" if backend else "no keyring here; asked for at each report"
    return Finding(name="passphrase", ok=True, detail=detail)


def _shipped(folder: str) -> Finding:
    path = shipped(folder)
    ok = path.is_dir() and any(path.iterdir())
    mend = "" if ok else f"{sys.executable} -m pip install --force-reinstall seamnote"
    return Finding(name=folder.replace("_", " "), ok=ok, detail=str(path), mend=mend)


def _try(name: str, examine: Callable[[], str]) -> Finding:
    try:
        return Finding(name=name, ok=True, detail=examine())
    except SeamnoteError as error:
        return _fault(name, error)


def _fault(name: str, error: SeamnoteError) -> Finding:
    return Finding(name=name, ok=False, detail=error.problem_text, mend=error.remedy_text)


def _line(error: BaseException) -> str:
    return " ".join(str(error).split())[:160]
