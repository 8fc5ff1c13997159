"""What the lists say of a part, for those who look it up: figures by gate voltage, and numbers that look alike."""

from __future__ import annotations

import difflib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from loadworthy import statements
from loadworthy.catalog import families
from loadworthy.catalog.schema import level_columns
from loadworthy.statements import Connection

__all__ = [
    "Listed",
    "at_gate",
    "families_held",
    "listed_at",
    "near_numbers",
    "placed_parts",
    "suppliers",
    "tables_held",
    "with_places",
]


@dataclass(frozen=True, kw_only=True)
class Listed:
    """An on-resistance as a list gives it."""

    typical: bool
    gate_v: float
    ohms: float


def tables_held(connection: Connection) -> set[str]:
    """Name the tables and views of a catalogue."""
    rows = statements.bind("tables", statements.assemble("tables"), {}).rows(connection)
    return {str(row["table_name"]) for row in rows}


def placed_parts(connection: Connection, family: str) -> str:
    """Write the view over a family's parts in a catalogue file so that the number of each row, its place, is in it."""
    rows = connection.execute("SELECT view_name, sql FROM duckdb_views() WHERE NOT temporary").fetchall()
    text = dict(rows).get(f"parts_{family}")
    return with_places(str(text).partition(" AS ")[2].rstrip("; \n") if text else f"SELECT * FROM parts_{family}")


def with_places(select: str) -> str:
    """Have a question for rows of one table say the number of each, its place, too."""
    return select.replace("SELECT ", "SELECT rowid AS place, ", 1)


def families_held(connection: Connection) -> list[str]:
    """Name the families that a catalogue holds a table of."""
    there = tables_held(connection)
    return [name for name in families.names() if f"parts_{name}" in there]


def listed_at(row: Mapping[str, Any], family: str) -> list[Listed]:
    """Return every on-resistance that a row of the parts table gives, maxima first, the greatest voltage first.

    Levels that are only filled up from below come once: at the voltage that they were given at.
    """
    found = {
        Listed(typical=typical, gate_v=row[f"{stem}_at_v"], ohms=row[f"{stem}_ohm"])
        for figure in families.load(family).figures
        if figure.levels
        for typical in (False, True)
        for _, stem in level_columns(figure.levels, typical=typical)
        if row.get(f"{stem}_at_v") is not None and row.get(f"{stem}_ohm") is not None
    }
    return sorted(found, key=lambda one: (one.typical, -one.gate_v))


def at_gate(row: Mapping[str, Any], gate_v: float, *, typical: bool, family: str = "transistor") -> Listed | None:
    """Return the on-resistance given at the greatest gate voltage not above a drive; None where there is none."""
    return next((one for one in listed_at(row, family) if one.typical == typical and one.gate_v <= gate_v), None)


def near_numbers(connection: Connection, part: str, among: Sequence[str], *, most: int) -> list[str]:
    """Name part numbers that look like one that the catalogue lacks.

    The beginning of a number says more than its end, so the piece that is looked for is shortened until some hold it.

    Parameters
    ----------
    connection
        The catalogue's.
    part
        The number that was asked for.
    among
        Families to look in, of which the catalogue holds parts.
    most
        How many to name.
    """
    for length in range(len(part), 1, -1):
        numbers: dict[str, str] = {}
        for family in among:
            text = statements.assemble("part_numbers", family=family)
            rows = statements.bind("part_numbers", text, {"piece": part[:length]}).rows(connection)
            numbers |= {row["part_number"].lower(): row["part_number"] for row in rows}
        close = difflib.get_close_matches(part.lower(), list(numbers), n=most, cutoff=0.4)
        if close:
            return [numbers[number] for number in close]
    return []


def suppliers(connection: Connection) -> list[str]:
    """Name all who offer anything.

    Parameters
    ----------
    connection
        The catalogue's.
    """
    rows = statements.bind("suppliers", statements.assemble("suppliers"), {}).rows(connection)
    return [row["supplier"] for row in rows]
