"""The catalogue answers what it holds, to any number of readers."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING

import duckdb
import pyarrow as pa
import pytest

from loadworthy.catalog import families
from loadworthy.catalog.schema import SCHEMA_VERSION, claim_columns, part_columns
from loadworthy.catalog.store import Catalog, default_path
from loadworthy.catalog.versions import renewed
from loadworthy.errors import CatalogError, FamilyError

if TYPE_CHECKING:
    from conftest import Shelf

LEVELS = ("1v8", "2v5", "2v7", "3v3", "4v0", "4v5", "5v0", "6v0", "8v0", "10v0", "12v0")


class TestOpening:
    """What can be opened."""

    def test_a_catalogue_is_made_where_there_is_none_and_folders_too(self, tmp_path: Path) -> None:
        """Opened for writing; it says its schema."""
        path = tmp_path / "shed" / "catalog.duckdb"
        with renewed(path) as catalog:
            assert catalog.rows("SELECT loadworthy_schema AS v FROM about") == [{"v": SCHEMA_VERSION}]
        with Catalog.open(path) as catalog:
            assert catalog.summary().lists == ()

    def test_reading_makes_no_file(self, tmp_path: Path) -> None:
        """The error says how to fill one."""
        path = tmp_path / "catalog.duckdb"
        with pytest.raises(CatalogError, match="loadworthy intake") as caught:
            Catalog.open(path)
        assert caught.value.where == str(path)
        assert list(tmp_path.iterdir()) == []

    def test_readers_can_stand_side_by_side_and_write_nothing(self, plain: Shelf) -> None:
        """A reader's attempt to write is an error of the project's own."""
        with Catalog.open(plain.path) as one, Catalog.open(plain.path) as other:
            assert one.parts("transistor").equals(other.parts("transistor"))
            with pytest.raises(CatalogError):
                one.rows("DELETE FROM offers")
        assert len(plain.parts()) == 3

    def test_it_is_the_version_that_stands_there_when_it_is_opened(self, shelf: Shelf) -> None:
        """Not the one that the same process has open of the same path: that one stays as it was."""
        shelf.take_in(shelf.text(shelf.ROWS[:1]))
        with Catalog.open(shelf.path) as before:
            shelf.take_in(shelf.text())
            with Catalog.open(shelf.path) as after:
                assert (before.parts("transistor").num_rows, after.parts("transistor").num_rows) == (1, 3)

    def test_another_connection_sees_the_same_and_ends_with_the_first(self, plain: Shelf) -> None:
        """A cursor too; one that is left open would keep the file open."""
        with Catalog.open(plain.path) as catalog:
            cursor = catalog.connection.cursor()
            assert cursor.execute("SELECT count(*) FROM parts_transistor").fetchone() == (3,)
            with catalog.another() as other:
                assert other.parts("transistor").equals(catalog.parts("transistor"))
            assert catalog.parts("transistor").num_rows == 3
        with pytest.raises(duckdb.ConnectionException):
            cursor.execute("SELECT 1")

    def test_a_path_with_a_quote_in_it_is_a_path(self, tmp_path: Path) -> None:
        """The engine is told it as text."""
        path = tmp_path / "Fern's shed; DROP" / "catalog.duckdb"
        with renewed(path):
            pass
        with Catalog.open(path) as catalog:
            assert catalog.summary().lists == ()

    def test_it_is_closed_behind_the_last_line_and_after_an_error(self, shelf: Shelf) -> None:
        """Leaving the block lets the file go."""
        shelf.take_in(shelf.text())
        with pytest.raises(ZeroDivisionError), Catalog.open(shelf.path) as catalog:
            _ = len(catalog.rows("SELECT 1 AS one")) / 0
        with pytest.raises(duckdb.ConnectionException):
            catalog.connection.execute("SELECT 1")

    def test_nothing_is_fetched_while_it_is_open(self, plain: Shelf) -> None:
        """The engine neither installs nor loads anything on its own."""
        with Catalog.open(plain.path) as catalog:
            told = catalog.rows("SELECT name, value FROM duckdb_settings() WHERE name LIKE 'auto%known_extensions'")
        assert [one["value"] for one in told] == ["false", "false"]


class TestDefaultPath:
    """Where the catalogue is kept."""

    def test_the_environment_names_it(self, monkeypatch: pytest.MonkeyPatch) -> None:
        """LOADWORTHY_CATALOG counts before the user's data folder."""
        monkeypatch.setenv("LOADWORTHY_CATALOG", "/shed/my.duckdb")
        assert default_path() == Path("/shed/my.duckdb")

    @pytest.mark.parametrize("said", ["", None])
    def test_else_it_is_in_the_users_data_folder(self, monkeypatch: pytest.MonkeyPatch, said: str | None) -> None:
        """An empty variable names nothing."""
        monkeypatch.delenv("LOADWORTHY_CATALOG", raising=False)
        if said is not None:
            monkeypatch.setenv("LOADWORTHY_CATALOG", said)
        path = default_path()
        assert path.is_absolute()
        assert "loadworthy" in path.parts


