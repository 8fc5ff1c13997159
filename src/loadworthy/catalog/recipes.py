"""Recipe files: how a table is to be read where its headings leave a doubt (TOML, written and applied)."""

from __future__ import annotations

import codecs
import difflib
import hashlib
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import tomlkit

from loadworthy.catalog import families
from loadworthy.catalog.columns import ColumnReading, Layout, with_companions
from loadworthy.catalog.currencies import currency_of
from loadworthy.catalog.families import Family
from loadworthy.errors import QuantityError, RecipeError
from loadworthy.quantities import si
from loadworthy.quantities.text import tidy
from loadworthy.quantities.units import scale

__all__ = ["COLUMN_KEYS", "Recipe", "entry_of", "load_recipe", "recipe_text"]

_TOP = {
    "supplier": str,
    "family": str,
    "decimal": str,
    "currency": str,
    "encoding": str,
    "delimiter": str,
    "sheet": str,
    "heading_rows": list,
    "column": list,
}
_COLUMN = {
    "heading": str,
    "position": int,
    "reads": str,
    "statistic": str,
    "unit": str,
    "gate_v": str,
    "gate_column": int,
    "temperature": str,
    "place": str,
    "air_speed": str,
    "current": str,
    "quantity": int,
    "per": int,
}
#: What an entry can say of its column, besides which one it is, and of what kind it is.
COLUMN_KEYS: Mapping[str, type] = {key: kind for key, kind in _COLUMN.items() if key not in ("heading", "position")}
_STATISTICS = ("min", "typ", "max")


@dataclass(frozen=True, kw_only=True)
class Recipe:
    """What a recipe file settles; whatever it does not name is worked out as without it."""

    file: str = ""
    digest: str = ""
    supplier: str | None = None
    family: str | None = None
    decimal: str | None = None
    currency: str | None = None
    encoding: str | None = None
    delimiter: str | None = None
    sheet: str | None = None
    heading_rows: tuple[int, int] | None = None
    columns: tuple[Mapping[str, Any], ...] = ()

    def applied(self, layout: Layout) -> Layout:
        """Return the layout with the recipe's columns in place of what was worked out.

        Raises
        ------
        RecipeError
            A column of the recipe is not in the table, or what it says cannot be.
        """
        columns = list(layout.columns)
        for number, entry in enumerate(self.columns, 1):
            index = self._place(entry, number, columns)
            columns[index] = self._column(entry, number, columns[index], layout.family, len(columns))
        return replace(layout, columns=with_companions(tuple(columns), layout.family))

    @property
    def told_family(self) -> str | None:
        """The family that it names, or the one that alone has every figure its columns read."""
        if self.family is not None:
            return self.family
        read = {str(entry["reads"]) for entry in self.columns if entry.get("reads") not in (None, "nothing")}
        read -= {column.name for column in families.words().columns}
        able = [name for name in families.names() if read <= {one.name for one in families.load(name).figures}]
        return able[0] if read and len(able) == 1 else None

    def _error(self, number: int, message: str, way_out: str) -> RecipeError:
        error = RecipeError(message, where=f"{self.file}, column entry {number}", way_out=way_out)
        error.entry = number
        return error

    def _place(self, entry: Mapping[str, Any], number: int, columns: list[ColumnReading]) -> int:
        heading, position = entry.get("heading"), entry.get("position")
        fitting = [
            index
            for index, column in enumerate(columns)
            if (heading is None or tidy(str(heading)) == column.heading)
            and (position is None or position == column.position)
        ]
        if len(fitting) == 1:
            return fitting[0]
        if fitting:
            raise self._error(number, f"{len(fitting)} columns are headed {heading!r}.", "Add its position.")
        there = ", ".join(f"{column.position} {column.heading!r}" for column in columns)
        raise self._error(number, f"the table has no column {heading or position!r}.", f"It has {there}.")

    def _column(
        self, entry: Mapping[str, Any], number: int, column: ColumnReading, family: Family, count: int
    ) -> ColumnReading:
        reads = str(entry.get("reads", column.reads))
        why = f"settled in {self.file}"
        for key in ("quantity", "per", "position"):
            if int(entry.get(key, 1)) < 1:
                raise self._error(number, f"{key} is {entry[key]}.", "It is a whole number from 1 up.")
        if not 0 <= int(entry.get("gate_column", 0)) <= count:
            raise self._error(
                number, f"the table has no column {entry['gate_column']}.", f"It has columns 1 to {count}; 0 is none."
            )
        if reads == "nothing":
            return ColumnReading(position=column.position, heading=column.heading, why=why)
        known = [figure.name for figure in (*family.figures, *families.words().columns)]
        if reads not in known:
            near = difflib.get_close_matches(reads, known, n=3) or known
            raise self._error(number, f"{reads!r} is nothing that a column can hold.", f"Try {', '.join(near)}.")
        figure = family.figure(reads)
        unit = entry.get("unit", column.unit if reads == column.reads else None) or None
        if unit and figure.unit and scale(tidy(str(unit)), figure.unit) is None:
            raise self._error(number, f"{unit!r} is no unit of {figure.title}.", f"Its unit is {figure.unit}.")
        statistic = entry.get("statistic", column.statistic) or None  # an empty text takes away
        if statistic and any(part not in _STATISTICS for part in str(statistic).split("/")):
            raise self._error(number, f"{statistic!r} is no statistic.", f"It is one of {', '.join(_STATISTICS)}.")
        place = entry.get("place", column.place) or None
        places = tuple(dict.fromkeys(families.words().place.values()))
        if place and place not in places:
            raise self._error(number, f"{place!r} is no place.", f"It is one of {', '.join(places)}.")
        return replace(
            column,
            reads=reads,
            title=figure.title,
            unit=unit,
            statistic=statistic,
            place=place,
            gate_v=self._quantity(entry, "gate_v", "V", number, column.gate_v),
            degc=self._quantity(entry, "temperature", "degC", number, column.degc),
            flow=self._quantity(entry, "air_speed", "m/s", number, column.flow),
            amps=self._quantity(entry, "current", "A", number, column.amps),
            gate_column=entry.get("gate_column", column.gate_column) or None,
            price_quantity=entry.get("quantity", column.price_quantity),
            per=entry.get("per", column.per),
            certainty="sure",
            why=why,
        )

    def _quantity(
        self, entry: Mapping[str, Any], key: str, unit: str, number: int, else_: float | None
    ) -> float | None:
        if not entry.get(key):
            return None if key in entry else else_
        try:
            return si(str(entry[key]), unit)
        except QuantityError as error:
            raise self._error(number, f"{key}: {error.message}", error.way_out or "") from error


