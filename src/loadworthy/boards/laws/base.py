"""What every law takes and gives: the conditions of a link, what it can carry, and how it warms."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from loadworthy.physics import paths

__all__ = ["Body", "Check", "Conditions", "Judgement", "greatest", "known", "unheated"]


@dataclass(frozen=True, kw_only=True)
class Conditions:
    """What a link meets where it is.

    Attributes
    ----------
    ambient_degc, coldest_degc
        Hottest and coldest air round the board.
    supply_v, supply_high_v
        The supply, nominal and at the high end of its tolerance.
    duty, pwm_hz
        Share of the time that the current flows, and how often it is switched; 1 and 0 where it is not.
    inductive, clamped
        Whether the load is inductive, and whether a diode takes what it gives back.
    """

    ambient_degc: float
    coldest_degc: float
    supply_v: float
    supply_high_v: float
    duty: float
    pwm_hz: float
    inductive: bool
    clamped: bool


@dataclass(frozen=True, kw_only=True)
class Check:
    """One thing besides the current that a link must meet; `ok` is None where it is not known."""

    name: str
    rule: str
    has: float
    needs: float
    unit: str
    ok: bool | None
    source: str


@dataclass(frozen=True, kw_only=True)
class Judgement:
    """What one link can carry.

    Attributes
    ----------
    usable_a
        Current that it may carry for good, margins taken; None where that is not known.
    ultimate_a
        Current at which it is at its own limit, without margins; None where that is not known.
    governs
        Which law, and which limit in it, sets the usable current.
    source
        Where the law is from.
    unknown
        Why the usable current is not known.
    ends
        Where the usable current is only the end of what the law covers: why nothing is said above it.
    limit_degc
        The temperature that the law keeps to.
    assumed, notes
        What the figures rest on, and what else is to be said.
    checks
        What else the link must meet.
    needs
        What a part in its place needs besides the current, by names with their unit.
    """

    usable_a: float | None
    ultimate_a: float | None
    governs: str
    source: str
    unknown: str | None = None
    ends: str | None = None
    limit_degc: float | None = None
    assumed: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    checks: tuple[Check, ...] = ()
    needs: Mapping[str, float | int | str] = field(default_factory=dict)


@dataclass(frozen=True, kw_only=True)
class Body:
    """A link as the coupled path sees it.

    Attributes
    ----------
    link
        Its resistance and how it warms.
    resistance_known, temperature_known
        Whether these are figures, or only stand in for what nobody gave.
    """

    link: paths.Link
    resistance_known: bool
    temperature_known: bool


def unheated(resistance_ohm: float | None, degc: float, *, temperature_known: bool) -> Body:
    """Make a body of constant resistance that is at a known temperature, or none where it is not known."""
    link = paths.Link(
        resistance_ohm=resistance_ohm or 0.0,
        reference_degc=degc,
        linear_per_k=0.0,
        square_per_k2=0.0,
        rth_k_per_w=0.0,
        ambient_degc=degc,
        other_loss_w=0.0,
    )
    return Body(link=link, resistance_known=resistance_ohm is not None, temperature_known=temperature_known)


def known(value: float) -> float | None:
    """Give None for what is not a number.

    Examples
    --------
    >>> known(float("nan")), known(2.0)
    (None, 2.0)
    """
    return float(value) if math.isfinite(value) else None


def greatest(holds: Callable[[float], bool], *, most: float = 1e5) -> float:
    """Find the greatest number at which something holds that holds from zero up to it.

    Parameters
    ----------
    holds
        True up to some number, false above.
    most
        Where to stop looking.

    Returns
    -------
    float
        Zero where it holds nowhere, `most` where it holds everywhere; else the number to the last digit, on the side
        where it holds.

    Examples
    --------
    >>> round(greatest(lambda current: current**2 <= 2.0), 9)
    1.414213562
    """
    low, high = 0.0, most
    if holds(high):
        return high
    while True:
        middle = low + (high - low) / 2.0
        if not low < middle < high or high - low <= 1e-15 * high:
            return low
        if holds(middle):
            low = middle
        else:
            high = middle
