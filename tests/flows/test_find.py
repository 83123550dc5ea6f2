from datetime import timedelta
from pathlib import Path

import pytest

from recorder.archive.disk.home import Home
from recorder.archive.finding.saved import Asked, save_search
from recorder.errors import (
    BadSynonyms,
    BadValue,
    SeamnoteError,
    UnknownField,
    UnknownSearch,
    UnknownUnit,
    WrongUse,
)
from recorder.flows.find import Found, Selected, find, selected, with_saved
from recorder.model.job import Job
from tests.archive.sample_jobs import BAKERY, NOW, add_job, from_card, reading, transcript

PARCEL = (
    from_card("job_number", "4818"),
    from_card("customer", "Osterholm Parcel"),
    from_card("belt_width", 400.0),
    reading("top_temperature", 181.0),
    reading("finger_gap", 0.7),
    reading("bubbles", True),
    reading("outcome", "rejected"),
)
SUGAR = (from_card("customer", "Veldt Sugar"), reading("top_temperature", 168.0))


@pytest.fixture
def home(tmp_path: Path) -> Home:
    return Home.open(tmp_path / "home")


@pytest.fixture(scope="module")
def jobs(tmp_path_factory: pytest.TempPathFactory) -> tuple[Home, list[Job]]:
    """Three jobs, a day between them, the oldest first; the tests only look at them."""
    root = tmp_path_factory.mktemp("find")
    home = Home.open(root / "home")
    little: dict[str, object] = {"notes": (), "photos": (), "measurements": ()}
    said = transcript("the forklift touched the belt", "the seal is worn out")
    auf_deutsch = transcript("Förderband neu verbunden, Dichtung gewechselt")
    tomorrow, later = NOW + timedelta(days=1), NOW + timedelta(days=2)
    return home, [
        add_job(home, root / "a", NOW, readings=BAKERY),
        add_job(home, root / "b", tomorrow, readings=PARCEL, transcripts=(said,), **little),
        add_job(home, root / "c", later, readings=SUGAR, transcripts=(auf_deutsch,), **little),
    ]


def names(jobs: tuple[Home, list[Job]], **asked: object) -> tuple[str, Found]:
    home, made = jobs
    found = find(home, Asked.model_validate(asked))
    short = {job.id: name for job, name in zip(made, ("bakery", "parcel", "sugar"), strict=True)}
    return " ".join(short[hit.id] for hit in found.hits), found


@pytest.mark.parametrize(
    ("words", "who", "instead"),
    [
        ("forklift", "parcel", {}),
        ("forklfit", "parcel", {"forklfit": ("forklift",)}),
        ("FORKLFIT wron", "parcel", {"FORKLFIT": ("forklift",), "wron": ("worn",)}),
        ("Föderband", "sugar", {"Föderband": ("forderband",)}),
        ("osterhlom", "parcel", {"osterhlom": ("osterholm",)}),
        ('"forklfit"', "", {}),
        ("4819", "", {}),  # numbers are never corrected
        ("CV-121A", "", {}),
        ("bulldozer", "", {}),
        ("larkfield forklift", "", {}),  # both words are known
    ],
)
def test_typing_errors(
    jobs: tuple[Home, list[Job]], words: str, who: str, instead: dict[str, tuple[str, ...]]
) -> None:
    answer, found = names(jobs, words=words)
    assert (answer, found.instead) == (who, instead)


@pytest.mark.parametrize(
    ("words", "who", "also"),
    [
        ("gasket", "sugar parcel bakery", {"gasket": ("seal", "Dichtung")}),
        ("seal", "sugar parcel bakery", {"seal": ("gasket", "Dichtung")}),
        ('"seal"', "parcel", {}),
        ("Gabelstapler", "parcel", {"Gabelstapler": ("forklift",)}),
        ("cooling", "bakery", {"cooling": ("cool down",)}),
        ("larkfield bakery", "bakery", {}),
    ],
)
def test_synonyms(
    jobs: tuple[Home, list[Job]], words: str, who: str, also: dict[str, tuple[str, ...]]
) -> None:
    answer, found = names(jobs, words=words)
    assert (answer, found.also) == (who, also)


def test_a_firm_has_its_own_words(home: Home, tmp_path: Path) -> None:
    job = add_job(home, tmp_path / "source")
    assert find(home, Asked(words="breadworks")).hits == ()
    home.synonyms.write_text('groups = [["breadworks", "Larkfield"]]')
    assert [hit.id for hit in find(home, Asked(words="breadworks")).hits] == [job.id]
    home.synonyms.write_text("groups = 1")
    with pytest.raises(BadSynonyms, match=r"synonyms\.toml"):
        find(home, Asked(words="breadworks"))


@pytest.mark.parametrize(
    ("where", "who"),
    [
        (["top_temperature>=350degF"], "parcel"),
        (["top temperature >= 350 °F"], "parcel"),
        (["bubbles=yes"], "parcel"),
        (["bubbles=no"], "bakery"),
        (["splice_width=70..71"], "bakery"),  # measured
        (["finger_gap>0.6"], "parcel bakery"),  # of the bakery's first splice
        (["finger_gap>0.6", "outcome=accepted"], "bakery"),
        (["customer=veldt sugar"], "sugar"),
        (["arrived_at=2026-11"], "bakery"),
    ],
)
def test_conditions(jobs: tuple[Home, list[Job]], where: list[str], who: str) -> None:
    assert names(jobs, where=where)[0] == who


