"""The text of a cell or of a heading → tokens: numbers with their units, small words, marks.

A scanner knows which dimensions can occur (the figure's own, and those of its test conditions), because
``C`` is a coulomb in a charge and a degree in a temperature, and ``m`` is milli before an ohm.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from typing import Literal

from loadworthy.catalog.families import words
from loadworthy.quantities import letter_code
from loadworthy.quantities.numbers import NUMBER, DecimalMark, decimal_mark_of, read_number
from loadworthy.quantities.text import tidy
from loadworthy.quantities.units import dimension_of, scale

__all__ = ["Token", "scan", "unit_at"]

Kind = Literal["number", "statistic", "place", "at", "symbol", "unit", "mark", "word", "bad"]

_NUMBER = re.compile(NUMBER)
_CODE = re.compile(r"\d*[A-Za-zµ]\d+[A-Za-zΩ]*(?![\w.,]*\d)")
_WORD = re.compile(r"[^\W\d_]+(?:-[^\W\d_]+)*\.?")
_UNIT_WORD = re.compile(r"[^\s\d;,()\[\]@=<>≤≥±…~+:|]{1,8}")
_RANGE = re.compile(r"…|\.{2,}|~|–|—|-(?=\s?[\d.,])|\bto\b|\bbis\b|÷")
_PLUS_MINUS = re.compile(r"±|\+\s?/\s?-|\+-")
_BOUND = re.compile(r"≤|≥|<=|>=|=<|⩽|⩾|<|>")
_AND = ("and", "und")
#: Letter symbols of test conditions, and what a figure after one of them is.
_SYMBOLS: Mapping[str, str] = {
    "VGS": "gate", "UGS": "gate", "VG": "gate", "VGE": "gate", "VDS": "drain", "UDS": "drain", "VDD": "drain",
    "ID": "amps", "IDS": "amps", "IS": "amps", "IF": "amps", "TJ": "degc", "TVJ": "degc", "TL": "degc",
    "T": "degc", "F": "other",
}  # fmt: skip
_SYMBOL = re.compile(
    r"(VGS|UGS|VGE|VG|VDS|UDS|VDD|IDS|ID|IS|IF|TVJ|TJ|TL|T|F)(\(\w+\))?(?![A-Za-z])\s*(=?)", re.IGNORECASE
)


@dataclass(frozen=True, slots=True)
class Token:
    """One piece of a text; what ``value``, ``meaning`` and ``unit`` hold depends on its kind."""

    kind: Kind
    text: str
    meaning: str = ""
    value: float = 0.0
    sign: str = ""
    dimension: str | None = None


@cache
def _vocabulary() -> re.Pattern[str]:
    """All small words as one pattern, the longest first, whole words only."""
    small = words()
    every: Iterable[str] = {*small.statistic, *small.place, *small.condition}
    alternatives = "|".join(re.escape(word) for word in sorted(every, key=len, reverse=True))
    return re.compile(rf"(?:{alternatives})(?![^\W\d_])\.?", re.IGNORECASE)


def unit_at(text: str, position: int, dimensions: tuple[str, ...]) -> tuple[str, str] | None:
    """Find the longest unit of one of the dimensions that stands at a position.

    Returns
    -------
    (str, str) or None
        The unit's text and its dimension.

    Examples
    --------
    >>> unit_at("12 max mΩ", 7, ("ohm",)), unit_at("1 V min", 2, ("V",))
    (('mΩ', 'ohm'), ('V', 'V'))
    """
    return _unit_in(text[position : position + 14], dimensions)


@cache
def _unit_in(rest: str, dimensions: tuple[str, ...]) -> tuple[str, str] | None:
    for length in range(min(len(rest), 13), 0, -1):
        if length < len(rest) and (rest[length].isalpha() or rest[length] in "Ω°µ"):
            continue
        if rest[length - 1] in " .":
            continue
        found = dimension_of(rest[:length], dimensions)
        if found is not None:
            return rest[:length], found
    return None


def _number(
    text: str, position: int, sign: str, decimal: DecimalMark | None, dimensions: tuple[str, ...]
) -> tuple[Token, int] | None:
    """Read the number at a position together with the unit that follows it."""
    match = _NUMBER.match(text, position)
    if match is None:
        return None
    digits, end = match.group(), match.end()
    mark = decimal or decimal_mark_of(digits) or "."
    value = read_number(digits, decimal=mark)
    if value is None:
        return Token("bad", digits, f"{digits!r} does not fit the decimal mark {mark!r} of this file"), end
    start = end + 1 if text[end : end + 1] == " " else end
    found = unit_at(text, start, dimensions)
    if found is None:
        return Token("number", digits, value=value, sign=sign), end
    unit, dimension = found
    factor = scale(unit, dimension)
    applied = factor.apply(-value if sign == "-" else value) if factor else value
    token = Token("number", f"{digits} {unit}", unit, abs(applied) if dimension != "degC" else applied, sign, dimension)
    return token, start + len(unit)


def _letter_code(text: str, position: int, dimensions: tuple[str, ...]) -> tuple[Token, int] | None:
    match = _CODE.match(text, position)
    if match is None:
        return None
    for dimension in dimensions:
        value = letter_code(match.group(), dimension)
        if value is not None:
            return Token("number", match.group(), "code", value, "", dimension), match.end()
    return None


def _signed(text: str, position: int) -> tuple[str, int]:
    """Take a sign that belongs to the number after it."""
    plus_minus = _PLUS_MINUS.match(text, position)
    if plus_minus:
        end = plus_minus.end()
        return "±", end + (text[end : end + 1] == " ")
    if text[position] in "+-–" and re.match(r"\s?[\d.,]", text[position + 1 :]):
        return text[position].replace("–", "-"), position + 1 + (text[position + 1] == " ")
    return "", position


def _small_word(text: str, position: int) -> tuple[Token, int] | None:
    match = _vocabulary().match(text, position)
    if match is None:
        return None
    word = match.group().rstrip(".").lower()
    small = words()
    if word in small.statistic:
        return Token("statistic", match.group(), small.statistic[word]), match.end()
    if word in small.place:
        return Token("place", match.group(), small.place[word]), match.end()
    return Token("at", match.group()), match.end()


def _symbol(text: str, position: int) -> tuple[Token, int] | None:
    match = _SYMBOL.match(text, position)
    if match is None or (len(match.group(1)) == 1 and not match.group(3)):
        return None
    return Token("symbol", match.group().strip(), _SYMBOLS[match.group(1).upper()]), match.end()


def scan(text: str, *, decimal: DecimalMark | None, dimensions: tuple[str, ...]) -> list[Token]:
    """Split a text into tokens.

    Parameters
    ----------
    text
        A cell or a heading, as the file has it; a line break parts like a semicolon.
    decimal
        The file's decimal mark; None lets each number speak for itself (a heading).
    dimensions
        The dimensions that can occur, the likeliest first.

    Returns
    -------
    list of Token
        In the order of the text. What is not understood is a token of kind ``word`` or ``bad``.

    Examples
    --------
    >>> [token.kind for token in scan("12 mΩ @ VGS=4.5 V", decimal=".", dimensions=("ohm", "V"))]
    ['number', 'at', 'symbol', 'number']
    """
    text = " ; ".join(tidy(line) for line in text.splitlines() if line.strip()) if "\n" in text else tidy(text)
    tokens: list[Token] = []
    position = 0
    while position < len(text):
        if text[position] == " ":
            position += 1
            continue
        token, position = _next(text, position, tokens, decimal, dimensions)
        tokens.append(token)
    return tokens


def _next(
    text: str, position: int, before: list[Token], decimal: DecimalMark | None, dimensions: tuple[str, ...]
) -> tuple[Token, int]:
    after_number = bool(before) and before[-1].kind == "number"
    if after_number or (len(before) > 1 and before[-1].kind == "statistic" and before[-2].kind == "number"):
        between = _RANGE.match(text, position)
        if between:
            return Token("mark", between.group(), "range"), between.end()
    bound = _BOUND.match(text, position)
    if bound:
        meaning = "max" if bound.group()[0] in "≤<⩽=" else "min"
        return Token("mark", bound.group(), meaning), bound.end()
    sign, start = _signed(text, position)
    found = _letter_code(text, start, dimensions) or _number(text, start, sign, decimal, dimensions)
    if found:
        return found
    found = _small_word(text, position) or _symbol(text, position)
    if found:
        return found
    unit = unit_at(text, position, dimensions)
    if unit:
        return Token("unit", unit[0], dimension=unit[1]), position + len(unit[0])
    word = _WORD.match(text, position) or _UNIT_WORD.match(text, position)
    if word and word.group().lower() in _AND:
        return Token("mark", ","), word.end()
    if word and text[position] not in "/":
        return Token("word", word.group()), word.end()
    return Token("mark", text[position], text[position]), position + 1
