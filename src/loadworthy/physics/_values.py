"""What goes into a formula and what comes out: impossible inputs are refused, scalars stay scalars."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from loadworthy.physics._numbers import (
    ABOVE_ZERO,
    ABSOLUTE_ZERO_DEGC,
    NOT_NEGATIVE,
    POSITIVE,
    SHARE,
    SHARE_BELOW_ONE,
    TEMPERATURE,
    Bounds,
    impossible,
    no_number,
    plain,
)

__all__ = [
    "ABSOLUTE_ZERO_DEGC",
    "FloatOrArray",
    "fraction",
    "not_negative",
    "plain",
    "positive",
    "temperature",
    "within",
]

FloatOrArray = float | npt.NDArray[np.float64]


def positive(name: str, value: FloatOrArray, *, infinite: bool = False) -> npt.NDArray[np.float64]:
    """Take `value` as an array of numbers above zero; nan (unknown) may pass, infinity only where allowed."""
    return within(name, value, ABOVE_ZERO if infinite else POSITIVE)


def not_negative(name: str, value: FloatOrArray) -> npt.NDArray[np.float64]:
    """Take `value` as an array of finite numbers from zero up; nan (unknown) may pass."""
    return within(name, value, NOT_NEGATIVE)


def fraction(name: str, value: FloatOrArray, *, below_one: bool = False) -> npt.NDArray[np.float64]:
    """Take `value` as an array of fractions from 0 to 1 (1 itself refused where `below_one`)."""
    return within(name, value, SHARE_BELOW_ONE if below_one else SHARE)


def temperature(name: str, value: FloatOrArray) -> npt.NDArray[np.float64]:
    """Take `value` as an array of finite temperatures in °C above absolute zero."""
    return within(name, value, TEMPERATURE)


def within(name: str, value: FloatOrArray, bounds: Bounds) -> npt.NDArray[np.float64]:
    """Take `value` as an array of numbers within `bounds`; nan (unknown) may pass."""
    try:
        array = np.asarray(value, dtype=np.float64)
    except (TypeError, ValueError) as error:
        raise no_number(name, value) from error
    for bound in bounds:
        bad = bound.broken(array)
        if np.any(bad):
            first = int(np.flatnonzero(bad)[0])
            which = name if array.ndim == 0 else f"{name}, value {first + 1} of {array.size}"
            raise impossible(which, array.flat[first], bound)
    return array
