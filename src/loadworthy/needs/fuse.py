"""What a fuse is needed for: a load, a supply, the air round it, and the weakest link that it is to protect."""

# ruff: noqa: RUF009 - option() makes a dataclass field, as field() does

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any, ClassVar, Final

from loadworthy.criteria import Margin
from loadworthy.needs import cautions, margins
from loadworthy.needs.base import maybe, measured, option, several, twelve
from loadworthy.needs.loads import LoadNeed
from loadworthy.quantities import Measure, show
from loadworthy.statements import Parameter

__all__ = ["FuseNeed"]

_PROFILE: Final = "workshop"
_ASSUMED_COLDEST_DEGC: Final = 5.0
_WORDS: Final = {
    "type": ("resettable", "one-shot"),
    "standard": ("UL", "IEC", "blade"),
    "mount": ("holder", "wired", "surface", "bolted"),
}
#: Criteria that are judged by only where the option of the same meaning is given.
_ASKED_BY: Final = {
    "mount": "mount",
    "standard": "standard",
    "opens": "weakest",
    "fault": "fault",
    "drop": "max_drop",
}
_ALWAYS_ASKED: Final = ("type", "voltage", "warmth", "carries")


def _folded(size: str) -> str:
    """Bring a size to the form in which the query compares sizes.

    Examples
    --------
    >>> _folded("5 × 20 mm"), _folded("Mini-Blade"), _folded("5x20")
    ('5x20', 'miniblade', '5x20')
    """
    return re.sub("mm$", "", re.sub("[^a-z0-9äöü]", "", size.lower().replace("×", "x")))


