"""How the parts of a family lie in their table: which columns are stored, sorted by what, and what lies beside."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence

import duckdb

from loadworthy.catalog.families import Family, Levels
from loadworthy.catalog.schema import (
    STORED_NUMBER,
    exact_columns,
    level_columns,
    number_text,
    part_columns,
    view_text,
)

__all__ = [
    "OF_SEVERAL",
    "chosen",
    "columns_of",
    "count",
    "go_beside",
    "into",
    "lay_beside",
    "lay_down",
    "numbered",
    "numbers_apart",
    "row_as_claim",
    "stored_columns",
    "view_parts",
]

#: A row group: so few parts are always laid down anew, and sorted.
FEW_PARTS = 122_880
#: So large a share of the parts may lie beside the sorted ones.
MOST_BESIDE = 0.25
#: So many new parts are worth a sorted run of their own, of which a question opens hardly more row groups than of parts
#: that are all laid in one; so many runs there may be.
LONG_RUN, MOST_RUNS = 1_000_000, 4
#: How many claims there are of a part and where they differ; not stored before any part has several.
OF_SEVERAL = {"claims": "INTEGER DEFAULT 1", "differs": "VARCHAR"}
_LAYING = "laying_parts"


def columns_of(connection: duckdb.DuckDBPyConnection, table: str) -> set[str]:
    """Return the names of a table's columns."""
    return {str(row[0]) for row in connection.execute(f'DESCRIBE "{table}"').fetchall()}


def count(connection: duckdb.DuckDBPyConnection, table: str) -> int:
    """Count the rows of a table."""
    (rows,) = connection.execute(f'SELECT count(*) FROM "{table}"').fetchone() or (0,)
    return int(rows)


def into(table: str, number: int) -> str:
    """Begin the statement that fills a temporary table, of which the first of several makes it."""
    return f"INSERT INTO {table}" if number else f"CREATE OR REPLACE TEMP TABLE {table} AS"


def chosen(pairs: Iterable[tuple[str, str]]) -> str:
    """Write (expression, name) pairs as a statement selects them."""
    return ", ".join(f'{expression} AS "{name}"' for expression, name in pairs)


def numbers_apart(names: Iterable[str]) -> str:
    """Select columns as they are stored: part numbers only where no key ends in them."""
    return ", ".join(f"{STORED_NUMBER} AS part_number" if name == "part_number" else f'"{name}"' for name in names)


def numbered(words: Iterable[str]) -> dict[str, str]:
    """Name the parameter of each column's words."""
    return {name: f"words_{number}" for number, name in enumerate(words)}


def stored_columns(
    family: Family, present: Collection[str], wanted: Collection[str], *, as_keys: bool
) -> list[tuple[str, str]]:
    """Return (expression, name) of what is stored of a family's parts; the view over it says the rest.

    A column is stored where a claim fills it (``present``), or where it stands in the table already (``wanted``). Part
    numbers are not where the parts' keys end in them (``as_keys``).
    """
    of_several = [name for name in OF_SEVERAL if name in present or name in wanted]
    stored = [(f'"{name}"', name) for name in ("part_key", "list_id", "record", *of_several)]
    for column in part_columns(family):
        if column.name == "part_number":
            stored += [] if as_keys and column.name not in wanted else [(STORED_NUMBER, column.name)]
        elif column.name in present:
            stored.append((f'"{column.name}"', column.name))
        elif column.name in wanted:
            stored.append((f"CAST(NULL AS {column.kind})", column.name))
    for levels in (figure.levels for figure in family.figures if figure.levels):
        stored += _stored_levels(levels, present, wanted)
    return stored


def _stored_levels(levels: Levels, present: Collection[str], wanted: Collection[str]) -> list[tuple[str, str]]:
    """Fill each level that a list gives a figure for up from those below it."""
    stored: list[tuple[str, str]] = []
    exact = exact_columns(levels)
    for typical, pairs in ((False, exact[: len(levels.values)]), (True, exact[len(levels.values) :])):
        below: list[tuple[str, str]] = []
        for (_, stem), pair in zip(level_columns(levels, typical=typical), pairs, strict=True):
            if pair[0] in present:
                below.insert(0, pair)
            if pair[0] in present or f"{stem}_ohm" in wanted:
                stored.append((_first([value for value, _ in below]), f"{stem}_ohm"))
                stored.append((_first([at for _, at in below]), f"{stem}_at_v"))
    return stored


