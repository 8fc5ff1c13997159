"""Copper as it warms: its resistance, and the wire that its own current heats."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from loadworthy.errors import UsageError
from loadworthy.physics._heating import settled_delta
from loadworthy.physics._values import FloatOrArray, not_negative, plain, positive, temperature

__all__ = [
    "COPPER_ALPHA_20",
    "COPPER_REFERENCE_DEGC",
    "STILL_AIR_FILM_W_PER_M2_K",
    "copper_factor",
    "wire_current",
    "wire_temperature",
]

COPPER_ALPHA_20 = 0.00393
"""Temperature coefficient of copper's resistance at 20 °C in 1/K (IEC 60028)."""

COPPER_REFERENCE_DEGC = 20.0
"""The temperature at which resistances of copper are stated, in °C."""

STILL_AIR_FILM_W_PER_M2_K = 10.0
"""Heat that convection and radiation carry off a thin wire in still air, in W/(m²·K).

Common practice, and on the safe side for wires to some 6 mm across: the thinner the wire, the more. Bundled,
covered or enclosed wire gives off less.
"""


def copper_factor(*, degc: FloatOrArray) -> FloatOrArray:
    """Resistance of copper at a temperature over its resistance at 20 °C.

    Parameters
    ----------
    degc
        Temperature of the copper, T [°C].

    Returns
    -------
    float or numpy.ndarray
        Factor [1].

    Raises
    ------
    UsageError
        If the temperature is below −200 °C, where the law no longer holds.

    Notes
    -----
    1 + α·(T − 20 °C), α = 0.00393/K. Valid from −100 to 200 °C.

    References
    ----------
    IEC 60028.

    Examples
    --------
    >>> round(copper_factor(degc=70.0), 4)
    1.1965
    """
    copper_degc = temperature("degc", degc)
    if np.any(copper_degc < -200.0):
        raise UsageError(
            "Copper colder than -200 °C does not follow the law that is used here.",
            where="degc",
            way_out="Check the figure, its sign and its unit.",
        )
    return plain(1.0 + COPPER_ALPHA_20 * (copper_degc - COPPER_REFERENCE_DEGC))


def wire_temperature(
    *,
    current_a: FloatOrArray,
    ohm_per_m_20: FloatOrArray,
    outer_diameter_m: FloatOrArray,
    ambient_degc: FloatOrArray,
    film_w_per_m2_k: FloatOrArray,
) -> FloatOrArray:
    """Temperature at which a copper wire in free air settles, or nan where it never does.

    Parameters
    ----------
    current_a
        Current, I [A].
    ohm_per_m_20
        Resistance by the metre at 20 °C, R' [Ω/m].
    outer_diameter_m
        Diameter over the insulation, D [m].
    ambient_degc
        Temperature of the air round the wire, TA [°C].
    film_w_per_m2_k
        Heat that convection and radiation together carry off the surface, h [W/(m²·K)];
        :data:`STILL_AIR_FILM_W_PER_M2_K` is a safe figure for thin wire in still air.

    Returns
    -------
    float or numpy.ndarray
        Temperature of the copper [°C]. nan means **thermal runaway**: at every temperature the wire makes more
        heat than it gives away.

    Raises
    ------
    UsageError
        If a diameter or film is not above zero, a current or resistance is negative, or the ambient is below
        absolute zero.

    Notes
    -----
    I²·R'·(1 + α·(T − 20 °C)) = h·π·D·(T − TA). With k = I²·R'/(h·π·D): T = 20 °C + (TA − 20 °C + k)/(1 − k·α),
    and runaway where k·α ≥ 1. Valid for one wire in free air in the steady state, and to 200 °C: a result above
    that says *too hot*, not how hot. The drop of temperature within the insulation is neglected, a few kelvin.

    References
    ----------
    The balance of heat on a round wire; IEC 60028 for copper.

    Examples
    --------
    Flexible 1 mm², 2.4 mm over the insulation, 10 A in air of 40 °C:

    >>> wire = {"ohm_per_m_20": 0.0195, "outer_diameter_m": 2.4e-3, "ambient_degc": 40.0}
    >>> round(wire_temperature(current_a=10.0, film_w_per_m2_k=STILL_AIR_FILM_W_PER_M2_K, **wire), 1)
    71.1
    """
    cold_w_per_m = not_negative("current_a", current_a) ** 2 * not_negative("ohm_per_m_20", ohm_per_m_20)
    delta = settled_delta(
        start_k=temperature("ambient_degc", ambient_degc) - COPPER_REFERENCE_DEGC,
        heating_k=cold_w_per_m / _cooling_w_per_m_k(outer_diameter_m, film_w_per_m2_k),
        linear_per_k=np.asarray(COPPER_ALPHA_20),
        square_per_k2=np.asarray(0.0),
    )
    return plain(COPPER_REFERENCE_DEGC + delta)


def wire_current(
    *,
    limit_degc: FloatOrArray,
    ohm_per_m_20: FloatOrArray,
    outer_diameter_m: FloatOrArray,
    ambient_degc: FloatOrArray,
    film_w_per_m2_k: FloatOrArray,
) -> FloatOrArray:
    """Current that brings a copper wire in free air to a limit temperature.

    Parameters
    ----------
    limit_degc
        Temperature that the copper may reach, T [°C].
    ohm_per_m_20
        Resistance by the metre at 20 °C, R' [Ω/m].
    outer_diameter_m
        Diameter over the insulation, D [m].
    ambient_degc
        Temperature of the air round the wire, TA [°C].
    film_w_per_m2_k
        Heat that convection and radiation together carry off the surface, h [W/(m²·K)].

    Returns
    -------
    float or numpy.ndarray
        Current [A]; zero where the air is as warm as the limit, or warmer.

    Raises
    ------
    UsageError
        If a diameter, film or resistance is not above zero, or a temperature is impossible.

    Notes
    -----
    I = √(h·π·D·(T − TA)/(R'·(1 + α·(T − 20 °C)))), the inverse of :func:`wire_temperature`. Valid as that is.
    It is no rating: local codes and the wire's maker say what a wire may carry.

    References
    ----------
    The balance of heat on a round wire; IEC 60028 for copper.

    Examples
    --------
    >>> wire = {"ohm_per_m_20": 0.0195, "outer_diameter_m": 2.4e-3, "ambient_degc": 40.0, "film_w_per_m2_k": 10.0}
    >>> round(wire_current(limit_degc=70.0, **wire), 2)
    9.85
    """
    rise = np.maximum(temperature("limit_degc", limit_degc) - temperature("ambient_degc", ambient_degc), 0.0)
    hot_ohm_per_m = positive("ohm_per_m_20", ohm_per_m_20) * np.asarray(copper_factor(degc=limit_degc))
    return plain(np.sqrt(_cooling_w_per_m_k(outer_diameter_m, film_w_per_m2_k) * rise / hot_ohm_per_m))


def _cooling_w_per_m_k(outer_diameter_m: FloatOrArray, film_w_per_m2_k: FloatOrArray) -> npt.NDArray[np.float64]:
    perimeter = np.pi * positive("outer_diameter_m", outer_diameter_m)
    return np.asarray(positive("film_w_per_m2_k", film_w_per_m2_k) * perimeter)
