"""Claims of several lists → one row a part: the worse figure counts, and the row says where lists differ.

A part that one list alone gives stands in the table of parts with that list's record, and nowhere else. Where
several claims name a part they are kept beside it, and its row is put together from them.
"""

from __future__ import annotations

from collections.abc import Iterable

import duckdb

from loadworthy.catalog.assembly import STAGED
from loadworthy.catalog.families import Family, Figure, Levels
from loadworthy.catalog.schema import (
    Column,
    claim_columns,
    exact_columns,
    level_columns,
    part_columns,
    view_text,
)

__all__ = ["merge_staged"]

#: Lists round differently; figures that agree within this share do not differ.
_SAME_WITHIN = 2e-3
_EVERY = "every_claim"


def _merged(column: Column) -> str:
    name = f'"{column.name}"'
    if column.worse == "either":
        return f"bool_or({name})"
    if column.worse == "first":
        return f"arg_min({name}, list_id) FILTER ({name} IS NOT NULL)"
    return f"{'min' if column.worse == 'lower' else 'max'}({name})"


def _differences(columns: Iterable[Column]) -> list[str]:
    """The titles of figures that lists disagree about, each once however many columns it has."""
    tests: dict[str, list[str]] = {}
    for column in columns:
        if column.title and column.worse != "either":
            tests.setdefault(column.title, []).append(_apart(column))
    return [f"CASE WHEN {' OR '.join(apart)} THEN '{title}' END" for title, apart in tests.items()]


def _apart(column: Column) -> str:
    name = f'"{column.name}"'
    if column.worse == "first":
        return f"min({name}) <> max({name})"
    return f"max({name}) - min({name}) > {_SAME_WITHIN} * abs(max({name}))"


def _merged_level(value: str, at: str) -> list[str]:
    """Take the claim given at the greatest gate voltage; among several of those the greatest value."""
    top = f'max(struct_pack(volts := "{at}", ohm := "{value}")) FILTER ("{value}" IS NOT NULL)'
    return [f'({top}).ohm AS "{value}"', f'({top}).volts AS "{at}"']


def _level_difference(figure: Figure, levels: Levels, present: set[str]) -> str:
    tests = []
    for value, at in exact_columns(levels)[: len(levels.values)]:
        if value in present:
            told = f'FILTER ("{value}" IS NOT NULL)'
            greatest = f'(max(struct_pack(volts := "{at}", ohm := "{value}")) {told}).ohm'
            least = f'-((max(struct_pack(volts := "{at}", ohm := -"{value}")) {told}).ohm)'
            tests.append(f"coalesce({greatest} - {least} > {_SAME_WITHIN} * {greatest}, FALSE)")
    return f"CASE WHEN {' OR '.join(tests) or 'FALSE'} THEN '{figure.symbol}' END"


def _stored(family: Family, present: set[str]) -> list[tuple[str, str]]:
    """Return (expression, name) of what is stored of a family's parts; the view over it says the rest."""
    stored = [(f'"{name}"', name) for name in ("part_key", "list_id", "record", "claims", "differs")]
    stored += [(f'"{column.name}"', column.name) for column in part_columns(family) if column.name in present]
    for levels in (figure.levels for figure in family.figures if figure.levels):
        stored += _stored_levels(levels, present)
    return stored


def _stored_levels(levels: Levels, present: set[str]) -> list[tuple[str, str]]:
    """Fill each level that a list gives a figure for up from those below it."""
    stored: list[tuple[str, str]] = []
    exact = exact_columns(levels)
    for typical, pairs in ((False, exact[: len(levels.values)]), (True, exact[len(levels.values) :])):
        below: list[tuple[str, str]] = []
        for (_, stem), pair in zip(level_columns(levels, typical=typical), pairs, strict=True):
            if pair[0] in present:
                below.insert(0, pair)
                stored.append((_first([value for value, _ in below]), f"{stem}_ohm"))
                stored.append((_first([at for _, at in below]), f"{stem}_at_v"))
    return stored


def _chosen(pairs: list[tuple[str, str]]) -> str:
    return ", ".join(f'{expression} AS "{name}"' for expression, name in pairs)


def _first(names: list[str]) -> str:
    quoted = [f'"{name}"' for name in names]
    return f"coalesce({', '.join(quoted)})" if len(quoted) > 1 else quoted[0]


def _exact_of_part(levels: Levels) -> list[str]:
    """The reverse of :func:`_stored_levels`: what was given for each level itself, and not filled up from below."""
    found: list[str] = []
    exact = iter(exact_columns(levels))
    for typical in (False, True):
        below = 0.0
        for level, stem in level_columns(levels, typical=typical):
            value, at = next(exact)
            own = f'"{stem}_at_v" > {below}'
            found += [
                f'CASE WHEN {own} THEN "{stem}_{kind}" END AS "{name}"' for kind, name in (("ohm", value), ("at_v", at))
            ]
            below = level
    return found


