"""What to mind, in the words in which every family says it."""

from __future__ import annotations

from typing import Final

__all__ = [
    "ABOVE_60_V",
    "COLD_LOAD",
    "FAILS_ON",
    "FIRST_HEAT_UP",
    "FLOATING_PIN",
    "FREEWHEEL",
    "HIGH_SIDE",
    "LOW_VOLTAGE_ONLY",
    "PAPER_FIGURES",
    "SINK_ON_A_TAB",
    "STILL_AIR",
    "SWITCHING_ESTIMATED",
    "UNCLAMPED",
]

LOW_VOLTAGE_ONLY: Final = (
    "Isolated extra-low voltage only. Mains, vehicles, medical and marine work belong to local codes and "
    "licensed practice."
)
ABOVE_60_V: Final = "Above 60 V direct voltage a touch can hurt: insulate every live part."
FAILS_ON: Final = (
    "Transistors fail on: a heater needs a fuse and an independent thermal cut-off, neither of which relies "
    "on the transistor. Never fit a larger fuse to stop it blowing."
)
PAPER_FIGURES: Final = "Catalogue figures are estimates until the data sheet and a measurement agree; parts get faked."
FIRST_HEAT_UP: Final = "Attend the first heat-up."
STILL_AIR: Final = (
    "Thermal resistance in still air depends on board and box: parts whose figures were taken "
    "under different conditions do not rank strictly."
)
FREEWHEEL: Final = (
    "An inductive load needs a freewheel diode across it that is rated for the load's current; "
    "without it the part takes an avalanche each time."
)
SWITCHING_ESTIMATED: Final = (
    "Switching times are estimated from charge and gate resistance: measure the edges on the board."
)
COLD_LOAD: Final = (
    "Whether the part survives the inrush depends on how long it lasts: hold it against the safe operating "
    "area in the data sheet."
)
FLOATING_PIN: Final = "While the controller starts, its pin floats: a pull-down at the gate keeps the load off."
HIGH_SIDE: Final = (
    "A P channel on the high side is off only when its gate is at the supply: a 5 V pin cannot turn it off above "
    "5 V. It needs a level shifter, and a pull-up from gate to source that keeps the load off while the "
    "controller starts; the drive is what then lies between gate and source when it is on. Where a divider or a clamp "
    "limits what the gate sees, say so with --gate-swing."
)
UNCLAMPED: Final = (
    "Unclamped, every switch-off drives the part into avalanche: that energy, ½·L·I² each time, is neither in the "
    "loss nor in the junction temperature here. Fit a freewheel diode, or hold the energy against the avalanche rating."
)
SINK_ON_A_TAB: Final = (
    "A heat sink goes on a tab that stands free, with compound, and insulated where tab and sink differ in voltage; "
    "a package that lies on the board gives its heat to the copper first."
)
