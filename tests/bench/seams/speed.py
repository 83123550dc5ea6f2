"""Time and memory of measuring one plain photo at growing numbers of pixels."""

from __future__ import annotations

import json
import subprocess
import sys
from dataclasses import replace
from pathlib import Path
from typing import Any

from tests.bench.seams.sampler import scene
from tests.bench.seams.shelf import put

MEGAPIXELS = (3.0, 6.0, 12.0)

# The first photo warms the process. Not ru_maxrss, which a child starts with at its parent's size.
_ALONE = """
import json, sys, time
from pathlib import Path
from recorder.photo.image.conditions import Conditions
from recorder.photo.measure import measure
told = json.loads(sys.argv[2])
conditions = Conditions(**told)
measure(Path(sys.argv[1]), conditions)
taken = []
for _ in range(3):
    begin = time.perf_counter()
    status = measure(Path(sys.argv[1]), conditions).status
    taken.append(time.perf_counter() - begin)
peak = Path("/proc/self/status").read_text().split("VmHWM:")[1].split()[0]
print(json.dumps({"seconds": min(taken), "peak_mb": int(peak) / 1024, "status": status}))
"""


def rows(folder: Path) -> list[dict[str, Any]]:
    """For each size megapixels, seconds (best of three, warm), peak_mb and status.

    Every photo is measured in a process of its own, so that each has its own peak.
    """
    plain = scene("development", 0, "no_exif")
    camera = plain.camera
    told = []
    for megapixels in MEGAPIXELS:
        factor = (megapixels * 1e6 / camera.width / camera.height) ** 0.5
        sized = replace(
            camera,
            width=round(camera.width * factor / 8) * 8,
            height=round(camera.height * factor / 8) * 8,
            focal_px=camera.focal_px * factor,
        )
        record = put(replace(plain, name=f"speed-{megapixels:g}", camera=sized), folder)
        conditions = {**record["conditions"], "limits": ()}
        command = [sys.executable, "-c", _ALONE, str(folder / f"{record['name']}.jpg")]
        done = subprocess.run(
            [*command, json.dumps(conditions)], capture_output=True, text=True, check=True
        )
        told.append({"megapixels": record["megapixels"], **json.loads(done.stdout)})
    return told
