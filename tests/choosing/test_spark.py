"""Spark gives what DuckDB gives: the same rows in the same order with the same figures."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pyarrow.parquet as pq
import pytest
from click.testing import CliRunner
from engine_checks import Both, apart, needs_of
from layout import make_catalog_file

from loadworthy import asking
from loadworthy.catalog.exporting import export
from loadworthy.catalog.store import Catalog
from loadworthy.cli import main
from loadworthy.derating import derating_curve
from loadworthy.engines import spark as engine
from loadworthy.errors import CatalogError, UsageError
from loadworthy.explanation import explain
from loadworthy.needs import NEEDS, ConnectorNeed, FuseNeed, TransistorNeed
from loadworthy.selection import choose

#: ``.ci/run`` asks for a million of them.
RANDOM_PARTS = int(os.environ.get("LOADWORTHY_RANDOM_PARTS", "100_000"))


@pytest.fixture(scope="session")
def spark() -> Iterator[Any]:
    """Start Spark once for all of these tests, compiled quickly rather than well."""
    pytest.importorskip("pyspark", reason="Spark is not installed: pip install 'loadworthy[spark]'")
    if shutil.which("java") is None:
        pytest.skip("Spark runs on Java, and there is none")
    with pytest.MonkeyPatch.context() as patched:
        patched.setenv("JDK_JAVA_OPTIONS", "-XX:TieredStopAtLevel=1 -XX:+UseSerialGC")
        session = engine.start("local[2]")
    yield session
    session.stop()


@pytest.fixture(scope="module")
def greenhouse(stocked: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the demo's catalogue as Parquet files, in a folder whose name has signs in it."""
    folder = tmp_path_factory.mktemp("greenhouse") / "a set [1] of {2}*"
    with Catalog.open(stocked) as catalog:
        export(catalog, folder)
    return folder


@pytest.mark.parametrize("family", NEEDS)
def test_a_choice_of_every_family_on_the_demo(spark: Any, greenhouse: Path, family: str) -> None:
    """Every statement gives the same rows, and the answer is one and the same; so is an explanation."""
    need = next(needs_of(family))
    with Catalog.open(greenhouse) as duck, engine.SparkCatalog.open(greenhouse, session=spark) as other:
        both = Both(duck.connection, other.connection)
        chosen = choose(both, need, top=1000, near=1000).as_json()
        assert len(both.ran) >= 5
        assert chosen["ranked"]
        assert not apart(choose(duck, need, top=1000, near=1000).as_json(), chosen)
        best = chosen["ranked"][0]
        if isinstance(need, ConnectorNeed | FuseNeed):
            curve = derating_curve(both, need, best)
            assert curve is not None
            assert not apart(derating_curve(duck, need, best).as_json(), curve.as_json())
        told = explain(other, best["part_number"], need, maker=best["maker"]).as_json()
        assert not apart(explain(duck, best["part_number"], need, maker=best["maker"]).as_json(), told)


