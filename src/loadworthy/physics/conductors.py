"""Copper wire: gauge and area, resistance, voltage drop, and how warm it gets."""

from __future__ import annotations

from types import MappingProxyType

import numpy as np
import numpy.typing as npt

from loadworthy.errors import UsageError
from loadworthy.physics._copper import (
    COPPER_ALPHA_20,
    COPPER_REFERENCE_DEGC,
    STILL_AIR_FILM_W_PER_M2_K,
    copper_factor,
    wire_current,
    wire_temperature,
)
from loadworthy.physics._values import FloatOrArray, not_negative, plain, positive

__all__ = [
    "COPPER_ALPHA_20",
    "COPPER_REFERENCE_DEGC",
    "COPPER_RESISTIVITY_20",
    "IEC_60228_OHM_PER_M",
    "STILL_AIR_FILM_W_PER_M2_K",
    "awg_area",
    "awg_diameter",
    "conductor_resistance",
    "copper_factor",
    "solid_resistance_per_m",
    "stranded_resistance_per_m",
    "voltage_drop",
    "wire_current",
    "wire_temperature",
]

COPPER_RESISTIVITY_20 = 1e-6 / 58.0
"""Resistivity of annealed copper at 20 °C in Ω·m: 1/58 Ω·mm²/m (IEC 60028)."""

# Greatest resistance at 20 °C of plain copper conductors, IEC 60228, in Ω/km by area in mm². The rows for 10
# and 16 mm² are from memory.
_IEC_60228_OHM_PER_KM = {
    2: {0.5: 36.0, 0.75: 24.5, 1.0: 18.1, 1.5: 12.1, 2.5: 7.41, 4.0: 4.61, 6.0: 3.08, 10.0: 1.83, 16.0: 1.15},
    5: {0.5: 39.0, 0.75: 26.0, 1.0: 19.5, 1.5: 13.3, 2.5: 7.98, 4.0: 4.95, 6.0: 3.30, 10.0: 1.91, 16.0: 1.21},
}

IEC_60228_OHM_PER_M = MappingProxyType(
    {
        kind: MappingProxyType({mm2 * 1e-6: ohm_per_km * 1e-3 for mm2, ohm_per_km in rows.items()})
        for kind, rows in _IEC_60228_OHM_PER_KM.items()
    }
)
"""Greatest resistance in Ω/m at 20 °C of plain copper wire: class (2 stranded, 5 flexible) → area in m² → Ω/m."""

_AREA_TOLERANCE = 0.01


def awg_diameter(*, gauge: FloatOrArray) -> FloatOrArray:
    """Diameter of a solid conductor of the American wire gauge.

    Parameters
    ----------
    gauge
        Number of the gauge, n [1]; 1/0 is 0, 2/0 is −1, 3/0 is −2, 4/0 is −3.

    Returns
    -------
    float or numpy.ndarray
        Diameter of the bare copper, d [m].

    Raises
    ------
    UsageError
        If the gauge is no whole number from −3 to 40.

    Notes
    -----
    d = 0.127 mm·92^((36 − n)/39). Valid for solid wire; strands of the same gauge have the same area of
    copper, about.

    References
    ----------
    ASTM B258.

    Examples
    --------
    >>> round(1e3 * awg_diameter(gauge=36), 3), round(1e3 * awg_diameter(gauge=-3), 2)
    (0.127, 11.68)
    """
    number = np.asarray(gauge, dtype=np.float64)
    bad = (number < -3.0) | (number > 40.0) | (np.isfinite(number) & (number != np.round(number)))
    if np.any(bad):
        raise UsageError(
            f"{number.flat[int(np.flatnonzero(bad)[0])]:g} is no wire gauge from 4/0 (-3) to 40.",
            where="gauge",
            way_out="Give the number of the American wire gauge, or the area of the copper.",
        )
    return plain(np.asarray(0.127e-3 * 92.0 ** ((36.0 - number) / 39.0)))


def awg_area(*, gauge: FloatOrArray) -> FloatOrArray:
    """Area of a solid conductor of the American wire gauge.

    Parameters
    ----------
    gauge
        Number of the gauge, n [1]; 1/0 is 0, 2/0 is −1, 3/0 is −2, 4/0 is −3.

    Returns
    -------
    float or numpy.ndarray
        Area of the copper, A [m²].

    Raises
    ------
    UsageError
        If the gauge is no whole number from −3 to 40.

    Notes
    -----
    A = π·d²/4, with d of :func:`awg_diameter`. Valid as that is.

    References
    ----------
    ASTM B258.

    Examples
    --------
    18 AWG in mm²:

    >>> round(1e6 * awg_area(gauge=18), 3)
    0.823
    """
    return plain(np.asarray(np.pi / 4.0 * np.square(awg_diameter(gauge=gauge))))


