"""One cell of a supplier's table → values in SI with their conditions, or a reason why not.

A cell is a run of values and conditions in some order: ``12 mΩ @ VGS=4.5 V, ID=20 A``,
``8,2 mΩ bei 10 V; 11,5 mΩ bei 4,5 V``, ``68 A [case]/9 A [amb]``, ``4.5 V: 12 mΩ``. A number in the figure's own
dimension is a value, one in another dimension is a condition. Conditions go to the values before them,
or, where the cell begins with a condition, to the values after them. What is left unexplained
refuses the cell: a figure half understood is worse than none.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache
from typing import NamedTuple

from loadworthy.catalog.families import Figure, words
from loadworthy.catalog.grammar import CellRefusal, Grammar, Value, applied
from loadworthy.catalog.scanning import scan
from loadworthy.quantities import show
from loadworthy.quantities.numbers import DecimalMark, read_number
from loadworthy.quantities.text import tidy
from loadworthy.quantities.units import GAUGES, gauges_as_areas, scale

__all__ = ["Reading", "Refused", "hot", "is_missing", "read_cell"]

#: The dimensions that test conditions come in, beside the figure's own.
_CONDITIONS = ("V", "A", "degC", "m2", "s", "Hz", "m/s")
#: Dimensions whose bare number can only be in the SI unit: nobody writes a VDS of 30 and means 30 mV.
_BARE = {"V": "V", "A": "A", "W": "W", "K/W": "K/W", "degC": "°C", "1": ""}
_PLAIN = re.compile(r"(?P<number>\d+(?:[.,]\d+)*)(?: ?(?P<unit>[^\W\d_Ω][^\s\d@,;]{0,6}|Ω|°C))?")
_ANNOUNCED = re.compile(r"[(\[]?(?P<names>(?:min|typ|max)\.?(?:\s?/\s?(?:min|typ|max)\.?)+)[)\]]?:?", re.IGNORECASE)
#: A mark with three digits behind it.
_DOUBTFUL = re.compile(r"(?<![\d.,])[1-9]\d{0,2}[.,]\d{3}(?![\d.,])")
#: Marks behind a cell that point to a note: ``12 *``, ``14 1)``, ``8 [2]``.
_FOOTNOTE = re.compile(r"(?:\s*[*†‡]+|\s+\d\)|(?:(?<=\d)|\s)[¹²³⁴-⁹]\)|\s*\[\d\])+\s*$")
_OWN_SYMBOL = re.compile(r"\s*(?P<name>[A-Za-zθΘ][A-Za-zθΘ()_.\-]{0,13})\s*[=:]?\s*(?=[-+±≤≥<>–−]?\s?[\d.])")
#: Volts that alternate, and volts and amperes that do not, where a figure keeps them apart.
_ALTERNATING = re.compile(r"V\s?(?:AC|ac|~)(?![A-Za-z])")
_STEADY = re.compile(r"([VA])\s?(?:DC|dc|⎓)(?![A-Za-z])")
_ROOM_DEGC = 30.0
#: One length in mm and in inches, each rounded: 5.00 mm (0.197 in).
_ROUNDED = 5e-3


class Reading(NamedTuple):
    """One value that a cell gives, in SI, with what it says about it."""

    value: float
    statistic: str | None = None
    gate_v: float | None = None
    degc: float | None = None
    place: str | None = None
    amps: float | None = None
    board: str | None = None
    flow: float | None = None


@dataclass(frozen=True, slots=True)
class Refused:
    """Why a cell is not taken."""

    reason: str


def is_missing(text: str | None) -> bool:
    """Say whether a cell means that nothing is given: empty, a dash, ``n.a.`` and the like.

    Examples
    --------
    >>> is_missing(" — "), is_missing("N/A"), is_missing("0")
    (True, True, False)
    """
    return text is None or tidy(text).casefold() in words().missing


def read_cell(
    text: str | None,
    figure: Figure,
    *,
    decimal: DecimalMark = ".",
    unit: str | None = None,
    statistic: str | None = None,
    gate_v: float | None = None,
    degc: float | None = None,
    place: str | None = None,
    flow: float | None = None,
    amps: float | None = None,
    marks_settled: bool = True,
) -> tuple[Reading, ...] | Refused | None:
    """Read one cell of a column.

    Parameters
    ----------
    text
        The cell as the file has it.
    figure
        What the column holds.
    decimal
        The decimal mark of the file.
    unit, statistic, gate_v, degc, place, flow, amps
        What the heading says and the cell need not repeat. ``statistic`` may be ``"typ/max"`` where the
        heading announces several values in that order. The cell's own word wins.

    marks_settled
        False where nobody but the file itself speaks for its decimal mark: a bare ``1,500`` is then refused.

    Returns
    -------
    tuple of Reading, Refused or None
        The values in SI units; the reason why the cell is not taken; None where it says that nothing is given.

    Examples
    --------
    >>> from loadworthy.catalog import families
    >>> rds_on = families.load("transistor").figure("rds_on")
    >>> [(r.value, r.gate_v) for r in read_cell("8,2 mΩ bei 10 V; 11,5 mΩ bei 4,5 V", rds_on, decimal=",")]
    [(0.0082, 10.0), (0.0115, 4.5)]
    >>> read_cell("12 MΩ", rds_on).reason
    '12 MΩ is outside what on-resistance can be here (100 µΩ to 1 kΩ)'
    """
    if is_missing(text) or text is None:
        return None
    if figure.kind == "choice":
        return _read_choice(text, figure)
    try:
        text = _written(_FOOTNOTE.sub("", text), figure, decimal, unit)
        if not marks_settled:
            _check_marks(text, figure, decimal)
        text, announced = _announced(text)
        statistic = announced or statistic
        if statistic and "/" in statistic:  # "187 (234)" under a heading that announces typ and max
            text = re.sub(r"\(\s*(\d[\d.,]*)\s*\)", r"/ \1", text)
        values = _plain(text, figure, decimal) or _grammar(text, figure, decimal)
        values = _with_units(values, figure, unit)
        readings = tuple(
            Reading(
                value.number,
                value.statistic,
                gate_v if value.gate_v is None else value.gate_v,
                degc if value.degc is None else value.degc,
                place if value.place is None else value.place,
                amps if value.amps is None else value.amps,
                value.board,
                flow if value.flow is None else value.flow,
            )
            for value in _with_statistics(_with_signs(values, figure), statistic)
        )
        _check(readings, figure)
    except CellRefusal as refusal:
        return Refused(str(refusal))
    return readings


def _written(text: str, figure: Figure, decimal: DecimalMark, unit: str | None) -> str:
    """Write gauges as areas, set "AC" and "DC" apart from their volts, and leave out nouns: ``12-way`` is 12."""
    if figure.unit == "m2":
        return gauges_as_areas(text, decimal=decimal, bare=unit in GAUGES)
    if "ac" in figure.places:
        text = _STEADY.sub(r"\1 direct current", _ALTERNATING.sub("V ac", text))
    return _nouns(figure).sub("", text) if figure.nouns else text


@cache
def _nouns(figure: Figure) -> re.Pattern[str]:
    words_of_it = "|".join(re.escape(noun) for noun in sorted(figure.nouns, key=len, reverse=True))
    return re.compile(rf"(?<=\d)[\s-]*(?:{words_of_it})\b\.?|\b(?:{words_of_it})[\s:=]+(?=\d)", re.IGNORECASE)


def _check_marks(text: str, figure: Figure, decimal: DecimalMark) -> None:
    """``1,500`` in a file with decimal points: hardly anybody parts thousands of amperes or milliohms."""
    if figure.unit == "F":
        return
    doubtful = _DOUBTFUL.fullmatch(text.strip())
    if doubtful and decimal not in doubtful.group():
        raise CellRefusal(f"{doubtful.group()!r} may be with a decimal mark or with a mark of thousands")


def _plain(text: str, figure: Figure, decimal: DecimalMark) -> list[Value] | None:
    """Read ``12.5`` and ``12.5 mΩ`` without the grammar: nearly all cells are of this kind."""
    match = _PLAIN.fullmatch(text)
    if match is None:
        return None
    number = read_number(match["number"], decimal=decimal)
    if number is None:
        return None
    unit = match["unit"]
    if unit is None:
        return [Value(number, "", "", known=False)]
    known = scale(unit, figure.unit)
    return None if known is None else [Value(known.apply(number), "", unit, known=True)]


def _announced(text: str) -> tuple[str, str | None]:
    """Take ``typ/max`` out of ``9.5/12 mΩ (typ/max)``: it names the values in their order."""
    match = _ANNOUNCED.search(text)
    if match is None:
        return text, None
    small = words().statistic
    named = [small[word.rstrip(".").lower()] for word in re.split(r"\s?/\s?", match["names"])]
    return f"{text[: match.start()]} {text[match.end() :]}", "/".join(named)


def _without_symbol(text: str, figure: Figure) -> str:
    """Take the figure's own symbol off the front: ``RDS(on) = 12 mΩ``."""
    match = _OWN_SYMBOL.match(text)
    if match is None:
        return text
    name = _compact(match["name"])
    return text[match.end() :] if name and name in _own_names(figure) else text


