"""Claims of several lists → one row a part: the worse figure counts, and the row says where lists differ.

A part that one list alone gives stands in the table of parts with that list's record, and nowhere else. So does a
part of which all lists say the same; that others say it too is noted (:mod:`.concurring`). Where claims differ, all
of them are kept beside the parts, and the row is put together from them.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence

import duckdb

from loadworthy.catalog import folding, laying
from loadworthy.catalog.assembly import STAGED, place_of
from loadworthy.catalog.concurring import OWN_COLUMNS, claims_sources, compared
from loadworthy.catalog.families import Family
from loadworthy.catalog.laying import OF_SEVERAL, chosen, columns_of, count, into, numbered, numbers_apart, row_as_claim
from loadworthy.catalog.schema import CLAIM, STORED_NUMBER, claim_columns, exact_columns, part_columns, viewed_columns
from loadworthy.catalog.settling import (
    COMPARED,
    UNSAFE,
    Kind,
    compare,
    count_kinds,
    differing_claims,
    ensure_of_several,
    note_moved,
    of_kind,
    paired_rows,
    settle,
)

__all__ = ["merge_staged"]

#: So many parts of several claims are put together at once.
AT_ONCE = 500_000
#: Temporary tables of one merge: the keys of parts that are put together from all their claims; every claim about
#: these; those with several claims, and what comes of these; claims held against that; parts of which all agree; the
#: rows in whose stead others come.
_TOUCHED, _EVERY, _SHARED, _MERGED = "touched_parts", "every_claim", "shared_parts", "merged_parts"
_HELD, _CONCURRED, _MOVED = "held_claims", "concurred_parts", "moved_rows"
_ALL = (COMPARED, UNSAFE, _TOUCHED, _EVERY, _SHARED, _MERGED, _HELD, _CONCURRED, _MOVED)
_REST = f"(SELECT record FROM {COMPARED} WHERE {of_kind(Kind.REST)})"
_BATCH = "hash(part_key) % $batches"


def merge_staged(
    connection: duckdb.DuckDBPyConnection,
    family: Family,
    *,
    list_id: int,
    dropped: list[int],
    fresh: bool,
    alike: Callable[[], list[int] | None],
    as_keys: bool,
    words: Mapping[str, Sequence[str]],
) -> int:
    """Put the staged list into the table of parts, and take the dropped lists out of it.

    Only parts of which something new is said are put together anew. Where they are few they are laid beside the
    others; where many have come to lie so, or a column is new, all are laid down anew, sorted.

    Parameters
    ----------
    connection
        In a transaction, with the staged claims in their temporary table.
    family
        The family.
    list_id
        The staged list.
    dropped
        The lists whose claims no longer count.
    fresh
        True where no other list of the family counts.
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
    if fresh:
        return _begin(connection, family, alike(), words, as_keys=as_keys)
    compare(connection, family, dropped, alike, as_keys=as_keys)
    _touch(connection, family, dropped)
    settle(connection, family, list_id, dropped)
    moved = note_moved(connection, family, _MOVED, _TOUCHED)
    if moved:
        _put_together(connection, family, dropped, moved, as_keys=as_keys)
    (repeated,) = connection.execute(
        f'SELECT count(DISTINCT part_key) - count(*) FROM "{STAGED}" SEMI JOIN {_REST} USING (record)'
    ).fetchone() or (0,)
    parts = count(connection, COMPARED) + int(repeated)
    _forget(connection)
    return parts


def _forget(connection: duckdb.DuckDBPyConnection) -> None:
    for name in _ALL:
        connection.execute(f'DROP TABLE IF EXISTS temp."{name}"')


