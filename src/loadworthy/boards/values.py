"""One value of a board file, read as its key says.

Each reader returns what the model holds or raises an error without a place: the reader of the file knows that.
"""

from __future__ import annotations

import re
from itertools import pairwise
from typing import Any, Final

from loadworthy import quantities
from loadworthy.boards.schema import Key
from loadworthy.errors import BoardError, QuantityError
from loadworthy.quantities.text import tidy

__all__ = ["gauge_text", "read_value"]

#: One ounce of copper spread over a square foot (28.35 g on 929 cm² at 8.96 g/cm³: 34.1 µm); the trade's figure for
#: it is 1.37 mil.
_OUNCE_M: Final = 34.8e-6
_OUNCES: Final = re.compile(r"(?P<count>\d+(?:\.\d+)?|½|1/2) ?oz", re.IGNORECASE)
_GAUGE: Final = re.compile(r"(?:(?:AWG|#) ?)?(?:(?P<zeros>[1-4])/0|(?P<number>\d{1,2}))(?: ?AWG)?", re.IGNORECASE)
_LEAST_POINTS: Final = 2
#: No figure of a board, in SI units, lies outside these; what does is a slip, and its square no number any more.
_SMALLEST: Final = 1e-12
_GREATEST: Final = 1e9
_FINEST: Final = 40
_HOTTEST: Final = 300.0


def read_value(key: Key, value: object) -> Any:  # noqa: ANN401 - each shape has its own type
    """Read one value.

    Parameters
    ----------
    key
        What it is to be.
    value
        As the TOML reader gives it.

    Raises
    ------
    BoardError, QuantityError
        It is no such thing, or cannot be.
    """
    return _READERS[key.shape](key, value)


def _quantity(key: Key, value: object) -> float:
    if not isinstance(value, str):
        raise _not_a(key, value, "a quantity with its unit")
    unit = key.unit or "1"
    return _bounded(key, quantities.si(value, unit), value)


def _bounded(key: Key, number: float, value: object) -> float:
    unit = key.unit or "m"
    if number != 0.0 and not _SMALLEST <= abs(number) <= _GREATEST:
        raise QuantityError(f"{value!r} is no figure of a circuit board.", way_out="Check it and its unit.")
    for kept, words, limit in (
        (number > key.above, "above", key.above),
        (number >= key.least, "at least", key.least),
        (number <= key.most, "at most", key.most),
    ):
        if not kept:
            raise QuantityError(
                f"{value!r} cannot be: it must be {words} {quantities.show(limit, unit)}.",
                way_out="Check it and its unit.",
            )
    return number


def _text(key: Key, value: object) -> str:
    if not isinstance(value, str) or not value.strip():
        raise _not_a(key, value, "a text")
    text = " ".join(value.split())
    if not key.choices:
        return text
    folded = {choice.casefold(): choice for choice in key.choices}
    if text.casefold() not in folded:
        raise BoardError(f"{value!r} is none of {', '.join(key.choices)}.", way_out="Write one of them.")
    return folded[text.casefold()]


def _flag(key: Key, value: object) -> bool:
    if not isinstance(value, bool):
        raise _not_a(key, value, "true or false")
    return value


def _count(key: Key, value: object) -> int:
    if not isinstance(value, int) or isinstance(value, bool):
        raise _not_a(key, value, "a whole number")
    if not key.least <= value <= key.most:
        raise BoardError(f"{value} cannot be: it must lie from {key.least:g} to {key.most:g}.", way_out="Check it.")
    return value


def _curve(key: Key, value: object) -> tuple[tuple[float, float], ...]:
    if not isinstance(value, list) or not all(isinstance(pair, list) and len(pair) == 2 for pair in value):
        raise _not_a(key, value, "a list of pairs, each a temperature and a current")
    points = []
    for degrees, amperes in value:
        if not isinstance(degrees, str) or not isinstance(amperes, str):
            raise _not_a(key, [degrees, amperes], "a temperature and a current, each with its unit")
        points.append((quantities.si(degrees, "degC"), quantities.si(amperes, "A")))
        if points[-1][1] > _GREATEST or abs(points[-1][0]) > _HOTTEST:
            raise BoardError(f"{degrees!r}, {amperes!r} is no point of such a curve.", way_out="Check both units.")
    if len(points) < _LEAST_POINTS:
        raise BoardError("a curve has two points at least.", way_out=f"Write it like {key.example}.")
    if any(later[0] <= earlier[0] for earlier, later in pairwise(points)):
        raise BoardError("the temperatures of a curve must rise from point to point.", way_out="Put them in order.")
    if any(amperes < 0.0 for _, amperes in points):
        raise BoardError("a current of the curve is negative.", way_out="Check its sign.")
    return tuple(points)


def _gauge(key: Key, value: object) -> float:
    match = _GAUGE.fullmatch(tidy(value)) if isinstance(value, str) else None
    if match is None:
        raise _not_a(key, value, "an American wire gauge")
    number = float(match["number"]) if match["number"] else 1.0 - float(match["zeros"])
    if number > _FINEST:
        raise BoardError(f"{value!r} is finer than {_FINEST}AWG.", way_out="Check it, or give the area.")
    return number


def gauge_text(number: float) -> str:
    """Write a wire gauge.

    Examples
    --------
    >>> gauge_text(14.0), gauge_text(-1.0)
    ('14AWG', '2/0AWG')
    """
    return f"{number:g}AWG" if number > 0 else f"{1 - number:g}/0AWG"


def _copper(key: Key, value: object) -> float:
    if not isinstance(value, str):
        raise _not_a(key, value, "a thickness")
    match = _OUNCES.fullmatch(tidy(value))
    if match is None:
        return _bounded(key, quantities.si(value, "m"), value)
    count = 0.5 if match["count"] in ("½", "1/2") else float(match["count"])
    return _bounded(key, count * _OUNCE_M, value)


def _not_a(key: Key, value: object, what: str) -> BoardError:
    quoted = key.shape not in ("flag", "count", "curve")
    return BoardError(
        f"{value!r} is not {what}.",
        way_out=f"Write it like {key.name} = " + (f'"{key.example}".' if quoted else f"{key.example}."),
    )


_READERS: Final = {
    "quantity": _quantity,
    "text": _text,
    "flag": _flag,
    "count": _count,
    "curve": _curve,
    "gauge": _gauge,
    "copper": _copper,
}