class TestSummary:
    """What the catalogue holds."""

    def test_it_counts_lists_parts_offers_and_refusals(self, shelf: Shelf) -> None:
        """And says how complete each figure is."""
        shelf.take_in(shelf.text([shelf.row(VDS="plenty"), *shelf.ROWS[1:]]), name="reed.csv")
        shelf.take_in(shelf.text(shelf.ROWS[2:]), name="rush.csv")
        with Catalog.open(shelf.path) as catalog:
            summary = catalog.summary()
        assert [(one["file"], one["supplier"], one["rows_parts"]) for one in summary.lists] == [
            ("reed.csv", "reed", 3), ("rush.csv", "rush", 1),
        ]  # fmt: skip
        (family,) = summary.families
        assert (family["family"], family["parts"], family["offers"]) == ("transistor", 3, 4)
        assert summary.refused == {"cell": 1}
        shares = family["completeness"]
        assert all(0 <= share <= 1 for share in shares.values())
        assert shares["vds_v"] == pytest.approx(2 / 3)
        assert (shares["vgs_max_v"], shares["qg_c"], shares["rds_from_v"]) == (1, 0, 1)
        assert json.loads(json.dumps(summary.as_json()))["path"] == str(shelf.path)

    def test_refusals_come_in_the_order_of_the_file_and_no_more_than_asked(self, shelf: Shelf) -> None:
        """A list of a hundred refusals is cut where the caller says."""
        rows = [shelf.row(Part=f"FP-{n}", VDS="plenty" if n % 4 == 0 else "30") for n in range(40)]
        shelf.take_in(shelf.text(rows))
        with Catalog.open(shelf.path) as catalog:
            assert [one["record"] for one in catalog.refused(limit=3)] == [2, 6, 10]
            assert len(catalog.refused()) == 10
            assert catalog.refused(list_id=99) == []


class TestParts:
    """The table of parts."""

    def test_it_is_an_arrow_table_with_one_row_a_part(self, plain: Shelf) -> None:
        """By maker and part number, figures as 64-bit floats."""
        with Catalog.open(plain.path) as catalog:
            parts = catalog.parts("transistor")
        assert isinstance(parts, pa.Table)
        assert parts.column("part_number").to_pylist() == ["FP-12", "FP-14", "MB7"]
        assert parts.schema.field("vds_v").type == pa.float64()

    def test_it_has_every_column_whether_a_list_fills_it_or_not(self, plain: Shelf) -> None:
        """Queries can name any figure of the family."""
        columns = set(next(iter(plain.parts().values())))
        family = families.load("transistor")
        assert {column.name for column in part_columns(family)} <= columns
        assert {f"rds_{level}_ohm" for level in LEVELS} | {f"rds_{level}_at_v" for level in LEVELS} <= columns
        assert {f"rds_typ_{level}_ohm" for level in LEVELS} | {"rds_from_v", "claims", "differs"} <= columns
        assert len({name for name, _ in claim_columns(family)}) == len(claim_columns(family))

    def test_it_is_sorted_for_the_queries(self, shelf: Shelf) -> None:
        """By channel, package and voltage, as the family says."""
        rows = [
            shelf.row(Part=f"FP-{n}", Package=("TO-220", "SO-8")[n % 2], Channel="NP"[n % 3 % 2], VDS=f"{100 - n}")
            for n in range(30)
        ]
        shelf.take_in(shelf.text(rows))
        found = [tuple(one.values()) for one in shelf.rows("SELECT channel, package, vds_v FROM parts_transistor")]
        assert found == sorted(found)

    def test_levels_are_filled_upwards_only(self, plain: Shelf) -> None:
        """12.4 mΩ at 4.5 V holds up to 8 V, 8.2 mΩ from 10 V; below 4.5 V nothing is known."""
        part = plain.parts()["FP-12"]
        found = [(part[f"rds_{level}_ohm"], part[f"rds_{level}_at_v"]) for level in LEVELS]
        assert found == [(None, None)] * 5 + [(0.0124, 4.5)] * 4 + [(0.0082, 10.0)] * 2
        assert part["rds_from_v"] == 4.5

    def test_a_maximum_above_the_highest_level_is_told_by_its_gate_voltage(self, shelf: Shelf) -> None:
        """A part that is specified at 15 V alone has a maximum: the near-miss list says where."""
        headings = ("Maker", "Part number", "VDS max (V)", "RDS(on) max at VGS = 15 V (mΩ)")
        shelf.take_in(shelf.text([("Mossbank", f"MB{n}", "650", f"{n}") for n in range(20, 25)], headings))
        part = shelf.parts()["MB20"]
        assert part["rds_12v0_ohm"] is None
        assert part["rds_from_v"] == 15.0

    def test_families_that_are_not_there_are_errors(self, plain: Shelf, tmp_path: Path) -> None:
        """Unknown to the program, or not in the catalogue yet."""
        with Catalog.open(plain.path) as catalog, pytest.raises(FamilyError):
            catalog.parts("gizmo")
        with renewed(tmp_path / "new.duckdb") as catalog, pytest.raises(CatalogError) as caught:
            catalog.parts("transistor")
        assert caught.value.way_out

    def test_a_statement_that_fails_is_an_error_of_the_projects_own(self, plain: Shelf) -> None:
        """The engine's exceptions do not leave the store."""
        with Catalog.open(plain.path) as catalog, pytest.raises(CatalogError):
            catalog.rows("SELECT nothing FROM nowhere")
