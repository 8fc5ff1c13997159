"""What to mind, in the words in which every family says it."""

from __future__ import annotations

from typing import Final

__all__ = [
    "ABOVE_60_V",
    "AMPACITY_IS_LOCAL",
    "CATHODE_TO_PLUS",
    "CHANGE_WHEN_OFF",
    "COLD_LOAD",
    "FAILS_ON",
    "FAN_STOPS",
    "FAULT_LIMITED",
    "FINS_UPRIGHT",
    "FIRST_HEAT_UP",
    "FLOATING_PIN",
    "FREEWHEEL",
    "FUSE_PROTECTS_WIRING",
    "HIGH_SIDE",
    "HOT_SINK",
    "LOOK_ALIKES",
    "LOW_VOLTAGE_ONLY",
    "NOT_UNDER_LOAD",
    "NO_LARGER_FUSE",
    "PAD_INSULATES",
    "PAPER_FIGURES",
    "RATED_RISE",
    "SHORTED_DIODE",
    "SHORT_CIRCUIT",
    "SINK_ON_A_TAB",
    "SLOW_RELEASE",
    "STILL_AIR",
    "SWITCHING_ESTIMATED",
    "TIGHTEN_AGAIN",
    "TRIPPED_IS_NOT_OFF",
    "UNCLAMPED",
    "WEAKEST_LINK",
    "WIRE_NEEDS_A_FUSE",
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
CATHODE_TO_PLUS: Final = (
    "A freewheel diode lies across the load with its cathode, the marked end, at plus: the other way round it shorts "
    "the supply through the switch. Put it close to the load's terminals."
)
SHORTED_DIODE: Final = (
    "Diodes fail short: the transistor then switches the supply into a short, and the fuse must open."
)
SLOW_RELEASE: Final = (
    "Through a plain diode the current of a coil dies away slowly: a valve, brake or relay releases later than without "
    "it (common practice). Where that could hurt somebody, have the circuit designed for it."
)
HOT_SINK: Final = (
    "Metal above about 60 °C burns whoever touches it (common practice): guard the sink, mark it, and let it cool "
    "before work."
)
FINS_UPRIGHT: Final = (
    "Stand the fins upright, with air free to come in below and to leave above: lying, boxed in or above another hot "
    "part a sink does worse than its figure."
)
RATED_RISE: Final = (
    "A figure for still air holds at the rise above the air that its maker took it at, often 50 to 75 K: at half the "
    "rise the sink is some 20 % worse (common practice)."
)
FAN_STOPS: Final = (
    "When the fan stops or its filter clogs, the part overheats: have something switch the load off that does not rely "
    "on the fan."
)
PAD_INSULATES: Final = (
    "A pad insulates only while it is whole, and only with an insulated screw or a clip: take burrs off, and measure "
    "between tab and sink before switching on."
)
FUSE_PROTECTS_WIRING: Final = (
    "A fuse protects wiring and board against fire. It never saves a transistor, and it does not open for a transistor "
    "that has failed fully on: that current is the load's own. A heater needs an independent thermal cut-off as well."
)
NO_LARGER_FUSE: Final = "Never fit a larger fuse to stop it blowing."
TRIPPED_IS_NOT_OFF: Final = (
    "A resettable fuse that has tripped is not an isolator: it stays warm, leaks a current, and the voltage stays on "
    "the load's side. It holds again once it has cooled. Switch the supply off before touching anything."
)
CHANGE_WHEN_OFF: Final = (
    "Change a fuse only with the supply off, and find out why it opened before the next one goes in."
)
SHORT_CIRCUIT: Final = (
    "What a short circuit drives was not asked about: a battery drives hundreds of amperes. Give it with --fault, so "
    "that the fuse is held against it."
)
FAULT_LIMITED: Final = (
    "A supply that limits its current may never drive what opens the fuse in time: hold its limit against the current "
    "that surely opens it."
)
WEAKEST_LINK: Final = (
    "Below the current that surely opens it a fuse may carry what it gets for ever. Whether the weakest link behind it "
    "stands that was not asked about: give that link's current with --weakest."
)
AMPACITY_IS_LOCAL: Final = (
    "The temperature is that of one wire alone in still air. What a wire may carry when bundled, in a duct or behind "
    "insulation is a matter of local codes: they count, and not this estimate."
)
WIRE_NEEDS_A_FUSE: Final = (
    "A wire needs a fuse at the supply's end that opens before the wire gets too warm; a fuse sized for the load alone "
    "may not."
)
LOOK_ALIKES: Final = (
    "Terminals that look alike are sold for 5 A to 25 A (common practice). One without a marking is likely at the low "
    "end: never take it for more than 10 A."
)
NOT_UNDER_LOAD: Final = "Connectors are not pulled under load: a direct current draws an arc. Switch off first."
TIGHTEN_AGAIN: Final = (
    "Screws settle: tighten them again after the first heat-up, and look for discoloured contacts; a loose or worn "
    "contact gets far hotter than any figure here."
)
