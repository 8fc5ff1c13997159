"""``loadworthy bench``: what was measured of a part that arrived, against what is claimed of it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

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

if TYPE_CHECKING:
    from datetime import date

    from loadworthy.bench import BenchResult
    from loadworthy.catalog.store import Catalog

__all__ = ["bench", "connector", "fuse", "load", "transistor"]

#: Option → how one writes it, and what it is.
_OPTIONS: Final[dict[str, tuple[str, str]]] = {
    "drop": ("96.0mV", "Voltage that the current drops, as the meter shows it: all its digits."),
    "current": ("6.00A", "Current through it, as the meter shows it."),
    "reading": ("1.40ohm", "Resistance as an ohm-meter shows it, in place of drop and current."),
    "gate": ("5V", "Voltage between gate and source during the test."),
    "temp": ("24degC", "Temperature of the part before the test; a room of 23 °C is assumed."),
    "leads": ("3mohm", "Resistance of the leads, read with their tips together, to take off a two-wire reading."),
    "pulse": ("300us", "Length of a single test pulse."),
    "duration": ("5s", "How long the current flowed before you read, by the clock."),
    "vth": ("1.90V", "Threshold as measured, gate joined to drain, at the data sheet's small current."),
    "gate_capacitance": ("1.9nF", "Capacitance from gate to source as measured, drain joined to source."),
    "breakdown": ("58.0V", "Drain–source voltage at which a small current flows, gate joined to source."),
    "contacts": ("2", "How many contacts in series lay between the points that the meter touched; 1 if not given."),
    "package": ("TO-220", "Package that it is in, where the catalogue does not say."),
    "hot_exponent": ("1.65", "Exponent of the on-resistance with temperature, where the data sheet gives it."),
    "claimed_on_resistance": ("8mohm", "What its data sheet claims at that gate voltage, in place of the catalogue's."),
    "claimed_threshold": ("1..2.5V", "Threshold that its data sheet claims."),
    "claimed_capacitance": ("1.9nF", "Input capacitance that its data sheet claims."),
    "claimed_breakdown": ("55V", "VDS that its data sheet claims."),
    "claimed_contact": ("2mohm", "Greatest contact resistance that its data sheet claims."),
    "claimed_resistance": ("10mohm..50mohm", "Rmin to R1max that its data sheet claims."),
    "volt_meter": ("0.5%+3", "Accuracy of the voltmeter: of the reading, and counts. One hand-held is assumed."),
    "ammeter": ("1%+5", "Accuracy of the ammeter."),
    "ohm_meter": ("0.8%+3", "Accuracy of the ohm-meter."),
    "capacitance_meter": ("2%+5", "Accuracy of the capacitance meter."),
    "ambient": ("40degC", "Air round the part in its box, for what it carries; 40 °C is assumed."),
    "heatsink": ("15K/W", "Thermal resistance of its heat sink, sink to air."),
    "supply": ("12V", "Supply that feeds the load."),
    "marked": ("1.6ohm", "Resistance that its marking claims."),
    "tolerance": ("5%", "Tolerance of the marking; 10 % is assumed."),
    "warm": ("60degC", "Temperature of the load when warm."),
}
_CHOICES: Final[dict[str, tuple[tuple[str, ...], str]]] = {
    "marking": (("agrees", "differs"), "How the marking looks beside the data sheet, under a lens."),
    "outline": (("agrees", "differs"), "How package and pins look beside the data sheet's drawing."),
    "material": (("copper", "nichrome", "tungsten"), "What the load is made of, for its resistance when warm."),
}
_METERS: Final = ("volt_meter", "ammeter")
#: Kind → its options, in the order of the help.
_OF: Final[dict[str, tuple[str, ...]]] = {
    "transistor": (
        "drop", "current", "gate", "temp", "leads", "pulse", "duration", "vth", "gate_capacitance", "breakdown",
        "marking", "outline", "package", "hot_exponent", "claimed_on_resistance", "claimed_threshold",
        "claimed_capacitance", "claimed_breakdown", *_METERS, "capacitance_meter", "ambient", "heatsink", "supply",
    ),
    "connector": ("drop", "current", "reading", "leads", "contacts", "claimed_contact", *_METERS, "ohm_meter"),
    "fuse": ("drop", "current", "reading", "leads", "claimed_resistance", *_METERS, "ohm_meter"),
    "load": (
        "marked", "reading", "drop", "current", "leads", "supply", "tolerance", "temp", "material", "warm", *_METERS,
        "ohm_meter",
    ),
}  # fmt: skip


def _option(name: str) -> click.Option:
    words = "--" + name.replace("_", "-")
    if name in _CHOICES:
        choices, said = _CHOICES[name]
        return click.Option([words, name], type=click.Choice(choices), help=said)
    example, said = _OPTIONS[name]
    return click.Option([words, name], metavar=example, help=said)


def _parameters(kind: str) -> list[click.Parameter]:
    found: list[click.Parameter] = []
    if kind != "load":
        found.append(click.Argument(["part"], metavar="[PART]", required=False))
    found += [_option(name) for name in _OF[kind]]
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
    readings: dict[str, str | None] = {name: given.get(name) for name in _OF[kind]}
    from loadworthy.bench import measure  # noqa: PLC0415 - brings numpy in, which help needs not

    with _catalog(path, kind, keep=keep) as catalog:
        found = measure(kind, readings, part=part, maker=maker, catalog=catalog, kelvin=kelvin, samples=samples)
        # The board's file first: where that cannot be, nothing is kept that a second run would keep again.
        put = None if into is None else _put(found, into, link)
        if whose is not None and catalog is not None:
            from loadworthy.bench.records import keep_records, stranger_note  # noqa: PLC0415 - as above

            kept = keep_records(catalog, found, supplier=whose[0], measured_on=whose[1])
            talk(f"Figures kept in the catalogue: {kept}.")
            if stranger := stranger_note(catalog, whose[0]):
                talk(stranger)
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
    from loadworthy.catalog.store import Catalog  # noqa: PLC0415 - brings DuckDB in

    with Catalog.open(catalog_place(path), read_only=False) as catalog:
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
