"""What a wire is needed for: a load at the end of a run, a supply, and the air round it."""

# ruff: noqa: RUF009 - option() makes a dataclass field, as field() does

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any, ClassVar, Final

from loadworthy.criteria import Margin
from loadworthy.errors import UsageError
from loadworthy.needs import cautions, margins
from loadworthy.needs.base import maybe, measured, option, twelve
from loadworthy.needs.loads import LoadNeed
from loadworthy.quantities import Measure
from loadworthy.statements import Parameter

__all__ = ["WireNeed"]

_PROFILE: Final = "workshop"
_STRANDS: Final = ("solid", "stranded", "fine")
_ALWAYS_ASKED: Final = ("voltage", "heat", "drop")
#: A drop of so much of the supply is common practice for a load's whole run.
_USUAL_DROP: Final = 0.03
_ASSUMED_LIMIT_DEGC: Final = 70.0


@dataclass(frozen=True, kw_only=True)
class WireNeed(LoadNeed):
    """A pair of wires, there and back, between a low-voltage supply and a load.

    Quantities are texts with their unit, or pint quantities. Exactly one of current, resistance and power
    says what the load draws; the length is the distance, one way.

    Examples
    --------
    >>> need = WireNeed(supply="12V", current="8A", length="3m")
    >>> need.parameters()["max_drop_v"], need.parameters()["length_m"]
    (0.36, 3.0)
    """

    family: ClassVar[str] = "wire"
    ranked_by: ClassVar[str] = "the least copper that does, then by the heat they make"
    examples: ClassVar[tuple[str, ...]] = (
        "--supply 12V --current 8A --length 3m",
        "--supply 12V --current 8A --length 3m --strand stranded --min-area 0.5mm2 --max-area 2.5mm2",
        "--supply 24V --power 60W --length 12m --max-drop 5% --ambient 50degC",
    )

    length: Measure = option("Distance from supply to load, one way.", unit="m", example="3m")
    max_drop: Measure | None = option(
        "Most of the supply's voltage that both conductors may take; 3 % where nothing is said.",
        default=None,
        unit="1",
        example="3%",
    )
    max_drop_voltage: Measure | None = option("The same as a voltage.", default=None, unit="V", example="0.4V")
    ambient: Measure = option("Air round the wire.", default="40degC", unit="degC", example="50degC")
    strand: str | None = option("Kind of conductor; fine counts as stranded.", default=None, choices=_STRANDS)
    insulation_limit: Measure | None = option(
        "Temperature that the insulation takes where a list does not say; 70 °C is assumed.",
        default=None,
        unit="degC",
        example="90degC",
    )
    min_area: Measure | None = option("Least cross-section.", default=None, unit="m2", example="0.5mm2")
    max_area: Measure | None = option("Greatest cross-section.", default=None, unit="m2", example="2.5mm2")
    heat_derating: Measure | None = option(
        "The wire stays this far below what its insulation takes.", default=None, unit="K", example="10K"
    )

    def __post_init__(self) -> None:
        """Read everything at once, so that a mistake shows where it is made."""
        super().__post_init__()
        if self.max_drop is not None and self.max_drop_voltage is not None:
            raise UsageError(
                "the drop is limited twice.",
                where="--max-drop, --max-drop-voltage",
                way_out="Give one of them.",
            )
        least, most = self._areas["min_area_m2"], self._areas["max_area_m2"]
        if least is not None and most is not None and least > most:
            raise UsageError(
                "no cross-section is both that great and that small.",
                where="--min-area, --max-area",
                way_out="Give the lesser one as --min-area.",
            )

    @cached_property
    def _areas(self) -> dict[str, float | None]:
        return {
            "min_area_m2": maybe("min_area", self.min_area, "m2", above=0.0),
            "max_area_m2": maybe("max_area", self.max_area, "m2", above=0.0),
        }

    @cached_property
    def _margins(self) -> dict[str, Margin]:
        return margins.taken(self, _PROFILE)

    @cached_property
    def _read(self) -> dict[str, float]:
        """What is always known, in SI units."""
        supply_v = self._load["supply_v"] or 0.0
        limit = maybe("insulation_limit", self.insulation_limit, "degC", least=40.0, most=600.0)
        share = maybe("max_drop", self.max_drop, "1", above=0.0, most=0.5)
        drop_v = maybe("max_drop_voltage", self.max_drop_voltage, "V", above=0.0, most=supply_v)
        return {
            "supply_v": supply_v,
            "current_a": self._load["current_a"] or 0.0,
            "length_m": measured("length", self.length, "m", above=0.0, most=1e4),
            "max_drop_v": twelve(supply_v * (_USUAL_DROP if share is None else share)) if drop_v is None else drop_v,
            "ambient_degc": measured("ambient", self.ambient, "degC", least=-55.0, most=200.0),
            "limit_assumed_degc": _ASSUMED_LIMIT_DEGC if limit is None else limit,
        }

    @cached_property
    def _parameters(self) -> dict[str, Parameter]:
        from loadworthy.physics import conductors  # noqa: PLC0415 - brings numpy in, which help needs not

        return {
            **self._load,
            **self._read,
            **self._areas,
            **self.shared_parameters,
            "strand": self.strand,
            "film_w_per_m2_k": conductors.STILL_AIR_FILM_W_PER_M2_K,
            "heat_derate_k": self._margins["heat_derating"].value,
        }

    def as_json(self) -> dict[str, Any]:
        """Return the need as plain values, with the SI units in the names."""
        read = self._read
        return {
            **self._load_json(),
            "length_m": read["length_m"],
            "max_drop_v": read["max_drop_v"],
            "ambient_degc": read["ambient_degc"],
            "strand": self.strand,
            "insulation_limit_degc": read["limit_assumed_degc"] if self.insulation_limit is not None else None,
            **self._areas,
            **self.shared_json(),
            **margins.given(self, _PROFILE),
        }

    def asked(self) -> tuple[str, ...]:
        """Return the criteria that this need judges by, in order."""
        names = set(_ALWAYS_ASKED)
        names |= {"strand"} if self.strand is not None else set()
        names |= {"offer"} if self.asks_for_offer else set()
        names |= {"least_size"} if self.min_area is not None else set()
        names |= {"most_size"} if self.max_area is not None else set()
        return self._in_order(names)

    def limit_sources(self) -> Mapping[str, str]:
        """Return where the limit of a criterion comes from, by its name."""
        drop = "common practice: at most 3 % of the supply"
        drop = "as asked by --max-drop" if self.max_drop is not None else drop
        return {
            "heat": self._margins["heat_derating"].source,
            "drop": "as asked by --max-drop-voltage" if self.max_drop_voltage is not None else drop,
        }

    def assumptions(self) -> tuple[str, ...]:
        """Return what was assumed of the need itself."""
        return ()

    def symbols(self) -> frozenset[str]:
        """Return the letter symbols of the figures that this need looks at."""
        return frozenset({"A", "R′", "Tmax", "U", "D"})

    def cautions(self) -> tuple[str, ...]:
        """Return what to mind, for the people who will use the part."""
        said = [cautions.LOW_VOLTAGE_ONLY]
        said += [cautions.ABOVE_60_V] if self._read["supply_v"] > 60.0 else []
        said += [cautions.AMPACITY_IS_LOCAL, cautions.WIRE_NEEDS_A_FUSE, cautions.PAPER_FIGURES]
        said += margins.less_careful(self, _PROFILE)
        return tuple(said)
