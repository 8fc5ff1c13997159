"""Ratings at a case temperature, thermal resistances in a chain, and the heat sink that a load needs."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from loadworthy.physics._numbers import NOT_NEGATIVE, POSITIVE, TEMPERATURE, given, plain, where
from loadworthy.physics.conduction import conduction_loss, resistance_at

if TYPE_CHECKING:
    from loadworthy.physics._values import FloatOrArray

__all__ = [
    "case_current_rating",
    "chain",
    "junction_limit",
    "needed_heatsink",
    "power_rating",
    "sink_for_loss",
]


def power_rating(
    *, junction_max_degc: FloatOrArray, case_degc: FloatOrArray, rthjc_k_per_w: FloatOrArray
) -> FloatOrArray:
    """Power that a part may turn into heat at a given case temperature.

    Parameters
    ----------
    junction_max_degc
        Highest junction temperature allowed, TJmax [°C].
    case_degc
        Temperature of the case, TC [°C].
    rthjc_k_per_w
        Thermal resistance from junction to case, RθJC [K/W].

    Returns
    -------
    float or numpy.ndarray
        Power rating, PT [W]; zero where the case is as hot as the junction may be, or hotter.

    Raises
    ------
    UsageError
        If the thermal resistance is not above zero, or a temperature is below absolute zero.

    Notes
    -----
    PT = (TJmax − TC)/RθJC. Valid in the steady state. With the ambient and RθJA in place of case and RθJC it
    is the rating in still air.

    References
    ----------
    MIL-PRF-19500/557F, which prints 25 W for 150 °C, 25 °C and 5.0 K/W.

    Examples
    --------
    >>> power_rating(junction_max_degc=150.0, case_degc=25.0, rthjc_k_per_w=5.0)
    25.0
    """
    allowed_k = given("junction_max_degc", junction_max_degc, TEMPERATURE) - given("case_degc", case_degc, TEMPERATURE)
    return plain(where(allowed_k < 0.0, 0.0, allowed_k) / given("rthjc_k_per_w", rthjc_k_per_w, POSITIVE))


def case_current_rating(
    *,
    junction_max_degc: FloatOrArray,
    case_degc: FloatOrArray,
    rthjc_k_per_w: FloatOrArray,
    hot_resistance_ohm: FloatOrArray,
) -> FloatOrArray:
    """Continuous current that a part may carry at a given case temperature.

    Parameters
    ----------
    junction_max_degc
        Highest junction temperature allowed, TJmax [°C].
    case_degc
        Temperature of the case, TC [°C].
    rthjc_k_per_w
        Thermal resistance from junction to case, RθJC [K/W].
    hot_resistance_ohm
        Maximum on-resistance at TJmax, RDS(on) [Ω].

    Returns
    -------
    float or numpy.ndarray
        Continuous drain current, ID [A]; zero where the case is as hot as the junction may be, or hotter.

    Raises
    ------
    UsageError
        If the thermal resistance or the on-resistance is not above zero, or a temperature is below absolute
        zero.

    Notes
    -----
    ID = √((TJmax − TC)/(RθJC·RDS(on))). Valid for conduction alone, in the steady state; leads and bond wires
    may set a lower limit.

    References
    ----------
    MIL-PRF-19500/557F.

    Examples
    --------
    5.0 K/W and 0.8 Ω at 150 °C, with the case at 25 °C and at 100 °C:

    >>> part = {"junction_max_degc": 150.0, "rthjc_k_per_w": 5.0, "hot_resistance_ohm": 0.8}
    >>> [round(case_current_rating(case_degc=case, **part), 2) for case in (25.0, 100.0)]
    [5.59, 3.54]
    """
    power_w = power_rating(junction_max_degc=junction_max_degc, case_degc=case_degc, rthjc_k_per_w=rthjc_k_per_w)
    return plain((power_w / given("hot_resistance_ohm", hot_resistance_ohm, POSITIVE)) ** 0.5)


def chain(*, rthjc_k_per_w: FloatOrArray, rthcs_k_per_w: FloatOrArray, rthsa_k_per_w: FloatOrArray) -> FloatOrArray:
    """Thermal resistance from junction to ambient through a heat sink.

    Parameters
    ----------
    rthjc_k_per_w
        Thermal resistance from junction to case, RθJC [K/W].
    rthcs_k_per_w
        Thermal resistance from case to sink, RθCS [K/W].
    rthsa_k_per_w
        Thermal resistance from sink to ambient, RθSA [K/W].

    Returns
    -------
    float or numpy.ndarray
        Thermal resistance from junction to ambient [K/W].

    Raises
    ------
    UsageError
        If a thermal resistance is negative.

    Notes
    -----
    Rth = RθJC + RθCS + RθSA. Valid in the steady state where nearly all the heat goes through the sink, one
    part to a sink.

    References
    ----------
    Thermal resistances in series; textbook. The example is a heat-sink maker's tutorial's.

    Examples
    --------
    >>> round(chain(rthjc_k_per_w=0.5, rthcs_k_per_w=0.45, rthsa_k_per_w=19.1), 2)
    20.05
    """
    return plain(
        given("rthjc_k_per_w", rthjc_k_per_w, NOT_NEGATIVE)
        + given("rthcs_k_per_w", rthcs_k_per_w, NOT_NEGATIVE)
        + given("rthsa_k_per_w", rthsa_k_per_w, NOT_NEGATIVE)
    )


def junction_limit(*, junction_max_degc: FloatOrArray, derate_k: FloatOrArray, cap_degc: FloatOrArray) -> FloatOrArray:
    """Junction temperature to allow, below the rated maximum.

    Parameters
    ----------
    junction_max_degc
        Rated maximum of the part, TJmax [°C].
    derate_k
        Distance to keep below it [K].
    cap_degc
        Temperature that no part may pass whatever its rating [°C].

    Returns
    -------
    float or numpy.ndarray
        Junction temperature allowed [°C].

    Raises
    ------
    UsageError
        If the distance is negative, or a temperature is below absolute zero.

    Notes
    -----
    The lesser of TJmax − derating and the cap. Valid as a rule of design, not as a rating.

    References
    ----------
    Common practice.

    Examples
    --------
    >>> [junction_limit(junction_max_degc=rated, derate_k=25.0, cap_degc=125.0) for rated in (125.0, 175.0)]
    [100.0, 125.0]
    """
    import numpy as np  # noqa: PLC0415 - slow to load; the lesser of two is unknown where one is

    derated = given("junction_max_degc", junction_max_degc, TEMPERATURE) - given("derate_k", derate_k, NOT_NEGATIVE)
    return plain(np.minimum(derated, given("cap_degc", cap_degc, TEMPERATURE)))


def needed_heatsink(
    *,
    current_a: FloatOrArray,
    duty: FloatOrArray,
    rds25_ohm: FloatOrArray,
    exponent: FloatOrArray,
    rthjc_k_per_w: FloatOrArray,
    rthcs_k_per_w: FloatOrArray,
    ambient_degc: FloatOrArray,
    junction_limit_degc: FloatOrArray,
    other_loss_w: FloatOrArray,
) -> FloatOrArray:
    """Greatest thermal resistance of a heat sink that keeps the junction within its limit.

    Parameters
    ----------
    current_a
        Current while on, I [A].
    duty
        Share of the time that the current flows, D [1].
    rds25_ohm
        On-resistance at 25 °C and the drive in question, R25 [Ω].
    exponent
        Hot exponent, n [1].
    rthjc_k_per_w
        Thermal resistance from junction to case, RθJC [K/W].
    rthcs_k_per_w
        Thermal resistance from case to sink, RθCS [K/W].
    ambient_degc
        Temperature of the air round the sink, TA [°C].
    junction_limit_degc
        Junction temperature allowed, TJ [°C].
    other_loss_w
        Loss besides conduction, such as switching loss, taken as constant, P [W].

    Returns
    -------
    float or numpy.ndarray
        Thermal resistance from sink to ambient, RθSA [K/W]. nan means that no sink can do it; infinite means
        that the part makes no heat and needs none.

    Raises
    ------
    UsageError
        If a current, resistance, exponent or loss is negative, the duty is not from 0 to 1, or a temperature
        is below absolute zero.

    Notes
    -----
    With the junction at its limit the loss is known, so RθSA = (TJ − TA)/(D·I²·R(TJ) + P) − RθJC − RθCS, with
    R(T) of :func:`~loadworthy.physics.conduction.resistance_at`.

    The part then settles at the limit, as the smaller root of
    :func:`~loadworthy.physics.conduction.junction_temperature`, unless the loss rises with temperature faster
    than the sink can follow, which needs very cold air or a very high limit. There the limit is the greater
    root: the part settles below it, and comes back from any temperature up to it. A larger RθSA would
    let it run away from there, so this is the bound in both cases.

    Valid from −55 to 175 °C.

    References
    ----------
    Thermal resistances in series; textbook, whose example (5 W, 150 °C, 50 °C, 3 and 1 K/W) prints 16 K/W.

    Examples
    --------
    >>> needed_heatsink(
    ...     current_a=10.0, duty=1.0, rds25_ohm=0.05, exponent=0.0, rthjc_k_per_w=3.0, rthcs_k_per_w=1.0,
    ...     ambient_degc=50.0, junction_limit_degc=150.0, other_loss_w=0.0,
    ... )
    16.0
    """
    hot_ohm = resistance_at(rds25_ohm=rds25_ohm, exponent=exponent, junction_degc=junction_limit_degc)
    loss_w = conduction_loss(current_a=current_a, duty=duty, resistance_ohm=hot_ohm) + given(
        "other_loss_w", other_loss_w, NOT_NEGATIVE
    )
    return sink_for_loss(
        loss_w=loss_w,
        rthjc_k_per_w=rthjc_k_per_w,
        rthcs_k_per_w=rthcs_k_per_w,
        ambient_degc=ambient_degc,
        junction_limit_degc=junction_limit_degc,
    )


def sink_for_loss(
    *,
    loss_w: FloatOrArray,
    rthjc_k_per_w: FloatOrArray,
    rthcs_k_per_w: FloatOrArray,
    ambient_degc: FloatOrArray,
    junction_limit_degc: FloatOrArray,
) -> FloatOrArray:
    """Greatest thermal resistance of a heat sink for a part whose loss is known.

    Parameters
    ----------
    loss_w
        Heat that the part makes, P [W].
    rthjc_k_per_w
        Thermal resistance from junction to case, RθJC [K/W].
    rthcs_k_per_w
        Thermal resistance from case to sink, compound or pad, RθCS [K/W].
    ambient_degc
        Temperature of the air round the sink, TA [°C].
    junction_limit_degc
        Junction temperature allowed, TJ [°C].

    Returns
    -------
    float or numpy.ndarray
        Thermal resistance from sink to ambient, RθSA [K/W]. nan means that no sink can do it; infinite means
        that the part makes no heat and needs none.

    Raises
    ------
    UsageError
        If the loss or a thermal resistance is negative, or a temperature is below absolute zero.

    Notes
    -----
    RθSA = (TJ − TA)/P − RθJC − RθCS. Valid in the steady state for a loss that does not rise with
    temperature, or is given at the limit, one part to a sink.

    References
    ----------
    Thermal resistances in series; textbook, whose example (5 W, 150 °C, 50 °C, 3 and 1 K/W) prints 16 K/W.

    Examples
    --------
    >>> sink_for_loss(
    ...     loss_w=5.0, rthjc_k_per_w=3.0, rthcs_k_per_w=1.0, ambient_degc=50.0, junction_limit_degc=150.0
    ... )
    16.0
    """
    loss = given("loss_w", loss_w, NOT_NEGATIVE)
    allowed_k = given("junction_limit_degc", junction_limit_degc, TEMPERATURE) - given(
        "ambient_degc", ambient_degc, TEMPERATURE
    )
    inside = given("rthjc_k_per_w", rthjc_k_per_w, NOT_NEGATIVE) + given("rthcs_k_per_w", rthcs_k_per_w, NOT_NEGATIVE)
    total = where(loss == 0.0, math.inf, allowed_k / where(loss == 0.0, math.nan, loss))
    sink = total - inside
    return plain(where((sink > 0.0) & (allowed_k > 0.0), sink, math.nan))
