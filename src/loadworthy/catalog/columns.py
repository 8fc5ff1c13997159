"""What the columns of a table hold: one reading for each, and settled where several compete."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace

from loadworthy.catalog import families
from loadworthy.catalog.families import Family
from loadworthy.catalog.headings import HeadingReading
from loadworthy.quantities import show
from loadworthy.quantities.text import tidy

__all__ = ["ColumnReading", "Layout", "Record", "column_of", "settled", "with_companions"]

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
    flow: float | None = None
    amps: float | None = None
    price_quantity: int | None = None
    per: int = 1
    gates: tuple[float, ...] = ()
    gate_column: int | None = None
    quantity_column: int | None = None
    unit_guessed: bool = False
    certainty: str = "unread"
    why: str = ""

    @property
    def at(self) -> str:
        """The conditions of the column, in words."""
        said = []
        if self.gates:
            said.append("VGS = " + " / ".join(show(gate, "V") for gate in self.gates))
        elif self.gate_v is not None:
            said.append(f"VGS = {show(self.gate_v, 'V')}")
        if self.gate_column is not None:
            said.append(f"VGS from column {self.gate_column}")
        if self.degc is not None:
            said.append(show(self.degc, "degC"))
        if self.place:
            said.append(self.place)
        if self.flow is not None:
            said.append(f"air at {show(self.flow, 'm/s')}")
        if self.amps is not None:
            said.append(f"at {show(self.amps, 'A')}")
        if self.price_quantity is not None:
            said.append(f"from {self.price_quantity} up")
        if self.quantity_column is not None:
            said.append(f"from the quantity in column {self.quantity_column} up")
        if self.per != 1:
            said.append(f"for {self.per} pieces")
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


def column_of(position: int, heading: str, reading: HeadingReading, family: Family) -> ColumnReading:
    """Say what a column holds by what its heading reads as."""
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
        gates=reading.gates,
        degc=reading.degc,
        place=reading.place,
        flow=reading.flow,
        amps=reading.amps,
        price_quantity=reading.price_quantity,
        per=reading.per,
        certainty="sure" if reading.certain else "guessed",
        why=reading.why,
    )


def settled(columns: tuple[ColumnReading, ...], family: Family) -> tuple[ColumnReading, ...]:
    """Settle columns that compete for what a part has only one of."""
    columns = _settle_better_named(_settle_numbers(_settle_kinds(_inherited(columns), family)), family)
    taken: dict[object, ColumnReading] = {}
    settled = []
    for column in sorted(columns, key=lambda one: (one.certainty != "sure", not _is_sum(one), one.position)):
        first = taken.setdefault(_only_one(column), column) if _only_one(column) else column
        if first is column:
            settled.append(column)
        else:
            why = f"column {first.position} ({first.heading}) is taken as the {column.title}"
            settled.append(_unread(column, why))
    return tuple(sorted(settled, key=lambda one: one.position))


def _is_sum(column: ColumnReading) -> bool:
    """Of several stock columns the total counts."""
    return column.reads == "stock" and bool(re.search(r"total|gesamt|summe|all", column.heading, re.IGNORECASE))


def _only_one(column: ColumnReading) -> object:
    """What there can be one column of; of prices, one for each quantity."""
    if column.reads == "price" and column.quantity_column is None:
        return ("price", column.price_quantity or 1)
    return column.reads if column.reads in _ONE_ONLY else None


def _inherited(columns: tuple[ColumnReading, ...]) -> tuple[ColumnReading, ...]:
    """``VGS(th) min | max``: a heading that is only a limit belongs to the figure named to its left.

    ``Qty 1 | Price 1``: a price takes its quantity from the column to its left that bears the same number.
    """
    found = list(columns)
    for index in range(1, len(found)):
        before, column = found[index - 1], found[index]
        word = column.heading.strip("()[]. ").lower()
        limit = families.words().statistic.get(word)
        if column.reads in ("nothing", "part_number") and limit and before.statistic and before.reads != "nothing":
            why = "it names a limit only: read as the figure to its left"
            found[index] = replace(
                before, position=column.position, heading=column.heading, statistic=limit, certainty="guessed", why=why
            )
        quantity = re.fullmatch(r"(?:qty|quantity|menge|from|ab)\W*(\d+)", before.heading, re.IGNORECASE)
        priced = column.reads == "price" and re.search(r"(\d+)", column.heading)
        if quantity and priced and quantity[1] == priced[1]:
            title = "quantity from which the price holds"
            found[index - 1] = replace(
                before, reads="break_quantity", title=title, price_quantity=None, certainty="sure", why=""
            )
            found[index] = replace(
                column, price_quantity=None, quantity_column=before.position, certainty="sure", why=""
            )
    return tuple(found)


def _settle_better_named(columns: tuple[ColumnReading, ...], family: Family) -> tuple[ColumnReading, ...]:
    """An operating temperature is the junction's only where no column names the junction."""
    for figure in family.figures:
        if figure.better_named is None:
            continue
        named = [
            one for one in columns if one.reads == figure.name and re.search(figure.better_named, one.heading, re.I)
        ]
        if named:
            why = f"column {named[0].position} ({named[0].heading}) gives the {named[0].title}"
            columns = tuple(
                _unread(one, why) if one.reads == figure.name and one not in named else one for one in columns
            )
    return columns


