"""A measured value with its uncertainty against what is claimed: within, outside, or not decided by it."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Any, Final

from loadworthy.quantities import show

__all__ = ["NOT_DECIDED", "OUTSIDE", "WITHIN", "Band", "Finding", "band_words", "overall", "verdict", "weighed"]

WITHIN: Final = "within what is claimed"
OUTSIDE: Final = "outside what is claimed"
NOT_DECIDED: Final = "not decided by this measurement"

_NOTHING_AGAINST: Final = (
    "Nothing measured contradicts the marking; that proves little: a clone can pass, and so can a used part."
)
_NOTHING_DECIDED: Final = "Nothing measured decides for or against the marking."


@dataclass(frozen=True, kw_only=True)
class Band:
    """What is claimed of a figure: bounds, of which either may be missing.

    Attributes
    ----------
    least, most
        The bounds in SI units; None where nothing is claimed on that side.
    said
        Where it is from, and under which conditions it holds.
    assumed
        What it rests on.
    limit
        Whether it is a limit; a typical figure is none, and decides nothing.
    """

    least: float | None = None
    most: float | None = None
    said: str = ""
    assumed: tuple[str, ...] = ()
    limit: bool = True


@dataclass(frozen=True, kw_only=True)
class Finding:
    """One thing that was measured, against what is claimed of it.

    Attributes
    ----------
    name, title
        The figure, for programs and for people.
    unit
        Its SI unit; None for what was only looked at.
    value
        The measured value; None where only a bound of it is known, or it was only looked at.
    uncertainty
        Its expanded uncertainty, k = 2.
    low, high
        The interval in which it lies.
    band
        What is claimed; None where that is not known.
    verdict
        :data:`WITHIN`, :data:`OUTSIDE` or :data:`NOT_DECIDED`.
    shares
        Which share of the variance each reading brings.
    assumed, notes
        What it rests on, and what else is to be said.
    """

    name: str
    title: str
    unit: str | None
    value: float | None
    uncertainty: float | None
    low: float | None
    high: float | None
    band: Band | None
    verdict: str
    shares: dict[str, float] = field(default_factory=dict)
    assumed: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()

    def as_json(self) -> dict[str, Any]:
        """Return it as plain values."""
        band = self.band
        return {
            "name": self.name,
            "title": self.title,
            "unit": self.unit,
            "value": self.value,
            "uncertainty": self.uncertainty,
            "low": self.low,
            "high": self.high,
            "claimed_least": None if band is None else band.least,
            "claimed_most": None if band is None else band.most,
            "claimed_by": None if band is None else band.said,
            "claimed_is_limit": None if band is None else band.limit,
            "verdict": self.verdict,
            "shares": dict(self.shares),
            "assumed": list(self.assumed),
            "notes": list(self.notes),
        }


def verdict(low: float | None, high: float | None, band: Band | None) -> str:
    """Hold an interval against a band.

    Parameters
    ----------
    low, high
        The interval in which the value lies; None where it is not bounded on that side.
    band
        What is claimed.

    Returns
    -------
    str
        Within where the whole interval lies in the band, outside where none of it does, else not decided.

    Examples
    --------
    >>> band = Band(most=8e-3)
    >>> verdict(7e-3, 7.5e-3, band), verdict(7e-3, 8.5e-3, band), verdict(9e-3, 9.5e-3, band)
    ('within what is claimed', 'not decided by this measurement', 'outside what is claimed')
    """
    if band is None or not band.limit or (band.least is None and band.most is None):
        return NOT_DECIDED
    least = -math.inf if band.least is None else band.least
    most = math.inf if band.most is None else band.most
    bottom = -math.inf if low is None else low
    top = math.inf if high is None else high
    if least <= bottom and top <= most:
        return WITHIN
    return OUTSIDE if top < least or bottom > most else NOT_DECIDED


def overall(verdicts: Iterable[str]) -> str:
    """Sum verdicts up: outside where one is, within where all are, else not decided.

    Examples
    --------
    >>> overall([WITHIN, NOT_DECIDED]), overall([WITHIN, NOT_DECIDED, OUTSIDE]), overall([])
    ('not decided by this measurement', 'outside what is claimed', 'not decided by this measurement')
    """
    found = set(verdicts)
    return OUTSIDE if OUTSIDE in found else WITHIN if found == {WITHIN} else NOT_DECIDED


def weighed(findings: Sequence[Finding]) -> str:
    """Weigh what separates a part from one that is only marked like it, in words that claim no more than they know.

    A tally, and no probability: one thing that cannot be of the part named is enough to say so; any number of
    things that could be proves nothing.
    """
    against = [finding.title for finding in findings if finding.verdict == OUTSIDE]
    if against:
        return f"Contradicted by {', '.join(against)}: treat it as a different part."
    return _NOTHING_AGAINST if any(finding.verdict == WITHIN for finding in findings) else _NOTHING_DECIDED


def band_words(band: Band | None, unit: str | None) -> str:
    """Write what is claimed.

    Examples
    --------
    >>> band_words(Band(least=1.0, most=2.5), "V"), band_words(Band(most=8e-3), "ohm"), band_words(None, "V")
    ('1 V to 2.5 V', 'at most 8 mΩ', 'not known')
    """
    if band is None or unit is None or (band.least is None and band.most is None):
        return "not known"
    if band.least is None:
        text = f"at most {show(band.most or 0.0, unit)}"
    elif band.most is None:
        text = f"at least {show(band.least, unit)}"
    else:
        text = f"{show(band.least, unit)} to {show(band.most, unit)}"
    return text if band.limit else f"{text}, typical"