def _compact(text: str) -> str:
    return re.sub(r"[\W_]", "", text.casefold())


@cache
def _own_names(figure: Figure) -> frozenset[str]:
    return frozenset(map(_compact, figure.letters))


def _grammar(text: str, figure: Figure, decimal: DecimalMark) -> list[Value]:
    text = _without_symbol(text, figure)
    dimensions = (figure.unit, *(name for name in _CONDITIONS if name != figure.unit))
    return Grammar(figure, scan(text, decimal=decimal, dimensions=dimensions)).read()


def _with_units(values: list[Value], figure: Figure, unit: str | None) -> list[Value]:
    """Give bare numbers the unit of the value after them, else the heading's, else the only one there is."""
    later: str | None = None
    for value in reversed(values):
        if value.known:
            later = value.unit if value.unit != "code" else None
            continue
        written = later or unit or _BARE.get(figure.unit)
        if written is None:
            raise CellRefusal("neither the cell nor the heading gives a unit")
        value.number, value.known = applied(value.number, tidy(written), figure.unit), True
        if value.sign == "-" and figure.unit == "degC":
            value.number = -abs(value.number)
    return values


def _with_signs(values: list[Value], figure: Figure) -> list[Value]:
    if figure.unit == "degC":
        if len(values) == 2 and values[0].sign == "-" and values[1].number > 0:  # −55/+175 °C
            values[0].statistic, values[1].statistic = "min", values[1].statistic or "max"
        return values
    signs = {value.sign for value in values}
    both = "-" in signs and len(values) > 1 and signs != {"-"}
    for value in values:
        if value.sign == "-":
            if not figure.magnitude:
                raise CellRefusal(f"it is negative; {figure.title} cannot be")
            value.number = -abs(value.number) if both else abs(value.number)
    return _in_order(values, figure)


