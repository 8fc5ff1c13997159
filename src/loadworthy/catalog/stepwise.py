"""The careful way of loading: every record read by one reader, a batch at a time."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from contextlib import suppress
from itertools import islice
from typing import TYPE_CHECKING

import duckdb

from loadworthy.catalog.bulk import Layout, column_names, quoted

if TYPE_CHECKING:
    import pyarrow as pa

__all__ = ["load"]

_BATCH = 20_000
_BATCH_CELLS = 400_000


def load(
    connection: duckdb.DuckDBPyConnection,
    records: Iterable[list[str]],
    layout: Layout,
    *,
    table: str,
) -> None:
    """Load records into the new temporary table ``table``, which is dropped again when reading fails.

    Parameters
    ----------
    connection
        Where the table goes.
    records
        All records of the file from its first; a blank line is an empty one.
    layout
        Which of them to load, how many columns of text there are, and what joins fields beyond them.
    table
        Name of the table.
    """
    names = column_names(layout.width)
    columns = ", ".join(f"{name} VARCHAR" for name in names)
    filled = ", ".join(f"nullif({name}, '') AS {name}" for name in names)
    connection.execute(f"CREATE TEMP TABLE {quoted(table)} (record BIGINT, {columns}, surplus VARCHAR)")
    try:
        for batch in _batches(records, layout):
            connection.register("loadworthy_batch", batch)
            try:
                connection.execute(
                    f"INSERT INTO temp.{quoted(table)} SELECT record, {filled}, surplus FROM loadworthy_batch"
                ).fetchall()
            finally:
                connection.unregister("loadworthy_batch")
    except BaseException:
        with suppress(duckdb.Error):  # in a transaction that has failed, the table goes with it
            connection.execute(f"DROP TABLE IF EXISTS temp.{quoted(table)}")
        raise


def _batches(records: Iterable[list[str]], layout: Layout) -> Iterator[pa.RecordBatch]:
    import pyarrow as pa  # noqa: PLC0415 - clean files never need it

    first_record, width = layout.first_record, layout.width
    names = ["record", *column_names(width), "surplus"]
    numbered = enumerate(islice(records, first_record - 1, None), start=first_record)
    size = max(1, min(_BATCH, _BATCH_CELLS // width))
    missing = [""] * width

    def batch() -> pa.RecordBatch:
        texts = [pa.array(cells[place::width], pa.string()) for place in range(width)]
        return pa.record_batch([pa.array(numbers, pa.int64()), *texts, pa.array(surplus, pa.string())], names=names)

    numbers: list[int] = []
    surplus: list[str | None] = []
    cells: list[str] = []  # of all records on end: keeping a list a record takes half as long again
    for number, record in numbered:
        if not record:
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
            yield batch()
            for full in (numbers, surplus, cells):
                full.clear()
    if numbers:
        yield batch()


def _joined(fields: list[str], delimiter: str) -> str | None:
    """Fields beyond the table's width as one text; empty ones at the end say nothing."""
    while fields and not fields[-1]:
        fields.pop()
    return delimiter.join(fields) or None
