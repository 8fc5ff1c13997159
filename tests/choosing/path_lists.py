"""Lists of the parts of a current's path, read heading by heading and cell by cell."""

from __future__ import annotations

from typing import Any

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
