"""A catalogue is written to beside the one that is read: whole or not at all, by one writer at a time."""

from __future__ import annotations

import os
import shutil
import signal
import stat
import subprocess
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

import duckdb
import pytest

from loadworthy.catalog import versions
from loadworthy.catalog.intake import intake
from loadworthy.catalog.store import Catalog
from loadworthy.catalog.versions import renewed
from loadworthy.errors import CatalogError

if TYPE_CHECKING:
    from conftest import Shelf

WRITING = """
import sys
from loadworthy.catalog.versions import renewed
with renewed(sys.argv[1]) as catalog:
    catalog.connection.execute("UPDATE about SET made_by = 'another'")
    print("writing", flush=True)
    sys.stdin.readline()
print("done", flush=True)
sys.stdin.readline()
"""


class Room(NamedTuple):
    """What a disk has, as :func:`shutil.disk_usage` tells it."""

    total: int
    used: int
    free: int


@contextmanager
def writer(path: Path) -> Iterator[subprocess.Popen[str]]:
    """Let a process of its own write to a catalogue; it goes on at a line on its input."""
    command = [sys.executable, "-c", WRITING, str(path)]
    with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True) as process:  # noqa: S603
        assert process.stdout is not None
        assert process.stdout.readline() == "writing\n"
        try:
            yield process
        finally:
            process.kill()


def made_by(path: Path) -> str:
    """Read what the tests write."""
    with Catalog.open(path) as catalog:
        return str(catalog.rows("SELECT made_by FROM about")[0]["made_by"])


def write(path: Path, text: str = "again") -> None:
    """Write what the tests read."""
    with renewed(path) as catalog:
        catalog.connection.execute("UPDATE about SET made_by = ?", [text])


def beside(path: Path) -> list[str]:
    """Name what else stands in the folder."""
    return sorted(one.name for one in path.parent.iterdir() if one != path)


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """Make a catalogue that stands alone in its folder."""
    place = tmp_path / "shed" / "catalog.duckdb"
    write(place, "first")
    return place