def test_a_choice_among_random_parts(spark: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Among parts that nobody picked, by the way of a great catalogue too: with a first look at the lowest floors."""
    with Catalog.open(make_catalog_file(tmp_path / "parts.duckdb", RANDOM_PARTS, 7)) as catalog:
        export(catalog, tmp_path / "set")
    monkeypatch.setattr(asking, "_MANY_PARTS", RANDOM_PARTS)
    need = TransistorNeed(supply="24V", power="60W", pwm="500Hz", load="inductive")
    with Catalog.open(tmp_path / "set") as duck, engine.SparkCatalog.open(tmp_path / "set", session=spark) as other:
        chosen = choose(other, need, top=200, near=50)
        assert "floor" in {one.name for one in chosen.statements}
        assert len(chosen.ranked) == 200
        assert not apart(choose(duck, need, top=200, near=50).as_json(), chosen.as_json())


def test_the_command_answers_alike_by_either_engine(spark: Any, greenhouse: Path) -> None:
    """What is printed is the same, letter by letter; a Spark that ran before runs on."""
    words = ["choose", "diode", "--supply", "12V", "--current", "3A", "--catalog", str(greenhouse), "--format", "json"]
    ours = CliRunner().invoke(main, words)
    theirs = CliRunner().invoke(main, [*words, "--engine", "spark", "--master", "local[2]"])
    assert (theirs.exit_code, theirs.stdout) == (ours.exit_code, ours.stdout)
    assert '"ranked"' in ours.stdout
    assert spark.sql("SELECT 1").collect()


MANY = """id,supply,current,drive,package,pwm,heatsink,accept,in_stock
mat,12V,7.5A,5V,,,,,
bench,24V,3A,5V,TO-220,,,,
pump,24V,2A,5V,TO-220;TO-252,2kHz,10K/W,,
fan,12V,400mA,5V,SOT-23,,,,
lamp,5V,1A,5V,,,,heat;drive,
valve,12V,1.2A,5V,,500Hz,,loss,
heater,24V,6A,10V,,,5K/W,,
sprayer,12V,5A,10V,,,,gate;voltage,
mister,12V,3A,5V,,,,,yes
nothing,24V,900A,5V,,,,,
"""


def test_many_needs_are_answered_alike_by_file_set_and_spark(
    spark: Any, stocked: Path, greenhouse: Path, tmp_path: Path
) -> None:
    """Ten needs, one asked of offers and one that nothing fits: the same rows, figures and words."""
    (tmp_path / "needs.csv").write_text(MANY, "utf-8")
    told = []
    spark_too = ["--engine", "spark", "--master", "local[2]"]
    for place, more in ((stocked, []), (greenhouse, []), (greenhouse, spark_too)):
        out = tmp_path / f"{len(told)}.parquet"
        words = ["choose", "transistor", "--needs", str(tmp_path / "needs.csv"), "-o", str(out), "--top", "5"]
        result = CliRunner().invoke(main, [*words, "--catalog", str(place), *more], catch_exceptions=False)
        assert result.exit_code == 0, result.output
        unanswered = out.with_name(f"{out.stem}.unanswered.csv").read_text("utf-8")
        told.append((pq.read_table(out).to_pylist(), unanswered, result.output.replace(str(tmp_path / out.stem), "")))
    file, as_set, by_spark = told
    assert {row["id"] for row in file[0]} == {line.partition(",")[0] for line in MANY.splitlines()[1:-1]}
    assert as_set == file
    assert not apart(file, by_spark)


def test_what_spark_cannot_read_is_told(spark: Any, greenhouse: Path, tmp_path: Path) -> None:
    """A family that is not there, a file that goes, an address that leads nowhere: one line each, and what to do."""
    copy = Path(shutil.copytree(greenhouse, tmp_path / "copy"))
    with engine.SparkCatalog.open(copy, session=spark) as catalog:
        assert not catalog.holds("relay")
        for file in (copy / "parts").rglob("*.parquet"):
            file.unlink()
        with pytest.raises(CatalogError, match="Spark failed") as caught:
            choose(catalog, TransistorNeed(supply="12V", current="2A"))
    assert len(str(caught.value)) < 600
    with pytest.raises(CatalogError, match="Spark failed"):
        engine.SparkCatalog.open("nowhere://barn/parts", session=spark)


def test_who_asks_for_spark_says_where_it_runs(greenhouse: Path) -> None:
    """It is never started by surprise."""
    with pytest.raises(UsageError, match=r"where shall Spark run.*local\[2\]"):
        engine.start(None)
    told = CliRunner().invoke(
        main, ["choose", "wire", "--supply", "12V", "--current", "2A", "--length", "1m", "--master", "local[2]"]
    )
    assert told.exit_code == 2
    assert "--engine spark" in told.stderr


def test_without_spark_or_java_the_way_out_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    """What to install, and that DuckDB answers the same."""
    with monkeypatch.context() as patched:
        patched.setitem(__import__("sys").modules, "pyspark.sql", None)
        with pytest.raises(UsageError, match=r"not installed here.*loadworthy\[spark\]"):
            engine.start("local[2]")
    pytest.importorskip("pyspark", reason="Spark is not installed: pip install 'loadworthy[spark]'")
    monkeypatch.setenv("PATH", os.devnull)
    monkeypatch.delenv("JAVA_HOME", raising=False)
    with pytest.raises(UsageError, match=r"runs on Java.*Java 17"):
        engine.start("local[2]")


def test_a_catalogue_file_is_not_for_spark(tmp_path: Path) -> None:
    """It is exported first; nothing is started to find that out."""
    (tmp_path / "parts.duckdb").write_bytes(b"")
    with pytest.raises(CatalogError, match=r"exported as a set of Parquet files.*--export DIR"):
        engine.SparkCatalog.open(tmp_path / "parts.duckdb", master="local[2]")
