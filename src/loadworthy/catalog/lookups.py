"""Distinct texts → values: each text of a column is read once, however many rows it stands in.

For every column (or a column with the one that gives its gate voltage) the distinct texts are fetched in bounded
batches, read by the cell reader, and put into a temporary table beside their values. Joining that
table back is the engine's work.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from typing import Any

import duckdb
import pyarrow as pa

from loadworthy.catalog import packages
from loadworthy.catalog.cells import Reading, Refused, is_missing, read_cell
from loadworthy.catalog.columns import ColumnReading
from loadworthy.catalog.families import Family, Figure
from loadworthy.catalog.offers import Prices, Stock, read_count, read_price, read_stock
from loadworthy.catalog.outputs import MISPLACED, Outputs, outputs_of
from loadworthy.catalog.schema import CURVE
from loadworthy.quantities.numbers import DecimalMark
from loadworthy.quantities.text import tidy

__all__ = ["Lookup", "Tally", "gather_texts", "make_lookup"]

#: So many texts are held in Python at once.
BATCH = 50_000
_TYPES = {
    bool: "BOOLEAN",
    float: "DOUBLE",
    int: "BIGINT",
    str: "VARCHAR",
}
_BREAKS = "STRUCT(quantity BIGINT, price DOUBLE)[]"
_ARROW = {
    "BOOLEAN": pa.bool_(),
    "DOUBLE": pa.float64(),
    "BIGINT": pa.int64(),
    "VARCHAR": pa.string(),
    _BREAKS: pa.list_(pa.struct([("quantity", pa.int64()), ("price", pa.float64())])),
    CURVE: pa.list_(pa.struct([("degc", pa.float64()), ("value", pa.float64())])),
}


@dataclass(slots=True)
class Tally:
    """How a column's distinct texts fared."""

    texts: int = 0
    taken: int = 0
    refused: int = 0
    example: tuple[str, str] | None = None


@dataclass(slots=True)
class Lookup:
    """A temporary table of texts and values, and which columns it fills."""

    column: ColumnReading
    table: str
    keys: tuple[str, ...]
    numeric: bool = False
    outputs: dict[str, str] = field(default_factory=dict)
    tally: Tally = field(default_factory=Tally)

    @property
    def joined(self) -> str:
        """The join of the raw table ``r`` with this lookup."""
        return f'LEFT JOIN "{self.table}" AS "{self.table}" ON ' + " AND ".join(
            f'coalesce(r."{key}", \'\') = "{self.table}".t{index}'
            if len(self.keys) > 1
            else f'r."{key}" = "{self.table}".t0'
            for index, key in enumerate(self.keys)
        )

    def named(self, output: str) -> str:
        """The output's name in a statement that joins the lookup."""
        return f'"{self.table}"."{output}"'


def gather_texts(connection: duckdb.DuckDBPyConnection, raw: str, keys: Sequence[str], table: str) -> None:
    """Put the distinct texts of some columns into a temporary table ``t0``, ``t1`` …; empty cells are left out."""
    chosen = ", ".join(f"coalesce(\"{key}\", '') AS t{index}" for index, key in enumerate(keys))
    connection.execute(
        f'CREATE OR REPLACE TEMP TABLE "{table}" AS SELECT DISTINCT {chosen} FROM "{raw}" WHERE "{keys[0]}" IS NOT NULL'
    )


def _batches(connection: duckdb.DuckDBPyConnection, table: str) -> Iterator[list[tuple[str, ...]]]:
    """Yield a table's rows a batch at a time, by their place: other statements run in between."""
    start = 0
    while True:
        batch = connection.execute(
            f'SELECT * FROM "{table}" WHERE rowid >= ? AND rowid < ?', [start, start + BATCH]
        ).fetchall()
        if batch:
            yield batch
        if len(batch) < BATCH:
            return
        start += BATCH


