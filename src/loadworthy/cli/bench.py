"""``loadworthy bench``: what was measured of a part that arrived, against what is claimed of it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click
from click.core import ParameterSource

from loadworthy.cli.common import (
    NOTHING_FITS,
    catalog_is_there,
    catalog_place,
    common_parameters,
    opened,
    say,
    talk,
    width,
    write_json,
    write_rows,
)
from loadworthy.cli.groups import LazyGroup
from loadworthy.readings import Said, said_of

if TYPE_CHECKING:
    from datetime import date

    from loadworthy.bench import BenchResult
    from loadworthy.catalog.store import Catalog

__all__ = ["bench", "connector", "fuse", "load", "transistor"]


def _option(said: Said) -> click.Option:
    words = "--" + said.name.replace("_", "-")
    if said.choices:
        return click.Option([words, said.name], type=click.Choice(said.choices), help=said.words)
    return click.Option([words, said.name], metavar=said.example, help=said.words)


def _parameters(kind: str) -> list[click.Parameter]:
    found: list[click.Parameter] = []
    if kind != "load":
        found.append(click.Argument(["part"], metavar="[PART]", required=False))
    found += [_option(said) for said in said_of(kind)]
    found += [
        click.Option(["--kelvin"], is_flag=True, help="Four wires: two bring the current, two read the voltage."),
        click.Option(
            ["--samples"],
            type=click.Path(path_type=Path),
            metavar="FILE",
            help="Several samples from a table: a row each, headed by the words of these options.",
        ),
        click.Option(["--how"], is_flag=True, help="Say how to measure it, and stop."),
    ]
    if kind != "load":
        found += [
            click.Option(["--maker"], metavar="NAME", help="Whose part, where several makers use the number."),
            click.Option(["--keep"], is_flag=True, help="Keep what was found in the catalogue; wants --supplier."),
            click.Option(["--supplier"], metavar="NAME", help="Who sold it, for --keep."),
            click.Option(["--date", "measured_on"], metavar="2025-03-14", help="When it was measured, for --keep."),
        ]
    if kind == "transistor":
        found += [
            click.Option(
                ["--into"],
                type=click.Path(path_type=Path),
                metavar="BOARD",
                help="Put the measured on-resistance into this board file, for the audit.",
            ),
            click.Option(["--link"], metavar="Q1", help="Which transistor of the board it is, for --into."),
        ]
    return [*found, *common_parameters()]


def _run(kind: str, given: dict[str, Any]) -> None:
    from loadworthy.errors import UsageError  # noqa: PLC0415 - what help needs not is loaded when it runs

    form, path, part = given.pop("form"), given.pop("catalog_path"), given.pop("part", None)
    if given.pop("how"):
        _how(kind, form)
        return
    kelvin, samples, maker = given.pop("kelvin"), given.pop("samples"), given.pop("maker", None)
    keep, supplier = given.pop("keep", False), given.pop("supplier", None)
    measured_on, into, link = given.pop("measured_on", None), given.pop("into", None), given.pop("link", None)
    if (into is None) != (link is None):
        raise UsageError(
            "a board file and the transistor in it belong together.",
            where="--into, --link",
            way_out="Give both, or neither.",
        )
    whose = _whose(supplier, measured_on) if keep else None
    readings: dict[str, str | None] = {one.name: given.get(one.name) for one in said_of(kind)}
    from loadworthy.bench import measure  # noqa: PLC0415 - brings numpy in, which help needs not

    told: list[str | None] = []
    with _catalog(path, kind, keep=keep) as catalog:
        found = measure(kind, readings, part=part, maker=maker, catalog=catalog, kelvin=kelvin, samples=samples)
        # The board's file first: where that cannot be, nothing is kept that a second run would keep again.
        put = None if into is None else _put(found, into, link)
        if whose is not None and catalog is not None:
            from loadworthy.bench.records import keep_records, stranger_note  # noqa: PLC0415 - as above

            kept = keep_records(catalog, found, supplier=whose[0], measured_on=whose[1])
            told = [f"Figures kept in the catalogue: {kept}.", stranger_note(catalog, whose[0])]
    for text in filter(None, told):  # when they are in
        talk(text)
    _write(found.as_json(), form)
    if put is not None:
        talk(put)
    if kind == "load" and samples is not None and readings["supply"] is not None:
        talk("What a load draws is worked out for a single reading: give --reading in place of --samples for that.")
    if not _good(found):
        click.get_current_context().exit(NOTHING_FITS)


def _whose(supplier: str | None, measured_on: str | None) -> tuple[str, date]:
    """Read whose part it is and when it was measured, before anything else is done."""
    from loadworthy.bench.records import date_of, supplier_of  # noqa: PLC0415 - as above

    return supplier_of(supplier), date_of(measured_on)


@contextmanager
def _catalog(path: Path | str | None, kind: str, *, keep: bool) -> Iterator[Catalog | None]:
    """Open the catalogue where a part is looked up in it; to write where records are kept."""
    # One that was typed must be there; the usual place may be empty, and then nothing is looked up.
    typed = click.get_current_context().get_parameter_source("catalog_path") is ParameterSource.COMMANDLINE
    if kind == "load" or not (keep or typed or catalog_is_there(path)):
        yield None
        return
    if not keep:
        with opened(path) as catalog:
            yield catalog
        return
    from loadworthy.catalog.versions import renewed  # noqa: PLC0415 - brings DuckDB in

    with renewed(catalog_place(path)) as catalog:
        yield catalog


def _good(found: BenchResult) -> bool:
    """Say whether all is within what is claimed; of a load without a marking nothing is."""
    from loadworthy.bench import WITHIN  # noqa: PLC0415 - as above

    if found.refused:  # nobody knows what these are
        return False
    return found.verdict == WITHIN or (
        found.kind == "load" and all(finding.band is None for sample in found.samples for finding in sample.findings)
    )


def _put(found: BenchResult, into: Path, link: str) -> str:
    from loadworthy.bench import put_measured  # noqa: PLC0415 - as above
    from loadworthy.errors import UsageError  # noqa: PLC0415

    if found.as_measured is None:
        raise UsageError("no on-resistance was measured.", where="--into", way_out="Give --drop, --current and --gate.")
    return put_measured(into, link, found.as_measured.resistance_ohm)


def _how(kind: str, form: str) -> None:
    from loadworthy.bench.recipes import hows  # noqa: PLC0415 - as above

    how = hows()[kind].as_json()
    if form == "json":
        write_json(how)
        return
    from loadworthy.report import benches  # noqa: PLC0415 - only the format asked for is loaded

    say(benches.how_text(how, width=width()))


def _write(result: Mapping[str, Any], form: str) -> None:
    if form == "json":
        write_json(result)
        return
    from loadworthy.report import benches  # noqa: PLC0415 - only the format asked for is loaded

    if form == "table":
        say(benches.bench_text(result, width=width()))
        return
    if form == "csv":
        write_rows(benches.flat_rows(result), benches.FINDING_COLUMNS, form)
    else:
        write_rows(benches.finding_rows(result), benches.FINDING_COLUMNS, form)
    for sample in result["samples"]:
        talk(" ".join(word for word in (sample["sample"] and f"{sample['sample']}:", sample["words"]) if word))
    for one in result["refused"]:
        talk(f"Row {one['row']} was not taken: {one['reason']}")
    for caution in result["cautions"]:
        talk(caution)


def _command(kind: str, words: str, examples: Sequence[str]) -> click.Command:
    def run(**given: Any) -> None:  # noqa: ANN401 - each option has its own type
        _run(kind, given)

    shown = "\n".join(f"  loadworthy bench {kind} {options}" for options in examples)
    return click.Command(kind, callback=run, help=words, epilog=f"Examples:\n\n\b\n{shown}", params=_parameters(kind))


transistor = _command(
    "transistor",
    """Hold what you measured of a transistor PART against what it claims.

    On-resistance from drop and current, brought to 25 °C; threshold, gate capacitance, breakdown, and what
    marking and package look like. Each with its uncertainty: within what is claimed, outside, or not
    decided by this measurement. Then what the part carries as it is. Exit status 1 says that not all of it
    is within what is claimed.""",
    (
        "PART --drop 96.0mV --current 6.00A --gate 5V --temp 24degC --kelvin --pulse 300us",
        "PART --drop 96.0mV --current 6.00A --gate 5V --leads 3mohm --claimed-on-resistance 8mohm",
        "PART --samples readings.csv --gate 5V --kelvin --keep --supplier NAME",
        "--how",
    ),
)
connector = _command(
    "connector",
    """Hold the resistance of a contact of a connector PART against what it claims.

    From drop and current, or an ohm-meter; two-wire readings of milliohms are called what they are. Exit
    status 1 says that it is not within what is claimed, or that this is not decided.""",
    (
        "PART --drop 12.0mV --current 5.00A --kelvin",
        "PART --drop 24.0mV --current 5.00A --kelvin --contacts 2 --claimed-contact 3mohm",
    ),
)
fuse = _command(
    "fuse",
    """Hold the cold resistance of a fuse PART against what it claims: Rmin to R1max of a resettable one.

    It says nothing of when the fuse opens. Exit status 1 says that it is not within what is claimed, or
    that this is not decided.""",
    (
        "PART --drop 15.0mV --current 0.500A --kelvin",
        "PART --reading 0.21ohm --leads 0.18ohm --claimed-resistance 10mohm..50mohm",
    ),
)
load = _command(
    "load",
    """Hold a load against its marking, and say what it draws as it is.

    Marked 1.6 Ω, reads 1.4 Ω: on 12 V that is 8.6 A and not 7.5. Cold and warm where the material is given.
    Exit status 1 says that it is not within its marking, or that this is not decided.""",
    (
        "--marked 1.6ohm --reading 1.60ohm --leads 0.20ohm --supply 12V",
        "--marked 1.6ohm --drop 1.400V --current 1.000A --kelvin --supply 12V --material nichrome --warm 60degC",
    ),
)

bench = LazyGroup(
    name="bench",
    members={
        "transistor": ("loadworthy.cli.bench:transistor", "On-resistance and what else tells a part from its like."),
        "connector": ("loadworthy.cli.bench:connector", "Resistance of a contact."),
        "fuse": ("loadworthy.cli.bench:fuse", "Cold resistance of a fuse."),
        "load": ("loadworthy.cli.bench:load", "What a load really draws."),
    },
    help="""Hold what you measured against what is claimed, with its uncertainty.

    Readings are typed as the meter shows them, with all their digits: 96.0mV, 6.00A. Figures that fit prove
    little, since a clone can pass; one that cannot be is enough.""",
    epilog="""Examples:

    \b
      loadworthy bench transistor --how
      loadworthy bench transistor PART --drop 96.0mV --current 6.00A --gate 5V --kelvin --pulse 300us
      loadworthy bench load --marked 1.6ohm --reading 1.60ohm --leads 0.20ohm --supply 12V""",
)
