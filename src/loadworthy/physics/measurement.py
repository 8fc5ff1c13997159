"""Measuring small resistances: what a meter's reading is worth, what the leads add, and what the test itself warms."""

from __future__ import annotations

import numpy as np

from loadworthy.physics._on_resistance import resistance_at
from loadworthy.physics._values import FloatOrArray, fraction, not_negative, plain, positive, temperature

__all__ = [
    "COVERAGE",
    "PULSE_LIMIT_S",
    "drop_resistance",
    "expanded_uncertainty",
    "meter_uncertainty",
    "rectangular_uncertainty",
    "resistance_at_25",
    "resistance_at_other",
    "transient_bound",
    "two_wire_error",
]

COVERAGE = 2.0
"""Coverage factor of an expanded uncertainty: about 95 % of what could reasonably be meant (GUM 6.2, 6.3)."""

PULSE_LIMIT_S = 300e-6
"""Longest pulse at which data sheets state on-resistance, at a duty of 2 % at most: their convention."""

# From die to case the heat spreads within this time; a part in still air begins to warm as a whole after that one.
# Both at the fast end of what packages do (common practice, from memory), so that the bound is one.
_DIE_S = 10e-3
_PACKAGE_S = 10.0


def meter_uncertainty(
    *, reading: FloatOrArray, accuracy: FloatOrArray, counts: FloatOrArray, step: FloatOrArray
) -> FloatOrArray:
    """Work out the standard uncertainty of what a digital meter shows.

    Parameters
    ----------
    reading
        What it shows, in any unit [1].
    accuracy
        Its accuracy as a fraction of the reading [1].
    counts
        Counts of the last digit to add [1].
    step
        One count of the last digit, in the unit of the reading [1].

    Returns
    -------
    float or numpy.ndarray
        Standard uncertainty, in the unit of the reading [1].

    Raises
    ------
    UsageError
        If accuracy, counts or step are negative, or the accuracy is above 1.

    Notes
    -----
    u = (a·|x| + n·d)/√3: the makers' "± (percent of reading + counts)" is a bound within which any value is as
    likely as any other. Valid within the meter's range and the time and temperature that its accuracy holds for.

    References
    ----------
    GUM (JCGM 100:2008) 4.3.7.

    Examples
    --------
    96 mV on a meter of 0.5 % + 3 counts that shows whole millivolts:

    >>> round(1e3 * meter_uncertainty(reading=0.096, accuracy=0.005, counts=3.0, step=0.001), 2)
    2.01
    """
    bound = fraction("accuracy", accuracy) * np.abs(np.asarray(reading, dtype=np.float64))
    bound = bound + not_negative("counts", counts) * not_negative("step", step)
    return rectangular_uncertainty(half_width=plain(bound))


def rectangular_uncertainty(*, half_width: FloatOrArray) -> FloatOrArray:
    """Work out the standard uncertainty of a value of which only bounds are known.

    Parameters
    ----------
    half_width
        Half the distance between the bounds, in any unit [1].

    Returns
    -------
    float or numpy.ndarray
        Standard uncertainty, in the same unit [1].

    Raises
    ------
    UsageError
        If the distance is negative.

    Notes
    -----
    u = a/√3. Valid where nothing is known but that the value lies between the bounds.

    References
    ----------
    GUM (JCGM 100:2008) 4.3.7, equation (7).

    Examples
    --------
    >>> round(rectangular_uncertainty(half_width=3.0) ** 2, 12)
    3.0
    """
    return plain(not_negative("half_width", half_width) / np.sqrt(3.0))


