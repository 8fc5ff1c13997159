"""``loadworthy shop``: what to buy, where, at what total."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import click

from loadworthy.cli.common import NOTHING_FITS, common_options, hushed, opened, say, talk, width, write_json, write_rows

if TYPE_CHECKING:
    from loadworthy.shopping import Order

__all__ = ["shop"]

_UNREADABLE: Final = 2
_AIMS: Final = ("cheapest", "fewest parcels", "soonest")
_SHORTFALLS: Final = ("none", "lines", "pieces")


@common_options
@click.command(
    epilog="""Examples:

    \b
      loadworthy shop spring.toml
      loadworthy shop spring.toml --aim soonest --shortfall pieces --format json
      loadworthy shop spring.toml --wait "6 weeks" --output spring.html --output spring.csv

    An order file:

    \b
      title = "Bench controllers"
      currency = "EUR"
      boards = 4                  # every quantity is for one board
      spares = "10%"              # or a number of pieces
      [rates]
      GBP = 1.17                  # what one GBP is in EUR; never guessed
      [[line]]
      part = "BRQ33324-40L"
      quantity = 3
      [[line]]
      quantity = 1
      [line.need]                 # any part that fits, as choose asks for it
      family = "transistor"
      supply = "12V"
      resistance = "1.6ohm"
      [terms."Thistledown"]       # "*" for all others
      shipping = [["0", "4.90"], ["50", "0"]]
      handling = "2.50"
      least_order = "10"
      tax = "19%\""""
)
@click.argument("order", metavar="ORDER", type=click.Path(path_type=Path))
@click.option("--aim", type=click.Choice(_AIMS), help="What the plan is for, in place of what the order says.")
@click.option(
    "--shortfall",
    type=click.Choice(_SHORTFALLS),
    help="What becomes of a line that cannot be had: no plan, a plan without it, or as many pieces as there are.",
)
@click.option("--wait", metavar="'6 weeks'", help='How long what is not in stock may take; "any" for however long.')
@click.option("--supplier", "suppliers", multiple=True, metavar="NAME", help="Buy from this supplier only. Repeatable.")
@click.option("--tax/--no-tax", default=None, help="Show tax, by the rates of the terms.")
@click.option(
    "--time-limit",
    default="10s",
    show_default=True,
    metavar="10s",
    help="Time after which the best plan so far is taken.",
)
@click.option(
    "--output",
    "-o",
    "outputs",
    multiple=True,
    type=click.Path(path_type=Path, dir_okay=False),
    metavar="FILE",
    help="Write the plan to a file as well: .html to print, .csv, .xlsx, .md or .json. Repeatable.",
)
def shop(
    *,
    order: Path,
    aim: str | None,
    shortfall: str | None,
    wait: str | None,
    suppliers: tuple[str, ...],
    tax: bool | None,
    time_limit: str,
    outputs: tuple[Path, ...],
    catalog_path: Path | str | None,
    form: str,
) -> None:
    """Find what to buy for an ORDER file, where, and at what total.

    Weighs price breaks, least quantities, multiples, stock, shipping and the least order of every supplier
    against one another, and says whether the plan is proven the best. Nothing is ordered, and nothing leaves
    this computer. Exit status 1 says that not everything can be had.
    """
    _check_endings(outputs)
    seconds = _seconds(time_limit)
    instead = {
        "aim": aim, "shortfall": shortfall, "wait": wait, "suppliers": list(suppliers) or None, "tax": tax
    }  # fmt: skip
    read = _read(order, instead)
    result, complete = _planned(read, catalog_path, seconds)
    _write(result, form)
    _keep(result, outputs)
    if not complete:
        click.get_current_context().exit(NOTHING_FITS)


def _check_endings(outputs: tuple[Path, ...]) -> None:
    """Say before the work that a file's kind is not known."""
    if not outputs:
        return
    from loadworthy.errors import UsageError  # noqa: PLC0415 - only where it is used
    from loadworthy.report.plan_files import ENDINGS  # noqa: PLC0415

    for path in outputs:
        if path.suffix.lower() not in ENDINGS:
            raise UsageError(
                f"{path.name!r} ends in no kind of file that a plan can be.",
                where="--output",
                way_out=f"It is one of {', '.join(ENDINGS)}.",
            )


def _seconds(text: str) -> float:
    from loadworthy.needs.base import measured  # noqa: PLC0415 - only who plans needs it

    return measured("time_limit", text, "s", above=0.0, most=86_400.0)


def _read(path: Path, instead: Mapping[str, Any]) -> Order:
    """Read the order; where several things are wrong with it, say each on its own line."""
    from loadworthy.errors import OrderError  # noqa: PLC0415 - as above
    from loadworthy.shopping import read_order  # noqa: PLC0415

    try:
        return read_order(path, **instead)
    except OrderError as error:
        _each(error.problems)
        raise


def _planned(order: Order, catalog_path: Path | str | None, seconds: float) -> tuple[dict[str, Any], bool]:
    import datetime  # noqa: PLC0415 - as above

    from loadworthy.errors import OrderError  # noqa: PLC0415
    from loadworthy.shopping import plan  # noqa: PLC0415

    with opened(catalog_path) as catalog, hushed():
        try:
            found = plan(catalog, order, today=datetime.date.today(), time_limit_s=seconds)
        except OrderError as error:
            _each(error.problems)
            raise
    return found.as_json(), found.complete


def _each(problems: tuple[Exception, ...]) -> None:
    """Say several problems one by one, and stop."""
    if problems:
        from loadworthy.report.text import clean  # noqa: PLC0415 - as above

        for problem in problems:
            click.echo(f"loadworthy: {clean(problem)}", err=True)
        click.get_current_context().exit(_UNREADABLE)


def _write(result: Mapping[str, Any], form: str) -> None:
    if form == "json":
        write_json(result)
        return
    from loadworthy.report import plans  # noqa: PLC0415 - only the format asked for is loaded

    if form == "table":
        say(plans.plan_text(result, width=width()))
        return
    if form == "markdown":
        from loadworthy.report.plan_files import plan_markdown  # noqa: PLC0415 - as above

        say(plan_markdown(result))
        return
    write_rows(plans.flat_rows(result), plans.COLUMNS, form)
    talk(plans.opening(result))
    for heading, lines in plans.sections(result):
        for line in lines:
            talk(f"{heading} {line}")


def _keep(result: Mapping[str, Any], outputs: tuple[Path, ...]) -> None:
    if not outputs:
        return
    from loadworthy.report.plan_files import ENDINGS  # noqa: PLC0415 - as above

    for path in outputs:
        path.write_bytes(ENDINGS[path.suffix.lower()](result))
        talk(f"Written: {path}")
