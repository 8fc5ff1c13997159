"""The small sum: from a load to the current that a path must carry, or from a current to the load that it allows.

Nothing but the supply, the load and their tolerances; the drop in the path is left out, which errs on the high side.
"""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any, Final

from loadworthy.errors import UsageError
from loadworthy.needs import cautions
from loadworthy.needs.base import maybe, measured
from loadworthy.needs.loads import MOST_SUPPLY_V, load_figures
from loadworthy.physics import loads
from loadworthy.quantities import Measure, show

__all__ = ["Limits", "Step", "limits"]

_OHM: Final = "Ohm's law"
_POWER: Final = "the definition of electric power"


@dataclass(frozen=True, kw_only=True)
class Step:
    """One step of the sum: what it gives, the law, the law with the numbers put in, and its source."""

    name: str
    title: str
    value: float
    unit: str
    text: str
    worked: str
    source: str


@dataclass(frozen=True, kw_only=True)
class Limits:
    """The sum, step by step.

    Attributes
    ----------
    asked
        What was given, in SI units.
    steps
        The steps, in the order in which they follow from each other.
    assumed, cautions
        What they rest on, and what to mind.
    """

    asked: dict[str, float]
    steps: tuple[Step, ...]
    assumed: tuple[str, ...]
    cautions: tuple[str, ...]

    def value(self, name: str) -> float:
        """Return what a step gives.

        Raises
        ------
        UsageError
            There is no such step.
        """
        found = next((step.value for step in self.steps if step.name == name), None)
        if found is None:
            raise UsageError(
                f"the sum has no step {name!r}.", way_out=f"It has {', '.join(s.name for s in self.steps)}."
            )
        return found

    def as_json(self) -> dict[str, Any]:
        """Return it as plain values, with the SI units in the names."""
        return {
            "asked": self.asked,
            "result": {step.name: step.value for step in self.steps},
            "formulas": [asdict(step) for step in self.steps],
            "assumed": list(self.assumed),
            "cautions": list(self.cautions),
        }


def limits(
    *,
    supply: Measure,
    current: Measure | None = None,
    resistance: Measure | None = None,
    power: Measure | None = None,
    tolerance: Measure | None = None,
    supply_tolerance: Measure | None = None,
    share: Measure | None = None,
    cold_resistance: Measure | None = None,
    lamp: bool = False,
) -> Limits:
    """Work out the small sum.

    Parameters
    ----------
    supply
        Nominal voltage of the supply.
    current
        A current that a path can carry: the sum gives the load that it allows.
    resistance, power
        A load: the sum gives what the path must carry. Exactly one of the three.
    tolerance
        Tolerance of the load's resistance or power.
    supply_tolerance
        How far the supply may be off.
    share
        Share of a path's rating that may be used, such as 80 %.
    cold_resistance
        Resistance of the load cold.
    lamp
        Whether the load is an incandescent lamp.

    Raises
    ------
    UsageError, QuantityError
        Something is missing, contradicts itself, or is no such quantity.

    Examples
    --------
    >>> limits(supply="12V", current="8A").value("least_resistance_ohm")
    1.5
    >>> round(limits(supply="12V", resistance="1R6", supply_tolerance="10%", share="80%").value("rating_a"), 3)
    10.312
    """
    if lamp and cold_resistance is not None:
        raise UsageError(
            "a lamp's cold resistance is either measured or assumed.",
            where="--lamp, --cold-resistance",
            way_out="Give one of them.",
        )
    return _Sum(
        supply=measured("supply", supply, "V", above=0.0, most=MOST_SUPPLY_V),
        figures=load_figures(
            supply=supply,
            current=current,
            resistance=resistance,
            power=power,
            tolerance=None if current is not None else tolerance,
        ),
        load_share=maybe("tolerance", tolerance, "1", least=0.0, most=0.9),
        supply_share=maybe("supply_tolerance", supply_tolerance, "1", least=0.0, most=0.5),
        use=maybe("share", share, "1", above=0.0, most=1.0),
        cold=maybe("cold_resistance", cold_resistance, "ohm", above=0.0),
        lamp=lamp,
    ).limits()


