"""``loadworthy explain``: one part against one need."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import click

from loadworthy.cli.common import (
    NOTHING_FITS,
    common_parameters,
    engine_parameters,
    opened_by,
    say,
    talk,
    width,
    write_json,
    write_rows,
)
from loadworthy.cli.needs import FamilyGroup, need_from, need_options, shown_examples

if TYPE_CHECKING:
    from loadworthy.needs import Need

__all__ = ["explain"]


def _command(family: str, need: type[Need]) -> click.Command:
    def run(
        *,
        part: str,
        maker: str | None,
        catalog_path: Any,  # noqa: ANN401
        form: str,
        engine: str,
        master: str | None,
        **given: Any,  # noqa: ANN401
    ) -> None:
        from loadworthy.explanation import explain as explained  # noqa: PLC0415 - brings DuckDB in

        asked = need_from(need, given)
        with opened_by(engine, catalog_path, family=family, master=master) as catalog:
            answer = explained(catalog, part, asked, maker=maker).as_json()
        _write(answer, form)
        if not answer["fits"]:
            click.get_current_context().exit(NOTHING_FITS)

    return click.Command(
        family,
        callback=run,
        help=f"""Hold one {family} PART against a need, criterion by criterion.

        Says for each what the part has, what it needs, by how much it passes or fails, where the limit
        comes from and what was assumed; then the arithmetic with the numbers put in. Exit status 1 says
        that the part does not fit, or is not shown to.""",
        epilog=shown_examples(f"explain {family} PART", need.examples),
        params=[
            click.Argument(["part"], metavar="PART"),
            *need_options(need),
            click.Option(["--maker"], metavar="NAME", help="Whose part, where several makers use the number."),
            *engine_parameters(),
            *common_parameters(),
        ],
    )


def _write(answer: Mapping[str, Any], form: str) -> None:
    if form == "json":
        write_json(answer)
        return
    from loadworthy.report import explanations  # noqa: PLC0415 - only the format asked for is loaded

    if form == "table":
        say(explanations.explanation_text(answer, width=width()))
    elif form == "csv":
        write_rows(answer["criteria"], explanations.CRITERION_COLUMNS, form)
    else:
        write_rows(explanations.criterion_rows(answer), explanations.CRITERION_COLUMNS, form)
    if form != "table":
        for caution in answer["cautions"]:
            talk(caution)


explain = FamilyGroup(
    name="explain",
    make=_command,
    line="Hold one {family} against a need.",
    help="""Hold one part against one need, line by line, with the arithmetic and its sources.

    Exit status 1 says that the part does not fit, or is not shown to.""",
    epilog="""Examples:

    \b
      loadworthy explain --help
      loadworthy explain transistor PART --supply 12V --resistance 1.6ohm --drive 5V""",
)
