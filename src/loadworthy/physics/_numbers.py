"""One number and an array of them treated alike: what a formula may be given, what it refuses, what it gives.

One number takes no numpy, which loads slower than all else that a short question needs.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import TYPE_CHECKING, Any, Final, NamedTuple, TypeAlias

from loadworthy.errors import UsageError

if TYPE_CHECKING:
    from loadworthy.physics._values import FloatOrArray

__all__ = [
    "ABOVE_ZERO",
    "ABSOLUTE_ZERO_DEGC",
    "NOT_NEGATIVE",
    "POSITIVE",
    "SHARE",
    "SHARE_BELOW_ONE",
    "TEMPERATURE",
    "Bounds",
    "given",
    "impossible",
    "no_number",
    "plain",
    "where",
]

ABSOLUTE_ZERO_DEGC = -273.15


class Bound(NamedTuple):
    """What an input must be, in words, and a test of whether it is not, of a number or of each in an array.

    An unknown input, nan, breaks none.
    """

    words: str
    broken: Callable[[Any], Any]


#: Bounds in the order in which they are held against an input.
Bounds: TypeAlias = tuple[Bound, ...]

_FINITE: Final = Bound("it must be finite", lambda value: abs(value) == math.inf)

ABOVE_ZERO: Final[Bounds] = (Bound("it must be above zero", lambda value: value <= 0.0),)
POSITIVE: Final[Bounds] = (*ABOVE_ZERO, _FINITE)
NOT_NEGATIVE: Final[Bounds] = (Bound("it must not be negative", lambda value: value < 0.0), _FINITE)
SHARE: Final[Bounds] = (Bound("it must lie from 0 to 1", lambda value: (value < 0.0) | (value > 1.0)),)
SHARE_BELOW_ONE: Final[Bounds] = (
    Bound("it must be at least 0 and below 1", lambda value: (value < 0.0) | (value >= 1.0)),
)
TEMPERATURE: Final[Bounds] = (
    Bound("it must be above absolute zero, -273.15 °C", lambda value: value <= ABSOLUTE_ZERO_DEGC),
    _FINITE,
)


def given(name: str, value: FloatOrArray, bounds: Bounds) -> FloatOrArray:
    """Take `value` as it is, one number or an array, within `bounds`; nan (unknown) may pass."""
    if not isinstance(value, float | int):
        from loadworthy.physics._values import within  # noqa: PLC0415 - only an array needs numpy, which is slow to load

        return within(name, value, bounds)
    number = float(value)
    for bound in bounds:
        if bound.broken(number):
            raise impossible(name, number, bound)
    return number


def plain(value: FloatOrArray) -> FloatOrArray:
    """Give a scalar result back as a Python float, an array as it is."""
    return value if getattr(value, "ndim", 0) else float(value)


def where(condition: Any, one: FloatOrArray, other: FloatOrArray) -> FloatOrArray:  # noqa: ANN401 - bool or array
    """Give `one` where the condition holds and `other` elsewhere."""
    if isinstance(condition, bool):
        return one if condition else other
    import numpy as np  # noqa: PLC0415 - as above

    return np.where(condition, one, other)


def impossible(name: str, value: float, bound: Bound) -> UsageError:
    """Say that a number breaks a bound."""
    return UsageError(
        f"{value:g} is impossible: {bound.words}.",
        where=name,
        way_out="Check the figure, its sign and its unit.",
    )


def no_number(name: str, value: object) -> UsageError:
    """Say that an input is not a number at all."""
    return UsageError(
        f"{value!r} is no number.",
        where=name,
        way_out="Give a number or an array of numbers in SI units.",
    )
