"""A folder of photos of a flat target to a calibrated camera that the home keeps.

::

    photos ─► which camera ─► which target ─► its points in each ─► lens ─► cameras/<name>.toml
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from recorder.archive.disk.home import Home
from recorder.errors import CannotCalibrate, FileMissing, InputRefused
from recorder.flows import cameras
from recorder.flows.progress import Progress
from recorder.model.base import Value
from recorder.model.camera import Camera, shown
from recorder.photo.calibration import targets
from recorder.photo.calibration.calibration import (
    PRINT_MEASURED_U,
    PRINT_U,
    Calibrated,
    Sighting,
    calibrate,
)
from recorder.photo.card.layout import CardLayout
from recorder.photo.geometry.optics import same_shape
from recorder.photo.image import picture
from recorder.photo.image.conditions import Conditions
from recorder.photo.image.picture import PICTURE_SUFFIXES
from recorder.photo.image.refusal import Refusal
from recorder.settings import PhotoSettings

LeftOut = list[tuple[str, str]]


class Kept(Value):
    """camera: as it is kept in ``file``. before: where the one lies that it replaced.
    points: corners in all photos. focal_u: relative standard uncertainty of the focal length.
    tilt_deg: largest angle between two views. fields: the picture's fields, row by row, with the
    number of corners in each. unseen: edges of the picture without a corner near. used, left_out:
    names of the photos, the latter with the reason.
    """

    camera: Camera
    file: Path
    before: Path | None
    points: int
    focal_u: float
    tilt_deg: float
    fields: tuple[tuple[int, ...], ...]
    unseen: tuple[str, ...]
    used: tuple[str, ...]
    left_out: tuple[tuple[str, str], ...]

    @property
    def covered(self) -> float:
        """Share of the fields that hold a corner."""
        counts = [count for row in self.fields for count in row]
        return sum(count > 0 for count in counts) / len(counts)

    @property
    def by_itself(self) -> bool:
        """Whether a photo tells that this camera took it, so that it is used unasked."""
        return bool(self.camera.model)


@dataclass(frozen=True)
class _Setting:
    """What one calibration can hold for: one camera, one focal length, one size of picture."""

    make: str
    model: str
    focal_mm: float | None
    focal_35mm: float | None
    zoom: float
    size_px: tuple[int, int]

    @property
    def shown(self) -> str:
        return shown(self.make, self.model, self.focal_mm, self.zoom, self.size_px)


@dataclass(frozen=True)
class _Look:
    """What a first look at a photo keeps of it."""

    path: Path
    setting: _Setting
    stored_px: tuple[int, int]
    glance: targets.Glance


def calibrate_folder(
    home: Home, folder: Path, name: str | None, settings: PhotoSettings, progress: Progress
) -> Kept:
    """Calibrate and keep. Raises CannotCalibrate, FileMissing, BadValue, OutputUnwritable."""
    chosen = cameras.checked_name(name) if name else ""
    left_out: LeftOut = []
    looks = _first_looks(folder, left_out, progress)
    setting = _one_setting(folder, looks)
    looks = _one_way_up(looks, left_out)
    progress.stage("recognising the target")
    target = targets.which_target([look.glance for look in looks])
    if target is None:
        raise CannotCalibrate(
            path=folder, detail="no photo shows a Seamnote card, a ChArUco board or a chessboard",
            mend="show the whole target, flat, in focus and evenly lit; "
            "'seamnote card' writes one to print",
        )  # fmt: skip
    sightings = _sightings(looks, target, left_out, progress)
    scaled, print_u = _true_places(sightings, target, settings)
    progress.stage(f"finding the lens from {len(sightings)} photos")
    size_px = looks[0].stored_px
    try:
        found = calibrate(scaled, size_px, print_u)
    except Refusal as refusal:
        detail, _, mend = refusal.reason.partition("; ")
        raise CannotCalibrate(path=folder, detail=detail + _and_why(left_out), mend=mend) from None
    camera = _camera(
        found, setting, size_px, targets.shown(target), chosen or _name(setting, folder)
    )
    file, before = cameras.keep(home, camera)
    return Kept(
        camera=camera, file=file, before=before, points=found.points, focal_u=found.focal_u,
        tilt_deg=found.tilt_deg, fields=found.fields, unseen=found.unseen, used=found.used,
        left_out=(*left_out, *found.left_out),
    )  # fmt: skip


def as_json(kept: Kept) -> dict[str, Any]:
    return {
        **kept.model_dump(mode="json", exclude={"fields", "left_out"}),
        "covered": round(kept.covered, 3),
        "left_out": [{"file": name, "reason": reason} for name, reason in kept.left_out],
    }


def _first_looks(folder: Path, left_out: LeftOut, progress: Progress) -> list[_Look]:
    looks = []
    paths = _photos(folder)
    progress.stage(f"looking at {len(paths)} photos")
    for number, path in enumerate(paths, 1):
        try:
            photo = picture.load(path)
        except InputRefused as error:
            left_out.append((path.name, error.problem_text))
            continue
        if photo.said_px and not same_shape(photo.said_px, photo.stored_px):
            left_out.append((path.name, "it was cropped"))
            continue
        setting = _Setting(
            photo.make, photo.model, photo.focal_mm, photo.focal_35mm, photo.zoom,
            (max(photo.stored_px), min(photo.stored_px)),
        )  # fmt: skip
        looks.append(_Look(path, setting, photo.stored_px, targets.glance(photo)))
        progress.share(number / len(paths))
    if not looks:
        raise CannotCalibrate(
            path=folder, detail="it holds no photo that can be used" + _and_why(left_out),
            mend="put 10 to 20 jpg, png or heic photos of the card or a chessboard into it",
        )  # fmt: skip
    return looks


def _photos(folder: Path) -> list[Path]:
    if not folder.exists():
        raise FileMissing(path=folder)
    if not folder.is_dir():
        raise InputRefused(path=folder, detail="it is a file; give the folder with the photos")
    return sorted(
        path
        for path in folder.iterdir()
        if path.suffix.lower() in PICTURE_SUFFIXES and path.is_file() and path.name[0] != "."
    )


def _one_setting(folder: Path, looks: Sequence[_Look]) -> _Setting:
    """The setting of all photos; a mixture is named and refused."""
    counts = Counter(look.setting for look in looks)
    if len(counts) == 1:
        return looks[0].setting
    parts = "; ".join(f"{number} of {setting.shown}" for setting, number in counts.most_common(4))
    more = f" and {len(counts) - 4} others" if len(counts) > 4 else ""
    raise CannotCalibrate(
        path=folder, detail=f"it mixes photos of several cameras or settings ({parts}{more})",
        mend="keep those of one camera at one focal length and size",
    )  # fmt: skip


def _one_way_up(looks: list[_Look], left_out: LeftOut) -> list[_Look]:
    """Those stored as most are: of the others nobody knows which way a program turned them."""
    usual = Counter(look.stored_px for look in looks).most_common(1)[0][0]
    for look in looks:
        if look.stored_px != usual:
            left_out.append((look.path.name, "a program turned it, without saying which way"))
    return [look for look in looks if look.stored_px == usual]


def _sightings(
    looks: Sequence[_Look], target: targets.Target, left_out: LeftOut, progress: Progress
) -> list[Sighting]:
    progress.stage(f"finding the {targets.shown(target)} in {len(looks)} photos")
    found = []
    for number, look in enumerate(looks, 1):
        sighting = targets.sighting(look.path.name, picture.load(look.path), look.glance, target)
        if sighting is None:
            left_out.append((look.path.name, f"the {targets.shown(target)} is not found in it"))
        else:
            found.append(sighting)
        progress.share(number / len(looks))
    return found


def _true_places(
    sightings: Sequence[Sighting], target: targets.Target, settings: PhotoSettings
) -> tuple[list[Sighting], float]:
    """The sightings with the card's true print scale, and how well its shape is known."""
    if not isinstance(target, CardLayout):
        return list(sightings), PRINT_U
    scale = Conditions(
        print_scale=settings.print_scale, print_scale_size=settings.print_scale_size,
        print_scales=settings.print_scales,
    ).for_card(target.size).print_scale  # fmt: skip
    true = [Sighting(s.name, s.places * (scale or (1.0, 1.0)), s.px) for s in sightings]
    return true, PRINT_MEASURED_U if scale else PRINT_U


