"""Each claim of a list held against the row of its part: what settles itself by that, and what must be put together.

A row that carries a list and a record says what all claims of its part say (:mod:`.concurring`), so that one join
shows of nearly every claim what is to be done.
"""

from __future__ import annotations

from collections.abc import Callable
from enum import IntEnum
from itertools import pairwise

import duckdb

from loadworthy.catalog import folding, laying
from loadworthy.catalog.assembly import STAGED
from loadworthy.catalog.concurring import OWN_COLUMNS, OWN_WORDS, claims_sources, compared, rows_own_least, said_by
from loadworthy.catalog.families import Family
from loadworthy.catalog.laying import OF_SEVERAL, chosen, columns_of, count, into, row_as_claim
from loadworthy.catalog.outputs import TYPICAL
from loadworthy.catalog.schema import CURVE, exact_columns, of_row, part_columns

__all__ = [
    "COMPARED",
    "UNSAFE",
    "Kind",
    "compare",
    "count_kinds",
    "differing_claims",
    "ensure_of_several",
    "note_moved",
    "of_kind",
    "paired_rows",
    "settle",
]

#: So many claims are held against rows at once: what is kept of them at a time takes a GB.
AT_ONCE = 3_400_000
#: Temporary tables: the staged claims with the rows of their parts; rows that are put together anew whatever is said.
COMPARED, UNSAFE = "compared_claims", "unsafe_rows"
_ALIKE = "records_alike"


class Kind(IntEnum):
    """What a claim is to the catalogue."""

    #: Nothing is known of its part, and the list names it once.
    NEW = 0
    #: It says what the row says, or less; where the row carries a dropped list's record, it says all of that.
    SETTLED = 1
    #: The row says what a dropped list alone said.
    REPLACES = 2
    #: It says else only what the row does not say at all.
    EXTENDS = 3
    #: It says something else than the row, which says what all others say.
    DIFFERS = 4
    #: All claims of the part are to be looked at.
    REST = 5
    #: It says less than the row that carries a dropped list's record; it is seen to what that record said.
    FOLLOWS = 6


def of_kind(*kinds: Kind) -> str:
    """Write the condition that a compared claim is of one of these kinds; the column bears no name of a figure."""
    return f"claim_is IN ({', '.join(str(int(kind)) for kind in kinds)})"


def count_kinds(connection: duckdb.DuckDBPyConnection) -> dict[Kind, int]:
    """Count the compared claims of each kind, without those that stand where a dropped list's claim stood."""
    found = dict.fromkeys(Kind, 0)
    rows = connection.execute(
        f"SELECT claim_is, count(*) FROM {COMPARED} WHERE NOT follows GROUP BY claim_is"
    ).fetchall()
    return found | {Kind(kind): int(claims) for kind, claims in rows}


