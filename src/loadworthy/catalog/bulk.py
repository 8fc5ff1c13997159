"""The quick way of loading: DuckDB reads the text itself, and is believed only where nothing can be lost.

Readers of delimited text differ where the text is not clean: stray quotation marks, spaces beside them, mixed
line ends, blank lines. What such a text holds is settled by one reader, the careful one; this way stands
aside there. Names that stand in the SQL are this module's own or quoted; what comes from a file is bound.
"""

from __future__ import annotations

import csv
import io
import os
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import duckdb

from loadworthy.catalog.dialects import DELIMITERS
from loadworthy.catalog.surveying import Survey

__all__ = ["Layout", "column_names", "load", "quoted"]

_SPARE = 4
"""Fields that a record may have beyond the table's width, if they are empty, as after trailing delimiters."""
_END_BYTES = 1 << 16
_END_LINES = 20


@dataclass(frozen=True, kw_only=True)
class Layout:
    """Where a table's records lie in a text file, and how its fields are parted.

    Attributes
    ----------
    text
        File of UTF-8 text.
    delimiter
        One character.
    first_record
        Number of the first record to load; the file's first is 1.
    width
        Number of fields of the table.
    """

    text: Path
    delimiter: str
    first_record: int
    width: int


def column_names(width: int) -> list[str]:
    """Return the names of the columns of text: ``c0``, ``c1`` and so on."""
    return [f"c{place}" for place in range(width)]


def quoted(name: str) -> str:
    """Return a name as an SQL identifier."""
    return '"' + name.replace('"', '""') + '"'


def load(
    connection: duckdb.DuckDBPyConnection,
    layout: Layout,
    survey: Survey,
    head: Sequence[tuple[str, ...]],
    *,
    table: str,
) -> bool:
    """Try to load the records into the temporary table ``table``; say whether it was done.

    Parameters
    ----------
    connection
        Where the table goes. There is no such table before, nor after a ``False``.
    layout
        Which records, and how they are written.
    survey
        What the bytes of the text say.
    head
        The first records, as the careful reader reads them.
    table
        Name of the table.

    Returns
    -------
    bool
        ``True``: the table holds what the careful way would have put there. The number of records, the first
        and the last record have been compared with what the survey and the careful reader say.
    """
    if not _clean(connection, layout, survey, head):
        return False
    body = [record for record in head[layout.first_record - 1 :] if record]
    count = survey.records - layout.first_record + 1 - len(_blanks(layout, survey))
    for spare in (_SPARE,) if _ragged(layout, survey, body) else (0, _SPARE):
        with _undone_unless_sound(connection, table) as verdict:
            _read(connection, layout, survey, spare=spare, table=table)
            verdict.sound = _agrees(connection, layout, count=count, first=body[0], spare=spare, table=table)
            if verdict.sound:
                _finish(connection, layout, _blanks(layout, survey), spare=spare, table=table)
        if verdict.sound:
            return True
    return False


def _clean(
    connection: duckdb.DuckDBPyConnection, layout: Layout, survey: Survey, head: Sequence[tuple[str, ...]]
) -> bool:
    """Whether every reader must understand the text in the same way, as far as its bytes show."""
    return (
        survey.line_end is not None
        and survey.blanks is not None
        # where a buffer of DuckDB ends inside a blank line of two characters, the next field gets the second
        and not (survey.line_end == "\r\n" and _blanks(layout, survey))
        and not survey.loose_quotes
        and layout.first_record <= survey.records
        and any(head[layout.first_record - 1 :])
        and layout.width > 1
        and layout.delimiter in DELIMITERS
        and not set("*?[]") & set(str(layout.text))  # DuckDB would look for other files, too
        and _keeps_order(connection)
        and not _inside_transaction(connection)
    )


def _blanks(layout: Layout, survey: Survey) -> list[int]:
    """Return the numbers of the blank lines among the records to load; DuckDB drops them without a word."""
    return [blank for blank in survey.blanks or () if blank >= layout.first_record]


def _keeps_order(connection: duckdb.DuckDBPyConnection) -> bool:
    row = connection.execute("SELECT current_setting('preserve_insertion_order')").fetchone()
    return row is not None and bool(row[0])


def _inside_transaction(connection: duckdb.DuckDBPyConnection) -> bool:
    """Whether the caller has begun a transaction: a read that fails would spoil it."""
    ids = [connection.execute("SELECT txid_current()").fetchone() for _ in range(2)]
    return ids[0] == ids[1]


@dataclass
class _Verdict:
    sound: bool = False


@contextmanager
def _undone_unless_sound(connection: duckdb.DuckDBPyConnection, table: str) -> Iterator[_Verdict]:
    verdict = _Verdict()
    try:
        yield verdict
    except duckdb.InterruptException:
        raise
    except duckdb.Error:
        verdict.sound = False
    finally:
        if not verdict.sound:
            connection.execute(f"DROP TABLE IF EXISTS temp.{quoted(table)}")


