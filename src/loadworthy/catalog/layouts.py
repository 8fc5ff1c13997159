"""The head of a table → which family it is of, where its heading stands, and what each column holds.

Headings are scored, not looked up: every record near the top is tried as the heading, alone or with the
rows above and below it (grouped headings, rows of units and of limits), and the block in which the most
columns speak for figures wins.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from loadworthy.catalog import families
from loadworthy.catalog.columns import ColumnReading, Layout, Record, column_of, settled, with_companions
from loadworthy.catalog.currencies import currency_of
from loadworthy.catalog.families import Family
from loadworthy.catalog.headings import HeadingReading, read_heading
from loadworthy.catalog.scanning import scan
from loadworthy.errors import RecipeError, UnreadableFile
from loadworthy.quantities.text import tidy
from loadworthy.quantities.units import dimension_of

__all__ = ["differs", "lay_out"]

_SEARCHED_RECORDS = 120
_ROWS_UNDER = 3
#: What the file's name and the words of its rows add to the score of a family.
_BY_NAME = 1.5
_BY_ROWS = 1.0
#: Families whose scores lie closer than this cannot be told apart.
_TOO_CLOSE = 0.25
#: A gate voltage, a temperature or a quantity under a group's heading.
_LEVEL = re.compile(r"(?:[+-]?\d+(?:[.,]\d+)?\s?(?:V|°C)|\d+(?:[.,]\d+)?\s?(?:\+|pcs|Stk\.?)?)")
_SMALL_DIMENSIONS = ("ohm", "V", "A", "W", "K/W", "C", "F", "s", "degC")


@dataclass(frozen=True)
class _Block:
    start: int
    end: int  # exclusive
    headings: tuple[str, ...]
    readings: tuple[HeadingReading, ...]
    score: float


def _is_small(cell: str) -> bool:
    """Could this cell stand in a row of units, limits or test conditions under the headings?"""
    text = re.sub(r"^(?:in\s+)?±?\s?", "", tidy(cell).strip("[]() "))
    small = families.words()
    if not text or text.lower().rstrip(".") in small.statistic or dimension_of(text) or currency_of(text):
        return True
    if text.lower().rstrip(".") in ("pcs", "stk", "stück", "pieces", "st", "net", "gross", "netto", "brutto", "each"):
        return True
    if re.match(r"(?:@|at|bei|V_?GS|U_?GS|I_?D|T_?[CJA]|with|\()", text, re.IGNORECASE) and len(text) < 40:
        return True
    kinds = {token.kind for token in scan(text, decimal=None, dimensions=_SMALL_DIMENSIONS)}
    return kinds <= {"unit", "at", "symbol", "statistic", "place", "mark", "number"} and "unit" in kinds


def _stacked(rows: Sequence[Record], width: int, family: Family) -> tuple[str, ...]:
    """Join heading rows column by column; a blank above a filled cell takes the heading to its left."""
    columns: list[list[str]] = [[] for _ in range(width)]
    for number, row in enumerate(rows):
        left = ""
        for index in range(width):
            cell = row[index].strip() if index < len(row) else ""
            below = any(
                index < len(lower) and lower[index].strip() and not dimension_of(tidy(lower[index]).strip("[]() "))
                for lower in rows[number + 1 :]
            )
            if cell:
                left = cell
            elif below and number < len(rows) - 1 and left and not _names_itself(rows[number + 1 :], index, family):
                cell = left
            else:
                left = left if below else ""
            if cell:
                columns[index].append(cell)
    return tuple("\n".join(cells) for cells in columns)


def _names_itself(rows: Sequence[Record], index: int, family: Family) -> bool:
    """Does a lower heading row name a figure in this column, so that it needs no group heading?"""
    return any(
        index < len(row)
        and row[index].strip()
        and read_heading(row[index], family).reads not in (None, family.gate_figure, "price")
        for row in rows
    )


def _score(readings: Sequence[HeadingReading], headings: Sequence[str]) -> float:
    score = 0.0
    seen: set[tuple[object, ...]] = set()
    for reading, heading in zip(readings, headings, strict=True):
        if reading.reads is None or reading.unit_alone or len(heading) > 160:
            continue  # amperes and volts say nothing of what the list is about
        key = (
            reading.reads,
            reading.statistic,
            reading.gate_v,
            reading.degc,
            reading.place,
            reading.price_quantity,
        )
        score += (1.0 if reading.certain else 0.4) * (0.3 if key in seen else 1.0)
        score += 0.1 * sum(value is not None for value in (reading.unit, reading.statistic, reading.gate_v))
        seen.add(key)
    return score


def _block(head: Sequence[Record], start: int, end: int, family: Family) -> _Block:
    rows = head[start:end]
    headings = _stacked(rows, max(len(row) for row in rows), family)
    readings = tuple(read_heading(heading, family) for heading in headings)
    return _Block(start, end, headings, readings, _score(readings, headings) - 0.02 * (end - start))


def _named_block(head: Sequence[Record], family: Family, rows: tuple[int, int]) -> _Block:
    first, last = rows
    if not 1 <= first <= last <= len(head) or not any(head[first - 1 : last]):
        raise RecipeError(
            f"the heading rows {first} to {last} are not in the file's first {len(head)} rows.",
            where="heading_rows",
            way_out="Count the rows as a spreadsheet does, from 1.",
        )
    return _block(head, first - 1, last, family)


def _blocks(head: Sequence[Record], family: Family) -> Iterator[_Block]:
    """Try every record near the top as the heading, with the rows above and below that may belong to it."""
    searched = head[:_SEARCHED_RECORDS]
    for start in range(len(searched)):
        if not any(cell.strip() for cell in searched[start]):
            continue
        for end in range(start + 1, min(start + 2 + _ROWS_UNDER, len(searched)) + 1):
            rows = searched[start:end]
            if not any(cell.strip() for cell in rows[-1]):
                continue
            if end - start > 1 and not all(_continues(rows, place, family) for place in range(1, len(rows))):
                break
            yield _block(head, start, end, family)


def _continues(rows: Sequence[Record], place: int, family: Family) -> bool:
    """Does a row go on with the heading above it? A blank one does, between two of them."""
    if not any(cell.strip() for cell in rows[place]):
        return True
    if not all(_is_small(cell) or _speaks(cell, family) or not re.search(r"\d", cell) for cell in rows[0]):
        return False  # what stands above is no heading, but a part
    names = next((row for row in rows[:place] if _speaks_enough(row, family)), None)
    if names is None:
        return _speaks_enough(rows[place], family)  # units or groups may stand above the names
    return _may_continue(rows[place], names, rows[:place], family)


def _speaks_enough(row: Record, family: Family) -> bool:
    return sum(_speaks(cell, family) for cell in row) > 2


def _may_continue(row: Record, names: Record, above: Sequence[Record], family: Family) -> bool:
    """Can this record belong to the heading above it?

    It stands under the name of the part number and says nothing there; what it says elsewhere is a unit, a
    limit, a test condition, the name of a figure – or a number, under a heading that has numbers below it.
    """
    cells = [(index, cell.strip()) for index, cell in enumerate(row) if cell.strip(" -–—")]
    if not cells or row in above:
        return False
    named = {index for index, cell in enumerate(names) if _names_part(cell, family)}
    if any(index in named for index, _ in cells):
        return False
    small = [_is_small(cell) or _speaks(cell, family) for _, cell in cells]
    numbers = [_is_level(cell) and _under_group(index, above, family) for index, cell in cells]
    return all(one or other for one, other in zip(small, numbers, strict=True)) and all(len(c) < 60 for _, c in cells)


def _is_level(cell: str) -> bool:
    """Is this what parts the columns of a group: a number with its unit, or a place such as UL, solid, ambient?"""
    return (
        bool(_LEVEL.fullmatch(tidy(cell).replace("−", "-").replace("–", "-")))
        or tidy(cell).lower() in families.words().place
    )


def _under_group(index: int, above: Sequence[Record], family: Family) -> bool:
    """Does a heading of on-resistances or prices stand over this column, or to the left of it with blanks between?"""
    for row in reversed(above):
        for place in range(min(index, len(row) - 1), -1, -1):
            if row[place].strip():
                name = read_heading(row[place], family).reads
                figure = family.figure(name) if name else None
                return figure is not None and bool(name == "price" or figure.gated or figure.places or figure.curve)
    return False


def _names_part(cell: str, family: Family) -> bool:
    return read_heading(cell, family).reads in ("part_number", "order_number", "maker")


def _speaks(cell: str, family: Family) -> bool:
    return read_heading(cell, family).reads is not None


def lay_out(
    head: Sequence[Record], *, family: str | None, file: str, heading_rows: tuple[int, int] | None = None
) -> Layout:
    """Find the heading of a table and read its columns.

    Parameters
    ----------
    head
        The first records of the file, blank ones as ``()``.
    family
        The family that the user named, or None to recognise it.
    file
        The file's name, for errors.
    heading_rows
        First and last heading row, counted from 1, where a recipe names them.

    Raises
    ------
    UnreadableFile
        No record near the top speaks for a part family's figures.
    """
    best = _best(head, family, file, heading_rows)
    figures = {figure.name for figure in best[1].figures} if best else set()
    named = {reading.reads for reading in best[0].readings if reading.reads} if best else set()
    if best is None or (not heading_rows and (len(named) < 2 or not named & figures)):
        raise UnreadableFile(
            "no row near its top reads as the headings of a table of parts.",
            where=file,
            way_out="A table needs one heading row with words such as part number, VDS, RDS(on), package; or say in "
            "a recipe (--recipe) which row holds the headings and what each column is.",
        )
    block, found = best
    preamble = tuple(
        (number, "; ".join(cell.strip() for cell in row if cell.strip()))
        for number, row in enumerate(head[: block.start], 1)
        if any(cell.strip() for cell in row)
    )
    units = _stated_units(preamble, found)
    columns = tuple(
        _united(column_of(index + 1, heading, reading, found), units)
        for index, (heading, reading) in enumerate(zip(block.headings, block.readings, strict=True))
    )
    return Layout(
        family=found,
        heading_records=tuple(head[block.start : block.end]),
        heading_from=block.start + 1,
        first_record=block.end + 1,
        columns=with_companions(settled(columns, found), found),
        preamble=preamble,
    )


def _best(
    head: Sequence[Record], family: str | None, file: str, heading_rows: tuple[int, int] | None
) -> tuple[_Block, Family] | None:
    """Find the block of headings that speaks loudest, and the family that it speaks for.

    Raises
    ------
    UnreadableFile
        It speaks for two families alike, and neither the file's name nor its first rows tell which it is.
    """
    found: list[tuple[float, _Block, Family]] = []
    for name in [family] if family else families.names():
        one = families.load(name)
        blocks = [_named_block(head, one, heading_rows)] if heading_rows else list(_blocks(head, one))
        if blocks:
            block = max(blocks, key=lambda block: block.score)
            found.append((block.score + _named(head, file, one), block, one))
    found.sort(key=lambda one: -one[0])
    if len(found) > 1 and found[0][0] - found[1][0] < _TOO_CLOSE and found[0][0] > 2.0:
        raise UnreadableFile(
            f"its headings fit {found[0][2].title} as well as {found[1][2].title}.",
            where=file,
            way_out=f"Say which with --family {found[0][2].name} or --family {found[1][2].name}.",
        )
    return found[0][1:] if found else None


def _named(head: Sequence[Record], file: str, family: Family) -> float:
    """How loudly do the file's name and its first rows say what the list is of?"""
    told = sum(family.names(" ".join(row)) for row in head[:_SEARCHED_RECORDS] if any(row))
    return _BY_NAME * family.names(file) + _BY_ROWS * min(told / 4, 1.0)