@pytest.fixture
def hasty(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let no writer wait for long."""
    monkeypatch.setattr(versions, "WAIT_S", 0.1)


class TestWhole:
    """All of it or nothing, and nothing left beside it."""

    def test_what_is_done_in_the_block_is_in_when_it_is_left(self, path: Path) -> None:
        """Until then who opens it, here or elsewhere, finds it as it was."""
        with renewed(path) as catalog:
            catalog.connection.execute("UPDATE about SET made_by = 'second'")
            assert made_by(path) == "first"
        assert made_by(path) == "second"
        assert beside(path) == []

    @pytest.mark.parametrize("error", [ZeroDivisionError(), KeyboardInterrupt()])
    def test_a_block_that_fails_leaves_the_file_as_it_was(self, path: Path, error: BaseException) -> None:
        """To the byte, though its transaction was through."""
        before, told = path.read_bytes(), path.stat()

        def fail() -> None:
            with renewed(path) as catalog:
                catalog.connection.execute("UPDATE about SET made_by = 'second'")
                raise error

        with pytest.raises(type(error)):
            fail()
        assert path.read_bytes() == before
        assert (path.stat().st_ino, path.stat().st_mtime_ns) == (told.st_ino, told.st_mtime_ns)
        assert beside(path) == []

    def test_a_catalogue_that_was_not_there_stays_absent_where_the_block_fails(self, tmp_path: Path) -> None:
        """Nothing of it is left."""
        with pytest.raises(ZeroDivisionError), renewed(tmp_path / "catalog.duckdb") as catalog:
            _ = len(catalog.rows("SELECT 1 AS one")) / 0
        assert list(tmp_path.iterdir()) == []

    def test_a_transaction_that_is_left_open_is_not_in(self, path: Path) -> None:
        """Neither does a cursor that is left open keep the new version from its place, nor the file open."""
        with renewed(path) as catalog:
            kept = catalog.connection.cursor()
            kept.execute("BEGIN")
            kept.execute("UPDATE about SET made_by = 'second'")
        assert made_by(path) == "first"
        assert beside(path) == []
        with pytest.raises(duckdb.ConnectionException):
            kept.execute("SELECT 1")

    @pytest.mark.parametrize("error", [PermissionError(13, "Permission denied"), OSError(28, "No space left")])
    def test_where_it_cannot_take_its_place_the_old_one_keeps_it(
        self, path: Path, monkeypatch: pytest.MonkeyPatch, error: OSError
    ) -> None:
        """As on a system that does not replace a file that somebody has open."""

        def refuse(*_: Any) -> None:
            raise error

        with monkeypatch.context() as patch:
            patch.setattr(Path, "replace", refuse)
            with pytest.raises(CatalogError) as caught:
                write(path)
        assert caught.value.where == str(path)
        assert caught.value.way_out
        assert made_by(path) == "first"
        assert beside(path) == []


class TestFile:
    """The file that takes the place is as the old one was."""

    @pytest.mark.skipif(os.name == "nt", reason="no such modes there")
    @pytest.mark.parametrize("mode", [0o600, 0o640, 0o666])
    def test_who_may_read_and_write_it_stays(self, path: Path, mode: int) -> None:
        """A catalogue that is shared stays shared, a private one private."""
        path.chmod(mode)
        write(path)
        assert stat.S_IMODE(path.stat().st_mode) == mode

    @pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() != 0, reason="only root gives files away")
    def test_whose_it_is_stays(self, path: Path) -> None:
        """Also where another one writes to it who may do that."""
        os.chown(path, 1234, 4321)
        write(path)
        assert (path.stat().st_uid, path.stat().st_gid) == (1234, 4321)

    def test_the_copy_is_no_more_readable_than_the_file(self, path: Path) -> None:
        """While it is made, too."""
        path.chmod(0o600)
        with renewed(path):
            (copy,) = [one for one in path.parent.iterdir() if ".renewing-" in one.name and one.suffix != ".wal"]
            assert stat.S_IMODE(copy.stat().st_mode) == 0o600

    @pytest.mark.skipif(os.name == "nt", reason="symbolic links need rights there")
    def test_a_symbolic_link_stays_one(self, path: Path, tmp_path: Path) -> None:
        """What it points to is replaced, where that is."""
        link = tmp_path / "link.duckdb"
        link.symlink_to(path)
        write(link)
        assert link.is_symlink()
        assert not path.is_symlink()
        assert made_by(path) == "again"
        assert beside(path) == []

    @pytest.mark.skipif(os.name == "nt", reason="symbolic links need rights there")
    def test_a_symbolic_link_to_nothing_gets_its_file(self, tmp_path: Path) -> None:
        """The catalogue is made where the link points to."""
        link = tmp_path / "link.duckdb"
        link.symlink_to(tmp_path / "far" / "catalog.duckdb")
        write(link, "first")
        assert link.is_symlink()
        assert made_by(tmp_path / "far" / "catalog.duckdb") == "first"

    def test_a_file_that_may_not_be_written_is_not_replaced(self, path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        """Though the folder would let it: who took the right away meant it."""
        monkeypatch.setattr(os, "access", lambda *_: False)
        with pytest.raises(CatalogError, match="may not be read or written"):
            write(path)
        assert beside(path) == []


class TestRoom:
    """The disk is asked first."""

    def test_where_a_second_version_has_no_room_it_is_not_begun(
        self, path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """The error says how much it takes and how much there is."""
        size = path.stat().st_size
        monkeypatch.setattr(shutil, "disk_usage", lambda _: Room(10 * size, 9 * size, size - 1))
        monkeypatch.setattr(shutil, "copyfile", lambda *_: pytest.fail("it was copied"))
        with pytest.raises(CatalogError, match=f"takes {size / 1e6:,.1f} MB.* MB are free") as caught:
            write(path)
        assert caught.value.way_out
        assert beside(path) == []

    def test_what_just_fits_is_begun(self, path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        """The copy itself."""
        size = path.stat().st_size
        monkeypatch.setattr(shutil, "disk_usage", lambda _: Room(10 * size, 9 * size, size))
        write(path)
        assert made_by(path) == "again"


class TestTwoWriters:
    """One is at work at a time."""

    @pytest.mark.usefixtures("hasty")
    def test_the_second_is_told_who_is_at_work_and_since_when(self, path: Path) -> None:
        """And readers read, here and in a process of their own."""
        with writer(path) as other:
            with pytest.raises(
                CatalogError, match=rf"by process {other.pid}, since \d{{4}}-\d\d-\d\d \d\d:\d\d"
            ) as caught:
                write(path)
            assert "try again" in str(caught.value)
            assert made_by(path) == "first"
            code = "import sys; from loadworthy.catalog.store import Catalog; Catalog.open(sys.argv[1]).summary()"
            subprocess.run([sys.executable, "-c", code, str(path)], check=True)  # noqa: S603
            other.communicate("\n\n", timeout=20)
        assert made_by(path) == "another"
        assert beside(path) == []
        write(path)

    @pytest.mark.usefixtures("hasty")
    def test_an_intake_is_told_so_too_and_takes_nothing_in(self, shelf: Shelf) -> None:
        """What is in already needs no writing."""
        shelf.take_in(shelf.text(), name="other.csv")
        with writer(shelf.path):
            with pytest.raises(CatalogError, match="being written to"):
                shelf.take_in(shelf.text(shelf.ROWS[:1]))
            assert shelf.take_in(shelf.text(), name="other.csv").outcome == "same"
        assert len(shelf.rows("SELECT * FROM lists")) == 1

    @pytest.mark.usefixtures("hasty")
    def test_one_within_another_is_told_that_it_is_this_program(self, path: Path) -> None:
        """And spoils nothing."""
        with renewed(path) as catalog:
            catalog.connection.execute("UPDATE about SET made_by = 'outer'")
            with pytest.raises(CatalogError, match="by this program itself"):
                write(path)
        assert made_by(path) == "outer"

    def test_the_second_waits_for_one_that_is_soon_done(self, path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        """Many threads add one, each after another; none is lost."""
        monkeypatch.setattr(versions, "WAIT_S", 60.0)
        write(path, "")
        failed: list[BaseException] = []

        def add() -> None:
            try:
                with renewed(path) as catalog:
                    catalog.connection.execute("UPDATE about SET made_by = made_by || 'x'")
            except BaseException as error:
                failed.append(error)

        threads = [threading.Thread(target=add) for _ in range(8)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        assert failed == []
        assert made_by(path) == "x" * 8
        assert beside(path) == []


class TestDeadWriters:
    """What they leave is cleared away by the next writer, and by nobody else."""

    @pytest.mark.skipif(os.name == "nt", reason="no such signal there")
    def test_one_that_is_killed_leaves_the_catalogue_as_it_was(self, path: Path) -> None:
        """Its lock is free, its copy goes."""
        before = path.read_bytes()
        with writer(path) as other:
            other.send_signal(signal.SIGKILL)
            other.wait()
        assert path.read_bytes() == before
        assert any(".renewing-" in name for name in beside(path)), "nothing was left: the test shows nothing"
        assert made_by(path) == "first"
        write(path)
        assert made_by(path) == "again"
        assert beside(path) == []

    @pytest.mark.usefixtures("hasty")
    def test_who_has_to_wait_takes_nothing_of_a_live_one_away(self, path: Path) -> None:
        """Nor does a reader."""
        with writer(path) as other:
            there = beside(path)
            with pytest.raises(CatalogError):
                write(path)
            made_by(path)
            assert beside(path) == there
            other.communicate("\n\n", timeout=20)
        assert made_by(path) == "another"

    def test_only_what_a_writer_makes_is_taken_away(self, path: Path) -> None:
        """Files of like names, and those of another catalogue, are left alone."""
        others = ["catalog.duckdb.renewing-notes.txt", "catalog.duckdb.bak", "my-catalog.duckdb.renewing-1-2-0123abcd"]
        dead = ["catalog.duckdb.renewing-1-2-0123abcd", "catalog.duckdb.renewing-1-2-0123abcd.wal"]
        for name in [*others, *dead]:
            path.with_name(name).write_text("x")
        spilled = path.with_name("catalog.duckdb.renewing-1-2-0123abcd.tmp")
        spilled.mkdir()
        (spilled / "block").write_text("x")
        write(path)
        assert beside(path) == sorted(others)

    @pytest.mark.skipif(os.name == "nt", reason="no such signal there")
    def test_what_the_engine_had_not_put_into_the_file_is_not_lost(self, path: Path) -> None:
        """Somebody wrote to the file itself, by other means, and was killed: its log is still beside it."""
        code = (
            "import duckdb, os, signal, sys; c = duckdb.connect(sys.argv[1]);"
            "c.execute(\"UPDATE about SET made_by = 'by hand'\"); os.kill(os.getpid(), signal.SIGKILL)"
        )
        subprocess.run([sys.executable, "-c", code, str(path)], check=False)  # noqa: S603
        assert beside(path) == ["catalog.duckdb.wal"]
        assert made_by(path) == "by hand"
        with renewed(path):
            pass
        assert beside(path) == []
        assert made_by(path) == "by hand"

    def test_a_log_without_its_file_is_no_obstacle(self, path: Path) -> None:
        """The file was deleted, the log beside it was not."""
        path.with_name("catalog.duckdb.wal").write_bytes(path.read_bytes())
        path.unlink()
        write(path)
        assert made_by(path) == "again"


class TestIntake:
    """The tables of one call go into one new version."""

    def test_they_are_seen_all_at_once(self, shelf: Shelf, monkeypatch: pytest.MonkeyPatch) -> None:
        """However many files: the catalogue is copied once, and takes its place once."""
        shelf.take_in(shelf.text(shelf.ROWS[:1]), name="first.csv")
        copies: list[Any] = []
        copyfile = shutil.copyfile
        monkeypatch.setattr(shutil, "copyfile", lambda *words: copies.append(words) or copyfile(*words))
        seen = set()

        def look(_stage: str, _share: float) -> None:
            seen.add(len(shelf.rows("SELECT * FROM lists")))

        files = [shelf.write(shelf.text([shelf.row(Part=f"FP-{n}")]), f"{n}.csv") for n in range(4)]
        intake(
            shelf.path,
            files,
            progress=lambda stage, share: None if "is in" in stage and share == 1.0 else look(stage, share),
        )
        assert seen == {1}
        assert len(shelf.rows("SELECT * FROM lists")) == 5
        assert len(copies) == 1

    def test_nothing_is_copied_for_files_that_are_in(self, shelf: Shelf, monkeypatch: pytest.MonkeyPatch) -> None:
        """Nor for one that cannot be read."""
        shelf.take_in(shelf.text())
        monkeypatch.setattr(shutil, "copyfile", lambda *_: pytest.fail("it was copied"))
        before = shelf.path.stat()
        assert shelf.take_in(shelf.text()).outcome == "same"
        with pytest.raises(Exception, match="empty"):
            intake(shelf.path, [shelf.write(b"", "empty.csv")])
        assert (shelf.path.stat().st_ino, shelf.path.stat().st_mtime_ns) == (before.st_ino, before.st_mtime_ns)

    def test_the_rows_stay_sorted_as_they_lie_after_further_lists(self, shelf: Shelf) -> None:
        """By channel, package and voltage, as the family says: lists that add, share or replace go in between."""

        def listed(numbers: range) -> str:
            return shelf.text(
                shelf.row(
                    Part=f"FP-{n}", Package=("TO-220", "SO-8", "TO-252")[n % 3], Channel="NP"[n % 5 % 2],
                    VDS=f"{20 + n * 37 % 180}", Stock=f"{n}",
                )
                for n in numbers
            )  # fmt: skip

        for numbers, supplier in ((range(400), "Reed"), (range(300, 900), "Rush"), (range(200), "Reed")):
            shelf.take_in(listed(numbers), supplier=supplier)
            lying = shelf.rows("SELECT channel, package, vds_v FROM stored_transistor ORDER BY rowid")
            found = [tuple(one.values()) for one in lying]
            assert len({one[:2] for one in found}) == 6
            assert found == sorted(found)
        assert len(found) == 800
        assert shelf.rows("SELECT count(*) AS n FROM parts_transistor WHERE claims > 1") == [{"n": 0}]

    def test_the_file_does_not_grow_with_lists_that_replace_one_another(self, shelf: Shelf) -> None:
        """What is no longer needed is used again: after some lists of one size it is as large as after more of them."""
        sizes = []
        for turn in range(6):
            rows = [shelf.row(Part=f"FP-{n}", Stock=f"{turn}") for n in range(4000)]
            shelf.take_in(shelf.text(rows))
            sizes.append(shelf.path.stat().st_size)
        assert max(sizes[3:]) <= max(sizes[:3]), sizes
