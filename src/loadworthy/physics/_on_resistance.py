"""On-resistance of a power MOSFET against junction temperature: the power law and the law of second order."""

from __future__ import annotations

from typing import TYPE_CHECKING

from loadworthy.errors import UsageError
from loadworthy.physics._numbers import NOT_NEGATIVE, POSITIVE, TEMPERATURE, given, plain, where

if TYPE_CHECKING:
    from loadworthy.physics._values import FloatOrArray

__all__ = [
    "REFERENCE_DEGC",
    "default_hot_exponent",
    "hot_coefficients",
    "hot_exponent",
    "least_growth",
    "resistance_at",
    "resistance_power_law",
]

REFERENCE_DEGC = 25.0
"""The junction temperature at which data sheets state on-resistance, in °C."""

_REFERENCE_K = 298.15
#: Up to here the law of second order rises with temperature from −55 °C on.
_GREATEST_SURE_EXPONENT = 4.0

# Exponents fitted to data sheets (see default_hot_exponent): flat to the first voltage and from the last.
_EXPONENT_VDS_V = (60.0, 150.0)
_EXPONENT = (1.65, 2.4)


def default_hot_exponent(*, vds_v: FloatOrArray) -> FloatOrArray:
    """Hot exponent to assume for a part that gives no hot on-resistance.

    Parameters
    ----------
    vds_v
        Rated drain-source voltage, VDS [V].

    Returns
    -------
    float or numpy.ndarray
        Exponent n of :func:`resistance_power_law` [1].

    Raises
    ------
    UsageError
        If the voltage is not above zero.

    Notes
    -----
    n = 1.65 up to 60 V, 2.4 from 150 V, linear between. Valid for silicon power MOSFETs; whoever uses it says
    that the exponent was assumed.

    References
    ----------
    Fitted to the hot on-resistances of the data sheets PSMN4R5-40BS, BUK9505-30A, 2N6798 and PSMN020-150W
    (30–40 V parts: 1.5–1.7; 150–200 V parts: 2.2–2.6).

    Examples
    --------
    >>> [round(default_hot_exponent(vds_v=v), 3) for v in (30.0, 105.0, 200.0)]
    [1.65, 2.025, 2.4]
    """
    volts = given("vds_v", vds_v, POSITIVE)
    (low_v, high_v), (low, high) = _EXPONENT_VDS_V, _EXPONENT
    between = (high - low) / (high_v - low_v) * (volts - low_v) + low
    return plain(where(volts < low_v, low, where(volts > high_v, high, between)))


def hot_exponent(*, ratio: FloatOrArray, hot_degc: FloatOrArray) -> FloatOrArray:
    """Hot exponent from a part's own hot figure.

    Parameters
    ----------
    ratio
        On-resistance hot over on-resistance at 25 °C, both typical or both maximum [1]; at least 1.
    hot_degc
        Junction temperature of the hot figure [°C]; above 25 °C.

    Returns
    -------
    float or numpy.ndarray
        Exponent n of :func:`resistance_power_law` [1].

    Raises
    ------
    UsageError
        If the ratio is below 1 or the temperature is not above 25 °C.

    Notes
    -----
    n = ln(R(T)/R25)/ln(T/298.15 K). Valid between 25 °C and about the temperature of the hot figure.

    References
    ----------
    The power law of :func:`resistance_power_law`, solved for n; figures in the example: data sheet
    PSMN4R5-40BS, typical.

    Examples
    --------
    3.79 mΩ at 25 °C and 7.41 mΩ at 175 °C:

    >>> round(hot_exponent(ratio=7.41 / 3.79, hot_degc=175.0), 2)
    1.65
    """
    import numpy as np  # noqa: PLC0415 - slow to load, and only a logarithm needs it

    ratios = given("ratio", ratio, POSITIVE)
    if np.any(ratios < 1.0):
        raise UsageError(
            "a hot on-resistance below the cold one is impossible for a MOSFET.",
            where="ratio",
            way_out="Check which of the two figures is the hot one, and their units.",
        )
    hot = given("hot_degc", hot_degc, TEMPERATURE)
    if np.any(hot <= REFERENCE_DEGC):
        raise UsageError(
            "a figure at 25 °C or colder says nothing about the rise of resistance.",
            where="hot_degc",
            way_out="Give the junction temperature of the hot figure, in °C.",
        )
    return plain(np.log(ratios) / np.log1p((hot - REFERENCE_DEGC) / _REFERENCE_K))


def hot_coefficients(*, exponent: FloatOrArray) -> tuple[FloatOrArray, FloatOrArray]:
    """Coefficients of the second-order expansion of the hot on-resistance.

    Parameters
    ----------
    exponent
        Hot exponent, n [1].

    Returns
    -------
    tuple of float or numpy.ndarray
        a [1/K] and b [1/K²] of R(T) = R25·(1 + a·Δ + b·Δ²), Δ = T − 25 °C.

    Raises
    ------
    UsageError
        If the exponent is negative.

    Notes
    -----
    a = n/298.15 K, b = n·(n − 1)/(2·(298.15 K)²). Valid as :func:`resistance_at` is.

    References
    ----------
    Taylor's expansion of :func:`resistance_power_law` about 25 °C.

    Examples
    --------
    >>> a, b = hot_coefficients(exponent=1.65)
    >>> round(1e3 * a, 3), round(1e6 * b, 3)
    (5.534, 6.033)
    """
    n = given("exponent", exponent, NOT_NEGATIVE)
    return plain(n / _REFERENCE_K), plain(n * (n - 1.0) / (2.0 * _REFERENCE_K**2))


