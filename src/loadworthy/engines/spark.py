"""Spark as the engine: the same statements over a set of Parquet files, translated as they run.

Nothing here is loaded unless Spark is asked for.
"""

from __future__ import annotations

import logging
import os
import re
import shutil
import sys
import tempfile
import warnings
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path
from threading import RLock
from types import TracebackType
from typing import TYPE_CHECKING, Any, Final

import pyarrow as pa

from loadworthy.catalog import families
from loadworthy.catalog.manifest import MANIFEST, Manifest, part_views, read_manifest, whole
from loadworthy.catalog.places import is_set, place_of, within
from loadworthy.catalog.schema import check_schema, view_text
from loadworthy.engines import SPARK
from loadworthy.errors import CatalogError, UsageError

if TYPE_CHECKING:
    from pyspark.sql import DataFrame, SparkSession

__all__ = ["SparkCatalog", "SparkConnection", "start"]

_EXTRA: Final = "pip install 'loadworthy[spark]'"
_LOCAL: Final = re.compile(r"local(\[(\d+|\*)(,\s*\d+)?\])?")
_WRONG: Final = re.compile(r"exception|error", re.IGNORECASE)
_STACK: Final = re.compile(r"\s*(at|\.\.\.) ")
_LONG: Final = 240
_TABLE_NAMES: Final = "information_schema_tables"
#: A number too large for its type, or a division by zero, is not known; DuckDB's would be infinite or an error, and
#: the queries keep both from happening. What is not known passes nothing.
_SESSION: Final = {
    "spark.sql.ansi.enabled": "false",
    "spark.sql.session.timeZone": "UTC",
    # What follows from a filter is not worth finding out: over queries this deep it takes longer than it saves.
    "spark.sql.constraintPropagation.enabled": "false",
    # Files are named one by one, so that finding them needs no job of its own.
    "spark.sql.sources.parallelPartitionDiscovery.threshold": "10000",
}
_APPLICATION: Final = {
    "spark.ui.enabled": "false",
    "spark.ui.showConsoleProgress": "false",
    "spark.log.level": "ERROR",
}
#: On one machine nothing listens beyond it, and little is worth shuffling.
_ON_THIS_MACHINE: Final = {
    "spark.driver.host": "127.0.0.1",
    "spark.driver.bindAddress": "127.0.0.1",
    "spark.sql.shuffle.partitions": "4",
}


def start(master: str | None) -> SparkSession:
    """Start Spark.

    Parameters
    ----------
    master
        Where it runs: ``local[2]`` for two cores of this machine, or the address of a cluster's master.

    Raises
    ------
    UsageError
        Nobody said where, or Spark or Java is not installed, or does not start.
    """
    if not master:
        raise UsageError(
            "where shall Spark run?",
            where="--master",
            way_out="Give local[2] for two cores of this machine, or the address of your cluster's master.",
        )
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of what it thinks of other libraries
            import sqlglot  # noqa: F401, PLC0415 - an extra
            from pyspark.sql import SparkSession  # noqa: PLC0415 - as above, and it takes a second
    except ImportError as error:
        raise UsageError(
            f"Spark is not installed here ({error.name or error} is missing).",
            where="--engine spark",
            way_out=f"Install it: {_EXTRA}. Without --engine, DuckDB answers the same.",
        ) from error
    _require_java()
    logging.getLogger("SQLQueryContextLogger").setLevel(logging.CRITICAL)  # pages of Java for what we say in a line
    settings = {**_APPLICATION, **(_ON_THIS_MACHINE if _LOCAL.fullmatch(master) else {})}
    builder = SparkSession.builder.master(master).appName("loadworthy")
    for name, value in settings.items():
        builder = builder.config(name, value)
    with _kept_quiet() as said:
        try:
            if _LOCAL.fullmatch(master):
                os.environ.setdefault("SPARK_LOCAL_IP", "127.0.0.1")
            return builder.getOrCreate()
        except Exception as error:  # what a gateway to Java may raise has no common base
            raise UsageError(
                f"Spark does not start: {_first_line(said() or str(error))}",
                where=f"--master {master}",
                way_out="Check the address, and that Java is 17 or later.",
            ) from error


