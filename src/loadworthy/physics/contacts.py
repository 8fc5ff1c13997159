"""Connectors: what a contact carries warm, how warm it gets, what it costs, and whether the pitch fits."""

from __future__ import annotations

import numpy as np

from loadworthy.errors import UsageError
from loadworthy.physics._values import FloatOrArray, not_negative, plain, positive, temperature
from loadworthy.physics.curves import Curve, along_curve

__all__ = [
    "USABLE_SHARE",
    "contact_loss",
    "contact_temperature",
    "curve_current",
    "pitch_offset",
    "root_law_current",
    "usable_current",
]

USABLE_SHARE = 0.8
"""The share of the base curve that may be used (IEC 60512-5-2)."""


def curve_current(*, degc: FloatOrArray, curve_degc: Curve, curve_a: Curve) -> FloatOrArray:
    """Base current of a contact, off the curve that its data sheet prints.

    Parameters
    ----------
    degc
        Temperature of the air round the connector [°C].
    curve_degc
        Air temperatures of the curve's points, each above the one before [°C].
    curve_a
        Base currents of the points, all poles loaded [A].

    Returns
    -------
    float or numpy.ndarray
        Base current [A]; in air colder than the first point that point's. nan beyond the last point.

    Raises
    ------
    UsageError
        As :func:`~loadworthy.physics.curves.along_curve` does.

    Notes
    -----
    Linear between the points. Valid for the number of poles and the wire that the curve was taken with. This
    is the base curve: what may be used is :func:`usable_current` of it, unless the sheet's curve is the
    derated one already.

    References
    ----------
    IEC 60512-5-2. The points are a connector data sheet's.

    Examples
    --------
    >>> round(curve_current(degc=50.0, curve_degc=(40.0, 60.0), curve_a=(9.95, 8.6)), 3)
    9.275
    """
    return along_curve(degc=degc, curve_degc=curve_degc, curve_a=curve_a)


def root_law_current(
    *, rated_a: FloatOrArray, rated_degc: FloatOrArray, limit_degc: FloatOrArray, ambient_degc: FloatOrArray
) -> FloatOrArray:
    """Estimate a contact's current in warmer air, where no curve is given.

    Parameters
    ----------
    rated_a
        Current at the rated temperature, I0 [A].
    rated_degc
        Air temperature of that rating, T0 [°C].
    limit_degc
        Highest temperature that the connector may reach, Tmax [°C]; above the rated temperature.
    ambient_degc
        Temperature of the air round the connector, T [°C].

    Returns
    -------
    float or numpy.ndarray
        Current [A]; the rated one in air as cold as the rating's or colder, zero at the limit and above.

    Raises
    ------
    UsageError
        If the current is negative, a temperature is below absolute zero, or the limit is not above the rated
        temperature.

    Notes
    -----
    I = I0·√((Tmax − T)/(Tmax − T0)), from a rise that goes with I². Valid as a fall-back only, and whoever
    uses it says so: it is always optimistic. Against one published curve it is 3 % too high at 80 °C,
    5 % at 100 °C and 15 % at 120 °C; against straight lines between its points, up to 20 % near the limit.

    References
    ----------
    The balance of heat with a constant contact resistance; held against a connector data sheet's base curve
    (5 poles, limit 125 °C).

    Examples
    --------
    >>> contact = {"rated_a": 11.1, "rated_degc": 20.0, "limit_degc": 125.0}
    >>> [round(root_law_current(ambient_degc=at, **contact), 2) for at in (20.0, 80.0, 125.0)]
    [11.1, 7.27, 0.0]
    """
    limit = temperature("limit_degc", limit_degc)
    span = limit - temperature("rated_degc", rated_degc)
    if np.any(span <= 0.0):
        raise UsageError(
            "A contact's limit must lie above the temperature of its rating.",
            where="limit_degc",
            way_out="Give the greatest temperature that the connector may reach, from its data sheet.",
        )
    share = np.clip((limit - temperature("ambient_degc", ambient_degc)) / span, 0.0, 1.0)
    return plain(not_negative("rated_a", rated_a) * np.sqrt(share))


def usable_current(*, base_a: FloatOrArray) -> FloatOrArray:
    """Current that may be used of a contact's base current.

    Parameters
    ----------
    base_a
        Base current at the air's temperature, off the curve or by the root law [A].

    Returns
    -------
    float or numpy.ndarray
        Usable current [A].

    Raises
    ------
    UsageError
        If the current is negative.

    Notes
    -----
    I = 0.8·Ibase (:data:`USABLE_SHARE`). Valid for base curves, which are taken on few samples; a curve
    printed as derated has the share in it.

    References
    ----------
    IEC 60512-5-2.

    Examples
    --------
    >>> round(usable_current(base_a=9.95), 2)
    7.96
    """
    return plain(not_negative("base_a", base_a) * USABLE_SHARE)


