"""``loadworthy limits``: the small sum, both ways."""

from __future__ import annotations

from typing import Any

import click

from loadworthy.cli.common import FORMATS, say, talk, width, write_json, write_rows

__all__ = ["limits"]


@click.command(
    epilog="""Examples:

    \b
      loadworthy limits --supply 12V --current 8A
      loadworthy limits --supply 12V --resistance 1.6ohm --tolerance 5% --supply-tolerance 10% --share 80%
      loadworthy limits --supply 24V --power 60W --lamp"""
)
@click.option("--supply", required=True, metavar="12V", help="Nominal voltage of the supply.")
@click.option("--current", metavar="8A", help="A current that the path can carry: which load does it allow?")
@click.option("--resistance", metavar="1.6ohm", help="Resistance of a load when warm: what must the path carry?")
@click.option("--power", metavar="90W", help="Power of a load at the nominal supply: what must the path carry?")
@click.option("--tolerance", metavar="5%", help="Tolerance of the load's resistance or power.")
@click.option("--supply-tolerance", metavar="10%", help="How far the supply may be off.")
@click.option("--share", metavar="80%", help="Share of the path's rating that may be used.")
@click.option(
    "--cold-resistance", metavar="1.4ohm", help="Resistance of the load cold, for the current at switching on."
)
@click.option("--lamp", is_flag=True, help="The load is an incandescent lamp: cold, it has a tenth of its resistance.")
@click.option(
    "--format",
    "form",
    type=click.Choice(FORMATS),
    default="table",
    show_default=True,
    help="How the result is written: a table for people; json, csv or markdown for what comes next.",
)
def limits(*, form: str, **given: Any) -> None:  # noqa: ANN401 - each option has its own type
    """Do the sum between a load and a current, with margins.

    From a current that a path can carry: the least resistance and the greatest power of a load. From a
    load: its greatest current, and what the path must be rated for. The whole board, link by link, is
    what audit is for.
    """
    from loadworthy.boards.limits import limits as worked_out  # noqa: PLC0415 - only who asks pays for it

    result = worked_out(**given).as_json()
    if form == "json":
        write_json(result)
        return
    from loadworthy.report import audits  # noqa: PLC0415 - only the format asked for is loaded

    if form == "table":
        say(audits.limits_text(result, width=width()))
        return
    rows = result["formulas"] if form == "csv" else audits.limits_rows(result)
    write_rows(rows, audits.LIMITS_COLUMNS, form)
    for caution in result["cautions"]:
        talk(caution)
