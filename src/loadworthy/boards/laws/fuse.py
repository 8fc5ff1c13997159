"""What a fuse carries for good, and when it is sure to open."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from loadworthy.boards.laws.base import Body, Conditions, Judgement, known, unheated
from loadworthy.boards.model import Curve, Fuse
from loadworthy.physics import fuses
from loadworthy.quantities import show

__all__ = ["Opening", "body", "judge", "opening"]

#: Temperature to which hold, trip and rating of a fuse are stated.
_ROOM_DEGC: Final = 25.0
_SHARES: Final = {"UL": fuses.UL_CONTINUOUS_SHARE, "IEC": fuses.IEC_CONTINUOUS_SHARE}
_COMPARISON: Final = "a fuse maker's comparison: 75 % of the rating for a UL type, 100 % for an IEC type"
#: IEC 60127: 150 % may be carried for an hour; 210 % opens within half an hour, by some of its sheets sooner (memory).
_IEC_OPENS: Final = ((2.1, 1800.0),)


def _along(curve: Curve, degc: float) -> float | None:
    read = fuses.hold_current(degc=degc, curve_degc=[at for at, _ in curve], curve_a=[amperes for _, amperes in curve])
    return known(float(read))


def judge(link: Fuse, conditions: Conditions) -> Judgement:
    """Say what the fuse carries without opening."""
    return _resettable(link, conditions) if link.type == "resettable" else _one_shot(link, conditions)


def _one_shot(link: Fuse, conditions: Conditions) -> Judgement:
    if link.by_temperature is not None:
        usable = _along(link.by_temperature, conditions.ambient_degc)
        return Judgement(
            usable_a=usable,
            ultimate_a=usable if link.rating_a is None or usable is None else max(usable, link.rating_a),
            governs=f"its table of continuous current at {show(conditions.ambient_degc, 'degC')}, margin inside",
            source="its maker's table, in which the margin is",
            unknown=None if usable is not None else f"its table ends at {show(link.by_temperature[-1][0], 'degC')}",
        )
    if link.rating_a is None:
        return _nothing("no rating is given")
    share = _SHARES.get(link.standard or "", fuses.UL_CONTINUOUS_SHARE)
    assumed = []
    if link.standard is None:
        assumed.append("its standard is not given: 75 % of the rating")
    elif link.standard == "blade":
        assumed.append("its maker's table is not given: 75 % of the rating")
    if conditions.ambient_degc > _ROOM_DEGC:
        assumed.append(f"a rating holds at {show(_ROOM_DEGC, 'degC')}; its fall in warmer air is not counted")
    return Judgement(
        usable_a=float(fuses.continuous_current(rating_a=link.rating_a, share=share)),
        ultimate_a=link.rating_a,
        governs=f"{100 * share:g} % of its rating of {show(link.rating_a, 'A')}",
        source=_COMPARISON,
        assumed=tuple(assumed),
    )


def _nothing(why: str) -> Judgement:
    return Judgement(
        usable_a=None, ultimate_a=None, governs="its continuous current", source="its data sheet", unknown=why
    )


def _resettable(link: Fuse, conditions: Conditions) -> Judgement:
    if link.hold_by_temperature is not None:
        usable = _along(link.hold_by_temperature, conditions.ambient_degc)
        why = f"its table of hold currents ends at {show(link.hold_by_temperature[-1][0], 'degC')}"
    elif link.hold_a is None:
        return _nothing("no hold current is given")
    else:
        usable = link.hold_a if conditions.ambient_degc <= _ROOM_DEGC else None
        why = f"above {show(_ROOM_DEGC, 'degC')} it holds less, and how much only hold_by_temperature says"
    return Judgement(
        usable_a=usable,
        ultimate_a=usable,
        governs=f"its hold current at {show(conditions.ambient_degc, 'degC')}",
        source="its maker's data sheet",
        unknown=None if usable is not None else why,
        notes=("tripped is not isolated: a resettable fuse that has tripped still passes current",),
    )


def body(link: Fuse, conditions: Conditions, rms_a: float) -> Body:
    """Say what voltage the fuse takes; what it warms to is not known."""
    return unheated(link.resistance_ohm, conditions.ambient_degc, temperature_known=False)


@dataclass(frozen=True, kw_only=True)
class Opening:
    """When a fuse is sure to open: at which current, within which time, by which rule."""

    current_a: float | None
    within_s: float | None
    rule: str
    assumed: tuple[str, ...] = ()


def opening(link: Fuse, coldest_degc: float) -> Opening:
    """Say at which current the fuse is sure to open in the coldest air."""
    return _trip(link, coldest_degc) if link.type == "resettable" else _melt(link)


def _melt(link: Fuse) -> Opening:
    if link.rating_a is None:
        return Opening(current_a=None, within_s=None, rule="its rating is not given")
    opens, rule, assumed = _opens(link.standard)
    factor, within = opens[0]
    return Opening(
        current_a=float(fuses.sure_opening_current(rating_a=link.rating_a, factor=factor)),
        within_s=within,
        rule=f"{100 * factor:g} % of its rating ({rule})",
        assumed=assumed,
    )


def _opens(standard: str | None) -> tuple[Sequence[tuple[float, float]], str, tuple[str, ...]]:
    """Return the multiples that surely open a fuse, their source, and what is assumed."""
    if standard == "UL":
        return fuses.UL_248_14_OPENS, "UL 248-14", ()
    if standard == "blade":
        return fuses.BLADE_OPENS, "ISO 8820-3", ("the times of ISO 8820-3 are from memory",)
    if standard == "IEC":
        return _IEC_OPENS, "IEC 60127", ("the multiple of IEC 60127 is from memory",)
    # Without a standard the careful figures are the multiple that lets most through, and the longest of the times.
    ((greatest, _),) = _IEC_OPENS
    longest = fuses.UL_248_14_OPENS[0][1]
    said = "its standard is not given: the greatest multiple and the longest time are taken, from memory"
    return ((greatest, longest),), "the most that IEC 60127, UL 248-14 and ISO 8820-3 let pass", (said,)


def _trip(link: Fuse, coldest_degc: float) -> Opening:
    if link.trip_a is None:
        return Opening(current_a=None, within_s=None, rule="its trip current is not given")
    curve = link.hold_by_temperature
    cold = _along(curve, coldest_degc) if curve is not None else None
    room = link.hold_a if link.hold_a is not None else (_along(curve, _ROOM_DEGC) if curve is not None else None)
    if cold is None or room is None or math.isclose(room, 0.0):
        return Opening(
            current_a=link.trip_a,
            within_s=None,
            rule="its trip current",
            assumed=("trip current at room temperature; in the cold it trips later, how much is not known",),
        )
    return Opening(
        current_a=float(fuses.trip_current(trip_a=link.trip_a, hold_at_degc_a=cold, hold_at_rating_a=room)),
        within_s=None,
        rule=f"its trip current at {show(coldest_degc, 'degC')}",
        assumed=("the trip current rises in the cold as the hold current does (common practice)",),
    )