def make_lookup(
    connection: duckdb.DuckDBPyConnection,
    *,
    texts: str,
    column: ColumnReading,
    companion: ColumnReading | None,
    family: Family,
    decimal: DecimalMark,
    currency: str | None,
    table: str,
    marks_settled: bool,
) -> Lookup:
    """Read a column's distinct texts into a temporary table.

    Parameters
    ----------
    connection, texts
        The table of the distinct texts, from :func:`gather_texts`.
    column, companion
        The column, and the one that gives its gate voltage, if any.
    family, decimal, currency, marks_settled
        What the cells are read with.
    table
        The name of the lookup to make.
    """
    keys = (column.field, companion.field) if companion else (column.field,)
    lookup = Lookup(column=column, table=table, keys=keys, numeric=family.figure(column.reads).kind == "number")
    reader = _reader(column, companion, family, decimal, currency, marks_settled=marks_settled)
    made = False
    for batch in _batches(connection, texts):
        found = _rows(lookup, batch, [reader(*texts) for texts in batch])
        if found or not made:
            _append(connection, lookup, found, made=made)
            made = True
    if not made:
        _append(connection, lookup, [], made=False)
    return lookup


def _rows(lookup: Lookup, batch: list[tuple[str, ...]], found: list[Outputs | Refused | None]) -> list[Outputs]:
    """Put what was found beside the texts it was found in, and count it."""
    rows: list[Outputs] = []
    for texts, outputs in zip(batch, found, strict=True):
        keys = {f"t{index}": text for index, text in enumerate(texts)}
        if outputs is None:
            continue
        lookup.tally.texts += 1
        if isinstance(outputs, Refused):
            lookup.tally.refused += 1
            lookup.tally.example = lookup.tally.example or (texts[0], outputs.reason)
            misplaced = lookup.numeric and packages.canonical(texts[0]) is not None
            rows.append({**keys, "problem": outputs.reason, **({MISPLACED: True} if misplaced else {})})
        else:
            lookup.tally.taken += 1
            rows.append({**keys, **outputs})
    return rows


def _append(connection: duckdb.DuckDBPyConnection, lookup: Lookup, rows: list[Outputs], *, made: bool) -> None:
    """Make the table with its first rows, or add rows to it, and the columns that only they fill."""
    kinds = {f"t{index}": "VARCHAR" for index in range(len(lookup.keys))} | {"problem": "VARCHAR"}
    new = [name for name in dict.fromkeys(name for row in rows for name in row) if name not in kinds]
    for name in new:
        if name not in lookup.outputs:
            lookup.outputs[name] = _kind(name, next((row[name] for row in rows if row.get(name) is not None), 0.0))
            if made:
                connection.execute(f'ALTER TABLE "{lookup.table}" ADD COLUMN "{name}" {lookup.outputs[name]}')
    kinds |= {name: lookup.outputs[name] for name in new}
    arrays = {name: pa.array([row.get(name) for row in rows], type=_ARROW[kind]) for name, kind in kinds.items()}
    connection.register("lookup_batch", pa.table(arrays))
    how = f'INSERT INTO "{lookup.table}" BY NAME' if made else f'CREATE OR REPLACE TEMP TABLE "{lookup.table}" AS'
    connection.execute(f"{how} SELECT * FROM lookup_batch")
    connection.unregister("lookup_batch")


def _kind(name: str, value: Any) -> str:  # noqa: ANN401 - whatever a reader gives
    if isinstance(value, list):
        return _BREAKS if name == "breaks" else CURVE
    return _TYPES[type(value)]


# -- one reader for each kind of column ------------------------------------------------------------------
_Reader = Callable[..., "Outputs | Refused | None"]


def _reader(
    column: ColumnReading,
    companion: ColumnReading | None,
    family: Family,
    decimal: DecimalMark,
    currency: str | None,
    *,
    marks_settled: bool,
) -> _Reader:
    figure = family.figure(column.reads)
    if figure.kind in ("number", "choice"):
        return _figure_reader(column, companion, family, figure, decimal, marks_settled=marks_settled)
    if figure.kind == "package":
        return _read_package
    if figure.kind == "price":
        return _price_reader(column, decimal, currency)
    if figure.kind == "stock":
        return lambda text: _stock(text, decimal)
    if figure.kind == "count":
        return lambda text: _count(column.reads, text, decimal)
    if column.reads == "maker":
        return _read_maker
    kept = figure.store[0].column if figure.store else column.reads
    return lambda text: None if is_missing(text) else {kept: tidy(text)}


