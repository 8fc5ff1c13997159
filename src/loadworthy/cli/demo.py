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
from loadworthy.cli.common import hushed, say, talk, width
from loadworthy.cli.needs import typed_words

if TYPE_CHECKING:
    from loadworthy.boards.choosing import Mended
    from loadworthy.catalog.reports import IntakeReport
    from loadworthy.catalog.store import Catalog
    from loadworthy.needs import Need
    from loadworthy.shopping import Order, Plan

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
    help="Keep catalogue and board in this folder, with a page of pictures, audit and choice as JSON, and the ranked "
    "parts as CSV.",
)
def demo(into: Path | None) -> None:
    """Do the whole job on a control board of a community greenhouse.

    Takes invented suppliers' lists in, each written in another way, audits the board, chooses a part for
    every link that falls short and audits it again with these in place, looks at one choice closely, plans
    what to buy where, and measures two pieces that arrived. Your own catalogue is not touched.
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
    from loadworthy.catalog.store import Catalog  # noqa: PLC0415 - brings DuckDB in
    from loadworthy.report.text import paragraph  # noqa: PLC0415

    say(f"{question['title']}\n\n{paragraph(question['story'], width=width())}")
    _tell_lists(_take_in(folder / _CATALOGUE))
    for name in ("board", "order", "samples"):
        file = Path(question[name])
        shipped_file = shipped.catalog_dir() / "greenhouse" / file
        (folder / file.name).write_bytes(shipped_file.read_bytes())
    named = folder if kept is not None else Path()
    with Catalog.open(folder / _CATALOGUE) as catalog:
        mended = _tell_board(catalog, question, folder, named)
        told = mended.as_json()
        chosen = _tell_choice(catalog, question)
        order, planned = _tell_plan(catalog, told, folder / question["order"], named)
        measured = _tell_bench(catalog, told, question, folder, named)
        if kept is not None:
            _keep_page(catalog, mended, (order, planned), measured, kept)
    if kept is not None:
        _keep(chosen, told, kept)
    _tell_next(question, kept)


def _command(*words: str | Path) -> None:
    """Show a command as it is typed."""
    from loadworthy.report.text import paragraph  # noqa: PLC0415 - as above

    typed = shlex.join(["loadworthy", *map(str, words)])
    say("\n" + paragraph(f"$ {typed}", width=width(), hanging="    ") + "\n")


def _tell_board(catalog: Catalog, question: Mapping[str, Any], folder: Path, named: Path) -> Mended:
    from loadworthy.boards import read_board  # noqa: PLC0415 - brings numpy in
    from loadworthy.boards.choosing import mend  # noqa: PLC0415
    from loadworthy.report.mendings import mended_text  # noqa: PLC0415

    board = question["board"]
    _command("audit", named / board, "--choose", "--order", named / question["order"])
    mended = mend(read_board(folder / board), catalog)
    say(mended_text(mended.as_json(), typed=typed_words, width=width()))
    return mended


def _tell_choice(catalog: Catalog, question: Mapping[str, Any]) -> dict[str, Any]:
    from loadworthy.explanation import explain  # noqa: PLC0415 - as above
    from loadworthy.needs import NEEDS  # noqa: PLC0415
    from loadworthy.report.choices import choice_text  # noqa: PLC0415
    from loadworthy.report.explanations import criteria_text, formulas_text  # noqa: PLC0415
    from loadworthy.selection import choose  # noqa: PLC0415

    needed: Callable[..., Need] = NEEDS[question["family"]]
    need = needed(
        **{name: tuple(value) if isinstance(value, list) else value for name, value in question["need"].items()}
    )
    _command("choose", question["family"], *typed_words(question["need"]))
    chosen = choose(catalog, need).as_json()
    say(choice_text(chosen, titles=need.rules.titles, headings=need.rules.headings, width=width()))
    if chosen["ranked"]:
        first = chosen["ranked"][0]
        answer = explain(catalog, first["part_number"], need, maker=first["maker"]).as_json()
        say(f"\nThe first of them, line by line:\n\n{criteria_text(answer, width=width())}")
        say("\n" + formulas_text(answer["formulas"], width=width()))
    return chosen


def _tell_plan(catalog: Catalog, mended: Mapping[str, Any], order: Path, named: Path) -> tuple[Order, Plan]:
    import datetime  # noqa: PLC0415 - as above

    from loadworthy.report.plans import plan_text  # noqa: PLC0415
    from loadworthy.shopping import appended, chosen_lines, plan, read_order  # noqa: PLC0415

    done = mended["mended"]["replacements"]
    appended(order, chosen_lines((one["kind"], one["chosen"]) for one in done if one["chosen"] is not None))
    _command("shop", named / order.name)
    read = read_order(order)
    with hushed():
        found = plan(catalog, read, today=datetime.date.today())
    say(plan_text(found.as_json(), width=width()))
    return read, found


def _tell_bench(
    catalog: Catalog, mended: Mapping[str, Any], question: Mapping[str, Any], folder: Path, named: Path
) -> dict[str, Any] | None:
    from loadworthy.bench import measure  # noqa: PLC0415 - as above
    from loadworthy.report.benches import bench_text  # noqa: PLC0415

    done = mended["mended"]["replacements"]
    part = next((one["chosen"] for one in done if one["link"] == question["measured"]), None)
    if part is None:
        return None
    samples = Path(question["samples"]).name
    _command("bench", "transistor", part["part_number"], "--samples", named / samples, "--pulse", "300us", "--kelvin")
    result = measure(
        "transistor",
        {"pulse": "300us"},
        part=part["part_number"],
        maker=part["maker"],
        catalog=catalog,
        kelvin=True,
        samples=folder / samples,
    )
    told = result.as_json()
    say(bench_text(told, width=width()))
    return told


def _take_in(place: Path) -> list[IntakeReport]:
    """Take each supplier's lists in: they are named after who sells the parts, then after what they hold."""
    from loadworthy.catalog.intake import intake  # noqa: PLC0415 - brings DuckDB in

    suppliers: dict[str, list[Path]] = {}
    for path in sorted((shipped.catalog_dir() / "greenhouse").iterdir()):
        if path.suffix.lower() in _LISTS:
            suppliers.setdefault(path.stem.split("-")[0], []).append(path)
    return [report for name, paths in suppliers.items() for report in intake(place, paths, supplier=name)]


