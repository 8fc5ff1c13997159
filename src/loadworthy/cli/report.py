"""``loadworthy report``: one page that needs nothing else, to look at, print and keep."""

from __future__ import annotations

import os
import tomllib
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import click

from loadworthy.cli.common import catalog_is_there, common_parameters, opened, talk
from loadworthy.cli.needs import FamilyGroup, need_from, need_options, shown_examples

if TYPE_CHECKING:
    from loadworthy.errors import UsageError
    from loadworthy.needs import Need

__all__ = ["report", "write_report"]

_Sections = list[tuple[str, dict[str, Any]]]

_OUTPUT: Final = "The page to be written."


class _Report(FamilyGroup):
    """A need of a family, or files: what is no family's name is the first of the files."""

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Make the command of a family, or the one that reads files."""
        return super().get_command(ctx, cmd_name) or _files()

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        """Let options of the page stand before its files, as after them."""
        if args and args[0].startswith("-") and not set(args) & {"--help", *self.list_commands(ctx)}:
            args = ["--", *args]
        return super().parse_args(ctx, args)

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """Leave the first word where it is when it names a file."""
        first = args[0]
        family = super().get_command(ctx, first)
        if family is not None:
            return first, family, args[1:]
        if not first.startswith("-") and not {os.sep, "."} & set(first) and not Path(first).exists():
            raise _nothing(first)
        return "report", _files(), args


class _OwnPath(click.Context):
    """The files are read by the command itself: no word of its own stands in its usage."""

    @property
    def command_path(self) -> str:
        """Return the words that call it."""
        return super().command_path if self.parent is None else self.parent.command_path


class _Files(click.Command):
    context_class = _OwnPath


def _catalog_options() -> list[click.Parameter]:
    return [one for one in common_parameters() if one.name == "catalog_path"]


def _output_option() -> click.Option:
    return click.Option(
        ["--output", "-o"],
        type=click.Path(path_type=Path, dir_okay=False),
        metavar="FILE.html",
        required=True,
        help=_OUTPUT,
    )


def _files() -> click.Command:
    def run(files: tuple[Path, ...], output: Path, catalog_path: Path | str | None) -> None:
        _check_ending(output)
        sections = _gathered(files, catalog_path)
        write_report(sections, output)
        talk(f"Written: {output}")

    return _Files(
        "report",
        callback=run,
        params=[
            click.Argument(["files"], nargs=-1, required=True, type=click.Path(path_type=Path), metavar="FILE..."),
            _output_option(),
            *_catalog_options(),
        ],
        help="Write a page of board files, order files and measurements (bench … --format json).",
        epilog=shown_examples("report", ["board.toml -o board.html", "board.toml order.toml -o all.html"]),
    )


def _family(family: str, need: type[Need]) -> click.Command:
    def run(catalog_path: Path | str | None, output: Path, **given: Any) -> None:  # noqa: ANN401
        from loadworthy.dossier import study_choice  # noqa: PLC0415 - brings DuckDB in

        _check_ending(output)
        asked = need_from(need, given)
        with opened(catalog_path, family=family) as catalog:
            study = study_choice(catalog, asked, title=f"A {family}").as_json()
        write_report([("choice", study)], output)
        talk(f"Written: {output}")

    return click.Command(
        family,
        callback=run,
        help=f"Write a page of the {family} parts that meet a need, with their pictures and the arithmetic.",
        epilog=shown_examples(f"report {family}", [f"{need.examples[0]} -o {family}.html"]),
        params=[*need_options(need), _output_option(), *_catalog_options()],
    )


report = _Report(
    name="report",
    make=_family,
    line="A page of the {family} parts that meet a need.",
    subcommand_metavar="FILE... -o PAGE.html | FAMILY NEED... -o PAGE.html",
    help="""Write one page of HTML that needs nothing else: it opens in any browser, and prints on A4.

    Of a BOARD file: the path of each output as a picture, what is done about its weak links, curves of the
    parts chosen, and the card of its limits for the lid. Of an ORDER file: the plan. Of a need, as choose takes
    it: the ranked parts, their curves, what stopped the rest. Several files make one page; measurements that
    bench wrote as JSON may be among them. --catalog names the catalogue, as everywhere.""",
    epilog="""Examples:

    \b
      loadworthy report board.toml -o board.html
      loadworthy report board.toml order.toml -o all.html
      loadworthy report transistor --supply 12V --resistance 1.6ohm --drive 5V -o mat.html""",
)


def write_report(sections: Sequence[tuple[str, dict[str, Any]]], output: Path) -> None:
    """Write the page of several sections, whole or not at all."""
    import datetime  # noqa: PLC0415 - only who writes a page needs it

    from loadworthy.report.pages import report_page  # noqa: PLC0415 - brings the templates in
    from loadworthy.toml_files import write_whole  # noqa: PLC0415

    page = report_page(sections, title=_title(sections), made_on=datetime.date.today())
    write_whole(output, page)


def _title(sections: Sequence[tuple[str, dict[str, Any]]]) -> str:
    kind, told = sections[0]
    inside = {"board": "board", "order": "plan"}.get(kind)
    return str((told[inside] if inside else told).get("title") or "Measurements")


def _check_ending(output: Path) -> None:
    from loadworthy.errors import UsageError  # noqa: PLC0415 - as above

    if output.suffix.lower() not in (".html", ".htm"):
        raise UsageError(
            f"{output.name!r} is no page.", where="--output", way_out="A report is one file that ends in .html."
        )


def _gathered(files: Sequence[Path], catalog_path: Path | str | None) -> _Sections:
    """Read every file as what it is, and gather what there is to see of it."""
    return [_section(path, _kind(path), catalog_path) for path in files]


def _nothing(word: str) -> UsageError:
    from loadworthy.errors import UsageError  # noqa: PLC0415 - as above

    return UsageError(
        "there is no such file, and no such family of parts.",
        where=word,
        way_out="Name a board's or an order's file, or a family: loadworthy report --help.",
    )


def _kind(path: Path) -> str:
    """Say what a file is by what stands in it."""
    from loadworthy.errors import UnreadableFile  # noqa: PLC0415 - as above

    try:
        text = path.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError as error:
        raise UnreadableFile(
            "it is no text.", where=str(path), way_out="Name a board, an order or a measurement."
        ) from error
    except FileNotFoundError as error:
        raise _nothing(str(path)) from error
    if path.suffix.lower() == ".json":
        return "bench"
    try:
        found = tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        return "board"  # its reader says what is wrong with it, and where
    return "order" if "line" in found and "output" not in found else "board"


def _section(path: Path, kind: str, catalog_path: Path | str | None) -> tuple[str, dict[str, Any]]:
    if kind == "bench":
        from loadworthy.bench.kept_file import read_result  # noqa: PLC0415 - brings numpy in

        return kind, read_result(path)
    if kind == "order":
        return kind, _order(path, catalog_path)
    return kind, _board(path, catalog_path)


def _board(path: Path, catalog_path: Path | str | None) -> dict[str, Any]:
    from loadworthy.cli.audit import read_the_board  # noqa: PLC0415 - brings numpy in
    from loadworthy.dossier import study_board  # noqa: PLC0415

    if not catalog_is_there(catalog_path):
        talk("There is no catalogue: the board is audited, and nothing is chosen for it.")
        return study_board(read_the_board(path, None), None).as_json()
    with opened(catalog_path) as catalog:
        return study_board(read_the_board(path, catalog), catalog).as_json()


def _order(path: Path, catalog_path: Path | str | None) -> dict[str, Any]:
    import datetime  # noqa: PLC0415 - as above

    from loadworthy.cli.common import hushed  # noqa: PLC0415
    from loadworthy.dossier import study_order  # noqa: PLC0415
    from loadworthy.shopping import read_order  # noqa: PLC0415

    order = read_order(path)
    with opened(catalog_path) as catalog, hushed():
        return study_order(order, catalog, today=datetime.date.today()).as_json()
