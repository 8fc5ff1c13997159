"""Suppliers' files into the catalogue: each file whole or not at all."""

from __future__ import annotations

import re
import shutil
import tempfile
from collections.abc import Container, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from typing import cast

import duckdb

from loadworthy.catalog import families
from loadworthy.catalog.assembly import NUMBERS
from loadworthy.catalog.columns import ColumnReading, Layout
from loadworthy.catalog.currencies import currency_of
from loadworthy.catalog.evidence import Decimal, decide_decimal, refine
from loadworthy.catalog.layouts import differs, lay_out
from loadworthy.catalog.lookups import Lookup, gather_texts, make_lookup
from loadworthy.catalog.reading import Source, load_rows, open_source
from loadworthy.catalog.recipes import Recipe, load_recipe
from loadworthy.catalog.reports import IntakeReport
from loadworthy.catalog.store import Catalog, failures_explained
from loadworthy.catalog.writing import RAW, Progress, Work, report, same_list, write_list
from loadworthy.errors import RecipeError, UnreadableFile
from loadworthy.quantities.numbers import DecimalMark

__all__ = ["intake"]

#: A column whose cells mostly cannot be read is not what its heading seemed to say.
_UNREADABLE_SHARE = 0.8
_UNREADABLE_LEAST = 3
#: So many rows are looked through for parts of another family, and so many of them are no accident.
_LOOKED_THROUGH = 2000
_STRANGERS = 2


@dataclass(frozen=True, kw_only=True)
class _Asked:
    """What the caller asked for, the same for all files."""

    recipe: Recipe
    family: str | None
    supplier: str | None
    keep_earlier: bool
    scratch: Path


def intake(
    path: str | Path,
    files: Sequence[str | Path],
    *,
    family: str | None = None,
    supplier: str | None = None,
    recipe: str | Path | None = None,
    keep_earlier: bool = False,
    dry_run: bool = False,
    progress: Progress | None = None,
) -> tuple[IntakeReport, ...]:
    """Take suppliers' tables into a catalogue.

    Each table is one transaction: whatever happens, the catalogue holds all of it or is as it was. A workbook may
    hold several, one a sheet. A list
    of a supplier replaces that supplier's earlier lists of the family, unless they were given in the
    same call or ``keep_earlier`` is set; a file that is already in changes nothing.

    Parameters
    ----------
    path
        The catalogue file; it is made where there is none.
    files
        Delimited text, also packed by gzip, or workbooks.
    family, supplier
        What the files do not say themselves. The supplier's name is taken from a column of the table, else
        from the file's name.
    recipe
        A recipe file that settles how the tables are read.
    keep_earlier
        Keep the supplier's earlier lists: the price list comes in several files.
    dry_run
        Read and report, keep nothing.
    progress
        Called with what is being done and the share that is done.

    Returns
    -------
    tuple of IntakeReport
        One for each table: a file, or a sheet of a workbook that reads as a table of parts.

    Raises
    ------
    LoadworthyError
        A file, the recipe or the catalogue cannot be used; files before it are in.
    """
    if family:
        families.load(family)
    tell = progress or (lambda _stage, _share: None)
    reports: list[IntakeReport] = []
    fresh = not Path(path).exists()
    together: set[int] = set()
    with tempfile.TemporaryDirectory(prefix="loadworthy-") as scratch:
        asked = _Asked(
            recipe=load_recipe(Path(recipe)) if recipe else Recipe(),
            family=family,
            supplier=supplier,
            keep_earlier=keep_earlier,
            scratch=Path(scratch),
        )
        where = Path(scratch) / "dry-run.duckdb" if dry_run else Path(path)
        for number, file in enumerate(map(Path, files)):
            try:
                done = _take_in(where, file, asked, together, _share_of(tell, number, len(files)))
            except BaseException:
                if fresh and not reports and not dry_run:
                    _remove_new(where)
                raise
            reports += [replace(one, outcome="dry run") for one in done] if dry_run else done
    return tuple(reports)


def _share_of(tell: Progress, number: int, count: int) -> Progress:
    return lambda stage, share: tell(stage, (number + share) / count)


def _remove_new(path: Path) -> None:
    """Take away a catalogue that was made for a file that could not be taken in."""
    for name in (path, path.with_name(path.name + ".wal")):
        name.unlink(missing_ok=True)
    shutil.rmtree(path.with_name(path.name + ".tmp"), ignore_errors=True)