def _first(names: list[str]) -> str:
    quoted = [f'"{name}"' for name in names]
    return f"coalesce({', '.join(quoted)})" if len(quoted) > 1 else (quoted or ["CAST(NULL AS DOUBLE)"])[0]


def row_as_claim(family: Family, stored: Collection[str]) -> dict[str, str]:
    """Read a part's row as a claim: column of the claims → expression over the row.

    Parameters
    ----------
    family, stored
        As for :func:`loadworthy.catalog.schema.viewed_columns`.
    """
    found = {column.name: f'"{column.name}"' for column in part_columns(family) if column.name in stored}
    found["part_number"] = number_text(stored)
    for levels in (figure.levels for figure in family.figures if figure.levels):
        found |= _exact_of_part(levels, stored)
    return found


def _exact_of_part(levels: Levels, stored: Collection[str]) -> dict[str, str]:
    """The reverse of :func:`_stored_levels`: what was given for each level itself, and not filled up from below."""
    found: dict[str, str] = {}
    exact = iter(exact_columns(levels))
    for typical in (False, True):
        below = 0.0
        for level, stem in level_columns(levels, typical=typical):
            value, at = next(exact)
            if f"{stem}_ohm" not in stored:
                continue
            own = f'"{stem}_at_v" > {below}'
            found |= {
                name: f'CASE WHEN {own} THEN "{stem}_{kind}" END' for kind, name in (("ohm", value), ("at_v", at))
            }
            below = level
    return found


def lay_down(
    connection: duckdb.DuckDBPyConnection,
    family: Family,
    names: Sequence[str],
    rows: str,
    words: Mapping[str, Sequence[str]],
) -> None:
    """Lay all parts of the family down anew, as the rows come; of columns of words they have the places."""
    stored = f"stored_{family.name}"
    parameters = numbered(words)
    # A list that is the same for all rows is looked into by a place at no cost.
    said = [f'${parameters[name]}["{name}" + 1] AS "{name}"' if name in parameters else f'"{name}"' for name in names]
    connection.execute(
        f'CREATE TABLE "{_LAYING}" AS SELECT {", ".join(said)} FROM ({rows})',
        {number: list(words[name]) for name, number in parameters.items()} or None,
    )
    connection.execute(f'DROP TABLE IF EXISTS "{stored}"')
    connection.execute(f'ALTER TABLE "{_LAYING}" RENAME TO "{stored}"')
    view_parts(connection, family)
    _note_laid(connection, family, 0, 1)


def go_beside(connection: duckdb.DuckDBPyConnection, family: Family, *, new: int, instead: int) -> bool:
    """Say whether parts may go behind the sorted ones, and note it; ``instead`` of others come so many of them."""
    there = count(connection, f"stored_{family.name}")
    beside, runs = connection.execute(
        "SELECT coalesce(sum(beside), 0), coalesce(max(runs), 1) FROM laid WHERE family = ?", [family.name]
    ).fetchone() or (0, 1)
    if there < FEW_PARTS or beside + instead > MOST_BESIDE * there:
        return False
    if beside + instead + new <= MOST_BESIDE * there:
        _note_laid(connection, family, beside + instead + new, runs)
    elif new >= LONG_RUN and runs < MOST_RUNS:
        _note_laid(connection, family, beside + instead, runs + 1)
    else:
        return False
    return True


def lay_beside(connection: duckdb.DuckDBPyConnection, family: Family, moved: str, rows: str) -> None:
    """Lay parts down behind the others, in the stead of those rows whose places a table holds; they may be read."""
    stored = f"stored_{family.name}"
    connection.execute(f'INSERT INTO "{stored}" BY NAME {rows}')
    connection.execute(f'DELETE FROM "{stored}" WHERE rowid IN (SELECT place FROM {moved})')


def _note_laid(connection: duckdb.DuckDBPyConnection, family: Family, beside: int, runs: int) -> None:
    connection.execute("DELETE FROM laid WHERE family = ?", [family.name])
    connection.execute("INSERT INTO laid VALUES (?, ?, ?)", [family.name, beside, runs])


def view_parts(connection: duckdb.DuckDBPyConnection, family: Family) -> None:
    """Lay the view over the stored parts anew: it names the columns that there are."""
    stored = f"stored_{family.name}"
    text = view_text(family, columns_of(connection, stored), stored)
    connection.execute(f'CREATE OR REPLACE VIEW "parts_{family.name}" AS {text}')
