"""What may be said of a measurement, by kind: readings, claims, meters, how each is written and what it is."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

__all__ = ["GROUPS", "KINDS", "READINGS", "Said", "said_of"]

#: What is measured.
KINDS: Final = ("transistor", "connector", "fuse", "load")
#: Group of what may be said → its words, in the order in which one is asked.
GROUPS: Final[dict[str, str]] = {
    "reading": "The reading",
    "beside": "What else was looked at",
    "claim": "What its data sheet claims, in place of the catalogue",
    "meter": "The meters, as their data sheets say them",
    "use": "Where it is to work",
}


@dataclass(frozen=True, kw_only=True)
class Said:
    """One thing that may be said.

    Attributes
    ----------
    name
        What it is called.
    example
        How one writes it.
    words
        What it is.
    group
        One of :data:`GROUPS`.
    choices
        The words to choose from; nothing where any quantity will do.
    """

    name: str
    words: str
    group: str
    example: str = ""
    choices: tuple[str, ...] = ()


def _quantity(name: str, example: str, words: str, group: str) -> Said:
    return Said(name=name, example=example, words=words, group=group)


_LOOKED: Final = ("agrees", "differs")
_EVERY: Final = (
    _quantity("drop", "96.0mV", "Voltage that the current drops, as the meter shows it: all its digits.", "reading"),
    _quantity("current", "6.00A", "Current through it, as the meter shows it.", "reading"),
    _quantity("reading", "1.40ohm", "Resistance as an ohm-meter shows it, in place of drop and current.", "reading"),
    _quantity("gate", "5V", "Voltage between gate and source during the test.", "reading"),
    _quantity("temp", "24degC", "Temperature of the part before the test; a room of 23 °C is assumed.", "reading"),
    _quantity(
        "leads",
        "3mohm",
        "Resistance of the leads, read with their tips together, to take off a two-wire reading.",
        "reading",
    ),
    _quantity("pulse", "300us", "Length of a single test pulse.", "reading"),
    _quantity("duration", "5s", "How long the current flowed before you read, by the clock.", "reading"),
    _quantity(
        "vth", "1.90V", "Threshold as measured, gate joined to drain, at the data sheet's small current.", "beside"
    ),
    _quantity(
        "gate_capacitance",
        "1.9nF",
        "Capacitance from gate to source as measured, drain joined to source.",
        "beside",
    ),
    _quantity(
        "breakdown",
        "58.0V",
        "Drain–source voltage at which a small current flows, gate joined to source.",
        "beside",
    ),
    _quantity(
        "contacts",
        "2",
        "How many contacts in series lay between the points that the meter touched; 1 if not given.",
        "reading",
    ),
    _quantity("package", "TO-220", "Package that it is in, where the catalogue does not say.", "claim"),
    _quantity(
        "hot_exponent",
        "1.65",
        "Exponent of the on-resistance with temperature, where the data sheet gives it.",
        "claim",
    ),
    _quantity(
        "claimed_on_resistance",
        "8mohm",
        "What its data sheet claims at that gate voltage, in place of the catalogue's.",
        "claim",
    ),
    _quantity("claimed_threshold", "1..2.5V", "Threshold that its data sheet claims.", "claim"),
    _quantity("claimed_capacitance", "1.9nF", "Input capacitance that its data sheet claims.", "claim"),
    _quantity("claimed_breakdown", "55V", "VDS that its data sheet claims.", "claim"),
    _quantity("claimed_contact", "2mohm", "Greatest contact resistance that its data sheet claims.", "claim"),
    _quantity("claimed_resistance", "10mohm..50mohm", "Rmin to R1max that its data sheet claims.", "claim"),
    _quantity(
        "volt_meter",
        "0.5%+3",
        "Accuracy of the voltmeter: of the reading, and counts. One hand-held is assumed.",
        "meter",
    ),
    _quantity("ammeter", "1%+5", "Accuracy of the ammeter.", "meter"),
    _quantity("ohm_meter", "0.8%+3", "Accuracy of the ohm-meter.", "meter"),
    _quantity("capacitance_meter", "2%+5", "Accuracy of the capacitance meter.", "meter"),
    _quantity("ambient", "40degC", "Air round the part in its box, for what it carries; 40 °C is assumed.", "use"),
    _quantity("heatsink", "15K/W", "Thermal resistance of its heat sink, sink to air.", "use"),
    _quantity("supply", "12V", "Supply that feeds the load.", "use"),
    _quantity("marked", "1.6ohm", "Resistance that its marking claims.", "reading"),
    _quantity("tolerance", "5%", "Tolerance of the marking; 10 % is assumed.", "claim"),
    _quantity("warm", "60degC", "Temperature of the load when warm.", "use"),
    Said(
        name="marking",
        choices=_LOOKED,
        words="How the marking looks beside the data sheet, under a lens.",
        group="beside",
    ),
    Said(
        name="outline",
        choices=_LOOKED,
        words="How package and pins look beside the data sheet's drawing.",
        group="beside",
    ),
    Said(
        name="material",
        choices=("copper", "nichrome", "tungsten"),
        words="What the load is made of, for its resistance when warm.",
        group="use",
    ),
)
_BY_NAME: Final = {one.name: one for one in _EVERY}
_METERS: Final = ("volt_meter", "ammeter")
#: Kind → what may be said, in the order of the help.
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
#: Kind → the readings of one sample.
READINGS: Final[dict[str, frozenset[str]]] = {
    "transistor": frozenset(
        {"drop", "current", "gate", "temp", "leads", "pulse", "duration", "vth", "gate_capacitance", "breakdown",
         "marking", "outline"}
    ),
    "connector": frozenset({"drop", "current", "reading", "leads", "contacts"}),
    "fuse": frozenset({"drop", "current", "reading", "leads"}),
    "load": frozenset({"drop", "current", "reading", "leads", "temp"}),
}  # fmt: skip


def said_of(kind: str) -> tuple[Said, ...]:
    """Return what may be said of a measurement, in the order of the help.

    Examples
    --------
    >>> [one.name for one in said_of("fuse")][:3], said_of("load")[0].example
    (['drop', 'current', 'reading'], '1.6ohm')
    """
    # A load is asked for its supply at once: what it draws is what it is measured for.
    first = {"supply"} if kind == "load" else set()
    return tuple(replace(_BY_NAME[name], group="reading") if name in first else _BY_NAME[name] for name in _OF[kind])
