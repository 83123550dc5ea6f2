from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from recorder.archive.disk.home import Home
from recorder.archive.finding.search import Order, Range
from recorder.archive.index.index import Index
from recorder.archive.jobs.folder import JobFolder
from recorder.errors import BadValue, UnknownField
from recorder.model.job import Job
from recorder.model.reading import Note, Role, Standing
from tests.archive.finding.asking import search
from tests.archive.sample_jobs import BAKERY, NOW, add_job, from_card, reading, transcript

PARCEL = (
    from_card("job_number", "4818"),
    from_card("customer", "O'Brien Parcel"),
    from_card("belt_width", 400.0),
    from_card("recommendation", "Fit relay ST1000/5, check at 145.5 hours"),
    reading("pressure", 2.0),
    reading("top_temperature", 180.0, run=1),
    reading("top_temperature", 150.0, run=2),
    reading("finger_gap", 0.7),
    reading("bubbles", True),
    reading("outcome", "rejected"),
)
ODD = 'price 5 % of "list" (AND not OR) NEAR* ^start {x} -minus col:umn ünïcode 東京 grüßt \ue000'


@pytest.fixture
def bakery(home: Home, source: Path) -> Job:
    return add_job(home, source, readings=BAKERY)


@pytest.fixture
def parcel(home: Home, source: Path) -> Job:
    return add_job(
        home,
        source,
        NOW + timedelta(days=3),
        readings=PARCEL,
        transcripts=(transcript("the sorter at gate nine"),),
        notes=(Note(text=ODD, file="narration.flac"),),
        photos=(),
        measurements=(),
    )


@pytest.fixture
def index(home: Home, bakery: Job, parcel: Job) -> Iterator[Index]:
    with Index.open(home) as index:
        yield index


@pytest.fixture(scope="module")
def noted(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Index]:
    """One index for all examples of a property; they only add to it."""
    root = tmp_path_factory.mktemp("noted")
    home = Home.open(root / "home")
    add_job(home, root / "source", notes=(Note(text=ODD, file="narration.flac"),))
    with Index.open(home) as index:
        yield index


@pytest.mark.parametrize(
    ("words", "found"),
    [
        ("", "bakery parcel"),
        ("   ", "bakery parcel"),
        ("larkfield", "bakery"),
        ("LARKFIELD", "bakery"),
        ("lark", "bakery"),
        ("larkfield gasket", "bakery"),
        ("gasket larkfield", "bakery"),
        ("lark gask", "bakery"),
        ("larkfield sorter", ""),
        ("4817", "bakery"),
        ("481", "bakery parcel"),
        ("frayed", "bakery"),
        ("accepted", "bakery"),
        ("narration.flac", "bakery parcel"),
        ("hal", "bakery"),
        ("ha pack", ""),
        ("pack ha", "bakery"),
        ("CV-120A", "bakery"),
        ("cv-12", "bakery"),
        ("CV-121A", ""),
        ("145.5", "parcel"),
        ("145.6", ""),
        ("ST1000/5", "parcel"),
        ("o'brien", "parcel"),
        ('"list"', "parcel"),
        ("list*", "parcel"),
        ("lis%", "parcel"),
        ("NEAR", "parcel"),
        ("NEAR(price list)", ""),  # the phrase "near price", and list
        ("list)", "parcel"),
        ("AND", "parcel"),
        ("OR", "parcel"),
        ("NOT gasket", ""),
        ("-minus", "parcel"),
        ("col:umn", "parcel"),
        ("body:larkfield", ""),
        ("^start", "parcel"),
        ("unicode", "parcel"),
        ("東京", "parcel"),
        ("\ue000", "parcel"),
        ("larkfield \ue000", ""),
        ("larkfield &", "bakery"),
        ("*", ""),
        ('"', ""),
        ('""', ""),
        ("'; DROP TABLE jobs; --", ""),
    ],
)
def test_words(index: Index, bakery: Job, parcel: Job, words: str, found: str) -> None:
    names = {bakery.id: "bakery", parcel.id: "parcel"}
    assert sorted(names[hit.id] for hit in search(index, words)) == found.split()