def _camera(
    found: Calibrated, setting: _Setting, size_px: tuple[int, int], target: str, name: str
) -> Camera:
    lens = found.lens
    return Camera(
        name=name, make=setting.make, model=setting.model, focal_mm=setting.focal_mm,
        focal_35mm=setting.focal_35mm, zoom=setting.zoom, size_px=size_px,
        focal_px=lens.focal_px, centre_px=lens.centre_px, distortion=lens.distortion,
        rms_px=found.rms_px, held_out=found.held_out, photos=len(found.used), target=target,
        calibrated_at=datetime.now().astimezone().replace(microsecond=0),
    )  # fmt: skip


def _name(setting: _Setting, folder: Path) -> str:
    """By what the photos say of the camera; where they say nothing, by the folder's name."""
    known = setting.shown if setting.make or setting.model else (
        f"{folder.resolve().name} {setting.size_px[0]}x{setting.size_px[1]}"
    )  # fmt: skip
    return cameras.safe_name(known.replace(" x ", "x").replace(" px", "")) or "camera"


def _and_why(left_out: Sequence[tuple[str, str]]) -> str:
    """The photos that were left out, the first few by name."""
    if not left_out:
        return ""
    parts = ", ".join(f"{name}: {reason}" for name, reason in left_out[:4])
    more = f" and {len(left_out) - 4} more" if len(left_out) > 4 else ""
    return f" (left out: {parts}{more})"
