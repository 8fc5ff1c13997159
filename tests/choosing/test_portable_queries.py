"""The query files keep to what DuckDB and Spark both read: each is put into Spark's words without a doubt left."""

from __future__ import annotations

import re
import shutil
from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from engine_checks import needs_of

from loadworthy import asking, shipped, statements
from loadworthy.catalog.versions import renewed
from loadworthy.dossier import study_choice
from loadworthy.engines.translating import column_type, translated
from loadworthy.errors import UsageError
from loadworthy.explanation import explain
from loadworthy.many import answering, choose_many
from loadworthy.many.session import Session
from loadworthy.many.spread import Spread
from loadworthy.needs import NEEDS, TransistorNeed
from loadworthy.selection import choose

ALL = sorted(path.stem for path in shipped.queries_dir().glob("*.sql"))


@pytest.fixture(scope="module")
def ran(stocked: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[set[str], set[str]]]:
    """Do the whole job on the demo; yield the query files that it read, and the statements that it ran."""
    from loadworthy import boards, shopping
    from loadworthy.bench import measure
    from loadworthy.bench.records import keep_records
    from loadworthy.dossier import study_board
    from loadworthy.shopping.plan import plan

    files: set[str] = set()
    texts: set[str] = set()
    query, rows = shipped.query, statements.Statement.rows
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(shipped, "query", lambda name: (files.add(name), query(name))[1])
        patched.setattr(
            statements.Statement, "rows", lambda self, connection: (texts.add(self.sql), rows(self, connection))[1]
        )
        # Many needs are put to Spark as to any engine that splits the work; here DuckDB stands in for one.
        patched.setattr(answering, "engine_of", lambda _: "spark")
        patched.setattr(Spread, "_place_parts", Session._place_parts)
        table = Spread._table
        patched.setattr(Spread, "_table", lambda self, sql, put: (texts.add(sql), table(self, sql, put))[1])
        patched.setattr(asking, "_MANY_PARTS", 1)
        patched.setattr(asking, "_MANY_PARTS_OF_A_PACKAGE", 1)
        folder = shipped.catalog_dir() / "greenhouse"
        path = Path(shutil.copy(stocked, tmp_path_factory.mktemp("greenhouse") / "parts.duckdb"))
        with renewed(path) as catalog:
            for family in NEEDS:
                choose(catalog, next(needs_of(family)))
            bench = TransistorNeed(
                supply="12V", current="7.5A", prefer_measured=True, bar_measured_outside=True, in_stock=True
            )
            first, second = choose(catalog, bench).ranked[:2]
            best = first["part_number"]
            for part, drop in ((first, "1mV"), (second, "900mV")):
                typed = {"drop": drop, "current": "5A", "gate": "5V"}
                result = measure("transistor", typed, part=part["part_number"], catalog=catalog, kelvin=True)
                keep_records(catalog, result, supplier="Thistledown", measured_on=date(2026, 3, 14))
            choose(catalog, bench)
            explain(catalog, best, bench)
            study_choice(catalog, bench, title="the bench")
            study_choice(catalog, next(needs_of("fuse")), title="its fuse")
            choose_many(catalog, [bench, replace(bench, prefer_measured=False)], top=3)
            with pytest.raises(UsageError, match="Close to it"):
                explain(catalog, best[:-1], bench)
            study_board(boards.read_board(folder / "board.toml"), catalog)
            order = path.with_name("order.toml")
            order.write_text((folder / "order.toml").read_text("utf-8"), "utf-8")
            shopping.appended(order, shopping.chosen_lines([("transistor", first)]))
            plan(catalog, shopping.read_order(order), today=date(2026, 3, 14))
        yield files, texts


def test_the_whole_job_reads_every_query_file(ran: tuple[set[str], set[str]]) -> None:
    """So that what is held true of the statements below is true of every file."""
    assert set(ALL) - ran[0] == set()


def test_every_statement_is_put_into_sparks_words(ran: tuple[set[str], set[str]]) -> None:
    """Nothing is left untranslated, doubtful or decimal; every parameter stays one."""
    assert len(ran[1]) > 50
    for sql in ran[1]:
        asked, told = re.findall(r"\$([a-z]\w*)", sql), re.findall(r"(?<!:):([a-z]\w*)", translated(sql).sql)
        assert sorted(told) == sorted(asked)


@pytest.mark.parametrize(
    ("sql", "said"),
    [
        ("SELECT list_extract(points, -1) FROM parts_fuse", "LIST_EXTRACT|Unsupported|list_extract"),
        ("SELECT regexp_split_to_array(package, ',') FROM parts_fuse", "regexp_split_to_array"),
        ("SELECT rating_a * 0.75 FROM parts_fuse", "0.75 would be decimal"),
        (
            "WITH a AS (WITH b AS (SELECT 1 AS x) SELECT * FROM b), b AS (SELECT 2 AS x) SELECT * FROM a, b",
            "b is named",
        ),
        ("SELECT FROM WHERE", "cannot be put"),
    ],
)
def test_what_is_outside_the_subset_is_an_error(sql: str, said: str) -> None:
    """What Spark would read otherwise, or not at all, is told before it runs."""
    with pytest.raises(UsageError, match=said):
        translated(sql)


@pytest.mark.parametrize(
    ("kind", "told"),
    [
        ("VARCHAR", "STRING"),
        ("DOUBLE", "DOUBLE"),
        ("BIGINT", "BIGINT"),
        ("INTEGER", "INT"),
        ("BOOLEAN", "BOOLEAN"),
        ("DATE", "DATE"),
        ("TIMESTAMP", "TIMESTAMP_NTZ"),
        ("STRUCT(quantity BIGINT, price DOUBLE)[]", "ARRAY<STRUCT<quantity: BIGINT, price: DOUBLE>>"),
    ],
)
def test_the_types_of_a_catalogue_have_their_names(kind: str, told: str) -> None:
    """Spark's own names, as its manual lists them; a time without a zone is TIMESTAMP_NTZ there."""
    assert column_type(kind) == told


def test_names_of_tables_are_told_apart_from_those_of_steps() -> None:
    """Only tables are to be laid out for Spark."""
    sql = "WITH plain AS (SELECT * FROM parts_wire) SELECT * FROM plain JOIN information_schema.tables ON TRUE"
    assert translated(sql).tables == {"parts_wire", "information_schema_tables"}


def test_the_queries_stand_where_they_are_looked_for() -> None:
    """A guard of the list above."""
    assert {"transistor", "ranked", "near"} <= set(ALL)
    assert all((Path(shipped.queries_dir()) / f"{name}.sql").is_file() for name in ALL)
