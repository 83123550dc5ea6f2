"""Writes the three demo photos and their truth: ``python -m demo_media.make_photos``.

They are rendered by scene.py, NOT photographs. The values are those of the invented demo job.
"""

from __future__ import annotations

import json
from dataclasses import asdict
from pathlib import Path

from demo_media.scene import Belt, Camera, Look, Scene, jpeg, truth

HERE = Path(__file__).resolve().parent

PRINT_SCALE = (1.0012, 0.9990)  # what a caliper on the printed card reads, by its nominal length
_BELT = {"thickness_mm": 2.0, "pitch_mm": 10.0, "finger_mm": 30.0}

SCENES = {
    # splice 1 after pressing: fingers stand open, widest at the fourth
    "photo_1_rejected.jpg": Scene(
        camera=Camera(
            width=2200, height=2800, focal_px=2900, distance_mm=196,
            tilt_x_deg=7, tilt_y_deg=-5, roll_deg=-3.2, aim_mm=(1.5, -1),
        ),
        belt=Belt(
            **_BELT, pressed=True, offset_mm=0.30, skew_deg=0.15, turn_deg=0.8,
            width_mm=70.05, gap_light=0.07,
            gaps_mm=(
                0.30, 0.34, 0.42, (0.45, 0.60), (0.62, 0.78), (0.80, 0.90), (0.90, 0.84),
                (0.80, 0.66), 0.58, 0.50, 0.44, 0.40, 0.34, 0.32,
            ),
        ),
        look=Look(blur_px=0.85, noise=0.006, gradient=0.22, jpeg_quality=90, seed=11),
        print_scale=PRINT_SCALE, card_turn_deg=-0.9, card_shift_mm=(2.0, 1.0),
    ),
    # splice 2 meshed in the template, before pressing
    "photo_2_before.jpg": Scene(
        camera=Camera(
            width=2200, height=2800, focal_px=2900, distance_mm=192,
            tilt_x_deg=-4, tilt_y_deg=6, roll_deg=1.8, aim_mm=(-1, 1),
        ),
        belt=Belt(
            **_BELT, width_mm=70.0, offset_mm=0.22, skew_deg=-0.10, turn_deg=-0.6, gap_light=0.08,
            gaps_mm=(0.24, 0.27, 0.31, 0.28, 0.26, 0.33, 0.35, 0.30, 0.25, 0.28, 0.27, 0.24,
                     0.29, 0.26),
        ),
        look=Look(blur_px=0.80, noise=0.006, gradient=-0.15, jpeg_quality=90, seed=23),
        print_scale=PRINT_SCALE, card_turn_deg=0.7, card_shift_mm=(-1.0, 0.5),
    ),
    # splice 2 after pressing
    "photo_3_accepted.jpg": Scene(
        camera=Camera(
            width=2200, height=2800, focal_px=2900, distance_mm=188,
            tilt_x_deg=3, tilt_y_deg=4, roll_deg=2.6, aim_mm=(0.5, 0),
        ),
        belt=Belt(
            **_BELT, width_mm=70.0, pressed=True, offset_mm=0.18, skew_deg=-0.08, turn_deg=0.4,
            gap_light=0.12,
            gaps_mm=(0.13, 0.14, 0.12, 0.14, 0.15, 0.14, 0.13, 0.15, 0.14, 0.13, 0.12, 0.14,
                     0.13, 0.14),
        ),
        look=Look(blur_px=0.70, noise=0.005, gradient=0.16, jpeg_quality=91, seed=23),
        print_scale=PRINT_SCALE, card_turn_deg=-0.5, card_shift_mm=(0.5, -1.0),
    ),
}  # fmt: skip


def main() -> None:
    record: dict[str, object] = {
        "note": "Truth of the demo photos. They are rendered by scene.py and are not photographs.",
        "conditions": {
            "card_on": "belt",
            "belt_thickness_mm": _BELT["thickness_mm"],
            "print_scale": PRINT_SCALE,
        },
    }
    for name, scene in SCENES.items():
        (HERE / "job" / name).write_bytes(jpeg(scene))
        record[name] = {"truth": truth(scene), "scene": asdict(scene)}
    text = json.dumps(record, indent=1)
    (HERE / "photo_truth.json").write_text(text + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
