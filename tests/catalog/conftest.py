"""A catalogue in a folder of its own, and suppliers' lists written into it."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from loadworthy.catalog.intake import intake
from loadworthy.catalog.reports import IntakeReport
from loadworthy.catalog.store import Catalog

HEADINGS = (
    "Maker", "Part number", "Package", "Channel", "VDS max (V)", "VGS max (V)", "VGS(th) max (V)",
    "RDS(on) max at VGS = 10 V (mΩ)", "RDS(on) max at VGS = 4.5 V (mΩ)", "ID at Tc = 25 °C (A)",
    "TJ max (°C)", "Price each (EUR)", "Stock",
)  # fmt: skip
"""Headings that leave no doubt."""

ROWS = (
    ("Fernhill Power", "FP-12", "TO-220", "N", "30", "20", "2.5", "8.2", "12.4", "40.5", "175", "0.52", "10"),
    ("Fernhill Power", "FP-14", "SO-8", "N", "60", "16", "2.2", "14", "19", "11", "150", "0.61", "0"),
    ("Mossbank", "MB7", "TO-220", "P", "55", "20", "3.9", "22", "", "31", "175", "0.75", "240"),
)
"""A small list in order."""


@dataclass(frozen=True)
class Shelf:
    """A catalogue file and the folder in which lists are written."""

    folder: Path

    @property
    def path(self) -> Path:
        """The catalogue file."""
        return self.folder / "catalog.duckdb"

    @staticmethod
    def text(rows: Iterable[Sequence[str]] = ROWS, headings: Sequence[str] = HEADINGS, delimiter: str = ",") -> str:
        """Write a list as delimited text."""
        lines = io.StringIO(newline="")
        csv.writer(lines, delimiter=delimiter, lineterminator="\n").writerows([headings, *rows])
        return lines.getvalue()

    def write(self, content: str | bytes, name: str = "list.csv", encoding: str = "utf-8") -> Path:
        """Write a list's file."""
        file = self.folder / name
        file.write_bytes(content if isinstance(content, bytes) else content.encode(encoding))
        return file

    def take_in(self, content: str | bytes, *, name: str = "list.csv", **said: Any) -> IntakeReport:
        """Write a list and take it in."""
        (report,) = intake(self.path, [self.write(content, name)], **said)
        return report

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


@pytest.fixture
def elsewhere(tmp_path: Path) -> Shelf:
    """Give a second one."""
    folder = tmp_path / "elsewhere"
    folder.mkdir()
    return Shelf(folder)