# -- the first list ------------------------------------------------------------------------------------------------
def _begin(
    connection: duckdb.DuckDBPyConnection,
    family: Family,
    among: list[int] | None,
    words: Mapping[str, Sequence[str]],
    *,
    as_keys: bool,
) -> int:
    """Lay the list's parts down as the only ones; several rows may name a part, ``among`` these records."""
    for table in ("disputed", "concurring"):
        connection.execute(f'DELETE FROM "{table}_{family.name}"')
    some = "" if among is None else "WHERE record IN (SELECT unnest($among::BIGINT[]))"
    connection.execute(
        f"CREATE OR REPLACE TEMP TABLE {_SHARED} AS SELECT * FROM (SELECT part_key, count(*) AS n, 1 AS lists "
        f'FROM "{STAGED}" {some} GROUP BY part_key) WHERE n > 1',
        None if among is None else {"among": among},
    )
    present = columns_of(connection, STAGED) - {place_of(name) for name in words}
    shared = count(connection, _SHARED)
    rows = _singles(family, STAGED, present, words)
    if shared:
        _merge(connection, family, STAGED, present, shared)
        placed = [f'list_position(${number}, "{name}") - 1 AS "{name}"' for name, number in numbered(words).items()]
        replaced = f" REPLACE ({', '.join(placed)})" if placed else ""
        rows = f"{rows} ANTI JOIN {_SHARED} USING (part_key) UNION ALL SELECT *{replaced} FROM {_MERGED}"
    kept = laying.stored_columns(family, present | (OF_SEVERAL.keys() if shared else set()), (), as_keys=as_keys)
    laid = f"SELECT * FROM (SELECT {chosen(kept)} FROM ({rows})) ORDER BY {_order(family, present)}"
    laying.lay_down(connection, family, [name for _, name in kept], laid, words)
    (repeated,) = connection.execute(f"SELECT coalesce(sum(n - 1), 0) FROM {_SHARED}").fetchone() or (0,)
    parts = count(connection, STAGED) - int(repeated)
    if shared:
        claims = {name: f'"{name}"' for name in present}
        _dispute(connection, family, claims, f'"{STAGED}" SEMI JOIN {_SHARED} USING (part_key)')
    _forget(connection)
    return parts


def _order(family: Family, present: set[str]) -> str:
    return ", ".join(f'"{name}"' for name in family.sorted_by if name in present) or "part_key"


# -- what is put together ------------------------------------------------------------------------------------------
def _touch(connection: duckdb.DuckDBPyConnection, family: Family, dropped: list[int]) -> None:
    """Note the parts of which all claims are looked at: what is said of them demands it, or a dropped list did."""
    keys = f"""SELECT part_key FROM "{STAGED}" SEMI JOIN {_REST} USING (record)
        UNION ALL SELECT part_key FROM "stored_{family.name}" WHERE rowid IN (SELECT place FROM {UNSAFE})"""
    if dropped:
        keys += f""" UNION ALL SELECT part_key FROM "disputed_{family.name}" WHERE list_contains($dropped, list_id)"""
    connection.execute(
        f"CREATE OR REPLACE TEMP TABLE {_TOUCHED} AS SELECT DISTINCT part_key FROM ({keys})",
        {"dropped": dropped} if dropped else None,
    )


def _put_together(
    connection: duckdb.DuckDBPyConnection, family: Family, dropped: list[int], moved: int, *, as_keys: bool
) -> None:
    """Lay down the parts that are new, those of which one claim says something new, and those put together."""
    stored, kinds = f"stored_{family.name}", count_kinds(connection)
    rows: list[str] = []
    present: set[str] = set()
    touched = count(connection, _TOUCHED)
    if touched:
        question, present = _from_all_claims(connection, family, dropped)
        rows.append(question)
        # Other lists may write a part's number otherwise than its key does.
        (apart,) = connection.execute(f'SELECT count({STORED_NUMBER}) FROM "{_EVERY}"').fetchone() or (0,)
        as_keys = as_keys and not apart
    staged = _filled(connection, family)
    alone = (
        f"{_singles(family, STAGED, staged, {})} SEMI JOIN (SELECT record FROM {COMPARED} WHERE {{}}) USING (record)"
    )
    rows.append(alone.format(of_kind(Kind.NEW, Kind.REPLACES)))
    present |= staged
    if kinds[Kind.EXTENDS] or kinds[Kind.DIFFERS]:
        question, filled = paired_rows(connection, family)
        rows.append(question)
        present |= filled
    if kinds[Kind.DIFFERS]:
        for columns, source in differing_claims(connection, family):
            _dispute(connection, family, columns, source)
    connection.execute(
        f'DELETE FROM concurring_{family.name} USING (SELECT list_id, record FROM "{stored}" '
        f"WHERE rowid IN (SELECT place FROM {_MOVED}) AND rowid NOT IN "
        f"(SELECT place FROM {COMPARED} WHERE {of_kind(Kind.EXTENDS)})) AS gone "
        "WHERE row_list = gone.list_id AND row_record = gone.record"
    )
    _lay(connection, family, " UNION ALL BY NAME ".join(rows), present, moved, as_keys=as_keys)
    if touched:
        _keep_claims(connection, family, dropped)