def test_dates_and_outcome(jobs: tuple[Home, list[Job]]) -> None:
    assert names(jobs, outcome="rejected")[0] == "parcel"
    assert names(jobs, since="2026-11-26")[0] == "sugar parcel"
    assert names(jobs, until="2026-11-25", words="gasket")[0] == "bakery"
    assert names(jobs, since="2026", until="2025")[0] == ""


def test_what_could_be_left_out_is_told(jobs: tuple[Home, list[Job]]) -> None:
    _, found = names(jobs, words="gasket forklift", where=["bubbles=yes"], until="2026-11-25")
    assert found.hits == ()
    assert found.without == {"--until 2026-11-25": 1}
    _, found = names(jobs, words="larkfield", where=["bubbles=yes"], since="2026")
    assert found.without == {"larkfield": 1, "bubbles=yes": 1}
    assert names(jobs, words="bulldozer")[1].without == {}  # all other jobs are no answer
    assert names(jobs, words="larkfield")[1].without == {}
    page = " ".join(f"larkfield{n}" for n in range(20))
    assert names(jobs, words=page)[1].without == {}  # too many to try


def test_the_first_few_and_all(jobs: tuple[Home, list[Job]]) -> None:
    answer, found = names(jobs, limit=2)
    assert (answer, found.more) == ("sugar parcel", True)
    assert names(jobs, limit=3)[1].more is False
    home, made = jobs
    assert len(find(home, Asked(limit=1), everything=True).hits) == 1
    assert selected(home, Asked()).ids == tuple(job.id for job in reversed(made))
    near = Selected((made[1].id,), {"forklfit": ("forklift",)}, 0)
    assert selected(home, Asked(words="forklfit")) == near
    assert selected(home, Asked(limit=1, sort="oldest")).ids == (made[0].id,)


@pytest.mark.parametrize(
    ("sort", "who"),
    [
        ("newest", "sugar parcel bakery"),
        ("oldest", "bakery parcel sugar"),
        ("top_temperature", "sugar bakery parcel"),
        ("-top_temperature", "parcel bakery sugar"),
        ("-belt_width", "parcel bakery sugar"),  # without a value: last
        ("belt width", "bakery parcel sugar"),
    ],
)
def test_order(jobs: tuple[Home, list[Job]], sort: str, who: str) -> None:
    assert names(jobs, sort=sort)[0] == who


def test_the_most_relevant_first(jobs: tuple[Home, list[Job]]) -> None:
    answer, _ = names(jobs, words="belt", sort="relevance")
    assert set(answer.split()) == {"bakery", "parcel"}
    with pytest.raises(BadValue, match="give words"):
        names(jobs, sort="relevance")


@pytest.mark.parametrize(
    ("wrong", "near"),
    [("relevence", "did you mean relevance?"), ("new", "newest"), ("-widht", "belt_width")],
)
def test_a_wrong_order_names_the_near_ones(
    jobs: tuple[Home, list[Job]], wrong: str, near: str
) -> None:
    with pytest.raises(UnknownField, match=near.replace("?", r"\?")):
        names(jobs, sort=wrong)


def test_the_fields_that_were_asked_for(jobs: tuple[Home, list[Job]]) -> None:
    _, found = names(
        jobs, where=["finger_gap>0.1", "finger_gap<1", "outcome=rejected"], sort="-belt_width",
        units=["inch"],
    )  # fmt: skip
    assert found.fields == ("finger_gap", "outcome", "belt_width")
    assert found.units == {"length": "inch"}
    assert [hit.matched["belt_width"] for hit in found.hits] == [[400.0], [70.0]]
    assert names(jobs, sort="oldest")[1].fields == ()
    assert names(jobs, sort="customer")[1].hits[0].matched == {"customer": ["Larkfield Bakery"]}


@pytest.mark.parametrize(
    ("asked", "error"),
    [
        ({"where": ["top_temp>1"]}, UnknownField),
        ({"where": ["pressure>1mm"]}, UnknownUnit),
        ({"where": ["pressure"]}, WrongUse),
        ({"sort": "-widht"}, UnknownField),
        ({"sort": "-"}, UnknownField),
        ({"units": ["bra"]}, UnknownUnit),
        ({"outcome": "fine"}, BadValue),
        ({"since": "March"}, BadValue),
        ({"until": ""}, BadValue),
    ],
)
def test_a_wrong_question_is_refused_before_anything_is_opened(
    home: Home, asked: dict[str, object], error: type[SeamnoteError]
) -> None:
    for ask in (find, selected):
        if ask is find or "units" not in asked:
            with pytest.raises(error):
                ask(home, Asked.model_validate(asked))
    assert not home.index.exists()


def test_a_saved_search_begins_another(home: Home) -> None:
    save_search(home, "hot", Asked(words="gasket", since="2026"))
    assert with_saved(home, "hot", Asked(since="2025")) == Asked(words="gasket", since="2025")
    assert with_saved(home, None, Asked(words="x")) == Asked(words="x")
    with pytest.raises(UnknownSearch):
        with_saved(home, "cold", Asked())
