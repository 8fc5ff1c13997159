"""What a heat sink is needed for: the heat of one part, the way from its junction to the sink, and the air."""

# ruff: noqa: RUF009 - option() makes a dataclass field, as field() does

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any, ClassVar, Final

from loadworthy.criteria import Margin
from loadworthy.errors import UsageError
from loadworthy.needs import cautions, margins
from loadworthy.needs.base import Need, maybe, measured, option, outlines, twelve
from loadworthy.physics import thermal
from loadworthy.quantities import Measure, show
from loadworthy.statements import Parameter

__all__ = ["HeatsinkNeed"]

_PROFILE: Final = "workshop"
_FIXINGS: Final = ("clip", "screw", "solder", "adhesive")
#: An insulating pad under a TO-220, and under whatever has a tab at least as large (common practice).
_ASSUMED_PAD_K_PER_W: Final = 1.0
_PAD_SIZED: Final = frozenset({"TO-220", "TO-247", "TO-262", "TO-264", "TO-3", "TO-3P"})
#: A metal surface above this burns whoever touches it (common practice).
_TOUCH_DEGC: Final = 60.0
#: Moulded in, or with two leads, a package lies on its sink as its plain sister does.
_SISTER: Final = re.compile(r"(?: full-pack|-2)$")
#: Option → the unit of what it bounds.
_MOST: Final = {"max_height": "m", "max_width": "m", "max_depth": "m", "max_mass": "kg"}


