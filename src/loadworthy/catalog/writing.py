"""One list's claims, offers and refusals into the catalogue, in one transaction."""

from __future__ import annotations

import re
from collections.abc import Callable, Collection
from dataclasses import dataclass, field
from datetime import UTC, date, datetime
from typing import Any

import duckdb
import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from loadworthy.catalog import arrays
from loadworthy.catalog.assembly import (
    ROWS,
    STAGED,
    claims_statement,
    headings_condition,
    offered_columns,
    offers_statement,
    rows_with_values,
    taken_rows,
    worded_columns,
)
from loadworthy.catalog.columns import Layout
from loadworthy.catalog.evidence import Decimal
from loadworthy.catalog.lookups import PROBLEM, Lookup
from loadworthy.catalog.merging import merge_staged
from loadworthy.catalog.number_texts import NumberTexts, survey_numbers
from loadworthy.catalog.reading import Source
from loadworthy.catalog.recipes import Recipe, recipe_text
from loadworthy.catalog.reports import IntakeReport, Refusal
from loadworthy.catalog.store import Catalog
from loadworthy.catalog.texts import Distinct, Texts

__all__ = ["RAW", "Progress", "Work", "report", "same_list", "write_list"]

Progress = Callable[[str, float], None]

#: A file's texts, by this name while it is taken in.
RAW = "raw_list"
_CELLS = "refused_cells"
_TOO_MANY = "the row has more cells than the table has headings"
_SHOWN_REFUSALS = 100
_DATES = (
    (re.compile(r"\b(\d{1,2})\.(\d{1,2})\.(\d{4})\b"), (3, 2, 1)),
    (re.compile(r"\b(\d{4})-(\d{1,2})-(\d{1,2})\b"), (1, 2, 3)),
)


@dataclass(slots=True)
class Work:
    """One file on its way into the catalogue."""

    source: Source
    layout: Layout
    recipe: Recipe
    supplier: str
    supplier_from: str
    decimal: Decimal
    texts: Texts = field(init=False)
    alike: Callable[[], list[int] | None] = lambda: None
    lookups: list[Lookup] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    replaces: bool = False
    section: int | None = None

    def let_go(self) -> None:
        """Forget the texts, so that their file goes with its folder."""
        self.lookups.clear()
        del self.texts
        self.alike = lambda: None


def write_list(catalog: Catalog, work: Work, *, keep_earlier: bool, together: set[int], tell: Progress) -> int:
    """Write a list whose columns are read; return its number.

    Parameters
    ----------
    catalog, work
        Open for writing; texts and lookups in temporary tables.
    keep_earlier
        Keep the supplier's earlier lists of the family.
    together
        Lists that were given in the same call: they do not replace one another. The new one joins them.
    tell
        Told what is being done.
    """
    connection = catalog.connection
    family = work.layout.family
    name = work.source.name
    tell(f"writing {name}", 0.65)
    connection.execute("BEGIN TRANSACTION")
    try:
        catalog.ensure_family(family)
        fresh = _begins_anew(catalog, work, keep_earlier=keep_earlier, together=together)
        dropped = _drop_earlier(catalog, work, keep_earlier=keep_earlier, together=together)
        list_id = int(catalog.rows("SELECT nextval('list_ids') AS id")[0]["id"])
        numbers = survey_numbers(connection, work.layout, work.texts)
        taken = taken_rows(
            work.texts, work.layout, work.lookups, section=work.section, again=_headings_again(connection, work)
        )
        worded = worded_columns(work.layout, work.lookups) if fresh else {}
        connection.register(ROWS, rows_with_values(work.texts, work.layout, work.lookups, worded, taken))
        connection.execute(
            claims_statement(work.layout, work.lookups, numbers, worded, list_id=list_id, every=taken is None)
        )
        offered = offered_columns(work.lookups, numbers)
        catalog.ensure_offered(offered)
        connection.execute(offers_statement(offered, numbers, list_id=list_id, every=taken is None))
        tell(f"writing {name}", 0.8)
        _keep_refused(connection, work, numbers, list_id)
        counts = _counts(catalog, list_id)
        tell(f"laying out the parts of {name}", 0.9)
        counts["parts"] = merge_staged(
            connection,
            family,
            list_id=list_id,
            dropped=dropped,
            fresh=fresh,
            alike=work.alike,
            as_keys=numbers.as_keys,
            words={name: one.words for name, one in worded.items()},
        )
        catalog.view_offers()
        catalog.view_claims(family)
        _keep_list(catalog, work, list_id, counts)
        connection.execute("COMMIT")
    except BaseException:
        connection.execute("ROLLBACK")
        raise
    finally:
        connection.unregister(ROWS)
    together.add(list_id)
    work.replaces = bool(dropped)
    return list_id


