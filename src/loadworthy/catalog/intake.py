"""Suppliers' files into the catalogue: each table whole or not at all, those of one call at once."""

from __future__ import annotations

import re
import shutil
import tempfile
from collections.abc import Container, Iterator, Sequence
from concurrent.futures import Executor, ThreadPoolExecutor
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import cast

import duckdb
import pyarrow as pa

from loadworthy.catalog import families
from loadworthy.catalog.columns import ColumnReading, Layout
from loadworthy.catalog.currencies import currency_of
from loadworthy.catalog.evidence import Decimal, decide_decimal, refine
from loadworthy.catalog.failures import failures_explained
from loadworthy.catalog.layouts import differs
from loadworthy.catalog.lookups import Lookup, make_lookup
from loadworthy.catalog.number_texts import NUMBERS, records_alike, records_saying
from loadworthy.catalog.opening import Asked, Given, errors_name, tables
from loadworthy.catalog.reading import load_rows
from loadworthy.catalog.recipes import Recipe, load_recipe
from loadworthy.catalog.reports import IntakeReport
from loadworthy.catalog.store import Catalog
from loadworthy.catalog.texts import Texts
from loadworthy.catalog.versions import renewed, writable
from loadworthy.catalog.writing import RAW, Progress, Work, report, same_list, write_list
from loadworthy.errors import CatalogError, LoadworthyError
from loadworthy.quantities.numbers import DecimalMark

__all__ = ["Given", "intake"]

#: A column whose cells mostly cannot be read is not what its heading seemed to say.
_UNREADABLE_SHARE = 0.8
_UNREADABLE_LEAST = 3
#: So many rows are looked through for parts of another family, and so many of them are no accident.
_LOOKED_THROUGH = 2000
_STRANGERS = 2
#: So many rows that repeat the heading of the part numbers are looked at for another table's.
_HEADINGS_SEEN = 100
_WORD = re.compile(r"[^\W\d_]{3}")


def intake(
    path: str | Path,
    files: Sequence[str | Path | Given],
    *,
    family: str | None = None,
    supplier: str | None = None,
    recipe: str | Path | None = None,
    keep_earlier: bool = False,
    dry_run: bool = False,
    progress: Progress | None = None,
) -> tuple[IntakeReport, ...]:
    """Take suppliers' tables into a catalogue.

    Each table is one transaction: whatever happens, the catalogue holds all of it or none of it. A workbook may
    hold several, one a sheet. All tables of a call go into one new version of the catalogue, which takes the place
    of the old one at the end: readers see all of them at once, and a process that is killed leaves the catalogue as
    it was. A list of a supplier replaces that supplier's earlier lists of the family, unless they were given in the
    same call or ``keep_earlier`` is set; a file that is already in changes nothing.

    Parameters
    ----------
    path
        The catalogue file; it is made where there is none.
    files
        Delimited text, also packed by gzip, or workbooks. A file with a recipe or a name of its own comes as
        :class:`Given`; the same file may come several times, each sheet by another recipe.
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
        A file, the recipe or the catalogue cannot be used. Tables before it are in, and the error names their files.
    """
    if family:
        families.load(family)
    tell = progress or (lambda _stage, _share: None)
    with tempfile.TemporaryDirectory(prefix="loadworthy-") as scratch:
        asked = Asked(
            recipe=load_recipe(Path(recipe)) if recipe else Recipe(),
            family=family,
            supplier=supplier,
            keep_earlier=keep_earlier,
            scratch=Path(scratch),
        )
        taking = _Taking(Path(scratch) / "dry-run.duckdb" if dry_run else writable(path))
        failure: BaseException | None = None
        try:
            with taking.stack:
                for number, one in enumerate(files):
                    given = one if isinstance(one, Given) else Given(path=Path(one))
                    try:
                        _take_in(taking, given, asked, _share_of(tell, number, len(files)))
                    except BaseException as error:
                        if not taking.written:
                            raise
                        failure = error  # what was taken in before is kept: the new version is whole without the rest
                        break
        except CatalogError as error:
            if failure is None:
                raise
            raise failure from error  # it kept the new version from being finished as well
        if failure is not None:
            raise _with_what_is_in(failure, taking)
    return tuple(replace(one, outcome="dry run") for one in taking.reports) if dry_run else tuple(taking.reports)


@dataclass(slots=True)
class _Taking:
    """One call's way into the catalogue: it is read until there is something to write."""

    path: Path
    together: set[int] = field(default_factory=set)
    reports: list[IntakeReport] = field(default_factory=list)
    stack: ExitStack = field(default_factory=ExitStack)
    opened: Catalog | None = None

    @property
    def written(self) -> bool:
        return any(one.outcome != "same" for one in self.reports)

    def catalog(self) -> Catalog:
        """Open the new version, once for all tables."""
        if self.opened is None:
            self.opened = self.stack.enter_context(renewed(self.path))
        return self.opened

    def is_in(self, work: Work) -> bool:
        """Say whether a table is in already; if so, note it. For that no new version is made."""
        if self.opened is not None:
            return self._note_if_in(self.opened, work)
        if not self.path.exists():
            return False
        with Catalog.open(self.path) as catalog:
            return self._note_if_in(catalog, work)

    def _note_if_in(self, catalog: Catalog, work: Work) -> bool:
        earlier = same_list(catalog, work)
        if earlier is None:
            return False
        self.together.add(earlier)
        self.reports.append(report(catalog, work, earlier, outcome="same"))
        return True


