"""What a power MOSFET is needed for: a load, a supply, a drive, and the air round it."""

# ruff: noqa: RUF009 - option() makes a dataclass field, as field() does

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any, ClassVar

from loadworthy.criteria import Margin
from loadworthy.errors import UsageError
from loadworthy.needs import cautions, margins
from loadworthy.needs.base import maybe, measured, option, outlines, twelve
from loadworthy.needs.loads import MOST_SUPPLY_V, LoadNeed
from loadworthy.needs.sinks import sink_for
from loadworthy.physics import loads
from loadworthy.quantities import Measure, show
from loadworthy.statements import Parameter

__all__ = ["TransistorNeed"]

#: Slower switching lets the junction follow each pulse: the mean of the loss says nothing then (common practice).
_SLOWEST_PWM_HZ = 20.0
_ASSUMED_JUNCTION_MAX_DEGC = 150.0
_ASSUMED_PIN_OHM = 25.0
#: No list gives a lower TJmax: the family's description refuses it.
_LEAST_JUNCTION_MAX_DEGC = 70.0
_ALWAYS_ASKED = ("channel", "drive", "threshold", "gate", "voltage", "current", "loss", "heat")


@dataclass(frozen=True, kw_only=True)
class TransistorNeed(LoadNeed):
    """A switch for a load on a low-voltage supply, driven from a microcontroller's pin.

    Quantities are texts with their unit, or pint quantities. Exactly one of current, resistance and power
    says what the load draws.

    Examples
    --------
    >>> need = TransistorNeed(supply="12V", resistance="1R6")
    >>> need.as_json()["current_a"], need.parameters()["vds_least_v"]
    (7.5, 18.0)
    """

    family: ClassVar[str] = "transistor"
    ranked_by: ClassVar[str] = "the heat they make when on"
    examples: ClassVar[tuple[str, ...]] = (
        "--supply 12V --resistance 1.6ohm --drive 5V",
        "--supply 12V --resistance 1R6 --package TO-220 --ambient 40degC",
        "--supply 24V --power 60W --pwm 500Hz --load inductive --format json",
    )

    cold_resistance: Measure | None = option(
        "Resistance of the load when cold, for the inrush current.",
        default=None,
        unit="ohm",
        example="0.4ohm",
    )
    drive: Measure = option(
        "Voltage of the pin that drives the gate; for a P channel, between gate and source when it is on.",
        default="5V",
        unit="V",
        example="3.3V",
    )
    ambient: Measure = option("Air round the part, in its box.", default="40degC", unit="degC", example="50degC")
    package: tuple[str, ...] = option("Package; common names are understood.", default=(), example="TO-220")
    heatsink: Measure | None = option(
        "Thermal resistance of a heat sink, sink to air.", default=None, unit="K/W", example="15K/W"
    )
    duty: Measure | None = option("Share of the time that the load is on.", default=None, unit="1", example="50%")
    pwm: Measure | None = option("Switching frequency.", default=None, unit="Hz", example="500Hz")
    load: str = option("Kind of load.", default="resistive", choices=("resistive", "inductive"))
    unclamped: bool = option("Nothing clamps the inductive load.", default=False)
    max_loss: Measure | None = option("Most heat that the part may make.", default=None, unit="W", example="0.8W")
    channel: str = option("Channel: n switches the low side, p the high side.", default="n", choices=("n", "p"))
    gate_series: Measure | None = option("Resistor between pin and gate.", default=None, unit="ohm", example="100ohm")
    gate_pulldown: Measure | None = option(
        "Resistor between gate and source.", default=None, unit="ohm", example="10kohm"
    )
    gate_swing: Measure | None = option(
        "Greatest gate–source voltage that the driver can put on the gate; for a P channel the supply is assumed.",
        default=None,
        unit="V",
        example="12V",
    )
    pin_resistance: Measure | None = option(
        "Output resistance of the pin; 25 Ω is assumed where it matters.",
        default=None,
        unit="ohm",
        example="25ohm",
    )
    profile: str = option("Set of margins.", default="workshop", choices=("workshop", "MIL-DTL-917"))
    voltage_margin: Measure | None = option("VDS is at least this × the supply.", default=None, unit="1", example="1.5")
    current_margin: Measure | None = option(
        "ID is at least this × the load's current.", default=None, unit="1", example="1.25"
    )
    gate_margin: Measure | None = option("VGS is at least this × the drive.", default=None, unit="1", example="1.25")
    leaded_loss: Measure | None = option(
        "Most heat in a leaded package without a sink.", default=None, unit="W", example="1W"
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
        if self.unclamped and self.load != "inductive":
            raise UsageError(
                "only an inductive load can be unclamped.",
                where="--unclamped",
                way_out="Give --load inductive as well, or leave it out.",
            )
        if self.duty is not None and self.pwm is None:
            raise UsageError(
                "a duty without a switching frequency would average heat over minutes.",
                where="--duty",
                way_out="Give --pwm as well; leave --duty out for a thermostat: the part must carry the load while on.",
            )

    @cached_property
    def _read(self) -> dict[str, float | None]:
        """Every quantity in SI units, None where it was not given."""
        drive_v, pin_v, series, pulldown = self._gate()
        junction_cap = self._margins["junction_cap"].value
        return {
            **self._load,
            "pin_v": pin_v,
            "drive_v": drive_v,
            "gate_series_ohm": series,
            "gate_pulldown_ohm": pulldown,
            "pin_ohm": self._maybe("pin_resistance", "ohm", least=0.0),
            "ambient_degc": measured("ambient", self.ambient, "degC", least=-55.0, most=min(100.0, junction_cap)),
            "heatsink_k_per_w": self._maybe("heatsink", "K/W", above=0.0),
            "duty": self._maybe("duty", "1", above=0.0, most=1.0) or 1.0,
            "pwm_hz": self._maybe("pwm", "Hz", least=_SLOWEST_PWM_HZ, most=1e7) or 0.0,
            "gate_swing_v": self._maybe("gate_swing", "V", above=0.0, most=MOST_SUPPLY_V),
            "max_loss_w": self._maybe("max_loss", "W", above=0.0),
        }

    def _gate(self) -> tuple[float, float, float | None, float | None]:
        pin_v = measured("drive", self.drive, "V", above=0.0, most=30.0)
        series = self._maybe("gate_series", "ohm", least=0.0)
        pulldown = self._maybe("gate_pulldown", "ohm", above=0.0)
        if pulldown is None:
            return pin_v, pin_v, series, pulldown
        from loadworthy.physics import switching  # noqa: PLC0415 - brings numpy in, which help needs not

        drive_v = switching.gate_divider(pin_v=pin_v, series_ohm=series or 0.0, pulldown_ohm=pulldown)
        return twelve(drive_v), pin_v, series or 0.0, pulldown

    def _maybe(self, name: str, unit: str, **bounds: float) -> float | None:
        return maybe(name, getattr(self, name), unit, **bounds)

    @cached_property
    def _margins(self) -> dict[str, Margin]:
        return margins.taken(self, self.profile)

    @property
    def _voltage_margin(self) -> Margin:
        asked = self.voltage_margin is not None
        return self._margins["unclamped_margin" if self.unclamped and not asked else "voltage_margin"]

    def _swing(self) -> float:
        """Return what the gate must stand besides its drive: a level shifter pulls a P channel's through the supply."""
        given = self._read["gate_swing_v"]
        if given is not None:
            return given
        return self._figure("supply_v") if self.channel == "p" else 0.0

    @cached_property
    def _packages(self) -> tuple[str, ...]:
        return outlines(self.package)

    @cached_property
    def _parameters(self) -> dict[str, Parameter]:
        read, margin = self._read, {name: row.value for name, row in self._margins.items()}
        pin_ohm = read["pin_ohm"] if read["pin_ohm"] is not None else _ASSUMED_PIN_OHM
        return {
            **read,
            **self.shared_parameters,
            "channel": self.channel,
            "package": self._packages,
            "package_count": len(self._packages),
            "inductive": self.load == "inductive",
            "gate_ohm": (read["gate_series_ohm"] or 0.0) + pin_ohm,
            "vds_least_v": twelve(self._voltage_margin.value * self._figure("supply_v")),
            "vgs_least_v": twelve(max(margin["gate_margin"] * self._figure("drive_v"), self._swing())),
            "id_least_a": twelve(margin["current_margin"] * self._figure("current_a")),
            "leaded_loss_w": margin["leaded_loss"],
            "junction_assumed_degc": _ASSUMED_JUNCTION_MAX_DEGC,
            "junction_derate_k": margin["junction_derating"],
            "junction_cap_degc": margin["junction_cap"],
            "switching_share": 0.5 if self.load == "inductive" else 0.5 / 3.0,
        }

    def as_json(self) -> dict[str, Any]:
        """Return the need as plain values, with the SI units in the names."""
        read = self._read
        rms = loads.rms_current(current_a=self._figure("current_a"), duty=self._figure("duty"))
        return {
            **self._load_json(),
            "rms_current_a": rms,
            "cold_resistance_ohm": read["cold_resistance_ohm"],
            "inrush_a": read["inrush_a"],
            "pin_v": read["pin_v"] if read["gate_pulldown_ohm"] is not None else None,
            "gate_series_ohm": read["gate_series_ohm"],
            "gate_pulldown_ohm": read["gate_pulldown_ohm"],
            "pin_resistance_ohm": read["pin_ohm"],
            "gate_swing_v": read["gate_swing_v"],
            "drive_v": read["drive_v"],
            "ambient_degc": read["ambient_degc"],
            "heatsink_k_per_w": read["heatsink_k_per_w"],
            "duty": read["duty"],
            "pwm_hz": read["pwm_hz"],
            "load": self.load,
            "unclamped": self.unclamped,
            "max_loss_w": read["max_loss_w"],
            "channel": self.channel,
            "package": list(self._packages),
            **self.shared_json(),
            "profile": self.profile,
            **margins.given(self, self.profile),
        }

    def asked(self) -> tuple[str, ...]:
        """Return the criteria that this need judges by, in order."""
        names = set(_ALWAYS_ASKED)
        names |= {"package"} if self._packages else set()
        names |= {"offer"} if self.asks_for_offer else set()
        names |= {"inrush"} if self.cold_resistance is not None else set()
        return self._in_order(names)

    def limit_sources(self) -> Mapping[str, str]:
        """Return where the limit of a criterion comes from, by its name."""
        loss = [] if self.heatsink is not None else [self._margins["leaded_loss"].source]
        loss += [] if self.max_loss is None else ["as asked by --max-loss"]
        return {
            "gate": self._margins["gate_margin"].source,
            "voltage": self._voltage_margin.source,
            "current": self._margins["current_margin"].source,
            "loss": "; ".join(loss) or "no limit with a sink but that of the junction",
            "heat": self._margins["junction_derating"].source + "; " + self._margins["junction_cap"].source,
        }

    def assumptions(self) -> tuple[str, ...]:
        """Return what was assumed of the need itself."""
        said = []
        if self.pwm is not None and self.pin_resistance is None:
            said.append(f"output resistance of the pin {show(_ASSUMED_PIN_OHM, 'ohm')}")
        if self.channel == "p" and self.gate_swing is None:
            said.append("the gate may be pulled through the whole supply")
        return tuple(said)

    def symbols(self) -> frozenset[str]:
        """Return the letter symbols of the figures that this need looks at."""
        used = {"VDS", "VGS", "VGS(th)", "RDS(on)", "ID", "TJ"}
        used |= {"RθJA"} if self.heatsink is None else {"RθJC"}
        used |= {"IDM"} if self.cold_resistance is not None else set()
        used |= {"Qg", "Qgd", "tr", "tf"} if self.pwm is not None else set()
        return frozenset(used)

    def cautions(self) -> tuple[str, ...]:
        """Return what to mind, for the people who will use the part."""
        said = [cautions.LOW_VOLTAGE_ONLY]
        said += [cautions.ABOVE_60_V] if self._figure("supply_v") > 60.0 else []
        said += [cautions.FAILS_ON, cautions.PAPER_FIGURES, cautions.FIRST_HEAT_UP]
        said += [cautions.STILL_AIR] if self.heatsink is None else []
        said += [cautions.UNCLAMPED if self.unclamped else cautions.FREEWHEEL] if self.load == "inductive" else []
        said += [cautions.SINK_ON_A_TAB] if self.heatsink is not None else []
        said += [cautions.SWITCHING_ESTIMATED] if self.pwm is not None else []
        said += [cautions.COLD_LOAD] if self.cold_resistance is not None else []
        if self.channel == "p":
            said.append(cautions.HIGH_SIDE)
        elif self.gate_pulldown is None:
            said.append(cautions.FLOATING_PIN)
        said += margins.less_careful(self, self.profile)
        return tuple(said)

    def floor_limit(self, bound: float) -> float:
        """Return the on-resistance at 25 °C above which no part can lose as little as `bound`, in ohms.

        From 25 °C up a part's loss is at least D·I²·R25. Where it may be colder there is no such bound.
        """
        heating = self._figure("duty") * self._figure("current_a") ** 2
        if self.coldest_degc < 25.0 or heating == 0.0:
            return math.inf
        return bound / heating * (1.0 + 1e-12)

    @property
    def coldest_degc(self) -> float:
        """The least temperature at which the loss of a part that may pass is worked out.

        It is that of the air; of a part whose heat is not known and accepted, the hottest junction allowed.
        """
        ambient_degc = self._figure("ambient_degc")
        if "heat" not in self.accept:
            return ambient_degc
        return min(ambient_degc, _LEAST_JUNCTION_MAX_DEGC - self._margins["junction_derating"].value)

    @property
    def remedied(self) -> frozenset[str]:
        """A heat sink helps where the heat is too much."""
        return frozenset({"loss", "heat"})

    def remedy(self, row: Mapping[str, Any]) -> dict[str, float]:
        """Return the heat sink that a part needs which is stopped by its heat alone, in K/W."""
        if row["criterion"] not in self.remedied:
            return {}
        sink = sink_for(
            row,
            current_a=self._figure("current_a"),
            duty=self._figure("duty"),
            ambient_degc=self._figure("ambient_degc"),
            most_loss_w=self._read["max_loss_w"],
            bare=self.heatsink is None,
        )
        return {} if sink is None else {"heatsink_needed_k_per_w": sink}
