"""A profile's margins, and what a need was given in their place.

A margin that the user may change is a field of the need with the margin's name.
"""

from __future__ import annotations

import math
from dataclasses import fields
from typing import Final

from loadworthy.criteria import Margin
from loadworthy.errors import UsageError
from loadworthy.needs.base import Need, measured

__all__ = ["given", "less_careful", "taken"]

#: How a name says its unit.
_ENDINGS: Final = {"1": "", "W": "_w", "K": "_k", "degC": "_degc"}
#: What is stated in these is a ceiling: more of it is less careful. Ratios and distances are the other way round.
_CEILINGS: Final = ("W", "degC")


def taken(need: Need, profile: str) -> dict[str, Margin]:
    """Take a profile's margins, and in their place those that the need was given.

    Raises
    ------
    UsageError
        There is no such profile.
    QuantityError
        A given margin is none.
    """
    if profile not in need.rules.profiles:
        raise UsageError(
            f"there is no profile {profile!r}.",
            where="--profile",
            way_out=f"It is one of {', '.join(need.rules.profiles)}.",
        )
    usual = dict(need.rules.profiles[profile].margin)
    return usual | {name: _given(need, name, unit) for name, unit in _units(need, profile).items()}


def _given(need: Need, name: str, unit: str) -> Margin:
    # No ratio below one: that would be no margin. No junction runs above 200 °C.
    least = {"1": 1.0, "degC": -math.inf}.get(unit, 0.0)
    value = measured(name, getattr(need, name), unit, least=least, most=200.0 if unit == "degC" else 1e3)
    return Margin(value=value, source=f"as asked by {_option(name)}")


def _units(need: Need, profile: str) -> dict[str, str]:
    """Return the unit of each margin that the need was given."""
    usual = need.rules.profiles[profile].margin
    return {
        field.name: field.metadata["unit"]
        for field in fields(need)
        if field.name in usual and getattr(need, field.name) is not None
    }


def _option(name: str) -> str:
    return f"--{name.replace('_', '-')}"


def given(need: Need, profile: str) -> dict[str, float]:
    """Return the margins that the need was given, with their units in the names.

    Examples
    --------
    >>> from loadworthy.needs import TransistorNeed
    >>> given(TransistorNeed(supply="12V", current="7A", leaded_loss="0.8W", voltage_margin="2"), "workshop")
    {'voltage_margin': 2.0, 'leaded_loss_w': 0.8}
    """
    margins = taken(need, profile)
    return {name + _ENDINGS[unit]: margins[name].value for name, unit in _units(need, profile).items()}


def less_careful(need: Need, profile: str, *, spared: str | None = None) -> list[str]:
    """Say it where options ask for less care than the profile takes.

    Parameters
    ----------
    need, profile
        The need, and the profile that it goes by.
    spared
        A margin for which no care is usual.

    Examples
    --------
    >>> from loadworthy.needs import TransistorNeed
    >>> less_careful(TransistorNeed(supply="12V", current="7A", leaded_loss="2W", voltage_margin="2"), "workshop")
    ['Less careful than the profile, as asked by --leaded-loss: the part may not last.']
    """
    usual, margins = need.rules.profiles[profile].margin, taken(need, profile)
    worse = []
    for name, unit in _units(need, profile).items():
        more = margins[name].value - usual[name].value
        careless = more > 0.0 if unit in _CEILINGS else more < 0.0
        worse += [_option(name)] if careless and name != spared else []
    return [f"Less careful than the profile, as asked by {', '.join(worse)}: the part may not last."] if worse else []
