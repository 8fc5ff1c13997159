"""A transistor that arrived: its readings against what its marking claims, and what it carries as it is."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace
from typing import Final

from loadworthy.bench import asked, claims
from loadworthy.bench.claims import Claims, claimed_band
from loadworthy.bench.combining import Reading, combine
from loadworthy.bench.meters import Meter, digits_note, typed
from loadworthy.bench.verdicts import NOT_DECIDED, OUTSIDE, WITHIN, Band, Finding, verdict
from loadworthy.catalog.packages import packages
from loadworthy.errors import UsageError
from loadworthy.needs.base import maybe, measured, outlines
from loadworthy.physics import conduction, measurement
from loadworthy.quantities import show

__all__ = ["findings", "outline"]

#: How far the exponents fitted to data sheets lie from the usual one of their class of voltage.
_EXPONENT_HALF: Final = 0.2
#: A threshold falls by 2 to 7 mV for each kelvin (common practice, from memory): at most this much.
_THRESHOLD_V_PER_K: Final = 7e-3
#: Without a word on the package: inside, and to still air of the smallest (TO-92, data sheets print 312.5 and 357 K/W).
_WORST_RTH: Final = (5.0, 360.0)
_MUCH_MORE_BREAKDOWN: Final = 1.6
_MOST_V: Final = 200.0
_MOST_A: Final = 500.0


def findings(given: Mapping[str, str | None], claimed: Claims, *, kelvin: bool) -> tuple[Finding, ...]:
    """Hold the readings of one sample against what is claimed.

    Parameters
    ----------
    given
        What was typed, by the names of the options with low lines.
    claimed
        What the catalogue says of the part.
    kelvin
        Whether the drop was taken with four wires.

    Returns
    -------
    tuple of Finding
        On-resistance, threshold, gate capacitance, breakdown, marking and package: those that were given.

    Raises
    ------
    LoadworthyError
        Something given is no such quantity, or something is missing.
    """
    meters = asked.meters(given)
    found: list[Finding] = []
    if given.get("drop") is not None or given.get("current") is not None:
        found.append(_on_resistance(given, claimed, meters, kelvin=kelvin))
    if given.get("vth") is not None:
        found.append(_threshold(given, claimed, meters["V"]))
    if given.get("gate_capacitance") is not None:
        found.append(_capacitance(given, claimed, meters["F"]))
    if given.get("breakdown") is not None:
        found.append(_breakdown(given, claimed, meters["V"]))
    found += [one for one in (_looks("marking", given), _looks("outline", given)) if one is not None]
    if not found:
        raise UsageError(
            "nothing was measured.",
            where="--drop, --current, --gate",
            way_out="Give what you read; --how says how to measure it.",
        )
    return tuple(found)


def outline(given: Mapping[str, str | None], claimed: Claims) -> str | None:
    """Return the package that the part is in: as given, else as listed.

    Raises
    ------
    UsageError
        No such package is known.
    """
    text = given.get("package")
    if text is None:
        return claimed.row.get("package")
    return outlines((text,))[0]


def _on_resistance(
    given: Mapping[str, str | None], claimed: Claims, meters: Mapping[str, Meter], *, kelvin: bool
) -> Finding:
    missing = [name for name in ("drop", "current", "gate") if given.get(name) is None]
    if missing:
        raise UsageError(
            f"an on-resistance wants {' and '.join(missing)} as well.",
            where=", ".join(f"--{name}" for name in missing),
            way_out="Give drop, current and gate voltage of one and the same moment.",
        )
    drop = typed("drop", given["drop"] or "", "V", meters["V"], most=_MOST_V)
    current = typed("current", given["current"] or "", "A", meters["A"], most=_MOST_A)
    gate_v = measured("gate", given["gate"], "V", above=0.0, most=30.0)
    leads = asked.leads(given, kelvin=kelvin)
    air = asked.air(given)
    exponent, said = _exponent(given, claimed)
    rise, warming = _rise(given, claimed, drop.value * current.value)
    readings = {
        "drop_v": drop.reading,
        "current_a": current.reading,
        "leads_ohm": leads.reading,
        "exponent": exponent,
        "temp_degc": air.reading,
        "rise_k": rise,
    }
    if not drop.value / current.value > leads.reading.value:
        raise UsageError(
            f"the leads ({show(leads.reading.value, 'ohm')}) would explain the whole drop.",
            where="--leads",
            way_out="Measure with four wires, straight at the part's pins, and give --kelvin.",
        )
    result = combine(_rds25, readings)
    expanded = float(measurement.expanded_uncertainty(standard=result.standard, coverage=measurement.COVERAGE))
    low, high = max(result.value - expanded, 0.0), result.value + expanded
    band = claimed_band("claimed_on_resistance", given.get("claimed_on_resistance"), "ohm", alone="most")
    band = band or claims.listed_on_resistance(claimed, gate_v)
    notes = [*leads.notes, *warming]
    notes += digits_note(given["drop"] or "", drop, result.shares.get("drop_v", 0.0))
    notes += digits_note(given["current"] or "", current, result.shares.get("current_a", 0.0))
    if leads.known and leads.reading.value:
        error = measurement.two_wire_error(leads_ohm=leads.reading.value, resistance_ohm=result.value)
        notes.append(
            f"a two-wire reading: the leads are {show(100.0 * float(error), '1')} % of the part, and are taken off"
        )
    if band is None and claimed.row.get("rds_from_v") is not None:
        notes.append(
            f"nothing is specified at {show(gate_v, 'V')} on the gate; the part is specified from "
            f"{show(claimed.row['rds_from_v'], 'V')} on"
        )
    assumed = [*drop.said, *current.said, *leads.assumed, *air.assumed, *said, *(band.assumed if band else ())]
    return Finding(
        name="on_resistance",
        title="on-resistance",
        unit="ohm",
        value=result.value if leads.known else None,
        uncertainty=expanded if leads.known else None,
        low=low if leads.known else 0.0,
        high=high,
        band=band,
        verdict=verdict(low if leads.known else 0.0, high, band),
        shares=dict(result.shares),
        assumed=tuple(dict.fromkeys(assumed)),
        notes=tuple(notes),
    )


def _rds25(
    *, drop_v: float, current_a: float, leads_ohm: float, exponent: float, temp_degc: float, rise_k: float
) -> float:
    """Bring drop and current to the on-resistance at 25 °C: the law that the readings go through."""
    # Numerical derivatives look a hair to either side, below zero too where there are no leads.
    ohms = measurement.drop_resistance(drop_v=drop_v, current_a=current_a, leads_ohm=max(leads_ohm, 0.0))
    return float(measurement.resistance_at_25(resistance_ohm=ohms, exponent=exponent, junction_degc=temp_degc + rise_k))


def _exponent(given: Mapping[str, str | None], claimed: Claims) -> tuple[Reading, tuple[str, ...]]:
    own = maybe("hot_exponent", given.get("hot_exponent"), "1", least=0.0, most=4.0)
    own = claimed.figure("hot_exponent") if own is None else own
    if own is not None:
        return Reading(value=own, standard=0.0), ()
    vds = claimed.figure("vds_v")
    exponent = float(conduction.default_hot_exponent(vds_v=30.0 if vds is None else vds))
    of = "a part of up to 60 V" if vds is None else f"{show(vds, 'V')}"
    standard = float(measurement.rectangular_uncertainty(half_width=_EXPONENT_HALF))
    said = (f"hot exponent {exponent:.3g}, usual for {of}, good for {_EXPONENT_HALF:g}",)
    return Reading(value=exponent, standard=standard), said


def _rise(given: Mapping[str, str | None], claimed: Claims, power_w: float) -> tuple[Reading, tuple[str, ...]]:
    """Say how much warmer the junction was than before: the middle of what is possible, and how far it may be off."""
    pulse = maybe("pulse", given.get("pulse"), "s", above=0.0, most=3600.0)
    duration = maybe("duration", given.get("duration"), "s", above=0.0)
    if pulse is not None and duration is not None:
        raise UsageError(
            "a pulse has one length.", where="--pulse, --duration", way_out="Give --pulse, or --duration by the clock."
        )
    time = pulse if pulse is not None else duration
    inner, outer, said = _thermal(given, claimed)
    bound = power_w * float(
        measurement.transient_bound(time_s=math.inf if time is None else time, rthjc_k_per_w=inner, rthja_k_per_w=outer)
    )
    middle = bound / 2.0
    words = "for as long as it takes" if time is None else f"for {show(time, 's')}"
    notes = [
        f"flowing {words}, the test itself warmed the junction by anything up to {show(bound, 'K')} ({said}); the "
        "middle is taken"
    ]
    if time is None:
        notes.append(
            "how long the current flowed was not said: give --pulse or --duration, and the uncertainty shrinks"
        )
    elif time > measurement.PULSE_LIMIT_S:
        notes.append("data sheets state on-resistance with pulses of 300 µs at most, at a duty of 2 % at most")
    standard = float(measurement.rectangular_uncertainty(half_width=middle))
    return Reading(value=middle, standard=standard), tuple(notes)


def _thermal(given: Mapping[str, str | None], claimed: Claims) -> tuple[float, float, str]:
    """Return RθJC and RθJA, on the high side where they are not the part's own, and where they are from."""
    own_inner, own_outer = claimed.figure("rthjc_k_per_w"), claimed.figure("rthja_k_per_w")
    name = outline(given, claimed)
    package = next((one for one in packages() if one.name == name), None)
    inner = own_inner if own_inner is not None else package.rthjc if package else _WORST_RTH[0]
    outer = own_outer if own_outer is not None else package.rthja if package else _WORST_RTH[1]
    missing = [word for word, own in (("RθJC", own_inner), ("RθJA", own_outer)) if own is None]
    if not missing:
        return inner, outer, "by its listed RθJC and RθJA"
    whose = f"of {name}" if package else "of the worst package, since none is given"
    return inner, outer, f"assumed: {' and '.join(missing)} {whose}"


