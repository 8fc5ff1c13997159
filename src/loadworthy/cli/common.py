"""What every command shares: its options, its width, and how rows are written in the format asked for."""

from __future__ import annotations

import os
import shutil
import sys
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import click

from loadworthy.catalog.places import is_set, place_of
from loadworthy.engines import DUCKDB, ENGINES
from loadworthy.errors import CatalogError, UsageError
from loadworthy.report.text import paragraph

if TYPE_CHECKING:
    from loadworthy.catalog.store import Catalog
    from loadworthy.many.running import Stamped
    from loadworthy.report.columns import Column

__all__ = [
    "FILL",
    "FORMATS",
    "NOTHING_FITS",
    "bar",
    "catalog_is_there",
    "catalog_place",
    "common_options",
    "common_parameters",
    "engine_parameters",
    "hushed",
    "opened",
    "opened_by",
    "say",
    "talk",
    "width",
    "write_json",
    "write_rows",
]

#: Exit status where the question was sound and the answer is no.
NOTHING_FITS: Final = 1
#: What to do about a catalogue with nothing in it.
FILL: Final = "Take a list in: loadworthy intake FILE. To look around first: loadworthy demo --into DIR."
FORMATS: Final = ("table", "json", "csv", "markdown")


def common_parameters() -> list[click.Parameter]:
    """Make the options that every command has."""
    return [
        click.Option(
            ["--catalog", "catalog_path"],
            type=place_of,  # an address is none of a path's, which would spoil it
            metavar="FILE",
            envvar="LOADWORTHY_CATALOG",
            show_envvar=True,
            help="The catalogue file, or the folder or address of an exported one. Default: a file in your user data "
            "folder.",
        ),
        click.Option(
            ["--format", "form"],
            type=click.Choice(FORMATS),
            default="table",
            show_default=True,
            help="How the result is written: a table for people; json, csv or markdown for what comes next.",
        ),
    ]


def common_options(command: click.Command) -> click.Command:
    """Give a command the options that every command has."""
    command.params += common_parameters()
    return command


def engine_parameters() -> list[click.Parameter]:
    """Make the options that say what runs the queries."""
    return [
        click.Option(
            ["--engine"],
            type=click.Choice(ENGINES),
            default=DUCKDB,
            show_default=True,
            help="What runs the queries. Spark reads an exported catalogue, for one that has outgrown a machine.",
        ),
        click.Option(["--master"], metavar="'local[2]'", help="Where Spark runs: cores of this machine, or a cluster."),
    ]


def catalog_place(path: Path | str | None) -> Path | str:
    """Return the catalogue that is meant: the one named, or the user's own."""
    if path is not None:
        return path
    from loadworthy.catalog.store import default_path  # noqa: PLC0415 - brings DuckDB in

    return default_path()


def catalog_is_there(path: Path | str | None) -> bool:
    """Say whether there is a catalogue to be read; of an address only opening it can tell."""
    place = catalog_place(path)
    return isinstance(place, str) or place.is_file() or is_set(place)


@contextmanager
def opened(path: Path | str | None, *, family: str | None = None) -> Iterator[Catalog]:
    """Open the catalogue for reading, and close it at the end.

    Parameters
    ----------
    path
        The file named by the user, or None for the user's own.
    family
        A family of which it must hold parts.

    Raises
    ------
    CatalogError
        It cannot be read, or holds nothing of the family.
    """
    import duckdb  # noqa: PLC0415 - only a command that needs the engine loads it

    from loadworthy.catalog.failures import failures_explained  # noqa: PLC0415
    from loadworthy.catalog.store import Catalog  # noqa: PLC0415

    place = catalog_place(path)
    with Catalog.open(place) as catalog:
        if family is not None and not catalog.holds(family):
            raise CatalogError(f"it holds no {family}.", where=str(place), way_out=FILL)
        try:
            yield catalog
        except duckdb.Error:
            with failures_explained(place):
                raise


@contextmanager
def opened_by(engine: str, path: Path | str | None, *, family: str, master: str | None = None) -> Iterator[Stamped]:
    """Open the catalogue for an engine to read it, and close it at the end.

    Parameters
    ----------
    engine
        One of :data:`loadworthy.engines.ENGINES`.
    path, family
        As for :func:`opened`.
    master
        Where Spark is to run.

    Raises
    ------
    LoadworthyError
        As for :func:`opened`; or Spark cannot be used.
    """
    if engine == DUCKDB:
        if master is not None:
            raise UsageError(
                "it says where Spark runs, and DuckDB was asked.",
                where="--master",
                way_out="Give --engine spark with it.",
            )
        with opened(path, family=family) as catalog:
            yield catalog
        return
    from loadworthy.engines.spark import SparkCatalog  # noqa: PLC0415 - only who asks for it

    place = catalog_place(path)
    with SparkCatalog.open(place, master=master) as held:
        if not held.holds(family):
            raise CatalogError(f"it holds no {family}.", where=str(place), way_out=FILL)
        yield held


@contextmanager
def hushed() -> Iterator[None]:
    """Keep what a solver's own code prints out of the result: it writes past Python to the process's output."""
    import ctypes  # noqa: PLC0415 - only who runs a solver needs it

    sys.stdout.flush()
    try:
        kept = os.dup(1)
    except OSError:  # a shell may have closed it
        yield
        return
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, 1)
    try:
        yield
    finally:
        with suppress(OSError, TypeError, AttributeError):
            ctypes.CDLL(None).fflush(None)  # its buffer would else be emptied once the output is back
        os.dup2(kept, 1)
        os.close(nowhere)
        os.close(kept)


def width() -> int:
    """Return the characters a line: COLUMNS or the terminal's, 80 in a pipe or a file."""
    return max(shutil.get_terminal_size(fallback=(80, 24)).columns, 40)


def say(text: str) -> None:
    """Write a part of the result to stdout, ending in one line break."""
    click.echo(text.rstrip("\n"))


def talk(text: str) -> None:
    """Write a remark that is no result to stderr, folded to the width."""
    click.echo(paragraph(text, width=width()), err=True)


def write_json(result: object) -> None:
    """Write a result as JSON."""
    from loadworthy.report.json_text import json_text  # noqa: PLC0415 - only the format asked for is loaded

    say(json_text(result))


def write_rows(rows: Iterable[Mapping[str, Any]], columns: Sequence[Column], form: str) -> None:
    """Write rows as a table, as CSV or as Markdown.

    A table and Markdown have the columns given; CSV has every key of the rows, in full precision.
    """
    if form == "csv":
        from loadworthy.report.delimited import csv_text  # noqa: PLC0415 - only the format asked for is loaded

        say(csv_text(rows))
    elif form == "markdown":
        from loadworthy.report.markdown import markdown_table  # noqa: PLC0415 - as above

        say(markdown_table(rows, columns))
    else:
        from loadworthy.report.tables import table  # noqa: PLC0415 - as above

        say(table(rows, columns, width=width()))


@contextmanager
def bar() -> Iterator[Callable[[str, float], None] | None]:
    """Show how far it is on stderr, where that is a terminal."""
    if not sys.stderr.isatty():
        yield None
        return
    from rich import console, progress  # noqa: PLC0415 - only a terminal pays for it

    with progress.Progress(
        progress.TextColumn("{task.description}", markup=False),
        progress.BarColumn(),
        console=console.Console(stderr=True),
        transient=True,
    ) as shown:
        task = shown.add_task("", total=1.0)
        yield lambda what, share: shown.update(task, description=what, completed=share)
