"""Jobs of another device: whole or merged, never twice, never half, and nothing hostile."""

import json
import os
import re
import shutil
import signal
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path

import pytest

from recorder.archive.disk.home import Home
from recorder.archive.index.index import Index
from recorder.archive.jobs import events, reports
from recorder.archive.jobs.arriving import fill
from recorder.archive.jobs.changes import began
from recorder.archive.jobs.folder import JobFolder
from recorder.archive.jobs.folders import job_folders
from recorder.archive.jobs.record import dump
from recorder.archive.sharing.merge import Merged, State, merge
from recorder.archive.sharing.taking import Here
from recorder.cli import main
from recorder.errors import BadPackage, FileMissing, InputRefused, OutputUnwritable
from recorder.flows import archive, backup, confirm
from recorder.flows.imported import Imported
from recorder.flows.importing import import_from
from recorder.model.event import What
from recorder.model.job import Job, Removal, to_confirm
from recorder.model.reading import Reading, Standing
from tests.archive.finding.asking import search
from tests.archive.sample_jobs import NOW, add_job, reading
from tests.flows.quiet import Quiet


@pytest.fixture
def ours(tmp_path: Path) -> Home:
    return Home.open(tmp_path / "ours")


@pytest.fixture
def job(ours: Home, tmp_path: Path) -> Job:
    return add_job(ours, tmp_path / "card")


@pytest.fixture
def theirs(ours: Home, job: Job, tmp_path: Path) -> Home:
    """Another device that has the same job."""
    shutil.copytree(ours.root, tmp_path / "theirs")
    return Home.open(tmp_path / "theirs")


@pytest.fixture
def empty(tmp_path: Path) -> Home:
    return Home.open(tmp_path / "empty")


def take_in(home: Home, source: Path, originals: Path | None = None) -> list[Imported]:
    return list(import_from(home, source, originals, False, Quiet()))


def folder_in(home: Home, job: Job) -> JobFolder:
    return JobFolder(home.jobs / job.id)


def add(home: Home, job: Job, *new: Reading) -> None:
    folder_in(home, job).update(
        lambda known: known.model_copy(update={"readings": (*known.readings, *new)})
    )


def answer(home: Home, job: Job, text: str) -> None:
    """A person's answer to the question about the bottom platen."""
    (doubt,) = to_confirm(folder_in(home, job).load())
    confirm.keep(home, folder_in(home, job), confirm.replace(doubt, text))


