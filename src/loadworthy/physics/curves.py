"""Reading a rating off a published curve against temperature."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from loadworthy.errors import UsageError
from loadworthy.physics._values import FloatOrArray, not_negative, plain, temperature

__all__ = ["Curve", "along_curve"]

Curve = Sequence[float] | npt.NDArray[np.float64]


def along_curve(*, degc: FloatOrArray, curve_degc: Curve, curve_a: Curve) -> FloatOrArray:
    """Read a current off a curve of points against temperature.

    Parameters
    ----------
    degc
        Temperature to read at [°C].
    curve_degc
        Temperatures of the points, each above the one before [°C].
    curve_a
        Currents of the points [A].

    Returns
    -------
    float or numpy.ndarray
        Current [A]; to the left of the first point that point's, never more. nan to the right of the last
        point: the curve says nothing there.

    Raises
    ------
    UsageError
        If the curve has no points, not as many currents as temperatures, an unknown or impossible value, or
        temperatures out of order; or if a temperature is below absolute zero.

    Notes
    -----
    Linear between the points. Valid as far as the points reach; a derating curve bends downwards, so that the
    straight line between two points lies on the safe side of it.

    References
    ----------
    Linear interpolation; textbook. The points are those of a connector's data sheet (base curve, 5 poles,
    limit 125 °C).

    Examples
    --------
    >>> curve = {"curve_degc": (20.0, 40.0, 60.0, 80.0), "curve_a": (11.1, 9.95, 8.6, 7.05)}
    >>> [round(along_curve(degc=at, **curve), 3) for at in (0.0, 40.0, 50.0, 81.0)]
    [11.1, 9.95, 9.275, nan]
    """
    at = temperature("degc", degc)
    points_degc = np.atleast_1d(temperature("curve_degc", np.asarray(curve_degc, dtype=np.float64)))
    points_a = np.atleast_1d(not_negative("curve_a", np.asarray(curve_a, dtype=np.float64)))
    problem = _curve_problem(points_degc, points_a)
    if problem:
        raise UsageError(
            problem,
            where="curve_degc, curve_a",
            way_out="Give each point's temperature and current, the coldest first.",
        )
    inside = np.where(at <= points_degc[-1], np.interp(at, points_degc, points_a), np.nan)
    return plain(np.asarray(inside))


def _curve_problem(points_degc: npt.NDArray[np.float64], points_a: npt.NDArray[np.float64]) -> str | None:
    if points_degc.ndim != 1 or points_degc.shape != points_a.shape:
        return f"{points_a.size} currents do not go with {points_degc.size} temperatures."
    if points_degc.size == 0:
        return "A curve without points says nothing."
    if np.any(np.isnan(points_degc)) or np.any(np.isnan(points_a)):
        return "A point of the curve is unknown."
    if np.any(np.diff(points_degc) <= 0.0):
        return "The temperatures of the curve do not rise from point to point."
    return None