def _threshold(given: Mapping[str, str | None], claimed: Claims, meter: Meter) -> Finding:
    air = asked.air(given)
    band = claimed_band("claimed_threshold", given.get("claimed_threshold"), "V", alone="most")
    band = band or claimed.band("vgs_th_min_v", "vgs_th_max_v", "threshold band, as listed")
    found = _direct("vth", "threshold", given["vth"] or "", "V", meter=meter, band=band)
    off = abs(air.reading.value - conduction.REFERENCE_DEGC) * _THRESHOLD_V_PER_K
    if off > 0.0 and found.low is not None and found.high is not None:
        low, high = found.low - off, found.high + off
        found = replace(
            found,
            low=low,
            high=high,
            verdict=verdict(low, high, band),
            assumed=(
                *found.assumed,
                *air.assumed,
                "a threshold falls by 2 to 7 mV for each kelvin (common practice); the interval is wider by as much",
            ),
        )
    note = (
        "compares only if taken at the data sheet's small current, gate and drain joined; it is never a drive voltage"
    )
    return replace(found, name="threshold", notes=(*found.notes, note))


def _capacitance(given: Mapping[str, str | None], claimed: Claims, meter: Meter) -> Finding:
    own = maybe("claimed_capacitance", given.get("claimed_capacitance"), "F", above=0.0)
    band = claims.capacitance_band(claimed) if own is None else claims.around_capacitance(own, "as given")
    found = _direct(
        "gate_capacitance", "gate capacitance", given["gate_capacitance"] or "", "F", meter=meter, band=band
    )
    return replace(found, assumed=(*found.assumed, *(band.assumed if band else ())))