def tree(folder: Path) -> dict[str, tuple[bytes, int]]:
    return {
        path.relative_to(folder).as_posix(): (path.read_bytes(), path.stat().st_mtime_ns)
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


def contents(folder: Path) -> dict[str, bytes]:
    return {name: content for name, (content, _) in tree(folder).items()}


def healthy(home: Home) -> bool:
    chained = all(folder.record_faults() == () for folder in job_folders(home))
    return chained and archive.check(home, Quiet()).faults == ()


def test_a_job_that_is_not_here_comes_whole_and_byte_for_byte(
    ours: Home, job: Job, empty: Home
) -> None:
    source = folder_in(ours, job).path
    (source / "derived" / "after_measured.jpg").write_bytes(b"picture")
    before = tree(ours.root)
    (done,) = take_in(empty, ours.root)
    assert (done.outcome, done.job, done.elsewhere, done.left) == ("restored", job.id, (), ())
    there = tree(empty.jobs / job.id)
    assert contents(empty.jobs / job.id) == contents(source)
    kept = [media.path for media in job.media] + ["derived/after_measured.jpg"]
    assert all(there[name] == tree(source)[name] for name in kept)
    assert tree(ours.root) == before  # it may be on a stick that cannot be written
    assert healthy(empty)
    with Index.open(empty) as index:
        assert [hit.id for hit in search(index, "larkfield")] == [job.id]
    before = tree(empty.jobs)
    assert [done.outcome for done in take_in(empty, source)] == ["already here"]
    assert tree(empty.jobs) == before


def test_two_devices_that_corrected_the_same_job_come_to_the_same(
    ours: Home, theirs: Home, job: Job
) -> None:
    answer(ours, job, "165")
    answer(theirs, job, "170")
    add(theirs, job, reading("press", "P2", standing=Standing.CONFIRMED))
    their_chain = folder_in(theirs, job).events.read_bytes()
    (done,) = take_in(ours, theirs.root)
    assert (done.outcome, done.readings, done.questions) == ("merged", 2, 1)
    here = folder_in(ours, job)
    (doubt,) = to_confirm(here.load())
    assert {doubt.value, *doubt.candidates} == {165.0, 170.0}
    event = events.read(here.events).events[-1]
    assert event.what is What.MERGED
    kept = here.path / "merged" / f"{event.data['chain']}.jsonl"
    assert kept.read_bytes() == their_chain
    assert healthy(ours)
    (back,) = take_in(theirs, ours.root)
    assert (back.outcome, back.questions) == ("merged", 1)
    assert folder_in(theirs, job).load().readings == here.load().readings
    before = tree(ours.jobs), tree(theirs.jobs)
    assert take_in(ours, theirs.root)[0].outcome == take_in(theirs, ours.root)[0].outcome
    assert (tree(ours.jobs), tree(theirs.jobs)) == before
    kept.write_bytes(their_chain[:-2])
    assert str(kept) in here.record_faults()[0]


def test_three_devices_pass_their_readings_on(
    ours: Home, theirs: Home, job: Job, tmp_path: Path
) -> None:
    shutil.copytree(ours.root, tmp_path / "third")
    third = Home.open(tmp_path / "third")
    for home, press in ((ours, "P1"), (theirs, "P2"), (third, "P3")):
        add(home, job, reading("press", press, standing=Standing.CONFIRMED))
    take_in(theirs, third.root)
    take_in(ours, theirs.root)
    values = [r.value for r in folder_in(ours, job).load().readings if r.field == "press"]
    assert values[:3] == ["P1", "P2", "P3"]  # of the second merge by what the first one kept
    assert len(list((ours.jobs / job.id / "merged").iterdir())) == 2
    assert take_in(ours, third.root)[0].outcome == "already here"
    for home, source in ((theirs, ours), (third, ours), (ours, third), (theirs, third)):
        take_in(home, source.root)
    of_all = [folder_in(home, job).load().readings for home in (ours, theirs, third)]
    assert of_all[0] == of_all[1] == of_all[2]
    assert all(healthy(home) for home in (ours, theirs, third))


def test_a_package_is_a_source_like_a_home(
    ours: Home, theirs: Home, job: Job, empty: Home, tmp_path: Path
) -> None:
    add(theirs, job, reading("press", "P2"))
    add_job(theirs, tmp_path / "second card", NOW + timedelta(hours=1))
    file = tmp_path / "theirs.zip"
    backup.backup(theirs, file, keys=True, replace=False, progress=Quiet())
    assert [done.outcome for done in take_in(ours, file)] == ["merged", "restored"]
    assert [done.outcome for done in take_in(ours, file)] == ["already here"] * 2
    assert [done.outcome for done in take_in(empty, file)] == ["restored"] * 2
    assert healthy(ours)
    assert healthy(empty)
    for folder in job_folders(theirs):
        assert contents(empty.jobs / folder.id) == contents(folder.path)
    assert not (empty.root / "settings.toml").exists()
    whole = file.read_bytes()
    file.write_bytes(whole[:-100])
    with pytest.raises(BadPackage):
        take_in(empty, file)
    file.write_bytes(whole.replace(b"sound 2026-11-25T20", b"sound 2036-11-25T20", 1))
    shutil.rmtree(empty.jobs)
    damaged, sound = take_in(Home.open(empty.root), file)
    assert (damaged.elsewhere, sound.elsewhere) == (("narration.flac",), ())
    assert damaged.left == (job.media[0].path,)


def test_an_original_that_is_damaged_there_stays_there_and_can_come_later(
    ours: Home, job: Job, empty: Home, tmp_path: Path
) -> None:
    sound = ours.jobs / job.id / job.media[0].path
    good = sound.read_bytes()
    sound.write_bytes(good[:-1])
    (done,) = take_in(empty, ours.root)
    assert (done.left, done.elsewhere) == ((job.media[0].path,), ("narration.flac",))
    assert done.needs_person
    looked = archive.check(empty, Quiet())
    assert looked.faults == ()
    assert "1 of its 2 original files are not here" in looked.remarks[0]
    loose = tmp_path / "found again"
    loose.mkdir()
    (loose / "REC1.flac").write_bytes(good)
    (again,) = take_in(empty, empty.jobs / job.id, loose)
    assert (again.outcome, again.brought, again.elsewhere) == (
        "already here", ("narration.flac",), (),
    )  # fmt: skip
    assert (empty.jobs / job.id / job.media[0].path).read_bytes() == good
    looked = archive.check(empty, Quiet())
    assert (looked.faults, looked.remarks) == ((), ())


def test_missing_originals_come_with_the_next_import(
    ours: Home, job: Job, empty: Home, tmp_path: Path
) -> None:
    stick = tmp_path / "stick" / job.id
    shutil.copytree(ours.jobs / job.id, stick)
    for media in job.media:
        (stick / media.path).unlink()
    (done,) = take_in(empty, stick)
    assert (done.outcome, len(done.elsewhere), done.left) == ("restored", 2, ())
    file = tmp_path / "ours.zip"
    backup.backup(ours, file, keys=True, replace=False, progress=Quiet())
    (again,) = take_in(empty, file)
    assert set(again.brought) == {"narration.flac", "after.jpg"}
    assert healthy(empty)


def test_what_was_removed_on_request_is_never_brought_back(
    ours: Home, theirs: Home, job: Job
) -> None:
    removal = Removal(at=NOW, by="Imke Dorn", reason="asked for")

    def without_voice(known: Job) -> Job:
        media = [known.media[0].model_copy(update={"removed": removal}), *known.media[1:]]
        return known.model_copy(update={"media": tuple(media)})

    folder_in(ours, job).update(without_voice)
    ours_sound = ours.jobs / job.id / job.media[0].path
    ours_sound.unlink()
    add(theirs, job, reading("press", "P2"))
    (done,) = take_in(ours, theirs.root)
    assert (done.outcome, done.removed) == ("merged", ())
    assert not ours_sound.exists()
    (back,) = take_in(theirs, ours.root)
    assert (back.removed, back.needs_person) == (("narration.flac",), True)
    assert folder_in(theirs, job).load().media[0].removed == removal
    assert (theirs.jobs / job.id / job.media[0].path).exists()  # a person takes it out


def test_the_same_card_processed_on_two_devices_is_one_job(
    ours: Home, job: Job, empty: Home, tmp_path: Path
) -> None:
    theirs = empty
    files = [tmp_path / "card" / name for name in ("narration.flac", "after.jpg")]
    kinds = [media.kind for media in job.media]
    folder, other = JobFolder.create(theirs, files, kinds, NOW + timedelta(minutes=20))
    understood = job.model_copy(update={"id": other.id, "created_at": other.created_at})
    folder.save(understood)
    assert other.id != job.id
    (done,) = take_in(ours, theirs.root)
    assert (done.outcome, done.job, done.also, done.readings) == ("merged", job.id, other.id, 0)
    assert events.read(folder_in(ours, job).events).events[-1].data["job"] == other.id
    (again,) = take_in(ours, theirs.root)
    assert (again.outcome, again.also) == ("already here", other.id)
    folder.update(
        lambda known: known.model_copy(
            update={"readings": (*known.readings, reading("press", "P2"))}
        )
    )
    assert take_in(ours, theirs.root)[0].readings == 1
    assert [each.name for each in ours.jobs.iterdir() if each.name[0] != "."] == [job.id]
    assert healthy(ours)


def test_reports_come_along_once(ours: Home, theirs: Home, job: Job) -> None:
    folder = folder_in(theirs, job)
    for number in range(2):
        reports.keep_report(
            folder, "4817", b"%PDF " + str(number).encode(), written_at=NOW, signer="Imke Dorn",
            signatures=1, document_digest="", variant="full",
        )  # fmt: skip
    (done,) = take_in(ours, theirs.root)
    assert (done.outcome, done.reports) == ("report added", 2)
    assert [record.path for record in reports.reports(folder_in(ours, job))] == [
        "reports/4817.pdf", "reports/4817-2.pdf",
    ]  # fmt: skip
    assert take_in(ours, theirs.root)[0].outcome == "already here"
    assert healthy(ours)
    (folder.reports / "4817.pdf").write_bytes(b"%PDF forged")
    (folder_in(ours, job).reports / "4817.pdf").unlink()
    (folder_in(ours, job).reports / "4817.json").unlink()
    assert take_in(ours, theirs.root)[0].reports == 0


def hurt_line(folder: Path) -> None:
    path = folder / "events.jsonl"
    path.write_bytes(path.read_bytes().replace(b"Larkfield", b"Larkfeild"))


def hurt_record(folder: Path) -> None:
    path = folder / "job.json"
    path.write_bytes(path.read_bytes().replace(b"Larkfield", b"Larkfeild"))


def cut_record(folder: Path) -> None:
    path = folder / "job.json"
    path.write_bytes(path.read_bytes()[:2000])


def no_events(folder: Path) -> None:
    (folder / "events.jsonl").unlink()


def record_is_a_link(folder: Path) -> None:
    (folder / "job.json").rename(folder.parent / "elsewhere.json")
    (folder / "job.json").symlink_to(folder.parent / "elsewhere.json")


def path_leads_out(folder: Path) -> None:
    path = folder / "job.json"
    values = json.loads(path.read_text())
    values["media"][0]["path"] = "../../../identity/signer.p12"
    path.write_text(json.dumps(values))


def id_leads_out(folder: Path) -> None:
    path = folder / "job.json"
    path.write_text(json.dumps(json.loads(path.read_text()) | {"id": "../../../x"}))


def digest_is_a_path(folder: Path) -> None:
    path = folder / "job.json"
    values = json.loads(path.read_text())
    values["media"][0]["sha256"] = "../" * 30
    path.write_text(json.dumps(values))


def end_of_the_calendar(folder: Path) -> None:
    path = folder / "job.json"
    values = {"created_at": "9999-12-31T23:59:59-14:00"}
    path.write_text(json.dumps(json.loads(path.read_text()) | values))


def splice_beyond_counting(folder: Path) -> None:
    path = folder / "job.json"
    values = json.loads(path.read_text())
    values["readings"][-2]["splice"] = 10**30
    path.write_text(json.dumps(values))


def deep_json(folder: Path) -> None:
    (folder / "job.json").write_text("[" * 100_000)


def of_another_program(folder: Path) -> None:
    path = folder / "job.json"
    path.write_text(json.dumps(json.loads(path.read_text()) | {"schema_version": 99}))


@pytest.mark.parametrize(
    ("damage", "words"),
    [
        (hurt_line, r"events\.jsonl, line \d+: its hash"),
        (hurt_record, "not the record that the last event left"),
        (cut_record, r"job\.json"),
        (no_events, r"events\.jsonl is missing"),
        (record_is_a_link, r"no job\.json"),
        (path_leads_out, "is no place in a job folder"),
        (id_leads_out, "cannot be the id of a job"),
        (digest_is_a_path, "a SHA-256 in it is none"),
        (end_of_the_calendar, "year 9999"),
        (splice_beyond_counting, r"splice: .* less than or equal to 999"),
        (deep_json, r"job\.json"),
        (of_another_program, "update Seamnote"),
    ],
)
def test_what_is_damaged_or_hostile_is_refused_and_the_rest_goes_on(
    ours: Home, job: Job, empty: Home, tmp_path: Path, damage: object, words: str
) -> None:
    assert callable(damage)
    second = add_job(ours, tmp_path / "second card", NOW + timedelta(hours=1))
    damage(ours.jobs / job.id)
    outside = tree(tmp_path / "ours")
    refused, taken = take_in(empty, ours.root)
    assert (refused.outcome, refused.job) == ("refused", job.id)
    assert re.search(words, refused.refused), refused.refused
    assert "\n" not in refused.refused
    assert len(refused.refused) < 500
    assert (taken.outcome, taken.job) == ("restored", second.id)
    assert [path.name for path in empty.jobs.iterdir() if path.name[0] != "."] == [second.id]
    assert tree(tmp_path / "ours") == outside
    assert healthy(empty)


def test_a_damaged_chain_changes_no_job_that_is_here(ours: Home, theirs: Home, job: Job) -> None:
    add(theirs, job, reading("press", "P2"))
    take_in(theirs, ours.root)
    hurt_line(theirs.jobs / job.id)
    before = tree(ours.jobs)
    assert take_in(ours, theirs.root)[0].outcome == "refused"
    assert tree(ours.jobs) == before


def test_a_job_that_has_our_id_and_no_original_of_ours_changes_nothing(
    ours: Home, theirs: Home, job: Job
) -> None:
    there = folder_in(theirs, job)
    bare = job.model_copy(update={"media": (), "readings": (*job.readings, reading("press", "P9"))})
    shutil.rmtree(there.path)
    there.path.mkdir()
    fill(there.path, dump(bare), [began(bare)], NOW)
    before = contents(folder_in(ours, job).path)
    (refused,) = take_in(ours, theirs.root)
    assert "another job has its id here" in refused.refused
    assert contents(folder_in(ours, job).path) == before


def test_links_on_a_stick_are_not_followed(
    ours: Home, job: Job, empty: Home, tmp_path: Path
) -> None:
    secret = tmp_path / "secret.txt"
    secret.write_text("not yours")
    folder = ours.jobs / job.id
    (folder / "derived" / "link.txt").symlink_to(secret)
    (folder / "derived" / "folder").symlink_to(tmp_path)
    (folder / job.media[1].path).unlink()
    (folder / job.media[1].path).symlink_to(secret)
    (ours.jobs / "20261125-000000-aaaa").symlink_to(folder)
    (done,) = take_in(empty, ours.root)
    assert done.elsewhere == ("after.jpg",)
    assert not any(b"not yours" in content for content, _ in tree(empty.root).values())


def test_a_job_in_which_others_write_meanwhile_loses_nothing(
    ours: Home, theirs: Home, job: Job, monkeypatch: pytest.MonkeyPatch
) -> None:
    add(theirs, job, reading("press", "P2"))
    late = [reading("site", "Larkfield, hall 9")]

    def slow(here: State, there: State) -> Merged:
        if late:
            add(ours, job, late.pop())
        return merge(here, there)

    monkeypatch.setattr("recorder.archive.sharing.taking.merge", slow)
    assert take_in(ours, theirs.root)[0].outcome == "merged"
    values = [known.value for known in folder_in(ours, job).load().readings]
    assert {"P2", "Larkfield, hall 9"} <= set(values)
    assert healthy(ours)


def test_a_job_that_another_import_brings_meanwhile_is_merged(
    ours: Home, theirs: Home, job: Job, monkeypatch: pytest.MonkeyPatch
) -> None:
    add(theirs, job, reading("press", "P2"))
    monkeypatch.setattr(Here, "folder_of", lambda *_: None)  # it was not here a moment ago
    (done,) = take_in(ours, theirs.root)
    assert (done.outcome, done.readings) == ("merged", 1)
    assert healthy(ours)


def test_an_import_that_fails_half_way_is_done_by_the_next(
    ours: Home, theirs: Home, job: Job, monkeypatch: pytest.MonkeyPatch
) -> None:
    add(theirs, job, reading("press", "P2"))
    before = folder_in(ours, job).record.read_bytes()

    def full(*_: object, **__: object) -> Job:
        raise OutputUnwritable(path=ours.root, detail="no space left")

    with monkeypatch.context() as patch:
        patch.setattr(JobFolder, "update", full)
        with pytest.raises(OutputUnwritable):
            take_in(ours, theirs.root)
    assert folder_in(ours, job).record.read_bytes() == before
    assert healthy(ours)  # the chain that no event names yet is no fault
    assert take_in(ours, theirs.root)[0].outcome == "merged"
    assert healthy(ours)


def killed_at(deed: int, home: Home, source: Path) -> bool:
    """Import in a child that is killed at its n-th deed on the disk; whether it came so far."""
    child = os.fork()
    if child == 0:
        left = deed

        def before(real: Callable[..., object]) -> Callable[..., object]:
            def counted(*args: object, **options: object) -> object:
                nonlocal left
                left -= 1
                if left == 0:
                    os.kill(os.getpid(), signal.SIGKILL)
                return real(*args, **options)

            return counted

        try:
            for name in ("fsync", "replace", "rename", "unlink", "mkdir"):
                setattr(os, name, before(getattr(os, name)))
            take_in(home, source)
        finally:
            os._exit(0)
    return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) == -signal.SIGKILL


