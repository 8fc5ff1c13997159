"""A fuse-by-fuse judgement in plain Python on the physics package, to hold the query against."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from loadworthy.physics import fuses

Part = Mapping[str, Any]
Table = list[dict[str, float]] | None
_ROOM = (18.0, 27.0)
_RATING = 23.0


def first_known(*figures: float | None) -> float | None:
    """Return the first figure that is known."""
    return next((value for value in figures if value is not None), None)


def at_room(table: Table) -> float | None:
    """Return the least current that a table gives at room temperature."""
    low, high = _ROOM
    return min((one["value"] for one in table or () if low <= one["degc"] <= high), default=None)


def with_rating(table: Table, rating: float | None) -> dict[float, float]:
    """Return a table as temperature → current, the rating put in where nothing is near."""
    found = {one["degc"]: one["value"] for one in table or ()}
    if rating is not None and at_room(table) is None:
        found[_RATING] = rating
    return dict(sorted(found.items()))


def along(table: Mapping[float, float], degc: float) -> float:
    """Read a table by the physics package; nan beyond its last entry."""
    return float(fuses.hold_current(degc=degc, curve_degc=tuple(table), curve_a=tuple(table.values())))


def kind_of(part: Part) -> str | None:
    """Return the type as listed, else by the figures."""
    if part["type"] is not None:
        return str(part["type"])
    if any(part[name] for name in ("hold_a", "hold_curve", "trip_a")):
        return "resettable"
    named = any(part[name] for name in ("rating_a", "rating_curve", "continuous_a", "continuous_curve"))
    return "one-shot" if named else None


def standard_of(part: Part, kind: str | None) -> str | None:
    """Return the standard as listed, else by the size."""
    blade = kind == "one-shot" and "blade" in (part["package"] or "")
    return part["standard"] or ("blade" if blade else None)


def current_table(part: Part, kind: str | None) -> tuple[dict[float, float], bool]:
    """Return the currents that count, and whether they are continuous ones with the margin inside."""
    if kind == "resettable":
        return with_rating(part["hold_curve"], part["hold_a"]), True
    if part["continuous_a"] is not None or part["continuous_curve"] is not None:
        return with_rating(part["continuous_curve"], part["continuous_a"]), True
    return with_rating(part["rating_curve"], part["rating_a"]), False


def carried(part: Part, kind: str | None, ask: Mapping[str, Any]) -> tuple[float | None, float]:
    """Return what the fuse carries at the hottest, and what it surely does not carry more than."""
    table, inside = current_table(part, kind)
    if kind is None or not table:
        return None, math.inf
    last, ambient, standard = max(table), ask["ambient_degc"], standard_of(part, kind)
    whole = inside or standard == "IEC" or (standard == "blade" and last > _ROOM[1])
    share = 1.0 if whole else fuses.UL_CONTINUOUS_SHARE
    beyond = ambient > last
    room = beyond and last >= _ROOM[0] and (ambient <= _ROOM[1] or (kind == "one-shot" and last <= _ROOM[1]))
    read = along(table, last if room else ambient)
    carries = None if math.isnan(read) else float(fuses.continuous_current(rating_a=read, share=share))
    return carries, share * table[last] if beyond else math.inf


def opening(part: Part, kind: str | None, ask: Mapping[str, Any]) -> float | None:
    """Return the current that surely opens the fuse in the coldest air, colder than room temperature."""
    stem = "hold" if kind == "resettable" else "rating"
    nominal = first_known(part[f"{stem}_a"], at_room(part[f"{stem}_curve"]))
    if kind is None or nominal is None:
        return None
    if kind == "one-shot":
        known = standard_of(part, kind) in ("UL", "blade")
        factor = fuses.UL_248_14_OPENS[0][0] if known else 2.1
        return float(fuses.sure_opening_current(rating_a=nominal, factor=factor))
    table, cold = current_table(part, kind)[0], ask["coldest_degc"]
    if part["trip_a"] is None or not min(table) <= cold <= max(table):
        return None
    held = along(table, cold)
    return float(fuses.trip_current(trip_a=part["trip_a"], hold_at_degc_a=held, hold_at_rating_a=nominal))


def opens_in_time(part: Part, kind: str | None, ask: Mapping[str, Any], opens: float | None) -> bool | None:
    """Say whether the weakest link stands what opens the fuse; the cold makes a trip current no less."""
    most = ask["weakest_a"]
    if most is None:
        return True
    if opens is not None:
        return bool(opens <= most)
    return False if kind == "resettable" and (part["trip_a"] or 0.0) > most else None


def drops_little(part: Part, kind: str | None, ask: Mapping[str, Any], drop: float | None) -> bool | None:
    """Say whether the fuse takes no more than it may; a resistance when cold proves it of a melting fuse only."""
    most = ask["max_drop_v"]
    if most is None:
        return True
    if drop is not None and drop > most:
        return False
    if part["r1_max_ohm"] is not None or (kind == "one-shot" and part["cold_ohm"] is not None):
        return True
    return False if ask["current_a"] * (part["r_min_ohm"] or 0.0) > most else None


def judged_fuse(part: Part, ask: Mapping[str, Any]) -> dict[str, Any]:
    """Judge one fuse: its figures, and a verdict a criterion."""
    kind = kind_of(part)
    carries, bound = carried(part, kind, ask)
    opens = opening(part, kind, ask)
    breaks = first_known(
        *(part[name] for name in (("most_fault_a", "breaking_a")[:: 1 if kind == "resettable" else -1]))
    )
    steady = first_known(part["voltage_dc_v"], part["voltage_v"])
    ohms = first_known(part["r1_max_ohm"], part["cold_ohm"])
    drop = None if ohms is None else float(fuses.fuse_drop(current_a=ask["current_a"], resistance_ohm=ohms))
    least = ask["carry_least_a"]
    known_short = False if bound < least else None
    fault = ask["fault_a"]
    verdict: dict[str, bool | None] = {
        "voltage": None if steady is None else steady >= ask["voltage_least_v"],
        "warmth": (part["limit_degc"] or 85.0) >= ask["ambient_degc"],
        "carries": known_short if carries is None else carries >= least,
        "opens": opens_in_time(part, kind, ask, opens),
        "fault": True if fault is None else None if breaks is None else breaks >= fault,
        "drop": drops_little(part, kind, ask, drop),
    }
    return {
        "type": kind,
        "standard": standard_of(part, kind),
        "carries_a": carries,
        "opens_a": opens,
        "drop_v": drop,
        "conduction_loss_w": None if ohms is None else ask["current_a"] ** 2 * ohms,
        "verdict": verdict,
    }