class _Sum:
    """The steps, one after the other."""

    def __init__(
        self,
        *,
        supply: float,
        figures: dict[str, float | None],
        load_share: float | None,
        supply_share: float | None,
        use: float | None,
        cold: float | None,
        lamp: bool,
    ) -> None:
        self.supply_v, self.figures, self.cold, self.lamp = supply, figures, cold, lamp
        self.load_share, self.supply_share = load_share or 0.0, supply_share or 0.0
        self.use = 1.0 if use is None else use
        self.steps: list[Step] = []
        self.assumed: list[str] = []
        if load_share is None:
            self.assumed.append("the load has no tolerance")
        if supply_share is None:
            self.assumed.append("the supply has no tolerance")
        if use is None:
            self.assumed.append(
                "the path's rating may be used in full: connectors and fuses want a share, such as 80 %"
            )
        given = {"supply_v": supply, "tolerance": load_share, "supply_tolerance": supply_share, "share": use}
        given |= {"cold_resistance_ohm": cold}
        self.asked = {name: value for name, value in given.items() if value is not None}

    def step(self, name: str, title: str, value: float, unit: str, law: tuple[str, str, str]) -> float:
        """Put one step down; `law` is the law, its right side with the numbers put in, and its source."""
        text, worked, source = law
        self.steps.append(
            Step(
                name=name,
                title=title,
                value=value,
                unit=unit,
                text=text,
                worked=f"{show(value, unit, 4)} = {worked}",
                source=source,
            )
        )
        return value

    def limits(self) -> Limits:
        """Go from what is given to what follows."""
        self.high_v = self.step(
            "supply_high_v",
            "the supply at its highest",
            self.supply_v * (1.0 + self.supply_share),
            "V",
            ("Vhigh = V·(1 + s)", f"{_v(self.supply_v)} · (1 + {_one(self.supply_share)})", "tolerance of the supply"),
        )
        if self.figures["resistance_ohm"] is None and self.figures["power_w"] is None:
            self._from_current(self.figures["current_a"] or 0.0)
        else:
            self._from_load()
        said = [cautions.LOW_VOLTAGE_ONLY]
        said += [cautions.ABOVE_60_V] if self.high_v > 60.0 else []
        said += [cautions.FAILS_ON, cautions.FIRST_HEAT_UP]
        return Limits(asked=self.asked, steps=tuple(self.steps), assumed=tuple(self.assumed), cautions=tuple(said))

    def _from_current(self, amperes: float) -> None:
        self.asked["current_a"] = amperes
        usable = self.step(
            "usable_a",
            "what may flow",
            amperes * self.use,
            "A",
            ("I = share·Irated", f"{_one(self.use)} · {_a(amperes)}", "the share asked for"),
        )
        actual = self.step(
            "least_actual_ohm",
            "least resistance, as it really is when warm",
            self.high_v / usable,
            "ohm",
            ("R = Vhigh/I", f"{_v(self.high_v)} / {_a(usable)}", _OHM),
        )
        nominal = self.step(
            "least_resistance_ohm",
            "least resistance to buy, its tolerance taken off",
            actual / (1.0 - self.load_share),
            "ohm",
            (
                "Rnom = R/(1 − t)",
                f"{_ohm(actual)} / (1 − {_one(self.load_share)})",
                "the load at the low end of its tolerance",
            ),
        )
        self.step(
            "greatest_power_w",
            "greatest power at the nominal supply",
            self.supply_v**2 / nominal,
            "W",
            ("P = V²/Rnom", f"({_v(self.supply_v)})² / {_ohm(nominal)}", _POWER),
        )
        self._inrush(nominal)

    def _worst(self, ohms: float) -> float:
        return float(loads.worst_case_current(supply_v=self.high_v, resistance_ohm=ohms, tolerance=self.load_share))

    def _worst_worked(self, ohms: float) -> str:
        return f"{_v(self.high_v)} / ({_ohm(ohms)} · (1 − {_one(self.load_share)}))"

    def _from_load(self) -> None:
        warm, watts = self.figures["resistance_ohm"], self.figures["power_w"]
        if watts is not None:
            self.asked["power_w"] = watts
            warm = self.step(
                "resistance_ohm",
                "resistance of the load, warm",
                self.supply_v**2 / watts,
                "ohm",
                ("R = V²/P", f"({_v(self.supply_v)})² / {show(watts, 'W', 4)}", f"{_POWER}, at the nominal supply"),
            )
        ohms = warm or 0.0
        if watts is None:
            self.asked["resistance_ohm"] = ohms
        amperes = self.step(
            "current_a",
            "current, nominally",
            float(loads.load_current(supply_v=self.supply_v, resistance_ohm=ohms)),
            "A",
            ("I = V/R", f"{_v(self.supply_v)} / {_ohm(ohms)}", _OHM),
        )
        if watts is None:
            self.step(
                "power_w",
                "power, nominally",
                self.supply_v * amperes,
                "W",
                ("P = V·I", f"{_v(self.supply_v)} · {_a(amperes)}", _POWER),
            )
        worst = self.step(
            "worst_case_a",
            "greatest current",
            self._worst(ohms),
            "A",
            ("Imax = Vhigh/(R·(1 − t))", self._worst_worked(ohms), f"{_OHM} at the worst corner"),
        )
        self.step(
            "rating_a",
            "what the path must be rated for",
            worst / self.use,
            "A",
            ("Irated = Imax/share", f"{_a(worst)} / {_one(self.use)}", "the share asked for"),
        )
        self._inrush(ohms)

    def _inrush(self, warm_ohm: float) -> None:
        cold = self.cold
        if self.lamp:
            cold = self.step(
                "cold_resistance_ohm",
                "resistance of the cold lamp",
                float(loads.tungsten_cold_resistance(hot_ohm=warm_ohm)),
                "ohm",
                ("Rcold = R/10", f"{_ohm(warm_ohm)} / 10", "common practice: a cold filament has about a tenth"),
            )
            self.assumed.append("a cold lamp has a tenth of its hot resistance (common practice)")
        if cold is None:
            return
        if cold > warm_ohm:
            raise UsageError(
                f"the cold resistance ({_ohm(cold)}) is above the warm one ({_ohm(warm_ohm)}).",
                where="--cold-resistance",
                way_out="Leave it out: there is no inrush then.",
            )
        self.step(
            "inrush_a",
            "current at switching on",
            self._worst(cold),
            "A",
            ("Iinrush = Vhigh/(Rcold·(1 − t))", self._worst_worked(cold), _OHM),
        )


def _v(value: float) -> str:
    return show(value, "V", 4)


def _a(value: float) -> str:
    return show(value, "A", 4)


def _ohm(value: float) -> str:
    return show(value, "ohm", 4)


def _one(value: float) -> str:
    return show(value, "1", 4)
