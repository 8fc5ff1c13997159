"""What a freewheel diode is needed for: an inductive load, its supply, how it is switched, and the air round it."""

# ruff: noqa: RUF009 - option() makes a dataclass field, as field() does

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any, ClassVar, Final

from loadworthy.criteria import Margin
from loadworthy.errors import UsageError
from loadworthy.needs import cautions, margins
from loadworthy.needs.base import maybe, measured, option, outlines, twelve
from loadworthy.needs.loads import LoadNeed
from loadworthy.quantities import Measure, show
from loadworthy.statements import Parameter

__all__ = ["DiodeNeed"]

_PROFILE: Final = "workshop"
_KINDS: Final = ("schottky", "ultrafast", "fast", "standard")
#: Slower switching lets the junction follow each pulse: the mean of the loss says nothing then (common practice).
_SLOWEST_PWM_HZ: Final = 20.0
#: Above this a diode that recovers slowly shorts the supply for a noticeable share of each period (common practice).
_SELDOM_HZ: Final = 1000.0
_MOST_RECOVERY_S: Final = 500e-9
#: The lower of the two ratings that are usual for such diodes (common practice).
_ASSUMED_JUNCTION_MAX_DEGC: Final = 125.0


@dataclass(frozen=True, kw_only=True)
class DiodeNeed(LoadNeed):
    """A freewheel diode across an inductive load on a low-voltage supply.

    Quantities are texts with their unit, or pint quantities. Exactly one of current, resistance and power says
    what the load draws while it is switched on.

    Examples
    --------
    >>> need = DiodeNeed(supply="12V", current="3A", pwm="500Hz", duty="60%")
    >>> need.parameters()["vrrm_least_v"], need.parameters()["mean_a"], need.parameters()["if_least_a"]
    (18.0, 1.2, 1.5)
    """

    family: ClassVar[str] = "diode"
    ranked_by: ClassVar[str] = "the heat they make, then by their forward voltage"
    examples: ClassVar[tuple[str, ...]] = (
        "--supply 12V --current 3A --pwm 500Hz --duty 60%",
        "--supply 24V --resistance 48ohm --inductance 0.5H",
        "--supply 12V --power 36W --pwm 20kHz --kind schottky --package SMC --format json",
    )

    inductance: Measure | None = option(
        "Inductance of the load, for the energy of a switch-off.", default=None, unit="H", example="0.5H"
    )
    pwm: Measure | None = option("Switching frequency.", default=None, unit="Hz", example="500Hz")
    duty: Measure | None = option(
        "Share of the time that the load is switched on; where not given, next to none is assumed.",
        default=None,
        unit="1",
        example="60%",
    )
    ambient: Measure = option("Air round the diode, in its box.", default="40degC", unit="degC", example="50degC")
    package: tuple[str, ...] = option("Package; common names are understood.", default=(), example="DO-201")
    kind: tuple[str, ...] = option("Kind of diode.", default=(), choices=_KINDS)
    voltage_margin: Measure | None = option(
        "VRRM is at least this × the supply.", default=None, unit="1", example="1.5"
    )
    current_margin: Measure | None = option(
        "IF(AV) is at least this × the diode's mean current; without --pwm × the load's.",
        default=None,
        unit="1",
        example="1.25",
    )
    junction_derating: Measure | None = option(
        "The junction stays this far below its rated maximum.", default=None, unit="K", example="25K"
    )
    junction_cap: Measure | None = option(
        "The junction stays below this, whatever its rating.", default=None, unit="degC", example="125degC"
    )

    def __post_init__(self) -> None:
        """Read everything at once, so that a mistake shows where it is made."""
        super().__post_init__()
        if self.duty is not None and self.pwm is None:
            raise UsageError(
                "a duty without a switching frequency says nothing of the diode: it conducts for an instant.",
                where="--duty",
                way_out="Give --pwm as well, or leave --duty out.",
            )

    @cached_property
    def _read(self) -> dict[str, float | None]:
        """Every quantity in SI units, None where it was not given."""
        return {
            **self._load,
            "inductance_h": maybe("inductance", self.inductance, "H", above=0.0, most=1e3),
            "pwm_hz": maybe("pwm", self.pwm, "Hz", least=_SLOWEST_PWM_HZ, most=1e7) or 0.0,
            "duty": maybe("duty", self.duty, "1", above=0.0, most=1.0) or 0.0,
            "ambient_degc": measured(
                "ambient", self.ambient, "degC", least=-55.0, most=min(100.0, self._margins["junction_cap"].value)
            ),
        }

    @cached_property
    def _packages(self) -> tuple[str, ...]:
        return outlines(self.package)

    @cached_property
    def _margins(self) -> dict[str, Margin]:
        return margins.taken(self, _PROFILE)

    @property
    def _current_margin(self) -> Margin:
        asked = self.current_margin is not None
        return self._margins["pulse_margin" if self.pwm is None and not asked else "current_margin"]

    @cached_property
    def _mean_a(self) -> float:
        """The diode's mean current; zero where the load is switched seldom."""
        if self.pwm is None:
            return 0.0
        from loadworthy.physics import switching  # noqa: PLC0415 - brings numpy in, which help needs not

        return twelve(switching.freewheel_current(current_a=self._figure("current_a"), duty=self._figure("duty")))

    @cached_property
    def _energy_j(self) -> float | None:
        henries = self._read["inductance_h"]
        if henries is None:
            return None
        from loadworthy.physics import switching  # noqa: PLC0415 - as above

        return twelve(switching.inductive_energy(inductance_h=henries, current_a=self._figure("current_a")))

    @cached_property
    def _parameters(self) -> dict[str, Parameter]:
        read, current = self._read, self._figure("current_a")
        return {
            **read,
            **self.shared_parameters,
            "package": self._packages,
            "package_count": len(self._packages),
            "kind": self.kind,
            "kind_count": len(self.kind),
            "off_share": 0.0 if self.pwm is None else 1.0 - self._figure("duty"),
            "mean_a": self._mean_a,
            "energy_j": self._energy_j,
            "vrrm_least_v": twelve(self._margins["voltage_margin"].value * self._figure("supply_v")),
            "if_least_a": twelve(self._current_margin.value * (current if self.pwm is None else self._mean_a)),
            "seldom_hz": _SELDOM_HZ,
            "trr_most_s": _MOST_RECOVERY_S,
            "junction_assumed_degc": _ASSUMED_JUNCTION_MAX_DEGC,
            "junction_derate_k": self._margins["junction_derating"].value,
            "junction_cap_degc": self._margins["junction_cap"].value,
        }

    def as_json(self) -> dict[str, Any]:
        """Return the need as plain values, with the SI units in the names."""
        read = self._read
        return {
            **self._load_json(),
            "inductance_h": read["inductance_h"],
            "energy_j": self._energy_j,
            "pwm_hz": read["pwm_hz"],
            "duty": read["duty"] if self.duty is not None else None,
            "mean_current_a": self._mean_a,
            "load": "inductive",
            "ambient_degc": read["ambient_degc"],
            "package": list(self._packages),
            "kind": list(self.kind),
            **self.shared_json(),
            **margins.given(self, _PROFILE),
        }

    def asked(self) -> tuple[str, ...]:
        """Return the criteria that this need judges by, in order."""
        names = {"kind", "voltage", "current", "surge", "heat"}
        names |= {"offer"} if self.asks_for_offer else set()
        names |= {"package"} if self._packages else set()
        names |= {"recovery"} if self._figure("pwm_hz") > _SELDOM_HZ else set()
        return self._in_order(names)

    def limit_sources(self) -> Mapping[str, str]:
        """Return where the limit of a criterion comes from, by its name."""
        return {
            "voltage": self._margins["voltage_margin"].source,
            "current": self._current_margin.source,
            "heat": self._margins["junction_derating"].source + "; " + self._margins["junction_cap"].source,
        }

    def assumptions(self) -> tuple[str, ...]:
        """Return what was assumed of the need itself."""
        if self.pwm is None:
            return ("switched so seldom that the heat of the switch-offs has no mean",)
        said = ["the load's whole current flows on through each off time"]
        said += [] if self.duty is not None else ["the diode conducts nearly all the time, no duty is given"]
        return tuple(said)

    def symbols(self) -> frozenset[str]:
        """Return the letter symbols of the figures that this need looks at."""
        used = {"VRRM", "IF(AV)", "IFSM", "TJ"}
        used |= {"VF", "RθJA"} if self.pwm is not None else set()
        used |= {"trr"} if self._figure("pwm_hz") > _SELDOM_HZ else set()
        return frozenset(used)

    def cautions(self) -> tuple[str, ...]:
        """Return what to mind, for the people who will use the diode."""
        said = [cautions.LOW_VOLTAGE_ONLY]
        said += [cautions.ABOVE_60_V] if self._figure("supply_v") > 60.0 else []
        said += [cautions.CATHODE_TO_PLUS, cautions.SHORTED_DIODE, cautions.NO_LARGER_FUSE, cautions.PAPER_FIGURES]
        said += [cautions.SLOW_RELEASE] if self.pwm is None else [cautions.STILL_AIR]
        if self._energy_j is not None:
            said.append(
                f"Each switch-off turns ½·L·I² = {show(self._energy_j, 'J')} into heat, in the load's resistance and "
                "in the diode."
            )
        # Switched seldom no margin is usual for the current, and none that is asked for lies below it.
        said += margins.less_careful(self, _PROFILE, spared="current_margin" if self.pwm is None else None)
        return tuple(said)
