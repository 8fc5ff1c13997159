"""A resistance that was measured, by drop and current or by an ohm-meter: connector contacts, fuses, loads."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from loadworthy.bench import asked
from loadworthy.bench.combining import Combined, combine
from loadworthy.bench.meters import Meter, digits_note, typed
from loadworthy.bench.verdicts import Band, Finding, verdict
from loadworthy.errors import UsageError
from loadworthy.physics import measurement
from loadworthy.quantities import show

__all__ = ["Measured", "finding", "resistance"]

#: From here up the leads of a hand-held meter, some tenths of an ohm, no longer matter (common practice).
_LEADS_LOST_OHM = 100.0


@dataclass(frozen=True, kw_only=True)
class Measured:
    """A resistance as measured, its leads taken off where they are known.

    Attributes
    ----------
    value, expanded
        The resistance, and its expanded uncertainty (k = 2).
    low, high
        The interval in which it lies; from zero where leads of which nothing is known are in it.
    bounded
        Whether it is known from both sides.
    """

    value: float
    expanded: float
    low: float
    high: float
    bounded: bool
    shares: Mapping[str, float]
    assumed: tuple[str, ...]
    notes: tuple[str, ...]


def resistance(given: Mapping[str, str | None], *, kelvin: bool, in_series: int = 1, most_ohm: float = 1e6) -> Measured:
    """Read a resistance: drop and current, or what an ohm-meter shows.

    Parameters
    ----------
    given
        What was typed, by the names of the options with low lines.
    kelvin
        Whether four wires were used.
    in_series
        How many of the same lay between the points that the meter touched; the result is of one.
    most_ohm
        Above which it is a slip.

    Raises
    ------
    UsageError, QuantityError
        Both ways are given, or neither, or something is no such quantity.
    """
    hints: tuple[str, ...] = ()
    direct, drop, current = given.get("reading"), given.get("drop"), given.get("current")
    meters = asked.meters(given)
    leads = asked.leads(given, kelvin=kelvin)
    if direct is not None and (drop is not None or current is not None):
        raise UsageError(
            "a resistance is read by an ohm-meter, or follows from drop and current.",
            where="--reading, --drop, --current",
            way_out="Give the one or the other.",
        )
    if direct is not None:
        shown = typed("reading", direct, "ohm", meters["ohm"], most=most_ohm)
        total, said = shown.value, shown.said
        result = combine(
            lambda reading_ohm, leads_ohm: (reading_ohm - leads_ohm) / in_series,
            {"reading_ohm": shown.reading, "leads_ohm": leads.reading},
        )
    elif drop is not None and current is not None:
        total, said, result, hints = _from_drop(drop, current, meters, leads, in_series)
    else:
        raise UsageError(
            "nothing was measured.",
            where="--reading, --drop, --current",
            way_out="Give what an ohm-meter shows, or drop and current; --how says how to measure it.",
        )
    if not total > leads.reading.value:
        raise UsageError(
            f"the leads ({show(leads.reading.value, 'ohm')}) would explain the whole reading.",
            where="--leads",
            way_out="Measure with four wires, and give --kelvin.",
        )
    expanded = float(measurement.expanded_uncertainty(standard=result.standard, coverage=measurement.COVERAGE))
    lost = not leads.known and result.value >= _LEADS_LOST_OHM
    bounded = leads.known or lost
    notes = ["the leads, some tenths of an ohm at most, are left in"] if lost else list(leads.notes)
    if leads.known and leads.reading.value:
        error = float(
            measurement.two_wire_error(leads_ohm=leads.reading.value, resistance_ohm=result.value * in_series)
        )
        notes.append(f"a two-wire reading: the leads are {show(100.0 * error, '1')} % of the part, and are taken off")
    return Measured(
        value=result.value,
        expanded=expanded,
        low=max(result.value - expanded, 0.0) if bounded else 0.0,
        high=result.value + expanded,
        bounded=bounded,
        shares=result.shares,
        assumed=tuple(dict.fromkeys((*said, *leads.assumed))),
        notes=(*notes, *hints),
    )


def _from_drop(
    drop: str, current: str, meters: Mapping[str, Meter], leads: asked.Leads, in_series: int
) -> tuple[float, tuple[str, ...], Combined, tuple[str, ...]]:
    volts = typed("drop", drop, "V", meters["V"], most=200.0)
    amperes = typed("current", current, "A", meters["A"], most=500.0)
    result = combine(
        lambda drop_v, current_a, leads_ohm: (
            float(measurement.drop_resistance(drop_v=drop_v, current_a=current_a, leads_ohm=max(leads_ohm, 0.0)))
            / in_series
        ),
        {"drop_v": volts.reading, "current_a": amperes.reading, "leads_ohm": leads.reading},
    )
    if math.isnan(result.value):  # the caller says that the leads explain it all
        result = Combined(value=0.0, standard=0.0)
    hints = digits_note(drop, volts, result.shares.get("drop_v", 0.0))
    hints += digits_note(current, amperes, result.shares.get("current_a", 0.0))
    return volts.value / amperes.value, (*volts.said, *amperes.said), result, hints


def finding(name: str, title: str, found: Measured, band: Band | None, *, notes: tuple[str, ...] = ()) -> Finding:
    """Hold a measured resistance against its band."""
    return Finding(
        name=name,
        title=title,
        unit="ohm",
        value=found.value if found.bounded else None,
        uncertainty=found.expanded if found.bounded else None,
        low=found.low,
        high=found.high,
        band=band,
        verdict=verdict(found.low, found.high, band),
        shares=dict(found.shares),
        assumed=(*found.assumed, *(band.assumed if band else ())),
        notes=(*found.notes, *notes),
    )
