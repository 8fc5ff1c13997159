"""A catalogue held open: many readings at once, each on one version, the newest for whoever begins."""

from __future__ import annotations

import threading
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import TYPE_CHECKING

import duckdb
import pytest

from loadworthy.catalog.exporting import export
from loadworthy.catalog.holder import CatalogHolder
from loadworthy.catalog.intake import intake
from loadworthy.catalog.store import Catalog
from loadworthy.catalog.versions import renewed
from loadworthy.errors import CatalogError
from loadworthy.needs import TransistorNeed
from loadworthy.selection import choose

if TYPE_CHECKING:
    from conftest import Shelf


def parts(catalog: Catalog) -> int:
    """Count the transistors."""
    return int(catalog.rows("SELECT count(*) AS n FROM parts_transistor")[0]["n"])


class TestVersions:
    """Which version a reading has."""

    def test_a_reading_that_begins_after_an_intake_has_the_new_parts(self, shelf: Shelf) -> None:
        """One that began before ends on the old ones, whatever it asks."""
        shelf.take_in(shelf.text(shelf.ROWS[:1]))
        holder = CatalogHolder(shelf.path)
        with holder.reading() as before:
            assert parts(before) == 1
            shelf.take_in(shelf.text(shelf.ROWS[:2]))
            with holder.reading() as between:
                shelf.take_in(shelf.text())
                with holder.reading() as after:
                    assert [parts(one) for one in (before, between, after)] == [1, 2, 3]
        holder.close()

    def test_a_version_is_opened_once_and_closed_with_its_last_reading(
        self, shelf: Shelf, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """The newest stays open between readings."""
        shelf.take_in(shelf.text(shelf.ROWS[:1]))
        opened: list[Catalog] = []
        plainly = Catalog.open

        def noted(path: Path) -> Catalog:
            opened.append(plainly(path))
            return opened[-1]

        def is_open(catalog: Catalog) -> bool:
            try:
                catalog.connection.execute("SELECT 1")
            except duckdb.ConnectionException:
                return False
            return True

        holder = CatalogHolder(shelf.path)
        with monkeypatch.context() as patch:
            patch.setattr(Catalog, "open", noted)
            with holder.reading(), holder.reading():
                pass
            with holder.reading():
                assert len(opened) == 1
            assert is_open(opened[0])
        newer = shelf.write(shelf.text())
        with monkeypatch.context() as patch:
            with holder.reading():
                intake(shelf.path, [newer])
                patch.setattr(Catalog, "open", noted)
                with holder.reading():
                    assert len(opened) == 2
                assert [is_open(one) for one in opened] == [True, True]
            assert [is_open(one) for one in opened] == [False, True]
        holder.close()
        assert [is_open(one) for one in opened] == [False, False]

    def test_what_is_written_in_any_other_way_is_seen_too(self, shelf: Shelf) -> None:
        """A file that somebody copied over it."""
        other = shelf.another()
        other.take_in(shelf.text())
        shelf.take_in(shelf.text(shelf.ROWS[:1]))
        holder = CatalogHolder(shelf.path)
        with holder.reading() as catalog:
            assert parts(catalog) == 1
        other.path.replace(shelf.path)
        with holder.reading() as catalog:
            assert parts(catalog) == 3
        holder.close()

    def test_where_an_open_file_cannot_be_replaced_it_is_closed_after_each_reading(self, shelf: Shelf) -> None:
        """When nobody reads it, nobody holds it."""
        shelf.take_in(shelf.text())
        holder = CatalogHolder(shelf.path, keep_open=False)
        with holder.reading() as one:
            with holder.reading() as other:
                assert parts(other) == 3
            assert parts(one) == 3
        # Nothing of it is open: it can be opened for writing in its place.
        duckdb.connect(str(shelf.path)).close()
        with holder.reading() as again:
            assert parts(again) == 3


class TestErrors:
    """A catalogue that cannot be read is told each time, until it can."""

    def test_one_that_is_not_there_yet(self, shelf: Shelf) -> None:
        """The usual error; the reading after the first intake has it."""
        holder = CatalogHolder(shelf.path)
        for _ in range(2):
            with pytest.raises(CatalogError, match="loadworthy intake"), holder.reading():
                pass
        shelf.take_in(shelf.text())
        with holder.reading() as catalog:
            assert parts(catalog) == 3
        holder.close()

    def test_one_that_is_gone_again(self, shelf: Shelf) -> None:
        """What was open is not shown as if it were there."""
        shelf.take_in(shelf.text())
        holder = CatalogHolder(shelf.path)
        with holder.reading():
            shelf.path.unlink()
            with pytest.raises(CatalogError, match="no catalogue here"), holder.reading():
                pass
        shelf.take_in(shelf.text(shelf.ROWS[:1]))
        with holder.reading() as catalog:
            assert parts(catalog) == 1
        holder.close()

    def test_one_that_is_damaged(self, shelf: Shelf) -> None:
        """Somebody wrote something else over it."""
        shelf.take_in(shelf.text())
        holder = CatalogHolder(shelf.path)
        with holder.reading():
            pass
        shelf.path.unlink()
        shelf.path.write_text("seeds and pots\n" * 1000)
        with pytest.raises(CatalogError, match="not a catalogue"), holder.reading():
            pass

    def test_a_statement_that_fails_is_an_error_of_the_projects_own(self, shelf: Shelf) -> None:
        """And the next reading is none the worse for it."""
        shelf.take_in(shelf.text())
        holder = CatalogHolder(shelf.path)
        with pytest.raises(CatalogError), holder.reading() as catalog:
            catalog.connection.execute("SELECT nothing FROM nowhere")
        with pytest.raises(CatalogError), holder.reading() as catalog:
            catalog.connection.execute("DELETE FROM offers")
        with holder.reading() as catalog:
            assert parts(catalog) == 3
        holder.close()


class TestThreads:
    """Readers in many threads, while others write."""

    def test_readers_never_wait_for_an_intake_nor_fail(self, shelf: Shelf) -> None:
        """In the same process: all the while the old parts, after it the new ones, and never anything between."""
        shelf.take_in(shelf.text(), name="other.csv")
        newer = shelf.write(shelf.text(shelf.row(Part=f"NEW-{n}", Stock=f"{n}") for n in range(3000)), "reed.csv")
        holder = CatalogHolder(shelf.path)
        begun, done = threading.Event(), threading.Event()
        readings = [0]

        def read() -> list[int]:
            seen = []
            while True:
                last = done.is_set()
                with holder.reading() as catalog:
                    chosen = choose(catalog, TransistorNeed(supply="12V", current="1A"), top=3)
                    assert chosen.counts is not None
                    assert chosen.counts.considered == parts(catalog)
                    seen.append(parts(catalog))
                readings[0] += 1
                begun.set()
                if last:
                    return seen

        with ThreadPoolExecutor(3) as pool:
            readers = [pool.submit(read) for _ in range(3)]
            assert begun.wait(30)
            during: list[int] = []
            intake(shelf.path, [newer], progress=lambda *_: during.append(readings[0]))
            done.set()
            found = [reader.result() for reader in readers]
        holder.close()
        assert during[-1] > during[0], "nobody read meanwhile"
        for seen in found:
            assert set(seen) == {3, 3003}
            assert seen == sorted(seen)

    def test_many_versions_come_and_go_under_many_readers(self, shelf: Shelf) -> None:
        """Each reading finds one version, none older than what was in when it began."""
        shelf.take_in(shelf.text())
        holder = CatalogHolder(shelf.path)
        written = [0]

        def write() -> None:
            for number in range(1, 16):
                with renewed(shelf.path) as catalog:
                    catalog.connection.execute("UPDATE about SET made_by = ?", [str(number)])
                written[0] = number

        def read() -> int:
            readings = 0
            while written[0] < 15:
                least = written[0]
                with holder.reading() as catalog:
                    first, again = (
                        int(catalog.rows("SELECT coalesce(try_cast(made_by AS INTEGER), 0) AS n FROM about")[0]["n"])
                        for _ in range(2)
                    )
                assert first == again >= least
                readings += 1
            return readings

        with ThreadPoolExecutor(4) as pool:
            readers = [pool.submit(read) for _ in range(3)]
            pool.submit(write).result()
            assert all(reader.result() > 0 for reader in readers)
        with holder.reading() as catalog:
            assert catalog.rows("SELECT made_by FROM about") == [{"made_by": "15"}]
        holder.close()


class TestSets:
    """A set of Parquet files, which is only read."""

    def test_the_next_reading_has_the_set_that_took_its_place(self, shelf: Shelf, tmp_path: Path) -> None:
        """As of a file; a folder that is empty yet is told."""
        holder = CatalogHolder(tmp_path / "set")
        assert not holder.there
        with pytest.raises(CatalogError, match="no catalogue here yet"), holder.reading():
            pass
        for count in (1, 3):
            shelf.take_in(shelf.text(shelf.ROWS[:count]))
            with Catalog.open(shelf.path) as catalog:
                export(catalog, tmp_path / "set")
            with holder.reading() as reading:
                assert parts(reading) == count
            assert holder.there
            assert holder.only_read
        holder.close()

    def test_a_set_is_opened_once_for_many_readers(self, shelf: Shelf, tmp_path: Path) -> None:
        """Each has a connection of its own to it."""
        shelf.take_in(shelf.text())
        with Catalog.open(shelf.path) as catalog:
            export(catalog, tmp_path / "set")
        holder = CatalogHolder(tmp_path / "set")

        def chosen() -> list[str]:
            with holder.reading() as catalog:
                return [
                    row["part_number"] for row in choose(catalog, TransistorNeed(supply="12V", current="1A")).ranked
                ]

        with ThreadPoolExecutor(3) as pool:
            answers = [pool.submit(chosen) for _ in range(6)]
            assert all(answer.result() == answers[0].result() for answer in answers)
        holder.close()
