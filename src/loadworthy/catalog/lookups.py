"""Distinct texts → values: each text of a column is read once, however many rows it stands in.

The distinct texts of a column (or the pairs of it with the one that gives its gate voltage) are read by the cell reader
in bounded batches, and their values stand beside them in arrays. Giving every row the value of its text is then a
matter of numbers, and costs nothing until a statement asks for it.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt
import pyarrow as pa

from loadworthy.catalog import arrays, packages
from loadworthy.catalog.cells import Reading, Refused, is_missing, read_cell
from loadworthy.catalog.columns import ColumnReading
from loadworthy.catalog.families import Family, Figure
from loadworthy.catalog.offers import Prices, Stock, read_count, read_price, read_stock
from loadworthy.catalog.outputs import MISPLACED, Outputs, outputs_of
from loadworthy.catalog.texts import Distinct
from loadworthy.quantities.numbers import DecimalMark
from loadworthy.quantities.text import tidy

__all__ = ["PROBLEM", "Lookup", "Tally", "make_lookup"]

#: What a lookup says of a text that could not be read.
PROBLEM = "problem"
#: So many texts are held in Python at once.
_BATCH = 50_000
_BREAKS = pa.list_(pa.struct([("quantity", pa.int64()), ("price", pa.float64())]))
_CURVE = pa.list_(pa.struct([("degc", pa.float64()), ("value", pa.float64())]))
_KINDS = {
    bool: pa.bool_(),
    float: pa.float64(),
    int: pa.int64(),
    str: pa.string(),
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
    """A column's distinct texts and their values, and which columns of the catalogue they fill.

    Attributes
    ----------
    column
        The column that is read.
    name
        What the columns of its values begin with, in a statement over them.
    distinct
        The texts.
    numeric
        Whether numbers are expected.
    outputs
        Column of the catalogue → one value a text, null where the text gives none; :data:`PROBLEM` is why a
        text could not be read.
    taken
        Which texts could be read.
    tally
        How many.
    """

    column: ColumnReading
    name: str
    distinct: Distinct
    numeric: bool = False
    outputs: dict[str, pa.Array] = field(default_factory=dict)
    taken: npt.NDArray[np.bool_] = field(default_factory=lambda: np.empty(0, np.bool_))
    tally: Tally = field(default_factory=Tally)

    def named(self, output: str) -> str:
        """The output's name in a statement over the rows ``r`` with their values."""
        return f'r."{self.name}.{output}"'

    def columns(self) -> Iterator[tuple[str, pa.ChunkedArray]]:
        """Yield every output as a column: name, and a value a row."""
        for output, values in self.outputs.items():
            if output not in (PROBLEM, MISPLACED):
                yield f"{self.name}.{output}", self.distinct.spread(values)

    def has(self, output: str) -> npt.NDArray[np.bool_]:
        """Which texts give this output."""
        values = self.outputs[output]
        return arrays.flags(values.is_valid())


def make_lookup(
    distinct: Distinct,
    *,
    column: ColumnReading,
    companion: ColumnReading | None,
    family: Family,
    decimal: DecimalMark,
    currency: str | None,
    name: str,
    marks_settled: bool,
) -> Lookup:
    """Read a column's distinct texts.

    Parameters
    ----------
    distinct
        The texts, or their pairs with those of the companion.
    column, companion
        The column, and the one that gives its gate voltage, if any.
    family, decimal, currency, marks_settled
        What the cells are read with.
    name
        What the columns of its values begin with.
    """
    lookup = Lookup(column=column, name=name, distinct=distinct, numeric=family.figure(column.reads).kind == "number")
    reader = _reader(column, companion, family, decimal, currency, marks_settled=marks_settled)
    pieces: dict[str, list[pa.Array]] = {}
    for start in range(0, len(distinct), _BATCH):
        texts = [one.slice(start, _BATCH).to_pylist() for one in distinct.texts]
        rows = _rows(lookup, texts[0], [reader(*cells) for cells in zip(*texts, strict=True)])
        for name_of_output, values in _arrays(rows).items():
            kept = pieces.setdefault(name_of_output, [])
            if start and not kept:
                kept.append(pa.nulls(start, values.type))
            kept.append(values)
        for kept in pieces.values():
            if (given := sum(map(len, kept))) < start + len(rows):
                kept.append(pa.nulls(start + len(rows) - given, kept[0].type))
    lookup.outputs = {output: pa.concat_arrays(kept) for output, kept in pieces.items()}
    return lookup


def _rows(lookup: Lookup, texts: Sequence[str], found: list[Outputs | Refused | None]) -> list[Outputs]:
    """Turn what was found in each text into what it fills, and count it."""
    rows: list[Outputs] = []
    for text, outputs in zip(texts, found, strict=True):
        if outputs is None:
            rows.append({})
            continue
        lookup.tally.texts += 1
        if isinstance(outputs, Refused):
            lookup.tally.refused += 1
            lookup.tally.example = lookup.tally.example or (text, outputs.reason)
            misplaced = lookup.numeric and packages.canonical(text) is not None
            rows.append({PROBLEM: outputs.reason, **({MISPLACED: True} if misplaced else {})})
        else:
            lookup.tally.taken += 1
            rows.append(outputs)
    taken = np.fromiter((bool(row) and PROBLEM not in row for row in rows), np.bool_, len(rows))
    lookup.taken = np.concatenate([lookup.taken, taken])
    return rows


def _arrays(rows: list[Outputs]) -> dict[str, pa.Array]:
    """Put what the texts fill into arrays, one value a text."""
    made: dict[str, pa.Array] = {}
    for output in dict.fromkeys(name for row in rows for name, value in row.items() if value is not None):
        values = [row.get(output) for row in rows]
        made[output] = arrays.column(values, _kind(output, {type(one) for one in values if one is not None}))
    return made


def _kind(output: str, types: set[type]) -> pa.DataType:
    if list in types:
        return _BREAKS if output == "breaks" else _CURVE
    return _KINDS[float if types == {int, float} else types.pop()]


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
