"""How well photos are measured, on scenes drawn apart from the estimator.

    python -m tests.bench.photo --set development --scenes FOLDER

Prints each target of the photo work with its figure, and in full every error beyond 2 U, wrong
decision, and measured photo that nobody could judge. Tune on the development set alone.
"""

from __future__ import annotations

import argparse
import json
import multiprocessing
import sys
import tempfile
import time
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np

from recorder.model.camera import Camera
from recorder.model.measurement import Limit
from recorder.photo.image.conditions import Conditions
from recorder.photo.measure import measure
from tests.bench.seams.lens import calibrated
from tests.bench.seams.render import to_world
from tests.bench.seams.sampler import FACTORS, REFUSED, SEEDS, scene
from tests.bench.seams.scene import Scene
from tests.bench.seams.scoring import Outcome, targets
from tests.bench.seams.shelf import put
from tests.bench.seams.speed import rows

COUNT = {"development": 80, "report": 200}


def main() -> int:
    asked = _arguments()
    with tempfile.TemporaryDirectory() as passing:
        folder = asked.scenes or Path(passing)
        folder.mkdir(parents=True, exist_ok=True)
        tasks = [
            (asked.set, number, factor, folder, asked.render_only)
            for factor in (asked.only or [None])
            for number in range(asked.first, asked.first + asked.count)
        ]
        outcomes = list(_worked(tasks, asked.jobs))
        speed = [] if asked.render_only or not asked.speed else _speed(folder)
    if asked.render_only:
        return 0
    _print(outcomes, speed, details=asked.details)
    if asked.json:
        asked.json.write_text(json.dumps(_told(outcomes, speed), indent=1) + "\n", encoding="utf-8")
    return 0


