"""The same board on another supply: what its loads then draw, and what that does to the path."""

from __future__ import annotations

from dataclasses import asdict, dataclass, replace
from typing import Any

from loadworthy.boards.audit import audit
from loadworthy.boards.model import Board, Load
from loadworthy.boards.outcome import Audit, OutputLine
from loadworthy.quantities import show

__all__ = ["Reading", "WhatIf", "what_if"]


@dataclass(frozen=True, kw_only=True)
class Reading:
    """One output on one supply: nominal current and power, and what the path says to the worst case."""

    current_a: float
    power_w: float
    weakest: str | None
    verdict: str


@dataclass(frozen=True, kw_only=True)
class WhatIf:
    """A board now and on another supply.

    Attributes
    ----------
    supply_v
        The other supply.
    now, then
        The audits.
    remade
        The audit with every load of a fixed resistance made anew for the other supply, of the same watts; None where
        there is no such load.
    warnings
        What is to be said loudly.
    """

    supply_v: float
    now: Audit
    then: Audit
    remade: Audit | None
    warnings: tuple[str, ...]

    def as_json(self) -> dict[str, Any]:
        """Return it as plain values, with the SI units in the names."""
        rows = []
        for place, line in enumerate(self.now.outputs):
            given = (
                "resistance"
                if line.output.load.resistance_ohm is not None
                else ("power" if line.output.load.power_w is not None else "current")
            )
            rows.append(
                {
                    "output": line.output.name,
                    "given_by": given,
                    "now": asdict(_reading(line, self.now)),
                    "then": asdict(_reading(self.then.outputs[place], self.then)),
                    "remade": None
                    if self.remade is None or given != "resistance"
                    else asdict(_reading(self.remade.outputs[place], self.remade)),
                }
            )
        return {"supply_v": self.supply_v, "outputs": rows, "warnings": list(self.warnings)}


def _reading(line: OutputLine, of: Audit) -> Reading:
    return Reading(
        current_a=line.nominal_a,
        power_w=line.nominal_a * of.board.supply.voltage_v,
        weakest=line.weakest,
        verdict=line.verdict,
    )


def what_if(board: Board, supply_v: float) -> WhatIf:
    """Audit a board as it is and on another supply.

    A load that is given by its resistance keeps it; one given by its power is taken as made for the other supply;
    one given by its current keeps that.

    Parameters
    ----------
    board
        The board.
    supply_v
        Nominal voltage of the other supply; its tolerance stays.
    """
    other = replace(board, supply=replace(board.supply, voltage_v=supply_v))
    ratio = supply_v / board.supply.voltage_v
    kept = [output.name for output in board.outputs if output.load.resistance_ohm is not None]
    remade = None
    if kept:
        outputs = tuple(replace(output, load=_remade(output.load, ratio)) for output in other.outputs)
        remade = audit(replace(other, outputs=outputs))
    warnings: tuple[str, ...] = ()
    if kept and ratio != 1.0:
        names = ", ".join(kept)
        warnings = (
            f"The resistance of {names} does not change with the supply: {ratio:.3g} times the voltage drives "
            f"{ratio:.3g} times the current and makes {ratio**2:.3g} times the heat in the load.",
        )
    if ratio != 1.0:
        warnings += _stand_for(board, supply_v)
    return WhatIf(supply_v=supply_v, now=audit(board), then=audit(other), remade=remade, warnings=warnings)


def _stand_for(board: Board, supply_v: float) -> tuple[str, ...]:
    """Say what the rows of loads that have no resistance of their own stand for on the other supply."""
    now, then = show(board.supply.voltage_v, "V"), show(supply_v, "V")
    loads = [(output.name, output.load) for output in board.outputs]
    powers = ", ".join(name for name, load in loads if load.power_w is not None)
    currents = ", ".join(name for name, load in loads if load.current_a is not None)
    said: tuple[str, ...] = ()
    if powers:
        said += (
            f"For {powers} the row of {then} stands for a load of the same watts made for {then}. What is made for "
            f"{now} must not be put on {then}, unless its maker allows it.",
        )
    if currents:
        said += (
            f"It is taken that {currents} keeps its current on {then}; only the maker can say whether it does, and "
            "whether it stands that voltage.",
        )
    return said


def _remade(load: Load, ratio: float) -> Load:
    """Return a load of the same watts for another supply: its resistance goes with the square of the voltage."""
    if load.resistance_ohm is None:
        return load
    cold = load.cold_resistance_ohm
    return replace(
        load,
        resistance_ohm=load.resistance_ohm * ratio**2,
        cold_resistance_ohm=None if cold is None else cold * ratio**2,
    )