def expanded_uncertainty(*, standard: FloatOrArray, coverage: FloatOrArray) -> FloatOrArray:
    """Widen a standard uncertainty to what is stated behind a ±.

    Parameters
    ----------
    standard
        Combined standard uncertainty, u, in any unit [1].
    coverage
        Coverage factor, k, such as :data:`COVERAGE` [1].

    Returns
    -------
    float or numpy.ndarray
        Expanded uncertainty, U, in the same unit [1].

    Raises
    ------
    UsageError
        If the uncertainty is negative, or the factor is not above zero.

    Notes
    -----
    U = k·u. Valid as about 95 % for k = 2 where several contributions of like size make up u.

    References
    ----------
    GUM (JCGM 100:2008) 6.2.1.

    Examples
    --------
    >>> expanded_uncertainty(standard=0.25, coverage=2.0)
    0.5
    """
    return plain(positive("coverage", coverage) * not_negative("standard", standard))


def drop_resistance(*, drop_v: FloatOrArray, current_a: FloatOrArray, leads_ohm: FloatOrArray) -> FloatOrArray:
    """Resistance from the voltage that a known current drops, less what the leads drop of it.

    Parameters
    ----------
    drop_v
        Voltage between the points where the meter touches, V [V].
    current_a
        Current, I [A].
    leads_ohm
        Resistance of lead and contact inside those points, R0 [Ω]; zero with four wires.

    Returns
    -------
    float or numpy.ndarray
        Resistance, R = V/I − R0 [Ω]; nan where the leads explain the whole drop.

    Raises
    ------
    UsageError
        If the voltage or the resistance of the leads is negative, or the current is not above zero.

    Notes
    -----
    R = V/I − R0. Valid for direct current, with both read at the same time.

    References
    ----------
    Ohm's law.

    Examples
    --------
    >>> round(1e3 * drop_resistance(drop_v=0.096, current_a=6.0, leads_ohm=0.003), 3)
    13.0
    """
    total = not_negative("drop_v", drop_v) / positive("current_a", current_a)
    rest = total - not_negative("leads_ohm", leads_ohm)
    return plain(np.where(rest > 0.0, rest, np.nan))


def two_wire_error(*, leads_ohm: FloatOrArray, resistance_ohm: FloatOrArray) -> FloatOrArray:
    """Share by which the leads raise what two wires read.

    Parameters
    ----------
    leads_ohm
        Resistance of both leads with their contacts, R0 [Ω].
    resistance_ohm
        Resistance of what is measured, R [Ω].

    Returns
    -------
    float or numpy.ndarray
        Error as a fraction of the resistance, R0/R [1].

    Raises
    ------
    UsageError
        If the leads are negative, or the resistance is not above zero.

    Notes
    -----
    e = R0/R. Valid for every reading through two wires; four wires (Kelvin) have none of it.

    References
    ----------
    Resistances in series; textbook, whose example is 0.2 Ω of lead on 2 Ω: 10 %.

    Examples
    --------
    >>> two_wire_error(leads_ohm=0.2, resistance_ohm=2.0)
    0.1
    """
    return plain(not_negative("leads_ohm", leads_ohm) / positive("resistance_ohm", resistance_ohm))


def resistance_at_25(
    *, resistance_ohm: FloatOrArray, exponent: FloatOrArray, junction_degc: FloatOrArray
) -> FloatOrArray:
    """Bring a measured on-resistance to 25 °C, where data sheets state it.

    Parameters
    ----------
    resistance_ohm
        On-resistance as measured, R [Ω].
    exponent
        Hot exponent, n [1].
    junction_degc
        Temperature of the junction during the measurement, TJ [°C].

    Returns
    -------
    float or numpy.ndarray
        On-resistance at 25 °C, R25 [Ω].

    Raises
    ------
    UsageError
        If the resistance or the exponent is negative, or the temperature is below absolute zero.

    Notes
    -----
    R25 = R/(1 + a·Δ + b·Δ²), the law of :func:`~loadworthy.physics.conduction.resistance_at` turned round. Valid
    as that is, from −55 to 175 °C.

    References
    ----------
    As :func:`~loadworthy.physics.conduction.resistance_at`; figures in the example: data sheet PSMN4R5-40BS,
    maximum, which prints 8.7 mΩ at 175 °C and 4.5 mΩ at 25 °C.

    Examples
    --------
    >>> round(1e3 * resistance_at_25(resistance_ohm=8.7e-3, exponent=1.62, junction_degc=175.0), 1)
    4.5
    """
    factor = np.asarray(resistance_at(rds25_ohm=1.0, exponent=exponent, junction_degc=junction_degc))
    return plain(not_negative("resistance_ohm", resistance_ohm) / factor)