@pytest.mark.parametrize(
    ("asked", "found"),
    [
        (Range("top_temperature", 170.0, 175.0), "bakery"),
        (Range("top_temperature", low=175.0, high=175.0), ""),  # corrected: no longer in force
        (Range("top_temperature", low=180.0), "parcel"),
        (Range("top_temperature", low=180.0, low_open=True), ""),
        (Range("top_temperature", high=150.0), "parcel"),  # its second run
        (Range("top_temperature", high=150.0, high_open=True), ""),
        (Range("top_temperature"), "bakery parcel"),
        (Range("belt_width", 70.0, 80.0), "bakery"),
        (Range("belt_width", equals=400.0), "parcel"),
        (Range("finger_gap", 0.8, 1.0), "bakery"),  # the first, rejected splice
        (Range("finger_gap", 0.3, 0.4), "bakery"),
        (Range("finger_gap", high=0.2), "bakery"),  # measured: below 0.15
        (Range("finger_gap", 0.1, 0.2), ""),  # a bound is not a value
        (Range("splice_width", 70.1, 70.3), "bakery"),  # measured
        (Range("outcome", equals="rejected"), "bakery parcel"),
        (Range("outcome", equals="accepted"), "bakery"),
        (Range("customer", equals="larkfield bakery"), "bakery"),
        (Range("customer", equals="larkfield"), ""),
        (Range("bubbles", equals=True), "parcel"),
        (Range("bubbles", equals=False), "bakery"),
        (Range("arrived_at", low=datetime(2026, 11, 25, 7, tzinfo=UTC).timestamp()), "bakery"),
        (Range("arrived_at", low=datetime(2026, 11, 25, 8, tzinfo=UTC).timestamp()), ""),
        (Range("pressure", float("nan")), ""),
        (Range("pressure", float("-inf"), float("inf")), "bakery parcel"),
    ],
)
def test_ranges(index: Index, bakery: Job, parcel: Job, asked: Range, found: str) -> None:
    names = {bakery.id: "bakery", parcel.id: "parcel"}
    assert sorted(names[hit.id] for hit in search(index, ranges=[asked])) == found.split()


def test_what_was_asked_is_not_what_was_used(home: Home, source: Path) -> None:
    card = from_card("top_temperature", 172.0, Role.ASKED)
    add_job(home, source, readings=(card, reading("press", "P2")))
    with Index.open(home) as index:
        assert search(index, ranges=[Range("top_temperature")]) == ()


def test_a_doubt_does_not_hide_what_was_confirmed(home: Home, source: Path) -> None:
    confirmed = reading("pressure", 2.2, standing=Standing.CONFIRMED)
    doubt = reading("pressure", 9.0, standing=Standing.DOUBTFUL)
    job = add_job(home, source, readings=(confirmed, doubt))
    assert JobFolder(home.jobs / job.id).load().readings == (confirmed, doubt)
    with Index.open(home) as index:
        assert len(search(index, ranges=[Range("pressure", 2.0, 3.0)])) == 1
        assert search(index, ranges=[Range("pressure", 8.0, 10.0)]) == ()


def test_everything_asked_must_hold(index: Index, bakery: Job) -> None:
    hot, wide = Range("top_temperature", 170.0), Range("belt_width", 100.0)
    assert [hit.id for hit in search(index, "larkfield", [hot])] == [bakery.id]
    assert search(index, "larkfield", [hot, wide]) == ()
    assert [hit.id for hit in search(index, outcome="accepted")] == [bakery.id]
    assert search(index, "sorter", outcome="accepted") == ()


def test_time_order_and_limit(index: Index, bakery: Job, parcel: Job) -> None:
    assert [hit.id for hit in search(index)] == [parcel.id, bakery.id]
    assert [hit.id for hit in search(index, order=Order("oldest"))] == [bakery.id, parcel.id]
    assert [hit.id for hit in search(index, limit=1)] == [parcel.id]
    assert search(index, limit=0) == ()
    day = timedelta(days=1)
    assert [hit.id for hit in search(index, since=NOW + day)] == [parcel.id]
    assert [hit.id for hit in search(index, since=NOW, until=NOW + day)] == [bakery.id]
    assert search(index, until=NOW) == ()


def test_the_order_by_a_field(index: Index, home: Home, bakery: Job, parcel: Job) -> None:
    names = {bakery.id: "bakery", parcel.id: "parcel"}

    def found(*asked: object, words: str = "", limit: int = 50) -> list[str]:
        hits = search(index, words, order=Order(*asked), limit=limit)  # type: ignore[arg-type]
        return [names[hit.id] for hit in hits]

    assert found("pressure") == ["parcel", "bakery"]
    assert found("pressure", True) == ["bakery", "parcel"]
    assert found("top_temperature") == ["parcel", "bakery"]  # by its lowest run
    assert found("top_temperature", True) == ["parcel", "bakery"]  # by its highest
    assert found("customer") == ["bakery", "parcel"]
    assert found("customer", True) == ["parcel", "bakery"]
    assert found("arrived_at") == found("arrived_at", True) == ["bakery", "parcel"]
    assert found("conveyor", limit=1) == ["bakery"]
    assert found("press") == ["parcel", "bakery"]  # none has one: newest first
    assert found("pressure", words="larkfield") == ["bakery"]
    with pytest.raises(UnknownField, match="pressure"):
        found("presure")


def test_the_order_by_relevance(home: Home, source: Path) -> None:
    said = ("hose hose hose", "a hose among many other things that were said on that day")
    much, little = (
        add_job(home, source, NOW + timedelta(hours=hour), readings=(), notes=(), photos=(),
                transcripts=(transcript(text),))
        for hour, text in enumerate(said)
    )  # fmt: skip
    with Index.open(home) as index:
        ids = [hit.id for hit in search(index, "hose", order=Order("relevance"))]
        assert ids == [much.id, little.id]
        assert [hit.id for hit in search(index, order=Order("relevance"))] == [little.id, much.id]