def load_recipe(path: Path) -> Recipe:
    """Read a recipe file.

    Raises
    ------
    RecipeError
        It cannot be read, is no TOML, or holds a key that means nothing.
    """
    try:
        text = path.read_text(encoding="utf-8")
        table = tomllib.loads(text)
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise RecipeError(
            f"the recipe cannot be read: {error}.",
            where=str(path),
            way_out="--save-recipe writes a sound one.",
        ) from error
    _check_keys(table, _TOP, path.name, "at the top")
    for number, entry in enumerate(table.get("column", []), 1):
        if not isinstance(entry, dict):
            raise RecipeError("column must be a [[column]] table.", where=path.name, way_out="Write [[column]].")
        _check_keys(entry, _COLUMN, path.name, f"in column entry {number}")
    rows = table.get("heading_rows")
    if rows is not None and (len(rows) != 2 or not all(isinstance(row, int) for row in rows)):
        raise RecipeError(
            "heading_rows is the first and the last heading row.", where=path.name, way_out="Write [4, 5]."
        )
    _check_values(table, path.name)
    return Recipe(
        file=path.name,
        digest=hashlib.blake2b(text.encode(), digest_size=8).hexdigest(),
        heading_rows=(rows[0], rows[1]) if rows else None,
        columns=tuple(table.get("column", [])),
        **{key: table.get(key) for key in _TOP if key not in ("heading_rows", "column")},
    )