@dataclass(frozen=True, kw_only=True)
class FuseNeed(LoadNeed):
    """A fuse between a low-voltage supply and a load, that carries the load and opens before something else gives in.

    Quantities are texts with their unit, or pint quantities. Exactly one of current, resistance and power
    says what the load draws.

    Examples
    --------
    >>> need = FuseNeed(supply="12V", current="7.5A", weakest="12A")
    >>> need.parameters()["voltage_least_v"], need.parameters()["coldest_degc"]
    (12.0, 5.0)
    >>> "opens" in need.asked(), "fault" in need.asked()
    (True, False)
    """

    family: ClassVar[str] = "fuse"
    ranked_by: ClassVar[str] = "how close above the load they carry, then by the heat they make"
    examples: ClassVar[tuple[str, ...]] = (
        "--supply 12V --current 7.5A",
        "--supply 12V --current 7.5A --weakest 12A --fault 30A --type one-shot --standard blade",
        "--supply 24V --power 60W --type resettable --ambient 50degC --coldest 0degC --max-drop 0.2V",
    )

    supply_tolerance: Measure = option(
        "Tolerance of the supply; its high end counts.", default="0%", unit="1", example="5%"
    )
    cold_resistance: Measure | None = option(
        "Resistance of the load when cold, for the inrush current.", default=None, unit="ohm", example="0.4ohm"
    )
    ambient: Measure = option(
        "Hottest air round the fuse, in its box.", default="40degC", unit="degC", example="50degC"
    )
    coldest: Measure | None = option(
        "Coldest air round the fuse; 5 °C is assumed where it matters.", default=None, unit="degC", example="-10degC"
    )
    type: str | None = option("Kind of fuse.", default=None, choices=_WORDS["type"])
    weakest: Measure | None = option(
        "Current that the weakest link behind the fuse stands for good.", default=None, unit="A", example="12A"
    )
    fault: Measure | None = option(
        "Greatest current that a short circuit drives.", default=None, unit="A", example="30A"
    )
    max_drop: Measure | None = option("Most voltage that the fuse may take.", default=None, unit="V", example="0.2V")
    standard: str | None = option(
        "Standard that it is tested to; blade is ISO 8820-3.", default=None, choices=_WORDS["standard"]
    )
    package: tuple[str, ...] = option("Size, as lists write it.", default=(), example="5x20mm")
    mount: str | None = option("How it is mounted.", default=None, choices=_WORDS["mount"])
    voltage_margin: Measure | None = option(
        "The rated voltage is at least this × the supply's highest.", default=None, unit="1", example="1.25"
    )
    carry_margin: Measure | None = option(
        "What it carries for good is at least this × the load's current.", default=None, unit="1", example="1.1"
    )

    @cached_property
    def _read(self) -> dict[str, float]:
        """What else is always known, in SI units."""
        ambient = measured("ambient", self.ambient, "degC", least=-55.0, most=125.0)
        coldest = maybe("coldest", self.coldest, "degC", least=-55.0, most=ambient)
        return {
            "supply_v": self._load["supply_v"] or 0.0,
            "current_a": self._load["current_a"] or 0.0,
            "supply_tolerance": measured("supply_tolerance", self.supply_tolerance, "1", least=0.0, most=0.5),
            "ambient_degc": ambient,
            "coldest_degc": min(_ASSUMED_COLDEST_DEGC, ambient) if coldest is None else coldest,
        }

    @cached_property
    def _limits(self) -> dict[str, float | None]:
        """What the fuse is held against only where it was given, in SI units."""
        return {
            "weakest_a": maybe("weakest", self.weakest, "A", above=0.0),
            "fault_a": maybe("fault", self.fault, "A", above=0.0),
            "max_drop_v": maybe("max_drop", self.max_drop, "V", above=0.0),
        }

    @cached_property
    def _margins(self) -> dict[str, Margin]:
        return margins.taken(self, _PROFILE)

    @cached_property
    def _sizes(self) -> Sequence[str]:
        return several("package", self.package)

    @cached_property
    def _parameters(self) -> dict[str, Parameter]:
        read = self._read
        margin = {name: row.value for name, row in self._margins.items()}
        highest_v = read["supply_v"] * (1.0 + read["supply_tolerance"])
        return {
            **read,
            **self._limits,
            **self.shared_parameters,
            **margin,
            # The fuse has a resistance of its own, and the query gives it that name.
            "load_ohm": self._load["resistance_ohm"],
            "power_w": self._load["power_w"],
            "tolerance": self._load["tolerance"],
            "inrush_a": self._load["inrush_a"],
            "type": self.type,
            "standard": self.standard,
            "mount": self.mount,
            "package": tuple(_folded(size) for size in self._sizes),
            "package_count": len(self._sizes),
            "voltage_least_v": twelve(margin["voltage_margin"] * highest_v),
            "carry_least_a": twelve(margin["carry_margin"] * read["current_a"]),
        }

    def as_json(self) -> dict[str, Any]:
        """Return the need as plain values, with the SI units in the names."""
        read, load = self._read, self._load
        return {
            **self._load_json(),
            "supply_tolerance": read["supply_tolerance"],
            "cold_resistance_ohm": load["cold_resistance_ohm"],
            "inrush_a": load["inrush_a"],
            "ambient_degc": read["ambient_degc"],
            "coldest_degc": read["coldest_degc"] if self.weakest is not None else None,
            **self._limits,
            "type": self.type,
            "standard": self.standard,
            "package": list(self._sizes),
            "mount": self.mount,
            **self.shared_json(),
            **margins.given(self, _PROFILE),
        }

    def asked(self) -> tuple[str, ...]:
        """Return the criteria that this need judges by, in order."""
        names = set(_ALWAYS_ASKED)
        names |= {name for name, field in _ASKED_BY.items() if getattr(self, field) is not None}
        names |= {"package"} if self._sizes else set()
        names |= {"offer"} if self.asks_for_offer else set()
        return self._in_order(names)

    def limit_sources(self) -> Mapping[str, str]:
        """Return where the limit of a criterion comes from, by its name."""
        return {
            "voltage": self._margins["voltage_margin"].source,
            "carries": self._margins["carry_margin"].source
            + "; UL 75 %, IEC 100 % of the rating: a fuse maker's comparison",
        }

    def assumptions(self) -> tuple[str, ...]:
        """Return what was assumed of the need itself."""
        if self.weakest is None or self.coldest is not None:
            return ()
        return (f"coldest air {show(self._read['coldest_degc'], 'degC')}",)

    def symbols(self) -> frozenset[str]:
        """Return the letter symbols of the figures that this need looks at."""
        used = {"Ihold", "In", "Icont", "Vmax", "Vmax DC", "Tmax", "R1max", "ttrip"}
        used |= {"Itrip"} if self.weakest is not None else set()
        used |= {"Imax", "Icn"} if self.fault is not None else set()
        return frozenset(used)

    def cautions(self) -> tuple[str, ...]:
        """Return what to mind, for the people who will use the part."""
        said = [cautions.LOW_VOLTAGE_ONLY]
        said += [cautions.ABOVE_60_V] if self._read["supply_v"] > 60.0 else []
        said += [cautions.FUSE_PROTECTS_WIRING, cautions.NO_LARGER_FUSE]
        said += [cautions.TRIPPED_IS_NOT_OFF] if self.type != "one-shot" else []
        said += [cautions.CHANGE_WHEN_OFF] if self.type != "resettable" else []
        said += [cautions.SHORT_CIRCUIT] if self.fault is None else [cautions.FAULT_LIMITED]
        said += [cautions.WEAKEST_LINK] if self.weakest is None else []
        said += [cautions.PAPER_FIGURES]
        said += margins.less_careful(self, _PROFILE)
        return tuple(said)
