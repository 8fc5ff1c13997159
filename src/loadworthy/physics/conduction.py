"""Current, on-resistance hot and cold, conduction loss, and the junction temperature that they settle at."""

from __future__ import annotations

import numpy as np

from loadworthy.physics._heating import settled_delta
from loadworthy.physics._on_resistance import (
    REFERENCE_DEGC,
    default_hot_exponent,
    hot_coefficients,
    hot_exponent,
    least_growth,
    resistance_at,
    resistance_power_law,
)
from loadworthy.physics._values import (
    FloatOrArray,
    fraction,
    not_negative,
    plain,
    positive,
    temperature,
)

__all__ = [
    "REFERENCE_DEGC",
    "TUNGSTEN_COLD_SHARE",
    "conduction_loss",
    "default_hot_exponent",
    "hot_coefficients",
    "hot_exponent",
    "junction_temperature",
    "least_growth",
    "load_current",
    "power_current",
    "resistance_at",
    "resistance_power_law",
    "rms_current",
    "tungsten_cold_resistance",
    "worst_case_current",
]

TUNGSTEN_COLD_SHARE = 0.1
"""Cold resistance of a lamp's filament over its hot one: about a tenth, common practice."""


def load_current(*, supply_v: FloatOrArray, resistance_ohm: FloatOrArray) -> FloatOrArray:
    """Work out the current that a resistive load draws.

    Parameters
    ----------
    supply_v
        Supply voltage, V [V].
    resistance_ohm
        Resistance of the load as it is when warm, R [Ω].

    Returns
    -------
    float or numpy.ndarray
        Current, I [A].

    Raises
    ------
    UsageError
        If the supply is negative or the resistance is not above zero.

    Notes
    -----
    I = V/R. Valid for direct current in a steady state; the drop across the rest of the path is neglected,
    which errs on the high side.

    References
    ----------
    Ohm's law.

    Examples
    --------
    A propagation mat of 1.6 Ω on 12 V:

    >>> round(load_current(supply_v=12.0, resistance_ohm=1.6), 3)
    7.5
    """
    return plain(not_negative("supply_v", supply_v) / positive("resistance_ohm", resistance_ohm))


def power_current(*, supply_v: FloatOrArray, power_w: FloatOrArray) -> FloatOrArray:
    """Work out the current that a load of a given power draws.

    Parameters
    ----------
    supply_v
        Supply voltage at which the power is stated, V [V].
    power_w
        Power of the load, P [W].

    Returns
    -------
    float or numpy.ndarray
        Current, I [A].

    Raises
    ------
    UsageError
        If the supply is not above zero or the power is negative.

    Notes
    -----
    I = P/V. Valid for direct current in a steady state. A motor or a lamp draws more while it starts.

    References
    ----------
    The definition of electric power.

    Examples
    --------
    A 90 W heater on 12 V:

    >>> round(power_current(supply_v=12.0, power_w=90.0), 3)
    7.5
    """
    return plain(not_negative("power_w", power_w) / positive("supply_v", supply_v))


def worst_case_current(
    *, supply_v: FloatOrArray, resistance_ohm: FloatOrArray, tolerance: FloatOrArray
) -> FloatOrArray:
    """Greatest current of a resistive load whose resistance has a tolerance.

    Parameters
    ----------
    supply_v
        Supply voltage, V [V].
    resistance_ohm
        Nominal resistance of the load, R [Ω].
    tolerance
        Tolerance of the resistance as a fraction, t [1]; from 0, below 1.

    Returns
    -------
    float or numpy.ndarray
        Greatest current, I [A].

    Raises
    ------
    UsageError
        If the supply is negative, the resistance is not above zero, or the tolerance is not from 0 to below
        1.

    Notes
    -----
    I = V/(R·(1 − t)): the load at the low end of its tolerance. Valid as :func:`load_current` is.

    References
    ----------
    Ohm's law at the worst corner; common practice.

    Examples
    --------
    1.6 Ω ± 5 % on 12 V:

    >>> round(worst_case_current(supply_v=12.0, resistance_ohm=1.6, tolerance=0.05), 3)
    7.895
    """
    least_ohm = positive("resistance_ohm", resistance_ohm) * (1.0 - fraction("tolerance", tolerance, below_one=True))
    return plain(not_negative("supply_v", supply_v) / least_ohm)


def rms_current(*, current_a: FloatOrArray, duty: FloatOrArray) -> FloatOrArray:
    """Root-mean-square current of a load that is switched on and off.

    Parameters
    ----------
    current_a
        Current while on, I [A].
    duty
        Share of the time that the load is on, D [1].

    Returns
    -------
    float or numpy.ndarray
        Root-mean-square current [A].

    Raises
    ------
    UsageError
        If the current is negative or the duty is not from 0 to 1.

    Notes
    -----
    Irms = I·√D. Valid for a rectangular current, and for heating that is slow against the switching.

    References
    ----------
    The root mean square of a rectangular wave; textbook.

    Examples
    --------
    >>> rms_current(current_a=8.0, duty=0.25)
    4.0
    """
    return plain(not_negative("current_a", current_a) * np.sqrt(fraction("duty", duty)))


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
    return plain(
        fraction("duty", duty)
        * not_negative("current_a", current_a) ** 2
        * not_negative("resistance_ohm", resistance_ohm)
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
    rth = not_negative("rth_k_per_w", rth_k_per_w)
    cold_loss_w = conduction_loss(current_a=current_a, duty=duty, resistance_ohm=rds25_ohm)
    a, b = hot_coefficients(exponent=exponent)
    ambient_delta = temperature("ambient_degc", ambient_degc) - REFERENCE_DEGC
    delta = settled_delta(
        start_k=ambient_delta + rth * not_negative("other_loss_w", other_loss_w),
        heating_k=rth * cold_loss_w,
        linear_per_k=np.asarray(a),
        square_per_k2=np.asarray(b),
    )
    return plain(REFERENCE_DEGC + delta)


def tungsten_cold_resistance(*, hot_ohm: FloatOrArray) -> FloatOrArray:
    """Resistance of an incandescent lamp's filament in the instant in which it is switched on.

    Parameters
    ----------
    hot_ohm
        Resistance while it glows, its rated voltage squared over its power [Ω].

    Returns
    -------
    float or numpy.ndarray
        Resistance at room temperature [Ω].

    Raises
    ------
    UsageError
        If the resistance is not above zero.

    Notes
    -----
    R = Rhot·:data:`TUNGSTEN_COLD_SHARE`, about a tenth. Valid for vacuum and halogen lamps of a few watts and
    more, as an estimate: single lamps lie some way to either side. What the lamp then draws is
    :func:`load_current` of this resistance together with all that is in the path.

    References
    ----------
    Common practice.

    Examples
    --------
    A 12 V lamp of 60 W:

    >>> round(tungsten_cold_resistance(hot_ohm=2.4), 3)
    0.24
    """
    return plain(positive("hot_ohm", hot_ohm) * TUNGSTEN_COLD_SHARE)