def _in_order(values: list[Value], figure: Figure) -> list[Value]:
    """A minimum above its maximum is a slip, but for −2.5…−1 V, whose size runs from 1 to 2.5 V."""
    least = [value for value in values if value.statistic == "min"]
    most = [value for value in values if value.statistic == "max"]
    if least and most and least[0].sign == "-" != most[0].sign:
        for value in (*least, *most):  # −20…+12 V are two ratings
            value.statistic = None
        return values
    if len(least) == len(most) == 1 and abs(least[0].number) > abs(most[0].number):
        if not (least[0].sign == most[0].sign == "-"):
            raise CellRefusal(f"the minimum of {figure.title} is above its maximum")
        least[0].statistic, most[0].statistic = "max", "min"
    return values


def _with_statistics(values: list[Value], statistic: str | None) -> list[Value]:
    """Let the heading's statistic hold for values that have none of their own."""
    announced = statistic.split("/") if statistic else []
    bare = [value for value in values if value.statistic is None]
    if len(announced) > 1:
        if len(announced) != len(values) and bare:
            raise CellRefusal(f"the heading announces {statistic}, the cell holds {len(values)} value(s)")
        for value, one in zip(values, announced, strict=False):
            value.statistic = value.statistic or one
    elif announced:
        for value in bare:
            value.statistic = announced[0]
    return values


def _check(readings: tuple[Reading, ...], figure: Figure) -> None:
    for reading in readings:
        _check_plausible(reading, figure)
    values = [reading.value for reading in readings]
    if figure.single and max(values) - min(values) > _ROUNDED * max(map(abs, values)):
        raise CellRefusal(f"it gives several values; a part has one {figure.title}")


def _check_plausible(reading: Reading, figure: Figure) -> None:
    kept = figure.keeps_statistics
    if reading.statistic == "min" and kept and "min" not in kept:
        return  # −55 of "−55…175 °C" is not a figure that anybody keeps
    low, high = figure.plausible
    size = abs(reading.value) if figure.magnitude else reading.value
    if not low <= size <= high:
        given, least, most = (show(number, figure.unit) for number in (reading.value, low, high))
        raise CellRefusal(f"{given} is outside what {figure.title} can be here ({least} to {most})")


def _read_choice(text: str, figure: Figure) -> tuple[Reading, ...] | Refused:
    """Read a cell that names one of a few kinds; the value is its place in the list of kinds."""
    cell = re.sub(r"[^\w+]+", " ", tidy(text)).strip().casefold()
    barred = next((reason for word, reason in figure.barred.items() if word in cell.split()), None)
    if barred:
        if figure.barred_as is None:
            return Refused(barred)
        return (Reading(float(list(figure.choices).index(figure.barred_as))),)
    # A longer spelling says more than one within it: "fine stranded" is not stranded as well.
    pattern, kinds_of = _spellings(figure)
    found = {kinds_of[match.group()] for match in pattern.finditer(cell)}
    if len(found) == 1:
        return (Reading(float(found.pop())),)
    kinds = ", ".join(figure.choices)
    return Refused(f"it names {'more than one' if found else 'none'} of the kinds of {figure.title} ({kinds})")


@cache
def _spellings(figure: Figure) -> tuple[re.Pattern[str], dict[str, int]]:
    """Return what finds the spellings of a figure's kinds, the longest first, and the place of each one's kind."""
    kinds_of = {spelling: index for index, every in enumerate(figure.choices.values()) for spelling in every}
    longest_first = sorted(kinds_of, key=len, reverse=True)
    return re.compile(rf"(?<!\w)(?:{'|'.join(map(re.escape, longest_first))})(?!\w)"), kinds_of


def hot(reading: Reading) -> bool:
    """Say whether a reading holds for a hot part and not for about 25 °C.

    Examples
    --------
    >>> hot(Reading(40.0, degc=100.0)), hot(Reading(40.0, degc=25.0)), hot(Reading(40.0))
    (True, False, False)
    """
    return reading.degc is not None and reading.degc > _ROOM_DEGC
