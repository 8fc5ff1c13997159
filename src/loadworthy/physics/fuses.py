"""Fuses and resettable fuses: what they carry for good, what surely opens them, what a fault can drive."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from loadworthy.errors import UsageError
from loadworthy.physics._values import FloatOrArray, fraction, not_negative, plain, positive
from loadworthy.physics.curves import Curve, along_curve

__all__ = [
    "BLADE_OPENS",
    "IEC_CONTINUOUS_SHARE",
    "UL_248_14_OPENS",
    "UL_CONTINUOUS_SHARE",
    "continuous_current",
    "fault_current",
    "fuse_drop",
    "hold_current",
    "sure_opening_current",
    "sure_opening_time",
    "trip_current",
]

UL_CONTINUOUS_SHARE = 0.75
"""The share of its rating that a UL-type fuse may carry for good (a fuse maker's comparison)."""

IEC_CONTINUOUS_SHARE = 1.0
"""The share of its rating that an IEC-type fuse may carry for good (a fuse maker's comparison)."""

UL_248_14_OPENS = ((1.35, 3600.0), (2.0, 120.0))
"""Multiples of the rating, and the seconds within which they surely open a fuse to 30 A (UL 248-14)."""

BLADE_OPENS = ((1.35, 600.0), (2.0, 5.0), (3.5, 0.5))
"""The same for a blade fuse (ISO 8820-3, from memory: check the maker's sheet)."""


def continuous_current(*, rating_a: FloatOrArray, share: FloatOrArray) -> FloatOrArray:
    """Current that a fuse may carry for good at room temperature.

    Parameters
    ----------
    rating_a
        Rated current, In [A].
    share
        Share of the rating for continuous load [1]: :data:`UL_CONTINUOUS_SHARE`,
        :data:`IEC_CONTINUOUS_SHARE`, or 1 where the figure has the margin in it.

    Returns
    -------
    float or numpy.ndarray
        Continuous current [A].

    Raises
    ------
    UsageError
        If the rating is negative or the share is not from 0 to 1.

    Notes
    -----
    I = share·In. Valid at 20 to 25 °C; a maker's table of continuous currents against temperature may have
    the margin inside, and then the share is not taken again.

    References
    ----------
    A fuse maker's comparison of UL and IEC fuses.

    Examples
    --------
    >>> continuous_current(rating_a=10.0, share=UL_CONTINUOUS_SHARE)
    7.5
    """
    return plain(not_negative("rating_a", rating_a) * fraction("share", share))


def sure_opening_current(*, rating_a: FloatOrArray, factor: FloatOrArray) -> FloatOrArray:
    """Current at which a fuse is sure to open.

    Parameters
    ----------
    rating_a
        Rated current, In [A].
    factor
        Multiple of the rating that the fuse's standard names [1], as in :data:`UL_248_14_OPENS`.

    Returns
    -------
    float or numpy.ndarray
        Current [A].

    Raises
    ------
    UsageError
        If the rating is negative, or the factor is not above zero.

    Notes
    -----
    I = factor·In. Valid at room temperature. Below it the fuse may carry the current for ever: wire and board
    must bear that.

    References
    ----------
    UL 248-14, as a fuse maker's guide gives it: 135 % within an hour, 200 % within two minutes (to 30 A).

    Examples
    --------
    >>> sure_opening_current(rating_a=10.0, factor=UL_248_14_OPENS[0][0])
    13.5
    """
    return plain(not_negative("rating_a", rating_a) * positive("factor", factor))


def sure_opening_time(
    *, current_a: FloatOrArray, rating_a: FloatOrArray, opens: Sequence[tuple[float, float]]
) -> FloatOrArray:
    """Time within which a fuse is sure to open.

    Parameters
    ----------
    current_a
        Current through the fuse, I [A].
    rating_a
        Rated current, In [A].
    opens
        Multiples of the rating, rising, each with its greatest time in seconds [1], as in
        :data:`UL_248_14_OPENS`.

    Returns
    -------
    float or numpy.ndarray
        Time [s]: that of the greatest multiple that the current reaches. nan where it reaches none: the
        standard does not promise that the fuse opens at all.

    Raises
    ------
    UsageError
        If the current is negative, the rating is not above zero, or the multiples do not rise.

    Notes
    -----
    Nothing is read between the points: a fuse opens sooner, but no standard says how much. Valid at room
    temperature.

    References
    ----------
    UL 248-14, as a fuse maker's guide gives it.

    Examples
    --------
    >>> [sure_opening_time(current_a=i, rating_a=10.0, opens=UL_248_14_OPENS) for i in (13.0, 13.5, 19.0, 50.0)]
    [nan, 3600.0, 3600.0, 120.0]
    """
    multiple = not_negative("current_a", current_a) / positive("rating_a", rating_a)
    factors = [factor for factor, _ in opens]
    if factors != sorted(set(factors)):
        raise UsageError(
            "The multiples of the rating do not rise.", where="opens", way_out="Name the least multiple first."
        )
    time_s = np.full(np.shape(multiple), np.nan)
    for factor, within_s in opens:
        # A quotient of two decimal figures may fall a rounding error short of the multiple that it is.
        time_s = np.where(multiple >= factor * (1.0 - 1e-12), within_s, time_s)
    return plain(time_s)


def hold_current(*, degc: FloatOrArray, curve_degc: Curve, curve_a: Curve) -> FloatOrArray:
    """Current that a fuse, resettable or not, carries for good at a temperature, off its maker's table.

    Parameters
    ----------
    degc
        Temperature of the air round the fuse [°C].
    curve_degc
        Temperatures of the table, each above the one before [°C].
    curve_a
        Hold currents, or continuous currents, of the table [A].

    Returns
    -------
    float or numpy.ndarray
        Hold current [A]; in air colder than the first entry that entry's. nan beyond the last entry.

    Raises
    ------
    UsageError
        As :func:`~loadworthy.physics.curves.along_curve` does.

    Notes
    -----
    Linear between the entries. Valid in still air and on the copper that the maker measured with.

    References
    ----------
    A maker's data sheet of a resettable 30 V part: hold 5.00 A at 20 °C, 4.15 A at 40 °C.

    Examples
    --------
    >>> round(hold_current(degc=30.0, curve_degc=(20.0, 40.0), curve_a=(5.0, 4.15)), 3)
    4.575
    """
    return along_curve(degc=degc, curve_degc=curve_degc, curve_a=curve_a)


def trip_current(*, trip_a: FloatOrArray, hold_at_degc_a: FloatOrArray, hold_at_rating_a: FloatOrArray) -> FloatOrArray:
    """Current at which a resettable fuse is sure to trip in colder or warmer air.

    Parameters
    ----------
    trip_a
        Trip current at the temperature of the rating [A].
    hold_at_degc_a
        Hold current at the temperature in question [A].
    hold_at_rating_a
        Hold current at the temperature of the rating [A].

    Returns
    -------
    float or numpy.ndarray
        Trip current at the temperature in question [A].

    Raises
    ------
    UsageError
        If a current is negative, or the hold current of the rating is not above zero.

    Notes
    -----
    The trip current scales as the hold current does. Valid as an estimate: makers give the hold current alone
    against temperature. In the cold the fuse trips later than its rating says.

    References
    ----------
    Common practice.

    Examples
    --------
    Trip 10 A and hold 5 A at 20 °C; at −40 °C it holds 7.25 A:

    >>> trip_current(trip_a=10.0, hold_at_degc_a=7.25, hold_at_rating_a=5.0)
    14.5
    """
    share = not_negative("hold_at_degc_a", hold_at_degc_a) / positive("hold_at_rating_a", hold_at_rating_a)
    return plain(not_negative("trip_a", trip_a) * share)


def fault_current(*, supply_v: FloatOrArray, loop_ohm: FloatOrArray) -> FloatOrArray:
    """Current that a short circuit drives, and that the fuse has to break.

    Parameters
    ----------
    supply_v
        Supply voltage, V [V].
    loop_ohm
        Resistance of the whole loop, out and back, the source's own included, R [Ω].

    Returns
    -------
    float or numpy.ndarray
        Fault current [A].

    Raises
    ------
    UsageError
        If the supply is negative or the resistance is not above zero.

    Notes
    -----
    I = V/R. Valid for a source that holds its voltage, such as a battery; a switched supply limits its
    current, perhaps to less than what opens the fuse in time.

    References
    ----------
    Ohm's law.

    Examples
    --------
    >>> fault_current(supply_v=12.0, loop_ohm=0.25)
    48.0
    """
    return plain(not_negative("supply_v", supply_v) / positive("loop_ohm", loop_ohm))


def fuse_drop(*, current_a: FloatOrArray, resistance_ohm: FloatOrArray) -> FloatOrArray:
    """Voltage that a fuse takes.

    Parameters
    ----------
    current_a
        Current through the fuse, I [A].
    resistance_ohm
        Its resistance, R [Ω]; of a resettable one the greatest an hour after a trip, R1max.

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
    U = I·R. Valid for the resistance as it is: cold resistances understate the drop at the rated current.

    References
    ----------
    Ohm's law.

    Examples
    --------
    5 A through a resettable fuse that has tripped before, R1max 50 mΩ:

    >>> fuse_drop(current_a=5.0, resistance_ohm=0.05)
    0.25
    """
    return plain(not_negative("current_a", current_a) * not_negative("resistance_ohm", resistance_ohm))
