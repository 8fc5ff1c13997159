"""``loadworthy choose FAMILY --needs FILE``: a file of needs answered at once."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from contextlib import AbstractContextManager
from itertools import islice
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import click

from loadworthy.cli.common import NOTHING_FITS, bar, say, talk, write_json
from loadworthy.errors import UsageError

if TYPE_CHECKING:
    from loadworthy.many.running import Stamped

__all__ = ["MANY", "answer_needs", "many_options", "typed"]

_SHOWN: Final = 10

#: What the help of a family's command says of it.
MANY: Final = """With --needs many needs are answered at once: each row of the file is one, its columns named as these
        options are, and `id`; options given here hold for every row that does not give them. Where an option is
        repeatable its texts stand in one cell with semicolons between them, or in a list. The result (-o) has a row a
        part: `row` and `id` of the need, `rank`, and all that a single choice gives. Needs that are refused or
        that nothing fits stand with the reason in a file beside it, OUT.unanswered.csv. A run that was broken off is
        taken up again by the same command; what it has done stands in OUT.part. Exit status 1 says that no need has
        an answer."""


def many_options() -> list[click.Parameter]:
    """Make the options that ask for many needs."""
    return [
        click.Option(
            ["--needs"],
            type=click.Path(path_type=Path, dir_okay=False),
            metavar="FILE",
            is_eager=True,
            callback=_spare_the_need,
            help="A table of needs (CSV or other text, workbook, Parquet), all answered at once.",
        ),
        click.Option(
            ["-o", "--out"],
            type=click.Path(path_type=Path, dir_okay=False),
            metavar="OUT",
            help="Where the answers to --needs are written: a name that ends in .parquet or .csv.",
        ),
    ]


def _spare_the_need(ctx: click.Context, _: click.Parameter, value: Path | None) -> Path | None:
    """Where needs come from a file none has to be typed."""
    if value is not None:
        for param in ctx.command.params:
            param.required = False
    return value


def typed(ctx: click.Context, given: Mapping[str, Any]) -> dict[str, Any]:
    """Return the options that were typed, without those that stand at what they usually are."""
    usual = (click.core.ParameterSource.DEFAULT, click.core.ParameterSource.DEFAULT_MAP)
    return {name: value for name, value in given.items() if ctx.get_parameter_source(name) not in usual}


def answer_needs(
    catalog: AbstractContextManager[Stamped],
    family: str,
    needs: Path,
    out: Path | None,
    *,
    usual: Mapping[str, Any],
    top: int,
    form: str,
) -> None:
    """Answer a file of needs into a file.

    Parameters
    ----------
    catalog
        Opens the catalogue, once all else is seen to.
    family
        The family.
    needs, out
        The two files.
    usual
        Options that hold for every need that does not give them.
    top
        How many parts each need is to have.
    form
        How the summary is written.
    """
    from loadworthy.report.answers import FORMS, counts_text, write_answers, write_unanswered  # noqa: PLC0415

    if out is None or out.suffix.lower() not in FORMS:
        raise UsageError(
            "it is not said where the answers go." if out is None else "its ending says no format.",
            where="-o" if out is None else str(out),
            way_out=f"Name a file that ends in {' or '.join(FORMS)}.",
        )
    if not out.parent.is_dir():
        raise UsageError("there is no such folder.", where=str(out.parent), way_out="Make it, or name another.")
    if out.resolve() == needs.resolve():
        raise UsageError("the answers would overwrite the needs.", where=str(out), way_out="Name another file.")
    from loadworthy.alone import alone  # noqa: PLC0415 - a single choice wants no lock
    from loadworthy.many.needs_file import NeedsFile  # noqa: PLC0415 - brings DuckDB in
    from loadworthy.many.running import Run  # noqa: PLC0415 - as above

    def busy() -> UsageError:
        return UsageError(
            "another run answers needs into it.",
            where=str(out),
            way_out="Wait until it has ended, or name another file.",
        )

    only = alone(out.with_name(out.name + ".lock"), wait_s=0.0, busy=busy)
    with NeedsFile(needs, family, usual) as file, only, catalog as held, bar() as told:
        run = Run(held, family, file, top=top, folder=out.with_name(out.name + ".part"))
        if run.begun_anew:
            talk("What another run had left was thrown away: the needs, the catalogue or the options are others.")
        if run.taken_up:
            talk(f"Taken up again: {run.taken_up:,} of {file.rows:,} needs were answered before.")
        try:
            run.answer(_teller(told))
        except (KeyboardInterrupt, RuntimeError):  # the engine tells an interruption by the latter
            talk(f"What is done stands in {run.folder}: the same command takes it up again.")
            raise
        write_answers(run.tables(), run.schema(), out)
        beside = out.with_name(out.stem + ".unanswered.csv")
        unanswered = [one.as_json() for one in run.unanswered()]
        write_unanswered(unanswered, beside)
        counts, cautions = run.counts(), run.cautions()
        run.forget()
    refused = (one for one in unanswered if one["way_out"] or one["column"])
    for one in islice(refused, _SHOWN):
        column = f", {one['column']}" if one["column"] else ""
        talk(f"{needs.name}, row {one['row']}{column}: {one['reason']} {one['way_out']}".rstrip())
    if unanswered:
        talk(f"Needs without an answer, each with the reason: {beside}")
    if form == "json":
        write_json({**counts, "out": str(out), "unanswered": str(beside) if unanswered else None, "cautions": cautions})
    else:
        for caution in cautions:
            talk(caution)
        say(f"{counts_text(counts)} The answers are in {out}.")
    if not counts["answered"]:
        click.get_current_context().exit(NOTHING_FITS)


def _teller(told: Callable[[str, float], None] | None) -> Callable[[float], None]:
    if told is None:
        return lambda _: None
    return lambda share: told("answering needs", share)
