"""``loadworthy demo``: the whole job, on invented lists for an invented greenhouse."""

from __future__ import annotations

import shlex
import tomllib
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING, Any, Final

import click

from loadworthy import shipped
from loadworthy.cli.common import say, talk, width
from loadworthy.cli.needs import typed_words

if TYPE_CHECKING:
    from loadworthy.catalog.reports import IntakeReport
    from loadworthy.needs import Need

__all__ = ["demo"]

_LISTS: Final = frozenset({".csv", ".txt", ".tsv", ".xlsx", ".xls", ".xlsb", ".ods"})
_CATALOGUE: Final = "greenhouse.duckdb"
_KEPT_BY_DEFAULT: Final = Path("greenhouse")


@click.command(
    epilog="""Examples:

    \b
      loadworthy demo
      loadworthy demo --into greenhouse"""
)
@click.option(
    "--into",
    type=click.Path(path_type=Path, file_okay=False),
    metavar="DIR",
    help="Keep catalogue and board in this folder, with the audit and the choice as JSON, the ranked parts as CSV.",
)
def demo(into: Path | None) -> None:
    """Do the whole job on a control board of a community greenhouse.

    Takes invented suppliers' lists in, each written in another way, audits the board, chooses a part for
    every link that falls short, audits it again with these in place, and looks at one choice closely. Your
    own catalogue is not touched.
    """
    question = tomllib.loads((shipped.catalog_dir() / "greenhouse" / "question.toml").read_text(encoding="utf-8"))
    with _folder(into) as folder:
        _tell(question, folder, kept=into)


@contextmanager
def _folder(into: Path | None) -> Iterator[Path]:
    if into is not None:
        into.mkdir(parents=True, exist_ok=True)
        yield into
        return
    with TemporaryDirectory(prefix="loadworthy-") as folder:
        yield Path(folder)


def _tell(question: Mapping[str, Any], folder: Path, *, kept: Path | None) -> None:
    from loadworthy.boards import read_board  # noqa: PLC0415 - brings numpy in
    from loadworthy.boards.choosing import mend  # noqa: PLC0415 - brings DuckDB in
    from loadworthy.catalog.store import Catalog  # noqa: PLC0415
    from loadworthy.explanation import explain  # noqa: PLC0415
    from loadworthy.needs import NEEDS  # noqa: PLC0415
    from loadworthy.report.choices import choice_text  # noqa: PLC0415
    from loadworthy.report.explanations import criteria_text, formulas_text  # noqa: PLC0415
    from loadworthy.report.mendings import mended_text  # noqa: PLC0415
    from loadworthy.report.text import paragraph  # noqa: PLC0415
    from loadworthy.selection import choose  # noqa: PLC0415

    say(f"{question['title']}\n\n{paragraph(question['story'], width=width())}")
    _tell_lists(_take_in(folder / _CATALOGUE))
    board = folder / question["board"]
    board.write_bytes((shipped.catalog_dir() / "greenhouse" / question["board"]).read_bytes())
    needed: Callable[..., Need] = NEEDS[question["family"]]
    need = needed(
        **{name: tuple(value) if isinstance(value, list) else value for name, value in question["need"].items()}
    )
    with Catalog.open(folder / _CATALOGUE) as catalog:
        mended = mend(read_board(board), catalog).as_json()
        shown = shlex.quote(str(board)) if kept is not None else board.name
        say("\n" + paragraph(f"$ loadworthy audit {shown} --choose", width=width(), hanging="    ") + "\n")
        say(mended_text(mended, typed=typed_words, width=width()))
        say("\n" + paragraph("$ " + _typed(question), width=width(), hanging="    "))
        chosen = choose(catalog, need).as_json()
        rules = need.rules
        say("\n" + choice_text(chosen, titles=rules.titles, headings=rules.headings, width=width()))
        if chosen["ranked"]:
            first = chosen["ranked"][0]
            answer = explain(catalog, first["part_number"], need, maker=first["maker"]).as_json()
            say(f"\nThe first of them, line by line:\n\n{criteria_text(answer, width=width())}")
            say("\n" + formulas_text(answer["formulas"], width=width()))
    if kept is not None:
        _keep(chosen, mended, kept, board.name)
    _tell_next(question, kept)


def _take_in(place: Path) -> list[IntakeReport]:
    """Take each supplier's lists in: they are named after who sells the parts, then after what they hold."""
    from loadworthy.catalog.intake import intake  # noqa: PLC0415 - brings DuckDB in

    suppliers: dict[str, list[Path]] = {}
    for path in sorted((shipped.catalog_dir() / "greenhouse").iterdir()):
        if path.suffix.lower() in _LISTS:
            suppliers.setdefault(path.stem.split("-")[0], []).append(path)
    return [report for name, paths in suppliers.items() for report in intake(place, paths, supplier=name)]


def _typed(question: Mapping[str, Any]) -> str:
    return shlex.join(["loadworthy", "choose", question["family"], *typed_words(question["need"])])


def _tell_lists(reports: Sequence[IntakeReport]) -> None:
    from loadworthy.report.intakes import list_columns, list_rows  # noqa: PLC0415 - as above
    from loadworthy.report.tables import table  # noqa: PLC0415

    say(
        f"\n{len(reports)} lists, each as its supplier writes it:\n\n"
        + table(list_rows(reports), list_columns(reports), width=width())
    )


def _keep(chosen: Mapping[str, Any], mended: Mapping[str, Any], folder: Path, board: str) -> None:
    from loadworthy.report.delimited import csv_text  # noqa: PLC0415 - as above
    from loadworthy.report.json_text import json_text  # noqa: PLC0415

    (folder / "ranked.csv").write_text(csv_text(chosen["ranked"]), encoding="utf-8", newline="")
    (folder / "choice.json").write_text(json_text(chosen) + "\n", encoding="utf-8")
    (folder / "audit.json").write_text(json_text(mended) + "\n", encoding="utf-8")
    talk(f"Kept in {folder}: {_CATALOGUE}, {board}, audit.json, choice.json, ranked.csv.")


def _tell_next(question: Mapping[str, Any], kept: Path | None) -> None:
    from loadworthy.report.text import paragraph  # noqa: PLC0415 - as above

    say("\nTry next:\n")
    if kept is None:
        say(
            f"  loadworthy demo --into {_KEPT_BY_DEFAULT}\n"
            "    keeps this catalogue and the board in a folder, for the questions below"
        )
    folder = kept or _KEPT_BY_DEFAULT
    place, board = (shlex.quote(str(folder / name)) for name in (_CATALOGUE, question["board"]))
    for step in question["next"]:
        typed = step["command"].format(board=board)
        command = paragraph(f"{typed} --catalog {place}", width=width(), indent="  ", hanging="      ")
        say(f"{command}\n    {step['shows']}")