def _take_in(path: Path, file: Path, asked: _Asked, together: set[int], tell: Progress) -> list[IntakeReport]:
    """Take in the table of a file, or every sheet of a workbook that holds one."""
    tell(f"reading {file.name}", 0.0)
    reports = []
    with _room_for(asked.scratch) as room:
        for work in _tables(file, asked, room):
            with Catalog.open(path, read_only=False) as catalog, failures_explained(path):
                earlier = same_list(catalog, work)
                if earlier is not None:
                    together.add(earlier)
                    reports.append(report(catalog, work, earlier, outcome="same"))
                    continue
                _prepare(catalog.connection, work, tell)
                list_id = write_list(catalog, work, keep_earlier=asked.keep_earlier, together=together, tell=tell)
                reports.append(report(catalog, work, list_id, outcome="replaced" if work.replaces else "new"))
    tell(f"{file.name} is in", 1.0)
    return reports


def _tables(file: Path, asked: _Asked, room: Path) -> Iterator[Work]:
    """Open a file's tables. Of a workbook's sheets those are taken that read as a table of parts."""
    recipe = asked.recipe
    source = open_source(file, scratch=room, encoding=recipe.encoding, delimiter=recipe.delimiter, sheet=recipe.sheet)
    if recipe.sheet or len(source.sheets) < 2:
        yield _look_at(source, asked)
        return
    refused: list[UnreadableFile] = []
    for sheet in source.sheets:
        try:
            work = _look_at(open_source(file, scratch=room, sheet=sheet), asked)
        except UnreadableFile as error:
            refused.append(error)
        else:
            yield work
    if len(refused) == len(source.sheets):
        raise refused[source.sheets.index(source.sheet or source.sheets[0])]


def _look_at(source: Source, asked: _Asked) -> Work:
    """Find the table of an open file, and settle what the recipe settles."""
    recipe, file = asked.recipe, source.path
    try:
        layout = lay_out(
            source.head, family=asked.family or recipe.told_family, file=file.name, heading_rows=recipe.heading_rows
        )
    except RecipeError as error:
        raise RecipeError(error.message, where=f"{recipe.file}, {error.where}", way_out=error.way_out) from error
    layout = recipe.applied(layout)
    if layout.reading("part_number") is None:
        raise _no_part_number(layout, file.name)
    if not any(cell.strip() for row in source.head[layout.first_record - 1 :] for cell in row):
        raise UnreadableFile(
            "there are headings, but no row of parts under them.",
            where=file.name,
            way_out="Export the list again; what was taken in of this supplier before stays as it is.",
        )
    supplier, supplier_from = _supplier(file, asked, layout)
    return Work(source, layout, recipe, supplier, supplier_from, Decimal(mark=".", why=""))


def _supplier(file: Path, asked: _Asked, layout: Layout) -> tuple[str, str]:
    if asked.supplier:
        return asked.supplier, "option"
    if asked.recipe.supplier:
        return asked.recipe.supplier, "recipe"
    stem = re.sub(r"(\.(csv|txt|tsv|gz|xlsx|xls|ods))+$", "", file.name, flags=re.IGNORECASE)
    return stem, "column" if layout.reading("supplier") else "file name"


def _prepare(connection: duckdb.DuckDBPyConnection, work: Work, tell: Progress) -> None:
    """Load the texts and read every column, all in temporary tables: nothing is written yet."""
    load_rows(
        connection,
        work.source,
        first_record=work.layout.first_record,
        width=work.layout.width,
        table=RAW,
    )
    tell(f"reading the columns of {work.source.path.name}", 0.4)
    texts = _gather(connection, work.layout)
    named = cast("DecimalMark | None", work.recipe.decimal)
    work.decimal = (
        Decimal(mark=named, why=f"settled in {work.recipe.file}")
        if named
        else decide_decimal(connection, texts, work.layout)
    )
    if work.decimal.contested:
        work.notes.append(f"decimal mark: {work.decimal.why}; cells that do not fit are refused")
    work.layout = refine(connection, RAW, texts, work.layout, work.decimal.mark)
    texts = {**texts, **_gather(connection, work.layout, but=texts)}
    _read_columns(connection, work, texts, tell)
    _note_strangers(connection, work)
    if any(lookup.tally.refused for lookup in work.lookups) or work.notes:
        _note_sections(connection, work)  # another heading below is refused in every column of numbers


def _note_strangers(connection: duckdb.DuckDBPyConnection, work: Work) -> None:
    """Say it where rows name parts of another family: a list is taken in as one family, whole."""
    family = work.layout.family
    rows = connection.execute(
        f'SELECT * FROM "{RAW}" WHERE record >= ? ORDER BY record LIMIT {_LOOKED_THROUGH}', [work.layout.first_record]
    ).fetchall()
    for other in (families.load(name) for name in families.names() if name != family.name):
        strange = []
        for record, *cells in rows:
            said = " ".join(str(cell) for cell in cells if cell)
            if other.names(said) and not family.names(said):
                strange.append(record)
        if len(strange) >= _STRANGERS:
            work.notes.append(
                f"{len(strange)} rows, the first of them row {strange[0]}, name {other.title}: all were taken in as "
                f"{family.title}. If they are not, take them in as a list of their own with --family {other.name}"
            )


