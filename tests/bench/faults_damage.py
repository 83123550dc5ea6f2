"""Files of a home that something else has damaged: each is told, and the rest stays usable."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

from recorder.archive.disk.home import Home
from recorder.archive.jobs.folders import job_folders
from tests.bench.faults_disk import one_line
from tests.bench.faults_home import NUMBER, Material
from tests.bench.faults_run import run

SAID = "larkfield"  # a word of every job


def _half(path: Path) -> None:
    content = path.read_bytes()
    path.write_bytes(content[: len(content) // 2])


def _one_byte(path: Path) -> None:
    content = bytearray(path.read_bytes())
    content[len(content) // 2] ^= 1
    path.write_bytes(content)


def _empty(path: Path) -> None:
    path.write_bytes(b"")


def _another_value(path: Path) -> None:
    path.write_text(path.read_text().replace("Larkfield", "Quarkfield", 1))


def _gone(path: Path) -> None:
    path.unlink()


def _without_a_line(path: Path) -> None:
    lines = path.read_bytes().splitlines(keepends=True)
    path.write_bytes(b"".join(lines[:1] + lines[2:]))


def _zeros(path: Path) -> None:
    path.write_bytes(bytes(path.stat().st_size))


class Damage(NamedTuple):
    """file: pattern in the folder of one job, or in the home. harm: what is done to it. seen:
    whether ``archive check`` must tell of it.
    """

    file: str
    harm: Callable[[Path], None]
    seen: bool = True


OF_A_JOB = (
    *(
        Damage("job.json", harm)
        for harm in (_half, _one_byte, _empty, _another_value, _gone, _zeros)
    ),
    *(Damage("media/*.wav", harm) for harm in (_half, _one_byte, _empty, _gone)),
    *(
        Damage("events.jsonl", harm)
        for harm in (_half, _one_byte, _empty, _another_value, _gone, _without_a_line, _zeros)
    ),
    *(Damage("reports/*.pdf", harm) for harm in (_half, _one_byte, _gone)),
    *(Damage("reports/*.json", harm) for harm in (_half, _gone)),
)
OF_THE_INDEX = (
    *(Damage("index.sqlite", harm) for harm in (_half, _zeros)),
    # Missing or empty is not damaged: the index is made anew. One byte may lie where nothing is.
    *(Damage("index.sqlite", harm, seen=False) for harm in (_one_byte, _empty, _gone)),
)


def damage(material: Material) -> list[str]:
    """One file of one job damaged at a time, then the index."""
    found: list[str] = []
    for case in OF_A_JOB:
        home = material.copy(material.after)
        folder = _folder(home)
        path = next(iter(sorted(folder.glob(case.file))))
        case.harm(path)
        told = f"{case.file} {case.harm.__name__[1:]}"
        found += [f"{told}: {line}" for line in _told(home, path, case)]
        reporting = case.harm is _half  # which takes longest, so for one harm of each file
        found += [f"{told}: {line}" for line in rest_usable(home, folder.name, reporting)]
        path.unlink(missing_ok=True)
    for case in OF_THE_INDEX:
        home = material.copy(material.after)
        path = home / case.file
        case.harm(path)
        told = f"{case.file} {case.harm.__name__[1:]}"
        found += [f"{told}: {line}" for line in _told(home, path, case)]
        found += [f"{told}: {line}" for line in _mended_by_rebuild(home)]
    print(f"  damage: {len(OF_A_JOB) + len(OF_THE_INDEX)} cases", flush=True)
    return found


def _folder(home: Path) -> Path:
    """Of the job that was processed and reported: the last."""
    return job_folders(Home(home))[-1].path


def _told(home: Path, path: Path, case: Damage) -> list[str]:
    checked = run(["archive", "check"], home)
    found = one_line(checked)
    words = " ".join(checked.shown.replace("\r", "\n").split())
    if case.seen and checked.code == 0:
        found.append("archive check finds nothing")
    # The path of the file, or of the folder with the name of the file behind it.
    elif case.seen and str(path) not in words and not (
        str(path.parent) in words and path.name in words
    ):  # fmt: skip
        found.append(f"archive check does not name the file: {checked.last_line()}")
    return found


def rest_usable(home: Path, bad: str, reporting: bool) -> list[str]:
    """The other jobs are found, shown, and with ``reporting`` reported."""
    found: list[str] = []
    others = [folder.id for folder in job_folders(Home(home)) if folder.id != bad]
    searched = run(["search", SAID], home)
    found += [f"search: {line}" for line in one_line(searched)]
    found += [f"search does not find {job}" for job in others if job not in searched.out]
    for command in ("show", "report")[: 2 if reporting else 1]:
        ran = run([command, others[0]], home)
        found += [f"{command}: {line}" for line in one_line(ran)]
        if ran.code not in (0, 4):
            found.append(f"{command} of another job: {ran.code} {ran.last_line()}")
    return found


def _mended_by_rebuild(home: Path) -> list[str]:
    found = one_line(run(["search", SAID], home))
    for arguments in (["archive", "rebuild"], ["archive", "check"], ["search", SAID]):
        ran = run(arguments, home)
        if ran.code != 0:
            found.append(f"{' '.join(arguments)}: {ran.code} {ran.last_line()}")
    return found if NUMBER in ran.out else [*found, "the job is not found afterwards"]