def _running() -> SparkSession | None:
    """Return the Spark that runs in this program already."""
    if "pyspark" not in sys.modules:
        return None
    from pyspark.sql import SparkSession  # noqa: PLC0415 - it is there

    return SparkSession.getActiveSession()


def _require_java() -> None:
    home = os.environ.get("JAVA_HOME")
    if not (shutil.which("java", path=str(Path(home) / "bin")) if home else shutil.which("java")):
        raise UsageError(
            "Spark runs on Java, and none is found here.",
            where="--engine spark",
            way_out="Install Java 17 or later, or set JAVA_HOME. Without --engine, DuckDB answers the same.",
        )


@contextmanager
def _kept_quiet() -> Iterator[Any]:
    """Keep what Java prints as it starts out of the talk; yield what tells the last of it."""
    with tempfile.TemporaryFile() as log:

        def said() -> str:
            log.seek(0)
            lines = log.read().decode(errors="replace").splitlines()
            return next((line for line in lines if _WRONG.search(line) and not _STACK.match(line)), "")

        sys.stderr.flush()
        try:
            kept = os.dup(2)
        except OSError:  # a shell may have closed it
            yield said
            return
        os.dup2(log.fileno(), 2)
        try:
            with warnings.catch_warnings():
                warnings.simplefilter("ignore")
                yield said
        finally:
            os.dup2(kept, 2)
            os.close(kept)


@contextmanager
def _explained(place: Path | str) -> Iterator[None]:
    """Turn Spark's failures into errors that name the set and the way out."""
    from py4j.protocol import Py4JError, Py4JJavaError  # noqa: PLC0415 - comes with Spark
    from pyspark.errors import PySparkException  # noqa: PLC0415

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            yield
    except (PySparkException, Py4JError) as error:
        java = error.java_exception.toString() if isinstance(error, Py4JJavaError) else str(error)
        raise CatalogError(
            f"Spark failed: {_first_line(java)}",
            where=str(place),
            way_out="Check that Spark can read the set; DuckDB answers the same without --engine.",
        ) from error


def _first_line(text: str) -> str:
    line = next((line.strip() for line in text.splitlines() if line.strip()), "it says nothing.")
    return line if len(line) <= _LONG else line[:_LONG] + " …"


class _Rows:
    """What a statement gives, worked out when it is fetched."""

    def __init__(self, frame: DataFrame | None, place: Path | str) -> None:
        self._frame = frame
        self._place = place

    @property
    def description(self) -> list[tuple[str]]:
        """The columns' names."""
        return [] if self._frame is None else [(name,) for name in self._frame.columns]

    def fetchall(self) -> list[tuple[Any, ...]]:
        """Work it out, and return its rows."""
        if self._frame is None:
            return []
        with _explained(self._place):
            return [tuple(_plain(value) for value in row) for row in self._frame.collect()]

    def to_arrow_table(self) -> pa.Table:
        """Work it out, and return its rows in columns."""
        if self._frame is None:
            return pa.table({})
        with _explained(self._place):
            return self._frame.toArrow()


def _plain(value: Any) -> Any:  # noqa: ANN401 - whatever a row holds
    """Give lists and structs as DuckDB does: as lists and dicts."""
    if isinstance(value, tuple):  # Spark's rows are tuples that know their names
        return {name: _plain(item) for name, item in zip(value.__fields__, value, strict=True)}  # type: ignore[attr-defined]
    return [_plain(item) for item in value] if isinstance(value, list) else value