def compare(
    connection: duckdb.DuckDBPyConnection,
    family: Family,
    dropped: list[int],
    alike: Callable[[], list[int] | None],
    *,
    as_keys: bool,
) -> None:
    """Say of each staged claim what it is, in :data:`COMPARED`, and which rows are not to be relied on.

    Parameters
    ----------
    connection, family
        With the staged claims.
    dropped
        The lists whose claims no longer count.
    alike
        Says which records of the list may name parts that others of it name too; ``None`` is all.
    as_keys
        Whether the parts' keys end in the part numbers of the list, all of them.
    """
    stored, staged = columns_of(connection, f"stored_{family.name}"), columns_of(connection, STAGED)
    row = row_as_claim(family, stored)
    if as_keys and "part_number" not in stored:
        del row["part_number"]
    held = compared(family, staged, row)
    follows = "coalesce(list_contains($dropped, part.row_list), FALSE)" if dropped else "FALSE"
    kind = f"""CASE WHEN part.place IS NULL THEN {Kind.NEW:d} WHEN part.row_list IS NULL THEN {Kind.REST:d}
        WHEN {follows} THEN CASE WHEN NOT ({held.agrees}) THEN {Kind.REPLACES:d} WHEN {held.all} THEN {Kind.SETTLED:d}
            ELSE {Kind.FOLLOWS:d} END
        WHEN {held.agrees} THEN {Kind.SETTLED:d} WHEN {held.extends} THEN {Kind.EXTENDS:d}
        ELSE {Kind.DIFFERS:d} END"""
    columns = [
        *((f"part.{name}", name) for name in ("place", "row_list", "row_record")),
        ("claim.record", "record"),
        (f"CAST({kind} AS UTINYINT)", "claim_is"),
        (follows, "follows"),
        (held.lowers, "lowers"),
        (held.says, "says"),
        (held.row_says, "row_says"),
        *held.own_columns(),
    ]
    rows = [("rowid", "place"), ("part_key", "part_key"), ("list_id", "row_list"), ("record", "row_record")]
    parts = f'SELECT {chosen([*rows, *((text, name) for name, text in row.items())])} FROM "stored_{family.name}"'
    for number, some in enumerate(_spans(connection)):
        connection.execute(
            f'{into(COMPARED, number)} SELECT {chosen(columns)} FROM (SELECT * FROM "{STAGED}" {some}) AS claim '
            f"LEFT JOIN ({parts}) AS part USING (part_key)",
            {"dropped": dropped} if dropped else None,
        )
    _leave_repeated(connection, alike())
    _leave_marked(connection, family, dropped)


