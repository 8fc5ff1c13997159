"""What a connector carries: 0.8 of its base curve at the air round it, or the nearest thing to that."""

from __future__ import annotations

from typing import Final

from loadworthy.boards.laws.base import Body, Conditions, Judgement, known, unheated
from loadworthy.boards.model import Connector
from loadworthy.physics import contacts
from loadworthy.quantities import show

__all__ = ["UNMARKED_A", "body", "judge"]

#: What a terminal block without any marking counts as (common practice: sold from 5 A to 25 A, likely at the low end).
UNMARKED_A: Final = 5.0
_UNMARKED_TO_DEGC: Final = 40.0
_RATED_AT_DEGC: Final = 20.0
_LIMIT_DEGC: Final = 105.0
_CONTACTS: Final = 2
_CURVE_SOURCE: Final = "IEC 60512-5-2: 0.8 × the base curve"
_ROOT: Final = "√((Tmax − T)/(Tmax − Tref)) in place of a curve, which is always optimistic, the more so near the limit"
_BASIS: Final = "a UL rating and an IEC rating come from two different tests"


def judge(link: Connector, conditions: Conditions) -> Judgement:
    """Say what the connector carries."""
    if link.derating is not None:
        return _by_curve(link, conditions)
    rated = _rated(link)
    if rated is not None:
        return _by_root_law(link, rated, conditions)
    return _unmarked(link, conditions)


def _needs(link: Connector) -> dict[str, float | int | str]:
    wanted = {"poles": link.poles, "pitch_m": link.pitch_m, "mount": link.mount, "wire": link.wire}
    return {name: value for name, value in wanted.items() if value is not None}


def _rated(link: Connector) -> tuple[float, str, tuple[str, ...]] | None:
    """Return the rated current, its basis, and what is to be said of it; the lesser of two tests counts."""
    both = {"UL": link.rated_current_ul_a, "IEC": link.rated_current_iec_a, link.basis or "": link.rated_current_a}
    given = {basis: amperes for basis, amperes in both.items() if amperes is not None}
    if not given:
        return None
    basis = min(given, key=lambda name: given[name])
    notes = [f"{_BASIS}; the lesser counts, {basis or 'the one without a basis'}"] if len(given) > 1 else []
    if len(given) == 1 and not basis:
        notes.append(f"its rating does not say whether it is UL's or IEC's; {_BASIS}")
    return given[basis], basis, tuple(notes)


def _by_curve(link: Connector, conditions: Conditions) -> Judgement:
    curve = link.derating or ()
    base = known(
        contacts.curve_current(  # type: ignore[arg-type]
            degc=conditions.ambient_degc,
            curve_degc=[degc for degc, _ in curve],
            curve_a=[amperes for _, amperes in curve],
        )
    )
    if base is None:
        return Judgement(
            usable_a=None,
            ultimate_a=None,
            governs="its derating curve",
            source=_CURVE_SOURCE,
            unknown=f"its curve ends at {show(curve[-1][0], 'degC')}, below the air round it",
            needs=_needs(link),
        )
    return Judgement(
        usable_a=float(contacts.usable_current(base_a=base)),
        ultimate_a=base,
        governs=f"0.8 × its base curve at {show(conditions.ambient_degc, 'degC')}, {show(base, 'A')}",
        source=_CURVE_SOURCE,
        limit_degc=link.limit_degc,
        needs=_needs(link),
    )


def _by_root_law(link: Connector, rated: tuple[float, str, tuple[str, ...]], conditions: Conditions) -> Judgement:
    amperes, basis, notes = rated
    at, limit, assumed = _temperatures(link)
    base = float(
        contacts.root_law_current(
            rated_a=amperes, rated_degc=at, limit_degc=limit, ambient_degc=conditions.ambient_degc
        )
    )
    named = f"{basis} rating" if basis else "rating"
    return Judgement(
        usable_a=float(contacts.usable_current(base_a=base)),
        ultimate_a=base,
        governs=f"0.8 × its {named} of {show(amperes, 'A')} taken to {show(conditions.ambient_degc, 'degC')}",
        source=_CURVE_SOURCE + "; the root law from Δt ∝ I² (a connector maker's note on UL 1059)",
        limit_degc=limit,
        assumed=(_ROOT, *assumed),
        notes=notes,
        needs=_needs(link),
    )


def _temperatures(link: Connector) -> tuple[float, float, tuple[str, ...]]:
    assumed = []
    if link.rated_at_degc is None:
        assumed.append(f"its rating holds at {show(_RATED_AT_DEGC, 'degC')}")
    if link.limit_degc is None:
        assumed.append(f"it may reach {show(_LIMIT_DEGC, 'degC')}")
    at = _RATED_AT_DEGC if link.rated_at_degc is None else link.rated_at_degc
    return at, _LIMIT_DEGC if link.limit_degc is None else link.limit_degc, tuple(assumed)


def _unmarked(link: Connector, conditions: Conditions) -> Judgement:
    amperes = UNMARKED_A if link.unmarked_current_a is None else link.unmarked_current_a
    usable = float(
        contacts.root_law_current(
            rated_a=amperes,
            rated_degc=_UNMARKED_TO_DEGC,
            limit_degc=_LIMIT_DEGC,
            ambient_degc=conditions.ambient_degc,
        )
    )
    assumed = [f"it has no marking and counts as {show(amperes, 'A')}; never take one for more than 10 A"]
    if conditions.ambient_degc > _UNMARKED_TO_DEGC:
        assumed.append(f"above {show(_UNMARKED_TO_DEGC, 'degC')}: {_ROOT}; it may reach {show(_LIMIT_DEGC, 'degC')}")
    return Judgement(
        usable_a=usable,
        ultimate_a=usable,
        governs=f"{show(amperes, 'A')} for a connector without marking",
        source="common practice: look-alike terminals are sold from 5 A to 25 A, unmarked ones likely at the low end",
        assumed=tuple(assumed),
        needs=_needs(link),
    )


def body(link: Connector, conditions: Conditions, rms_a: float) -> Body:
    """Say how the connector drops voltage and warms: Δt ∝ I² from its own rating."""
    resistance = None
    if link.contact_resistance_ohm is not None:
        resistance = link.contact_resistance_ohm * (link.contacts or _CONTACTS)
    degc = _temperature(link, conditions, rms_a)
    return unheated(resistance, conditions.ambient_degc if degc is None else degc, temperature_known=degc is not None)


def said(link: Connector) -> tuple[str, ...]:
    """Say what the drop rests on."""
    if link.contact_resistance_ohm is None:
        return ("contact resistance not given: its drop and heat are not counted",)
    return () if link.contacts else (f"the current passes {_CONTACTS} contacts, out and back",)


def _temperature(link: Connector, conditions: Conditions, rms_a: float) -> float | None:
    if link.derating is not None:
        # On the base curve the connector is at its limit.
        if link.limit_degc is None or (base := judge(link, conditions).ultimate_a) in (None, 0.0):
            return None
        rated, rise = base, link.limit_degc - conditions.ambient_degc
    else:
        found = _rated(link)
        if found is None:
            return None
        at, limit, _ = _temperatures(link)
        rated, rise = found[0], limit - at
    if rated is None or rise <= 0.0:
        return None
    return float(
        contacts.contact_temperature(
            current_a=rms_a, rated_a=rated, rated_rise_k=rise, ambient_degc=conditions.ambient_degc
        )
    )
