"""Claims of several lists → one row a part: the worse figure counts, and the row says where lists differ.

A part that one list alone gives stands in the table of parts with that list's record, and nowhere else. Where
several claims name a part they are kept beside it, and its row is put together from them.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence

import duckdb

from loadworthy.catalog import folding
from loadworthy.catalog.assembly import STAGED, place_of
from loadworthy.catalog.families import Family, Levels
from loadworthy.catalog.schema import (
    STORED_NUMBER,
    claim_columns,
    exact_columns,
    level_columns,
    number_text,
    part_columns,
    view_text,
)

__all__ = ["merge_staged"]

#: A row group: so few parts are always laid down anew, and sorted.
FEW_PARTS = 122_880
#: So large a share of the parts may lie beside the sorted ones.
MOST_BESIDE = 0.25
#: So many parts of several claims are put together at once.
AT_ONCE = 500_000
#: Temporary tables of one merge: every claim about the parts it touches, those parts, those with several claims, and
#: what comes of these.
_EVERY, _TOUCHED, _SHARED, _MERGED = "every_claim", "touched_parts", "shared_parts", "merged_parts"
_LAYING = "laying_parts"
#: How many claims there are of a part and where they differ; not stored before any part has several.
_OF_SEVERAL = {"claims": "INTEGER DEFAULT 1", "differs": "VARCHAR"}
_BATCH = "hash(part_key) % $batches"


def _stored(family: Family, present: set[str], wanted: set[str], *, as_keys: bool) -> list[tuple[str, str]]:
    """Return (expression, name) of what is stored of a family's parts; the view over it says the rest.

    A column is stored where a claim fills it (``present``), or where it stands in the table already (``wanted``). Part
    numbers are not where the parts' keys end in them (``as_keys``).
    """
    of_several = [name for name in _OF_SEVERAL if name in present | wanted]
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


def _stored_levels(levels: Levels, present: set[str], wanted: set[str]) -> list[tuple[str, str]]:
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


def _chosen(pairs: list[tuple[str, str]]) -> str:
    return ", ".join(f'{expression} AS "{name}"' for expression, name in pairs)


def _first(names: list[str]) -> str:
    quoted = [f'"{name}"' for name in names]
    return f"coalesce({', '.join(quoted)})" if len(quoted) > 1 else (quoted or ["CAST(NULL AS DOUBLE)"])[0]


def _exact_of_part(levels: Levels, stored: set[str]) -> dict[str, str]:
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


def _columns(connection: duckdb.DuckDBPyConnection, table: str) -> set[str]:
    return {str(row[0]) for row in connection.execute(f'DESCRIBE "{table}"').fetchall()}


def _touch(connection: duckdb.DuckDBPyConnection, family: Family, dropped: list[int]) -> None:
    """Note the parts that the staged list names, and those that a dropped list named."""
    keys = f'SELECT part_key FROM "{STAGED}"'
    if dropped:
        keys += f"""
            UNION ALL SELECT part_key FROM "stored_{family.name}" WHERE list_contains($dropped, list_id)
            UNION ALL SELECT part_key FROM "claims_{family.name}" WHERE list_contains($dropped, list_id)"""
    connection.execute(
        f"CREATE OR REPLACE TEMP TABLE {_TOUCHED} AS SELECT DISTINCT part_key FROM ({keys})",
        {"dropped": dropped} if dropped else None,
    )


def _gather(connection: duckdb.DuckDBPyConnection, family: Family, dropped: list[int]) -> None:
    """Bring this list's claims, and those that the catalogue holds of the parts they touch, into one table.

    It lies by batches, so that each is read without the others.
    """
    stored, claimed = (_columns(connection, f"{table}_{family.name}") for table in ("stored", "claims"))
    single = {name: f'"{name}"' for name in stored} | {"part_number": number_text(stored)}
    for levels in (figure.levels for figure in family.figures if figure.levels):
        single |= _exact_of_part(levels, stored)
    sources = [
        ({name: f'"{name}"' for name in _columns(connection, STAGED)}, f'"{STAGED}"', "FALSE"),
        (single, f'"stored_{family.name}" SEMI JOIN {_TOUCHED} USING (part_key)', "FALSE"),
        (
            {name: f'"{name}"' for name in claimed} | {"part_number": number_text(claimed)},
            f'"claims_{family.name}" SEMI JOIN {_TOUCHED} USING (part_key)',
            "TRUE",
        ),
    ]
    given = set().union(*(columns for columns, _, _ in sources))
    wanted = [(name, kind) for name, kind in claim_columns(family) if name in given]
    selected = [
        "SELECT "
        + ", ".join(f'{columns.get(name, f"CAST(NULL AS {kind})")} AS "{name}"' for name, kind in wanted)
        + f", {kept} AS kept FROM {source}"
        for columns, source, kept in sources
    ]
    still = "list_id IS NOT NULL AND NOT list_contains($dropped, list_id)"
    every = f"{selected[0]} UNION ALL {selected[1]} WHERE {still} UNION ALL {selected[2]} WHERE {still}"
    batches = _batches(_count(connection, _TOUCHED))
    connection.execute(
        f"CREATE OR REPLACE TEMP TABLE {_EVERY} AS SELECT *, CAST({_BATCH} AS INTEGER) AS batch FROM ({every})"
        f"{'ORDER BY batch' if batches > 1 else ''}",
        {"dropped": dropped, "batches": batches},
    )


def _batches(parts: int) -> int:
    """So many at once as fit into memory: what is gathered of a part takes some 2 kB."""
    return max(1, -(-parts // AT_ONCE))


def _present(connection: duckdb.DuckDBPyConnection, table: str) -> set[str]:
    """The columns of a table that hold anything: the others need not be carried through the sort."""
    names = sorted(_columns(connection, table))
    counted = ", ".join(f'count("{name}")' for name in names)
    counts = connection.execute(f'SELECT {counted} FROM "{table}"').fetchone()
    return {name for name, count in zip(names, counts or (), strict=True) if count}


def merge_staged(
    connection: duckdb.DuckDBPyConnection,
    family: Family,
    *,
    dropped: list[int],
    fresh: bool,
    alike: Callable[[], list[int] | None],
    as_keys: bool,
    words: Mapping[str, Sequence[str]],
) -> int:
    """Put the staged list into the table of parts, and take the dropped lists out of it.

    Only parts that these lists name are put together anew. Where they are few they are laid beside the others;
    where many have come to lie so, or a column is new, all are laid down anew, sorted.

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
    alike
        Says which records of the list may name parts that others of it name too; ``None`` is all.
    as_keys
        Whether the parts' keys end in the part numbers of the list, all of them.
    words
        Columns of words that are laid down by their places, and their words in order; where ``fresh``.

    Returns
    -------
    int
        How many parts the staged list names.
    """
    table = STAGED
    if fresh:
        present = _columns(connection, STAGED) - {place_of(name) for name in words}
    else:
        table = _EVERY
        _touch(connection, family, dropped)
        _gather(connection, family, dropped)
        present = _present(connection, table)
    _find_shared(connection, table, alike() if fresh else None)
    stored = f"stored_{family.name}"
    if _count(connection, _SHARED):
        present |= _OF_SEVERAL.keys()
        if not fresh:
            for name, kind in _OF_SEVERAL.items():
                connection.execute(f'ALTER TABLE "{stored}" ADD COLUMN IF NOT EXISTS {name} {kind}')
    there = set() if fresh else _columns(connection, stored)
    kept = _stored(family, present, there, as_keys=as_keys)
    rows = f"SELECT {_chosen(kept)} FROM ({_put_together(connection, family, table, present, words)})"
    order = ", ".join(f'"{name}"' for name in family.sorted_by if name in present | there) or "part_key"
    names = {name for _, name in kept}
    if not fresh and names == there and _go_beside(connection, family):
        connection.execute(f'DELETE FROM "{stored}" WHERE part_key IN (SELECT part_key FROM {_TOUCHED})')
        connection.execute(f'INSERT INTO "{stored}" BY NAME {rows} ORDER BY {order}')
        _view(connection, family, names)
    elif fresh:
        _lay_down(connection, family, [name for _, name in kept], f"SELECT * FROM ({rows}) ORDER BY {order}", words)
    else:
        # The view fills a level that is new up from those below it.
        others = (
            f'SELECT {_numbers_apart(sorted(names))} FROM "parts_{family.name}" ANTI JOIN {_TOUCHED} USING (part_key)'
        )
        every = f"SELECT * FROM ({rows} UNION ALL BY NAME {others}) ORDER BY {order}"
        _lay_down(connection, family, [name for _, name in kept], every, {})
    if fresh:
        (repeated,) = connection.execute(f"SELECT coalesce(sum(n - 1), 0) FROM {_SHARED}").fetchone() or (0,)
        parts = _count(connection, STAGED) - int(repeated)
    elif dropped:  # what was touched is more than the list names
        (parts,) = connection.execute(f'SELECT count(DISTINCT part_key) FROM "{STAGED}"').fetchone() or (0,)
    else:
        parts = _count(connection, _TOUCHED)
    _keep_claims(connection, family, table, present, dropped)
    for name in (_MERGED, _SHARED, _TOUCHED, _EVERY):
        connection.execute(f'DROP TABLE IF EXISTS temp."{name}"')
    return int(parts)


def _numbers_apart(names: Iterable[str]) -> str:
    """Select columns as they are stored: part numbers only where no key ends in them."""
    return ", ".join(f"{STORED_NUMBER} AS part_number" if name == "part_number" else f'"{name}"' for name in names)


def _find_shared(connection: duckdb.DuckDBPyConnection, table: str, among: list[int] | None) -> None:
    """Note the parts of which there are several claims: how many, and of how many lists; ``among`` some records."""
    some = "" if among is None else "WHERE record IN (SELECT unnest($among::BIGINT[]))"
    of_each = f'SELECT part_key, count(*) AS n, 1 AS lists FROM "{table}" {some} GROUP BY part_key'
    if table != STAGED:  # that is one list
        by_list = f'SELECT part_key, count(*) AS n FROM "{table}" GROUP BY part_key, list_id'
        of_each = f"SELECT part_key, sum(n) AS n, count(*) AS lists FROM ({by_list}) GROUP BY part_key"
    connection.execute(
        f"CREATE OR REPLACE TEMP TABLE {_SHARED} AS SELECT * FROM ({of_each}) WHERE n > 1",
        None if among is None else {"among": among},
    )


def _count(connection: duckdb.DuckDBPyConnection, table: str) -> int:
    (count,) = connection.execute(f'SELECT count(*) FROM "{table}"').fetchone() or (0,)
    return int(count)


def _put_together(
    connection: duckdb.DuckDBPyConnection,
    family: Family,
    table: str,
    present: set[str],
    words: Mapping[str, Sequence[str]],
) -> str:
    """Put parts of several claims together; return the question for one row a part, those of one claim as it says.

    Columns of words are given by their places.
    """
    carried = [column for column in part_columns(family) if column.name in present]
    levels = [(figure, figure.levels) for figure in family.figures if figure.levels]
    exact = [pair for _, one in levels for pair in exact_columns(one) if pair[0] in present]
    plain = [*(column.name for column in carried), *(name for pair in exact for name in pair)]
    said = [f'"{place_of(name)}" AS "{name}"' if name in words else f'"{name}"' for name in plain]
    single = (
        f"SELECT {', '.join(['part_key', *said])}, list_id, record, 1 AS claims, CAST(NULL AS VARCHAR) AS differs "
        f'FROM "{table}"'
    )
    shared, apart = _count(connection, _SHARED), table == _EVERY
    if not shared:
        return single
    gathered = folding.gathered(carried, exact)
    pieces = folding.counting(carried, exact)
    differences = folding.differences(carried, levels, present)
    place = "batch" if apart else _BATCH
    one_batch = (
        f"SELECT {', '.join(['part_key', *pieces])}, CAST(NULL AS INTEGER) AS list_id, "
        f"CAST(NULL AS BIGINT) AS record, CAST(lists AS INTEGER) AS claims, "
        f"nullif(concat_ws(', ', {', '.join(differences)}), '') AS differs "
        f"FROM (SELECT {', '.join(['part_key', 'any_value(lists) AS lists', *gathered])} "
        f'FROM "{table}" JOIN {_SHARED} USING (part_key) WHERE {place} = $batch GROUP BY part_key)'
    )
    batches = _batches(_count(connection, _TOUCHED) if apart else shared)
    for batch in range(batches):
        begun = f"INSERT INTO {_MERGED}" if batch else f"CREATE OR REPLACE TEMP TABLE {_MERGED} AS"
        connection.execute(f"{begun} {one_batch}", {"batch": batch} | ({} if apart else {"batches": batches}))
    placed = [f'list_position(${number}, "{name}") - 1 AS "{name}"' for name, number in _numbered(words).items()]
    replaced = f" REPLACE ({', '.join(placed)})" if placed else ""
    merged = f"SELECT *{replaced} FROM {_MERGED}"
    return f"{single} ANTI JOIN {_SHARED} USING (part_key) UNION ALL {merged}"


def _numbered(words: Iterable[str]) -> dict[str, str]:
    """Name the parameter of each column's words."""
    return {name: f"words_{number}" for number, name in enumerate(words)}