def _check_values(table: Mapping[str, Any], file: str) -> None:
    """Refuse values that no table could be read with."""
    if table.get("decimal") not in (None, ".", ","):
        raise RecipeError("decimal is '.' or ','.", where=file, way_out='Write decimal = ",".')
    currency = table.get("currency")
    if currency is not None and currency_of(str(currency)) is None:
        raise RecipeError(f"{currency!r} is no currency.", where=file, way_out='Write its ISO code: currency = "EUR".')
    if table.get("family") not in (None, *families.names()):
        raise RecipeError(
            f"there is no part family {table['family']!r}.",
            where=file,
            way_out=f"There is {', '.join(families.names())}.",
        )
    if len(str(table.get("delimiter", ","))) != 1:
        raise RecipeError(
            f"{table['delimiter']!r} cannot part fields.", where=file, way_out='Write one character: delimiter = ";".'
        )
    try:
        codecs.lookup(str(table.get("encoding", "utf-8")))
    except LookupError:
        raise RecipeError(
            f"no encoding is called {table['encoding']!r}.", where=file, way_out='Write such as encoding = "cp1252".'
        ) from None


def _check_keys(table: Mapping[str, Any], known: Mapping[str, type], file: str, where: str) -> None:
    for key, value in table.items():
        if key not in known:
            near = difflib.get_close_matches(key, known, n=1)
            raise RecipeError(
                f"{key!r} {where} means nothing.",
                where=file,
                way_out=f"Is {near[0]!r} meant?" if near else f"Known are {', '.join(known)}.",
            )
        if not isinstance(value, known[key]) or isinstance(value, bool):
            raise RecipeError(
                f"{key!r} {where} must be {_kind(known[key])}, not {value!r}.",
                where=file,
                way_out="Mend the line.",
            )


def _kind(kind: type) -> str:
    return {str: "a text in quotes", int: "a whole number", list: "a list"}[kind]


def recipe_text(
    layout: Layout,
    *,
    supplier: str,
    decimal: str,
    encoding: str,
    delimiter: str,
    sheet: str | None,
    currency: str | None = None,
) -> str:
    """Write down how a table was read, as a recipe that reads the next one of its kind in the same way."""
    document = tomlkit.document()
    document.add(
        tomlkit.comment("How Loadworthy reads this table. Correct what is wrong, then: intake FILE --recipe THIS")
    )
    document.add(
        tomlkit.comment('reads = "nothing" leaves a column out; gate_v, temperature, place say what it holds for.')
    )
    document["supplier"] = supplier
    document["family"] = layout.family.name
    document["decimal"] = decimal
    if currency:
        document["currency"] = currency
    document["encoding"] = encoding
    document["delimiter"] = delimiter
    if sheet:
        document["sheet"] = sheet
    last = layout.heading_from + len(layout.heading_records) - 1
    document["heading_rows"] = [layout.heading_from, last]
    entries = tomlkit.aot()
    for column in layout.columns:
        entries.append(_entry(column))
    document["column"] = entries
    return tomlkit.dumps(document)


def _entry(column: ColumnReading) -> tomlkit.items.Table:
    entry = tomlkit.table()
    if column.why:
        entry.comment(f"{column.certainty}: {column.why}")
    entry["position"] = column.position
    entry["heading"] = column.heading
    for key, value in entry_of(column).items():
        entry[key] = value
    return entry


def entry_of(column: ColumnReading) -> dict[str, str | int]:
    """Say how a column was read, by the keys of a recipe's entry.

    Examples
    --------
    >>> entry_of(ColumnReading(position=3, heading="RDS(on)", reads="rds_on", unit="mΩ", gate_v=4.5))
    {'reads': 'rds_on', 'unit': 'mΩ', 'gate_v': '4.5V'}
    """
    said = {
        "reads": column.reads,
        "statistic": column.statistic,
        "unit": column.unit,
        "gate_v": f"{column.gate_v:g}V" if column.gate_v is not None else None,
        "gate_column": column.gate_column,
        "temperature": f"{column.degc:g}degC" if column.degc is not None else None,
        "place": column.place,
        "air_speed": f"{column.flow:g}m/s" if column.flow is not None else None,
        "current": f"{column.amps:g}A" if column.amps is not None else None,
        "quantity": column.price_quantity,
        "per": column.per if column.per != 1 else None,
    }
    return {key: value for key, value in said.items() if value is not None}