def contact_temperature(
    *, current_a: FloatOrArray, rated_a: FloatOrArray, rated_rise_k: FloatOrArray, ambient_degc: FloatOrArray
) -> FloatOrArray:
    """Temperature of a contact that carries a current.

    Parameters
    ----------
    current_a
        Current through each contact, I [A].
    rated_a
        Current at which the rise was measured, I0 [A].
    rated_rise_k
        Rise of the contact above the air at that current, Δt0 [K]; 30 K at the rating of a plug connector
        (IEC 60512-5-1), 45 K of a terminal (IEC 60998-1).
    ambient_degc
        Temperature of the air round the connector, TA [°C].

    Returns
    -------
    float or numpy.ndarray
        Temperature of the contact [°C].

    Raises
    ------
    UsageError
        If the rated current is not above zero, a current or rise is negative, or the ambient is below
        absolute zero.

    Notes
    -----
    t = TA + Δt0·(I/I0)². Valid in the steady state for the wire and the number of loaded poles of the rating;
    a worn or loose contact is hotter.

    References
    ----------
    A connector maker's note on UL 1059: Δt ∝ I², t = tamb + Δt.

    Examples
    --------
    Half the current gives a quarter of the rise:

    >>> contact_temperature(current_a=5.0, rated_a=10.0, rated_rise_k=30.0, ambient_degc=40.0)
    47.5
    """
    ratio = not_negative("current_a", current_a) / positive("rated_a", rated_a)
    return plain(temperature("ambient_degc", ambient_degc) + not_negative("rated_rise_k", rated_rise_k) * ratio**2)


def contact_loss(*, current_a: FloatOrArray, contact_ohm: FloatOrArray, contacts: FloatOrArray) -> FloatOrArray:
    """Heat in the contacts of a connector that one current passes one after the other.

    Parameters
    ----------
    current_a
        Current, I [A].
    contact_ohm
        Resistance of one contact, R [Ω].
    contacts
        Number of contacts that the current passes, n [1]; a pole is one, and a two-pole connector that feeds a
        load carries the current twice, out and back.

    Returns
    -------
    float or numpy.ndarray
        Loss [W].

    Raises
    ------
    UsageError
        If a current, a resistance or the number is negative.

    Notes
    -----
    P = I²·R·n. Valid for the contact resistance as it is: a new one's maximum is on the data sheet, an old
    one's has to be measured.

    References
    ----------
    Ohm's law.

    Examples
    --------
    7.5 A out and back through contacts of 5 mΩ:

    >>> round(contact_loss(current_a=7.5, contact_ohm=0.005, contacts=2), 4)
    0.5625
    """
    one_w = not_negative("current_a", current_a) ** 2 * not_negative("contact_ohm", contact_ohm)
    return plain(one_w * not_negative("contacts", contacts))


def pitch_offset(*, pitch_a_m: FloatOrArray, pitch_b_m: FloatOrArray, poles: FloatOrArray) -> FloatOrArray:
    """Distance by which the last pole of a connector misses its hole on a board of another pitch.

    Parameters
    ----------
    pitch_a_m
        Pitch of the connector [m].
    pitch_b_m
        Pitch of the board [m].
    poles
        Number of poles, n [1].

    Returns
    -------
    float or numpy.ndarray
        Offset of the last pole when the first one sits right [m].

    Raises
    ------
    UsageError
        If a pitch or the number of poles is not above zero, or the number is below one.

    Notes
    -----
    |a − b|·(n − 1). Valid for poles in one row.

    References
    ----------
    Counting; 5.00 and 5.08 mm are the two common pitches that look alike (common practice).

    Examples
    --------
    Twelve poles of 5.00 mm on a board of 5.08 mm, in mm:

    >>> round(1e3 * pitch_offset(pitch_a_m=5.00e-3, pitch_b_m=5.08e-3, poles=12), 2)
    0.88
    """
    count = positive("poles", poles)
    if np.any(count < 1.0):
        raise UsageError("A connector has at least one pole.", where="poles", way_out="Give the number of poles.")
    return plain(np.abs(positive("pitch_a_m", pitch_a_m) - positive("pitch_b_m", pitch_b_m)) * (count - 1.0))
