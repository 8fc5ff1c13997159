"""What a load draws: nominally, at the worst corner, in the instant in which it is switched on."""

from __future__ import annotations

from loadworthy.boards.model import Load, Supply
from loadworthy.physics import loads, paths, switching

__all__ = ["as_seen", "inductive_energy_j", "inrush_a", "nominal_a", "resistance_ohm", "worst_a"]


def resistance_ohm(load: Load, supply_v: float) -> float | None:
    """Return a load's resistance when warm; a power is one at the nominal supply. None where it has none.

    An inductive load given by its power is a motor, a pump, a converter: it takes its power, not a resistance.
    """
    if load.resistance_ohm is not None:
        return load.resistance_ohm
    if load.power_w is not None and load.kind != "inductive":
        return supply_v**2 / load.power_w
    return None


def nominal_a(load: Load, supply_v: float) -> float:
    """Return the current of a load on the nominal supply, with no drop before it."""
    if load.current_a is not None:
        return load.current_a
    warm = resistance_ohm(load, supply_v)
    if warm is not None:
        return float(loads.load_current(supply_v=supply_v, resistance_ohm=warm))
    return float(loads.power_current(supply_v=supply_v, power_w=load.power_w or 0.0))


def worst_a(load: Load, supply: Supply) -> float:
    """Return the greatest current of a load at the corners of its own and the supply's tolerance.

    A resistance draws most at the high end of the supply, a power that is kept at the low end.
    """
    if load.current_a is not None:
        return load.current_a
    warm = resistance_ohm(load, supply.voltage_v)
    if warm is not None:
        return float(loads.worst_case_current(supply_v=supply.high_v, resistance_ohm=warm, tolerance=load.share))
    return float(loads.power_current(supply_v=supply.low_v, power_w=load.power_w or 0.0)) / (1.0 - load.share)


def as_seen(load: Load, supply_v: float) -> paths.Load:
    """Return a load as the coupled path sees it."""
    if load.current_a is not None:
        return paths.FixedCurrent(current_a=load.current_a)
    warm = resistance_ohm(load, supply_v)
    if warm is not None:
        return paths.FixedResistance(resistance_ohm=warm)
    return paths.FixedPower(power_w=load.power_w or 0.0)


def inrush_a(load: Load, supply: Supply) -> tuple[float, str | None] | None:
    """Return the greatest current in the instant of switching on, and what it rests on; None where there is none."""
    cold, assumed = load.cold_resistance_ohm, None
    if cold is None and load.kind == "lamp":
        warm = resistance_ohm(load, supply.voltage_v)
        if warm is None:
            warm = supply.voltage_v / nominal_a(load, supply.voltage_v)
        cold = float(loads.tungsten_cold_resistance(hot_ohm=warm))
        assumed = "a cold lamp has a tenth of its hot resistance (common practice)"
    if cold is None:
        return None
    amperes = loads.worst_case_current(supply_v=supply.high_v, resistance_ohm=cold, tolerance=load.share)
    return float(amperes), assumed


def inductive_energy_j(load: Load, supply: Supply) -> float | None:
    """Return what an inductive load gives back when it is switched off; None where its inductance is not known."""
    if load.inductance_h is None:
        return None
    current = worst_a(load, supply)
    return float(switching.inductive_energy(inductance_h=load.inductance_h, current_a=current))
