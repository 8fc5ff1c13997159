"""What somebody corrects in how a table is read: kept as texts, written as a recipe that says only that."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import tomlkit

from loadworthy.catalog.families import Family, Figure
from loadworthy.catalog.recipes import COLUMN_KEYS
from loadworthy.errors import RecipeError

__all__ = ["TABLE_KEYS", "Corrections", "keys_for", "readable"]

#: What can be corrected of a table as a whole.
TABLE_KEYS = ("family", "supplier", "decimal", "currency", "encoding", "delimiter", "heading_rows")
_DELIMITERS = {"tab": "\t", "comma": ",", "semicolon": ";", "bar": "|", "colon": ":", "blanks": " "}
_ROWS = re.compile(r"\s*(\d{1,6})\s*(?:(?:-|–|to|and|,)\s*(\d{1,6})\s*)?", re.ASCII)


@dataclass(frozen=True, kw_only=True)
class Corrections:
    """What was corrected of one table.

    Attributes
    ----------
    sheet
        The sheet that it is, of a workbook that holds several tables.
    table
        Key of :data:`TABLE_KEYS` → what was put in.
    columns
        Position of a column → key of a recipe's entry → what was put in.
    """

    sheet: str | None = None
    table: Mapping[str, str] = field(default_factory=dict)
    columns: Mapping[int, Mapping[str, str]] = field(default_factory=dict)

    @property
    def none(self) -> bool:
        """Whether nothing was corrected, and no sheet is meant alone."""
        return not (self.sheet or self.table or self.columns)

    def with_table(self, put: Mapping[str, str]) -> Corrections:
        """Return them with something said of the table; an empty text takes back what was said before."""
        kept = {**self.table, **put}
        return replace(self, table={key: text for key, text in kept.items() if text})

    def with_column(self, position: int, put: Mapping[str, str]) -> Corrections:
        """Return them with something said of a column.

        Parameters
        ----------
        position
            Which column, from 1.
        put
            What was put in. Empty ``reads`` takes back all that was said of it; other ``reads`` than before, what
            was said of its conditions.
        """
        earlier = {} if "reads" in put else self.columns.get(position, {})
        columns = {place: entry for place, entry in self.columns.items() if place != position}
        if put.get("reads", "as before"):
            columns[position] = {**earlier, **put}
        return replace(self, columns=dict(sorted(columns.items())))

    def position(self, entry: int) -> int | None:
        """Return the column of the recipe's entry of that number, from 1."""
        places = sorted(self.columns)
        return places[entry - 1] if 1 <= entry <= len(places) else None

    def recipe(self) -> str:
        """Write them as a recipe (TOML).

        Raises
        ------
        RecipeError
            A number is none.

        Examples
        --------
        >>> print(Corrections(table={"decimal": ","}, columns={3: {"reads": "vds", "quantity": "10"}}).recipe())
        decimal = ","
        <BLANKLINE>
        [[column]]
        position = 3
        reads = "vds"
        quantity = 10
        <BLANKLINE>
        """
        document = tomlkit.document()
        if self.sheet:
            document["sheet"] = self.sheet
        for key, text in self.table.items():
            document[key] = _rows(text) if key == "heading_rows" else _DELIMITERS.get(text, text)
        entries = tomlkit.aot()
        for number, (position, said) in enumerate(sorted(self.columns.items()), 1):
            entry = tomlkit.table()
            entry["position"] = position
            for key, text in said.items():
                entry[key] = _whole(key, text, number) if COLUMN_KEYS[key] is int else text
            entries.append(entry)
        if self.columns:
            document["column"] = entries
        return tomlkit.dumps(document)


def _rows(text: str) -> list[int]:
    found = _ROWS.fullmatch(text)
    if found is None:
        raise RecipeError(
            f"{text!r} are no heading rows.", where="heading rows", way_out="Write the first and the last: 4-5, or 4."
        )
    return [int(found[1]), int(found[2] or found[1])]


def _whole(key: str, text: str, entry: int) -> int:
    if text and re.fullmatch(r"\s*\d{1,9}\s*", text, re.ASCII):
        return int(text)
    if not text:
        return 0 if key == "gate_column" else 1  # taken away: no column; from one piece up, for one piece
    error = RecipeError(f"{key.replace('_', ' ')}: {text!r} is no whole number.", way_out="Write such as 10.")
    error.entry = entry
    raise error


def readable(family: Family) -> tuple[Figure, ...]:
    """Return the figures of a family that its table keeps something of: what a column can be read as to some use."""
    return tuple(one for one in family.figures if one.kind != "other")


def keys_for(reads: str, family: Family) -> tuple[str, ...]:
    """Return what a recipe's entry can say of a column that is read as something: conditions that it can have.

    Examples
    --------
    >>> from loadworthy.catalog import families
    >>> keys_for("price", families.load("transistor"))
    ('unit', 'quantity', 'per')
    >>> keys_for("rds_on", families.load("transistor"))
    ('statistic', 'unit', 'gate_v', 'gate_column', 'temperature')
    """
    if reads == "price":
        return ("unit", "quantity", "per")
    figure = next((one for one in family.figures if one.name == reads), None)
    if figure is None or figure.text or figure.kind == "other":
        return ()
    beside = {name for kept in figure.store for name in kept.beside}
    asked = {
        "statistic": True,
        "unit": bool(figure.unit),
        "gate_v": figure.gated,
        "gate_column": figure.gated,
        "temperature": figure.unit not in ("", "degC"),
        "place": bool(figure.places),
        "air_speed": "flow" in beside,
        "current": "amps" in beside,
    }
    return tuple(key for key, means in asked.items() if means)
