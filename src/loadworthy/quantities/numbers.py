"""A written number → its value: decimal marks, thousands marks, exponents.

The decimal mark is a property of the file, not of the cell, so it is always given. Where it is not
known (a quantity typed by a person), :func:`decimal_mark_of` says what one text shows by itself.
"""

from __future__ import annotations

import re
from functools import cache
from typing import Literal, TypeAlias

__all__ = ["NUMBER", "DecimalMark", "decimal_mark_of", "read_number"]

DecimalMark: TypeAlias = Literal[".", ","]

#: A number as it stands in a text: digits with marks between them, perhaps an exponent. The sign is left
#: to the reader of the text, since a hyphen between two numbers is a range and not a sign.
NUMBER = (
    r"(?:\d{1,3}(?:[ '’]\d{3})+(?:[.,]\d+)?(?!\d)|\d+(?:[.,]\d+)*|(?<![^\s=<>≤≥±@:(\[/+-])[.,]\d+)"
    r"(?:[eE][-+]?\d+(?!\d)|\s?[x×·*]\s?10\^?[-+]?\d+)?"
)

_EXPONENT = re.compile(r"(?:[eE]|\s?[x×·*]\s?10\^?)([-+]?\d+)$")


@cache
def _grouped(mark: DecimalMark) -> re.Pattern[str]:
    other = re.escape("," if mark == "." else ".")
    point = re.escape(mark)
    return re.compile(
        rf"(?P<whole>[1-9]\d{{0,2}}(?:{other}\d{{3}})+|[1-9]\d{{0,2}}(?:[ '’]\d{{3}})+|\d*)(?:{point}(?P<part>\d+))?"
    )


def read_number(text: str, *, decimal: DecimalMark) -> float | None:
    """Read one unsigned number.

    Parameters
    ----------
    text
        The digits with their marks, and perhaps an exponent; nothing around them.
    decimal
        The decimal mark of the file: ``"."`` or ``","``.

    Returns
    -------
    float or None
        The value; None where the text does not follow the mark (``"1,5"`` in a file with decimal
        points: neither a decimal nor a group of thousands).

    Examples
    --------
    >>> read_number("12E-3", decimal="."), read_number("1.234,50", decimal=",")
    (0.012, 1234.5)
    >>> read_number("1,5", decimal=".") is None
    True
    """
    power = ""
    exponent = _EXPONENT.search(text)
    if exponent:
        power = "e" + exponent.group(1)
        text = text[: exponent.start()]
    match = _grouped(decimal).fullmatch(text)
    if match is None:
        return None
    whole, part = match.group("whole"), match.group("part")
    if not whole and not part:
        return None
    digits = re.sub(r"\D", "", whole) or "0"
    value = float(f"{digits}.{part or 0}{power}")
    return None if value == float("inf") else value


def decimal_mark_of(text: str) -> DecimalMark | None:
    """Say which decimal mark a written number shows by itself.

    Parameters
    ----------
    text
        One number's digits and marks.

    Returns
    -------
    "." or "," or None
        None where the text fits both (``"12"``, ``"1,500"``, ``"1.500"``).

    Examples
    --------
    >>> decimal_mark_of("0,012"), decimal_mark_of("1,234.5"), decimal_mark_of("2.25")
    (',', '.', '.')
    >>> decimal_mark_of("1,500") is None
    True
    """
    digits = _EXPONENT.sub("", text)
    marks = re.findall(r"[.,]", digits)
    if not marks:
        return None
    last: DecimalMark = "," if marks[-1] == "," else "."
    other: DecimalMark = "." if last == "," else ","
    if len(set(marks)) == 2:
        return last
    if len(marks) > 1:
        return other
    before, after = digits.split(last)
    groups = len(after) == 3 and 1 <= len(before.strip()) <= 3 and not before.startswith("0")
    return None if groups else last