def test_a_killed_import_loses_nothing_and_the_next_one_ends_alike(
    ours: Home, theirs: Home, job: Job, tmp_path: Path
) -> None:
    add(ours, job, reading("press", "P1"))
    add(theirs, job, reading("press", "P2"))
    reports.keep_report(
        folder_in(theirs, job), "4817", b"%PDF", written_at=NOW, signer="Imke Dorn",
        signatures=1, document_digest="", variant="full",
    )  # fmt: skip
    before = folder_in(ours, job).load().readings
    for deed in range(2, 30, 3):  # further on is the index alone
        home = Home.open(tmp_path / f"killed at {deed}")
        shutil.copytree(ours.jobs, home.jobs, dirs_exist_ok=True)
        assert killed_at(deed, home, theirs.root)
        folder = folder_in(home, job)
        assert set(before) <= set(folder.load().readings)
        assert folder.record_faults() == ()
        take_in(home, theirs.root)
        values = [known.value for known in folder.load().readings if known.field == "press"]
        assert values[:2] == ["P1", "P2"]
        assert [report.path for report in reports.reports(folder)] == ["reports/4817.pdf"]
        assert healthy(home)


def test_what_is_no_source_is_refused(empty: Home, tmp_path: Path) -> None:
    with pytest.raises(FileMissing):
        take_in(empty, tmp_path / "nowhere")
    (tmp_path / "folder" / "of photos").mkdir(parents=True)
    with pytest.raises(InputRefused, match="neither a home nor the folder of a job"):
        take_in(empty, tmp_path / "folder")
    (tmp_path / "notes.txt").write_text("hello")
    with pytest.raises(InputRefused):
        take_in(empty, tmp_path / "notes.txt")
    with pytest.raises(InputRefused, match="no jobs in it"):
        take_in(empty, empty.root)