def _with_what_is_in(failure: BaseException, taking: _Taking) -> BaseException:
    if isinstance(failure, LoadworthyError):
        names = dict.fromkeys(one.file for one in taking.reports)
        failure.way_out = f"{failure.way_out or ''} What was before it is in: {', '.join(names)}.".strip()
    return failure


def _share_of(tell: Progress, number: int, count: int) -> Progress:
    return lambda stage, share: tell(stage, (number + share) / count)


def _take_in(taking: _Taking, given: Given, asked: Asked, tell: Progress) -> None:
    """Take in the table of a file, or every sheet of a workbook that holds one."""
    name = given.name or given.path.name
    tell(f"reading {name}", 0.0)
    if given.recipe is not None:
        asked = replace(asked, recipe=load_recipe(given.recipe))
    with _room_for(asked.scratch) as room, errors_name(given):
        for work in tables(given, asked, room):
            if taking.is_in(work):
                continue
            # Over a connection of its own, with which its temporary tables go.
            with (
                taking.catalog().another() as catalog,
                failures_explained(taking.path),
                ThreadPoolExecutor(max_workers=1) as beside,
            ):
                _prepare(catalog, work, room, beside, tell)
                list_id = write_list(
                    catalog, work, keep_earlier=asked.keep_earlier, together=taking.together, tell=tell
                )
                taking.reports.append(report(catalog, work, list_id, outcome="replaced" if work.replaces else "new"))
                work.let_go()
    tell(f"{name} is in", 1.0)


def _prepare(catalog: Catalog, work: Work, room: Path, beside: Executor, tell: Progress) -> None:
    """Load the texts and read every column: nothing is written to the catalogue yet."""
    connection = catalog.connection
    work.texts = load_rows(work.source, first_record=work.layout.first_record, width=work.layout.width, folder=room)
    connection.register(RAW, work.texts.table)
    tell(f"reading the columns of {work.source.name}", 0.4)
    texts = _gather(work.texts, work.layout)
    named = cast("DecimalMark | None", work.recipe.decimal)
    work.decimal = (
        Decimal(mark=named, why=f"settled in {work.recipe.file}") if named else decide_decimal(texts, work.layout)
    )
    if work.decimal.contested:
        work.notes.append(f"decimal mark: {work.decimal.why}; cells that do not fit are refused")
    work.layout = refine(work.texts, texts, work.layout, work.decimal.mark)
    # The engine does this while Python reads the columns.
    work.alike = beside.submit(records_alike, connection.cursor(), work.layout, work.texts).result
    texts = {**texts, **_gather(work.texts, work.layout, but=texts)}
    _read_columns(work, list(texts), tell)
    _note_strangers(work)
    if any(lookup.tally.refused for lookup in work.lookups) or work.notes:
        _note_sections(connection, work)  # another heading below is refused in every column of numbers


def _note_strangers(work: Work) -> None:
    """Say it where rows name parts of another family: a list is taken in as one family, whole."""
    family = work.layout.family
    numbers = [lookup.column.position for lookup in work.lookups if lookup.numeric]
    wordy = [column.field for column in work.layout.columns if column.position not in numbers]
    said = {
        record: " ".join(cell for cell in cells if cell and _WORD.search(cell))
        for record, cells in work.texts.first(_LOOKED_THROUGH, wordy)
    }
    others = {record: text for record, text in said.items() if not family.names(text)}
    for other in (families.load(name) for name in families.names() if name != family.name):
        strange = [record for record, text in others.items() if other.names(text)]
        if len(strange) >= _STRANGERS:
            work.notes.append(
                f"{len(strange)} rows, the first of them row {strange[0]}, name {other.title}: all were taken in as "
                f"{family.title}. If they are not, take them in as a list of their own with --family {other.name}"
            )


def _note_sections(connection: duckdb.DuckDBPyConnection, work: Work) -> None:
    """Find the row where another heading begins: what stands below it must not be read by the first one."""
    figure = work.layout.family.figure("part_number")
    names = frozenset(phrase for phrase in figure.phrases if len(phrase) > 2)
    maybe = records_saying(work.layout, work.texts, names)[:_HEADINGS_SEEN]
    if not maybe:
        return
    rows = connection.execute(
        f'SELECT * FROM "{RAW}" WHERE record IN (SELECT unnest(?::BIGINT[])) ORDER BY record', [maybe]
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


def _gather(texts: Texts, layout: Layout, but: Container[int] = ()) -> dict[int, pa.Array]:
    """Return the distinct texts of the columns that are read so, by the columns' positions."""
    return {
        column.position: texts.distinct(column.field).texts[0]
        for column in layout.columns
        if column.position not in but and column.reads not in ("nothing", *NUMBERS)
    }


def _read_columns(work: Work, positions: Sequence[int], tell: Progress) -> None:
    columns = {column.position: column for column in work.layout.columns}
    currency = work.recipe.currency or _stated_currency(work.layout)
    for done, position in enumerate(positions, 1):
        column = columns[position]
        if column.reads in ("nothing", work.layout.family.gate_figure, "break_quantity"):
            continue
        beside = column.gate_column or column.quantity_column
        companion = columns[beside] if beside else None
        fields = (column.field, companion.field) if companion else (column.field,)
        lookup = make_lookup(
            work.texts.distinct(*fields),
            column=column,
            companion=companion,
            family=work.layout.family,
            decimal=work.decimal.mark,
            currency=currency,
            name=f"look_{position}",
            marks_settled=work.recipe.decimal is not None,
        )
        tell(f"reading the columns of {work.source.name}", 0.4 + 0.2 * done / len(positions))
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