def _headings_again(connection: duckdb.DuckDBPyConnection, work: Work) -> list[int]:
    """Return the records that repeat a heading row: where a column has no such text, none does."""
    read = [lookup.column for lookup in work.lookups if len(lookup.distinct.texts) == 1]
    for record in work.layout.heading_records:
        expected = [(column, record[column.position - 1]) for column in read if column.position <= len(record)]
        if all(_occurs(work.texts.distinct(column.field), text) for column, text in expected if text):
            break
    else:
        return []
    repeated, bound = headings_condition(work.layout)
    rows = connection.execute(f'SELECT record FROM "{RAW}" r WHERE {repeated}', bound).fetchall()
    return [int(row[0]) for row in rows]


def _occurs(distinct: Distinct, text: str) -> bool:
    return bool(arrays.flags(pc.is_in(distinct.texts[0], value_set=arrays.column([text], pa.string()))).any())


def _replaced(catalog: Catalog, work: Work, *, keep_earlier: bool, together: Collection[int]) -> list[dict[str, Any]]:
    """Return the supplier's earlier lists of this family, except those given in the same call."""
    if keep_earlier:
        return []
    earlier = catalog.lists_of(work.supplier, work.layout.family.name)
    return [one for one in earlier if int(one["list_id"]) not in together]


def _begins_anew(catalog: Catalog, work: Work, *, keep_earlier: bool, together: Collection[int]) -> bool:
    """Say whether the list's parts will be the only ones of their family; parameters as :func:`write_list`."""
    family = work.layout.family.name
    lists = int(catalog.rows("SELECT count(*) AS n FROM lists WHERE family = ?", [family])[0]["n"])
    return lists == len(_replaced(catalog, work, keep_earlier=keep_earlier, together=together))


def _drop_earlier(catalog: Catalog, work: Work, *, keep_earlier: bool, together: Collection[int]) -> list[int]:
    """Take out the lists that this one replaces."""
    dropped = _replaced(catalog, work, keep_earlier=keep_earlier, together=together)
    dated = _stated_date(work.layout)
    for one in dropped:
        if dated and one["stated_date"] and one["stated_date"] > dated:
            work.notes.append(
                f"this list is dated {dated}, the one that it replaces ({one['file']}) {one['stated_date']}"
            )
        for table in ("offer_rows", "refused", "lists"):
            catalog.connection.execute(f"DELETE FROM {table} WHERE list_id = ?", [one["list_id"]])
    return [int(one["list_id"]) for one in dropped]


def _run(connection: duckdb.DuckDBPyConnection, statement: str, parameters: dict[str, Any]) -> None:
    """Execute with those parameters that the statement names; the engine refuses others."""
    named = set(re.findall(r"\$(\w+)", statement))
    connection.execute(statement, {name: value for name, value in parameters.items() if name in named})


def _stated_date(layout: Layout) -> date | None:
    for _, line in layout.preamble:
        for pattern, (year, month, day) in _DATES:
            match = pattern.search(line)
            if match:
                try:
                    return date(int(match[year]), int(match[month]), int(match[day]))
                except ValueError:
                    continue
    return None


def _reading_of(work: Work) -> str:
    """What the reading depends on besides the file: the same file by another recipe is another list."""
    return f"{work.recipe.digest}/{work.layout.family.name}/{work.source.sheet or ''}"


