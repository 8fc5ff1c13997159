"""Where a resistance that warms itself settles, and where it no longer does: for parts, wires and paths alike."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from loadworthy.errors import UsageError
from loadworthy.physics._values import FloatOrArray, not_negative, plain, temperature

__all__ = ["runaway_current", "settled_delta"]

_Array = npt.NDArray[np.float64]


def settled_delta(*, start_k: _Array, heating_k: _Array, linear_per_k: _Array, square_per_k2: _Array) -> _Array:
    """Solve Δ = start + heating·(1 + a·Δ + b·Δ²) for its smaller root; nan is thermal runaway.

    Temperatures count from the one at which the resistance is stated; `heating_k` is the rise that this
    resistance would cause. The greater root is not stable. The form is good at b = 0 and cancels nothing.
    """
    qa = heating_k * square_per_k2
    qb = heating_k * linear_per_k - 1.0
    qc = start_k + heating_k
    discriminant = qb**2 - 4.0 * qa * qc
    runaway = (qb >= 0.0) | (discriminant < 0.0)
    root = np.sqrt(np.where(runaway, np.nan, discriminant))
    return np.asarray(2.0 * qc / (root - qb))


def runaway_current(
    *,
    resistance_ohm: FloatOrArray,
    reference_degc: FloatOrArray,
    linear_per_k: FloatOrArray,
    square_per_k2: FloatOrArray,
    rth_k_per_w: FloatOrArray,
    ambient_degc: FloatOrArray,
    other_loss_w: FloatOrArray,
) -> FloatOrArray:
    """Current above which a resistance that warms itself finds no balance.

    Parameters
    ----------
    resistance_ohm
        Resistance at the reference temperature, R [Ω].
    reference_degc
        Temperature at which the resistance is stated, T0 [°C].
    linear_per_k
        Temperature coefficient, a [1/K].
    square_per_k2
        Coefficient of second order, b [1/K²].
    rth_k_per_w
        Thermal resistance to the air, Rth [K/W].
    ambient_degc
        Temperature of the air, TA [°C].
    other_loss_w
        Heat besides that of the current, P [W].

    Returns
    -------
    float or numpy.ndarray
        Current [A]; infinite where the resistance does not rise with temperature or does not warm itself.

    Raises
    ------
    UsageError
        If an input is negative, a temperature is below absolute zero, or the law gives no resistance above zero
        in the air as it is.

    Notes
    -----
    With s = TA − T0 + Rth·P, the greatest I²·R·Rth is 1/(a + 2·b·s + 2·√(b·(1 + a·s + b·s²))): there the two
    roots of the balance meet. Valid as the law of resistance is; at the brink a link is far hotter than it may
    be, so this is no limit to design to.

    References
    ----------
    The balance of heat in a quadratic, its discriminant zero; textbook algebra.

    Examples
    --------
    A transistor of 13 mΩ (exponent 1.65) in a TO-220 in still air of 40 °C:

    >>> part = {"resistance_ohm": 0.013, "reference_degc": 25.0, "rth_k_per_w": 62.0, "ambient_degc": 40.0}
    >>> law = {"linear_per_k": 5.534e-3, "square_per_k2": 6.032e-6}
    >>> round(runaway_current(**part, **law, other_loss_w=0.0), 1)
    10.7
    """
    a, b = not_negative("linear_per_k", linear_per_k), not_negative("square_per_k2", square_per_k2)
    rth = not_negative("rth_k_per_w", rth_k_per_w)
    start = (
        temperature("ambient_degc", ambient_degc)
        - temperature("reference_degc", reference_degc)
        + rth * not_negative("other_loss_w", other_loss_w)
    )
    factor = 1.0 + a * start + b * start**2
    if np.any(factor <= 0.0) or np.any(a + 2.0 * b * start < 0.0):
        raise UsageError(
            "In the air as it is the law of this link gives no resistance, or one that falls as it warms.",
            where="linear_per_k, square_per_k2",
            way_out="Check both coefficients and the temperatures.",
        )
    steepness = a + 2.0 * b * start + 2.0 * np.sqrt(b * factor)
    per_a2 = steepness * not_negative("resistance_ohm", resistance_ohm) * rth
    return plain(np.where(per_a2 == 0.0, np.inf, 1.0 / np.sqrt(np.where(per_a2 == 0.0, np.nan, per_a2))))