class SparkConnection:
    """What the program uses of a DuckDB connection, over Spark: statements in DuckDB's words, rows as Python's values.

    Parameters
    ----------
    session
        A session of its own, whose views nobody else sees.
    place, manifest
        The set of Parquet files.
    """

    def __init__(self, session: SparkSession, place: Path | str, manifest: Manifest) -> None:
        self.session = session
        self._place = place
        self.manifest = manifest
        self._views = dict(part_views(manifest))
        self._there: set[str] = set()
        self._laying = RLock()  # two questions may be asked beside one another

    engine = SPARK

    def cursor(self) -> SparkConnection:
        """Return itself: a statement's rows belong to what `execute` returns, so one does for all."""
        return self

    def execute(self, query: str, parameters: object = None) -> _Rows:
        """Run one statement with named parameters, each bound as a value of its own type."""
        from loadworthy.engines.translating import translated  # noqa: PLC0415 - the extra brings it

        if query.startswith("SET "):
            return _Rows(None, self._place)  # how DuckDB is to plan says nothing of what is found
        asked = translated(query)
        bound = dict(parameters) if isinstance(parameters, Mapping) else {}
        with _explained(self._place):
            self._lay(asked.tables)
            return _Rows(self.session.sql(asked.sql, args=bound or None), self._place)

    def sql(self, query: str, *, params: Mapping[str, Any]) -> _Rows:
        """Do as :meth:`execute` does; DuckDB gives columns by this name only."""
        return self.execute(query, params)

    def number_parts(self, family: str, name: str) -> None:
        """Lay the parts of a family out as a view that has each one's place: the number of its row in all the files."""
        from pyspark.sql import functions as spark  # noqa: PLC0415 - the extra brings it

        table = self.manifest.tables[f"stored_{family}"]
        before: dict[str, int] = {}
        rows = 0
        for file in table.files:
            before[file.path.rpartition("/")[2]] = rows
            rows += file.rows
        if len(before) < len(table.files):
            raise CatalogError(
                "two of its files have one name.", where=str(self._place), way_out="Export the catalogue anew."
            )
        with _explained(self._place):
            ahead = spark.create_map(*(spark.lit(one) for pair in before.items() for one in pair))
            number = ahead[spark.col("_metadata.file_name")] + spark.col("_metadata.row_index")
            stored = f"{name}_stored"
            self._read(table.name).select("*", number.alias("place")).createOrReplaceTempView(stored)
            self._there.add(stored)
            text = view_text(families.load(family), table.columns, stored)
            self._view(name, text.replace("SELECT ", "SELECT place, ", 1))
            self._there.add(name)

    def register(self, name: str, rows: pa.Table) -> None:
        """Let statements read rows by a name: few enough to be sent to whoever works on a piece of the parts."""
        from pyspark.sql.functions import broadcast  # noqa: PLC0415 - the extra brings it

        with _explained(self._place):
            broadcast(self.session.createDataFrame(rows)).createOrReplaceTempView(name)
        self._there.add(name)

    def close(self) -> None:
        """Drop its views."""
        for name in self._there:
            self.session.catalog.dropTempView(name)
        self._there.clear()

    def table_names(self) -> list[str]:
        """Name the tables and views, as in a catalogue file."""
        return sorted(["about", *self.manifest.tables, *self._views])

    def _lay(self, names: Sequence[str] | frozenset[str]) -> None:
        """Give the tables that a statement reads their names; the others are not even looked at."""
        with self._laying:
            for name in sorted(set(names) - self._there):
                self._lay_one(name)

    def _lay_one(self, name: str) -> None:
        if name in self.manifest.tables:
            self._read(name).createOrReplaceTempView(name)
        elif name in self._views:
            self._view(name, self._views[name])
        elif name == "about":
            told = {"loadworthy_schema": self.manifest.schema, "made_by": self.manifest.made_by}
            text = f"SELECT {', '.join(f':{key} AS {key}' for key in told)}"
            self.session.sql(text, args=told).createOrReplaceTempView(name)
        elif name == _TABLE_NAMES:
            named = ", ".join(f"('{one}')" for one in self.table_names())
            self.session.sql(f"SELECT * FROM VALUES {named} AS t (table_name)").createOrReplaceTempView(name)
        else:
            return  # Spark says that it is not there
        self._there.add(name)

    def _view(self, name: str, text: str) -> None:
        from loadworthy.engines.translating import translated  # noqa: PLC0415 - the extra brings it

        put = translated(text)
        self._lay(put.tables)
        self.session.sql(put.sql).createOrReplaceTempView(name)

    def _read(self, name: str) -> DataFrame:
        from loadworthy.engines.translating import column_type  # noqa: PLC0415 - the extra brings it

        table = self.manifest.tables[name]
        layout = ", ".join(f"`{column}` {column_type(kind)}" for column, kind in table.columns.items())
        # Every file holds all columns: nothing is to be learnt from the folders' names.
        reader = self.session.read.schema(layout).option("recursiveFileLookup", "true")
        return reader.parquet(*(_spark_path(self._place, file.path) for file in table.files))


