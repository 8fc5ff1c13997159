"""Text ⇄ SI numbers: the one place where a unit is understood.

:func:`si` reads what a person typed or a pint quantity, :func:`show` writes a value for a person. The cells
of suppliers' tables are read by :mod:`loadworthy.catalog.cells`, on the same numbers and units.
"""

from __future__ import annotations

import math
import re
from typing import TYPE_CHECKING, TypeAlias

from loadworthy.errors import QuantityError
from loadworthy.quantities.numbers import NUMBER, DecimalMark, decimal_mark_of, read_number
from loadworthy.quantities.text import tidy
from loadworthy.quantities.units import DIMENSIONS, dimension_of, gauges_as_areas, scale

if TYPE_CHECKING:
    import pint

#: A quantity as a user gives it: a text with its unit, or a pint quantity.
Measure: TypeAlias = "str | pint.Quantity[float]"

__all__ = ["Measure", "letter_code", "show", "show_apart", "si"]

_TYPED = re.compile(rf"(?P<sign>[-+]?)\s?(?P<number>{NUMBER})\s?(?P<unit>.*)")
_LETTER_CODE = re.compile(r"(?P<whole>\d*)(?P<letter>[RLKkMGmµunpVAFWCH])(?P<part>\d+)(?P<rest>[A-Za-zΩ]*)")
#: IEC 60062 letters for resistors: R marks ohms, L milliohms; K, M, G thousands and up.
_LETTER_FACTORS = {"R": 1.0, "L": 1e-3, "K": 1e3, "k": 1e3, "M": 1e6, "G": 1e9}
_SMALL = {"m": 1e-3, "µ": 1e-6, "u": 1e-6, "n": 1e-9, "p": 1e-12}
_OWN_LETTER = {"V": "V", "A": "A", "W": "W"}

_EXAMPLES = {
    "V": "12V", "A": "7.5A", "ohm": "1.6ohm or 1R6", "W": "90W", "degC": "40degC", "K/W": "15K/W", "Hz": "20kHz",
    "s": "30ns", "C": "22nC", "F": "1.2nF", "m": "5.08mm", "1": "0.5 or 50%", "K": "25K",
    "m2": "2.5mm2 or 14AWG", "H": "2mH", "kg": "12g", "N·m": "0.5N·m", "ohm/m": "8.28ohm/km", "m/s": "2m/s",
}  # fmt: skip


def letter_code(text: str, dimension: str) -> float | None:
    """Read a value whose unit letter stands for the decimal point (IEC 60062, and ``2V5`` in the same way).

    Parameters
    ----------
    text
        One word, such as ``R012``, ``4R7``, ``2V5``, ``4n7``.
    dimension
        The dimension wanted, named by its SI unit.

    Returns
    -------
    float or None
        The SI value; None where the word is no letter code of that dimension.

    Examples
    --------
    >>> letter_code("R012", "ohm"), letter_code("5L0", "ohm"), letter_code("2V5", "V"), letter_code("4R7", "V")
    (0.012, 0.005, 2.5, None)
    """
    match = _LETTER_CODE.fullmatch(text)
    if match is None:
        return None
    letter, rest = match["letter"], match["rest"]
    factor: float | None = None
    if dimension == "ohm" and letter in _LETTER_FACTORS and rest in ("", "Ω", "R"):
        factor = _LETTER_FACTORS[letter]
    elif letter in _SMALL and (rest or dimension != "ohm"):
        known = scale(letter + rest, dimension) if rest else None
        factor = known.factor if known else (_SMALL[letter] if not rest and dimension in ("F", "C") else None)
    elif _OWN_LETTER.get(letter) == dimension and match["whole"] and not rest:
        factor = 1.0
    if factor is None:
        return None
    value = float(match["whole"] + "." + match["part"])
    return float(f"{value * factor:.12g}")


def _typed_mark(number: str, text: str) -> DecimalMark:
    mark = decimal_mark_of(number)
    if mark is None and "," in number:
        raise QuantityError(
            f"{text!r} can be read with the comma as decimal mark or as thousands mark.",
            way_out=f"Write {number.replace(',', '.')} or {number.replace(',', '')}.",
        )
    return mark or "."


