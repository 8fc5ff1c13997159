"""What was measured, kept in a catalogue, and what choosing makes of it."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Any

import duckdb
import pytest

from loadworthy import shipped
from loadworthy.bench import measure
from loadworthy.bench.records import date_of, keep_records, supplier_of
from loadworthy.catalog.intake import intake
from loadworthy.catalog.store import Catalog
from loadworthy.catalog.versions import renewed
from loadworthy.errors import UsageError
from loadworthy.explanation import explain
from loadworthy.measured_parts import kept
from loadworthy.needs import TransistorNeed
from loadworthy.selection import choose

DAY = date(2025, 3, 14)
CLEAN = {"current": "6.000A", "gate": "5V", "temp": "25degC", "pulse": "300us"}


def _keep(catalog: Any, part: str, drop: str, *, supplier: str = "Thistledown", **given: str) -> int:
    result = measure("transistor", {**CLEAN, "drop": drop, **given}, part=part, catalog=catalog, kelvin=True)
    return keep_records(catalog, result, supplier=supplier, measured_on=DAY)


class TestKeeping:
    """A row a figure, summed up by part and supplier."""

    def test_every_figure_is_kept_as_it_was_found(self, catalog: Any) -> None:
        """Values, interval, claim, verdict, and whose part it was."""
        result = measure(
            "transistor", {**CLEAN, "drop": "54.0mV", "vth": "0.70V"}, part="ald-40", catalog=catalog, kelvin=True
        )
        assert keep_records(catalog, result, supplier="Thistledown", measured_on=DAY) == 2
        rows = catalog.connection.execute(
            "SELECT part_key, part_number, supplier, measured_on, figure, value, low, high, claimed_most, verdict "
            "FROM measured ORDER BY figure"
        ).fetchall()
        first = result.samples[0].findings[0]
        whose = ("ALDER|ALD-40", "ALD-40", "Thistledown", DAY)
        assert rows[0] == (*whose, "on_resistance", first.value, first.low, first.high, 0.010, "within")
        assert (rows[1][4], rows[1][-1]) == ("threshold", "outside")

    def test_samples_are_summed_up_by_supplier(self, catalog: Any) -> None:
        """A sample is outside where one figure is; each session's count for themselves."""
        for supplier, drop in (("Thistledown", "54.0mV"), ("thistledown", "90.0mV"), ("Ninefold", "60.0mV")):
            _keep(catalog, "ALD-40", drop, supplier=supplier)
        _keep(catalog, "ALD-40", "54.0mV", marking="differs")
        found = {row["supplier"].lower(): row for row in kept(catalog.connection).rows}
        counted = ("samples", "within", "outside", "not_decided")
        assert [found["thistledown"][name] for name in counted] == [3, 1, 2, 0]
        assert [found["ninefold"][name] for name in counted] == [1, 0, 0, 1]
        assert found["ninefold"]["last_on"] == "2025-03-14"

    def test_of_one_family_only(self, catalog: Any) -> None:
        """A fuse is none of the transistors."""
        result = measure("fuse", {"drop": "15.0mV", "current": "0.500A"}, part="QR-5", catalog=catalog, kelvin=True)
        keep_records(catalog, result, supplier="Ninefold", measured_on=DAY)
        assert kept(catalog.connection, "transistor").rows == ()
        assert len(kept(catalog.connection, "fuse").rows) == 1

    def test_a_failure_keeps_nothing_of_it(self, catalog: Any) -> None:
        """All of it or nothing."""
        catalog.connection.execute("CREATE UNIQUE INDEX one_each ON measured (session)")
        with pytest.raises(duckdb.ConstraintException):
            _keep(catalog, "ALD-40", "54.0mV", vth="1.80V")
        assert kept(catalog.connection).rows == ()


class TestWords:
    """Supplier and date."""

    def test_a_record_has_a_supplier(self) -> None:
        """Blanks are folded; none is refused."""
        assert supplier_of("  Nine  fold ") == "Nine fold"
        for text in (None, " "):
            with pytest.raises(UsageError, match="who sold"):
                supplier_of(text)

    @pytest.mark.parametrize("text", ["14.3.2025", "2025-13-01", "soon", "2025-03-16"])
    def test_a_date_is_one_and_not_to_come(self, text: str) -> None:
        """Year, month, day; tomorrow is today somewhere."""
        with pytest.raises(UsageError):
            date_of(text, today=DAY)
        assert date_of("2025-03-15", today=DAY) == date(2025, 3, 15)
        assert date_of(None, today=DAY) == DAY


@pytest.fixture(scope="module")
def lists() -> list[Path]:
    """Return two of the greenhouse's lists of transistors."""
    folder = shipped.catalog_dir() / "greenhouse"
    return [folder / "thistledown.csv", folder / "ninefold.tsv"]


