"""A session that begins with a job card: what stands on it is in force and is not asked again."""

from pathlib import Path

import pytest

from recorder.archive.disk.home import Home
from recorder.errors import BadJobCard, UnknownCard
from recorder.flows.knowhow import prepared
from recorder.flows.knowhow.drafting import Draft
from recorder.flows.knowhow.filling import typed
from recorder.flows.live.memory import point_of
from recorder.flows.photos import card_of
from recorder.live.needs import lacking
from recorder.live.talk import Moment
from recorder.model.job import MediaKind, Role, in_force
from tests.flows.live.scripted import Page, Script, sessions
from tests.flows.live.test_finish import finish

CARD = b"""
customer = "Ouzel Sons"
belt_width = "70 mm"
belt_material = "White polyurethane"

[asked]
top_temperature = "172 degC"

[[limit]]
name = "finger_gap"
high = "0.3 mm"

[belt_length]
endless = "9 m"
trim = "20 mm"
"""


@pytest.fixture
def home(tmp_path: Path) -> Home:
    return Home.open(tmp_path / "home")


def test_the_card_is_an_original_and_what_it_says_is_in_force(home: Home) -> None:
    with sessions(home, Script(["The pressure is two bar."])) as live:
        page = Page(live.begin(CARD))
        page.open()
        page.say(1)
        job = page.wait_for_utterances(1)
        folder = page.folder
        needed = lacking(point_of(folder.path / "live", job).talk, job, Moment.BEFORE)
    known = in_force(job.readings)
    assert (known["customer"].value, known["belt_width"].value) == ("Ouzel Sons", 70.0)
    assert known["pressure"].value == 2.0
    assert in_force(job.readings, role=Role.ASKED)["top_temperature"].value == 172.0
    assert job.belt_length
    assert job.belt_length.cut == 9040.0
    (media,) = job.media
    assert (media.name, media.kind) == ("job.toml", MediaKind.CARD)
    assert (folder.path / media.path).read_bytes() == CARD
    (limit,) = card_of(job, folder).limits
    assert (limit.name, limit.high) == ("finger_gap", 0.3)
    fields = {field for field, _, _ in needed}
    assert {"customer", "belt_width", "belt_material"}.isdisjoint(fields)
    assert {"isolation_confirmed", "job_number"} <= fields
    assert folder.record_faults() == ()


def test_a_session_with_a_card_comes_to_its_end(home: Home, tmp_path: Path) -> None:
    path = tmp_path / "card of tomorrow.toml"
    path.write_bytes(CARD)
    with sessions(home, Script(["The pressure is two bar."])) as live:
        page = Page(live.begin(path))
        page.open()
        page.say(1)
        page.wait_for_utterances(1)
        finish(page)
        job = page.job
    assert job.complete
    assert {media.name for media in job.media} == {"job.toml", "recording_1.flac"}
    assert page.folder.changed_originals(job) == []


@pytest.mark.parametrize("card", [b"belt_width = 70", b"\xff", Path("nowhere.toml")])
def test_a_card_that_cannot_be_read_begins_no_job(home: Home, card: bytes | Path) -> None:
    with sessions(home, Script()) as live:
        with pytest.raises(BadJobCard):
            live.begin(card)
        assert live.unfinished() == ()
    assert list(home.jobs.glob("2*")) == []


def test_a_card_that_waits_is_used_once(home: Home) -> None:
    kept = prepared.keep(home, typed(Draft(), {"customer": "Ouzel Sons"}))
    with sessions(home, Script()) as live:
        session = live.begin_prepared(kept.name)
        assert in_force(Page(session).job.readings)["customer"].value == "Ouzel Sons"
        assert prepared.prepared(home) == ()
        with pytest.raises(UnknownCard):
            live.begin_prepared(kept.name)