def _filled(connection: duckdb.DuckDBPyConnection, family: Family) -> set[str]:
    """The columns that the staged claims fill: of those that no row has, only such as hold anything."""
    staged, row = columns_of(connection, STAGED), row_as_claim(family, columns_of(connection, f"stored_{family.name}"))
    return (staged & row.keys()) | _present(connection, STAGED, staged - row.keys() - dict(CLAIM).keys())


def _lay(
    connection: duckdb.DuckDBPyConnection, family: Family, rows: str, present: set[str], moved: int, *, as_keys: bool
) -> None:
    """Lay rows down in the stead of those that are moved; so many are, with those that are new."""
    stored = f"stored_{family.name}"
    there = columns_of(connection, stored)
    kept = laying.stored_columns(family, present, there, as_keys=as_keys)
    names = [name for _, name in kept]
    order = _order(family, present | there)
    rows = f"SELECT {chosen(kept)} FROM ({rows})"
    instead = count(connection, _MOVED)
    if set(names) == there and laying.go_beside(connection, family, new=moved - instead, instead=instead):
        laying.lay_beside(connection, family, _MOVED, f"{rows} ORDER BY {order}")
    else:
        # The view fills a level that is new up from those below it.
        others = (
            f"SELECT {chosen(viewed_columns(family, there))} FROM "
            f'(SELECT * FROM "{stored}" WHERE rowid NOT IN (SELECT place FROM {_MOVED}))'
        )
        every = (
            f"SELECT * FROM ({rows} UNION ALL BY NAME SELECT {numbers_apart(names)} FROM ({others})) ORDER BY {order}"
        )
        laying.lay_down(connection, family, names, every, {})


def _from_all_claims(connection: duckdb.DuckDBPyConnection, family: Family, dropped: list[int]) -> tuple[str, set[str]]:
    """Put the parts that are touched together from all their claims.

    Returns
    -------
    tuple of str and set of str
        The question for their rows, and the columns that they fill.
    """
    _gather(connection, family, dropped)
    present = _present(connection, _EVERY, columns_of(connection, _EVERY))
    by_list = f'SELECT part_key, count(*) AS n FROM "{_EVERY}" GROUP BY part_key, list_id'
    of_each = f"SELECT part_key, sum(n) AS n, count(*) AS lists FROM ({by_list}) GROUP BY part_key"
    connection.execute(f"CREATE OR REPLACE TEMP TABLE {_SHARED} AS SELECT * FROM ({of_each}) WHERE n > 1")
    rows = _singles(family, _EVERY, present, {})
    if not count(connection, _SHARED):
        return rows, present
    ensure_of_several(connection, family)
    _merge(connection, family, _EVERY, present, count(connection, _TOUCHED))
    merged = (
        f"SELECT merged.* REPLACE (concurred.list_id AS list_id, concurred.record AS record) FROM {_MERGED} AS merged "
        f"LEFT JOIN {_CONCURRED} AS concurred USING (part_key)"
    )
    return f"{rows} ANTI JOIN {_SHARED} USING (part_key) UNION ALL {merged}", present | OF_SEVERAL.keys()


