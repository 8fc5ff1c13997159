"""``loadworthy audit``: a board's path, link by link."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from loadworthy.cli.common import (
    NOTHING_FITS,
    catalog_is_there,
    common_options,
    opened,
    say,
    talk,
    width,
    write_json,
    write_rows,
)

if TYPE_CHECKING:
    from loadworthy.boards import Board
    from loadworthy.catalog.store import Catalog

__all__ = ["audit", "read_the_board"]

_UNREADABLE = 2


@common_options
@click.command(
    epilog="""Examples:

    \b
      loadworthy audit bench.toml
      loadworthy audit bench.toml --ambient 50degC --format json
      loadworthy audit bench.toml --choose
      loadworthy audit bench.toml --what-if 24V"""
)
@click.argument("board", metavar="BOARD", type=click.Path(path_type=Path))
@click.option(
    "--choose", "choosing", is_flag=True, help="Choose parts for what falls short, and audit again with them in place."
)
@click.option(
    "--order",
    type=click.Path(path_type=Path, dir_okay=False),
    metavar="ORDER.toml",
    help="Add what was chosen to this order file, a piece of each a board; the file is made if need be.",
)
@click.option("--what-if", "other_supply", metavar="24V", help="Hold it against another supply as well.")
@click.option("--ambient", metavar="50degC", help="Air round the board, in place of what its file says.")
def audit(
    *,
    board: Path,
    choosing: bool,
    order: Path | None,
    other_supply: str | None,
    ambient: str | None,
    catalog_path: Path | str | None,
    form: str,
) -> None:
    """Hold every link of a BOARD file against what it must carry, the weakest first.

    Says for every link what it may carry and why, for every output the greatest load that its path allows,
    and what protects it when something fails. Exit status 1 says that something falls short or is not
    known; with --choose, that something still does when all that could be chosen is in place.
    """
    from loadworthy import boards  # noqa: PLC0415 - brings numpy in, which help needs not
    from loadworthy.errors import UsageError  # noqa: PLC0415

    if order is not None and not choosing:
        raise UsageError("nothing is chosen to be ordered.", where="--order", way_out="Give --choose as well.")
    if choosing and other_supply is not None:
        raise UsageError(
            "parts are chosen for one supply.",
            where="--choose, --what-if",
            way_out="Write the supply into the board file, or give one of them.",
        )
    with _catalog(board, catalog_path, choosing=choosing) as catalog:
        described = read_the_board(board, catalog)
        if ambient is not None:
            described = boards.with_ambient(described, _degrees(ambient))
        if choosing and catalog is not None:
            from loadworthy.boards.choosing import mend  # noqa: PLC0415 - brings DuckDB in

            mended = mend(described, catalog)
            result, carries = mended.as_json(), mended.after.carries
            if order is not None:
                _order(result["mended"]["replacements"], order)
        else:
            result, carries = _audited(described, other_supply)
    _write(result, form)
    if not carries:
        click.get_current_context().exit(NOTHING_FITS)


def _order(replacements: list[dict[str, Any]], path: Path) -> None:
    """Add the chosen parts to an order."""
    from loadworthy.shopping import appended, chosen_lines  # noqa: PLC0415 - only who orders loads it

    lines = chosen_lines((one["kind"], one["chosen"]) for one in replacements if one["chosen"] is not None)
    if not lines:
        talk(f"Nothing was chosen: {path} is left as it is.")
        return
    appended(path, lines)
    talk(
        f"Added to {path}: {', '.join(str(line['part']) for line in lines)}. What to buy where: loadworthy shop {path}"
    )


@contextmanager
def _catalog(board: Path, path: Path | str | None, *, choosing: bool) -> Iterator[Catalog | None]:
    """Open the catalogue where parts are chosen, or where the board names some and there is one."""
    if not choosing and not (_names_parts(board) and catalog_is_there(path)):
        yield None
        return
    with opened(path) as catalog:
        yield catalog


def _names_parts(board: Path) -> bool:
    try:
        return b"part" in board.read_bytes()
    except OSError:
        return False  # the reader of the board says what is wrong with it


def read_the_board(path: Path, catalog: Catalog | None) -> Board:
    """Read the board; where several things are wrong with it, say each on its own line."""
    from loadworthy.boards import read_board  # noqa: PLC0415 - as above
    from loadworthy.errors import BoardError  # noqa: PLC0415

    shelf = None
    if catalog is not None:
        from loadworthy.boards.shelf import CatalogShelf  # noqa: PLC0415 - as above

        shelf = CatalogShelf(catalog)
    try:
        return read_board(path, shelf=shelf)
    except BoardError as error:
        if not error.problems:
            raise
        from loadworthy.report.text import clean  # noqa: PLC0415

        for problem in error.problems:
            click.echo(f"loadworthy: {clean(problem)}", err=True)
        click.get_current_context().exit(_UNREADABLE)


def _degrees(text: str) -> float:
    from loadworthy.boards.schema import TABLES  # noqa: PLC0415 - as above
    from loadworthy.needs.base import measured  # noqa: PLC0415

    key = TABLES["surroundings"].keys[0]
    return measured("ambient", text, "degC", least=key.least, most=key.most)


def _audited(board: Board, other_supply: str | None) -> tuple[dict[str, Any], bool]:
    from loadworthy import boards  # noqa: PLC0415 - as above

    if other_supply is None:
        found = boards.audit(board)
        return found.as_json(), found.carries
    from loadworthy.needs.base import measured  # noqa: PLC0415
    from loadworthy.needs.loads import MOST_SUPPLY_V  # noqa: PLC0415

    supply_v = measured("what_if", other_supply, "V", above=0.0, most=MOST_SUPPLY_V)
    both = boards.what_if(board, supply_v)
    return {**both.now.as_json(), "what_if": both.as_json()}, both.now.carries and both.then.carries


def _write(result: dict[str, Any], form: str) -> None:
    if form == "json":
        write_json(result)
        return
    from loadworthy.report import audits  # noqa: PLC0415 - only the format asked for is loaded

    if "mended" in result:
        _write_mended(result, form)
        return
    if form == "table":
        say(audits.audit_text(result, width=width()))
        return
    write_rows(result["links"], audits.LINK_COLUMNS, form)
    for warning in audits.warnings(result):
        talk(warning)


def _write_mended(result: dict[str, Any], form: str) -> None:
    from loadworthy.cli.needs import typed_words  # noqa: PLC0415 - only where parts were chosen
    from loadworthy.report import audits, mendings  # noqa: PLC0415

    if form == "table":
        say(mendings.mended_text(result, typed=typed_words, width=width()))
        return
    write_rows(mendings.replacement_rows(result), mendings.REPLACEMENT_COLUMNS, form)
    for warning in audits.warnings(result["mended"]["audit"]):
        talk(warning)
