"""Printed copper: resistance, the current that a trace carries, and the wire that helps it out."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from loadworthy.errors import UsageError
from loadworthy.physics._values import FloatOrArray, not_negative, plain, positive
from loadworthy.physics.conductors import COPPER_RESISTIVITY_20, conductor_resistance, solid_resistance_per_m

__all__ = [
    "INNER_K",
    "MAX_RISE_K",
    "MAX_WIDTH_M",
    "OUTER_K",
    "needed_parallel_area",
    "trace_area",
    "trace_current",
    "trace_problem",
    "trace_resistance",
    "trace_rise",
    "trace_width",
]

OUTER_K = 0.048
"""Constant of the law for traces on an outer layer (IPC-2221), for a current in A and an area in mil²."""

INNER_K = 0.024
"""Constant of the law for traces on an inner layer (IPC-2221), for a current in A and an area in mil²."""

MAX_RISE_K = 100.0
"""The greatest rise to which the charts of IPC-2221 reach, in K."""

_MIL_M = 25.4e-6

MAX_WIDTH_M = 400.0 * _MIL_M
"""The greatest width to which the charts of IPC-2221 reach, in m: 400 mil."""

_MAX_CURRENT_A = {OUTER_K: 35.0, INNER_K: 17.5}
_RISE_POWER = 0.44
_AREA_POWER = 0.725
# Inverses of each other must agree at the very edge of the charts.
_ROUNDING = 1.0 + 1e-9

_Array = npt.NDArray[np.float64]


def trace_area(*, width_m: FloatOrArray, thickness_m: FloatOrArray) -> FloatOrArray:
    """Cross-section of a trace.

    Parameters
    ----------
    width_m
        Width, w [m].
    thickness_m
        Thickness of the copper, t [m]; 35 µm is one ounce to the square foot.

    Returns
    -------
    float or numpy.ndarray
        Area [m²].

    Raises
    ------
    UsageError
        If the width or the thickness is not above zero.

    Notes
    -----
    A = w·t. Valid for traces much wider than thick; etching leaves a little less.

    References
    ----------
    Geometry.

    Examples
    --------
    In mm²:

    >>> round(1e6 * trace_area(width_m=2e-3, thickness_m=35e-6), 3)
    0.07
    """
    return plain(positive("width_m", width_m) * positive("thickness_m", thickness_m))


def trace_resistance(
    *, width_m: FloatOrArray, thickness_m: FloatOrArray, length_m: FloatOrArray, degc: FloatOrArray
) -> FloatOrArray:
    """Resistance of a trace at a temperature.

    Parameters
    ----------
    width_m
        Width, w [m].
    thickness_m
        Thickness of the copper, t [m].
    length_m
        Length, l [m].
    degc
        Temperature of the copper, T [°C].

    Returns
    -------
    float or numpy.ndarray
        Resistance [Ω].

    Raises
    ------
    UsageError
        If the width or the thickness is not above zero, the length is negative, or the temperature is below
        −200 °C.

    Notes
    -----
    R = ρ·l/(w·t)·(1 + α·(T − 20 °C)). Valid for copper of full density; plated copper has a few per cent more.

    References
    ----------
    IEC 60028 for copper.

    Examples
    --------
    100 squares of 35 µm at 20 °C, in mΩ:

    >>> round(1e3 * trace_resistance(width_m=1e-3, thickness_m=35e-6, length_m=0.1, degc=20.0), 2)
    49.26
    """
    per_m = solid_resistance_per_m(area_m2=trace_area(width_m=width_m, thickness_m=thickness_m))
    return conductor_resistance(ohm_per_m_20=per_m, length_m=length_m, degc=degc)


def trace_problem(
    *, current_a: FloatOrArray, rise_k: FloatOrArray, width_m: FloatOrArray, layer_k: FloatOrArray
) -> str | None:
    """Say why a trace lies outside the charts of IPC-2221, in words.

    Parameters
    ----------
    current_a
        Current [A].
    rise_k
        Rise of the copper above its surroundings [K].
    width_m
        Width [m].
    layer_k
        :data:`OUTER_K` or :data:`INNER_K` [1].

    Returns
    -------
    str or None
        The first thing that lies outside, of an array with the number of the value; None where all is inside
        [1]. What is nan is not judged.

    Raises
    ------
    UsageError
        If the layer's constant is neither of the two.

    Notes
    -----
    Valid to 35 A on outer layers, 17.5 A on inner ones, a rise of 100 K and a width of 400 mil (10.16 mm).

    References
    ----------
    IPC-2221.

    Examples
    --------
    >>> trace_problem(current_a=20.0, rise_k=20.0, width_m=float("nan"), layer_k=INNER_K)
    '20 A is more than the charts give for an inner layer, 17.5 A'
    >>> trace_problem(current_a=20.0, rise_k=20.0, width_m=float("nan"), layer_k=OUTER_K) is None
    True
    """
    current, rise, width, layer = np.broadcast_arrays(
        *(np.asarray(value, dtype=np.float64) for value in (current_a, rise_k, width_m, layer_k))
    )
    inner = layer == INNER_K
    unknown_layer = ~inner & (layer != OUTER_K) & ~np.isnan(layer)
    if np.any(unknown_layer):
        raise UsageError(
            f"{layer[unknown_layer].flat[0]:g} is the constant of no layer.",
            where="layer_k",
            way_out=f"Use {OUTER_K:g} for an outer layer or {INNER_K:g} for an inner one.",
        )
    most = np.where(inner, _MAX_CURRENT_A[INNER_K], _MAX_CURRENT_A[OUTER_K])
    outside = (current > most * _ROUNDING, rise > MAX_RISE_K * _ROUNDING, width > MAX_WIDTH_M * _ROUNDING)
    bad = np.flatnonzero(outside[0] | outside[1] | outside[2])
    if bad.size == 0:
        return None
    at = int(bad[0])
    if outside[0].flat[at]:
        name = "an inner" if inner.flat[at] else "an outer"
        words = f"{current.flat[at]:.3g} A is more than the charts give for {name} layer, {most.flat[at]:g} A"
    elif outside[1].flat[at]:
        words = f"a rise of {rise.flat[at]:.3g} K is more than the charts give, {MAX_RISE_K:g} K"
    else:
        words = f"a width of {1e3 * width.flat[at]:.3g} mm is more than the charts give, {1e3 * MAX_WIDTH_M:g} mm"
    return words if current.ndim == 0 else f"{words} (value {at + 1} of {current.size})"


def trace_current(
    *, width_m: FloatOrArray, thickness_m: FloatOrArray, rise_k: FloatOrArray, layer_k: FloatOrArray
) -> FloatOrArray:
    """Current that warms a trace by a given rise.

    Parameters
    ----------
    width_m
        Width [m].
    thickness_m
        Thickness of the copper [m].
    rise_k
        Rise of the copper above its surroundings, ΔT [K].
    layer_k
        :data:`OUTER_K` or :data:`INNER_K`, k [1].

    Returns
    -------
    float or numpy.ndarray
        Current, I [A].

    Raises
    ------
    UsageError
        If an input is impossible, or the trace lies outside the charts: :func:`trace_problem` says how.

    Notes
    -----
    I = k·ΔT^0.44·A^0.725, A in mil². Valid as :func:`trace_problem` says. The law is fitted to old charts and
    on the safe side with copper areas near by; traces side by side warm each other.

    References
    ----------
    IPC-2221.

    Examples
    --------
    >>> round(trace_current(width_m=1.816e-3, thickness_m=35e-6, rise_k=20.0, layer_k=OUTER_K), 2)
    5.0
    """
    area = _area_mil2(trace_area(width_m=width_m, thickness_m=thickness_m))
    current = _layer(layer_k) * not_negative("rise_k", rise_k) ** _RISE_POWER * area**_AREA_POWER
    _refuse_outside(current, rise_k, width_m, layer_k)
    return plain(current)


def trace_rise(
    *, current_a: FloatOrArray, width_m: FloatOrArray, thickness_m: FloatOrArray, layer_k: FloatOrArray
) -> FloatOrArray:
    """Rise of a trace that carries a current.

    Parameters
    ----------
    current_a
        Current, I [A].
    width_m
        Width [m].
    thickness_m
        Thickness of the copper [m].
    layer_k
        :data:`OUTER_K` or :data:`INNER_K`, k [1].

    Returns
    -------
    float or numpy.ndarray
        Rise above the surroundings, ΔT [K].

    Raises
    ------
    UsageError
        If an input is impossible, or the trace lies outside the charts: :func:`trace_problem` says how.

    Notes
    -----
    ΔT = (I/(k·A^0.725))^(1/0.44), A in mil²: the inverse of :func:`trace_current`. Valid as that is.

    References
    ----------
    IPC-2221.

    Examples
    --------
    >>> round(trace_rise(current_a=5.0, width_m=1.816e-3, thickness_m=35e-6, layer_k=OUTER_K), 1)
    20.0
    """
    area = _area_mil2(trace_area(width_m=width_m, thickness_m=thickness_m))
    share = not_negative("current_a", current_a) / (_layer(layer_k) * area**_AREA_POWER)
    rise = np.asarray(share ** (1.0 / _RISE_POWER))
    _refuse_outside(current_a, rise, width_m, layer_k)
    return plain(rise)


def trace_width(
    *, current_a: FloatOrArray, rise_k: FloatOrArray, thickness_m: FloatOrArray, layer_k: FloatOrArray
) -> FloatOrArray:
    """Width that a trace needs to carry a current within a given rise.

    Parameters
    ----------
    current_a
        Current, I [A].
    rise_k
        Rise of the copper above its surroundings that is allowed, ΔT [K].
    thickness_m
        Thickness of the copper, t [m].
    layer_k
        :data:`OUTER_K` or :data:`INNER_K`, k [1].

    Returns
    -------
    float or numpy.ndarray
        Width [m].

    Raises
    ------
    UsageError
        If an input is impossible, or the trace lies outside the charts: :func:`trace_problem` says how.

    Notes
    -----
    w = (I/(k·ΔT^0.44))^(1/0.725)/t, in mil: the inverse of :func:`trace_current`. Valid as that is.

    References
    ----------
    IPC-2221.

    Examples
    --------
    10 A, 20 K, one ounce, outer layer, in mm:

    >>> round(1e3 * trace_width(current_a=10.0, rise_k=20.0, thickness_m=35e-6, layer_k=OUTER_K), 2)
    4.72
    """
    share = not_negative("current_a", current_a) / (_layer(layer_k) * positive("rise_k", rise_k) ** _RISE_POWER)
    area_m2 = share ** (1.0 / _AREA_POWER) * _MIL_M**2
    width = np.asarray(area_m2 / positive("thickness_m", thickness_m))
    _refuse_outside(current_a, rise_k, width, layer_k)
    return plain(width)


def needed_parallel_area(
    *, total_a: FloatOrArray, trace_a: FloatOrArray, trace_ohm: FloatOrArray, length_m: FloatOrArray
) -> FloatOrArray:
    """Copper that a wire soldered along a trace must have, so that the trace carries no more than its own limit.

    Parameters
    ----------
    total_a
        Current that trace and wire carry together, I [A].
    trace_a
        Limit of the trace alone, It [A].
    trace_ohm
        Resistance of the trace at 20 °C, Rt [Ω].
    length_m
        Length of trace and wire, l [m].

    Returns
    -------
    float or numpy.ndarray
        Least area of the wire's copper [m²]; zero where the trace alone will do.

    Raises
    ------
    UsageError
        If the limit or the resistance of the trace is not above zero, or an input is negative.

    Notes
    -----
    Both have the same drop, (I − It)·Rw = It·Rt, so A = ρ·l/Rw = ρ·l·(I − It)/(It·Rt). Valid with both at the
    same temperature, soldered all along. It shares the current; it does not raise what the connectors and the
    transistor at its ends can take.

    References
    ----------
    Ohm's law; IEC 60028 for copper.

    Examples
    --------
    A trace good for 5 A that must pass 15 A needs twice its own copper beside it, in mm²:

    >>> trace = trace_resistance(width_m=2e-3, thickness_m=35e-6, length_m=0.1, degc=20.0)
    >>> round(1e6 * needed_parallel_area(total_a=15.0, trace_a=5.0, trace_ohm=trace, length_m=0.1), 3)
    0.14
    """
    limit = positive("trace_a", trace_a)
    excess = np.maximum(not_negative("total_a", total_a) - limit, 0.0)
    shared_v = limit * positive("trace_ohm", trace_ohm)
    return plain(COPPER_RESISTIVITY_20 * not_negative("length_m", length_m) * excess / shared_v)


def _area_mil2(area_m2: FloatOrArray) -> _Array:
    return np.asarray(area_m2, dtype=np.float64) / _MIL_M**2


def _layer(layer_k: FloatOrArray) -> _Array:
    return positive("layer_k", layer_k)


def _refuse_outside(
    current_a: FloatOrArray, rise_k: FloatOrArray, width_m: FloatOrArray, layer_k: FloatOrArray
) -> None:
    problem = trace_problem(current_a=current_a, rise_k=rise_k, width_m=width_m, layer_k=layer_k)
    if problem:
        raise UsageError(
            f"This trace lies outside IPC-2221: {problem}.",
            where="trace",
            way_out="Share the current between traces, or solder a wire along.",
        )