def _ragged(layout: Layout, survey: Survey, body: Sequence[tuple[str, ...]]) -> bool:
    """Whether some first or last records have other numbers of fields, so that a strict read is in vain."""
    if any(record and len(record) != layout.width for record in body):
        return True
    if survey.broken_fields:
        return False
    ends = csv.reader(io.StringIO("\n".join(_end_lines(layout)), newline=""), delimiter=layout.delimiter)
    return any(record and len(record) != layout.width for record in ends)


def _read(connection: duckdb.DuckDBPyConnection, layout: Layout, survey: Survey, *, spare: int, table: str) -> None:
    names = [*column_names(layout.width), *_spare_names(spare)]
    columns = ", ".join(f"'{name}': 'VARCHAR'" for name in names)
    surplus = "" if spare else ", NULL::VARCHAR AS surplus"
    connection.execute(
        f"""
        CREATE TEMP TABLE {quoted(table)} AS
        SELECT 0::BIGINT AS record, *{surplus}
        FROM read_csv($text, columns = {{{columns}}}, delim = $delimiter, quote = '"', escape = '"',
                      new_line = $line_end, skip = $skipped, null_padding = $padded, parallel = $parallel,
                      auto_detect = false, header = false, comment = '', compression = 'none')
        """,
        {
            "text": str(layout.text.absolute()),
            "delimiter": layout.delimiter,
            "line_end": {"\n": "\\n", "\r\n": "\\r\\n"}[survey.line_end or "\n"],
            "skipped": layout.first_record - 1,
            "padded": spare > 0,
            "parallel": not (spare and survey.broken_fields),  # DuckDB cannot do all three
        },
    ).fetchall()


def _spare_names(spare: int) -> list[str]:
    return [f"spare{place}" for place in range(spare)]


def _agrees(
    connection: duckdb.DuckDBPyConnection,
    layout: Layout,
    *,
    count: int,
    first: tuple[str, ...],
    spare: int,
    table: str,
) -> bool:
    """Whether number, first and last record are right, and no record is longer than the table is wide."""
    filled = " + ".join(["0", *(f"count({name})" for name in _spare_names(spare))])
    counts = connection.execute(f"SELECT count(*), {filled} FROM temp.{quoted(table)}").fetchone()
    if counts != (count, 0) or _row(connection, layout, 0, table) != padded(first, layout.width):
        return False
    end = _row(connection, layout, count - 1, table)
    return any(end == possible for possible in _possible_ends(layout))


def _row(
    connection: duckdb.DuckDBPyConnection, layout: Layout, place: int, table: str
) -> tuple[str | None, ...] | None:
    names = ", ".join(column_names(layout.width))
    return connection.execute(
        f"SELECT {names} FROM temp.{quoted(table)} WHERE rowid = $place",
        {"place": place},
    ).fetchone()


def _possible_ends(layout: Layout) -> Iterator[tuple[str | None, ...]]:
    """Yield what the last record may be: the last line, the last two as one quoted record, and so on."""
    lines = _end_lines(layout)
    for start in range(len(lines) - 1, -1, -1):
        text = io.StringIO("\n".join(lines[start:]), newline="")
        end = list(csv.reader(text, delimiter=layout.delimiter))
        if len(end) == 1:
            yield padded(end[0], layout.width)


def _end_lines(layout: Layout) -> list[str]:
    """Return the last lines from the first record to load on; blank ones at the end do not count."""
    with layout.text.open("rb") as stream:
        size = stream.seek(0, os.SEEK_END)
        stream.seek(max(0, size - _END_BYTES))
        text = stream.read().rstrip(b"\r\n").decode("utf-8-sig", errors="replace")
    lines = text.split("\n")
    first = layout.first_record - 1 if size <= _END_BYTES else 1  # a line that is cut says nothing
    return lines[first:][-_END_LINES:]


def padded(record: Sequence[str], width: int) -> tuple[str | None, ...]:
    """Return the first ``width`` fields of a record; ``None`` where a field is empty or absent."""
    fields = [field or None for field in record[:width]]
    return (*fields, *[None] * (width - len(fields)))


def _finish(
    connection: duckdb.DuckDBPyConnection, layout: Layout, blanks: Sequence[int], *, spare: int, table: str
) -> None:
    """Give each record its number: its place in the table, which is the file's order, and blank lines."""
    for name in _spare_names(spare)[1:]:
        connection.execute(f"ALTER TABLE temp.{quoted(table)} DROP COLUMN {name}")
    if spare:
        connection.execute(f"ALTER TABLE temp.{quoted(table)} RENAME spare0 TO surplus")
    rows_before = (blank - layout.first_record - place for place, blank in enumerate(blanks))
    shifts = "".join(f" + (rowid >= {rows})::BIGINT" for rows in rows_before)
    connection.execute(
        f"UPDATE temp.{quoted(table)} SET record = rowid + $first{shifts}",
        {"first": layout.first_record},
    ).fetchall()
