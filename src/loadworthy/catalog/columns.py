"""The head of a table → which family it is of, where its heading stands, and what each column holds.

Headings are scored, not looked up: every record near the top is tried as the heading, alone or with the
rows above and below it (grouped headings, rows of units and of limits), and the block in which the most
columns speak for figures wins.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from loadworthy.catalog import families
from loadworthy.catalog.currencies import currency_of
from loadworthy.catalog.families import Family
from loadworthy.catalog.headings import HeadingReading, read_heading
from loadworthy.errors import RecipeError, UnreadableFile
from loadworthy.quantities import show
from loadworthy.quantities.text import tidy
from loadworthy.quantities.units import dimension_of

__all__ = ["ColumnReading", "Layout", "lay_out", "with_companions"]

_SEARCHED_RECORDS = 120
_ROWS_UNDER = 3
_IDENTITY = ("maker", "part_number", "order_number", "package", "supplier", "currency")
_ONE_ONLY = (*_IDENTITY, "stock", "least_quantity", "multiple", "packaging", "life_cycle", "lead_time")

Record = tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class ColumnReading:
    """What one column was read as, how sure that is, and why."""

    position: int
    heading: str
    reads: str = "nothing"
    title: str = ""
    statistic: str | None = None
    unit: str | None = None
    gate_v: float | None = None
    degc: float | None = None
    place: str | None = None
    price_quantity: int | None = None
    gate_column: int | None = None
    certainty: str = "unread"
    why: str = ""

    @property
    def at(self) -> str:
        """The conditions of the column, in words."""
        said = []
        if self.gate_v is not None:
            said.append(f"VGS = {show(self.gate_v, 'V')}")
        if self.gate_column is not None:
            said.append(f"VGS from column {self.gate_column}")
        if self.degc is not None:
            said.append(show(self.degc, "degC"))
        if self.place:
            said.append(self.place)
        if self.price_quantity is not None:
            said.append(f"from {self.price_quantity} up")
        return ", ".join(said)

    @property
    def field(self) -> str:
        """The name of the column in the raw table."""
        return f"c{self.position - 1}"


@dataclass(frozen=True, kw_only=True)
class Layout:
    """How a table is laid: its family, its heading rows (as in the file), its first data record."""

    family: Family
    heading_records: tuple[Record, ...]
    heading_from: int
    first_record: int
    columns: tuple[ColumnReading, ...]
    preamble: tuple[tuple[int, str], ...]

    @property
    def width(self) -> int:
        """The number of columns."""
        return len(self.columns)

    def reading(self, name: str) -> ColumnReading | None:
        """Return the first column that holds ``name``."""
        return next((column for column in self.columns if column.reads == name), None)


@dataclass(frozen=True)
class _Block:
    start: int
    end: int  # exclusive
    headings: tuple[str, ...]
    readings: tuple[HeadingReading, ...]
    score: float


def _is_small(cell: str) -> bool:
    """Could this cell stand in a row of units, limits or test conditions under the headings?"""
    text = tidy(cell).strip("[]() ")
    small = families.words()
    if not text or text.lower().rstrip(".") in small.statistic or dimension_of(text) or currency_of(text):
        return True
    if text.lower().rstrip(".") in ("pcs", "stk", "stück", "pieces", "st", "yes", "text"):
        return True
    return bool(re.match(r"(?:@|at|bei|V_?GS|U_?GS|I_?D|T_?[CJA]|with|\()", text, re.IGNORECASE)) and len(text) < 40


def _stacked(rows: Sequence[Record], width: int) -> tuple[str, ...]:
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
            elif below and number < len(rows) - 1 and left and not _names_itself(rows[number + 1 :], index):
                cell = left
            else:
                left = left if below else ""
            if cell:
                columns[index].append(cell)
    return tuple("\n".join(cells) for cells in columns)


def _names_itself(rows: Sequence[Record], index: int) -> bool:
    """Does a lower heading row name a figure in this column, so that it needs no group heading?"""
    return any(
        index < len(row)
        and row[index].strip()
        and read_heading(row[index], family).reads not in (None, "vgs_drive", "price")
        for row in rows
        for family in (families.load(name) for name in families.names())
    )


def _score(readings: Sequence[HeadingReading], headings: Sequence[str]) -> float:
    score = 0.0
    seen: set[tuple[object, ...]] = set()
    for reading, heading in zip(readings, headings, strict=True):
        if reading.reads is None or len(heading) > 160:
            continue
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
    headings = _stacked(rows, max(len(row) for row in rows))
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
        if sum(bool(cell.strip()) for cell in searched[start]) < 2:
            continue
        for end in range(start + 1, min(start + 2 + _ROWS_UNDER, len(searched)) + 1):
            rows = searched[start:end]
            if end - start > 1 and not all(_may_continue(row, rows[0]) for row in rows[1:]):
                break
            yield _block(head, start, end, family)


def _may_continue(row: Record, first: Record) -> bool:
    """Can this record belong to the heading above it? It holds no number, or only small words."""
    cells = [cell for cell in row if cell.strip()]
    if not cells or row == first:
        return False
    if all(_is_small(cell) for cell in cells):
        return True
    digits = sum(bool(re.search(r"\d", cell)) and not _is_small(cell) for cell in cells)
    return digits == 0 and all(len(cell) < 60 and (_is_small(cell) or _speaks(cell)) for cell in cells)


def _speaks(cell: str) -> bool:
    return any(read_heading(cell, families.load(name)).reads is not None for name in families.names())


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
    best: tuple[_Block, Family] | None = None
    for name in [family] if family else families.names():
        one = families.load(name)
        for block in [_named_block(head, one, heading_rows)] if heading_rows else _blocks(head, one):
            if best is None or block.score > best[0].score + 1e-9:
                best = (block, one)
    figures = {figure.name for figure in best[1].figures} if best else set()
    named = {reading.reads for reading in best[0].readings if reading.reads} if best else set()
    if best is None or len(named) < 2 or not named & figures:
        raise UnreadableFile(
            "no row near its top reads as the headings of a table of parts.",
            where=file,
            way_out="A table needs one heading row with words such as part number, VDS, RDS(on), package; or say in "
            "a recipe (--recipe) which row holds the headings and what each column is.",
        )
    block, found = best
    columns = tuple(
        _column(index + 1, heading, reading, found)
        for index, (heading, reading) in enumerate(zip(block.headings, block.readings, strict=True))
    )
    return Layout(
        family=found,
        heading_records=tuple(head[block.start : block.end]),
        heading_from=block.start + 1,
        first_record=block.end + 1,
        columns=with_companions(_single(columns)),
        preamble=tuple(
            (number, " ".join(cell.strip() for cell in row if cell.strip()))
            for number, row in enumerate(head[: block.start], 1)
            if any(cell.strip() for cell in row)
        ),
    )


def _column(position: int, heading: str, reading: HeadingReading, family: Family) -> ColumnReading:
    shown = tidy(heading.replace("\n", " "))
    if reading.reads is None or reading.reads == "description":
        why = "it does not say what can be chosen by" if reading.reads else reading.why
        return ColumnReading(position=position, heading=shown, why=why if shown else "it has no heading")
    return ColumnReading(
        position=position,
        heading=shown,
        reads=reading.reads,
        title=family.figure(reading.reads).title,
        statistic=reading.statistic,
        unit=reading.unit,
        gate_v=reading.gate_v,
        degc=reading.degc,
        place=reading.place,
        price_quantity=reading.price_quantity,
        certainty="sure" if reading.certain else "guessed",
        why=reading.why,
    )


def _single(columns: tuple[ColumnReading, ...]) -> tuple[ColumnReading, ...]:
    """Settle columns that compete for what a part has only one of."""
    columns = _settle_numbers(columns)
    taken: dict[str, ColumnReading] = {}
    settled = []
    for column in sorted(columns, key=lambda one: (one.certainty != "sure", one.position)):
        first = taken.setdefault(column.reads, column) if column.reads in _ONE_ONLY else column
        if first is column:
            settled.append(column)
        else:
            why = f"column {first.position} ({first.heading}) is taken as the {column.title}"
            settled.append(_unread(column, why))
    return tuple(sorted(settled, key=lambda one: one.position))


def _settle_numbers(columns: tuple[ColumnReading, ...]) -> tuple[ColumnReading, ...]:
    """An order number stands beside a part number; alone it is the only name that the part has."""
    parts = [column for column in columns if column.reads == "part_number"]
    orders = [column for column in columns if column.reads == "order_number"]
    if not parts and orders:
        only = orders[0]
        guess = replace(
            only,
            reads="part_number",
            title="part number",
            certainty="guessed",
            why="no other column names the part",
        )
        return tuple(guess if column is only else column for column in columns)
    if len(parts) > 1 and not orders:
        order_like = [
            column for column in parts if re.search(r"bestell|order|artikel|article|item", column.heading, re.I)
        ]
        if order_like and len(order_like) < len(parts):
            turned = replace(order_like[0], reads="order_number", title="order number")
            return tuple(turned if column is order_like[0] else column for column in columns)
    return columns


def _unread(column: ColumnReading, why: str) -> ColumnReading:
    return ColumnReading(position=column.position, heading=column.heading, why=why)


def with_companions(columns: tuple[ColumnReading, ...]) -> tuple[ColumnReading, ...]:
    """Tie columns of on-resistance to the column that gives their gate voltage.

    ``RDS(on) typ | RDS(on) max | at VGS``: a gate voltage column speaks for the columns before it that have no
    gate voltage of their own; standing first, for those after it.
    """
    found = list(columns)
    drives = [index for index, column in enumerate(found) if column.reads == "vgs_drive"]
    for index in drives:
        before = index - 1
        tied = False
        while before >= 0 and _waits(found[before]):
            found[before] = replace(found[before], gate_column=found[index].position)
            tied = True
            before -= 1
        after = index + 1
        while not tied and after < len(found) and _waits(found[after]):
            found[after] = replace(found[after], gate_column=found[index].position)
            after += 1
    if len(drives) == 1:
        only = found[drives[0]].position
        found = [replace(column, gate_column=only) if _waits(column) else column for column in found]
    return tuple(found)


def _waits(column: ColumnReading) -> bool:
    return column.reads in ("rds_on", "rds_hot") and column.gate_v is None and column.gate_column is None