def si(measure: Measure, unit: str) -> float:
    """Read a quantity as people write it, or a pint quantity, as a number in SI units.

    Parameters
    ----------
    measure
        ``"12V"``, ``"1R6"``, ``"1.6 ohm"``, ``"40degC"``, ``"15 K/W"``, ``"20kHz"``, ``"10%"``, or a pint quantity.
    unit
        What is wanted, named by its SI unit: one of ``V A ohm W degC K K/W Hz s C F H J m m2 kg N·m
        ohm/m m/s 1``.

    Returns
    -------
    float
        The value in that unit.

    Raises
    ------
    QuantityError
        The text is no quantity, has no unit, or one of another kind.

    Examples
    --------
    >>> si("12V", "V"), si("1R6", "ohm"), si("10%", "1"), si("1,6 Ω", "ohm")
    (12.0, 1.6, 0.1, 1.6)
    >>> round(si("14AWG", "m2") * 1e6, 3), si("2.5mm2", "m2")
    (2.081, 2.5e-06)
    """
    if unit not in DIMENSIONS:
        raise QuantityError(
            f"{unit!r} is not a unit that Loadworthy reads.", way_out=f"It is one of {', '.join(DIMENSIONS)}."
        )
    if not isinstance(measure, str):
        return _from_pint(measure, unit)
    text = gauges_as_areas(tidy(measure)) if unit == "m2" else tidy(measure)
    code = letter_code(text, unit)
    if code is not None:
        return code
    match = _TYPED.fullmatch(text)
    if match is None:
        raise QuantityError(f"{measure!r} is not a quantity.", way_out=f"Write it like {_EXAMPLES.get(unit, unit)}.")
    number, written = match["number"], match["unit"].strip()
    value = read_number(number, decimal=_typed_mark(number, text))
    if value is None:
        raise QuantityError(
            f"{number!r} in {measure!r} is not a number.",
            way_out=f"Write it like {_EXAMPLES.get(unit, unit)}.",
        )
    if match["sign"] == "-":
        value = -value
    if not written and unit != "1":
        raise QuantityError(
            f"{measure!r} has no unit.", way_out=f"Write it with one, like {_EXAMPLES.get(unit, unit)}."
        )
    known = scale(written, unit)
    result = known.apply(value) if known is not None else _through_pint(value, written, unit, measure)
    if not math.isfinite(result):
        raise QuantityError(f"{measure!r} is not a finite number.", way_out="Write a smaller one.")
    return result


def _through_pint(value: float, written: str, unit: str, measure: str) -> float:
    """Ask pint for a unit that the table does not hold (``hp``, ``thou``, ``BTU/hour``)."""
    if dimension_of(written) is None and re.fullmatch(r"[A-Za-z_°Ωµ/*^ \d.-]{1,40}", written):
        import pint  # noqa: PLC0415 - its registry takes longer to start than most commands

        try:
            quantity = pint.UnitRegistry().Quantity(value, written.replace("°", "deg"))
            return _from_pint(quantity, unit)
        except QuantityError:
            raise
        except Exception as error:  # whatever pint makes of a text it cannot read
            raise _wrong_unit(measure, written, unit) from error
    raise _wrong_unit(measure, written, unit)


def _wrong_unit(measure: object, written: str, unit: str) -> QuantityError:
    return QuantityError(
        f"{str(measure)!r} is given in {written!r}, which is no unit for this figure ({_unit_sign(unit)}).",
        way_out=f"Write it like {_EXAMPLES.get(unit, unit)}; capital and small letters differ (mΩ is not MΩ).",
    )


