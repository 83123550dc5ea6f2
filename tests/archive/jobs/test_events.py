"""Lines of events: what is told of damaged ones, who stands in them, and which a saving makes."""

import getpass
import json
import platform
from pathlib import Path
from typing import Any

import pytest

from recorder import __version__
from recorder.archive.disk.home import Home
from recorder.archive.jobs import events
from recorder.archive.jobs.acting import acting, actor
from recorder.archive.jobs.changes import added, happened
from recorder.archive.jobs.folder import JobFolder
from recorder.errors import JobChanged
from recorder.flows import confirm
from recorder.model.event import Event, What
from recorder.model.job import Job, MediaKind, Removal
from recorder.model.reading import Reading, Role, Standing, Typed
from tests.archive.sample_jobs import NOW, add_job, from_card, media_files, reading


def chained(*batches: int) -> bytes:
    """A file of events: so many in each saving."""
    content = b""
    for number, count in enumerate(batches):
        batch: list[events.Happened] = [(What.CHANGED, {"parts": {"x": n}}) for n in range(count)]
        content += events.lines(events.chain_in(content), batch, f"{number:064x}", NOW)
    return content


def reasons(content: bytes) -> list[str]:
    return [str(fault) for fault in events.chain_in(content).faults]


def test_a_chain_is_read_as_it_was_written() -> None:
    content = chained(1, 3, 2)
    chain = events.chain_in(content)
    assert [event.seq for event in chain.events] == [1, 2, 3, 4, 5, 6]
    assert [event.more for event in chain.events] == [0, 2, 1, 0, 1, 0]
    assert [event.at for event in chain.events] == [NOW] * 6
    assert chain.record == f"{2:064x}"
    assert chain.head == json.loads(content.splitlines()[-1])["hash"]
    assert (chain.faults, chain.torn, chain.whole_bytes) == ((), False, len(content))
    keys = list(json.loads(content.splitlines()[0]))
    assert keys == list(Event.model_fields)


def test_a_line_says_what_is_wrong_with_it() -> None:
    lines = chained(1, 2, 1).splitlines(keepends=True)
    assert reasons(b"".join([lines[0], b"{}\n", *lines[2:]])) == ["line 2: it is not an event"]
    (changed,) = reasons(b"".join([lines[0], lines[1].replace(b'"x":0', b'"x":7'), *lines[2:]]))
    assert changed == "line 2: its hash is not that of its content: it was changed"
    (missing, moved) = reasons(b"".join([lines[0], *lines[2:]]))
    assert missing == "line 2: it is event 3: events were removed, added or moved"
    assert moved.startswith("line 3: ")
    (stray,) = reasons(lines[0] + _first(b"another"))
    assert stray == "line 2: it is event 1: events were removed, added or moved"


def test_faults_of_one_kind_in_adjacent_lines_are_told_once() -> None:
    lines = chained(*[1] * 9).splitlines(keepends=True)
    lines[6] = b"{}\n"
    faults = events.chain_in(b"".join([lines[0], *lines[2:]])).faults
    assert [fault.number for fault in faults] == [2, 3, 4, 5, 6, 7, 8]
    assert events.told(faults) == [
        "line 2: it is event 3: events were removed, added or moved (so too 3 lines behind it)",
        "line 6: it is not an event",
        "line 7: it is event 8: events were removed, added or moved (so too 1 line behind it)",
    ]


def _first(word: bytes) -> bytes:
    return events.lines(events.Chain(), [(What.CHANGED, {"x": word.decode()})], "0" * 64, NOW)


def test_an_event_of_another_chain_does_not_follow() -> None:
    here = chained(1)
    there = events.lines(events.chain_in(_first(b"there")), [(What.CHANGED, {})], "0" * 64, NOW)
    assert reasons(here + there) == ["line 2: it does not follow the event before it"]


def test_a_saving_of_which_the_middle_is_made_up_is_told() -> None:
    lines = chained(3).splitlines(keepends=True)
    chain = events.chain_in(lines[0])
    before = Event.model_validate_json(lines[0])
    half = events.Chain(events=(before,))
    forged = events.lines(half, [(What.CHANGED, {})], "0" * 64, NOW)
    assert (chain.events, chain.torn) == ((), True)
    assert reasons(lines[0] + forged) == [
        "line 2: events that were written along with the one before it are missing"
    ]


def test_what_was_cut_off_is_torn_and_no_fault() -> None:
    content, whole = chained(1, 3), chained(1)
    for end in range(len(whole) + 1, len(content)):
        chain = events.chain_in(content[:end])
        assert (chain.faults, chain.torn, chain.whole_bytes) == ((), True, len(whole))
        assert len(chain.events) == 1


@pytest.mark.parametrize(
    "line",
    [
        b"", b"\xff\xfe", b"[" * 50_000, b"null", b'{"seq":1}',
        b'{"seq":1e999,"hash":"' + b"a" * 64 + b'"}', b'{"a":' * 5000,
        b'{"seq":' + b"9" * 5000 + b',"hash":"' + b"a" * 64 + b'"}',
        b'{"seq":1,"hash":"' + b"a" * 64 + b'"}', "{“seq”:1}".encode(), b"\0" * 100,
    ],
)  # fmt: skip
def test_nonsense_is_a_fault_and_nothing_worse(line: bytes) -> None:
    (told, *_) = reasons(line + b"\n" + chained(2))
    assert told.startswith("line 1: it is not an event")
    assert "\n" not in told