def solid_resistance_per_m(*, area_m2: FloatOrArray) -> FloatOrArray:
    """Resistance of solid copper at 20 °C, by the metre.

    Parameters
    ----------
    area_m2
        Area of the copper, A [m²].

    Returns
    -------
    float or numpy.ndarray
        Resistance [Ω/m].

    Raises
    ------
    UsageError
        If the area is not above zero.

    Notes
    -----
    R' = ρ/A, ρ = 1/58 Ω·mm²/m. Valid for solid annealed copper of the area as it is. The area that the name of
    a stranded wire gives is nominal: :func:`stranded_resistance_per_m`.

    References
    ----------
    IEC 60028.

    Examples
    --------
    18 AWG, in Ω/km:

    >>> round(1e3 * solid_resistance_per_m(area_m2=awg_area(gauge=18)), 2)
    20.95
    """
    return plain(COPPER_RESISTIVITY_20 / positive("area_m2", area_m2))


def stranded_resistance_per_m(*, area_m2: FloatOrArray, conductor_class: int) -> FloatOrArray:
    """Greatest resistance of stranded copper wire at 20 °C, by the metre.

    Parameters
    ----------
    area_m2
        Nominal area, one of the table's [m²].
    conductor_class
        2 for stranded, 5 for flexible conductors [1].

    Returns
    -------
    float or numpy.ndarray
        Greatest resistance of plain copper [Ω/m].

    Raises
    ------
    UsageError
        If the class or an area is not in the table.

    Notes
    -----
    A table, :data:`IEC_60228_OHM_PER_M`, not a formula: 1 mm² of flexible wire has 19.5 Ω/km, where 1/58 gives
    17.24. Valid for plain copper at 20 °C; tinned wire has a little more.

    References
    ----------
    IEC 60228; the rows for 10 and 16 mm² are from memory.

    Examples
    --------
    >>> round(1e3 * stranded_resistance_per_m(area_m2=1.0e-6, conductor_class=5), 2)
    19.5
    """
    rows = IEC_60228_OHM_PER_M.get(conductor_class)
    if rows is None:
        raise UsageError(
            f"Class {conductor_class} is not in the table of conductors.",
            where="conductor_class",
            way_out="Use class 2 (stranded) or 5 (flexible), or give the resistance by the metre.",
        )
    area = positive("area_m2", area_m2)
    tabulated = np.array(list(rows))
    # nan stands in for unknown, and lies at no distance from anything.
    distance = np.abs(np.nan_to_num(area, nan=tabulated[0])[..., np.newaxis] / tabulated - 1.0)
    nearest = np.argmin(distance, axis=-1)
    far = np.min(distance, axis=-1) > _AREA_TOLERANCE
    if np.any(far):
        offered = ", ".join(f"{mm2:g}" for mm2 in _IEC_60228_OHM_PER_KM[conductor_class])
        raise UsageError(
            f"{1e6 * area.flat[int(np.flatnonzero(far)[0])]:g} mm² is not in the table of stranded conductors.",
            where="area_m2",
            way_out=f"Use one of {offered} mm², or give the resistance by the metre.",
        )
    found: npt.NDArray[np.float64] = np.array(list(rows.values()))[nearest]
    return plain(np.where(np.isnan(area), np.nan, found))


def conductor_resistance(*, ohm_per_m_20: FloatOrArray, length_m: FloatOrArray, degc: FloatOrArray) -> FloatOrArray:
    """Resistance of a copper wire of a length at a temperature.

    Parameters
    ----------
    ohm_per_m_20
        Resistance by the metre at 20 °C, R' [Ω/m].
    length_m
        Length of the copper, l [m]; out and back is twice the distance.
    degc
        Temperature of the copper, T [°C].

    Returns
    -------
    float or numpy.ndarray
        Resistance [Ω].

    Raises
    ------
    UsageError
        If a resistance or length is negative, or the temperature is below −200 °C.

    Notes
    -----
    R = R'·l·(1 + α·(T − 20 °C)). Valid as :func:`copper_factor` is.

    References
    ----------
    IEC 60028.

    Examples
    --------
    Two metres out and back of flexible 1.5 mm² at 60 °C, in mΩ:

    >>> round(1e3 * conductor_resistance(ohm_per_m_20=0.0133, length_m=4.0, degc=60.0), 2)
    61.56
    """
    cold_ohm = not_negative("ohm_per_m_20", ohm_per_m_20) * not_negative("length_m", length_m)
    return plain(np.asarray(cold_ohm * copper_factor(degc=degc)))


def voltage_drop(*, current_a: FloatOrArray, resistance_ohm: FloatOrArray) -> FloatOrArray:
    """Voltage that a resistance in the path takes.

    Parameters
    ----------
    current_a
        Current, I [A].
    resistance_ohm
        Resistance at the temperature that it has, R [Ω].

    Returns
    -------
    float or numpy.ndarray
        Voltage drop [V].

    Raises
    ------
    UsageError
        If the current or the resistance is negative.

    Notes
    -----
    U = I·R. Valid for direct current.

    References
    ----------
    Ohm's law.

    Examples
    --------
    >>> voltage_drop(current_a=8.0, resistance_ohm=0.0625)
    0.5
    """
    return plain(not_negative("current_a", current_a) * not_negative("resistance_ohm", resistance_ohm))