def _note_sections(connection: duckdb.DuckDBPyConnection, work: Work) -> None:
    """Find the row where another heading begins: what stands below it must not be read by the first one."""
    number = work.layout.reading("part_number")
    if number is None:
        return
    names = [phrase for phrase in work.layout.family.figure("part_number").phrases if len(phrase) > 2]
    placeholders = ", ".join("?" for _ in names)
    rows = connection.execute(
        f'SELECT * FROM "{RAW}" WHERE lower(trim("{number.field}")) IN ({placeholders}) ORDER BY record LIMIT 100',
        names,
    ).fetchall()
    for record, *cells in rows:
        shown = tuple(cell or "" for cell in cells[: work.layout.width])
        if differs(shown, work.layout):
            work.section = int(record)
            work.notes.append(
                f"row {record} begins another table with other headings: take it in as a file of its own; "
                "its rows are refused"
            )
            return


def _gather(connection: duckdb.DuckDBPyConnection, layout: Layout, but: Container[int] = ()) -> dict[int, str]:
    texts: dict[int, str] = {}
    for column in layout.columns:
        if column.position in texts or column.position in but:
            continue
        if column.reads not in ("nothing", *NUMBERS):
            texts[column.position] = f"texts_{column.position}"
            gather_texts(connection, RAW, [column.field], texts[column.position])
    return texts


def _read_columns(connection: duckdb.DuckDBPyConnection, work: Work, texts: dict[int, str], tell: Progress) -> None:
    columns = {column.position: column for column in work.layout.columns}
    currency = work.recipe.currency or _stated_currency(work.layout)
    for done, (position, table) in enumerate(texts.items(), 1):
        column = columns[position]
        if column.reads in ("nothing", work.layout.family.gate_figure, "break_quantity"):
            continue
        beside = column.gate_column or column.quantity_column
        companion = columns[beside] if beside else None
        if companion:
            gather_texts(connection, RAW, [column.field, companion.field], table)
        lookup = make_lookup(
            connection,
            texts=table,
            column=column,
            companion=companion,
            family=work.layout.family,
            decimal=work.decimal.mark,
            currency=currency,
            table=f"look_{position}",
            marks_settled=work.recipe.decimal is not None,
        )
        tell(f"reading the columns of {work.source.path.name}", 0.4 + 0.2 * done / len(texts))
        if _is_misread(lookup, column):
            columns[position] = _left_out(lookup, column)
            work.notes.append(f"column {position} ({column.heading!r}): {columns[position].why}")
        else:
            work.lookups.append(lookup)
    work.layout = replace(work.layout, columns=tuple(columns[column.position] for column in work.layout.columns))


def _is_misread(lookup: Lookup, column: ColumnReading) -> bool:
    tally = lookup.tally
    settled = column.why.startswith("settled in")
    mostly = tally.refused > _UNREADABLE_SHARE * tally.texts
    return not settled and mostly and tally.refused >= _UNREADABLE_LEAST


@contextmanager
def _room_for(scratch: Path) -> Iterator[Path]:
    """A folder for one file's unpacked text, gone when the file is done."""
    room = Path(tempfile.mkdtemp(dir=scratch))
    try:
        yield room
    finally:
        shutil.rmtree(room, ignore_errors=True)


def _no_part_number(layout: Layout, file: str) -> UnreadableFile:
    seen = ", ".join(repr(column.heading) for column in layout.columns if column.heading)
    return UnreadableFile(
        f"no column reads as the part number. Its headings are {seen}.",
        where=f"{file}, row {layout.heading_from}",
        way_out='Write a recipe with [[column]] position = N, reads = "part_number" and give it with --recipe.',
    )


def _left_out(lookup: Lookup, column: ColumnReading) -> ColumnReading:
    text, reason = lookup.tally.example or ("", "")
    return ColumnReading(
        position=column.position,
        heading=column.heading,
        why=f"its cells do not read as {column.title}: {text!r}: {reason}",
    )


def _stated_currency(layout: Layout) -> str | None:
    """The currency that the lines above the table, or the headings of its prices, name."""
    for column in layout.columns:
        if column.reads == "price" and column.unit:
            return column.unit
    return next((found for _, line in layout.preamble if (found := currency_of(line))), None)
