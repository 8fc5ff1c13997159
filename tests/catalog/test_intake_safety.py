"""Whatever happens to an intake, the catalogue is as it was or complete, and the user is told what to do."""

from __future__ import annotations

import contextlib
import errno
import os
import random
import signal
import sqlite3
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import duckdb
import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from loadworthy.catalog import writing
from loadworthy.catalog.intake import intake
from loadworthy.catalog.store import Catalog
from loadworthy.errors import CatalogError, FamilyError, LoadworthyError, RecipeError, UnreadableFile

if TYPE_CHECKING:
    from conftest import Shelf

#: What differs between two runs that came to the same.
PASSING = ("taken_in", "list_id")


def child(code: str, *words: str | Path) -> subprocess.Popen[str]:
    """Run Python code in a process of its own; it gives words on its output."""
    command = [sys.executable, "-c", code, *map(str, words)]
    beside = Path(words[0]).parent.with_suffix(".temporary")  # where what is killed leaves its temporary files
    beside.mkdir(exist_ok=True)
    return subprocess.Popen(  # noqa: S603 - our own words
        command,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        env={**os.environ, "TMPDIR": str(beside)},
    )


def long_list(shelf: Shelf, rows: int, stem: str) -> str:
    """Write a list of many parts, some of them in the small list too."""
    return shelf.text([*shelf.ROWS, *(shelf.row(Part=f"{stem}-{n}", Stock=f"{n}") for n in range(rows))])


TAKING_IN = """
import sys
from loadworthy.catalog.intake import intake
from loadworthy.errors import LoadworthyError
print("ready", flush=True)
try:
    intake(sys.argv[1], sys.argv[2:])
except LoadworthyError as error:
    print(f"{type(error).__name__}: {error}", flush=True)
else:
    print("in", flush=True)
"""


class TestKilled:
    """A process that dies in the middle."""

    def test_killed_at_any_moment_the_catalogue_is_as_before_or_complete(self, shelf: Shelf) -> None:
        """Ten moments, spread over the time that the whole takes."""
        shelf.take_in(shelf.text(), name="other.csv")
        shelf.take_in(long_list(shelf, 200, "OLD"), name="reed.csv")
        before = shelf.tables(but=PASSING)
        content = shelf.path.read_bytes()
        newer = shelf.write(long_list(shelf, 2000, "NEW"), "reed.csv")
        took = self.killed_after(shelf, newer, None)
        after = shelf.tables(but=PASSING)
        assert after != before
        moments = random.Random(20261102)  # noqa: S311 - moments, no secrets
        for number in range(10):
            shelf.path.write_bytes(content)
            self.killed_after(shelf, newer, took * (number + moments.random()) / 10)
            assert shelf.tables(but=PASSING) in (before, after)
        shelf.take_in(newer.read_bytes(), name="reed.csv")
        assert shelf.tables(but=PASSING) == after

    @staticmethod
    def killed_after(shelf: Shelf, file: Path, seconds: float | None) -> float:
        """Let a process take a file in, kill it after a while; return how long it was at work."""
        with child(TAKING_IN, shelf.path, file) as process:
            assert process.stdout is not None
            assert process.stdout.readline() == "ready\n"
            start = time.perf_counter()
            if seconds is None:
                assert process.stdout.readline() == "in\n"
            else:
                time.sleep(seconds)
                process.send_signal(signal.SIGKILL)
            process.wait()
            return time.perf_counter() - start

    def test_killed_at_the_first_list_another_try_succeeds(self, shelf: Shelf) -> None:
        """A catalogue that was being made is no obstacle."""
        file = shelf.write(long_list(shelf, 500, "NEW"), "reed.csv")
        for seconds in (0.02, 0.07, 0.15):
            self.killed_after(shelf, file, seconds)
            intake(shelf.path, [file])
            assert len(shelf.parts()) == 503
            shelf.path.unlink()


class Failing:
    """A connection whose ``number``-th statement of the writing transaction fails; ``made`` holds all of them."""

    def __init__(
        self, connection: duckdb.DuckDBPyConnection, number: int, error: BaseException, made: list[Failing]
    ) -> None:
        self._connection, self._number, self._error, self._made = connection, number, error, made
        made.append(self)
        self.written = 0
        self._writing = False

    def execute(self, statement: str, *parameters: Any) -> Any:
        """Run a statement, or fail."""
        if self._writing and statement != "ROLLBACK":
            self.written += 1
            if self.written == self._number:
                raise self._error
        self._writing = (self._writing or statement == "BEGIN TRANSACTION") and statement != "COMMIT"
        return self._connection.execute(statement, *parameters)

    def cursor(self) -> Failing:
        """Make another one of the kind."""
        return Failing(self._connection.cursor(), self._number, self._error, self._made)

    def __getattr__(self, name: str) -> Any:
        return getattr(self._connection, name)


