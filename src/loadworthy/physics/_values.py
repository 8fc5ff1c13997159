"""What goes into a formula and what comes out: impossible inputs are refused, scalars stay scalars."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from loadworthy.errors import UsageError

__all__ = [
    "ABSOLUTE_ZERO_DEGC",
    "FloatOrArray",
    "fraction",
    "not_negative",
    "plain",
    "positive",
    "temperature",
]

FloatOrArray = float | npt.NDArray[np.float64]

ABSOLUTE_ZERO_DEGC = -273.15


def positive(name: str, value: FloatOrArray, *, infinite: bool = False) -> npt.NDArray[np.float64]:
    """Take `value` as an array of numbers above zero; nan (unknown) may pass, infinity only where allowed."""
    array = _numbers(name, value)
    _refuse(name, array, array <= 0.0, "it must be above zero")
    if not infinite:
        _refuse(name, array, np.isinf(array), "it must be finite")
    return array


def not_negative(name: str, value: FloatOrArray) -> npt.NDArray[np.float64]:
    """Take `value` as an array of finite numbers from zero up; nan (unknown) may pass."""
    array = _numbers(name, value)
    _refuse(name, array, array < 0.0, "it must not be negative")
    _refuse(name, array, np.isinf(array), "it must be finite")
    return array


def fraction(name: str, value: FloatOrArray, *, below_one: bool = False) -> npt.NDArray[np.float64]:
    """Take `value` as an array of fractions from 0 to 1 (1 itself refused where `below_one`)."""
    array = _numbers(name, value)
    if below_one:
        _refuse(name, array, (array < 0.0) | (array >= 1.0), "it must be at least 0 and below 1")
    else:
        _refuse(name, array, (array < 0.0) | (array > 1.0), "it must lie from 0 to 1")
    return array


def temperature(name: str, value: FloatOrArray) -> npt.NDArray[np.float64]:
    """Take `value` as an array of finite temperatures in °C above absolute zero."""
    array = _numbers(name, value)
    _refuse(name, array, array <= ABSOLUTE_ZERO_DEGC, "it must be above absolute zero, -273.15 °C")
    _refuse(name, array, np.isinf(array), "it must be finite")
    return array


def plain(value: npt.NDArray[np.float64]) -> FloatOrArray:
    """Give a scalar result back as a Python float, an array as it is."""
    return float(value) if np.ndim(value) == 0 else value


def _numbers(name: str, value: FloatOrArray) -> npt.NDArray[np.float64]:
    try:
        return np.asarray(value, dtype=np.float64)
    except (TypeError, ValueError) as error:
        raise UsageError(
            f"{value!r} is no number.",
            where=name,
            way_out="Give a number or an array of numbers in SI units.",
        ) from error


def _refuse(name: str, array: npt.NDArray[np.float64], bad: npt.NDArray[np.bool_], rule: str) -> None:
    if not np.any(bad):
        return
    first = int(np.flatnonzero(bad)[0])
    where = name if array.ndim == 0 else f"{name}, value {first + 1} of {array.size}"
    raise UsageError(
        f"{array.flat[first]:g} is impossible: {rule}.",
        where=where,
        way_out="Check the figure, its sign and its unit.",
    )
