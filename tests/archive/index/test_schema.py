"""The ordinary tables and the search over them make sense to PostgreSQL too."""

from types import SimpleNamespace

import pytest
from sqlalchemy import Text, column, func, literal, table
from sqlalchemy.dialects import postgresql
from sqlalchemy.schema import CreateIndex, CreateTable

from recorder.archive.disk.home import Home
from recorder.archive.finding import ranges
from recorder.archive.finding.asked import Conditions, Order, Range
from recorder.archive.finding.keys import chosen
from recorder.archive.finding.past import Past
from recorder.archive.index.index import Index
from recorder.archive.index.schema import METADATA
from recorder.archive.index.text import Matching, Phrase, Query
from recorder.model.belt import Belt
from tests.archive.sample_jobs import NOW

POSTGRESQL = postgresql.dialect()


def sql(statement: object) -> str:
    return " ".join(str(statement.compile(dialect=POSTGRESQL)).split())  # type: ignore[attr-defined]


def test_the_tables() -> None:
    tables = {table.name: sql(CreateTable(table)) for table in METADATA.sorted_tables}
    assert "key BIGINT NOT NULL" in tables["jobs"]
    assert "low DOUBLE PRECISION" in tables["job_values"]
    assert "REFERENCES jobs (key)" in tables["job_values"]
    assert "FOREIGN KEY(belt) REFERENCES belts (key)" in tables["runs"]
    assert not any("STRICT" in made or "ROWID" in made for made in tables.values())
    indexes = [sql(CreateIndex(i)) for table in METADATA.sorted_tables for i in table.indexes]
    assert any(made.endswith("WHERE low IS NOT NULL") for made in indexes)
    assert any(made.endswith("WHERE press_key IS NOT NULL") for made in indexes)


class PostgresText:
    """How its full text would find jobs; the rest of the port is not asked here."""

    def matching(self, query: Query, scored: bool = False) -> Matching:
        texts = table("texts", column("job"), column("words"))
        wanted = func.to_tsquery("simple", literal("gasket:* & hose", Text))
        return Matching(
            texts.c.job,
            texts.c.words.op("@@")(wanted),
            -func.ts_rank(texts.c.words, wanted),
            func.ts_headline("simple", texts.c.words, wanted),
        )


def test_a_search(home: Home, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(ranges, "VERY_FEW", -1)  # so that values are gathered by a query
    conditions = Conditions(
        ((Phrase("gasket", True),), (Phrase("hose"),)),
        (Range("belt_width", 60.0, 80.0),), "accepted", NOW, None,
    )  # fmt: skip
    with Index.open(home) as sqlite:
        index = SimpleNamespace(database=sqlite.database, texts=PostgresText())
        newest, ranked = (
            sql(chosen(index, conditions, Order(by))) for by in ("newest", "relevance")
        )
    assert newest.startswith("SELECT texts.job FROM texts WHERE texts.job >= ")
    assert "texts.words @@ to_tsquery(" in newest
    assert "IN (SELECT others.job FROM job_values AS others WHERE" in newest
    assert newest.endswith("ORDER BY texts.job DESC")
    assert "ts_rank" in ranked


def test_past_runs() -> None:
    asked: list[str] = []

    def rows(statement: object) -> list[tuple[object, ...]]:
        asked.append(sql(statement))
        return [("tpu 80",)] if "DISTINCT" in asked[-1] else []

    past = Past(SimpleNamespace(database=SimpleNamespace(rows=rows)))
    belt = Belt(belt_material="TPU 80", belt_thickness=2.0, guide_profile="flat")
    past.runs_on(belt)
    past.belts(belt)
    past.newest("press", "P2", 5, but="a")
    past.names_of("press")
    assert "runs.belt IN (SELECT belts.key FROM belts WHERE belts.belt_material = " in asked[0]
    assert any("WHEN (belts.belt_material IN (" in statement for statement in asked)
    assert any("GROUP BY runs.press_key" in statement for statement in asked)
    assert len(asked) == 7