def _stated_units(preamble: Sequence[tuple[int, str]], family: Family) -> dict[str, tuple[str, int]]:
    """Units that a line above the table states for a figure: "ID in mA, PD in mW"."""
    found: dict[str, tuple[str, int]] = {}
    for number, line in preamble:
        for piece in re.split(r"[,;]|\band\b|\bund\b|:", line):
            reading = read_heading(piece.strip(), family)
            if reading.reads and reading.unit and re.search(r"\bin\b", piece):
                found.setdefault(reading.reads, (reading.unit, number))
    return found


def _united(column: ColumnReading, units: Mapping[str, tuple[str, int]]) -> ColumnReading:
    if column.unit or column.reads not in units:
        return column
    unit, row = units[column.reads]
    return replace(column, unit=unit, why=f"its unit stands in row {row}")


def differs(row: Record, layout: Layout) -> bool:
    """Does this row read as a heading, and of other columns than the table's?"""
    readings = [read_heading(cell, layout.family) if cell.strip() else None for cell in row]
    named = [reading for reading in readings if reading and reading.reads]
    if len(named) < 3:
        return False
    first = tuple(cell.strip() for cell in layout.heading_records[0])
    if tuple(cell.strip() for cell in row[: len(first)]) == first[: len(row)]:
        return False
    return any(
        reading is not None
        and reading.reads is not None
        and (reading.reads, reading.unit or column.unit) != (column.reads, column.unit or reading.unit)
        for reading, column in zip(readings, layout.columns, strict=False)
    )
