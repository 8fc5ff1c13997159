"""Claims of several lists → one row a part: the worse figure counts, and the row says where lists differ.

A part that one list alone gives stands in the table of parts with that list's record, and nowhere else. So does a
part of which all lists say the same; that others say it too is noted (:mod:`.concurring`). Where claims differ, all
of them are kept beside the parts, and the row is put together from them.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

import duckdb

from loadworthy.catalog import folding, laying
from loadworthy.catalog.assembly import STAGED, place_of
from loadworthy.catalog.concurring import OWN_WORDS, claims_sources, compared
from loadworthy.catalog.families import Family
from loadworthy.catalog.laying import OF_SEVERAL, chosen, columns_of, count, numbered, numbers_apart, row_as_claim
from loadworthy.catalog.schema import CLAIM, claim_columns, exact_columns, part_columns

__all__ = ["merge_staged"]

#: So many parts of several claims are put together at once.
AT_ONCE = 500_000
#: Temporary tables of one merge: the staged claims held against the rows of their parts, of which those stay that
#: settle the matter; rows that are put together anew whatever is said of them; the keys of all that are; every claim
#: about these; those with several claims, and what comes of these; claims held against that; parts of which all agree.
_SETTLED, _UNSAFE, _TOUCHED = "settled_claims", "unsafe_rows", "touched_parts"
_EVERY, _SHARED, _MERGED = "every_claim", "shared_parts", "merged_parts"
_HELD, _CONCURRED = "held_claims", "concurred_parts"
_ALL = (_SETTLED, _UNSAFE, _TOUCHED, _EVERY, _SHARED, _MERGED, _HELD, _CONCURRED)
_BATCH = "hash(part_key) % $batches"
_OWN_WORDS = ", ".join(f"own_{name} AS {name}" for name in OWN_WORDS)


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
        Says which records of the list may name parts that others of it name too; ``None`` is all. Asked where
        ``fresh``.
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
    _compare(connection, family, dropped)
    _touch(connection, family, dropped)
    _settle(connection, family, list_id, dropped)
    if count(connection, _TOUCHED):
        _put_together(connection, family, dropped, as_keys=as_keys)
    rest = f'(SELECT part_key FROM "{STAGED}" ANTI JOIN {_SETTLED} USING (record))'
    (parts,) = connection.execute(f"SELECT count(DISTINCT part_key) FROM {rest}").fetchone() or (0,)
    parts = int(parts) + count(connection, _SETTLED)
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
    _dispute(connection, family, STAGED, present, f"SEMI JOIN {_SHARED} USING (part_key)")
    _forget(connection)
    return parts


def _order(family: Family, present: set[str]) -> str:
    return ", ".join(f'"{name}"' for name in family.sorted_by if name in present) or "part_key"


# -- what settles itself -------------------------------------------------------------------------------------------
def _compare(connection: duckdb.DuckDBPyConnection, family: Family, dropped: list[int]) -> None:
    """Hold each staged claim against the row of its part, where that says what all claims of the part say.

    It settles the matter where it says nothing else. Of a row that carries a dropped list's record it must say all,
    to take that one's place.
    """
    stored, staged = columns_of(connection, f"stored_{family.name}"), columns_of(connection, STAGED)
    row = row_as_claim(family, stored)
    held = compared(family, staged, row)
    own = "".join(f", {text} AS own_{name}" for name, text in held.own_words.items())
    own += "".join(f", CAST(NULL AS VARCHAR) AS own_{name}" for name in OWN_WORDS if name not in held.own_words)
    follows = "list_contains($dropped, part.row_list)" if dropped else "FALSE"
    settles = f"{held.agrees} AND (NOT {follows} OR {held.all})" if dropped else held.agrees
    connection.execute(
        f"CREATE OR REPLACE TEMP TABLE {_SETTLED} AS SELECT part.place, part.row_list, part.row_record, claim.record, "
        f"{follows} AS follows, {settles} AS settles, {held.says} AS says{own} FROM "
        f"(SELECT rowid AS place, part_key, list_id AS row_list, record AS row_record, "
        f"{chosen((text, name) for name, text in row.items())} "
        f'FROM "stored_{family.name}" WHERE list_id IS NOT NULL) AS part JOIN "{STAGED}" AS claim USING (part_key)',
        {"dropped": dropped} if dropped else None,
    )
    unsafe = f"SELECT place FROM {_SETTLED} GROUP BY place HAVING count(*) > 1"
    if dropped:  # rows that carry a dropped record, or may say what a dropped claim alone said
        concurring = f"concurring_{family.name}"
        unsafe += f"""
            UNION SELECT rowid FROM "stored_{family.name}" WHERE list_contains($dropped, list_id)
                AND rowid NOT IN (SELECT place FROM {_SETTLED} WHERE settles)
            UNION SELECT part.rowid FROM "stored_{family.name}" AS part
                JOIN {concurring} AS own ON own.list_id = part.list_id AND own.record = part.record
                JOIN {concurring} AS marked ON marked.row_list = part.list_id AND marked.row_record = part.record
                WHERE list_contains($dropped, marked.list_id)"""
    connection.execute(f"CREATE OR REPLACE TEMP TABLE {_UNSAFE} AS {unsafe}", {"dropped": dropped} if dropped else None)
    connection.execute(f"DELETE FROM {_SETTLED} WHERE NOT settles OR place IN (SELECT place FROM {_UNSAFE})")


def _touch(connection: duckdb.DuckDBPyConnection, family: Family, dropped: list[int]) -> None:
    """Note the parts that are put together anew: the list says something new of them, or a dropped one did."""
    keys = f"""SELECT part_key FROM "{STAGED}" ANTI JOIN {_SETTLED} USING (record)
        UNION ALL SELECT part_key FROM "stored_{family.name}" WHERE rowid IN (SELECT place FROM {_UNSAFE})"""
    if dropped:
        keys += f""" UNION ALL SELECT part_key FROM "disputed_{family.name}" WHERE list_contains($dropped, list_id)"""
    connection.execute(
        f"CREATE OR REPLACE TEMP TABLE {_TOUCHED} AS SELECT DISTINCT part_key FROM ({keys})",
        {"dropped": dropped} if dropped else None,
    )


def _settle(connection: duckdb.DuckDBPyConnection, family: Family, list_id: int, dropped: list[int]) -> None:
    """Note the claims that say nothing new; let them take the places of dropped ones."""
    stored, concurring = f"stored_{family.name}", f"concurring_{family.name}"
    if dropped:
        if "claims" in columns_of(connection, stored):
            connection.execute(
                f"""UPDATE "{stored}" SET claims = claims - gone.n FROM (
                    SELECT row_list, row_record, CAST(count(*) AS INTEGER) AS n FROM {concurring}
                    WHERE list_contains($dropped, list_id) AND (list_id <> row_list OR record <> row_record)
                    GROUP BY row_list, row_record) AS gone
                WHERE "{stored}".list_id = gone.row_list AND "{stored}".record = gone.row_record""",
                {"dropped": dropped},
            )
        connection.execute(f"DELETE FROM {concurring} WHERE list_contains($dropped, list_id)", {"dropped": dropped})
        new = {"list_id": list_id}
        connection.execute(
            f"""UPDATE {concurring} SET row_list = $list_id, row_record = claim.record FROM {_SETTLED} AS claim
            WHERE claim.follows AND {concurring}.row_list = claim.row_list
            AND {concurring}.row_record = claim.row_record""",
            new,
        )
        connection.execute(
            f'UPDATE "{stored}" SET list_id = $list_id, record = claim.record FROM {_SETTLED} AS claim '
            f'WHERE claim.follows AND "{stored}".rowid = claim.place',
            new,
        )
    (joining,) = connection.execute(f"SELECT count(*) FROM {_SETTLED} WHERE NOT follows").fetchone() or (0,)
    if not joining:
        return
    _ensure_of_several(connection, family)
    connection.execute(
        f"INSERT INTO {concurring} BY NAME SELECT row_list, row_record, CAST($list_id AS INTEGER) AS list_id, record, "
        f"says, {_OWN_WORDS} FROM {_SETTLED} WHERE NOT follows",
        {"list_id": list_id},
    )
    connection.execute(
        f'UPDATE "{stored}" SET claims = claims + 1 WHERE rowid IN (SELECT place FROM {_SETTLED} WHERE NOT follows)'
    )


def _ensure_of_several(connection: duckdb.DuckDBPyConnection, family: Family) -> None:
    """Make the columns that only parts of several claims need."""
    stored = f"stored_{family.name}"
    missing = OF_SEVERAL.keys() - columns_of(connection, stored)
    for name in missing:
        connection.execute(f'ALTER TABLE "{stored}" ADD COLUMN {name} {OF_SEVERAL[name]}')
    if missing:
        laying.view_parts(connection, family)


# -- what is put together ------------------------------------------------------------------------------------------
def _put_together(connection: duckdb.DuckDBPyConnection, family: Family, dropped: list[int], *, as_keys: bool) -> None:
    """Put the parts that are touched together from all their claims."""
    stored = f"stored_{family.name}"
    _gather(connection, family, dropped)
    present = _present(connection, _EVERY)
    by_list = f'SELECT part_key, count(*) AS n FROM "{_EVERY}" GROUP BY part_key, list_id'
    of_each = f"SELECT part_key, sum(n) AS n, count(*) AS lists FROM ({by_list}) GROUP BY part_key"
    connection.execute(f"CREATE OR REPLACE TEMP TABLE {_SHARED} AS SELECT * FROM ({of_each}) WHERE n > 1")
    rows = _singles(family, _EVERY, present, {})
    shared = count(connection, _SHARED)
    if shared:
        present |= OF_SEVERAL.keys()
        _ensure_of_several(connection, family)
        _merge(connection, family, _EVERY, present, count(connection, _TOUCHED))
        rows = (
            f"{rows} ANTI JOIN {_SHARED} USING (part_key) UNION ALL SELECT merged.* REPLACE "
            f"(concurred.list_id AS list_id, concurred.record AS record) FROM {_MERGED} AS merged "
            f"LEFT JOIN {_CONCURRED} AS concurred USING (part_key)"
        )
    connection.execute(
        f'DELETE FROM concurring_{family.name} USING (SELECT list_id, record FROM "{stored}" '
        f"SEMI JOIN {_TOUCHED} USING (part_key)) AS gone WHERE row_list = gone.list_id AND row_record = gone.record"
    )
    there = columns_of(connection, stored)
    kept = laying.stored_columns(family, present, there, as_keys=as_keys)
    names = [name for _, name in kept]
    order = _order(family, present | there)
    rows = f"SELECT {chosen(kept)} FROM ({rows})"
    if set(names) == there and laying.go_beside(connection, family, count(connection, _TOUCHED)):
        laying.lay_beside(connection, family, _TOUCHED, f"{rows} ORDER BY {order}")
    else:
        # The view fills a level that is new up from those below it.
        others = f'SELECT {numbers_apart(names)} FROM "parts_{family.name}" ANTI JOIN {_TOUCHED} USING (part_key)'
        every = f"SELECT * FROM ({rows} UNION ALL BY NAME {others}) ORDER BY {order}"
        laying.lay_down(connection, family, names, every, {})
    if shared:
        connection.execute(
            f"""INSERT INTO concurring_{family.name} BY NAME
            SELECT own.list_id AS row_list, own.record AS row_record, held.list_id, held.record, says, {_OWN_WORDS}
            FROM {_HELD} AS held JOIN {_CONCURRED} AS own USING (part_key)
            WHERE held.list_id <> own.list_id OR held.record <> own.record OR NOT says_all"""
        )
    _keep_disputed(connection, family, present, dropped, shared=bool(shared))


def _gather(connection: duckdb.DuckDBPyConnection, family: Family, dropped: list[int]) -> None:
    """Bring this list's claims, and those that the catalogue holds of the parts they touch, into one table.

    It lies by batches, so that each is read without the others.
    """
    tables = (columns_of(connection, f"{table}_{family.name}") for table in ("stored", "disputed"))
    carried, marked, disputed = claims_sources(family, *tables, among=f"SEMI JOIN {_TOUCHED} USING (part_key)")
    still = "WHERE NOT list_contains($dropped, {}list_id)" if dropped else "WHERE TRUE"
    staged = {name: f'"{name}"' for name in columns_of(connection, STAGED)}
    sources = [
        (staged, f'"{STAGED}" ANTI JOIN {_SETTLED} USING (record)', "FALSE"),
        (carried[0], f"{carried[1]} {still.format('')}", "FALSE"),
        (marked[0], f"{marked[1]} {still.format('marked.')}", "FALSE"),
        (disputed[0], f"{disputed[1]} {still.format('')}", "TRUE"),
    ]
    given = set().union(*(columns for columns, _, _ in sources))
    wanted = [(name, kind) for name, kind in claim_columns(family) if name in given]
    every = " UNION ALL ".join(
        f"SELECT {chosen((columns.get(name, f'CAST(NULL AS {kind})'), name) for name, kind in wanted)}, "
        f"{kept} AS kept FROM {source}"
        for columns, source, kept in sources
    )
    batches = _batches(count(connection, _TOUCHED))
    connection.execute(
        f"CREATE OR REPLACE TEMP TABLE {_EVERY} AS SELECT *, CAST({_BATCH} AS INTEGER) AS batch FROM ({every})"
        f"{'ORDER BY batch' if batches > 1 else ''}",
        {"batches": batches} | ({"dropped": dropped} if dropped else {}),
    )


def _batches(parts: int) -> int:
    """So many at once as fit into memory: what is gathered of a part takes some 2 kB."""
    return max(1, -(-parts // AT_ONCE))


def _present(connection: duckdb.DuckDBPyConnection, table: str) -> set[str]:
    """The columns of a table that hold anything: the others need not be carried through the sort."""
    names = sorted(columns_of(connection, table))
    counted = ", ".join(f'count("{name}")' for name in names)
    counts = connection.execute(f'SELECT {counted} FROM "{table}"').fetchone()
    return {name for name, filled in zip(names, counts or (), strict=True) if filled}


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
        begun = f"INSERT INTO {_MERGED}" if batch else f"CREATE OR REPLACE TEMP TABLE {_MERGED} AS"
        connection.execute(f"{begun} {one_batch}", {"batch": batch} | ({} if apart else {"batches": batches}))
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
    own = ", ".join(f"{held.own_words.get(name, 'CAST(NULL AS VARCHAR)')} AS own_{name}" for name in OWN_WORDS)
    begun = f"INSERT INTO {_HELD}" if batch else f"CREATE OR REPLACE TEMP TABLE {_HELD} AS"
    connection.execute(
        f"{begun} SELECT part.part_key, claim.list_id, claim.record, part.claims AS lists, {held.agrees} AS agrees, "
        f"{held.says} AS says, {held.all} AS says_all, {own} "
        f'FROM "{_EVERY}" AS claim JOIN {_MERGED} AS part USING (part_key) WHERE claim.batch = $batch',
        {"batch": batch},
    )


def _keep_disputed(
    connection: duckdb.DuckDBPyConnection, family: Family, present: set[str], dropped: list[int], *, shared: bool
) -> None:
    """Keep the claims of those parts whose claims differ; those that are kept already stay as they are."""
    still = f"SELECT part_key FROM {_SHARED} ANTI JOIN {_CONCURRED} USING (part_key)" if shared else ""
    gone = f"SELECT part_key FROM {_TOUCHED}" + (f" WHERE part_key NOT IN ({still})" if shared else "")
    connection.execute(
        f'DELETE FROM "disputed_{family.name}" WHERE list_contains($dropped, list_id) OR part_key IN ({gone})',
        {"dropped": dropped},
    )
    if shared:
        _dispute(connection, family, _EVERY, present, f"SEMI JOIN ({still}) USING (part_key) WHERE NOT kept")


def _dispute(connection: duckdb.DuckDBPyConnection, family: Family, table: str, present: set[str], those: str) -> None:
    """Write claims out beside the parts."""
    disputed = f"disputed_{family.name}"
    (some,) = connection.execute(f'SELECT count(*) FROM "{table}" {those}').fetchone() or (0,)
    if not some:
        return
    kinds = {name: kind for name, kind in claim_columns(family) if name in present | dict(CLAIM).keys()}
    for name in kinds.keys() - columns_of(connection, disputed):
        connection.execute(f'ALTER TABLE "{disputed}" ADD COLUMN "{name}" {kinds[name]}')
    connection.execute(f'INSERT INTO "{disputed}" BY NAME SELECT {numbers_apart(kinds)} FROM "{table}" {those}')