def _spans(connection: duckdb.DuckDBPyConnection) -> list[str]:
    """Divide the staged claims by their records; return a condition for each share of them."""
    first, last = connection.execute(f'SELECT min(record), max(record) FROM "{STAGED}"').fetchone() or (None, None)
    shares = -(-count(connection, STAGED) // AT_ONCE)
    if shares < 2:
        return [""]
    edges = [first + (last + 1 - first) * share // shares for share in range(shares + 1)]
    return [f"WHERE record >= {begin} AND record < {end}" for begin, end in pairwise(edges)]


def _to_the_rest(connection: duckdb.DuckDBPyConnection, condition: str, dropped: list[int] | None = None) -> None:
    connection.execute(
        f"UPDATE {COMPARED} SET claim_is = {Kind.REST:d} {condition}", {"dropped": dropped} if dropped else None
    )


def _leave_repeated(connection: duckdb.DuckDBPyConnection, among: list[int] | None) -> None:
    """Leave the parts that the list itself names several times to the rest; ``among`` these records they are."""
    if among == []:
        return
    claims = COMPARED
    if among is not None:
        connection.execute(f"CREATE OR REPLACE TEMP TABLE {_ALIKE} AS SELECT unnest(?::BIGINT[]) AS record", [among])
        claims = f"(SELECT * FROM {COMPARED} SEMI JOIN {_ALIKE} USING (record))"
    _to_the_rest(
        connection,
        f"WHERE place IN (SELECT place FROM {claims} WHERE place IS NOT NULL GROUP BY place HAVING count(*) > 1)",
    )
    new = f"(SELECT record FROM {claims} WHERE {of_kind(Kind.NEW)})"
    new = f'(SELECT part_key, record FROM "{STAGED}" SEMI JOIN {new} USING (record))'
    _to_the_rest(
        connection,
        f"WHERE record IN (SELECT record FROM {new} SEMI JOIN "
        f"(SELECT part_key FROM {new} GROUP BY part_key HAVING count(*) > 1) USING (part_key))",
    )


def _leave_marked(connection: duckdb.DuckDBPyConnection, family: Family, dropped: list[int]) -> None:
    """Leave the parts to the rest whose other claims, which are marked, stand against a simpler way."""
    marked = f"concurring_{family.name}"
    of_part = f"marked.row_list = {COMPARED}.row_list AND marked.row_record = {COMPARED}.row_record"
    _to_the_rest(
        connection,
        f"FROM {marked} AS marked WHERE {of_kind(Kind.EXTENDS)} AND lowers AND {of_part} "
        f"AND marked.says & {rows_own_least(family)} <> 0",
    )
    unsafe = "SELECT CAST(0 AS BIGINT) AS place WHERE FALSE"
    if dropped:
        same_words = " AND ".join(f"own_{name} IS NULL" for name in OWN_WORDS)
        connection.execute(
            f"UPDATE {COMPARED} SET claim_is = {Kind.SETTLED:d} FROM {marked} AS marked WHERE {of_kind(Kind.FOLLOWS)} "
            f"AND {of_part} AND {of_row('marked')} AND marked.says = {COMPARED}.says AND {same_words}"
        )
        connection.execute(f"UPDATE {COMPARED} SET claim_is = {Kind.REPLACES:d} WHERE {of_kind(Kind.FOLLOWS)}")
        another = f"NOT {of_row('marked')}"
        _to_the_rest(
            connection,
            f"FROM {marked} AS marked WHERE {of_kind(Kind.REPLACES)} AND {another} "
            f"AND NOT list_contains($dropped, marked.list_id) AND {of_part}",
            dropped,
        )
        _to_the_rest(  # the earliest list says which figures are typical; that would be another one now
            connection,
            f"FROM {marked} AS marked WHERE follows AND {of_kind(Kind.SETTLED)} AND {of_part} "
            f'AND marked."{TYPICAL}" IS NOT NULL AND NOT list_contains($dropped, marked.list_id)',
            dropped,
        )
        # Rows that carry a dropped record, or may say what a dropped claim alone said.
        unsafe = f"""SELECT rowid AS place FROM "stored_{family.name}" WHERE list_contains($dropped, list_id)
            AND rowid NOT IN (
                SELECT place FROM {COMPARED} WHERE place IS NOT NULL AND {of_kind(Kind.SETTLED, Kind.REPLACES)})
            UNION SELECT part.rowid FROM "stored_{family.name}" AS part
                JOIN {marked} AS own ON own.list_id = part.list_id AND own.record = part.record
                JOIN {marked} AS marked ON marked.row_list = part.list_id AND marked.row_record = part.record
                WHERE list_contains($dropped, marked.list_id) AND {another}"""
    connection.execute(f"CREATE OR REPLACE TEMP TABLE {UNSAFE} AS {unsafe}", {"dropped": dropped} if dropped else None)
    if dropped:
        _to_the_rest(connection, f"WHERE place IN (SELECT place FROM {UNSAFE})")


def ensure_of_several(connection: duckdb.DuckDBPyConnection, family: Family) -> None:
    """Make the columns that only parts of several claims need."""
    stored = f"stored_{family.name}"
    missing = OF_SEVERAL.keys() - columns_of(connection, stored)
    for name in missing:
        connection.execute(f'ALTER TABLE "{stored}" ADD COLUMN {name} {OF_SEVERAL[name]}')
    if missing:
        laying.view_parts(connection, family)


def settle(connection: duckdb.DuckDBPyConnection, family: Family, list_id: int, dropped: list[int]) -> None:
    """Mark the claims that say nothing else than their rows; let them take the places of dropped ones.

    Parameters
    ----------
    connection, family, dropped
        As for :func:`compare`, after it.
    list_id
        The staged list.
    """
    stored, marked = f"stored_{family.name}", f"concurring_{family.name}"
    kinds = count_kinds(connection)
    if kinds[Kind.SETTLED] or kinds[Kind.EXTENDS] or kinds[Kind.DIFFERS]:
        ensure_of_several(connection, family)
    if dropped:
        _follow(connection, family, list_id, dropped)
    if kinds[Kind.EXTENDS]:  # then the row's own claim no longer says all that the row says
        connection.execute(
            f"""INSERT INTO {marked} BY NAME
            SELECT row_list, row_record, row_list AS list_id, row_record AS record, row_says AS says FROM {COMPARED}
            ANTI JOIN (SELECT row_list, row_record FROM {marked} AS marked WHERE {of_row("marked")})
                USING (row_list, row_record)
            WHERE {of_kind(Kind.EXTENDS)}"""
        )
    if kinds[Kind.SETTLED] or kinds[Kind.EXTENDS]:
        connection.execute(
            f"INSERT INTO {marked} BY NAME SELECT row_list, row_record, CAST($list_id AS INTEGER) AS list_id, record, "
            f"says, {OWN_COLUMNS} FROM {COMPARED} WHERE NOT follows AND {of_kind(Kind.SETTLED, Kind.EXTENDS)}",
            {"list_id": list_id},
        )
    extended = kinds[Kind.EXTENDS] > 0 and _extend_in_place(connection, family)
    if kinds[Kind.SETTLED] or extended:
        connection.execute(
            f'UPDATE "{stored}" SET claims = claims + 1 WHERE rowid IN '
            f"(SELECT place FROM {COMPARED} WHERE NOT follows AND {of_kind(Kind.SETTLED)})"
        )


def _extend_in_place(connection: duckdb.DuckDBPyConnection, family: Family) -> bool:
    """Put what claims say more into their rows where these lie, if it is neither a level nor what they are sorted by.

    Then these claims are settled ones; say whether they are.
    """
    extending = f"SELECT * FROM {COMPARED} WHERE {of_kind(Kind.EXTENDS)}"
    more, lowers = connection.execute(
        f"SELECT bit_or(says & ~row_says), bool_or(lowers) FROM ({extending})"
    ).fetchone() or (0, True)
    plain = {column.name: column.kind for column in part_columns(family) if column.kind != CURVE}
    names = said_by(family, int(more or 0))
    least = {f"{figure.levels.stem}_from_v" for figure in family.figures if figure.levels}
    if lowers or not names or not plain.keys() - least - set(family.sorted_by) >= set(names):
        return False
    stored = f"stored_{family.name}"
    for name in names:
        connection.execute(f'ALTER TABLE "{stored}" ADD COLUMN IF NOT EXISTS "{name}" {plain[name]}')
    laying.view_parts(connection, family)
    said = ", ".join(f'"{name}" = coalesce("{stored}"."{name}", claim."{name}")' for name in names)
    connection.execute(
        f'UPDATE "{stored}" SET {said} FROM '
        f'(SELECT * FROM ({extending}) AS pair JOIN "{STAGED}" USING (record)) AS claim '
        f'WHERE "{stored}".rowid = claim.place'
    )
    connection.execute(f"UPDATE {COMPARED} SET claim_is = {Kind.SETTLED:d} WHERE {of_kind(Kind.EXTENDS)}")
    return True


def _follow(connection: duckdb.DuckDBPyConnection, family: Family, list_id: int, dropped: list[int]) -> None:
    """Forget what dropped lists said that others say too; put the new claims in the places of their claims."""
    stored, marked = f"stored_{family.name}", f"concurring_{family.name}"
    if "claims" in columns_of(connection, stored):
        connection.execute(
            f"""UPDATE "{stored}" SET claims = claims - gone.n FROM (
                SELECT row_list, row_record, CAST(count(*) AS INTEGER) AS n FROM {marked} AS marked
                WHERE list_contains($dropped, list_id) AND NOT {of_row("marked")}
                GROUP BY row_list, row_record) AS gone
            WHERE "{stored}".list_id = gone.row_list AND "{stored}".record = gone.row_record""",
            {"dropped": dropped},
        )
    following = f"claim.follows AND claim.{of_kind(Kind.SETTLED)}"
    connection.execute(  # a row's own claim that is marked is followed by one that says the same
        f"""UPDATE {marked} AS marked SET list_id = $list_id, record = claim.record FROM {COMPARED} AS claim
        WHERE {following} AND {of_row("marked")} AND marked.row_list = claim.row_list
        AND marked.row_record = claim.row_record AND marked.says = claim.says""",
        {"list_id": list_id},
    )
    connection.execute(f"DELETE FROM {marked} WHERE list_contains($dropped, list_id)", {"dropped": dropped})
    connection.execute(
        f"""UPDATE {marked} SET row_list = $list_id, row_record = claim.record FROM {COMPARED} AS claim
        WHERE {following} AND {marked}.row_list = claim.row_list AND {marked}.row_record = claim.row_record""",
        {"list_id": list_id},
    )
    connection.execute(
        f'UPDATE "{stored}" SET list_id = $list_id, record = claim.record FROM {COMPARED} AS claim '
        f'WHERE {following} AND "{stored}".rowid = claim.place',
        {"list_id": list_id},
    )


def paired_rows(connection: duckdb.DuckDBPyConnection, family: Family) -> tuple[str, set[str]]:
    """Ask for the rows that change by one claim: it says more than the row, or something else.

    Returns
    -------
    tuple of str and set of str
        The question, and the columns that a claim may fill in its rows.
    """
    row, staged = row_as_claim(family, columns_of(connection, f"stored_{family.name}")), columns_of(connection, STAGED)
    given = row.keys() | staged
    carried = [column for column in part_columns(family) if column.name in given]
    levels = [(figure, figure.levels) for figure in family.figures if figure.levels]
    exact = [pair for _, one in levels for pair in exact_columns(one) if pair[0] in given]
    pieces = folding.counting(carried, exact)
    differences = folding.differences(carried, levels, given)
    own = ", ".join(
        f"CASE WHEN {of_kind(Kind.EXTENDS)} THEN {carrying} END AS {name}"
        for carrying, name in (("row_list", "list_id"), ("row_record", "record"))
    )
    rows = [("rowid", "place"), ("part_key", "part_key"), ("claims", "claims")]
    text = (
        f"SELECT {', '.join(['part_key', *pieces])}, {own}, claims, "
        f"nullif(concat_ws(', ', {', '.join(differences)}), '') AS differs FROM ("
        f"SELECT part.part_key, claim_is, row_list, row_record, part.claims + 1 AS claims, "
        f"{', '.join(folding.paired(carried, exact, staged, row))} "
        f"FROM (SELECT * FROM {COMPARED} WHERE {of_kind(Kind.EXTENDS, Kind.DIFFERS)}) AS pair "
        f"JOIN (SELECT {chosen([*rows, *((expression, name) for name, expression in row.items())])} "
        f'FROM "stored_{family.name}") AS part USING (place) JOIN "{STAGED}" AS claim USING (record))'
    )
    return text, {column.name for column in carried} | {name for pair in exact for name in pair}


def differing_claims(connection: duckdb.DuckDBPyConnection, family: Family) -> list[tuple[dict[str, str], str]]:
    """Return where the claims stand of parts of which the list says something else, as :func:`claims_sources` does."""
    keys = "differing_parts"
    connection.execute(
        f'CREATE OR REPLACE TEMP TABLE {keys} AS SELECT part_key FROM "stored_{family.name}" '
        f"WHERE rowid IN (SELECT place FROM {COMPARED} WHERE {of_kind(Kind.DIFFERS)})"
    )
    tables = (columns_of(connection, f"{table}_{family.name}") for table in ("stored", "disputed"))
    staged = {name: f'"{name}"' for name in columns_of(connection, STAGED)}
    pairs = f"(SELECT record FROM {COMPARED} WHERE {of_kind(Kind.DIFFERS)})"
    return [
        *claims_sources(family, *tables, among=f"SEMI JOIN {keys} USING (part_key)")[:2],
        (staged, f'(SELECT * FROM "{STAGED}" SEMI JOIN {pairs} USING (record))'),
    ]


def note_moved(connection: duckdb.DuckDBPyConnection, family: Family, table: str, touched: str) -> int:
    """Note the rows in whose stead others come, in a temporary table; return how many parts come in all."""
    connection.execute(
        f'CREATE OR REPLACE TEMP TABLE {table} AS SELECT rowid AS place FROM "stored_{family.name}" '
        f"SEMI JOIN {touched} USING (part_key) UNION ALL "
        f"SELECT place FROM {COMPARED} WHERE {of_kind(Kind.REPLACES, Kind.EXTENDS, Kind.DIFFERS)}"
    )
    coming = of_kind(Kind.NEW, Kind.REPLACES, Kind.EXTENDS, Kind.DIFFERS)
    (apart,) = connection.execute(f"SELECT count(*) FROM {COMPARED} WHERE {coming}").fetchone() or (0,)
    return count(connection, touched) + int(apart)
