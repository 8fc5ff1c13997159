"""A board as its file says it, in SI units: the supply, what is shared, the outputs, and the links of each path.

A figure that nobody gave is None; what is assumed in its place is the laws' business, and they say so.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import ClassVar, TypeAlias

__all__ = [
    "Board",
    "Connector",
    "Curve",
    "Freewheel",
    "Fuse",
    "Link",
    "Load",
    "Output",
    "Plain",
    "Section",
    "Supply",
    "Surroundings",
    "Trace",
    "Transistor",
    "Wire",
]

#: Temperatures in °C, rising, each with a current in A.
Curve: TypeAlias = "tuple[tuple[float, float], ...]"


@dataclass(frozen=True, kw_only=True)
class Supply:
    """What feeds the board."""

    voltage_v: float
    tolerance: float | None = None
    most_current_a: float | None = None

    @property
    def high_v(self) -> float:
        """The high end of the voltage, which counts for currents."""
        return self.voltage_v * (1.0 + (self.tolerance or 0.0))

    @property
    def low_v(self) -> float:
        """The low end of the voltage."""
        return self.voltage_v * (1.0 - (self.tolerance or 0.0))


@dataclass(frozen=True, kw_only=True)
class Surroundings:
    """The air round the board: the hottest that it sees, and the coldest."""

    ambient_degc: float
    coldest_degc: float | None = None

    def coldest(self, assumed_degc: float) -> float:
        """Return the coldest air; where it is not given, what is assumed, or the hottest if that is colder."""
        return min(assumed_degc, self.ambient_degc) if self.coldest_degc is None else self.coldest_degc


@dataclass(frozen=True, kw_only=True)
class Load:
    """What an output feeds; exactly one of resistance, power and current says how much it draws."""

    kind: str
    resistance_ohm: float | None = None
    power_w: float | None = None
    current_a: float | None = None
    tolerance: float | None = None
    cold_resistance_ohm: float | None = None
    inductance_h: float | None = None
    pwm_hz: float | None = None
    duty: float | None = None

    @property
    def share(self) -> float:
        """The tolerance, none where none is given."""
        return self.tolerance or 0.0

    @property
    def on_share(self) -> float:
        """The share of the time that the current flows."""
        return 1.0 if self.duty is None else self.duty


@dataclass(frozen=True, kw_only=True)
class Freewheel:
    """The diode across an inductive load."""

    current_a: float | None = None
    voltage_v: float | None = None
    part: str | None = None
    maker: str | None = None


@dataclass(frozen=True, kw_only=True)
class Link:
    """One thing that the current has to pass.

    Attributes
    ----------
    name
        What people call it; its kind and number where they call it nothing.
    where
        Its place in the board's file, such as ``output[1].link[2]``.
    part, maker
        Which part it is, where that is known.
    """

    kind: ClassVar[str]

    name: str
    where: str
    part: str | None = None
    maker: str | None = None


@dataclass(frozen=True, kw_only=True)
class Connector(Link):
    """A terminal block, a plug with its socket, a pin header."""

    kind: ClassVar[str] = "connector"

    rated_current_a: float | None = None
    rated_current_ul_a: float | None = None
    rated_current_iec_a: float | None = None
    basis: str | None = None
    rated_at_degc: float | None = None
    limit_degc: float | None = None
    derating: Curve | None = None
    contact_resistance_ohm: float | None = None
    contacts: int | None = None
    poles: int | None = None
    pitch_m: float | None = None
    mount: str | None = None
    wire: str | None = None
    unmarked: bool = False
    unmarked_current_a: float | None = None


@dataclass(frozen=True, kw_only=True)
class Fuse(Link):
    """A fuse that melts, or one that resets itself."""

    kind: ClassVar[str] = "fuse"

    type: str
    rating_a: float | None = None
    standard: str | None = None
    rated_voltage_v: float | None = None
    breaking_capacity_a: float | None = None
    by_temperature: Curve | None = None
    hold_a: float | None = None
    trip_a: float | None = None
    hold_by_temperature: Curve | None = None
    resistance_ohm: float | None = None
    most_current_a: float | None = None


@dataclass(frozen=True, kw_only=True)
class Trace(Link):
    """Printed copper, perhaps with a wire soldered along it."""

    kind: ClassVar[str] = "trace"

    width_m: float
    thickness_m: float
    length_m: float
    layer: str
    rise_k: float | None = None
    parallel_wire_m2: float | None = None


@dataclass(frozen=True, kw_only=True)
class Wire(Link):
    """A copper wire; its length is all the copper that the current passes, out and back."""

    kind: ClassVar[str] = "wire"

    gauge: float | None = None
    area_m2: float | None = None
    length_m: float
    strand: str | None = None
    insulation_limit_degc: float | None = None
    outer_diameter_m: float | None = None


@dataclass(frozen=True, kw_only=True)
class Transistor(Link):
    """The power MOSFET that switches the load."""

    kind: ClassVar[str] = "transistor"

    on_resistance_ohm: float | None = None
    measured_on_resistance_ohm: float | None = None
    hot_exponent: float | None = None
    vds_v: float | None = None
    package: str | None = None
    rthja_k_per_w: float | None = None
    rthjc_k_per_w: float | None = None
    rthcs_k_per_w: float | None = None
    heatsink_k_per_w: float | None = None
    pad_k_per_w: float | None = None
    junction_max_degc: float | None = None
    current_rating_a: float | None = None
    pulse_rating_a: float | None = None
    avalanche_j: float | None = None
    drive_v: float | None = None
    rise_time_s: float | None = None
    fall_time_s: float | None = None
    gate_drain_charge_c: float | None = None
    gate_resistance_ohm: float | None = None
    plateau_v: float | None = None


@dataclass(frozen=True, kw_only=True)
class Plain(Link):
    """Anything else that has a resistance and a rating: a relay's contact, a shunt, a switch."""

    kind: ClassVar[str] = "plain"

    rated_current_a: float | None = None
    resistance_ohm: float | None = None


@dataclass(frozen=True, kw_only=True)
class Section:
    """Links that several outputs share."""

    name: str
    fed_by: str | None = None
    diversity: float | None = None
    links: tuple[Link, ...]


@dataclass(frozen=True, kw_only=True)
class Output:
    """One load with the links that serve it alone."""

    name: str
    fed_by: str | None = None
    load: Load
    freewheel: Freewheel | None = None
    links: tuple[Link, ...]


@dataclass(frozen=True, kw_only=True)
class Board:
    """A whole board."""

    title: str
    supply: Supply
    surroundings: Surroundings
    sections: tuple[Section, ...] = ()
    outputs: tuple[Output, ...]

    @cached_property
    def _by_name(self) -> dict[str, Section]:
        return {section.name: section for section in self.sections}

    def section(self, name: str) -> Section:
        """Return the section of that name."""
        return self._by_name[name]

    def feeding(self, fed_by: str | None) -> tuple[Section, ...]:
        """Return the sections that the current passes before, the one at the supply first."""
        way: list[Section] = []
        while fed_by is not None:
            way.append(self.section(fed_by))
            fed_by = way[-1].fed_by
        return tuple(reversed(way))

    def path(self, output: Output) -> tuple[Link, ...]:
        """Return every link of an output's path, from the supply on."""
        shared = (link for section in self.feeding(output.fed_by) for link in section.links)
        return (*shared, *output.links)

    def links(self) -> Iterator[Link]:
        """Give every link once."""
        for section in self.sections:
            yield from section.links
        for output in self.outputs:
            yield from output.links