def _spark_path(place: Path | str, path: str) -> str:
    if isinstance(place, str):
        return within(place, path)
    # A path without a scheme would be sought in the cluster's own file system; signs of a pattern stand for themselves.
    return "file://" + re.sub(r"([\[\]{}*?\\])", r"\\\1", Path(within(place, path)).as_posix())


class SparkCatalog:
    """A set of Parquet files, opened by Spark; for whatever asks for a catalogue's ``connection``.

    Use it as a context manager, or close it: the Spark that it started ends then.
    """

    def __init__(self, place: Path | str, connection: SparkConnection, *, own: bool) -> None:
        self.path = place
        self.connection = connection
        self._own = own

    @classmethod
    def open(cls, path: str | Path, *, master: str | None = None, session: SparkSession | None = None) -> SparkCatalog:
        """Open a set of Parquet files.

        Parameters
        ----------
        path
            Its folder, or its address.
        master
            Where Spark is to run, if none runs in this program.
        session
            A Spark that runs already; it goes on afterwards, and so does one that is found running.

        Raises
        ------
        CatalogError
            It is no set, not whole, or of another schema.
        UsageError
            Spark cannot be started.
        """
        place = place_of(path)
        if not is_set(place):
            raise CatalogError(
                "Spark reads a catalogue that was exported as a set of Parquet files; this is none.",
                where=str(place),
                way_out="Export it: loadworthy catalog --catalog FILE --export DIR. Then name DIR with --catalog.",
            )
        told = None if isinstance(place, str) else whole(_manifest(place), place)
        if told is not None:
            check_schema(told.schema, str(place))
        running = session or _running()
        spark = running or start(master)
        own = spark.newSession()
        for name, value in _SESSION.items():
            own.conf.set(name, value)
        try:
            if told is None:
                with _explained(place):
                    (row,) = own.read.text(within(place, MANIFEST), wholetext=True).collect()
                told = read_manifest(row[0], str(place))
                check_schema(told.schema, str(place))
        except BaseException:
            if running is None:
                spark.stop()
            raise
        return cls(place, SparkConnection(own, place, told), own=running is None)

    def holds(self, family: str) -> bool:
        """Say whether parts of a family are in it."""
        return f"parts_{family}" in self.connection.table_names()

    def stamp(self) -> object:
        """Return what tells its present state from another that is written later, as plain values."""
        return self.connection.manifest.as_json()

    def close(self) -> None:
        """Close it, and end Spark where it was started for it."""
        self.connection.close()
        if self._own:
            with suppress(Exception):  # a gateway that is gone already
                self.connection.session.stop()

    def __enter__(self) -> SparkCatalog:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()


def _manifest(place: Path) -> Manifest:
    return read_manifest((place / MANIFEST).read_text(encoding="utf-8"), str(place))