_NUMBERED = re.compile(r"number|nummer|mpn|\b(?:no|nr|p/?n)\b", re.IGNORECASE)


def _settle_kinds(columns: tuple[ColumnReading, ...], family: Family) -> tuple[ColumnReading, ...]:
    """``Part number | Type``: where another column bears the number, a bare type says what kind of part it is."""
    kinds = [figure for figure in family.figures if figure.kind == "choice" and figure.weak]
    taken = {column.reads for column in columns}
    numbered = [one for one in columns if one.reads == "part_number" and _NUMBERED.search(one.heading)]
    if not numbered:
        return columns
    found = list(columns)
    for index, column in enumerate(columns):
        word = column.heading.strip(" .:").casefold()
        figure = next((one for one in kinds if word in one.weak and one.name not in taken), None)
        if column.reads == "part_number" and figure is not None:
            why = f"column {numbered[0].position} ({numbered[0].heading}) names the part"
            found[index] = replace(column, reads=figure.name, title=figure.title, certainty="guessed", why=why)
            taken.add(figure.name)
    return tuple(found)


_MAKERS_OWN = re.compile(r"maker|manufacturer|hersteller|mfr|mpn|mfg", re.IGNORECASE)


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
    makers_own = [column for column in parts if _MAKERS_OWN.search(column.heading)]
    if len(parts) > 1 and len(makers_own) == 1:
        renamed = {
            column.position: replace(
                column,
                reads="order_number",
                title="order number",
                certainty="guessed",
                why="another column names the maker's number",
            )
            for column in parts
            if column is not makers_own[0]
        }
        return tuple(renamed.get(column.position, column) for column in columns)
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


def with_companions(columns: tuple[ColumnReading, ...], family: Family) -> tuple[ColumnReading, ...]:
    """Tie columns of on-resistance to the column that gives their gate voltage.

    ``RDS(on) typ | RDS(on) max | at VGS``: a gate voltage column speaks for the columns before it that have no
    gate voltage of their own; standing first, for those after it.
    """
    found = list(columns)
    if family.gate_figure is None:
        return columns
    drives = [index for index, column in enumerate(found) if column.reads == family.gate_figure]
    for index in drives:
        before = index - 1
        tied = False
        while before >= 0 and _waits(found[before], family):
            found[before] = replace(found[before], gate_column=found[index].position)
            tied = True
            before -= 1
        after = index + 1
        while not tied and after < len(found) and _waits(found[after], family):
            found[after] = replace(found[after], gate_column=found[index].position)
            after += 1
    if len(drives) == 1:
        only = found[drives[0]].position
        found = [replace(column, gate_column=only) if _waits(column, family) else column for column in found]
    return tuple(found)


def _waits(column: ColumnReading, family: Family) -> bool:
    return column.reads in family.gated and column.gate_v is None and column.gate_column is None
