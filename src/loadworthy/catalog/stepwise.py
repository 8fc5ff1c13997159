"""The careful way of loading: every record read by one reader, a batch at a time."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pyarrow as pa

from loadworthy.catalog import arrays
from loadworthy.catalog.texts import Texts, TextsWriter

__all__ = ["Layout", "add", "load"]

_BATCH = 20_000
_BATCH_CELLS = 400_000


@dataclass(frozen=True, kw_only=True)
class Layout:
    """Where a table's records lie in a text file, and how its fields are parted.

    Attributes
    ----------
    text
        File of UTF-8 text.
    delimiter
        One character.
    first_record
        Number of the first record to load; the file's first is 1.
    width
        Number of fields of the table.
    """

    text: Path
    delimiter: str
    first_record: int
    width: int


def load(rows: Iterable[list[str]], layout: Layout, *, folder: Path) -> Texts:
    """Load records.

    Parameters
    ----------
    rows
        All records of the file from its first; a blank line is an empty one.
    layout
        Which of them to load, how many columns of text there are, and what joins fields beyond them.
    folder
        Where the texts are to lie; nothing stays there when reading fails.
    """
    with TextsWriter(folder, layout.width) as writer:
        for _ in add(writer, rows, layout, first=1):
            pass
        return writer.finish()


def add(writer: TextsWriter, rows: Iterable[list[str]], layout: Layout, *, first: int) -> Iterator[tuple[int, int]]:
    """Lay records down that begin with number ``first``, those before the layout's first left out.

    Yields
    ------
    tuple of int
        After each batch: the number of the last record that was read, and how many were laid down.
    """
    width = layout.width
    size = max(1, min(_BATCH, _BATCH_CELLS // width))
    missing = [""] * width
    numbers: list[int] = []
    surplus: list[str | None] = []
    cells: list[str] = []  # of all records on end: keeping a list a record takes half as long again

    def lay_down() -> int:
        columns = [arrays.column([cell or None for cell in cells[place::width]], pa.string()) for place in range(width)]
        writer.add(np.array(numbers, dtype=np.int64), columns, arrays.column(surplus, pa.string()))
        count = len(numbers)
        for full in (numbers, surplus, cells):
            full.clear()
        return count

    number = first - 1
    for number, record in enumerate(rows, start=first):
        if not record or number < layout.first_record:
            continue
        numbers.append(number)
        if len(record) == width:
            cells += record
            surplus.append(None)
        else:
            cells += record[:width]
            cells += missing[len(record) :]
            surplus.append(_joined(record[width:], layout.delimiter))
        if len(numbers) == size:
            yield number, lay_down()
    yield number, lay_down() if numbers else 0


def _joined(fields: list[str], delimiter: str) -> str | None:
    """Fields beyond the table's width as one text; empty ones at the end say nothing."""
    while fields and not fields[-1]:
        fields.pop()
    return delimiter.join(fields) or None
