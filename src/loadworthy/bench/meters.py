"""Meters as their data sheets say them, and readings as people type them: the last digit typed is a count."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import Final

from loadworthy.bench.combining import Reading
from loadworthy.errors import QuantityError, UsageError
from loadworthy.needs.base import measured
from loadworthy.physics import measurement
from loadworthy.quantities import si
from loadworthy.quantities.numbers import NUMBER
from loadworthy.quantities.text import tidy

__all__ = ["ASSUMED_METER", "Meter", "Typed", "digits_note", "read_meter", "typed", "typed_step"]

_METER: Final = re.compile(
    r"±? ?\(?(?P<share>\d+(?:[.,]\d+)?) ?%(?: ?(?:of|v\.) ?(?:reading|rdg|mw))?"
    r"(?: ?\+ ?(?P<counts>\d+(?:[.,]\d+)?) ?(?:counts?|digits?|dgts?|d)?)?(?: of (?P<step>[^)]+))?\)?",
    re.IGNORECASE,
)
_EXPONENT: Final = re.compile(r"(?:[eE]|\s?[x×·*]\s?10\^?)[-+]?\d+$")
_MOST_SHARE: Final = 0.5
_MOST_OF_IT: Final = 0.5
_COARSE: Final = 0.01


@dataclass(frozen=True, kw_only=True)
class Meter:
    """A meter's accuracy: a fraction of the reading, and counts of its last digit.

    Attributes
    ----------
    accuracy, counts
        As its data sheet says them.
    step
        One count in SI units; None where the last digit that was typed is one.
    assumed
        Whether nobody said which meter it was.
    """

    accuracy: float
    counts: float
    step: float | None = None
    assumed: bool = False

    @property
    def words(self) -> str:
        """The accuracy as a data sheet writes it."""
        return f"{100.0 * self.accuracy:g} % + {self.counts:g} counts"


#: A hand-held meter on its direct-current ranges (common practice).
ASSUMED_METER: Final = Meter(accuracy=0.005, counts=3.0, assumed=True)


@dataclass(frozen=True, kw_only=True)
class Typed:
    """One reading as typed: its value, what one count of the meter is, and its standard uncertainty."""

    value: float
    step: float
    reading: Reading
    said: tuple[str, ...]


def read_meter(name: str, text: str | None, unit: str) -> Meter:
    """Read a meter's accuracy.

    Parameters
    ----------
    name
        The option that it is from.
    text
        Such as ``0.5%+3`` or ``0.5% + 3 of 0.1mV``; None where nobody said it.
    unit
        The SI unit of what it reads.

    Raises
    ------
    UsageError
        It is no accuracy.

    Examples
    --------
    >>> meter = read_meter("volt_meter", "0.5% + 3 of 0.1mV", "V")
    >>> meter.words, meter.step
    ('0.5 % + 3 counts', 0.0001)
    """
    if text is None:
        return ASSUMED_METER
    where = "--" + name.replace("_", "-")
    match = _METER.fullmatch(tidy(text))
    if match is None:
        raise UsageError(
            f"{text!r} is no accuracy of a meter.",
            where=where,
            way_out='Write it as its data sheet does: 0.5%+3 is 0.5 % of the reading and 3 counts; "0.5%+3 of 0.1mV" '
            "says what a count is.",
        )
    share = float(match["share"].replace(",", ".")) / 100.0
    if share > _MOST_SHARE:
        raise UsageError(f"{text!r} is no meter to measure with.", where=where, way_out="Check the percentage.")
    step = None
    if match["step"]:
        step = measured(name, match["step"], unit, above=0.0)
    return Meter(accuracy=share, counts=float((match["counts"] or "0").replace(",", ".")), step=step)


def typed(name: str, text: str, unit: str, meter: Meter, *, above: float = 0.0, most: float = math.inf) -> Typed:
    """Read what a meter showed.

    Parameters
    ----------
    name
        The option that it is from.
    text
        The reading with its unit.
    unit
        Its SI unit.
    meter
        What showed it.
    above, most
        Bounds in the unit.

    Raises
    ------
    QuantityError
        It is no such quantity, or cannot be.

    Examples
    --------
    >>> shown = typed("drop", "96mV", "V", ASSUMED_METER)
    >>> shown.value, shown.step, round(1e3 * shown.reading.standard, 2)
    (0.096, 0.001, 2.01)
    """
    value = measured(name, text, unit, above=above, most=most)
    said = []
    step = meter.step
    if step is None:
        step = typed_step(text, unit)
        if meter.counts:
            said.append(f"one count of the meter is the last digit typed in {' '.join(text.split())}")
    if meter.assumed:
        said.append(f"the meter is good for {meter.words} (common practice for a hand-held one)")
    standard = measurement.meter_uncertainty(reading=value, accuracy=meter.accuracy, counts=meter.counts, step=step)
    return Typed(value=value, step=step, reading=Reading(value=value, standard=float(standard)), said=tuple(said))


def digits_note(text: str, shown: Typed, share: float) -> tuple[str, ...]:
    """Say where the digits that were typed, and not the meter, make the most of an uncertainty.

    Parameters
    ----------
    text, shown
        The reading as typed, and as read.
    share
        Its share of the variance.
    """
    if share < _MOST_OF_IT or shown.step < _COARSE * shown.value or not any("last digit" in one for one in shown.said):
        return ()
    return (
        f"most of the uncertainty is the last digit of {' '.join(text.split())}: type all the digits that the meter "
        "showed, its zeros too",
    )


def typed_step(text: str, unit: str) -> float:
    """Say what one count of the last digit that somebody typed is, in SI units.

    Raises
    ------
    QuantityError
        The text is no such quantity.

    Examples
    --------
    >>> typed_step("96mV", "V"), typed_step("96.0mV", "V"), typed_step("1R65", "ohm"), typed_step("4E-3 ohm", "ohm")
    (0.001, 0.0001, 0.01, 0.001)
    """
    plain = tidy(text)
    found = re.search(NUMBER, plain)
    if found is None:
        raise QuantityError(f"{text!r} is not a quantity.", way_out="Write a number with its unit.")
    end = found.end()
    exponent = _EXPONENT.search(found.group())
    if exponent:
        end = found.start() + exponent.start()
    # 1R65: the digits go on behind the letter that stands for the point.
    behind = re.match(r"[RLKkMGmµunpVAFWCH](\d+)", plain[end:])
    if behind and not exponent:
        end += behind.end()
    last = int(plain[end - 1])
    other = f"{plain[: end - 1]}{last - 1 if last == 9 else last + 1}{plain[end:]}"
    return float(f"{abs(si(other, unit) - si(plain, unit)):.6g}")
