"""A load as it really is: marked 1.6 Ω, reads 1.4 Ω, and so draws 8.6 A and not 7.5."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from loadworthy.bench import asked
from loadworthy.bench.resistances import Measured, finding, resistance
from loadworthy.bench.verdicts import Band, Finding
from loadworthy.errors import UsageError
from loadworthy.needs.base import maybe, measured
from loadworthy.needs.loads import MOST_SUPPLY_V
from loadworthy.physics import conductors, loads, measurement
from loadworthy.quantities import show

__all__ = ["MATERIALS", "Drawn", "drawn", "findings"]

#: Material → temperature coefficient at 20 °C per kelvin, and where that is from.
MATERIALS: Final[dict[str, tuple[float, str]]] = {
    "copper": (conductors.COPPER_ALPHA_20, "IEC 60028"),
    "nichrome": (1e-4, "from memory; alloys differ"),
    "tungsten": (4.5e-3, "from memory"),
}
_ASSUMED_TOLERANCE: Final = 0.1


@dataclass(frozen=True, kw_only=True)
class Drawn:
    """What a load draws as it was measured.

    Attributes
    ----------
    supply_v
        The supply.
    low_a, value_a, high_a
        Current on it: least, as measured, and greatest; `high_a` is None where unknown leads are in the reading, so
        that the load has less resistance than was read.
    value_w, high_w
        Power, as measured and greatest.
    marked_a
        What the marking would draw.
    warm_ohm
        The resistance that these rest on, when warm.
    cold_a
        Greatest current at switching on, where the load is warmed by it.
    notes, assumed
        What else is to be said, and what it rests on besides what the resistance does.
    """

    supply_v: float
    low_a: float
    value_a: float
    high_a: float | None
    value_w: float
    high_w: float | None
    marked_a: float | None
    warm_ohm: float
    cold_a: float | None
    notes: tuple[str, ...]
    assumed: tuple[str, ...]


def findings(given: Mapping[str, str | None], *, kelvin: bool) -> tuple[Finding, ...]:
    """Hold the resistance of a load against its marking.

    Raises
    ------
    LoadworthyError
        Something given is no such quantity, or something is missing.
    """
    found = resistance(given, kelvin=kelvin)
    return (finding("resistance", "resistance", found, _marked_band(given)),)


def _marked_band(given: Mapping[str, str | None]) -> Band | None:
    marked = maybe("marked", given.get("marked"), "ohm", above=0.0)
    if marked is None:
        return None
    tolerance = maybe("tolerance", given.get("tolerance"), "1", least=0.0, most=0.9)
    share = _ASSUMED_TOLERANCE if tolerance is None else tolerance
    assumed = () if tolerance is not None else (f"the marking is good for {100 * share:g} % (common practice)",)
    return Band(
        least=marked * (1.0 - share),
        most=marked * (1.0 + share),
        said=f"marked {show(marked, 'ohm')}, give or take {show(100 * share, '1')} %",
        assumed=assumed,
    )


def drawn(given: Mapping[str, str | None], *, kelvin: bool) -> Drawn | None:
    """Work out what the load draws on its supply; None where no supply is given.

    Raises
    ------
    LoadworthyError
        Something given is no such quantity, or contradicts itself.
    """
    supply = maybe("supply", given.get("supply"), "V", above=0.0, most=MOST_SUPPLY_V)
    if supply is None:
        return None
    found = resistance(given, kelvin=kelvin)
    warming = _warming(given, found)
    marked = maybe("marked", given.get("marked"), "ohm", above=0.0)
    ohms = found.value * warming.factor
    notes = list(warming.notes)
    if found.low == 0.0:
        notes.append("the leads are in the reading: the load has less resistance than that, and draws more")

    def at(resistance_ohm: float) -> float:
        return float(loads.load_current(supply_v=supply, resistance_ohm=resistance_ohm))

    high = at(found.low * warming.factor) if found.low > 0.0 else None
    return Drawn(
        supply_v=supply,
        low_a=at(found.high * warming.factor),
        value_a=at(ohms),
        high_a=high,
        value_w=supply * at(ohms),
        high_w=None if high is None else supply * high,
        marked_a=None if marked is None else at(marked),
        warm_ohm=ohms,
        cold_a=at(found.low or found.value) if warming.factor > 1.0 else None,
        notes=tuple(notes),
        assumed=warming.assumed,
    )


@dataclass(frozen=True, kw_only=True)
class _Warming:
    """By which factor the load's resistance rises until it is warm."""

    factor: float
    assumed: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()


def _warming(given: Mapping[str, str | None], found: Measured) -> _Warming:
    material = (given.get("material") or "").strip().casefold() or None
    if material is not None and material not in MATERIALS:
        raise UsageError(
            f"{material!r} is no material that Loadworthy knows.",
            where="--material",
            way_out=f"It is one of {', '.join(MATERIALS)}.",
        )
    warm = given.get("warm")
    if warm is not None and material is None:
        raise UsageError("a warm temperature wants a material.", where="--warm", way_out="Give --material as well.")
    if material == "tungsten" and warm is None:
        share = loads.TUNGSTEN_COLD_SHARE
        return _Warming(
            factor=1.0 / share,
            assumed=("a filament that glows has ten times its cold resistance (common practice)",),
            notes=(
                "a lamp's cold reading is its inrush, and no more than a hint of what it draws when lit: measure the "
                "current when lit",
            ),
        )
    if material is None or warm is None:
        note = "taken as cold as it was measured; most loads draw less when warm (copper 4 % for each 10 K)"
        return _Warming(factor=1.0, notes=(note,))
    alpha, source = MATERIALS[material]
    air = asked.air(given)
    hot = measured("warm", warm, "degC", least=-55.0, most=1200.0)
    ohms = float(
        measurement.resistance_at_other(
            resistance_ohm=found.value, at_degc=air.reading.value, other_degc=hot, alpha_20_per_k=alpha
        )
    )
    said = f"{material} rises by {show(1e2 * alpha, '1')} % for each kelvin ({source})"
    return _Warming(factor=ohms / found.value, assumed=(said, *air.assumed))