def _arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser(
        prog="python -m tests.bench.photo",
        description=__doc__,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    add = parser.add_argument
    add("--set", choices=sorted(SEEDS), default="development")
    add("--count", type=int, help="scenes (of each --only); default 80 or 200, with --only 12")
    add("--first", type=int, default=0, help="number of the first scene")
    add("--only", action="append", choices=sorted({**FACTORS, **REFUSED}), metavar="FACTOR",
        help="the suite of one factor on otherwise plain photos; may be repeated. One of: "
        + ", ".join((*FACTORS, *REFUSED)))  # fmt: skip
    add("--scenes", type=Path, help="folder that keeps pictures and truth: a re-run only measures")
    add("--render-only", action="store_true", help="fill --scenes and measure nothing")
    add("--json", type=Path, help="write every scene's outcome there")
    add("--jobs", type=int, default=2, help="processes (default: %(default)s)")
    add("--details", action="store_true", help="also a line for each error beyond U and refusal")
    add("--speed", action="store_true", help="also time and peak memory, up to 12 MP")
    asked = parser.parse_args()
    if asked.count is None:
        asked.count = 12 if asked.only else COUNT[asked.set]
    if asked.render_only and not asked.scenes:
        parser.error("--render-only needs --scenes")
    return asked


Task = tuple[str, int, str | None, Path, bool]


def _worked(tasks: list[Task], jobs: int) -> Iterator[Outcome]:
    """Outcomes in the order of the tasks, progress on stderr."""
    with multiprocessing.get_context("spawn").Pool(jobs) as pool:
        for done, outcome in enumerate(pool.imap(_work, tasks), 1):
            note = outcome.failure or (outcome.measured.status if outcome.measured else "rendered")
            print(
                f"{done}/{len(tasks)} {outcome.record['name']} {note}", file=sys.stderr, flush=True
            )
            yield outcome


def _work(task: Task) -> Outcome:
    name, number, factor, folder, render_only = task
    drawn = scene(name, number, factor)
    record = put(drawn, folder)
    if render_only:
        return Outcome(record, None, 0.0)
    outcome = measured(record, folder, *calibrated(drawn))
    return replace(outcome, placed=_placed(outcome, drawn))


def _placed(outcome: Outcome, drawn: Scene) -> bool | None:
    """Whether the seam gapes about as widely where its largest gap was told, as anywhere."""
    told = outcome.measured
    if told is None or told.gap_max is None or told.gap_max_at is None or told.gap_max.below:
        return None
    true = outcome.record["truth"]
    if true is None:
        return None
    profile = np.array(true["profile"])
    world = to_world(drawn, profile[:, :2])
    heights = np.full((len(world), 1), max(drawn.belt.heights))
    seen = drawn.camera.project(np.hstack([world, heights]))
    away = np.hypot(*(seen - told.gap_max_at.px).T)
    near = away < 3 * true["scale_px_per_mm"]
    return bool(near.any() and profile[near, 2].max() >= true["gap_max"] - 0.05 - told.gap_max.U)


def measured(
    record: dict[str, Any], folder: Path, camera: Camera | None, wrong_lens: bool
) -> Outcome:
    """Measure one picture of the folder under the conditions of its record."""
    told = record["conditions"]
    record["calibrated"] = camera is not None
    if wrong_lens:
        record["factors"].append("wrong_lens")
        record["verdict"] = record["verdict"].replace("good", "degraded")
    limits = tuple(Limit(name=name, low=low, high=high) for name, low, high in told["limits"])
    scale = tuple(told["print_scale"]) if told["print_scale"] else None
    conditions = Conditions(
        card_on=told["card_on"],
        belt_thickness_mm=told["belt_thickness_mm"],
        print_scale=scale,
        camera=camera,
        limits=limits,
    )
    begin = time.perf_counter()
    try:
        result = measure(folder / f"{record['name']}.jpg", conditions)
    except Exception as error:  # any failure is an outcome of the bench, to be listed
        failure = f"{type(error).__name__}: {error}"
        return Outcome(record, None, time.perf_counter() - begin, failure)
    return Outcome(record, result, time.perf_counter() - begin)


def _print(outcomes: list[Outcome], speed: list[dict[str, Any]], *, details: bool) -> None:
    verdicts = [o.record["verdict"] for o in outcomes]
    print(f"{len(outcomes)} scenes: " + ", ".join(
        f"{verdicts.count(v)} {v}" for v in ("good", "degraded", "unjudgeable")))  # fmt: skip
    for target in targets(outcomes):
        met = {True: "met", False: "NOT MET", None: "nothing to judge"}[target.met]
        print(f"  {target.name:66} {target.figure:>12}  {met}")
    for row in speed:
        figures = f"{row['seconds']:.2f} s warm, peak {row['peak_mb']:.0f} MB"
        print(f"  {row['megapixels']:.1f} MP ({row['status']}): {figures}")
    if speed:
        _print_speed(speed)
    if details:
        _print_factors([o for o in outcomes if o.judgeable])
    for outcome in outcomes:
        for line in _remarks(outcome, details=details):
            factors = ", ".join(outcome.record["factors"])
            print(f"  {outcome.record['name']} ({outcome.record['verdict']}): {line} [{factors}]")


def _print_factors(outcomes: list[Outcome]) -> None:
    """For each factor: photos that have it, undecided ones, errors within U, mean U of the gap."""
    print(f"  {'factor':14} {'photos':>6} {'undecided':>9} {'within U':>8} {'U gap':>8}")
    for factor in (*FACTORS, "wrong_lens"):
        here = [o for o in outcomes if factor in o.record["factors"]]
        errors = [e for o in here for e in o.errors()]
        if not here:
            continue
        undecided = sum(o.undecided for o in here)
        covered = f"{100 * np.mean([e.covered for e in errors]):.1f} %" if errors else "-"
        spread = [e.U for e in errors if e.quantity == "gap_max" and not e.below]
        gap = f"{np.mean(spread):.3f} mm" if spread else "-"
        print(f"  {factor:14} {len(here):6} {undecided:9} {covered:>8} {gap:>8}")


def _print_speed(speed: list[dict[str, Any]]) -> None:
    """The targets on time and memory: the largest photo, and its growth over the smallest."""
    small, large = speed[0], speed[-1]
    growth = large["seconds"] / small["seconds"] * small["megapixels"] / large["megapixels"]
    for name, figure, most in (
        (f"{large['megapixels']:.0f} MP, seconds warm", large["seconds"], 2.5),
        (f"{large['megapixels']:.0f} MP, peak MB", large["peak_mb"], 700.0),
        ("time a pixel, largest over smallest", growth, 1.1),
    ):
        met = "met" if figure <= most else "NOT MET"
        print(f"  {f'{name} <= {most:g}':66} {figure:>12.2f}  {met}")


def _remarks(outcome: Outcome, *, details: bool) -> Iterator[str]:
    """What is to be listed of one scene, the worst first."""
    if outcome.failure:
        yield f"FAILED {outcome.failure}"
    if not outcome.judgeable:
        if outcome.answered:
            yield "MEASURED though nobody could judge it"
        return
    if details and outcome.placed is False and outcome.measured and outcome.measured.gap_max_at:
        yield f"the largest gap is not at {outcome.measured.gap_max_at}"
    for name in outcome.wrong_decisions():
        yield f"WRONG DECISION on {name}, {outcome.expected()[name]} is right"
    for error in outcome.errors():
        if error.far or (details and not error.covered):
            word = "BEYOND 2 U" if error.far else "beyond U"
            bound = "below " if error.below else ""
            yield (f"{word} {error.quantity}: {bound}{error.value:.3f}, truth {error.true:.3f}, "
                   f"error {error.error:+.3f}, U {error.U:.3f}")  # fmt: skip
    if details and outcome.refused and outcome.measured:
        yield f"refused: {outcome.measured.reason}"
    elif details and outcome.answered and outcome.undecided and outcome.measured:
        yield f"undecided: {', '.join(f'{n} {d}' for n, d in outcome.measured.decisions.items())}"


def _told(outcomes: list[Outcome], speed: list[dict[str, Any]]) -> dict[str, Any]:
    return {
        "targets": [{"name": t.name, "figure": t.figure, "met": t.met} for t in targets(outcomes)],
        "speed": speed,
        "scenes": [
            {
                **{
                    key: o.record[key]
                    for key in ("name", "verdict", "factors", "truth", "calibrated")
                },
                "seconds": o.seconds,
                "failure": o.failure,
                "measured": o.measured.model_dump(mode="json") if o.measured else None,
                "errors": [
                    {"quantity": e.quantity, "error": e.error, "U": e.U, "below": e.below}
                    for e in o.errors()
                ],
                "wrong_decisions": o.wrong_decisions(),
            }
            for o in outcomes
        ],
    }


def _speed(folder: Path) -> list[dict[str, Any]]:
    print("time and memory", file=sys.stderr, flush=True)
    return rows(folder)


if __name__ == "__main__":
    sys.exit(main())