def same_list(catalog: Catalog, work: Work) -> int | None:
    """Return the list that this file, read in this way for this supplier, is already in as."""
    rows = catalog.rows(
        "SELECT list_id FROM lists WHERE digest = ? AND supplier = ? AND reading = ?",
        [work.source.digest, work.supplier, _reading_of(work)],
    )
    return int(rows[0]["list_id"]) if rows else None


def _keep_refused(connection: duckdb.DuckDBPyConnection, work: Work, numbers: NumberTexts, list_id: int) -> None:
    """Keep every refused cell of the rows that are in, and every row that is not."""
    mine = f'(SELECT record FROM "{STAGED}")'
    cells = _refused_cells(work)
    if len(cells):
        connection.register(_CELLS, cells)
        _run(
            connection,
            f"INSERT INTO refused SELECT $list_id, 'cell', record, heading, text, reason FROM {_CELLS} "
            f"WHERE record IN {mine}",
            {"list_id": list_id},
        )
        connection.unregister(_CELLS)
    if _all_staged(connection):
        return
    repeated, bound = headings_condition(work.layout)
    width = work.layout.width
    shown = ", ".join(f'r."c{index}"' for index in range(width))
    filled = " + ".join(f'CAST(r."c{index}" IS NOT NULL AS INTEGER)' for index in range(width))
    figures = {figure.name for figure in work.layout.family.figures}
    given = [f'r."{column.field}" IS NULL' for column in work.layout.columns if column.reads in figures]
    empty = " AND ".join(given) or "FALSE"
    _run(
        connection,
        f"""INSERT INTO refused SELECT $list_id,
            CASE WHEN {repeated} THEN 'heading' WHEN {filled} <= $few THEN 'note' ELSE 'row' END, r.record, '',
            concat_ws(' | ', {shown}),
            CASE WHEN {repeated} THEN 'the heading again' WHEN {filled} <= $few THEN 'a line beside the table'
                WHEN r.record >= $section THEN 'it stands under another heading: take it in as a file of its own'
                WHEN r.surplus IS NOT NULL THEN 'its cells stand in the wrong columns: there is one too many'
                WHEN {numbers.expressions["part_number"]} IS NULL THEN 'it has no part number'
                WHEN {empty} THEN 'it gives no figure'
                ELSE 'none of its figures could be read, or they stand in the wrong columns' END
        FROM "{RAW}" r WHERE r.record NOT IN {mine}""",
        {"list_id": list_id, "few": max(2, width // 5), "section": work.section, **bound},
    )


def _refused_cells(work: Work) -> pa.Table:
    """Return every cell that could not be read, and what stands beyond the last column."""
    table = work.texts.table
    found: list[pa.RecordBatch] = []

    def note(records: pa.Array, heading: str, texts: pa.Array, reasons: pa.Array) -> None:
        plain = texts.dictionary_decode() if pa.types.is_dictionary(texts.type) else texts
        headings = arrays.column([heading] * len(records), pa.string())
        names = ["record", "heading", "text", "reason"]
        found.append(pa.RecordBatch.from_arrays([records, headings, plain, reasons], names=names))

    for batch in range(len(work.texts.batches)):
        records = table.column("record").chunk(batch)
        for lookup in work.lookups:
            if lookup.tally.refused:
                places = lookup.distinct.numbered(batch)
                rows = np.flatnonzero(lookup.distinct.marked(batch, lookup.has(PROBLEM)))
                if len(rows):
                    at, texts = arrays.counted(rows), table.column(lookup.column.field).chunk(batch)
                    reasons = lookup.outputs[PROBLEM].take(arrays.counted(places[rows]))
                    note(records.take(at), lookup.column.heading, texts.take(at), reasons)
        beyond = table.column("surplus").chunk(batch)
        if beyond.null_count < len(beyond):
            at = arrays.counted(np.flatnonzero(arrays.flags(beyond.is_valid())))
            reasons = arrays.column([_TOO_MANY] * len(at), pa.string())
            note(records.take(at), "beyond the last column", beyond.take(at), reasons)
    kinds = [("record", pa.int64()), ("heading", pa.string()), ("text", pa.string()), ("reason", pa.string())]
    return pa.Table.from_batches(found, pa.schema(kinds))


def _all_staged(connection: duckdb.DuckDBPyConnection) -> bool:
    counts = connection.execute(f'SELECT (SELECT count(*) FROM "{RAW}") = (SELECT count(*) FROM "{STAGED}")').fetchone()
    return bool(counts and counts[0])


def _counts(catalog: Catalog, list_id: int) -> dict[str, int]:
    """Count the records below the heading: each is a part, a heading, a note or refused."""
    kinds = {
        str(row["kind"]): int(row["n"])
        for row in catalog.rows("SELECT kind, count(*) AS n FROM refused WHERE list_id = ? GROUP BY kind", [list_id])
    }
    catalog.connection.execute("DELETE FROM refused WHERE list_id = ? AND kind = 'heading'", [list_id])
    return {
        "rows_read": int(catalog.rows(f'SELECT count(*) AS n FROM "{RAW}"')[0]["n"]),
        "rows_parts": int(catalog.rows(f'SELECT count(*) AS n FROM "{STAGED}"')[0]["n"]),
        "rows_headings": kinds.get("heading", 0),
        "rows_notes": kinds.get("note", 0),
        "rows_refused": kinds.get("row", 0),
        "cells_refused": kinds.get("cell", 0),
    }


def _keep_list(catalog: Catalog, work: Work, list_id: int, counts: dict[str, int]) -> None:
    line = {
        "list_id": list_id,
        "file": work.source.name,
        "sheet": work.source.sheet,
        "supplier": work.supplier,
        "family": work.layout.family.name,
        "digest": work.source.digest,
        "reading": _reading_of(work),
        "stated_date": _stated_date(work.layout),
        "taken_in": datetime.now(UTC).replace(tzinfo=None, microsecond=0),
        "encoding": work.source.encoding,
        "delimiter": work.source.delimiter,
        "decimal_mark": work.decimal.mark,
        **counts,
    }
    names = ", ".join(line)
    places = ", ".join(f"${name}" for name in line)
    catalog.connection.execute(f"INSERT INTO lists ({names}) VALUES ({places})", line)


def report(catalog: Catalog, work: Work, list_id: int, *, outcome: str) -> IntakeReport:
    """Say what became of a list that is in the catalogue."""
    line = catalog.rows("SELECT * FROM lists WHERE list_id = ?", [list_id])[0]
    refused = catalog.rows(
        "SELECT kind, record, heading, text, reason FROM refused WHERE list_id = ? "
        "ORDER BY kind = 'note', record, heading LIMIT ?",
        [list_id, _SHOWN_REFUSALS],
    )
    offers = catalog.rows("SELECT count(*) AS n FROM offer_rows WHERE list_id = ?", [list_id])[0]["n"]
    mark = str(line["decimal_mark"])
    return IntakeReport(
        file=work.source.name,
        sheet=work.source.sheet,
        sheets=work.source.sheets,
        supplier=work.supplier,
        supplier_from=work.supplier_from,
        family=work.layout.family.name,
        encoding=work.source.encoding,
        delimiter=work.source.delimiter,
        decimal=mark,
        decimal_why=work.decimal.why or "as when it was taken in",
        outcome=outcome,
        columns=work.layout.columns,
        **{
            name: int(line[name])
            for name in (
                "rows_read",
                "rows_parts",
                "rows_headings",
                "rows_notes",
                "rows_refused",
                "cells_refused",
                "parts",
            )
        },
        offers=int(offers),
        notes=tuple(work.notes),
        refused=tuple(Refusal(**{**one, "heading": one["heading"] or ""}) for one in refused),
        recipe=recipe_text(
            work.layout,
            supplier=work.supplier,
            decimal=mark,
            encoding=work.source.encoding,
            delimiter=work.source.delimiter,
            sheet=work.source.sheet,
            currency=work.recipe.currency,
        ),
        examples=work.source.examples(work.layout.first_record, work.layout.width),
    )