def test_only_the_newest_matches_are_weighed(
    home: Home, source: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    made = [add_job(home, source, NOW + timedelta(hours=hour)) for hour in range(4)]
    monkeypatch.setattr("recorder.archive.finding.keys.RANKED", 3)
    with Index.open(home) as index:
        found = {hit.id for hit in search(index, "gasket", order=Order("relevance"))}
    assert found == {job.id for job in made[1:]}


def test_a_hit_tells_the_values_that_answer(index: Index) -> None:
    asked = [
        Range("finger_gap", high=0.8),
        Range("bubbles"),
        Range("customer", equals="o'brien parcel"),
    ]
    (hit,) = search(index, ranges=asked, order=Order("top_temperature"))
    assert hit.matched == {
        "customer": ["O'Brien Parcel"],
        "top_temperature": [180.0, 150.0],
        "finger_gap": [0.7],
        "bubbles": [True],
    }
    (hit,) = search(index, "larkfield", [Range("finger_gap", high=0.5), Range("arrived_at")])
    assert hit.matched == {"finger_gap": [0.35, 0.15], "arrived_at": ["2026-11-25T08:00:00+01:00"]}
    assert search(index, "larkfield")[0].matched == {}


def test_a_hit_tells_what_a_person_looks_for(index: Index, home: Home, bakery: Job) -> None:
    (hit,) = search(index, "gasket lark")
    assert hit.title == "4817, Larkfield Bakery"
    assert hit.customer == "Larkfield Bakery"
    assert hit.outcome == "accepted"
    assert hit.complete
    assert hit.created_at == NOW
    assert hit.path == home.jobs / bakery.id
    assert (hit.path / "job.json").is_file()
    assert hit.values["top_temperature"] == 172.0
    assert hit.values["pressure"] == pytest.approx(2.2063)
    assert hit.values["belt_width"] == 70.0
    assert "Customer: [Larkfield] Bakery" in hit.snippet
    assert (hit.sound_file, hit.sound_s) == ("narration.flac", 10.0)
    (hit,) = search(index, "gasket")
    assert hit.snippet.startswith("Said: ")
    assert "wants a new [gasket]" in hit.snippet
    assert (hit.sound_file, hit.sound_s) == ("narration.flac", 10.0)
    assert search(index)[0].snippet == ""
    assert search(index, "accepted")[0].sound_s is None


def test_a_long_line_is_cut_around_its_match(home: Home, source: Path) -> None:
    said = ["x" * 9] * 60 + ["needle"] + ["y" * 9] * 60
    add_job(home, source, readings=(), transcripts=(transcript(" ".join(said)),), notes=())
    with Index.open(home) as index:
        (hit,) = search(index, "needle")
    assert "[needle]" in hit.snippet
    assert len(hit.snippet) < 150


def test_text_with_control_characters_keeps_its_lines(home: Home, source: Path) -> None:
    note = Note(text="first\nsecond\r\n\x02third\x00 fourth\x03\u2028fifth", file="notes.txt")
    add_job(home, source, readings=(), transcripts=(transcript("tail"),), notes=(note,))
    with Index.open(home) as index:
        assert search(index, "fourth")[0].snippet == "Note: first second third [fourth] fifth"
        assert search(index, "tail")[0].snippet == "Said: [tail]"


@pytest.mark.parametrize(
    ("asked", "error", "says"),
    [
        (Range("top_temprature", 1.0), UnknownField, "top_temperature"),
        (Range("qqqqqq", 1.0), UnknownField, "job_number"),
        (Range("outcome", equals="perfect"), BadValue, "accepted, rework, rejected"),
        (Range("customer", 1.0, 2.0), BadValue, "="),
        (Range("pressure", equals="high"), BadValue, "number"),
    ],
)
def test_a_wrong_question_is_refused(
    index: Index, asked: Range, error: type[Exception], says: str
) -> None:
    with pytest.raises(error, match=says):
        search(index, ranges=[asked])


@settings(max_examples=1000, deadline=None)
@given(words=st.text(max_size=60) | st.text("\"*^:-+(){}'\0 aANDORTE", max_size=30))
def test_no_words_raise(noted: Index, words: str) -> None:
    for hit in search(noted, words):
        assert not words.strip() or "[" in hit.snippet


@pytest.mark.parametrize(
    "words",
    ["a " * 5000, " ".join(map(str, range(5000))), "-".join("a" * 5000), "ab" * 5000, "\ud800 x"],
)
def test_absurd_words_do_not_raise(noted: Index, words: str) -> None:
    search(noted, words)


@settings(max_examples=200, deadline=None)
@given(word=st.from_regex(r"[A-Za-z0-9]{1,8}([-/.'][A-Za-z0-9]{1,5}){0,3}", fullmatch=True))
def test_every_word_that_was_noted_is_found(noted: Index, word: str) -> None:
    note = Note(text=f"it reads {word} there", file="notes.txt")
    noted.put(Job(id="noted", created_at=NOW, version="0.1.0", notes=(note,)))
    assert "noted" in {hit.id for hit in search(noted, word)}