def _go_beside(connection: duckdb.DuckDBPyConnection, family: Family) -> bool:
    """Say whether the parts that are touched may go beside the sorted ones; if so, note how many lie there then."""
    there = _count(connection, f"stored_{family.name}")
    (before,) = connection.execute("SELECT sum(beside) FROM laid WHERE family = ?", [family.name]).fetchone() or (0,)
    beside = _count(connection, _TOUCHED) + int(before or 0)
    if there < FEW_PARTS or beside > MOST_BESIDE * there:
        return False
    _note_beside(connection, family, beside)
    return True


def _note_beside(connection: duckdb.DuckDBPyConnection, family: Family, beside: int) -> None:
    connection.execute("DELETE FROM laid WHERE family = ?", [family.name])
    connection.execute("INSERT INTO laid VALUES (?, ?)", [family.name, beside])


def _lay_down(
    connection: duckdb.DuckDBPyConnection,
    family: Family,
    names: Sequence[str],
    rows: str,
    words: Mapping[str, Sequence[str]],
) -> None:
    """Lay all parts of the family down anew, as the rows come; of columns of words they have the places."""
    stored = f"stored_{family.name}"
    numbered = _numbered(words)
    # A list that is the same for all rows is looked into by a place at no cost.
    said = [f'${numbered[name]}["{name}" + 1] AS "{name}"' if name in numbered else f'"{name}"' for name in names]
    connection.execute(
        f'CREATE TABLE "{_LAYING}" AS SELECT {", ".join(said)} FROM ({rows})',
        {number: list(words[name]) for name, number in numbered.items()} or None,
    )
    connection.execute(f'DROP TABLE IF EXISTS "{stored}"')
    connection.execute(f'ALTER TABLE "{_LAYING}" RENAME TO "{stored}"')
    _view(connection, family, set(names))
    _note_beside(connection, family, 0)


