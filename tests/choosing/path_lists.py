"""Lists of the parts of a current's path, read heading by heading and cell by cell."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from loadworthy import Catalog, intake
from loadworthy.catalog import families
from loadworthy.catalog.cells import Refused, read_cell
from loadworthy.catalog.headings import HeadingReading, read_heading
from loadworthy.catalog.outputs import outputs_of


def heading(family: str, text: str) -> HeadingReading:
    """Read one heading of a family's list."""
    return read_heading(text, families.load(family))


def kept(family: str, under: str, cell: str, *, decimal: Any = ".") -> dict[str, Any] | str | None:
    """Return the columns that a cell under a heading fills, or why it is refused."""
    known = families.load(family)
    read = read_heading(under, known)
    assert read.reads is not None, under
    figure = known.figure(read.reads)
    readings = read_cell(
        cell, figure, decimal=decimal, unit=read.unit, statistic=read.statistic, degc=read.degc, place=read.place
    )
    if readings is None:
        return None
    found = readings if isinstance(readings, Refused) else outputs_of(figure, readings)
    return found.reason if isinstance(found, Refused) else found


def recipe_that_reads_the_same(folder: Path, family: str, text: str) -> str:
    """Take a list in by its headings and by the recipe saved of that, hold the parts equal; return the recipe."""
    (folder / "list.csv").write_text(text, encoding="utf-8")
    (first,) = intake(folder / "one.duckdb", [folder / "list.csv"], supplier="Reed")
    (folder / "saved.toml").write_text(first.recipe_text(), encoding="utf-8")
    intake(folder / "two.duckdb", [folder / "list.csv"], recipe=folder / "saved.toml")
    held = []
    for name in ("one", "two"):
        with Catalog.open(folder / f"{name}.duckdb") as catalog:
            held.append(catalog.parts(family).to_pylist())
    assert held[0]
    assert held[0] == held[1]
    return first.recipe_text()