class TestChoosing:
    """What was measured is said of a part that is offered again, and can bar it."""

    def test_is_said_and_bars_where_asked(self, tmp_path: Path, lists: list[Path]) -> None:
        """The list is the old one without the part, and the count says why; taking lists in again forgets nothing."""
        path = tmp_path / "catalog.duckdb"
        intake(path, lists)
        asked = {"supply": "12V", "resistance": "1R6"}
        with renewed(path) as catalog:
            before = choose(catalog, TransistorNeed(**asked), top=5)
            first, second = (row["part_number"] for row in before.ranked[:2])
            _keep(catalog, first, "600.0mV", claimed_on_resistance="5mohm")
            _keep(catalog, second, "6.0mV", claimed_on_resistance="5mohm")
        intake(path, lists[:1], keep_earlier=False)
        with Catalog.open(path) as catalog:
            plain = choose(catalog, TransistorNeed(**asked), top=5)
            barring = choose(catalog, TransistorNeed(**asked, bar_measured_outside=True), top=4)
            told = explain(catalog, first, TransistorNeed(**asked, bar_measured_outside=True))
        assert [row["part_number"] for row in plain.ranked] == [row["part_number"] for row in before.ranked]
        assert any("1 outside (Thistledown, 2025-03-14)" in text for text in plain.ranked[0]["remarks"])
        assert any("1 of 1 within" in text for text in plain.ranked[1]["remarks"])
        assert not any("measured" in text for text in plain.ranked[2]["remarks"])
        assert [row["part_number"] for row in barring.ranked] == [row["part_number"] for row in plain.ranked[1:]]
        assert plain.counts is not None
        assert barring.counts is not None
        assert barring.counts.stopped["measured"] == 1
        assert "measured" not in plain.counts.stopped
        assert barring.counts.considered == plain.counts.considered
        assert barring.counts.fit == plain.counts.fit - 1
        assert all(miss["part_number"] != first for miss in barring.near_misses)
        assert any("1 outside" in text for text in told.remarks)

    def test_can_be_preferred(self, tmp_path: Path, lists: list[Path]) -> None:
        """A part further down of which all is within comes first; one that was outside once gains nothing."""
        path = tmp_path / "catalog.duckdb"
        intake(path, lists)
        asked = {"supply": "12V", "resistance": "1R6"}
        with renewed(path) as catalog:
            plain = [row["part_number"] for row in choose(catalog, TransistorNeed(**asked), top=20).ranked]
            _keep(catalog, plain[14], "6.0mV", claimed_on_resistance="5mohm")
            _keep(catalog, plain[6], "6.0mV", claimed_on_resistance="5mohm")
            _keep(catalog, plain[6], "600.0mV", claimed_on_resistance="5mohm")
            misfit = choose(catalog, TransistorNeed(**asked), near=5).near_misses[0]["part_number"]
            _keep(catalog, misfit, "6.0mV", claimed_on_resistance="5mohm")
            preferring = choose(catalog, TransistorNeed(**asked, prefer_measured=True), top=5).ranked
        assert [row["part_number"] for row in preferring] == [plain[14], *plain[:4]]
        assert [row["rank"] for row in preferring] == [1, 2, 3, 4, 5]

    def test_with_nothing_kept_it_bars_nothing(self, tmp_path: Path, lists: list[Path]) -> None:
        """The same list either way."""
        path = tmp_path / "catalog.duckdb"
        intake(path, lists[:1])
        with Catalog.open(path) as catalog:
            one = choose(catalog, TransistorNeed(supply="12V", resistance="1R6"))
            other = choose(catalog, TransistorNeed(supply="12V", resistance="1R6", bar_measured_outside=True))
        assert one.ranked == other.ranked
        assert other.counts is not None
        assert other.counts.stopped["measured"] == 0

    def test_a_part_measured_before_any_list_held_it_is_known_by_its_number(
        self, tmp_path: Path, lists: list[Path]
    ) -> None:
        """Case does not count."""
        path = tmp_path / "catalog.duckdb"
        with renewed(tmp_path / "other.duckdb"):
            pass
        intake(path, lists)
        with renewed(path) as catalog:
            need = TransistorNeed(supply="12V", resistance="1R6")
            first = choose(catalog, need, top=1).ranked[0]["part_number"]
            result = measure(
                "transistor",
                {**CLEAN, "drop": "600.0mV", "claimed_on_resistance": "5mohm"},
                part=first.lower(),
                kelvin=True,
            )
            keep_records(catalog, result, supplier="Ninefold", measured_on=DAY)
            barring = choose(catalog, TransistorNeed(supply="12V", resistance="1R6", bar_measured_outside=True), top=3)
        assert first not in [row["part_number"] for row in barring.ranked]
        assert barring.counts is not None
        assert barring.counts.stopped["measured"] == 1