def _gather(connection: duckdb.DuckDBPyConnection, family: Family, dropped: list[int]) -> None:
    """Bring this list's claims, and those that the catalogue holds of the parts they touch, into one table.

    What comes from one place lies by batches, so that each is read without the others.
    """
    tables = (columns_of(connection, f"{table}_{family.name}") for table in ("stored", "disputed"))
    carried, marked, disputed = claims_sources(family, *tables, among=f"SEMI JOIN {_TOUCHED} USING (part_key)")
    still = "WHERE NOT list_contains($dropped, {}list_id)" if dropped else "WHERE TRUE"
    staged = {name: f'"{name}"' for name in columns_of(connection, STAGED)}
    sources = [
        (staged, f'"{STAGED}" SEMI JOIN {_REST} USING (record)', "FALSE"),
        (carried[0], f"{carried[1]} {still.format('')}", "FALSE"),
        (marked[0], f"{marked[1]} {still.format('marked.')}", "FALSE"),
        (disputed[0], f"{disputed[1]} {still.format('')}", "TRUE"),
    ]
    given = set().union(*(columns for columns, _, _ in sources))
    wanted = [(name, kind) for name, kind in claim_columns(family) if name in given]
    batches = _batches(count(connection, _TOUCHED))
    for number, (columns, source, kept) in enumerate(sources):  # one after the other, for the room that each takes
        every = (
            f"SELECT {chosen((columns.get(name, f'CAST(NULL AS {kind})'), name) for name, kind in wanted)}, "
            f"{kept} AS kept FROM {source}"
        )
        connection.execute(
            f"{into(_EVERY, number)} SELECT *, CAST({_BATCH} AS INTEGER) AS batch FROM ({every})"
            f"{'ORDER BY batch' if batches > 1 else ''}",
            {"batches": batches} | ({"dropped": dropped} if dropped and number else {}),
        )