def _from_pint(measure: pint.Quantity[float], unit: str) -> float:
    if not hasattr(measure, "to") or not hasattr(measure, "magnitude"):
        raise QuantityError(
            f"{measure!r} is a bare number or no quantity at all.",
            way_out=f"Give a text like {_EXAMPLES.get(unit, unit)!r} or a pint quantity.",
        )
    names = {
        "1": "dimensionless",
        "K/W": "kelvin/watt",
        "K": "kelvin",
        "m2": "meter**2",
        "C": "coulomb",
        "F": "farad",
        "H": "henry",
        "kg": "kilogram",
        "N·m": "newton*meter",
        "ohm/m": "ohm/meter",
        "m/s": "meter/second",
    }
    try:
        return float(measure.to(names.get(unit, unit)).magnitude)
    except Exception as error:  # pint's errors have no common base
        raise _wrong_unit(measure, str(getattr(measure, "units", "")), unit) from error


def _unit_sign(unit: str) -> str:
    return {"ohm": "Ω", "degC": "°C", "1": "a ratio", "m2": "m²", "ohm/m": "Ω/m"}.get(unit, unit)


#: Numbers outside these are no figure of anything that can be bought.
_UNCOUNTED = (1e-12, 1e12)
#: Units that people write in another size: cross-sections in mm², masses in grams.
_SHOWN_AS = {"m2": (1e6, "mm²"), "kg": (1e3, "g")}
#: Lengths from here up are written in millimetres: 0.88 mm, but 35 µm.
_LEAST_IN_MM = 1e-4
_ENGINEERING = {-12: "p", -9: "n", -6: "µ", -3: "m", 0: "", 3: "k", 6: "M", 9: "G"}


def show(value: float, unit: str, digits: int = 3) -> str:
    """Write a value for a person, in engineering notation.

    Parameters
    ----------
    value
        The value in SI units.
    unit
        Its unit, named as in :func:`si`.
    digits
        Significant digits.

    Returns
    -------
    str
        The value with unit; temperatures, ratios, K/W, N·m and m/s take no prefix; areas are in mm², masses in g.

    Examples
    --------
    >>> show(0.0125, "ohm"), show(7.5, "A"), show(62, "K/W"), show(22e-9, "C"), show(105.66, "degC")
    ('12.5 mΩ', '7.5 A', '62 K/W', '22 nC', '106 °C')
    """
    sign = "" if unit == "1" else _unit_sign(unit)
    if not math.isfinite(value):
        return f"– {sign}".strip()
    if unit in _SHOWN_AS:
        factor, sign = _SHOWN_AS[unit]
        return f"{_rounded(value * factor, digits)} {sign}"
    if unit == "m" and _LEAST_IN_MM <= abs(value) < 1.0:
        return f"{_rounded(value * 1e3, digits)} mm"
    if unit in ("degC", "K", "K/W", "1", "N·m", "m/s") or value == 0:
        return f"{_rounded(value, digits)} {sign}".strip()
    exponent = math.floor(math.log10(abs(value)) / 3 + 1e-12) * 3
    exponent = min(max(exponent, -12), 9)
    if abs(float(_rounded(value / 10.0**exponent, digits))) >= 1000 and exponent < 9:
        exponent += 3
    return f"{_rounded(value / 10.0**exponent, digits)} {_ENGINEERING[exponent]}{sign}"


def show_apart(one: float, other: float, unit: str) -> tuple[str, str]:
    """Write two values that differ so that they read differently, in three digits where these will do.

    Examples
    --------
    >>> show_apart(6.996, 7.0, "A"), show_apart(6.0, 6.25, "V"), show_apart(7.0, 7.0, "A")
    (('6.996 A', '7 A'), ('6 V', '6.25 V'), ('7 A', '7 A'))
    """
    for digits in (3, 4, 5, 6, 9):
        texts = show(one, unit, digits), show(other, unit, digits)
        if texts[0] != texts[1]:
            return texts
    return show(one, unit), show(other, unit)


def _rounded(value: float, digits: int) -> str:
    """Round to significant digits without losing whole digits; an exponent only where nobody would count zeros."""
    if value == 0:
        return "0"
    if not _UNCOUNTED[0] <= abs(value) < _UNCOUNTED[1]:
        return f"{value:.{digits}g}"
    decimals = max(digits - 1 - math.floor(math.log10(abs(value))), 0)
    text = f"{value:.{decimals}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text
