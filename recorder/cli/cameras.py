"""camera: a lens calibrated from photos."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from recorder.cli.terminal import Commands, StageLines, command, open_home, print_json, settings_of

if TYPE_CHECKING:
    from recorder.flows.camera import Kept

_HOW = """\
Take 10 to 20 photos of one flat target with one camera at one focal length and without digital
zoom, about as near as you photograph splices: a third of them square on, the others tilted by 20 to
40 degrees to all sides, with the target in every corner of the picture. The target is the Seamnote
card, a ChArUco board or a chessboard of any size; it is recognised by itself.
"""


def add(commands: Commands, shared: argparse.ArgumentParser) -> None:
    camera = command(
        commands, shared, "camera",
        "calibrate a lens from photos of the card, a ChArUco board or a chessboard", _camera,
    )  # fmt: skip
    camera.epilog = _HOW
    camera.add_argument("folder", type=Path, metavar="FOLDER", help="that holds the photos")
    camera.add_argument(
        "--name", metavar="NAME",
        help="under which it is kept (default: by make, model, focal length and picture size)",
    )  # fmt: skip


def _camera(arguments: argparse.Namespace) -> int:
    from recorder.flows import camera

    home = open_home(arguments)
    progress = StageLines()
    kept = camera.calibrate_folder(
        home, arguments.folder, arguments.name, settings_of(home.root).photo, progress
    )
    progress.close()
    if arguments.json:
        print_json(camera.as_json(kept))
    else:
        print("\n".join(_lines(kept)))
    return 0


def _lines(kept: Kept) -> list[str]:
    camera = kept.camera
    focal = sum(camera.focal_px) / 2
    x, y = (at - (side - 1) / 2 for at, side in zip(camera.centre_px, camera.size_px, strict=True))
    rows = [
        ("camera", camera.shown),
        ("from", f"{camera.photos} photos of a {camera.target}, {kept.points} corners"),
        ("focal length", f"{focal:.1f} ± {2 * kept.focal_u * focal:.1f} px"),
        ("centre", f"{camera.centre_px[0]:.1f}, {camera.centre_px[1]:.1f} px "
         f"({x:+.1f}, {y:+.1f} from the middle)"),
        ("distortion", ", ".join(
            f"{name} {value:+.4f}"
            for name, value in zip(("k1", "k2", "p1", "p2", "k3"), camera.distortion, strict=True)
        )),
        ("misfit", f"{camera.rms_px:.2f} px (rms)"),
        ("held out", f"{camera.held_out:.2%} of a length (rms), on photos left out in turn"),
        ("views", f"up to {kept.tilt_deg:.0f}° apart"),
        ("corners in", f"{kept.covered:.0%} of the picture's fields"),
    ]  # fmt: skip
    lines = [f"Camera {camera.name}", *(f"  {name:13} {text}" for name, text in rows)]
    lines += [f"  {'':13} {''.join('■' if count else '·' for count in row)}" for row in kept.fields]
    lines += [f"  left out      {name}: {reason}" for name, reason in kept.left_out]
    if kept.unseen:
        edges = " and ".join(kept.unseen)
        lines.append(f"  advice        no photo has the target at the {edges} edge of the picture")
    lines.append(f"  kept in       {kept.file}")
    if kept.before:
        lines.append(f"  replaced      the one before, now {kept.before}")
    if kept.by_itself:
        lines.append("Photos by this camera at this setting are measured with it from now on.")
    else:
        lines.append(
            "The photos do not say which camera took them: "
            f"use it with 'seamnote measure --camera {camera.name}'."
        )
    return lines
