"""``loadworthy intake``: suppliers' lists into the catalogue."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from loadworthy.catalog import families
from loadworthy.cli.common import bar, catalog_place, common_options, say, talk, width, write_json, write_rows
from loadworthy.errors import UsageError

if TYPE_CHECKING:
    from loadworthy.catalog.reports import IntakeReport

__all__ = ["intake"]


@common_options
@click.command(
    epilog="""Examples:

    \b
      loadworthy intake thistledown.csv
      loadworthy intake thistledown.csv --dry-run
      loadworthy intake tidemill.xlsx --supplier "Tidemill" --save-recipe tidemill.toml
      loadworthy intake tidemill-june.xlsx --recipe tidemill.toml"""
)
@click.argument("files", nargs=-1, required=True, type=click.Path(path_type=Path), metavar="FILE...")
@click.option(
    "--family", metavar="NAME", help=f"What the parts are: {', '.join(families.names())}. Default: by the headings."
)
@click.option("--supplier", metavar="NAME", help="Who sells them. Default: by a column or the file's name.")
@click.option(
    "--recipe",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="Read the columns as this recipe says, instead of by their headings.",
)
@click.option(
    "--save-recipe",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="Write down how the columns were read. Correct what was guessed, and give the file to --recipe.",
)
@click.option("--keep-earlier", is_flag=True, help="Keep the supplier's earlier lists beside the new one.")
@click.option("--dry-run", is_flag=True, help="Read and say how, but leave the catalogue as it is.")
def intake(
    *,
    files: tuple[Path, ...],
    family: str | None,
    supplier: str | None,
    recipe: Path | None,
    save_recipe: Path | None,
    keep_earlier: bool,
    dry_run: bool,
    catalog_path: Path | str | None,
    form: str,
) -> None:
    """Take suppliers' parametric lists into the catalogue.

    A FILE is a table as the supplier gives it out: delimited text in any encoding, or a spreadsheet. Its
    columns are recognised by the words and symbols of the trade. What cannot be read is refused and kept
    with the reason, never guessed at in silence.
    """
    if save_recipe is not None and len(files) > 1:
        raise UsageError("a recipe describes one list.", where="--save-recipe", way_out="Take the lists in one by one.")
    from loadworthy.catalog.intake import intake as take_in  # noqa: PLC0415 - brings DuckDB in

    with bar() as progress:
        reports = take_in(
            catalog_place(catalog_path),
            files,
            family=family,
            supplier=supplier,
            recipe=recipe,
            keep_earlier=keep_earlier,
            dry_run=dry_run,
            progress=progress,
        )
    if save_recipe is not None:
        save_recipe.write_text(reports[0].recipe_text(), encoding="utf-8")
        talk(f"The recipe is in {save_recipe}.")
    _write(reports, form=form, whole=dry_run)
    if dry_run:
        talk("Nothing was taken in: this was a dry run.")


def _write(reports: Sequence[IntakeReport], *, form: str, whole: bool) -> None:
    if form == "json":
        write_json([report.as_json() for report in reports])
        return
    from loadworthy.report.intakes import list_columns, list_rows, reading_text, refused_text  # noqa: PLC0415

    write_rows(list_rows(reports), list_columns(reports), form)
    for report in reports:
        guessed = any(column.certainty == "guessed" for column in report.columns)
        if form == "table" and (whole or guessed):
            say("\n" + reading_text(report, width=width()))
        for note in report.notes:
            talk(f"{report.file}: {note}")
        refused = refused_text(report, width=width())
        if refused:
            click.echo("\n" + refused, err=True, nl=False)
        if guessed:
            talk(
                f"Some columns of {report.file} were guessed. To settle them: loadworthy intake "
                f"{report.file} --dry-run --save-recipe FILE, correct that file, then --recipe FILE."
            )
    if any(report.cells_refused or report.rows_refused for report in reports):
        talk("loadworthy catalog --refused lists everything that was refused.")