def _breakdown(given: Mapping[str, str | None], claimed: Claims, meter: Meter) -> Finding:
    band = claimed_band("claimed_breakdown", given.get("claimed_breakdown"), "V", alone="least")
    band = band or claimed.band("vds_v", None, "VDS, as listed")
    found = _direct("breakdown", "breakdown voltage", given["breakdown"] or "", "V", meter=meter, band=band)
    notes = found.notes
    if band is not None and band.least is not None and (found.low or 0.0) > _MUCH_MORE_BREAKDOWN * band.least:
        notes = (*notes, "far above what is claimed: that hints at another die, made for a higher voltage")
    return replace(found, notes=notes)


def _direct(name: str, title: str, text: str, unit: str, *, meter: Meter, band: Band | None) -> Finding:
    """Hold a figure that a meter shows as it is against its band."""
    shown = typed(name, text, unit, meter, most=2000.0)
    expanded = float(measurement.expanded_uncertainty(standard=shown.reading.standard, coverage=measurement.COVERAGE))
    low, high = shown.value - expanded, shown.value + expanded
    return Finding(
        name=name,
        title=title,
        unit=unit,
        value=shown.value,
        uncertainty=expanded,
        low=low,
        high=high,
        band=band,
        verdict=verdict(low, high, band),
        assumed=shown.said,
    )


def _looks(name: str, given: Mapping[str, str | None]) -> Finding | None:
    word = asked.looked_at(name, given.get(name))
    if word is None:
        return None
    title = {"marking": "the marking", "outline": "the package"}[name]
    found = {asked.AGREES: WITHIN, asked.DIFFERS: OUTSIDE}.get(word, NOT_DECIDED)
    return Finding(
        name=name, title=title, unit=None, value=None, uncertainty=None, low=None, high=None, band=None,
        verdict=found, notes=("looked at, not measured",),
    )  # fmt: skip