@dataclass(frozen=True, kw_only=True)
class HeatsinkNeed(Need):
    """A heat sink for one part that makes a known amount of heat.

    Quantities are texts with their unit, or pint quantities. What is not told of the way from junction to sink
    comes from the table of packages, on its careful side, and is said to be assumed.

    Examples
    --------
    A textbook's example: 5 W, 150 °C allowed in air of 50 °C, 3 K/W to the case and 1 K/W to the sink.

    >>> need = HeatsinkNeed(loss="5W", junction_limit="150degC", ambient="50degC", rthjc="3K/W", rthcs="1K/W")
    >>> need.parameters()["needed_k_per_w"]
    16.0
    """

    family: ClassVar[str] = "heatsink"
    ranked_by: ClassVar[str] = "what they cost, then by their thermal resistance"
    examples: ClassVar[tuple[str, ...]] = (
        "--loss 3W --rthjc 1.5K/W --rthcs 0.5K/W --package TO-220",
        "--loss 3W --package TO-220 --pad --max-height 25mm --fixing clip",
        "--loss 8W --package TO-247 --ambient 50degC --flow 2m/s --format json",
    )

    loss: Measure = option("Heat that the part makes.", unit="W", example="3W")
    ambient: Measure = option("Air round the sink, in its box.", default="40degC", unit="degC", example="50degC")
    junction_limit: Measure | None = option(
        "Hottest that the junction may get; stay 25 K under its rating. 125 °C where not given.",
        default=None,
        unit="degC",
        example="125degC",
    )
    rthjc: Measure | None = option(
        "Thermal resistance of the part, junction to case; else the package's is assumed.",
        default=None,
        unit="K/W",
        example="1.5K/W",
    )
    rthcs: Measure | None = option(
        "Thermal resistance from case to sink; else the package's with compound is assumed.",
        default=None,
        unit="K/W",
        example="0.5K/W",
    )
    pad: bool = option("An insulating pad lies between case and sink, in place of compound.", default=False)
    pad_resistance: Measure | None = option(
        "Thermal resistance of the pad; 1 K/W is assumed for a TO-220 and what is larger.",
        default=None,
        unit="K/W",
        example="0.8K/W",
    )
    package: tuple[str, ...] = option("Package of the part; common names are understood.", default=(), example="TO-220")
    flow: Measure | None = option(
        "Speed of the air between the fins; else it is still.", default=None, unit="m/s", example="2m/s"
    )
    max_height: Measure | None = option("Greatest height.", default=None, unit="m", example="25mm")
    max_width: Measure | None = option("Greatest width.", default=None, unit="m", example="30mm")
    max_depth: Measure | None = option("Greatest depth.", default=None, unit="m", example="20mm")
    max_mass: Measure | None = option("Greatest mass.", default=None, unit="kg", example="50g")
    fixing: tuple[str, ...] = option("Way of fixing it.", default=(), choices=_FIXINGS)
    trust_figures: bool = option(
        "Let a sink pass that claims more than a box of its size can give to still air.", default=False
    )

    def __post_init__(self) -> None:
        """Read everything at once, so that a mistake shows where it is made."""
        if self.rthcs is not None and self._padded:
            raise UsageError(
                "a pad takes the place of what --rthcs says of the way from case to sink.",
                where="--rthcs",
                way_out="Give the pad with all that lies about it as --pad-resistance alone.",
            )
        super().__post_init__()

    @property
    def _padded(self) -> bool:
        return self.pad or self.pad_resistance is not None

    @cached_property
    def _packages(self) -> tuple[str, ...]:
        return outlines(self.package)

    @cached_property
    def _footprints(self) -> tuple[str, ...]:
        """Every spelling of an outline on which the parts asked for lie, as the query spells them."""
        if not self._packages:
            return ()
        from loadworthy.catalog.packages import packages  # noqa: PLC0415 - only where a package is asked for

        names = {*self._packages, *(_SISTER.sub("", name) for name in self._packages)}
        spelt = [text for one in packages() if one.name in names for text in (one.name, *one.aliases)]
        return tuple(sorted({re.sub(r"[^a-z0-9]", "", text.lower()) for text in spelt}))

    @cached_property
    def _margins(self) -> dict[str, Margin]:
        return margins.taken(self, _PROFILE)

    @cached_property
    def _inside(self) -> tuple[float, float, tuple[str, ...]]:
        """Thermal resistances from junction to case and from there to the sink, and what was assumed of them."""
        said: list[str] = []
        rthjc = maybe("rthjc", self.rthjc, "K/W", least=0.0)
        if rthjc is None:
            rthjc, whose = self._of_package("rthjc", "--rthjc", "from junction to case")
            said.append(f"RθJC {show(rthjc, 'K/W')}, of the package {whose}")
        rthcs = maybe("rthcs", self.rthcs, "K/W", least=0.0)
        if self._padded:
            rthcs = maybe("pad_resistance", self.pad_resistance, "K/W", least=0.0)
            if rthcs is None:
                rthcs = self._usual_pad()
                said.append(f"pad {show(rthcs, 'K/W')}, common practice for a TO-220")
        elif rthcs is None:
            rthcs, whose = self._of_package("rthcs", "--rthcs, or --pad", "from case to sink")
            said.append(f"RθCS {show(rthcs, 'K/W')} with compound, of the package {whose}")
        return rthjc, rthcs, tuple(said)

    def _of_package(self, name: str, ways: str, where_from: str) -> tuple[float, str]:
        """Return the table's figure, the worst where several packages may be, and whose it is."""
        if not self._packages:
            raise UsageError(
                f"nothing says how well the heat gets {where_from}.",
                where="--" + name,
                way_out=f"Give {ways}, or the part's --package for the figure of the table.",
            )
        from loadworthy.catalog.packages import packages  # noqa: PLC0415 - as above

        value, whose = max((getattr(one, name), one.name) for one in packages() if one.name in self._packages)
        return float(value), whose

    def _usual_pad(self) -> float:
        small = [name for name in self._packages if _SISTER.sub("", name) not in _PAD_SIZED]
        if small:
            raise UsageError(
                f"how much a pad under a {small[0]} takes is not in the table.",
                where="--pad",
                way_out="Give it as --pad-resistance.",
            )
        return _ASSUMED_PAD_K_PER_W

    @cached_property
    def _read(self) -> dict[str, float | None]:
        """Every quantity in SI units, None where it was not given."""
        limit = self._margins["junction_limit"].value
        return {
            "loss_w": measured("loss", self.loss, "W", above=0.0, most=1e5),
            "ambient_degc": measured("ambient", self.ambient, "degC", least=-55.0, most=min(100.0, limit)),
            "junction_limit_degc": limit,
            "flow_m_per_s": maybe("flow", self.flow, "m/s", above=0.0, most=100.0),
            **{f"{name}_{unit}": maybe(name, getattr(self, name), unit, above=0.0) for name, unit in _MOST.items()},
        }

    @cached_property
    def _needed(self) -> float:
        """The greatest thermal resistance, sink to air, that will do."""
        rthjc, rthcs, _ = self._inside
        loss, air, limit = (self._figure(name) for name in ("loss_w", "ambient_degc", "junction_limit_degc"))
        sink = float(
            thermal.sink_for_loss(
                loss_w=loss, rthjc_k_per_w=rthjc, rthcs_k_per_w=rthcs, ambient_degc=air, junction_limit_degc=limit
            )
        )
        if math.isnan(sink):
            raise UsageError(
                f"no heat sink can do it: from junction to sink alone {show(loss, 'W')} make "
                f"{show(loss * (rthjc + rthcs), 'K')} of the {show(limit - air, 'K')} that are allowed.",
                where="--loss",
                way_out="Look for a part that makes less heat or has a lower RθJC, or let cooler air in.",
            )
        return twelve(sink)

    @cached_property
    def _parameters(self) -> dict[str, Parameter]:
        rthjc, rthcs, _ = self._inside
        return {
            **self._read,
            **self.shared_parameters,
            "rthjc_k_per_w": rthjc,
            "rthcs_k_per_w": rthcs,
            "needed_k_per_w": self._needed,
            "package_count": len(self._packages),
            "footprint": self._footprints,
            "fixing": self.fixing,
            "fixing_count": len(self.fixing),
            "trust_figures": bool(self.trust_figures),
            "touch_degc": _TOUCH_DEGC,
        }

    def as_json(self) -> dict[str, Any]:
        """Return the need as plain values, with the SI units in the names."""
        read, (rthjc, rthcs, _) = self._read, self._inside
        return {
            "loss_w": read["loss_w"],
            "ambient_degc": read["ambient_degc"],
            "junction_limit_degc": read["junction_limit_degc"],
            "rthjc_k_per_w": rthjc,
            "rthcs_k_per_w": rthcs,
            "pad": self._padded,
            "needed_k_per_w": self._needed,
            "package": list(self._packages),
            "flow_m_per_s": read["flow_m_per_s"],
            **{f"{name}_{unit}": read[f"{name}_{unit}"] for name, unit in _MOST.items()},
            "fixing": list(self.fixing),
            "trust_figures": bool(self.trust_figures),
            **self.shared_json(),
        }

    def asked(self) -> tuple[str, ...]:
        """Return the criteria that this need judges by, in order."""
        names = {"theta", "plausible"}
        names |= {"offer"} if self.asks_for_offer else set()
        names |= {"package"} if self._packages else set()
        names |= {"fixing"} if self.fixing else set()
        names |= {name.removeprefix("max_") for name in _MOST if getattr(self, name) is not None}
        return self._in_order(names)

    def limit_sources(self) -> Mapping[str, str]:
        """Return where the limit of a criterion comes from, by its name."""
        return {"theta": f"thermal resistances in series; {self._margins['junction_limit'].source}"}

    def assumptions(self) -> tuple[str, ...]:
        """Return what was assumed of the need itself."""
        return self._inside[2]

    def symbols(self) -> frozenset[str]:
        """Return the letter symbols of the figures that this need looks at."""
        return frozenset({"RθSA"})

    def cautions(self) -> tuple[str, ...]:
        """Return what to mind, for the people who will use the sink."""
        rthjc, rthcs, _ = self._inside
        hottest = self._figure("junction_limit_degc") - self._figure("loss_w") * (rthjc + rthcs)
        said = [cautions.LOW_VOLTAGE_ONLY, cautions.PAPER_FIGURES, cautions.FIRST_HEAT_UP]
        said += [cautions.HOT_SINK] if hottest > _TOUCH_DEGC else []
        said += [cautions.FINS_UPRIGHT, cautions.RATED_RISE] if self.flow is None else [cautions.FAN_STOPS]
        said += [cautions.PAD_INSULATES] if self._padded else [cautions.SINK_ON_A_TAB]
        said += margins.less_careful(self, _PROFILE)
        return tuple(said)