def test_who_is_the_person_of_the_settings_or_of_the_system(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(platform, "node", lambda: "press-van")
    monkeypatch.setattr(getpass, "getuser", lambda: "imke")
    assert actor().model_dump() == {
        "person": "imke", "device": "press-van", "program": f"Seamnote {__version__}",
    }  # fmt: skip
    with acting("Imke Dorn"):
        assert actor().person == "Imke Dorn"
        with acting(lambda: ""):
            assert actor().person == "imke"
        assert actor().person == "Imke Dorn"

    def nobody() -> str:
        raise KeyError("uid not found")

    monkeypatch.setattr(getpass, "getuser", nobody)
    assert actor().person == ""
    with acting("\udcff"):
        assert actor().person == "?"


HEARD = reading("pressure", 2.2, standing=Standing.DOUBTFUL)
YES = confirm.accept(HEARD)
OTHER = confirm.replace(HEARD, "2.4 bar")
TYPED = confirm.enter("press", "P2", 1, 1)
CARD = from_card("customer", "Larkfield Bakery").model_copy(
    update={"standing": Standing.CONFIRMED}
)  # as a job card gives it
BEFORE = {"value": 2.2, "unit": "bar", "standing": "doubtful"}


@pytest.mark.parametrize(
    ("known", "new", "told"),
    [
        ((), (HEARD,), [("heard", None)]),
        ((), (CARD,), [("entered", None)]),
        ((CARD,), (CARD, CARD.model_copy(update={"value": "Crann Salt"})), [("entered", None)]),
        ((HEARD,), (HEARD, YES), [("confirmed", BEFORE)]),
        ((HEARD,), (HEARD, OTHER), [("corrected", BEFORE)]),
        ((HEARD,), (HEARD, TYPED), [("entered", None)]),
        ((), (HEARD, OTHER), [("heard", None), ("corrected", BEFORE)]),
        ((HEARD,), (HEARD, YES.model_copy(update={"splice": 2})), [("heard", None)]),
        ((HEARD,), (HEARD, YES.model_copy(update={"role": Role.ASKED})), [("heard", None)]),
        ((YES,), (HEARD, YES), [("heard", None)]),
        ((YES,), (YES,), []),
    ],
)
def test_each_reading_that_came_in_is_an_event(
    known: tuple[Reading, ...], new: tuple[Reading, ...], told: list[tuple[str, Any]]
) -> None:
    job = Job(id="x", created_at=NOW, version="1", complete=True, readings=known)
    found = happened(job, job.model_copy(update={"readings": new}))
    assert [(what.value, data.get("before")) for what, data in found] == told
    places = added(known, new)
    assert places is not None
    assert [Reading.model_validate(data["reading"]) for _, data in found] == [
        new[place] for place in places
    ]


def test_a_value_that_was_taken_back_is_told_so() -> None:
    job = Job(id="x", created_at=NOW, version="1", readings=(HEARD,))
    back = HEARD.model_copy(update={"standing": Standing.WITHDRAWN, "evidence": Typed(at=NOW)})
    ((what, data),) = happened(job, job.model_copy(update={"readings": (HEARD, back)}))
    assert what is What.WITHDRAWN
    assert Reading.model_validate(data["reading"]) == back


def test_other_parts_are_told_with_their_size() -> None:
    job = Job(id="x", created_at=NOW, version="1")
    done = job.model_copy(update={"complete": True, "readings": (HEARD,)})
    heard, changed = happened(job, done)
    assert heard[0] is What.HEARD
    assert changed == (What.CHANGED, {"parts": {"complete": True}})
    again = done.model_copy(update={"complete": False, "readings": (YES, OTHER)})
    *_, changed = happened(done, again)
    assert changed == (What.CHANGED, {"parts": {"complete": False, "readings": 2}})


def test_readings_may_come_in_between_and_none_may_go(home: Home, source: Path) -> None:
    first, second = HEARD, reading("press", "P1")
    folder = JobFolder(home.jobs / add_job(home, source, readings=(first, second)).id)

    def to(*readings: Reading) -> None:
        folder.update(lambda job: job.model_copy(update={"readings": readings}))

    to(first, YES, second)
    assert folder.load().readings == (first, YES, second)
    for fewer in ((first, second), (first, second, YES), (), (YES, first, second, OTHER)):
        with pytest.raises(JobChanged):
            to(*fewer)
    assert [e.what for e in events.read(folder.events).events][-1] is What.CONFIRMED


def test_a_merge_is_told_by_its_own_event_alone_and_a_removal_first(
    home: Home, source: Path
) -> None:
    folder = JobFolder(home.jobs / add_job(home, source, readings=()).id)
    count = len(events.read(folder.events).events)
    folder.update(
        lambda job: job.model_copy(update={"readings": (HEARD,)}), (What.MERGED, {"readings": []})
    )
    gone = Removal(at=NOW, by="Imke Dorn", reason="asked for")
    removed = (What.REMOVED, {"reason": "asked for"})
    media = tuple(each.model_copy(update={"removed": gone}) for each in folder.load().media)
    folder.update(lambda job: job.model_copy(update={"media": media}), removed)
    told = [event.what for event in events.read(folder.events).events[count:]]
    assert told == [What.MERGED, What.REMOVED, What.CHANGED]
    with pytest.raises(JobChanged):  # by somebody who did not see that it was removed
        folder.update(lambda job: job.model_copy(update={"media": add_job(home, source).media}))


def test_what_a_card_says_is_there_from_the_first_moment(home: Home, source: Path) -> None:
    kinds = [MediaKind.AUDIO, MediaKind.PHOTO]
    folder, job = JobFolder.create(home, media_files(source), kinds, NOW, (CARD,))
    assert job.readings == folder.load().readings == (CARD,)
    began, entered = events.read(folder.events).events
    assert (began.what, entered.what) == (What.BEGAN, What.ENTERED)
    assert began.data["originals"] == [
        media.model_dump(include={"name", "path", "sha256", "size_bytes"}) for media in job.media
    ]
    assert isinstance(CARD.evidence, Typed)