@pytest.fixture
def failing(monkeypatch: pytest.MonkeyPatch) -> Callable[..., contextlib.AbstractContextManager[list[Failing]]]:
    """Give a way to let the next connections fail at a statement."""
    connect = duckdb.connect

    @contextlib.contextmanager
    def run(number: int, error: BaseException) -> Any:
        made: list[Failing] = []

        def failing_connect(*words: Any, **said: Any) -> Failing:
            return Failing(connect(*words, **said), number, error, made)

        with monkeypatch.context() as patch:
            patch.setattr(duckdb, "connect", failing_connect)
            yield made

    return run


class TestFailingStatements:
    """The engine fails, or the user interrupts, at each statement of the transaction in turn."""

    def test_each_statement_fails_in_turn(self, shelf: Shelf, failing: Any) -> None:
        """A full disk at any of them leaves the catalogue as it was, with another supplier's list in it."""
        newer = shelf.text([shelf.row(VDS="plenty", Stock="77"), *shelf.ROWS[1:]])
        whole = shelf.another()
        for one in (whole, shelf):
            one.take_in(one.text(), name="other.csv")
            one.take_in(one.text())
        with failing(0, KeyboardInterrupt()) as made:  # none fails: they are counted
            assert whole.take_in(newer).outcome == "replaced"
        count = max(one.written for one in made)
        assert count > 10
        before = shelf.path.read_bytes()
        file = shelf.write(newer)
        for number in range(1, count + 1):
            error = duckdb.IOException("Could not write file: No space left on device")
            with failing(number, error) as made, pytest.raises(CatalogError, match="space") as caught:
                intake(shelf.path, [file])
            assert max(one.written for one in made) == number
            assert caught.value.where == str(shelf.path)
            assert caught.value.way_out
            assert shelf.path.read_bytes() == before, number

    @pytest.mark.parametrize("number", [1, 5, 12])
    def test_an_interruption_leaves_no_trace(self, shelf: Shelf, failing: Any, number: int) -> None:
        """Ctrl-C is not held back, and a catalogue that was made for the file is taken away."""
        file = shelf.write(shelf.text())
        with failing(number, KeyboardInterrupt()), pytest.raises(KeyboardInterrupt):
            intake(shelf.path, [file])
        assert [path.name for path in shelf.folder.iterdir()] == ["list.csv"]

    def test_a_later_file_that_fails_leaves_the_earlier_ones_in(self, shelf: Shelf) -> None:
        """Each table is a transaction of its own; the error names the files that are in."""
        good, bad = shelf.write(shelf.text(), "a.csv"), shelf.write(b"", "b.csv")
        with pytest.raises(UnreadableFile, match=r"is in: a\.csv\.$"):
            intake(shelf.path, [good, bad])
        assert len(shelf.parts()) == 3

    @pytest.mark.parametrize("error", [KeyboardInterrupt(), duckdb.IOException("Could not write file")])
    def test_a_later_file_that_cannot_be_written_leaves_the_earlier_ones_in(
        self, shelf: Shelf, monkeypatch: pytest.MonkeyPatch, error: BaseException
    ) -> None:
        """Its own rows are out, all of them."""
        merge, calls = writing.merge_staged, []

        def merged(*words: Any, **said: Any) -> int:
            calls.append(words)
            if len(calls) == 2:
                raise error
            return merge(*words, **said)

        monkeypatch.setattr(writing, "merge_staged", merged)
        files = [shelf.write(shelf.text(shelf.ROWS[:1]), "a.csv"), shelf.write(shelf.text(), "b.csv")]
        with pytest.raises((KeyboardInterrupt, CatalogError)):
            intake(shelf.path, files)
        assert [one["file"] for one in shelf.rows("SELECT file FROM lists")] == ["a.csv"]
        assert list(shelf.parts()) == ["FP-12"]
        assert sorted(one.name for one in shelf.folder.iterdir()) == ["a.csv", "b.csv", "catalog.duckdb"]

    def test_where_the_new_version_cannot_be_finished_nothing_is_in(
        self, shelf: Shelf, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """The first error is told, and no file is said to be in."""

        def full(*_: Any) -> None:
            raise OSError(errno.ENOSPC, "No space left on device")

        good, bad = shelf.write(shelf.text(), "a.csv"), shelf.write(b"", "b.csv")
        with monkeypatch.context() as patch:
            patch.setattr(Path, "replace", full)
            with pytest.raises(UnreadableFile) as caught:
                intake(shelf.path, [good, bad])
            assert "a.csv" not in str(caught.value)
            with pytest.raises(CatalogError, match="space"):
                intake(shelf.path, [good])
        assert sorted(one.name for one in shelf.folder.iterdir()) == ["a.csv", "b.csv"]

    @pytest.mark.parametrize(
        ("room", "told", "place"),
        [(1.01, "UnreadableFile: reed.csv: Its texts cannot be put down in ", "TMPDIR"), (1.15, "CatalogError: ", "")],
    )
    def test_files_that_may_grow_no_further_leave_the_catalogue_as_it_was(
        self, shelf: Shelf, room: float, told: str, place: str
    ) -> None:
        """The system refuses to let the texts, or the catalogue, grow (a limit on file size stands for a full disk)."""
        shelf.take_in(shelf.text(), name="other.csv")
        before = shelf.tables()
        file = shelf.write(long_list(shelf, 40_000, "NEW"), "reed.csv")
        limit = int(room * file.stat().st_size)
        assert limit > shelf.path.stat().st_size
        code = f"import resource; resource.setrlimit(resource.RLIMIT_FSIZE, ({limit}, {limit}))\n{TAKING_IN}"
        with child(code, shelf.path, file) as process:
            said, complaint = process.communicate(timeout=60)
        assert said.startswith(f"ready\n{told}"), complaint
        assert (place or str(shelf.path)) in said
        assert shelf.tables() == before


class TestErrors:
    """Each error is of one family, names the place and the way out, and leaves no catalogue behind."""

    @staticmethod
    def refused(shelf: Shelf, kind: type[LoadworthyError], file: Path, **said: Any) -> str:
        """Take a file in, hold the error to its form and return it."""
        there = shelf.path.exists()
        with pytest.raises(kind) as caught:
            intake(shelf.path, [file], **said)
        assert isinstance(caught.value, kind)
        assert caught.value.way_out
        assert caught.value.where or kind is FamilyError  # that one is no place in a file
        assert shelf.path.exists() == there
        return str(caught.value)

    @pytest.mark.parametrize(
        ("name", "content"),
        [("list.csv", b""), ("list.csv", bytes(range(256)) * 40), ("list.csv", b"\n\n\n"),
         ("list.csv", b"Dear reader,\nthere is no table here.\nYours\n"), ("list.xlsx", b"PK\x03\x04 not a workbook"),
         ("list.ods", b"not a spreadsheet"), ("list.csv.gz", b"\x1f\x8b\x08 cut off"),
         ("list.csv", b"a,b,c\n1,2,3\n4,5,6\n")],
    )  # fmt: skip
    def test_a_file_that_is_no_table(self, shelf: Shelf, name: str, content: bytes) -> None:
        """Empty, binary, a letter, a damaged workbook, a table of something else."""
        assert name in self.refused(shelf, UnreadableFile, shelf.write(content, name))

    def test_a_file_that_is_not_there(self, shelf: Shelf) -> None:
        """Neither is a folder a list."""
        assert "nowhere.csv" in self.refused(shelf, UnreadableFile, shelf.folder / "nowhere.csv")
        (shelf.folder / "lists").mkdir()
        assert "lists" in self.refused(shelf, UnreadableFile, shelf.folder / "lists")

    def test_a_table_without_part_numbers(self, shelf: Shelf) -> None:
        """It shows the headings that there are."""
        text = shelf.text([row[2:] for row in shelf.ROWS], shelf.HEADINGS[2:])
        assert "'TJ max (°C)'" in self.refused(shelf, UnreadableFile, shelf.write(text))

    def test_a_family_that_is_not_known(self, shelf: Shelf) -> None:
        """It names those that are."""
        assert "transistor" in self.refused(shelf, FamilyError, shelf.write(shelf.text()), family="trasistor")

    def test_a_recipe_that_does_not_fit(self, shelf: Shelf) -> None:
        """A column that the table does not have."""
        recipe = shelf.write('[[column]]\nheading = "Weight"\nreads = "vds"\n', "r.toml")
        assert "Weight" in self.refused(shelf, RecipeError, shelf.write(shelf.text()), recipe=recipe)

    @pytest.mark.parametrize("kind", ["text", "empty", "database", "other database", "folder", "cut off"])
    def test_what_is_no_catalogue(self, shelf: Shelf, kind: str) -> None:
        """It is neither read nor written."""
        if kind == "folder":
            shelf.path.mkdir()
        elif kind == "database":
            with duckdb.connect(str(shelf.path)) as connection:
                connection.execute("CREATE TABLE plants (name VARCHAR)")
        elif kind == "other database":
            with contextlib.closing(sqlite3.connect(shelf.path)) as other:
                other.execute("CREATE TABLE plants (name)")
                other.commit()
        elif kind == "cut off":
            shelf.take_in(shelf.text())
            shelf.path.write_bytes(shelf.path.read_bytes()[:5000])
        else:
            shelf.path.write_text("seeds and pots\n" * 1000 if kind == "text" else "")
        before = shelf.path.read_bytes() if shelf.path.is_file() else b""
        assert str(shelf.path) in self.refused(shelf, CatalogError, shelf.write(shelf.text()))
        with pytest.raises(CatalogError) as caught:
            Catalog.open(shelf.path)
        assert "download" not in str(caught.value.__cause__), "the engine went to the network for a reader of it"
        assert (shelf.path.read_bytes() if shelf.path.is_file() else b"") == before

    @pytest.mark.parametrize(("step", "age"), [(-1, "older"), (1, "newer")])
    def test_a_catalogue_of_another_schema(self, shelf: Shelf, step: int, age: str) -> None:
        """It is never guessed at."""
        shelf.take_in(shelf.text())
        with duckdb.connect(str(shelf.path)) as connection:
            connection.execute("UPDATE about SET loadworthy_schema = loadworthy_schema + ?", [step])
        assert age in self.refused(shelf, CatalogError, shelf.write(shelf.text()))

    def test_a_catalogue_without_its_tables(self, shelf: Shelf) -> None:
        """A file that somebody took a table out of is an error like the others."""
        shelf.take_in(shelf.text())
        with duckdb.connect(str(shelf.path)) as connection:
            connection.execute("DROP TABLE offer_rows")
        with pytest.raises(CatalogError):
            intake(shelf.path, [shelf.write(shelf.text(shelf.ROWS[:2]))])


SUFFIXES = st.sampled_from(["list.csv", "list.txt", "list.csv.gz", "list.xlsx", "list.ods", "list"])
no_shrinking = settings(
    phases=[Phase.generate], suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow]
)