def resistance_at_other(
    *, resistance_ohm: FloatOrArray, at_degc: FloatOrArray, other_degc: FloatOrArray, alpha_20_per_k: FloatOrArray
) -> FloatOrArray:
    """Resistance of a metal at another temperature than the one at which it was measured.

    Parameters
    ----------
    resistance_ohm
        Resistance as measured, R [Ω].
    at_degc
        Temperature of the metal then [°C].
    other_degc
        The other temperature [°C].
    alpha_20_per_k
        Temperature coefficient at 20 °C, α [1/K].

    Returns
    -------
    float or numpy.ndarray
        Resistance at the other temperature [Ω]; nan where the straight line has no sense any more.

    Raises
    ------
    UsageError
        If the resistance is negative, or a temperature is below absolute zero.

    Notes
    -----
    R' = R·(1 + α·(T' − 20 °C))/(1 + α·(T − 20 °C)). Valid for copper and resistance alloys within some 200 K; a
    filament that glows is far outside.

    References
    ----------
    IEC 60028 for copper, α = 0.00393 /K.

    Examples
    --------
    A winding of copper that reads 2 Ω at 20 °C, at 70 °C:

    >>> round(resistance_at_other(resistance_ohm=2.0, at_degc=20.0, other_degc=70.0, alpha_20_per_k=0.00393), 3)
    2.393
    """
    alpha = np.asarray(alpha_20_per_k, dtype=np.float64)
    below = 1.0 + alpha * (temperature("at_degc", at_degc) - 20.0)
    above = 1.0 + alpha * (temperature("other_degc", other_degc) - 20.0)
    sound = (below > 0.0) & (above > 0.0)
    return plain(not_negative("resistance_ohm", resistance_ohm) * np.where(sound, above, np.nan) / below)


def transient_bound(*, time_s: FloatOrArray, rthjc_k_per_w: FloatOrArray, rthja_k_per_w: FloatOrArray) -> FloatOrArray:
    """Give a bound from above of the transient thermal impedance of a part that one single pulse heats.

    Parameters
    ----------
    time_s
        How long the current has flowed, t [s]; infinite for a test that never ends.
    rthjc_k_per_w
        Thermal resistance from junction to case, RθJC [K/W].
    rthja_k_per_w
        Thermal resistance from junction to still air, RθJA [K/W].

    Returns
    -------
    float or numpy.ndarray
        Rise of the junction per watt, at most [K/W].

    Raises
    ------
    UsageError
        If the time is not above zero, or a thermal resistance is negative.

    Notes
    -----
    Z = RθJC·min(1, √(t/10 ms)) + (RθJA − RθJC)·(1 − exp(−t/10 s)). Heat that spreads into a solid rises with the
    root of time; then the part warms as a whole. Both times are at the fast end of what packages do. Valid as a bound
    for the packages of a control board; the curve in the data sheet is better.

    References
    ----------
    Common practice, the times from memory. It lies above the 50 K/W at 10 s that an SO-8's data sheet prints beside
    85 K/W at 1000 s.

    Examples
    --------
    A TO-220 after a pulse of 300 µs, and left on:

    >>> part = {"rthjc_k_per_w": 3.0, "rthja_k_per_w": 62.5}
    >>> round(transient_bound(time_s=300e-6, **part), 2), transient_bound(time_s=float("inf"), **part)
    (0.52, 62.5)
    """
    time = positive("time_s", time_s, infinite=True)
    inner = not_negative("rthjc_k_per_w", rthjc_k_per_w)
    outer = np.maximum(not_negative("rthja_k_per_w", rthja_k_per_w), inner)
    return plain(inner * np.minimum(1.0, np.sqrt(time / _DIE_S)) + (outer - inner) * -np.expm1(-time / _PACKAGE_S))