def resistance_at(*, rds25_ohm: FloatOrArray, exponent: FloatOrArray, junction_degc: FloatOrArray) -> FloatOrArray:
    """On-resistance at a junction temperature, by the second-order law that everything else here uses.

    Parameters
    ----------
    rds25_ohm
        On-resistance at 25 °C and the drive in question, R25 [Ω].
    exponent
        Hot exponent, n [1].
    junction_degc
        Junction temperature, TJ [°C].

    Returns
    -------
    float or numpy.ndarray
        On-resistance at TJ [Ω].

    Raises
    ------
    UsageError
        If the resistance or the exponent is negative, or the temperature is below absolute zero.

    Notes
    -----
    R(T) = R25·(1 + a·Δ + b·Δ²), Δ = TJ − 25 °C, with the coefficients of :func:`hot_coefficients`. Valid from
    −55 to 175 °C: within 1.0 % of the power law for exponents up to 2.4, and within 2 % up to 2.6 (below it
    when hot, for exponents above 2). Exact for exponents 0, 1 and 2.

    References
    ----------
    Taylor's expansion of :func:`resistance_power_law`; figures in the example: data sheet PSMN4R5-40BS,
    maximum, which prints 8.7 mΩ at 175 °C.

    Examples
    --------
    >>> round(1e3 * resistance_at(rds25_ohm=4.5e-3, exponent=1.62, junction_degc=175.0), 1)
    8.7
    """
    a, b = hot_coefficients(exponent=exponent)
    delta = given("junction_degc", junction_degc, TEMPERATURE) - REFERENCE_DEGC
    return plain(given("rds25_ohm", rds25_ohm, NOT_NEGATIVE) * (1.0 + delta * (a + b * delta)))


def least_growth(*, exponent: FloatOrArray, coldest_degc: FloatOrArray) -> FloatOrArray:
    """Least share of its resistance at 25 °C that a part can have which is nowhere colder than this.

    Parameters
    ----------
    exponent
        Hot exponent, n [1].
    coldest_degc
        The least that its junction can be at, T0 [°C].

    Returns
    -------
    float or numpy.ndarray
        A lower bound of R(T)/R25 for every T from T0 up [1].

    Raises
    ------
    UsageError
        If the exponent is negative or the temperature below absolute zero.

    Notes
    -----
    1 + a·Δ0 + b·Δ0², Δ0 = T0 − 25 °C. Valid from −55 to 200 °C: there the second-order law of :func:`resistance_at`
    only rises where n is at most 4. A greater n is taken as 4 above 25 °C, where the law rises with n too; below it
    no such n makes the law less than 1/3, its least value being 1 − n/(2·(n − 1)).

    References
    ----------
    The derivative of the second-order law, n/298.15·(1 + (n − 1)·Δ/298.15); worked out here.

    Examples
    --------
    >>> [round(least_growth(exponent=1.65, coldest_degc=air), 4) for air in (40.0, -20.0)]
    [1.0844, 0.7632]
    """
    n = given("exponent", exponent, NOT_NEGATIVE)
    delta = given("coldest_degc", coldest_degc, TEMPERATURE) - REFERENCE_DEGC
    a, b = hot_coefficients(exponent=where(n > _GREATEST_SURE_EXPONENT, _GREATEST_SURE_EXPONENT, n))
    growth = 1.0 + delta * (a + b * delta)
    return plain(where((n > _GREATEST_SURE_EXPONENT) & (delta < 0.0), 1.0 / 3.0, growth))


def resistance_power_law(
    *, rds25_ohm: FloatOrArray, exponent: FloatOrArray, junction_degc: FloatOrArray
) -> FloatOrArray:
    """On-resistance at a junction temperature, by the power law that the second-order law stands for.

    Parameters
    ----------
    rds25_ohm
        On-resistance at 25 °C and the drive in question, R25 [Ω].
    exponent
        Hot exponent, n [1].
    junction_degc
        Junction temperature, TJ [°C].

    Returns
    -------
    float or numpy.ndarray
        On-resistance at TJ [Ω].

    Raises
    ------
    UsageError
        If the resistance or the exponent is negative, or the temperature is below absolute zero.

    Notes
    -----
    R(T) = R25·(T/298.15 K)^n, T the absolute junction temperature. Valid for silicon power MOSFETs from −55
    to 175 °C.

    References
    ----------
    The mobility of carriers in silicon falls with a power of the absolute temperature (textbook); figures in
    the example: data sheet PSMN4R5-40BS, typical, which prints 7.41 mΩ at 175 °C.

    Examples
    --------
    >>> round(1e3 * resistance_power_law(rds25_ohm=3.79e-3, exponent=1.645, junction_degc=175.0), 2)
    7.41
    """
    import numpy as np  # noqa: PLC0415 - slow to load; the power of one float that is too great would be an error

    delta = given("junction_degc", junction_degc, TEMPERATURE) - REFERENCE_DEGC
    relative = np.power(1.0 + delta / _REFERENCE_K, given("exponent", exponent, NOT_NEGATIVE))
    return plain(given("rds25_ohm", rds25_ohm, NOT_NEGATIVE) * relative)
