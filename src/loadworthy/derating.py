"""What a connector or a fuse may carry over the temperature of the air, by the query that chose it."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from loadworthy import statements
from loadworthy.judging import assumed, judged
from loadworthy.needs import ConnectorNeed, FuseNeed
from loadworthy.statements import HasConnection, Parameter

__all__ = ["DeratingCurve", "derating_curve"]

#: The air that is looked at, as far as the part carries anything in it.
_COLDEST_DEGC: Final = -20
_HOTTEST_DEGC: Final = 200
_STEP_K: Final = 1
#: What a family's query gives: the current that may be used, and the criterion that holds it against the load's.
_CARRYING: Final = {"connector": ("usable_a", "current"), "fuse": ("carries_a", "carries")}


@dataclass(frozen=True, kw_only=True)
class DeratingCurve:
    """What a connector or a fuse may carry for good over the temperature of the air.

    Attributes
    ----------
    family, name, maker
        Which part it is.
    ambient_degc, usable_a
        Temperatures, rising, and what it may carry at each.
    ends
        What is at the last of them: ``nothing carried``, or ``nothing known`` where what the part carries in warmer air
        is not said.
    at_ambient_degc, at_current_a, at_usable_a
        The operating point: the need's air and current, and what the part may carry there, None where not known.
    needed_a
        What it has to be able to carry there, the need's margin taken.
    assumed
        What the curve rests on.
    """

    family: str
    name: str
    maker: str | None
    ambient_degc: tuple[float, ...]
    usable_a: tuple[float, ...]
    ends: str
    at_ambient_degc: float
    at_current_a: float
    at_usable_a: float | None
    needed_a: float
    assumed: tuple[str, ...]

    def as_json(self) -> dict[str, Any]:
        """Return it as plain values, with the SI units in the names."""
        return {
            "family": self.family,
            "name": self.name,
            "maker": self.maker,
            "ambient_degc": list(self.ambient_degc),
            "usable_a": list(self.usable_a),
            "ends": self.ends,
            "operating": {
                "ambient_degc": self.at_ambient_degc,
                "current_a": self.at_current_a,
                "usable_a": self.at_usable_a,
                "needed_a": self.needed_a,
            },
            "assumed": list(self.assumed),
        }


def derating_curve(
    catalog: HasConnection, need: ConnectorNeed | FuseNeed, row: Mapping[str, Any]
) -> DeratingCurve | None:
    """Work out what a part of a ranked list may carry in warmer and colder air, by the query that ranked it.

    Parameters
    ----------
    catalog
        The catalogue that the part was chosen from; only its ``connection`` is used.
    need
        The need that it was chosen for.
    row
        Its row of the ranked list.

    Returns
    -------
    DeratingCurve or None
        None where nothing is known of what it carries in any air.
    """
    figure, criterion = _CARRYING[need.family]
    asked = need.as_json()
    at_degc = float(asked["ambient_degc"])
    airs = {float(degc) for degc in range(min(_COLDEST_DEGC, math.floor(at_degc)), _HOTTEST_DEGC + 1, _STEP_K)}
    airs |= {at_degc, *(float(row[name]) for name in ("limit_degc", "last_degc") if row.get(name) is not None)}
    rows = _swept(catalog, need, row["part_key"], sorted(airs))
    # In air that the part itself must not be in, nothing is said of what it carries.
    known = [(air, one) for air, one in rows if one[figure] is not None and one.get("ok_warmth") is not False]
    empty = next((index for index, (_, one) in enumerate(known) if one[figure] <= 0.0), None)
    shown = known if empty is None else known[: empty + 1]
    if not shown:
        return None
    words = [word for _, one in shown for word in assumed(one, need, of=[criterion])]
    return DeratingCurve(
        family=need.family,
        name=row["part_number"],
        maker=row["maker"],
        ambient_degc=tuple(air for air, _ in shown),
        usable_a=tuple(float(one[figure]) for _, one in shown),
        ends="nothing known" if empty is None else "nothing carried",
        at_ambient_degc=at_degc,
        at_current_a=float(asked["current_a"]),
        at_usable_a=row[figure],
        needed_a=float(shown[0][1][f"needs_{criterion}"]),
        assumed=tuple(dict.fromkeys(words)),
    )


def _swept(
    catalog: HasConnection, need: ConnectorNeed | FuseNeed, part_key: str, airs_degc: Sequence[float]
) -> list[tuple[float, dict[str, Any]]]:
    """Judge one part by its family's query in each of several airs."""
    swept = statements.assemble("swept", parts=f"parts_{need.family}")
    text = judged(need.family, offered=False, parts=swept, besides=f"{statements.ASKED}ambient_degc, ")
    values: dict[str, Parameter] = {**need.parameters(), "closely": True}
    values |= {"swept_key": part_key, "airs_degc": [repr(degc) for degc in airs_degc]}
    asked = statements.bind("swept", statements.across(text, {"ambient_degc"}), values)
    rows = ((float(row[f"{statements.ASKED}ambient_degc"]), row) for row in asked.rows(catalog.connection.cursor()))
    return sorted(rows, key=lambda row: row[0])
