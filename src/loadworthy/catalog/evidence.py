"""What only the cells can tell: the decimal mark of a file, units that no heading names, stray gate columns."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace

import duckdb

from loadworthy.catalog.columns import ColumnReading, Layout, with_companions
from loadworthy.catalog.families import Family
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


def decide_decimal(connection: duckdb.DuckDBPyConnection, texts: dict[int, str], layout: Layout) -> Decimal:
    """Decide the decimal mark for the file as a whole, from the distinct texts of all columns with numbers.

    Parameters
    ----------
    connection
        Where the tables of distinct texts are.
    texts
        Column position → name of its table of texts.
    layout
        What the columns hold.
    """
    counts = {".": 0, ",": 0}
    for column in layout.columns:
        if column.position not in texts or layout.family.figure(column.reads).kind not in ("number", "price"):
            continue
        row = connection.execute(
            "SELECT count(*) FILTER (regexp_matches(t0, ?)), count(*) FILTER (regexp_matches(t0, ?)) "
            f'FROM "{texts[column.position]}"',
            [_pattern("."), _pattern(",")],
        ).fetchone()
        if row:
            counts["."] += int(row[0])
            counts[","] += int(row[1])
    points, commas = counts["."], counts[","]
    if not points and not commas:
        return Decimal(mark=".", why="no number shows which; taken as a point")
    mark: DecimalMark = "," if commas > points else "."
    most, least = max(points, commas), min(points, commas)
    name = "comma" if mark == "," else "point"
    against = f", {least} the other" if least else ""
    return Decimal(mark=mark, why=f"{most} different cells show a decimal {name}{against}", contested=least * 10 > most)


def _sample(connection: duckdb.DuckDBPyConnection, table: str) -> list[str]:
    return [tidy(str(row[0])) for row in connection.execute(f'SELECT t0 FROM "{table}" LIMIT {_SAMPLE}').fetchall()]


def refine(
    connection: duckdb.DuckDBPyConnection, texts: dict[int, str], layout: Layout, decimal: DecimalMark
) -> Layout:
    """Settle by the cells what the headings leave open.

    A column without any unit takes the unit in which its numbers are usual, and is called guessed. A bare
    ``VGS`` right of an on-resistance without a gate voltage is where that was measured, if its numbers are drives.
    """
    columns = [
        _united(connection, texts[column.position], column, layout.family, decimal)
        if column.position in texts
        else column
        for column in layout.columns
    ]
    for index, column in enumerate(columns[1:], 1):
        before = columns[index - 1]
        if (
            column.reads == "vgs_max"
            and column.statistic is None
            and before.reads == "rds_on"
            and before.gate_v is None
            and before.gate_column is None
            and column.position in texts
            and _are_drives(_sample(connection, texts[column.position]), decimal)
        ):
            columns[index] = replace(
                column,
                reads="vgs_drive",
                title=layout.family.figure("vgs_drive").title,
                certainty="guessed",
                why="its numbers are gate voltages at which on-resistance is given, and it stands beside one",
            )
    return replace(layout, columns=with_companions(tuple(columns)))


def _are_drives(cells: list[str], decimal: DecimalMark) -> bool:
    numbers = [read_number(cell.rstrip(" V"), decimal=decimal) for cell in cells if not cell.startswith("±")]
    known = [number for number in numbers if number is not None]
    return bool(known) and len(known) >= _MOSTLY * len(cells) and max(known) <= 10.0


def _united(
    connection: duckdb.DuckDBPyConnection,
    table: str,
    column: ColumnReading,
    family: Family,
    decimal: DecimalMark,
) -> ColumnReading:
    figure = family.figure(column.reads)
    if not figure.usual or column.unit:
        return column
    bare = [cell for cell in _sample(connection, table) if _BARE_NUMBER.fullmatch(cell)]
    numbers = [number for cell in bare if (number := read_number(cell.lstrip("+-± "), decimal=decimal)) is not None]
    if not numbers:
        return column
    for unit, (low, high) in figure.usual.items():
        if sum(low <= number <= high for number in numbers) >= _MOSTLY * len(numbers):
            return replace(
                column,
                unit=unit,
                certainty="guessed",
                why=f"no unit is given; its numbers are usual in {unit}",
            )
    return column