def _gather(connection: duckdb.DuckDBPyConnection, family: Family, dropped: list[int], *, fresh: bool) -> str:
    """Bring this list's claims and those that the catalogue holds into one table; return its name."""
    if fresh:
        return STAGED
    names = [name for name, _ in claim_columns(family)]
    staged = {str(row[0]) for row in connection.execute(f'DESCRIBE "{STAGED}"').fetchall()}
    own = ", ".join(
        f'"{name}"' if name in staged else f'CAST(NULL AS {kind}) AS "{name}"' for name, kind in claim_columns(family)
    )
    plain = ", ".join(f'"{name}"' for name in names if not name.startswith("exact_"))
    exact = ", ".join(text for figure in family.figures if figure.levels for text in _exact_of_part(figure.levels))
    every = ", ".join(f'"{name}"' for name in names)
    connection.execute(
        f"""CREATE OR REPLACE TEMP TABLE {_EVERY} AS
        SELECT {every} FROM (SELECT {own} FROM "{STAGED}")
        UNION ALL SELECT {every} FROM (SELECT {plain}{", " + exact if exact else ""} FROM "parts_{family.name}"
            WHERE list_id IS NOT NULL AND NOT list_contains($dropped, list_id))
        UNION ALL SELECT {every} FROM "claims_{family.name}" WHERE NOT list_contains($dropped, list_id)""",
        {"dropped": dropped},
    )
    return _EVERY


def _present(connection: duckdb.DuckDBPyConnection, table: str) -> set[str]:
    """The columns of a table that hold anything: the others need not be carried through the sort."""
    names = [str(row[0]) for row in connection.execute(f'DESCRIBE "{table}"').fetchall()]
    counted = ", ".join(f'count("{name}")' for name in names)
    counts = connection.execute(f'SELECT {counted} FROM "{table}"').fetchone()
    return {name for name, count in zip(names, counts or (), strict=True) if count}


def merge_staged(connection: duckdb.DuckDBPyConnection, family: Family, *, dropped: list[int], fresh: bool) -> int:
    """Lay the table of parts anew, with the staged list in it and the dropped lists out of it.

    Parameters
    ----------
    connection
        In a transaction, with the staged claims in their temporary table.
    family
        The family.
    dropped
        The lists whose claims no longer count.
    fresh
        True where the catalogue holds no parts of the family yet.

    Returns
    -------
    int
        How many parts the staged list names.
    """
    table = _gather(connection, family, dropped, fresh=fresh)
    present = _present(connection, table)
    columns = part_columns(family)
    levels = [(figure, figure.levels) for figure in family.figures if figure.levels]
    exact = [name for _, one in levels for pair in exact_columns(one) for name in pair if name in present]
    carried = [column for column in columns if column.name in present]
    connection.execute(
        f'CREATE OR REPLACE TEMP TABLE shared_keys AS SELECT part_key, count(*) AS n FROM "{table}" '
        "GROUP BY part_key HAVING count(*) > 1"
    )
    parts = connection.execute(
        f'SELECT count(*) - (SELECT coalesce(sum(n - 1), 0) FROM shared_keys) FROM "{table}"'
        if fresh
        else f'SELECT count(DISTINCT part_key) FROM "{STAGED}"'
    ).fetchone() or (0,)
    shared = connection.execute("SELECT count(*) FROM shared_keys").fetchone() != (0,)
    one_each = ", ".join(
        f'"{name}"' for name in ["part_key", *(column.name for column in carried), *exact, "list_id", "record"]
    )
    inner = f'SELECT {one_each}, 1 AS claims, CAST(NULL AS VARCHAR) AS differs FROM "{table}"'
    if shared:
        inner += " ANTI JOIN shared_keys USING (part_key) UNION ALL " + _put_together(table, carried, levels, present)
    stored = _stored(family, present)
    viewed = view_text(family, {name for _, name in stored}, f"stored_{family.name}")
    order = ", ".join(f'"{name}"' for name in family.sorted_by if name in present) or "part_key"
    connection.execute(f'DROP VIEW IF EXISTS "parts_{family.name}"')
    connection.execute(f'DROP TABLE IF EXISTS "stored_{family.name}"')
    connection.execute(
        f'CREATE TABLE "stored_{family.name}" AS SELECT {_chosen(stored)} '
        f"FROM (SELECT * FROM ({inner}) ORDER BY {order})"
    )
    connection.execute(f'CREATE VIEW "parts_{family.name}" AS {viewed}')
    _keep_claims(connection, family, table, shared=shared)
    for name in ("shared_keys", STAGED, _EVERY):
        connection.execute(f'DROP TABLE IF EXISTS temp."{name}"')
    return int(parts[0])


def _put_together(table: str, carried: list[Column], levels: list[tuple[Figure, Levels]], present: set[str]) -> str:
    pieces = ["part_key", *(f'{_merged(column)} AS "{column.name}"' for column in carried)]
    for _, one in levels:
        pieces += [text for pair in exact_columns(one) if pair[0] in present for text in _merged_level(*pair)]
    differences = _differences(carried)
    differences += [_level_difference(figure, one, present) for figure, one in levels]
    return (
        f"SELECT {', '.join(pieces)}, CAST(NULL AS INTEGER) AS list_id, CAST(NULL AS BIGINT) AS record, "
        f"CAST(count(DISTINCT list_id) AS INTEGER) AS claims, "
        f"nullif(concat_ws(', ', {', '.join(differences)}), '') AS differs "
        f'FROM "{table}" SEMI JOIN shared_keys USING (part_key) GROUP BY part_key'
    )


def _keep_claims(connection: duckdb.DuckDBPyConnection, family: Family, table: str, *, shared: bool) -> None:
    """Keep the claims of those parts that have several."""
    claims = f'"claims_{family.name}"'
    connection.execute(f"DELETE FROM {claims}")
    if shared:
        connection.execute(
            f'INSERT INTO {claims} BY NAME SELECT * FROM "{table}" SEMI JOIN shared_keys USING (part_key)'
        )
