"""``loadworthy choose``: the parts that carry a load, ranked."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
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
from loadworthy.cli.many import MANY, answer_needs, many_options, typed
from loadworthy.cli.needs import FamilyGroup, need_from, need_options, shown_examples
from loadworthy.errors import UsageError

if TYPE_CHECKING:
    from loadworthy.criteria import Rules
    from loadworthy.needs import Need

__all__ = ["choose"]


def _command(family: str, need: type[Need]) -> click.Command:
    def run(
        *,
        catalog_path: Any,  # noqa: ANN401 - as click gives it
        form: str,
        top: int,
        near: int,
        add: Path | None,
        engine: str,
        master: str | None,
        needs: Path | None,
        out: Path | None,
        **given: Any,  # noqa: ANN401 - as above
    ) -> None:
        if needs is not None:
            context = click.get_current_context()
            asked_of_one = typed(context, {"add": add, "near": near})
            if asked_of_one:
                raise UsageError(
                    "it is asked of one need.", where=f"--{next(iter(asked_of_one))}", way_out="Leave it out."
                )
            usual = typed(context, given)
            opening = opened_by(engine, catalog_path, family=family, master=master)
            answer_needs(opening, family, needs, out, usual=usual, top=top, form=form)
            return
        if out is not None:
            raise UsageError("it is where the answers to many needs go.", where="-o", way_out="Give --needs as well.")
        from loadworthy.selection import choose as select  # noqa: PLC0415 - brings DuckDB in

        asked = need_from(need, given)
        with opened_by(engine, catalog_path, family=family, master=master) as catalog:
            chosen = select(catalog, asked, top=top, near=near).as_json()
        _write(chosen, form, asked.rules)
        if add is not None and chosen["ranked"]:
            _add(chosen["ranked"][0], family, add)
        if not chosen["counts"]["fit"]:
            click.get_current_context().exit(NOTHING_FITS)

    return click.Command(
        family,
        callback=run,
        help=f"""Rank the {family} parts that meet a need, by {need.ranked_by}.

        Quantities are written as people write them: 12V, 1.6ohm, 1R6, 40degC, "15 K/W", 20kHz. What a list
        does not say never passes, unless --accept names the criterion.

        {MANY}""",
        epilog=shown_examples(f"choose {family}", (*need.examples, "--needs needs.csv --top 5 -o out.parquet")),
        params=[
            *need_options(need),
            *_choice_options(),
            *many_options(),
            *engine_parameters(),
            *common_parameters(),
        ],
    )


def _choice_options() -> list[click.Parameter]:
    return [
        click.Option(
            ["--top"],
            type=click.IntRange(min=1, max=1_000_000),
            metavar="10",
            default=10,
            show_default=True,
            help="How many of the parts that fit are shown.",
        ),
        click.Option(
            ["--near"],
            type=click.IntRange(min=0, max=1_000_000),
            metavar="5",
            default=5,
            show_default=True,
            help="How many parts are shown that fall short in one thing.",
        ),
        click.Option(
            ["--add"],
            type=click.Path(path_type=Path, dir_okay=False),
            metavar="ORDER.toml",
            help="Add the first of them to this order file, one piece a board, for shop; the file is made if need be.",
        ),
    ]


def _add(part: Mapping[str, Any], family: str, path: Path) -> None:
    from loadworthy.shopping import appended, chosen_lines  # noqa: PLC0415 - only who adds to an order loads it

    appended(path, chosen_lines([(family, part)]))
    talk(f"Added to {path}: {part['part_number']}, one a board. What to buy where: loadworthy shop {path}")


def _write(chosen: Mapping[str, Any], form: str, rules: Rules) -> None:
    if form == "json":
        write_json(chosen)
        return
    from loadworthy.report import choices  # noqa: PLC0415 - only the format asked for is loaded

    if form == "table":
        say(choices.choice_text(chosen, titles=rules.titles, headings=rules.headings, width=width()))
        return
    rows = choices.ranked_rows(chosen["ranked"])
    write_rows(chosen["ranked"] if form == "csv" else rows, choices.ranked_columns(rows, rules.headings), form)
    click.echo(choices.stopped_text(chosen["counts"], titles=rules.titles, width=width()), err=True)
    for caution in chosen["cautions"]:
        talk(caution)


choose = FamilyGroup(
    name="choose",
    make=_command,
    line="Rank the {family} parts that meet a need.",
    help="""Rank the parts of a family that meet a need, and say what stopped every other.

    Exit status 1 says that nothing fits.""",
    epilog="""Examples:

    \b
      loadworthy choose --help
      loadworthy choose transistor --supply 12V --resistance 1.6ohm --drive 5V""",
)
