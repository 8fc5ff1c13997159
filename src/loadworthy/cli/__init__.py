"""The ``loadworthy`` command. Importing it brings in click alone: commands load when they are called."""

from __future__ import annotations

import os

import click

from loadworthy.cli.groups import Root

__all__ = ["main"]

# No command multiplies great matrices: threads for that would only take time to start, as numpy does in each of them.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

#: Command → where it lives, and its line in the list of commands.
_COMMANDS = {
    "demo": ("loadworthy.cli.demo:demo", "The whole job, on a greenhouse's propagation bench."),
    "intake": ("loadworthy.cli.intake:intake", "Take suppliers' lists into the catalogue."),
    "catalog": ("loadworthy.cli.catalog:catalog", "What the catalogue holds, and what was refused."),
    "choose": (
        "loadworthy.cli.choose:choose",
        "Rank the parts that carry a load; say what stopped the rest.",
    ),
    "explain": ("loadworthy.cli.explain:explain", "Hold one part against a need, line by line."),
    "audit": ("loadworthy.cli.audit:audit", "Hold a board's path against its loads, the weakest link first."),
    "shop": ("loadworthy.cli.shop:shop", "What to buy, where, at what total."),
    "report": ("loadworthy.cli.report:report", "One page with pictures, to look at, print and keep."),
    "serve": ("loadworthy.cli.serve:serve", "The whole job as a page in your browser, on this computer."),
    "bench": ("loadworthy.cli.bench:bench", "Hold what you measured of a part against what it claims."),
    "limits": ("loadworthy.cli.limits:limits", "The sum between a load and a current, with margins."),
}


def _show_version(ctx: click.Context, _: click.Parameter, wanted: bool) -> None:
    if wanted:
        from loadworthy.cli.version import version  # noqa: PLC0415 - only who asks pays for reading it

        click.echo(f"loadworthy {version()}")
        ctx.exit()


main = Root(
    name="loadworthy",
    members=_COMMANDS,
    params=[
        click.Option(
            ["--version"], is_flag=True, is_eager=True, expose_value=False, callback=_show_version,
            help="Print the version and stop.",
        )
    ],
    help="""Choose replacement parts for low-voltage power boards on what they can really carry.

    Suppliers' lists go into a catalogue (intake). A question about a load gives the parts that carry it, the
    best first, and says why every other part was passed over (choose, explain). A board's file gives what
    gives in first, what the board can take, and what has to be replaced (audit). What was chosen is planned
    to be bought at the least total (shop), and what arrives is measured (bench). Nothing leaves this
    computer.

    Isolated extra-low voltage only. Mains, vehicles, medical and marine work belong to local codes and
    licensed practice.""", epilog="""Examples:

    \b
      loadworthy demo
      loadworthy intake prices.csv
      loadworthy choose transistor --supply 12V --resistance 1.6ohm --drive 5V
      loadworthy audit board.toml --choose""",
)  # fmt: skip
