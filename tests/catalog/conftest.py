"""A catalogue in a folder of its own, and suppliers' lists written into it."""

from __future__ import annotations

import csv
import io
import math
import tempfile
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, ClassVar

import pytest

from loadworthy.catalog.intake import intake
from loadworthy.catalog.reports import IntakeReport
from loadworthy.catalog.store import Catalog


def assert_closes(report: IntakeReport) -> None:
    """Hold a report to its account: rows in are parts with offers, headings, notes and refusals."""
    told = (report.rows_parts, report.rows_headings, report.rows_notes, report.rows_refused)
    assert report.rows_read == sum(told), told
    assert report.offers == report.rows_parts


@dataclass(frozen=True)
class Shelf:
    """A catalogue file and the folder in which lists are written."""

    folder: Path

    HEADINGS: ClassVar = (
        "Maker", "Part number", "Package", "Channel", "VDS max (V)", "VGS max (V)", "VGS(th) max (V)",
        "RDS(on) max at VGS = 10 V (mΩ)", "RDS(on) max at VGS = 4.5 V (mΩ)", "ID at Tc = 25 °C (A)",
        "TJ max (°C)", "Price each (EUR)", "Stock",
    )  # fmt: skip
    ROWS: ClassVar = (
        ("Fernhill Power", "FP-12", "TO-220", "N", "30", "20", "2.5", "8.2", "12.4", "40.5", "175", "0.52", "10"),
        ("Fernhill Power", "FP-14", "SO-8", "N", "60", "16", "2.2", "14", "19", "11", "150", "0.61", "0"),
        ("Mossbank", "MB7", "TO-220", "P", "55", "20", "3.9", "22", "", "31", "175", "0.75", "240"),
    )

    @property
    def path(self) -> Path:
        """The catalogue file."""
        return self.folder / "catalog.duckdb"

    @classmethod
    def row(cls, number: int = 0, /, **cells: str) -> tuple[str, ...]:
        """Return a row of the small list with other texts in some cells, named as their headings begin."""
        texts = dict(zip(cls.HEADINGS, cls.ROWS[number], strict=True))
        for beginning, text in cells.items():
            (heading,) = (heading for heading in cls.HEADINGS if heading.startswith(beginning))
            texts[heading] = text
        return tuple(texts.values())

    @classmethod
    def text(
        cls,
        rows: Iterable[Sequence[str]] = ROWS,
        headings: Sequence[str] = HEADINGS,
        delimiter: str = ",",
    ) -> str:
        """Write a list, in order and with headings that leave no doubt, as delimited text."""
        lines = io.StringIO(newline="")
        csv.writer(lines, delimiter=delimiter, lineterminator="\n").writerows([headings, *rows])
        return lines.getvalue()

    def write(self, content: str | bytes, name: str = "list.csv", encoding: str = "utf-8") -> Path:
        """Write a list's file."""
        file = self.folder / name
        file.write_bytes(content if isinstance(content, bytes) else content.encode(encoding))
        return file

    def take_in(self, content: str | bytes, *, name: str = "list.csv", **said: Any) -> IntakeReport:
        """Write a list and take it in; whatever it holds, its account closes."""
        (report,) = intake(self.path, [self.write(content, name)], **said)
        assert_closes(report)
        return report

    def another(self) -> Shelf:
        """Give an empty shelf in a folder of its own."""
        return Shelf(Path(tempfile.mkdtemp(dir=self.folder)))

    @staticmethod
    def apart(found: Mapping[str, Any], told: Mapping[str, Any]) -> dict[str, tuple[Any, Any]]:
        """Return those of the told values that were found to be others; numbers are told to nine digits."""
        unlike = {}
        for name, value in told.items():
            here = found[name]
            numbers = isinstance(here, float) and isinstance(value, float | int)
            if not (math.isclose(here, value, rel_tol=1e-9) if numbers else here == value):
                unlike[name] = (here, value)
        return unlike

    def parts(self) -> dict[str, dict[str, Any]]:
        """Return the transistors by their part numbers."""
        with Catalog.open(self.path) as catalog:
            return {row["part_number"]: row for row in catalog.parts("transistor").to_pylist()}

    def rows(self, statement: str) -> list[dict[str, Any]]:
        """Ask the catalogue."""
        with Catalog.open(self.path) as catalog:
            return catalog.rows(statement)

    def refused(self) -> list[dict[str, Any]]:
        """Return what was refused, all of it."""
        with Catalog.open(self.path) as catalog:
            return catalog.refused(limit=100_000)

    def tables(self, *, but: Sequence[str] = ()) -> Mapping[str, list[str]]:
        """Return every row of every table and view as text, without some columns."""
        found = {}
        with Catalog.open(self.path) as catalog:
            names = catalog.rows("SELECT table_name AS n FROM information_schema.tables ORDER BY n")
            for name in (row["n"] for row in names):
                rows = catalog.rows(f'SELECT * FROM "{name}"')
                found[name] = sorted(repr({k: v for k, v in row.items() if k not in but}) for row in rows)
        return found


@pytest.fixture
def shelf(tmp_path: Path) -> Shelf:
    """Give a catalogue that is not there yet."""
    return Shelf(tmp_path)


@pytest.fixture(scope="session")
def shelves(tmp_path_factory: pytest.TempPathFactory) -> Shelf:
    """Give a folder for further shelves, for all tests together."""
    return Shelf(tmp_path_factory.mktemp("shelves"))


@pytest.fixture(scope="session")
def plain(shelves: Shelf) -> Shelf:
    """Give a catalogue that holds the small list; to be read only."""
    shelf = shelves.another()
    shelf.take_in(shelf.text())
    return shelf