def _tell_lists(reports: Sequence[IntakeReport]) -> None:
    from loadworthy.report.intakes import list_columns, list_rows  # noqa: PLC0415 - as above
    from loadworthy.report.tables import table  # noqa: PLC0415

    say(
        f"\n{len(reports)} lists, each as its supplier writes it:\n\n"
        + table(list_rows(reports), list_columns(reports), width=width())
    )


def _keep_page(
    catalog: Catalog, mended: Mended, order: tuple[Order, Plan], measured: dict[str, Any] | None, folder: Path
) -> None:
    """Write what was told as one page with pictures."""
    from loadworthy.cli.report import write_report  # noqa: PLC0415 - plotting takes long to start
    from loadworthy.dossier import study_mended, study_plan  # noqa: PLC0415

    read, planned = order
    sections = [
        ("board", study_mended(mended, catalog).as_json()),
        ("order", study_plan(planned, read, catalog).as_json()),
        *([("bench", measured)] if measured is not None else []),
    ]
    write_report(sections, folder / "report.html")


def _keep(chosen: Mapping[str, Any], mended: Mapping[str, Any], folder: Path) -> None:
    from loadworthy.report.delimited import csv_text  # noqa: PLC0415 - as above
    from loadworthy.report.json_text import json_text  # noqa: PLC0415

    (folder / "ranked.csv").write_text(csv_text(chosen["ranked"]), encoding="utf-8", newline="")
    (folder / "choice.json").write_text(json_text(chosen) + "\n", encoding="utf-8")
    (folder / "audit.json").write_text(json_text(mended) + "\n", encoding="utf-8")
    talk(f"Kept in {folder}: {', '.join(sorted(path.name for path in folder.iterdir()))}.")


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
