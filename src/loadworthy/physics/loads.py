"""What a load draws: its current, the worst case of it, its root mean square, and a lamp's cold filament.

Every need starts here, and most ask for one number: that takes no numpy, which loads slower than all else that a
short question needs.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from loadworthy.physics._numbers import NOT_NEGATIVE, POSITIVE, SHARE, SHARE_BELOW_ONE, given, plain

if TYPE_CHECKING:
    from loadworthy.physics._values import FloatOrArray

__all__ = [
    "TUNGSTEN_COLD_SHARE",
    "load_current",
    "power_current",
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
    return plain(given("supply_v", supply_v, NOT_NEGATIVE) / given("resistance_ohm", resistance_ohm, POSITIVE))


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
    return plain(given("power_w", power_w, NOT_NEGATIVE) / given("supply_v", supply_v, POSITIVE))


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
    # One after the other: the product of two that are small could be none, by which nothing divides.
    least_share = 1.0 - given("tolerance", tolerance, SHARE_BELOW_ONE)
    nominal_a = given("supply_v", supply_v, NOT_NEGATIVE) / given("resistance_ohm", resistance_ohm, POSITIVE)
    return plain(nominal_a / least_share)


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
    return plain(given("current_a", current_a, NOT_NEGATIVE) * given("duty", duty, SHARE) ** 0.5)


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
    return plain(given("hot_ohm", hot_ohm, POSITIVE) * TUNGSTEN_COLD_SHARE)
