"""What a load draws from its supply."""

# ruff: noqa: RUF009 - option() makes a dataclass field, as field() does

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Final

from loadworthy.errors import QuantityError, UsageError
from loadworthy.needs.base import Need, maybe, measured, option, twelve
from loadworthy.physics import loads
from loadworthy.quantities import Measure, show

__all__ = ["MOST_SUPPLY_V", "LoadNeed", "load_figures"]

#: Direct voltage above which a circuit is no longer extra-low voltage (IEC 61140; from memory).
MOST_SUPPLY_V: Final = 120.0
_MOST_CURRENT_A: Final = 10_000.0
_WAYS: Final = ("current", "resistance", "power")
_OPTIONS: Final = ", ".join(f"--{name}" for name in _WAYS)


@dataclass(frozen=True, kw_only=True)
class LoadNeed(Need):
    """A need for a part that carries the current of a load; exactly one of three ways says what that is."""

    supply: Measure = option("Voltage of the supply that feeds the load.", unit="V", example="12V")
    current: Measure | None = option("Current of the load.", default=None, unit="A", example="7.5A")
    resistance: Measure | None = option("Resistance of the load when warm.", default=None, unit="ohm", example="1.6ohm")
    power: Measure | None = option("Power of the load at the supply.", default=None, unit="W", example="90W")
    tolerance: Measure | None = option(
        "Tolerance of the load's resistance; its low end counts.", default=None, unit="1", example="5%"
    )

    @cached_property
    def _load(self) -> dict[str, float | None]:
        """The load's figures in SI units, None where one was not given."""
        return load_figures(
            supply=self.supply,
            current=self.current,
            resistance=self.resistance,
            power=self.power,
            tolerance=self.tolerance,
            cold_resistance=getattr(self, "cold_resistance", None),  # only some parts are asked about the inrush
        )

    def load_readings(self) -> dict[str, float]:
        """Return the load at its greatest in every way in which it can be said, by the names of the fields.

        Notes
        -----
        V = I·R and P = V·I at the supply's voltage, of a steady direct current.

        Examples
        --------
        >>> from loadworthy.needs import FuseNeed
        >>> FuseNeed(supply="12V", power="90W").load_readings()
        {'current': 7.5, 'resistance': 1.6, 'power': 90.0}
        """
        volts, amperes = self._load["supply_v"] or 0.0, self._load["current_a"] or 0.0
        return {"current": amperes, "resistance": twelve(volts / amperes), "power": twelve(volts * amperes)}

    def _load_json(self) -> dict[str, float | None]:
        """Return what was said of the load, and its current, for JSON."""
        names = ("supply_v", "resistance_ohm", "power_w", "tolerance", "current_a")
        return {name: self._load[name] for name in names}


def load_figures(
    *,
    supply: Measure,
    current: Measure | None = None,
    resistance: Measure | None = None,
    power: Measure | None = None,
    tolerance: Measure | None = None,
    cold_resistance: Measure | None = None,
) -> dict[str, float | None]:
    """Work out the greatest current of a load, and its inrush where its cold resistance is known.

    Parameters
    ----------
    supply
        Voltage of the supply.
    current, resistance, power
        What the load draws, by exactly one of them.
    tolerance
        Tolerance of the resistance or the power, as a share.
    cold_resistance
        Resistance before the load is warm.

    Returns
    -------
    dict
        ``supply_v``, ``current_a``, ``resistance_ohm``, ``power_w``, ``tolerance``, ``cold_resistance_ohm`` and
        ``inrush_a`` in SI units; None for what was not given.

    Raises
    ------
    UsageError
        The load is given not at all or twice, or its figures contradict each other.
    QuantityError
        One of them is no such quantity, or cannot be.

    Examples
    --------
    >>> figures = load_figures(supply="12V", resistance="1R6", cold_resistance="0R4")
    >>> figures["current_a"], figures["inrush_a"]
    (7.5, 30.0)
    """
    _require_one(dict(zip(_WAYS, (current, resistance, power), strict=True)))
    if tolerance is not None and current is not None:
        raise UsageError(
            "a tolerance belongs to a resistance or a power, not to a current.",
            where="--tolerance",
            way_out="Give the greatest current, without tolerance.",
        )
    supply_v = measured("supply", supply, "V", above=0.0, most=MOST_SUPPLY_V)
    share = maybe("tolerance", tolerance, "1", least=0.0, most=0.9) or 0.0
    warm = maybe("resistance", resistance, "ohm", above=0.0)
    watts = maybe("power", power, "W", above=0.0)
    cold = maybe("cold_resistance", cold_resistance, "ohm", above=0.0)
    if warm is not None:
        amperes = loads.worst_case_current(supply_v=supply_v, resistance_ohm=warm, tolerance=share)
    elif watts is not None:
        amperes = loads.power_current(supply_v=supply_v, power_w=watts) / (1.0 - share)
    else:
        amperes = measured("current", current, "A", above=0.0)
    if amperes > _MOST_CURRENT_A:
        raise QuantityError(
            f"{show(float(amperes), 'A')} is no load for a board.", where=_OPTIONS, way_out="Check the units."
        )
    if cold is not None and warm is not None and cold > warm:
        raise UsageError(
            f"the cold resistance ({show(cold, 'ohm')}) is above the warm one ({show(warm, 'ohm')}).",
            where="--cold-resistance",
            way_out="Leave it out: there is no inrush then.",
        )
    inrush = None
    if cold is not None:
        inrush = twelve(loads.worst_case_current(supply_v=supply_v, resistance_ohm=cold, tolerance=share))
    return {
        "supply_v": supply_v,
        "current_a": twelve(amperes),
        "resistance_ohm": warm,
        "power_w": watts,
        "tolerance": share,
        "cold_resistance_ohm": cold,
        "inrush_a": inrush,
    }


def _require_one(ways: dict[str, Measure | None]) -> None:
    given = [name for name, measure in ways.items() if measure is not None]
    if len(given) != 1:
        raise UsageError(
            f"the load is given by {' and '.join(given)}." if given else "the load is not given.",
            where=_OPTIONS,
            way_out="Give exactly one of them.",
        )