def _batches(parts: int) -> int:
    """So many at once as fit into memory: what is gathered of a part takes some 2 kB."""
    return max(1, -(-parts // AT_ONCE))


def _present(connection: duckdb.DuckDBPyConnection, table: str, names: Iterable[str]) -> set[str]:
    """Those columns of a table that hold anything: the others need not be carried through the sort."""
    counted = {name: f'count("{name}")' for name in sorted(names)}
    if not counted:
        return set()
    counts = connection.execute(f'SELECT {", ".join(counted.values())} FROM "{table}"').fetchone() or ()
    return {name for name, filled in zip(counted, counts, strict=True) if filled}


def _plain(family: Family, present: set[str]) -> list[str]:
    """Name the columns of claims that rows are put together from."""
    exact = (pair for figure in family.figures if figure.levels for pair in exact_columns(figure.levels))
    return [
        *(column.name for column in part_columns(family) if column.name in present),
        *(name for pair in exact if pair[0] in present for name in pair),
    ]


def _singles(family: Family, table: str, present: set[str], words: Mapping[str, Sequence[str]]) -> str:
    """Ask for claims as rows of their parts; columns of words are given by their places."""
    said = [f'"{place_of(name)}" AS "{name}"' if name in words else f'"{name}"' for name in _plain(family, present)]
    return (
        f"SELECT {', '.join(['part_key', *said])}, list_id, record, 1 AS claims, CAST(NULL AS VARCHAR) AS differs "
        f'FROM "{table}"'
    )


def _merge(connection: duckdb.DuckDBPyConnection, family: Family, table: str, present: set[str], parts: int) -> None:
    """Put parts of several claims together; note those of which all claims say the same."""
    carried = [column for column in part_columns(family) if column.name in present]
    levels = [(figure, figure.levels) for figure in family.figures if figure.levels]
    exact = [pair for _, one in levels for pair in exact_columns(one) if pair[0] in present]
    gathered = folding.gathered(carried, exact)
    pieces = folding.counting(carried, exact)
    differences = folding.differences(carried, levels, present)
    apart = table == _EVERY
    place = "batch" if apart else _BATCH
    one_batch = (
        f"SELECT {', '.join(['part_key', *pieces])}, CAST(NULL AS INTEGER) AS list_id, "
        f"CAST(NULL AS BIGINT) AS record, CAST(lists AS INTEGER) AS claims, "
        f"nullif(concat_ws(', ', {', '.join(differences)}), '') AS differs "
        f"FROM (SELECT {', '.join(['part_key', 'any_value(lists) AS lists', *gathered])} "
        f'FROM "{table}" JOIN {_SHARED} USING (part_key) WHERE {place} = $batch GROUP BY part_key)'
    )
    batches = _batches(parts)
    for batch in range(batches):
        connection.execute(
            f"{into(_MERGED, batch)} {one_batch}", {"batch": batch} | ({} if apart else {"batches": batches})
        )
        if apart:
            _hold(connection, family, present, batch)
    if apart:
        connection.execute(
            f"CREATE OR REPLACE TEMP TABLE {_CONCURRED} AS SELECT part_key, min(list_id) AS list_id, "
            f"arg_min(record, list_id) AS record FROM {_HELD} GROUP BY part_key "
            "HAVING bool_and(agrees) AND count(*) = any_value(lists)"
        )


def _hold(connection: duckdb.DuckDBPyConnection, family: Family, present: set[str], batch: int) -> None:
    """Hold the claims of one batch against the rows that were put together from them."""
    names = _plain(family, present)
    held = compared(family, names, names)
    connection.execute(
        f"{into(_HELD, batch)} SELECT part.part_key, claim.list_id, claim.record, part.claims AS lists, "
        f"{held.agrees} AS agrees, "
        f"{held.says} AS says, {held.all} AS says_all, {chosen(held.own_columns())} "
        f'FROM "{_EVERY}" AS claim JOIN {_MERGED} AS part USING (part_key) WHERE claim.batch = $batch',
        {"batch": batch},
    )


def _keep_claims(connection: duckdb.DuckDBPyConnection, family: Family, dropped: list[int]) -> None:
    """Keep the claims of the parts that are put together from all: marked where all agree, else written out.

    Those that are written out already stay as they are.
    """
    disputed, shared = f"disputed_{family.name}", count(connection, _SHARED)
    still = f"SELECT part_key FROM {_SHARED} ANTI JOIN {_CONCURRED} USING (part_key)" if shared else ""
    gone = f"SELECT part_key FROM {_TOUCHED}" + (f" WHERE part_key NOT IN ({still})" if shared else "")
    connection.execute(
        f'DELETE FROM "{disputed}" WHERE list_contains($dropped, list_id) OR part_key IN ({gone})', {"dropped": dropped}
    )
    if not shared:
        return
    connection.execute(
        f"""INSERT INTO concurring_{family.name} BY NAME
        SELECT own.list_id AS row_list, own.record AS row_record, held.list_id, held.record, says, {OWN_COLUMNS}
        FROM {_HELD} AS held JOIN {_CONCURRED} AS own USING (part_key)
        WHERE held.list_id <> own.list_id OR held.record <> own.record OR NOT says_all"""
    )
    claims = {name: f'"{name}"' for name in columns_of(connection, _EVERY)}
    _dispute(connection, family, claims, f"{_EVERY} SEMI JOIN ({still}) USING (part_key) WHERE NOT kept")


def _dispute(connection: duckdb.DuckDBPyConnection, family: Family, claims: Mapping[str, str], source: str) -> None:
    """Write claims out beside the parts; ``claims`` has the expression of each column."""
    disputed = f"disputed_{family.name}"
    kinds = {name: kind for name, kind in claim_columns(family) if name in claims}
    for name in kinds.keys() - columns_of(connection, disputed):
        connection.execute(f'ALTER TABLE "{disputed}" ADD COLUMN "{name}" {kinds[name]}')
    rows = f"SELECT {chosen((claims[name], name) for name in kinds)} FROM {source}"
    connection.execute(f'INSERT INTO "{disputed}" BY NAME SELECT {numbers_apart(kinds)} FROM ({rows})')