def test_the_command_says_what_became_of_each_job(
    ours: Home, theirs: Home, job: Job, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    answer(ours, job, "165")
    answer(theirs, job, "170")
    second = add_job(theirs, tmp_path / "second card", NOW + timedelta(hours=1))
    third = add_job(theirs, tmp_path / "third card", NOW + timedelta(hours=2))
    hurt_line(theirs.jobs / third.id)
    command = ["archive", "import", "--home", str(ours.root), str(theirs.root)]
    assert main(command) == 3
    told = capsys.readouterr()
    assert told.out.splitlines() == [
        f"merged       4817, Larkfield Bakery   [{job.id}], 1 reading new, 1 question",
        f"restored     4817, Larkfield Bakery   [{second.id}]",
    ]
    waits, refused = told.err.splitlines()
    assert f"seamnote confirm {job.id}" in waits
    assert f"job {third.id} in " in refused
    assert main([*command, "--json"]) == 3
    lines = [json.loads(line) for line in capsys.readouterr().out.splitlines()]
    assert [line["outcome"] for line in lines] == ["already here", "already here", "refused"]
    shutil.rmtree(theirs.jobs / third.id)
    assert main(command) == 0
    add(theirs, job, reading("press", "P2"))
    assert main(command) == 0


def test_names_of_a_stranger_steer_no_terminal(
    ours: Home, empty: Home, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    customer = reading("customer", "Larkfield\x1b[2J\nBakery")
    add_job(ours, tmp_path / "card", readings=(customer,))
    assert main(["archive", "import", "--home", str(empty.root), str(ours.root)]) == 0
    told = capsys.readouterr().out
    assert "\x1b" not in told
    assert told.count("\n") == 1


@pytest.mark.parametrize("version", [1, 2])
def test_jobs_of_older_programs_come_in_and_are_merged(
    ours: Home, theirs: Home, job: Job, empty: Home, version: int
) -> None:
    for home, press in ((ours, "P1"), (theirs, "P2")):
        folder = folder_in(home, job)
        values = json.loads(folder.record.read_bytes()) | {"schema_version": version}
        values["readings"].append(reading("press", press).model_dump(mode="json"))
        for media in values["media"]:
            media.pop("removed")
        folder.record.write_text(json.dumps(values))
        folder.events.unlink()
    assert take_in(empty, ours.root)[0].outcome == "restored"
    assert healthy(empty)
    (done,) = take_in(empty, theirs.root)
    assert (done.outcome, done.readings, done.questions) == ("merged", 1, 1)
    take_in(theirs, ours.root)
    assert folder_in(theirs, job).load().readings == folder_in(empty, job).load().readings
    whats = [event.what for event in events.read(folder_in(empty, job).events).events]
    assert whats == [What.ADOPTED, What.MERGED]
    assert healthy(empty)


def test_what_both_have_not_finished_is_not_merged(
    ours: Home, theirs: Home, job: Job, empty: Home
) -> None:
    for home in (ours, theirs):
        folder_in(home, job).update(lambda known: known.model_copy(update={"complete": False}))
    add(theirs, job, reading("press", "P2"))
    (done,) = take_in(ours, theirs.root)
    assert "interrupted before" in done.refused
    assert take_in(empty, theirs.root)[0].outcome == "restored"  # to be finished here
    folder_in(theirs, job).update(lambda known: known.model_copy(update={"complete": True}))
    assert take_in(ours, theirs.root)[0].outcome == "merged"
    assert folder_in(ours, job).load().complete


def test_a_record_that_others_changed_here_is_not_merged_into(
    ours: Home, theirs: Home, job: Job
) -> None:
    add(theirs, job, reading("press", "P2"))
    hurt_record(ours.jobs / job.id)
    folder = folder_in(ours, job)
    before = folder.record.read_bytes(), folder.events.read_bytes()
    (done,) = take_in(ours, theirs.root)
    assert "archive adopt" in done.refused
    assert (folder.record.read_bytes(), folder.events.read_bytes()) == before
