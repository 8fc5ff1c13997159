"""A supplier's file opened and its tables laid out, by what the caller and a recipe say of it."""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass, replace
from pathlib import Path

from loadworthy.catalog.columns import Layout
from loadworthy.catalog.evidence import Decimal
from loadworthy.catalog.layouts import lay_out
from loadworthy.catalog.reading import Source, open_source
from loadworthy.catalog.recipes import Recipe
from loadworthy.catalog.reports import UnsettledTable
from loadworthy.catalog.writing import Work
from loadworthy.errors import LoadworthyError, RecipeError, UnreadableFile

__all__ = ["Asked", "Given", "errors_name", "tables"]

#: Rows that are shown of a file whose headings were not found.
_TOP_SHOWN = 12


@dataclass(frozen=True, kw_only=True)
class Given:
    """A file, and what is asked of it alone.

    Attributes
    ----------
    path
        Where it stands.
    name
        How its owner calls it, where it stands under another name.
    recipe
        The recipe for it, in place of the one for all.
    """

    path: Path
    name: str = ""
    recipe: Path | None = None


@dataclass(frozen=True, kw_only=True)
class Asked:
    """What the caller asked for, the same for all files."""

    recipe: Recipe
    family: str | None
    supplier: str | None
    keep_earlier: bool
    scratch: Path


@contextmanager
def errors_name(given: Given) -> Iterator[None]:
    """Let errors call a file as its owner does."""
    try:
        yield
    except LoadworthyError as error:
        if given.name and error.where and error.where.startswith((str(given.path), given.path.name)):
            error.where = given.name + error.where.removeprefix(str(given.path)).removeprefix(given.path.name)
        raise


def tables(given: Given, asked: Asked, room: Path) -> Iterator[Work]:
    """Open a file's tables. Of a workbook's sheets those are taken that read as a table of parts."""
    recipe, file = asked.recipe, given.path
    with closing(
        open_source(file, scratch=room, encoding=recipe.encoding, delimiter=recipe.delimiter, sheet=recipe.sheet)
    ) as opened:
        source = replace(opened, called=given.name)
        if recipe.sheet or len(source.sheets) < 2:
            yield _look_at(source, asked)
            return
    refused: list[UnreadableFile] = []
    for sheet in source.sheets:
        with closing(open_source(file, scratch=room, sheet=sheet)) as opened:
            try:
                work = _look_at(replace(opened, called=given.name), asked)
            except UnreadableFile as error:
                refused.append(error)
            else:
                yield work
    if len(refused) == len(source.sheets):
        raise refused[source.sheets.index(source.sheet or source.sheets[0])]


def _look_at(source: Source, asked: Asked) -> Work:
    """Find the table of an open file, and settle what the recipe settles."""
    recipe = asked.recipe
    try:
        layout = lay_out(
            source.head, family=asked.family or recipe.told_family, file=source.name, heading_rows=recipe.heading_rows
        )
    except RecipeError as error:
        raise RecipeError(error.message, where=f"{recipe.file}, {error.where}", way_out=error.way_out) from error
    except UnreadableFile as error:
        unsettled = UnsettledTable(error.message, where=error.where, way_out=error.way_out)
        unsettled.top = source.head[:_TOP_SHOWN]
        raise unsettled from error
    layout = recipe.applied(layout)
    if layout.reading("part_number") is None:
        raise _no_part_number(layout, source)
    if not any(cell.strip() for row in source.head[layout.first_record - 1 :] for cell in row):
        raise UnreadableFile(
            "there are headings, but no row of parts under them.",
            where=source.name,
            way_out="Export the list again; what was taken in of this supplier before stays as it is.",
        )
    supplier, supplier_from = _supplier(source.name, asked, layout)
    return Work(source, layout, recipe, supplier, supplier_from, Decimal(mark=".", why=""))


def _supplier(file: str, asked: Asked, layout: Layout) -> tuple[str, str]:
    if asked.supplier:
        return asked.supplier, "option"
    if asked.recipe.supplier:
        return asked.recipe.supplier, "recipe"
    stem = re.sub(r"(\.(csv|txt|tsv|gz|xlsx|xls|ods))+$", "", file, flags=re.IGNORECASE)
    return stem, "column" if layout.reading("supplier") else "file name"


def _no_part_number(layout: Layout, source: Source) -> UnsettledTable:
    seen = ", ".join(repr(column.heading) for column in layout.columns if column.heading)
    error = UnsettledTable(
        f"no column reads as the part number. Its headings are {seen}.",
        where=f"{source.name}, row {layout.heading_from}",
        way_out='Write a recipe with [[column]] position = N, reads = "part_number" and give it with --recipe.',
    )
    error.family, error.columns = layout.family.name, layout.columns
    error.examples = source.examples(layout.first_record, layout.width)
    error.top = source.head[:_TOP_SHOWN]
    return error
