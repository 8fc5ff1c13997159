"""What may stand in a board file: one place for keys, units, bounds and words.

:mod:`~loadworthy.boards.reading` reads by these tables, and :func:`described` makes the documentation from them.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from loadworthy.boards import model

__all__ = ["KINDS", "STAYS", "TABLES", "Key", "Table", "described", "field_of"]

_ENDINGS: Final = {
    "V": "_v", "A": "_a", "W": "_w", "ohm": "_ohm", "degC": "_degc", "K": "_k", "K/W": "_k_per_w", "Hz": "_hz",
    "s": "_s", "C": "_c", "J": "_j", "H": "_h", "m": "_m", "m2": "_m2", "1": "",
}  # fmt: skip
#: No ordinary circuit board and no air round one is outside these (common practice).
_COLDEST: Final = -55.0
_HOTTEST: Final = 100.0


@dataclass(frozen=True, kw_only=True)
class Key:
    """One key of a table.

    Attributes
    ----------
    name
        As it stands in the file.
    words
        What it means, in a sentence.
    example
        How its value is written.
    shape
        ``quantity``, ``text``, ``flag``, ``count``, ``curve`` (temperatures with currents), ``gauge`` or ``copper``.
    unit
        The SI unit of a quantity.
    required
        Whether it must be there.
    choices
        The texts that it can be.
    above, least, most
        Bounds in the unit.
    """

    name: str
    words: str
    example: str
    shape: str = "quantity"
    unit: str | None = None
    required: bool = False
    choices: tuple[str, ...] = ()
    above: float = -math.inf
    least: float = -math.inf
    most: float = math.inf


@dataclass(frozen=True, kw_only=True)
class Table:
    """One table of the file.

    Attributes
    ----------
    title
        How it is headed in the file.
    keys
        What may stand in it.
    tables
        The tables that may stand in it.
    one_of
        Of each group of keys exactly one must be given.
    some_of
        Of each group of keys one at least must be given; a catalogue number will do in their place.
    apart
        Pairs of keys that contradict each other: the better of the two must not count in silence.
    """

    title: str
    keys: tuple[Key, ...]
    tables: tuple[str, ...] = ()
    one_of: tuple[tuple[str, ...], ...] = ()
    some_of: tuple[tuple[str, ...], ...] = ()
    apart: tuple[tuple[str, str], ...] = ()

    def key(self, name: str) -> Key | None:
        """Return the key of that name."""
        return next((key for key in self.keys if key.name == name), None)


def field_of(key: Key) -> str:
    """Name the field of the model that holds a key's value.

    Examples
    --------
    >>> field_of(TABLES["supply"].keys[0]), field_of(TABLES["output"].keys[0])
    ('voltage_v', 'name')
    """
    if key.shape == "copper":
        return f"{key.name}_m"
    return key.name + (_ENDINGS[key.unit] if key.shape == "quantity" and key.unit else "")


def _quantity(name: str, unit: str, example: str, words: str, **more: float | bool) -> Key:
    bounds = {"above": 0.0} if not {"above", "least"} & set(more) else {}
    return Key(name=name, unit=unit, example=example, words=words, **{**bounds, **more})  # type: ignore[arg-type]


def _degrees(name: str, example: str, words: str, *, least: float = _COLDEST, most: float = 300.0) -> Key:
    return Key(name=name, unit="degC", example=example, words=words, least=least, most=most)


def _text(name: str, example: str, words: str, *, choices: tuple[str, ...] = (), required: bool = False) -> Key:
    return Key(name=name, shape="text", example=example, words=words, choices=choices, required=required)


_PART: Final = (
    _text("part", "QX-100", "Catalogue number of the part; figures that stand here count before the catalogue's."),
    _text("maker", "Quillmark", "Its maker, where several makers use the number."),
)
_LINK: Final = (
    _text("kind", "trace", "What kind of link it is.", required=True),
    _text("name", "inlet terminal", "What it is called; kind and number if not given."),
)

_CONNECTOR: Final = (
    _quantity("rated_current", "A", "16A", "Rated current of one contact."),
    _quantity("rated_current_ul", "A", "15A", "Rating by the UL test; with one by the IEC test the lesser counts."),
    _quantity("rated_current_iec", "A", "16A", "Rating by the IEC test."),
    _text("basis", "IEC", "Which test the rated current is from.", choices=("UL", "IEC")),
    _degrees("rated_at", "20degC", "Air at which the rated current holds; 20 °C is assumed."),
    _degrees("limit", "105degC", "Greatest temperature of the connector; 105 °C is assumed."),
    Key(
        name="derating", shape="curve", example='[["20degC", "11.1A"], ["60degC", "8.6A"]]',
        words="The maker's base curve of current against the air, without the 80 %.",
    ),
    _quantity("contact_resistance", "ohm", "3mohm", "Resistance of one contact.", least=0.0),
    Key(
        name="contacts", shape="count", example="2", least=1, most=100,
        words="Contacts that the current passes; 2, out and back, are assumed.",
    ),
    Key(name="poles", shape="count", example="2", least=1, most=200, words="Poles of the connector."),
    _quantity("pitch", "m", "5.08mm", "Distance between poles."),
    _text("mount", "through-hole", "How it is mounted."),
    _text("wire", "2.5mm2", "What wire it takes."),
    Key(
        name="unmarked", shape="flag", example="true",
        words="Nothing is known of its rating: it counts as 5 A.",
    ),
    _quantity("unmarked_current", "A", "8A", "What an unmarked one is taken for in place of 5 A; never above 10 A.",
              above=0.0, most=10.0),
)  # fmt: skip

_FUSE: Final = (
    _text("type", "one-shot", "Whether it melts or resets itself.", choices=("one-shot", "resettable"), required=True),
    _quantity("rating", "A", "10A", "Rated current of a one-shot fuse."),
    _text("standard", "UL", "What its rating means: UL 75 % continuous, IEC 100 %, blade by its maker's table.",
          choices=("UL", "IEC", "blade")),
    _quantity("rated_voltage", "V", "32V", "Greatest voltage that it can interrupt."),
    _quantity("breaking_capacity", "A", "1kA", "Greatest current that a one-shot fuse can interrupt."),
    Key(
        name="by_temperature", shape="curve", example='[["20degC", "10A"], ["65degC", "8A"]]',
        words="The maker's table of continuous current against the air; its margin is inside.",
    ),
    _quantity("hold", "A", "5A", "Current that a resettable fuse holds at 20 to 25 °C."),
    _quantity("trip", "A", "10A", "Current at which a resettable fuse surely trips at 20 to 25 °C."),
    Key(
        name="hold_by_temperature", shape="curve", example='[["20degC", "5A"], ["60degC", "3.4A"]]',
        words="Hold current of a resettable fuse against the air.",
    ),
    _quantity("resistance", "ohm", "50mohm", "Its resistance; of a resettable fuse the greatest after a trip (R1max).",
              least=0.0),
    _quantity("most_current", "A", "40A", "Greatest fault current that a resettable fuse survives (Imax)."),
)  # fmt: skip

_TRACE: Final = (
    _quantity("width", "m", "5mm", "Width of the narrowest place.", above=0.0, most=1.0, required=True),
    Key(name="thickness", shape="copper", example="35um", words="Thickness of the copper.", above=0.0, most=2e-3),
    Key(name="copper", shape="copper", example="1oz", words="Copper a square foot, in place of the thickness.",
        above=0.0, most=2e-3),
    _quantity("length", "m", "60mm", "Length; out and back if both are as wide.", above=0.0, most=10.0, required=True),
    _text("layer", "outer", "Whether the copper lies on the outside or within the board.", choices=("outer", "inner"),
          required=True),
    _quantity("rise", "K", "20K", "Rise of temperature to allow; 20 K is assumed.", above=0.0, most=100.0),
    _quantity("parallel_wire", "m2", "2.5mm2", "Cross-section of a wire soldered along it, end to end.",
              above=0.0, most=1e-3),
)  # fmt: skip

_WIRE: Final = (
    Key(name="gauge", shape="gauge", example="14AWG", words="American wire gauge."),
    _quantity("area", "m2", "2.5mm2", "Cross-section of the copper.", above=0.0, most=1e-3),
    _quantity("length", "m", "3m", "All the copper that the current passes: the way out and the way back.",
              above=0.0, most=1000.0, required=True),
    _text("strand", "class 5", "How the conductor is made (IEC 60228).", choices=("solid", "class 2", "class 5")),
    _degrees("insulation_limit", "70degC", "Greatest temperature of the insulation; 70 °C is assumed.", least=40.0),
    _quantity("outer_diameter", "m", "3.6mm", "Diameter over the insulation; 0.8 mm of insulation is assumed.",
              above=0.0, most=0.1),
)  # fmt: skip

_TRANSISTOR: Final = (
    _quantity("on_resistance", "ohm", "8mohm", "Greatest on-resistance at 25 °C, specified at this drive."),
    _quantity("measured_on_resistance", "ohm", "40mohm", "The same as measured; counts before the data sheet's."),
    _quantity("hot_exponent", "1", "1.65", "Exponent of its rise with temperature; assumed from VDS if not given.",
              least=0.0, most=4.0),
    _quantity("vds", "V", "40V", "Greatest drain–source voltage."),
    _text("package", "TO-220", "Package; its thermal figures are fallen back on."),
    _quantity("rthja", "K/W", "62K/W", "Thermal resistance from junction to still air, as mounted."),
    _quantity("rthjc", "K/W", "1.5K/W", "Thermal resistance from junction to case, with a heat sink.", least=0.0),
    _quantity("rthcs", "K/W", "0.5K/W", "Thermal resistance from case to sink, with a heat sink.", least=0.0),
    _quantity("heatsink", "K/W", "15K/W", "Thermal resistance of the heat sink, sink to air."),
    _quantity("pad", "K/W", "0.6K/W", "Thermal resistance of an insulating pad under it.", least=0.0),
    _degrees("junction_max", "150degC", "Rated maximum of the junction; 150 °C is assumed.", least=70.0),
    _quantity("current_rating", "A", "60A", "Continuous drain current at a 25 °C case."),
    _quantity("pulse_rating", "A", "240A", "Pulsed drain current."),
    _quantity("avalanche", "J", "100mJ", "Avalanche energy, single pulse."),
    _quantity("drive", "V", "5V", "Voltage at its gate when on.", above=0.0, most=30.0),
    _quantity("rise_time", "s", "40ns", "Time to turn on."),
    _quantity("fall_time", "s", "30ns", "Time to turn off."),
    _quantity("gate_drain_charge", "C", "12nC", "Gate–drain charge Qgd, for the switching loss."),
    _quantity("gate_resistance", "ohm", "125ohm", "All resistance between the driver's voltage and the gate."),
    _quantity("plateau", "V", "2.8V", "Gate voltage of the plateau at the load's current."),
)  # fmt: skip

_PLAIN: Final = (
    _quantity("rated_current", "A", "10A", "What it may carry."),
    _quantity("resistance", "ohm", "2mohm", "Its resistance.", least=0.0),
)

#: Every table of the file, by its name.
TABLES: Final[dict[str, Table]] = {
    "board": Table(
        title="(top)",
        keys=(_text("title", "Propagation bench controller", "What the board is called.", required=True),),
        tables=("supply", "surroundings", "section", "output"),
    ),
    "supply": Table(
        title="[supply]",
        keys=(
            _quantity("voltage", "V", "12V", "Voltage of the supply.", above=0.0, most=120.0, required=True),
            _quantity("tolerance", "1", "5%", "How far it may be off; the high end counts for currents.",
                      least=0.0, most=0.5),
            _quantity("most_current", "A", "25A", "What it can give into a fault."),
        ),
    ),
    "surroundings": Table(
        title="[surroundings]",
        keys=(
            Key(name="ambient", unit="degC", example="40degC", words="Hottest air round the board, in its box.",
                required=True, least=_COLDEST, most=_HOTTEST),
            _degrees("coldest", "5degC", "Coldest air round the board, for the fuses; 0 °C is assumed.", most=_HOTTEST),
        ),
    ),
    "section": Table(
        title="[[section]]",
        keys=(
            _text("name", "inlet", "What it is called.", required=True),
            _text("fed_by", "main", "The section that feeds it; the supply if not given."),
            _quantity("diversity", "1", "80%", "Share of the sum of the loads that flows at once; 100 % is assumed.",
                      above=0.0, most=1.0),
        ),
        tables=("link",),
    ),
    "output": Table(
        title="[[output]]",
        keys=(
            _text("name", "mat 1", "What it is called.", required=True),
            _text("fed_by", "inlet", "The section that feeds it; the supply if not given."),
        ),
        tables=("load", "freewheel", "link"),
    ),
    "load": Table(
        title="[output.load]",
        keys=(
            _text("kind", "resistive", "What it is.", choices=("resistive", "inductive", "lamp"), required=True),
            _quantity("resistance", "ohm", "1.6ohm", "Its resistance when warm."),
            _quantity("power", "W", "90W", "Its power at the nominal supply."),
            _quantity("current", "A", "7.5A", "Its greatest current."),
            _quantity("tolerance", "1", "5%", "Tolerance of its resistance or power.", least=0.0, most=0.9),
            _quantity("cold_resistance", "ohm", "1.4ohm", "Its resistance cold, as measured at 20 °C."),
            _quantity("inductance", "H", "3mH", "Its inductance."),
            _quantity("pwm", "Hz", "500Hz", "Frequency at which it is switched.", least=20.0, most=1e7),
            _quantity("duty", "1", "50%", "Share of the time that it is on; only with pwm.", above=0.0, most=1.0),
        ),
        one_of=(("resistance", "power", "current"),),
    ),
    "freewheel": Table(
        title="[output.freewheel]",
        keys=(
            _quantity("current", "A", "5A", "Forward current of the diode, continuous."),
            _quantity("voltage", "V", "40V", "Reverse voltage of the diode."),
            *_PART,
        ),
        some_of=(("current",), ("voltage",)),
    ),
    "connector": Table(
        title='kind = "connector"',
        keys=(*_LINK, *_CONNECTOR, *_PART),
        some_of=(("rated_current", "rated_current_ul", "rated_current_iec", "derating", "unmarked"),),
        apart=tuple(
            ("unmarked", name) for name in ("rated_current", "rated_current_ul", "rated_current_iec", "derating")
        ),
    ),
    "fuse": Table(title='kind = "fuse"', keys=(*_LINK, *_FUSE, *_PART), some_of=(("rating", "hold"),)),
    "trace": Table(title='kind = "trace"', keys=(*_LINK, *_TRACE), one_of=(("thickness", "copper"),)),
    "wire": Table(title='kind = "wire"', keys=(*_LINK, *_WIRE, *_PART), some_of=(("gauge", "area"),),
                  apart=(("gauge", "area"),)),
    "transistor": Table(
        title='kind = "transistor"',
        keys=(*_LINK, *_TRANSISTOR, *_PART),
        some_of=(("on_resistance", "measured_on_resistance"), ("rthja", "package", "heatsink")),
    ),
    "plain": Table(
        title='kind = "plain"', keys=(*_LINK, *_PLAIN), some_of=(("rated_current",),)
    ),
}  # fmt: skip

#: Kind of link → what it becomes.
KINDS: Final[dict[str, type[model.Link]]] = {
    link.kind: link for link in (model.Connector, model.Fuse, model.Trace, model.Wire, model.Transistor, model.Plain)
}

#: Kind of link → fields of the model that stay when another part takes its place: where it is, and what it is for.
STAYS: Final[dict[str, tuple[str, ...]]] = {
    "connector": ("name", "where", "contacts", "wire"),
    "fuse": ("name", "where"),
    "wire": ("name", "where", "length_m"),
    "transistor": (
        "name", "where", "drive_v", "heatsink_k_per_w", "rthcs_k_per_w", "pad_k_per_w", "gate_resistance_ohm",
    ),
}  # fmt: skip


def described() -> Iterator[dict[str, str]]:
    """Describe every key of a board file, for the documentation.

    Yields
    ------
    dict
        ``table``, ``key``, ``meaning``, ``example`` (as it stands in the file) and ``required``.

    Examples
    --------
    >>> next(row for row in described() if row["key"] == "voltage")["example"]
    '"12V"'
    """
    for table in TABLES.values():
        for key in table.keys:
            quoted = key.shape not in ("curve", "flag", "count")
            choices = f" One of {', '.join(key.choices)}." if key.choices else ""
            yield {
                "table": table.title,
                "key": key.name,
                "meaning": key.words + choices,
                "example": f'"{key.example}"' if quoted else key.example,
                "required": "yes" if key.required else "",
            }
