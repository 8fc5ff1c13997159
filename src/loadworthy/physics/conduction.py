"""On-resistance hot and cold, conduction loss, and the junction temperature that they settle at."""

from __future__ import annotations

from typing import TYPE_CHECKING

from loadworthy.physics._numbers import NOT_NEGATIVE, SHARE, TEMPERATURE, given, plain
from loadworthy.physics._on_resistance import (
    REFERENCE_DEGC,
    default_hot_exponent,
    hot_coefficients,
    hot_exponent,
    least_growth,
    resistance_at,
    resistance_power_law,
)

if TYPE_CHECKING:
    from loadworthy.physics._values import FloatOrArray

__all__ = [
    "REFERENCE_DEGC",
    "conduction_loss",
    "default_hot_exponent",
    "hot_coefficients",
    "hot_exponent",
    "junction_temperature",
    "least_growth",
    "resistance_at",
    "resistance_power_law",
]


def conduction_loss(*, current_a: FloatOrArray, duty: FloatOrArray, resistance_ohm: FloatOrArray) -> FloatOrArray:
    """Heat in a resistance that carries a switched current.

    Parameters
    ----------
    current_a
        Current while on, I [A].
    duty
        Share of the time that the current flows, D [1].
    resistance_ohm
        Resistance at the temperature that it has, R [Ω].

    Returns
    -------
    float or numpy.ndarray
        Conduction loss [W].

    Raises
    ------
    UsageError
        If the current or the resistance is negative, or the duty is not from 0 to 1.

    Notes
    -----
    P = D·I²·R. Valid for a rectangular current, and for heating that is slow against the switching.

    References
    ----------
    Joule's law; figures in the example: ROHM application note AEK59-D1-0065-2, high side of a converter from
    12 V to 5 V, which prints 375 mW.

    Examples
    --------
    >>> round(1e3 * conduction_loss(current_a=3.0, duty=5.0 / 12.0, resistance_ohm=0.1))
    375
    """
    amperes = given("current_a", current_a, NOT_NEGATIVE)
    # Multiplied, for the square of one float that is too great would be an error and not infinite.
    return plain(
        given("duty", duty, SHARE) * (amperes * amperes) * given("resistance_ohm", resistance_ohm, NOT_NEGATIVE)
    )


def junction_temperature(
    *,
    current_a: FloatOrArray,
    duty: FloatOrArray,
    rds25_ohm: FloatOrArray,
    exponent: FloatOrArray,
    rth_k_per_w: FloatOrArray,
    ambient_degc: FloatOrArray,
    other_loss_w: FloatOrArray,
) -> FloatOrArray:
    """Junction temperature at which heating and cooling balance, or nan where they never do.

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
    rth_k_per_w
        Thermal resistance from junction to ambient as mounted, Rth [K/W].
    ambient_degc
        Temperature of the air round the part, TA [°C].
    other_loss_w
        Loss besides conduction, such as switching loss, taken as constant, P [W].

    Returns
    -------
    float or numpy.ndarray
        Junction temperature, TJ [°C]. nan means **thermal runaway**: at every temperature the part makes more
        heat than it gives away, and no steady state exists.

    Raises
    ------
    UsageError
        If a current, resistance, exponent or loss is negative, the duty is not from 0 to 1, or the ambient is
        below absolute zero.

    Notes
    -----
    TJ = TA + Rth·(D·I²·R(TJ) + P), with R(T) of :func:`resistance_at`, is a quadratic. Its smaller root is
    the steady state; the greater one is not stable. With

        k = D·I²·R25·Rth, qa = k·b, qb = k·a − 1, qc = (TA − 25 °C) + Rth·P + k:

    runaway where qb ≥ 0 or qb² − 4·qa·qc < 0, else TJ = 25 °C + 2·qc/(√(qb² − 4·qa·qc) − qb), which is good
    at b = 0 and cancels nothing.

    Valid for ambients from −55 °C and, in R, to 175 °C at the junction: a result above that says *too hot*,
    not how hot. For exponents below 1 the quadratic has a root where qb ≥ 0 too, but in air of 25 °C or more
    it lies above 800 °C: that is runaway all the same.

    References
    ----------
    The balance of heat with a thermal resistance (IEC 60747-8 symbols), solved in closed form.

    Examples
    --------
    7.5 A through 13 mΩ in a TO-220 in still air of 40 °C, and the same part at 22 A:

    >>> part = {"duty": 1.0, "rds25_ohm": 0.013, "exponent": 1.65, "rth_k_per_w": 62.0}
    >>> round(junction_temperature(current_a=7.5, ambient_degc=40.0, other_loss_w=0.0, **part), 1)
    108.1
    >>> junction_temperature(current_a=22.0, ambient_degc=40.0, other_loss_w=0.0, **part)
    nan
    """
    import numpy as np  # noqa: PLC0415 - slow to load, and only what settles needs it

    from loadworthy.physics._heating import settled_delta  # noqa: PLC0415 - as above

    rth = given("rth_k_per_w", rth_k_per_w, NOT_NEGATIVE)
    cold_loss_w = conduction_loss(current_a=current_a, duty=duty, resistance_ohm=rds25_ohm)
    a, b = hot_coefficients(exponent=exponent)
    ambient_delta = given("ambient_degc", ambient_degc, TEMPERATURE) - REFERENCE_DEGC
    delta = settled_delta(
        start_k=np.asarray(ambient_delta + rth * given("other_loss_w", other_loss_w, NOT_NEGATIVE)),
        heating_k=np.asarray(rth * cold_loss_w),
        linear_per_k=np.asarray(a),
        square_per_k2=np.asarray(b),
    )
    return plain(REFERENCE_DEGC + delta)