def _figure_reader(
    column: ColumnReading,
    companion: ColumnReading | None,
    family: Family,
    figure: Figure,
    decimal: DecimalMark,
    *,
    marks_settled: bool,
) -> _Reader:
    def read(text: str, gate_text: str | None = None) -> Outputs | Refused | None:
        readings = read_cell(
            text,
            figure,
            decimal=decimal,
            unit=column.unit,
            statistic=column.statistic,
            gate_v=None if column.gates else column.gate_v,
            degc=column.degc,
            place=column.place,
            flow=column.flow,
            amps=column.amps,
            marks_settled=marks_settled,
        )
        if readings is None or isinstance(readings, Refused):
            return readings
        if column.gates:
            readings = _paired(readings, column.gates)
        if companion is not None:
            given = _gates(companion, gate_text, family, decimal, readings)
            if isinstance(given, Refused):
                return given
            readings = given
        outputs = outputs_of(figure, readings)
        if column.unit_guessed and figure.levels and isinstance(outputs, dict):
            outputs[f"{figure.levels.stem}_guessed"] = True
        return outputs

    return read


def _paired(readings: tuple[Reading, ...], gates: tuple[float, ...]) -> tuple[Reading, ...]:
    """Give values the gate voltages that the heading lists: in order, or the greatest of them to a single one."""
    waiting = [reading for reading in readings if reading.gate_v is None]
    given = iter(gates if len(waiting) == len(gates) else (max(gates),) * len(waiting))
    return tuple(
        reading if reading.gate_v is not None else reading._replace(gate_v=next(given)) for reading in readings
    )


def _gates(
    companion: ColumnReading,
    text: str | None,
    family: Family,
    decimal: DecimalMark,
    readings: tuple[Reading, ...],
) -> tuple[Reading, ...] | Refused:
    """Give readings the gate voltages of the neighbour column: one for all, or one for each in order."""
    found = read_cell(
        text, family.figure(companion.reads), decimal=decimal, unit=companion.unit, statistic=companion.statistic
    )
    if isinstance(found, Refused):
        return Refused(f"its gate voltage ({companion.heading}): {found.reason}")
    if found is None:
        return readings
    waiting = [reading for reading in readings if reading.gate_v is None]
    if not waiting:
        return readings
    volts = [reading.value for reading in found]
    if len(volts) not in (1, len(waiting)):
        return Refused(f"{len(waiting)} values and {len(volts)} gate voltages ({companion.heading}) do not pair")
    given = iter(volts * len(waiting) if len(volts) == 1 else volts)
    return tuple(
        reading if reading.gate_v is not None else reading._replace(gate_v=next(given)) for reading in readings
    )


def _read_maker(text: str) -> Outputs | None:
    """Makers are one where their names agree but for case, blanks and punctuation."""
    if is_missing(text):
        return None
    name = tidy(text)
    return {"maker": name, "maker_key": re.sub(r"[\W_]+", "", name).upper()}


def _read_package(text: str) -> Outputs | None:
    """A package goes by its canonical name; one that is not on the table keeps the supplier's word."""
    if is_missing(text):
        return None
    name = packages.canonical(text)
    if name is None:
        return {"package": tidy(text)}
    package = next(one for one in packages.packages() if one.name == name)
    return {
        "package": name,
        "leaded": package.leaded,
        "package_rthja_k_per_w": package.rthja,
        "package_rthjc_k_per_w": package.rthjc,
        "package_rthcs_k_per_w": package.rthcs,
    }


def _price_reader(column: ColumnReading, decimal: DecimalMark, currency: str | None) -> _Reader:
    def read(text: str, quantity_text: str | None = None) -> Outputs | Refused | None:
        quantity = read_count(quantity_text, decimal=decimal) if quantity_text else column.price_quantity or 1
        if not isinstance(quantity, int):
            return quantity
        found = read_price(text, decimal=decimal, currency=column.unit or currency, quantity=quantity, per=column.per)
        if not isinstance(found, Prices):
            return found
        breaks = [{"quantity": quantity, "price": price} for quantity, price in found.breaks]
        outputs: Outputs = {
            "breaks": breaks,
            "unit_price": found.breaks[0][1],
            "unit_quantity": found.breaks[0][0],
        }
        return outputs | ({"currency": found.currency} if found.currency else {})

    return read


def _stock(text: str, decimal: DecimalMark) -> Outputs | Refused | None:
    found = read_stock(text, decimal=decimal)
    if isinstance(found, Stock):
        return {"stock": found.quantity, "stock_at_least": found.at_least}
    if found is None and not is_missing(text):
        return {"stock_note": tidy(text)}
    return found


def _count(name: str, text: str, decimal: DecimalMark) -> Outputs | Refused | None:
    found = read_count(text, decimal=decimal)
    return {name: found} if isinstance(found, int) else found
