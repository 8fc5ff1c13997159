"""``loadworthy catalog``: what the catalogue holds."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from loadworthy.cli.common import (
    FILL,
    NOTHING_FITS,
    common_options,
    opened,
    say,
    talk,
    width,
    write_json,
    write_rows,
)
from loadworthy.errors import UsageError

if TYPE_CHECKING:
    from loadworthy.catalog.store import Catalog

__all__ = ["catalog"]


@common_options
@click.command(
    epilog="""Examples:

    \b
      loadworthy catalog
      loadworthy catalog --refused --format csv
      loadworthy catalog --measured
      loadworthy catalog --parts transistor --format csv
      loadworthy catalog --export greenhouse-parquet"""
)
@click.option("--lists", is_flag=True, help="Only the lists: which file, of whom, how many parts.")
@click.option("--refused", is_flag=True, help="What was refused: list, row, column, what it says, and why.")
@click.option("--measured", is_flag=True, help="What was measured of each supplier's parts, and kept by bench.")
@click.option("--parts", metavar="FAMILY", help="Every part of a family, with every figure that is kept of it.")
@click.option(
    "--export",
    type=click.Path(path_type=Path),
    metavar="DIR",
    help="Write it all as Parquet files into this folder, by family, channel and package; --catalog DIR reads them.",
)
@click.option(
    "--limit",
    metavar="100",
    type=click.IntRange(min=1),
    default=100,
    show_default=True,
    help="Most lines of --refused.",
)
def catalog(
    *,
    lists: bool,
    refused: bool,
    measured: bool,
    parts: str | None,
    export: Path | None,
    limit: int,
    catalog_path: Path | str | None,
    form: str,
) -> None:
    """Show what the catalogue holds.

    Without options: the families, how many of their parts state each figure, the lists taken in, and how
    much was refused.
    """
    if sum((lists, refused, measured, parts is not None, export is not None)) > 1:
        raise UsageError(
            "--lists, --refused, --measured, --parts and --export exclude one another.",
            way_out="Ask for one at a time.",
        )
    with opened(catalog_path) as held:
        if refused:
            _refused(held, limit, form)
        elif measured:
            _measured(held, form)
        elif parts is not None:
            _parts(held, parts, form)
        elif export is not None:
            _export(held, export, form)
        else:
            _summary(held, form, only_lists=lists)


def _summary(held: Catalog, form: str, *, only_lists: bool) -> None:
    from loadworthy.report import holdings  # noqa: PLC0415 - not before the catalogue is open

    summary = held.summary()
    if form == "json":
        write_json(summary.lists if only_lists else summary.as_json())
    elif not summary.lists:
        talk(f"The catalogue holds no list yet. {FILL}")
    elif only_lists:
        write_rows(summary.lists, holdings.LIST_COLUMNS, form)
    elif form == "table":
        say(holdings.summary_text(summary, width=width()))
    else:
        write_rows(holdings.family_rows(summary), holdings.FAMILY_COLUMNS, form)


def _refused(held: Catalog, limit: int, form: str) -> None:
    from loadworthy.report import holdings  # noqa: PLC0415 - not before the catalogue is open

    rows = held.refused(limit=limit)
    if form == "json":
        write_json(rows)
    elif not rows:
        talk("Nothing was refused.")
    elif form == "table":
        say(holdings.refused_text(rows, width=width()))
    else:
        write_rows(rows, holdings.REFUSED_COLUMNS, form)
    if len(rows) == limit:
        talk(f"These are the first {limit}; --limit shows more.")


def _measured(held: Catalog, form: str) -> None:
    from loadworthy.measured_parts import kept  # noqa: PLC0415 - not before the catalogue is open
    from loadworthy.report.holdings import MEASURED_COLUMNS  # noqa: PLC0415

    rows = kept(held.connection).rows
    if form == "json":
        write_json(rows)
    elif not rows:
        talk("Nothing that was measured is kept yet. Keep it with: loadworthy bench transistor PART … --keep.")
    else:
        write_rows(rows, MEASURED_COLUMNS, form)


def _parts(held: Catalog, family: str, form: str) -> None:
    from loadworthy import criteria  # noqa: PLC0415 - not before the catalogue is open
    from loadworthy.report.columns import columns_of  # noqa: PLC0415

    rows = held.parts(family).to_pylist()
    if form == "json":
        write_json(rows)
    elif not rows:
        talk(f"It holds no {family}. {FILL}")
        click.get_current_context().exit(NOTHING_FITS)
    else:
        write_rows(rows, columns_of(rows, headings=criteria.load(family).headings), form)


def _export(held: Catalog, folder: Path, form: str) -> None:
    from loadworthy.catalog.exporting import export  # noqa: PLC0415 - only who exports loads it
    from loadworthy.report.holdings import EXPORTED_COLUMNS  # noqa: PLC0415 - not before the catalogue is open

    manifest = export(held, folder)
    if form == "json":
        write_json(manifest.as_json())
    else:
        write_rows([table.as_row() for table in manifest.tables.values()], EXPORTED_COLUMNS, form)
    talk(f"The catalogue is in {folder}. To read it there: --catalog {folder}")
