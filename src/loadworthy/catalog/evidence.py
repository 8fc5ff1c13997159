"""What only the cells can tell: the decimal mark of a file, units that no heading names, stray gate columns."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace

import pyarrow as pa
import pyarrow.compute as pc

from loadworthy.catalog import arrays
from loadworthy.catalog.cells import read_cell
from loadworthy.catalog.columns import ColumnReading, Layout, with_companions
from loadworthy.catalog.families import Family, Figure
from loadworthy.catalog.texts import Texts
from loadworthy.quantities.numbers import DecimalMark, read_number
from loadworthy.quantities.text import tidy

__all__ = ["Decimal", "decide_decimal", "refine"]

_SAMPLE = 4000
_MOSTLY = 0.9
#: A mark that cannot part thousands: not three digits behind it, or a zero before it, or the other mark before it.
_SHOWS = r"\d{mark}(?:\d{{1,2}}|\d{{4,}})(?:[^\d.,]|$)|(?:^|[^\d.,])0{mark}\d|\d{other}\d{{3}}{mark}\d"
_BARE_NUMBER = re.compile(r"[-+±]?\s?\d+(?:[.,]\d+)*")


@dataclass(frozen=True, kw_only=True)
class Decimal:
    """The decimal mark of a file, and what speaks for it."""

    mark: DecimalMark
    why: str
    contested: bool = False


def _pattern(mark: str) -> str:
    other = "," if mark == "." else "."
    return _SHOWS.format(mark=re.escape(mark), other=re.escape(other))


def decide_decimal(texts: Mapping[int, pa.Array], layout: Layout) -> Decimal:
    """Decide the decimal mark for the file as a whole, from the distinct texts of all columns with numbers.

    Parameters
    ----------
    texts
        Column position → its distinct texts.
    layout
        What the columns hold.
    """
    counts = {".": 0, ",": 0}
    for column in layout.columns:
        if column.position not in texts or layout.family.figure(column.reads).kind not in ("number", "price"):
            continue
        for one in counts:
            shown = pc.match_substring_regex(texts[column.position], _pattern(one))
            counts[one] += int(arrays.flags(shown).sum())
    points, commas = counts["."], counts[","]
    if not points and not commas:
        return Decimal(mark=".", why="no number shows which; taken as a point")
    mark: DecimalMark = "," if commas > points else "."
    most, least = max(points, commas), min(points, commas)
    name = "comma" if mark == "," else "point"
    against = f", {least} the other" if least else ""
    shown = "1 cell shows" if most == 1 else f"{most} different cells show"
    return Decimal(mark=mark, why=f"{shown} a decimal {name}{against}", contested=least * 10 > most)


def _sample(texts: pa.Array) -> list[str]:
    return [tidy(text) for text in texts.slice(0, _SAMPLE).to_pylist()]


def refine(rows: Texts, texts: Mapping[int, pa.Array], layout: Layout, decimal: DecimalMark) -> Layout:
    """Settle by the cells what the headings leave open.

    A column without any unit takes the unit in which its numbers are usual. A bare ``VGS`` beside an
    on-resistance without a gate voltage is where that was measured, if its numbers are drives. A bare ``ID``
    whose numbers are all different whole ones is an index. Where no heading names the channel, a column of
    texts that all name one does. All of these are called guesses.
    """
    columns = [
        _united(texts[column.position], column, layout.family, decimal) if column.position in texts else column
        for column in layout.columns
    ]
    columns = [_unless_index(rows, column, columns, layout.family) for column in columns]
    columns = _unless_described(rows, columns)
    for index, column in enumerate(columns):
        beside = [columns[place] for place in (index - 1, index + 1) if 0 <= place < len(columns)]
        gate = layout.family.gate_figure
        if (
            gate is not None
            and column.reads != "nothing"
            and layout.family.figure(column.reads).may_gate
            and column.statistic is None
            and any(
                one.reads in layout.family.gated and one.gate_v is None and one.gate_column is None for one in beside
            )
            and column.position in texts
            and _are_drives(_sample(texts[column.position]), layout.family.figure(gate), decimal)
        ):
            columns[index] = replace(
                column,
                reads=gate,
                title=layout.family.figure(gate).title,
                certainty="guessed",
                why="its numbers are gate voltages at which on-resistance is given, and it stands beside one",
            )
    columns = _with_choices(rows, columns, layout.family)
    return replace(layout, columns=with_companions(tuple(columns), layout.family))


def _are_drives(cells: list[str], figure: Figure, decimal: DecimalMark) -> bool:
    """Are these gate voltages at which something is measured, and not ratings (which come with ± or from 8 V)?"""
    read = [read_cell(cell, figure, decimal=decimal) for cell in cells if "±" not in cell]
    volts = [reading.value for readings in read if isinstance(readings, tuple) for reading in readings]
    # Ratings of 8 V and 10 V exist, and so do parts measured at 10 V alone.
    drives = bool(volts) and max(volts) <= 10.0 and (min(volts) < 7.0 or set(volts) == {10.0})
    return drives and len(read) >= _MOSTLY * len(cells)


def _unless_index(rows: Texts, column: ColumnReading, columns: list[ColumnReading], family: Family) -> ColumnReading:
    if column.reads == "nothing" or not family.figure(column.reads).may_be_index:
        return column
    if column.heading.strip().lower() != column.reads or column.degc or column.place or column.unit:
        return column
    given = len(rows.table) - rows.table.column(column.field).null_count
    texts = rows.distinct(column.field).texts[0]
    others = any(one.reads == column.reads and one is not column for one in columns)
    whole = all(re.fullmatch(r"\d+", text) for text in texts.to_pylist())
    if whole and (others or given == len(texts) > 1):
        return ColumnReading(
            position=column.position, heading=column.heading, why="its whole numbers are all different: an index"
        )
    return column


def _unless_described(rows: Texts, columns: list[ColumnReading]) -> list[ColumnReading]:
    """A column of words ("heat sink", "Kühlkörper") names no part where another one holds the supplier's numbers.

    The first records tell.
    """
    part = next((column for column in columns if column.reads == "part_number"), None)
    order = next((column for column in columns if column.reads == "order_number"), None)
    if part is None or order is None:
        return columns
    top = rows.table.slice(0, _SAMPLE)
    words, numbers = (top.column(column.field).to_pylist() for column in (part, order))
    named = [(word, number) for word, number in zip(words, numbers, strict=True) if word is not None]
    with_digits = [sum(bool(re.search(r"\d", text or "")) for text in texts) for texts in zip(*named, strict=True)]
    if not named or with_digits[0] * 2 > len(named) or with_digits[1] * 2 <= len(named):
        return columns
    why = f"most cells of column {part.position} ({part.heading}) are words without a number"
    renamed = {
        part.position: ColumnReading(
            position=part.position, heading=part.heading, why="its cells are words, no numbers"
        ),
        order.position: replace(order, reads="part_number", title=part.title, certainty="guessed", why=why),
    }
    return [renamed.get(column.position, column) for column in columns]


def _with_choices(rows: Texts, columns: list[ColumnReading], family: Family) -> list[ColumnReading]:
    """Find a column that names the kind (the channel) in all its cells, where no heading does."""
    for figure in family.figures:
        if figure.kind != "choice" or figure.named_only or any(column.reads == figure.name for column in columns):
            continue
        for index, column in enumerate(columns):
            if column.reads != "nothing":
                continue
            top = rows.top(column.field, _SAMPLE)
            if len(top) and not _name_choices(top, figure):
                continue  # the rest need not be looked at
            if _name_choices(rows.distinct(column.field).texts[0].slice(0, _SAMPLE), figure):
                columns[index] = replace(
                    column,
                    reads=figure.name,
                    title=figure.title,
                    certainty="guessed",
                    why=f"its cells name the {figure.title}",
                )
                break
    return columns


def _name_choices(texts: pa.Array, figure: Figure) -> bool:
    """Whether nearly all of some texts name one of the figure's choices."""
    cells = texts.to_pylist()
    return bool(cells) and sum(isinstance(read_cell(cell, figure), tuple) for cell in cells) >= _MOSTLY * len(cells)


def _united(
    texts: pa.Array,
    column: ColumnReading,
    family: Family,
    decimal: DecimalMark,
) -> ColumnReading:
    figure = family.figure(column.reads)
    if column.unit or not figure.unit:
        return column
    if not figure.usual:
        why = column.why or f"no unit is given in the heading; bare numbers are taken as {figure.unit}"
        return replace(column, why=why)
    bare = [cell for cell in _sample(texts) if _BARE_NUMBER.fullmatch(cell)]
    numbers = [number for cell in bare if (number := read_number(cell.lstrip("+-± "), decimal=decimal)) is not None]
    if not numbers:
        return column
    for unit, (low, high) in figure.usual.items():
        if sum(low <= number <= high for number in numbers) >= _MOSTLY * len(numbers):
            return replace(
                column,
                unit=unit,
                unit_guessed=True,
                certainty="guessed",
                why=f"no unit is given; its numbers are usual in {unit}",
            )
    return column