def _view(connection: duckdb.DuckDBPyConnection, family: Family, names: set[str]) -> None:
    text = view_text(family, names, f"stored_{family.name}")
    connection.execute(f'CREATE OR REPLACE VIEW "parts_{family.name}" AS {text}')


def _keep_claims(
    connection: duckdb.DuckDBPyConnection, family: Family, table: str, present: set[str], dropped: list[int]
) -> None:
    """Keep the claims of those parts that have several; those that are kept already stay as they are."""
    claims = f"claims_{family.name}"
    if dropped:
        connection.execute(
            f'DELETE FROM "{claims}" WHERE list_contains($dropped, list_id) '
            f"OR part_key IN (SELECT part_key FROM {_TOUCHED} ANTI JOIN {_SHARED} USING (part_key))",
            {"dropped": dropped},
        )
    if not _count(connection, _SHARED):
        return
    kinds = {name: kind for name, kind in claim_columns(family) if name in present}
    for name in kinds.keys() - _columns(connection, claims):
        connection.execute(f'ALTER TABLE "{claims}" ADD COLUMN "{name}" {kinds[name]}')
    new = "" if table == STAGED else "WHERE NOT kept"
    connection.execute(
        f'INSERT INTO "{claims}" BY NAME SELECT {_numbers_apart(kinds)} FROM "{table}" '
        f"SEMI JOIN {_SHARED} USING (part_key) {new}"
    )