@given(st.binary(max_size=400), SUFFIXES)
@settings(no_shrinking, max_examples=60)
def test_any_bytes_are_a_list_or_an_error(shelves: Shelf, content: bytes, name: str) -> None:
    """Nothing but a report whose account closes, or an error of the project's own."""
    shelf = shelves.another()
    with contextlib.suppress(LoadworthyError):
        shelf.take_in(content, name=name)


@st.composite
def spoiled(draw: st.DrawFn) -> bytes:
    """Spoil a good list: lines lost, doubled and swapped, other delimiters, stray quotes and NULs, cut anywhere."""
    lines = draw(st.sampled_from(sorted(GOOD.values()))).splitlines()
    for _ in range(draw(st.integers(1, 3))):
        place, other = (draw(st.integers(0, len(lines) - 1)) for _ in range(2))
        match draw(st.sampled_from(["lose", "double", "swap", "delimiter", "insert", "cut"])):
            case "lose" if len(lines) > 1:
                del lines[place]
            case "double":
                lines.insert(other, lines[place])
            case "swap":
                lines[place], lines[other] = lines[other], lines[place]
            case "delimiter":
                lines[place] = lines[place].replace(",", draw(st.sampled_from([";", "\t", "|", "", ",,"])))
            case "insert":
                at = draw(st.integers(0, len(lines[place])))
                stray = draw(st.sampled_from(['"', "\0", '""', "\r", "\ufeff", "€", "'", "\x1a", "\\"]))
                lines[place] = lines[place][:at] + stray + lines[place][at:]
            case "cut":
                lines[place] = lines[place][: draw(st.integers(0, len(lines[place])))]
    return "\n".join(lines).encode()


GOOD = {
    "plain": "Maker,Part number,VDS (V),RDS(on) max at VGS=10V (mΩ),Price (EUR)\n"
    + "".join(f"Mossbank,MB{n},{20 + n},{n + 1}.5,0.{n}5\n" for n in range(1, 8)),
    "quoted": 'Reed list\n\nPart number,VDS,RDS(on),Stock\n'
    + "".join(f'"MB{n}","{20 + n} V","{n} mΩ typ, {n + 1} mΩ max @ 10 V",{n}\n' for n in range(1, 8)),
}  # fmt: skip


@given(spoiled())
@settings(no_shrinking, max_examples=30)
def test_a_spoiled_list_is_a_list_or_an_error(shelves: Shelf, content: bytes) -> None:
    """Whatever a transfer or an editor did to it."""
    shelf = shelves.another()
    with contextlib.suppress(LoadworthyError):
        shelf.take_in(content)
