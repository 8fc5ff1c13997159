"""What was measured, as it was typed: the readings of one sample, and what holds for all of them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from loadworthy.bench.combining import Reading
from loadworthy.bench.meters import Meter, read_meter
from loadworthy.errors import UsageError
from loadworthy.needs.base import measured
from loadworthy.physics import measurement

__all__ = ["AGREES", "DIFFERS", "Leads", "Surroundings", "air", "leads", "looked_at", "meters"]

AGREES, DIFFERS = "agrees", "differs"
#: Clips touch differently each time (common practice).
_LEADS_SHARE = 0.2
_ROOM_DEGC, _ROOM_HALF_K = 23.0, 5.0
_SENSOR_HALF_K = 2.0


@dataclass(frozen=True, kw_only=True)
class Leads:
    """What lies between the points that the meter touches and the part.

    Attributes
    ----------
    reading
        Its resistance; zero with four wires.
    known
        False where nobody said: the drop then bounds the part's from above, and no more.
    assumed, notes
        What it rests on, and what else is to be said.
    """

    reading: Reading
    known: bool
    assumed: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Surroundings:
    """The temperature of a part before the test current flows."""

    reading: Reading
    assumed: tuple[str, ...] = field(default=())


def leads(given: Mapping[str, str | None], *, kelvin: bool) -> Leads:
    """Read what is said of the leads.

    Raises
    ------
    UsageError
        Four wires have no leads to take off.
    """
    text = given.get("leads")
    if kelvin and text is not None:
        raise UsageError(
            "with four wires no lead is in the reading.",
            where="--kelvin, --leads",
            way_out="Give --leads for two wires, --kelvin for four.",
        )
    if kelvin:
        return Leads(reading=Reading(value=0.0, standard=0.0), known=True, notes=("four wires: no lead is in it",))
    if text is None:
        return Leads(
            reading=Reading(value=0.0, standard=0.0),
            known=False,
            notes=(
                "a two-wire reading: leads and contacts are in it, and nobody said how much they are. It bounds the "
                "part from above and no more; measure with four wires (--kelvin), or short the leads and give --leads",
            ),
        )
    value = measured("leads", text, "ohm", above=0.0)
    standard = measurement.rectangular_uncertainty(half_width=_LEADS_SHARE * value)
    return Leads(
        reading=Reading(value=value, standard=float(standard)),
        known=True,
        assumed=(f"the leads' resistance is good for {100 * _LEADS_SHARE:g} %: clips touch differently each time",),
    )


def air(given: Mapping[str, str | None]) -> Surroundings:
    """Read the temperature before the test, or take a room's."""
    text = given.get("temp")
    if text is None:
        standard = measurement.rectangular_uncertainty(half_width=_ROOM_HALF_K)
        return Surroundings(
            reading=Reading(value=_ROOM_DEGC, standard=float(standard)),
            assumed=(f"measured in a room of {_ROOM_DEGC:g} °C, give or take {_ROOM_HALF_K:g} K",),
        )
    value = measured("temp", text, "degC", least=-55.0, most=150.0)
    standard = measurement.rectangular_uncertainty(half_width=_SENSOR_HALF_K)
    return Surroundings(
        reading=Reading(value=value, standard=float(standard)),
        assumed=(f"the temperature given is good for {_SENSOR_HALF_K:g} K",),
    )


def meters(given: Mapping[str, str | None]) -> dict[str, Meter]:
    """Read the accuracies of the meters, by the unit that each reads."""
    names = {"V": "volt_meter", "A": "ammeter", "ohm": "ohm_meter", "F": "capacitance_meter"}
    return {unit: read_meter(name, given.get(name), unit) for unit, name in names.items()}


def looked_at(name: str, text: str | None) -> str | None:
    """Read what was only looked at: it agrees with what is claimed, or it differs.

    Raises
    ------
    UsageError
        It is neither.
    """
    if text is None or not text.strip():
        return None
    word = text.strip().casefold()
    if word not in (AGREES, DIFFERS):
        raise UsageError(
            f"{text!r} is neither {AGREES} nor {DIFFERS}.",
            where="--" + name.replace("_", "-"),
            way_out="Write one of them.",
        )
    return word
