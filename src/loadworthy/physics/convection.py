"""Still air: its properties, the best spacing of fins, and the least resistance that a sink of a size can have."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from loadworthy.physics._values import ABSOLUTE_ZERO_DEGC, FloatOrArray, fraction, plain, positive, temperature

__all__ = ["air_properties", "fin_spacing", "natural_convection_bound", "plate_film", "radiation_film"]

_GRAVITY = 9.80665
_PRESSURE_PA = 101325.0
_GAS_CONSTANT_AIR = 287.05
_HEAT_CAPACITY_AIR = 1006.0
_STEFAN_BOLTZMANN = 5.670374e-8

# Bar-Cohen and Rohsenow, symmetric isothermal plates: best spacing, and the Nusselt number there.
_BEST_SPACING = 2.714
_BEST_NUSSELT = 1.307

_Array = npt.NDArray[np.float64]


def air_properties(*, air_degc: FloatOrArray) -> tuple[FloatOrArray, FloatOrArray, FloatOrArray]:
    """Give density, viscosity and conductivity of dry air at sea level.

    Parameters
    ----------
    air_degc
        Temperature of the air, T [°C].

    Returns
    -------
    tuple of float or numpy.ndarray
        Density [kg/m³], dynamic viscosity [Pa·s] and thermal conductivity [W/(m·K)].

    Raises
    ------
    UsageError
        If the temperature is below absolute zero.

    Notes
    -----
    With T in kelvin: density p/(287.05·T) of an ideal gas at p = 101325 Pa, viscosity
    1.458e-6·T^1.5/(T + 110.4), conductivity 2.64638e-3·T^1.5/(T + 245.4·10^(−12/T)). Valid from −50 to 150 °C
    within 1.5 %.

    References
    ----------
    U.S. Standard Atmosphere, 1976 (from memory; held against an independent table of air in the tests).

    Examples
    --------
    At 26.85 °C (300 K), in kg/m³, µPa·s and mW/(m·K):

    >>> density, viscosity, conductivity = air_properties(air_degc=26.85)
    >>> round(density, 2), round(1e6 * viscosity, 1), round(1e3 * conductivity, 1)
    (1.18, 18.5, 26.3)
    """
    kelvin = temperature("air_degc", air_degc) - ABSOLUTE_ZERO_DEGC
    density = _PRESSURE_PA / (_GAS_CONSTANT_AIR * kelvin)
    viscosity = 1.458e-6 * kelvin**1.5 / (kelvin + 110.4)
    conductivity = 2.64638e-3 * kelvin**1.5 / (kelvin + 245.4 * 10.0 ** (-12.0 / kelvin))
    return plain(density), plain(viscosity), plain(conductivity)


def plate_film(*, flow_length_m: FloatOrArray, rise_k: FloatOrArray, air_degc: FloatOrArray) -> FloatOrArray:
    """Heat that still air carries off an upright plate that stands alone.

    Parameters
    ----------
    flow_length_m
        Height of the plate, along which the air rises, L [m].
    rise_k
        Rise of the plate above the air, ΔT [K].
    air_degc
        Temperature of the air away from the plate, TA [°C].

    Returns
    -------
    float or numpy.ndarray
        Mean film coefficient of convection, h [W/(m²·K)].

    Raises
    ------
    UsageError
        If the height or the rise is not above zero, or the air is below absolute zero.

    Notes
    -----
    Nu = (0.825 + 0.387·Ra^(1/6)/(1 + (0.492/Pr)^(9/16))^(8/27))², h = Nu·k/L, air at the mean of plate and
    surroundings. Valid for all Ra to 1e12.

    References
    ----------
    Churchill and Chu, as in Incropera, example 9.2.

    Examples
    --------
    >>> round(plate_film(flow_length_m=0.05, rise_k=60.0, air_degc=40.0), 2)
    7.57
    """
    length = positive("flow_length_m", flow_length_m)
    rayleigh, prandtl, conductivity = _still_air(length, positive("rise_k", rise_k), air_degc)
    nusselt = (0.825 + 0.387 * rayleigh ** (1.0 / 6.0) / (1.0 + (0.492 / prandtl) ** (9.0 / 16.0)) ** (8.0 / 27.0)) ** 2
    return plain(nusselt * conductivity / length)


def radiation_film(*, emissivity: FloatOrArray, rise_k: FloatOrArray, air_degc: FloatOrArray) -> FloatOrArray:
    """Heat that a surface radiates to surroundings as warm as the air.

    Parameters
    ----------
    emissivity
        Emissivity, ε [1]; from 0.05 (bare aluminium) to 0.9 (anodised, painted or plastic).
    rise_k
        Rise of the surface above the surroundings, ΔT [K].
    air_degc
        Temperature of the surroundings, TA [°C].

    Returns
    -------
    float or numpy.ndarray
        Film coefficient of radiation [W/(m²·K)].

    Raises
    ------
    UsageError
        If the emissivity is not from 0 to 1, the rise is not above zero, or the surroundings are below absolute
        zero.

    Notes
    -----
    h = ε·σ·(T² + TA²)·(T + TA) with temperatures in kelvin, exactly ε·σ·(T⁴ − TA⁴)/ΔT. Valid for a surface that
    sees nothing but the surroundings.

    References
    ----------
    The law of Stefan and Boltzmann; textbook.

    Examples
    --------
    >>> round(radiation_film(emissivity=1.0, rise_k=60.0, air_degc=40.0), 2)
    9.23
    """
    cold = temperature("air_degc", air_degc) - ABSOLUTE_ZERO_DEGC
    hot = cold + positive("rise_k", rise_k)
    return plain(fraction("emissivity", emissivity) * _STEFAN_BOLTZMANN * (hot**2 + cold**2) * (hot + cold))


def fin_spacing(*, flow_length_m: FloatOrArray, rise_k: FloatOrArray, air_degc: FloatOrArray) -> FloatOrArray:
    """Clear distance between fins at which a sink of a given size gives most heat to still air.

    Parameters
    ----------
    flow_length_m
        Length of the fins along which the air rises, L [m].
    rise_k
        Rise of the fins above the air, ΔT [K].
    air_degc
        Temperature of the air away from the sink, TA [°C].

    Returns
    -------
    float or numpy.ndarray
        Spacing, S [m].

    Raises
    ------
    UsageError
        If the length or the rise is not above zero, or the air is below absolute zero.

    Notes
    -----
    S = 2.714·L/Ra^(1/4), Ra with L as its length and air at the mean of fin and surroundings. Valid for thin
    upright fins of one temperature, open at both ends.

    References
    ----------
    Bar-Cohen and Rohsenow, "Thermally optimum spacing of vertical, natural convection cooled, parallel plates",
    J. Heat Transfer 106 (1984), from memory; held against the relation of Elenbaas in the tests.

    Examples
    --------
    Fins 50 mm long, 60 K above air of 40 °C, in mm:

    >>> round(1e3 * fin_spacing(flow_length_m=0.05, rise_k=60.0, air_degc=40.0), 1)
    5.5
    """
    length = positive("flow_length_m", flow_length_m)
    rayleigh, _, _ = _still_air(length, positive("rise_k", rise_k), air_degc)
    return plain(_BEST_SPACING * length / rayleigh**0.25)


def natural_convection_bound(
    *,
    width_m: FloatOrArray,
    height_m: FloatOrArray,
    depth_m: FloatOrArray,
    rise_k: FloatOrArray,
    air_degc: FloatOrArray,
) -> FloatOrArray:
    """Least thermal resistance that a heat sink of a given size can reach in still air.

    Parameters
    ----------
    width_m
        Width of the box that the sink fills [m].
    height_m
        Height of the box [m].
    depth_m
        Depth of the box [m].
    rise_k
        Rise of the sink above the air, ΔT [K].
    air_degc
        Temperature of the air away from the sink, TA [°C].

    Returns
    -------
    float or numpy.ndarray
        Thermal resistance from sink to ambient [K/W]. A catalogue figure below it is not to be believed without
        a fan.

    Raises
    ------
    UsageError
        If a side or the rise is not above zero, or the air is below absolute zero.

    Notes
    -----
    Three ways out in parallel, each at its best. The fins: as thin as one likes, of one temperature,
    :func:`fin_spacing` apart, filling the whole volume V, so 1/θ = 2·1.307·k·V/S², with the shortest side as the
    length of flow, which gives most. The outside of the box: convection as :func:`plate_film` with the shortest
    side again, on all six faces, counted besides the fins because it rules small sinks; and radiation of a
    black body. Valid as a bound for sinks that air passes freely, their heat given off within the box: one that
    spreads heat into a board or a wall, or stands in moving air, can do better. Real fins have
    thickness and a base, so a figure above the bound proves nothing.

    References
    ----------
    Bar-Cohen and Rohsenow, J. Heat Transfer 106 (1984), from memory; Churchill and Chu; Stefan and Boltzmann.

    Examples
    --------
    A box of 50 mm each way, 60 K above air of 40 °C:

    >>> box = {"width_m": 0.05, "height_m": 0.05, "depth_m": 0.05}
    >>> round(natural_convection_bound(**box, rise_k=60.0, air_degc=40.0), 2)
    1.74
    """
    width, height, depth = positive("width_m", width_m), positive("height_m", height_m), positive("depth_m", depth_m)
    rise = positive("rise_k", rise_k)
    shortest = np.minimum(np.minimum(width, height), depth)
    _, _, conductivity = _still_air(shortest, rise, air_degc)
    spacing = fin_spacing(flow_length_m=shortest, rise_k=rise, air_degc=air_degc)
    fins_w_per_k = 2.0 * _BEST_NUSSELT * conductivity * width * height * depth / np.square(spacing)
    surface_m2 = 2.0 * (width * height + width * depth + height * depth)
    film = plate_film(flow_length_m=shortest, rise_k=rise, air_degc=air_degc) + radiation_film(
        emissivity=1.0, rise_k=rise, air_degc=air_degc
    )
    return plain(np.asarray(1.0 / (fins_w_per_k + surface_m2 * film)))


def _still_air(length_m: _Array, rise_k: _Array, air_degc: FloatOrArray) -> tuple[_Array, _Array, _Array]:
    """Rayleigh number over a length, Prandtl number and conductivity, at the mean of surface and surroundings."""
    film_degc = temperature("air_degc", air_degc) + rise_k / 2.0
    density, viscosity, conductivity = (np.asarray(value) for value in air_properties(air_degc=film_degc))
    prandtl = viscosity * _HEAT_CAPACITY_AIR / conductivity
    expansion_per_k = 1.0 / (film_degc - ABSOLUTE_ZERO_DEGC)
    grashof = _GRAVITY * expansion_per_k * rise_k * length_m**3 * density**2 / viscosity**2
    return np.asarray(grashof * prandtl), np.asarray(prandtl), conductivity
