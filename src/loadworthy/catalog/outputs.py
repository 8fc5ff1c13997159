"""The readings of one cell → the columns of the catalogue that they fill."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable, Sequence
from typing import Any

from loadworthy.catalog.cells import Reading, Refused, hot
from loadworthy.catalog.families import Figure, Kept, Levels
from loadworthy.catalog.schema import exact_columns

__all__ = ["HOT", "MISPLACED", "TYPICAL", "outputs_of", "worse_of"]

#: Columns that a lookup may have beside the catalogue's own: they are put together row by row.
HOT = ("hot_ohm", "hot_degc", "hot_at_v")
TYPICAL = "typical"
MISPLACED = "misplaced"

Outputs = dict[str, Any]

_WORSE: dict[str, Callable[[float, float], float]] = {
    "lower": min,
    "higher": max,
    "first": lambda first, second: first,
}


def worse_of(rule: str, one: float | None, other: float) -> float:
    """Return the one of two values that counts against a part.

    Examples
    --------
    >>> worse_of("lower", 40.0, 30.0), worse_of("higher", None, 30.0)
    (30.0, 30.0)
    """
    return other if one is None else _WORSE[rule](one, other)


def outputs_of(figure: Figure, readings: Sequence[Reading]) -> Outputs | Refused:
    """Say which columns a cell's readings fill.

    Parameters
    ----------
    figure
        The figure that the column holds.
    readings
        What the cell gives, conditions of heading and neighbour column included.

    Returns
    -------
    dict or Refused
        Column → value; a reason where the catalogue keeps nothing of the cell.
    """
    if figure.kind == "choice":
        return {figure.store[0].column: list(figure.choices)[int(readings[0].value)]}
    found = _levels(figure, figure.levels, readings) if figure.levels else _kept(figure, readings)
    if isinstance(found, Refused) or found:
        return found
    return Refused(_why_nothing(figure, readings))


def _why_nothing(figure: Figure, readings: Sequence[Reading]) -> str:
    if any(reading.place == "pulse" for reading in readings):
        return "it holds for a few seconds only, which is no steady figure"
    if figure.limit_only and any(reading.statistic == "typ" for reading in readings):
        return f"it is typical; of {figure.title} only a limit counts"
    if any(reading.place == "chip" for reading in readings):
        return "it is what the bare chip could do, not the part"
    return f"nothing in it is a figure of {figure.title} that is kept"


def _kept(figure: Figure, readings: Sequence[Reading]) -> Outputs:
    found: Outputs = {}
    readings = [_cooled(figure, reading) for reading in readings]
    if figure.curve:
        found, readings = _curve(figure, figure.curve, readings)
    for reading in sorted(readings, key=lambda one: one.statistic == "typ"):
        for kept in figure.store:
            if _keeps(kept, figure, reading):
                _put(found, kept, figure, reading)
    return found


def _cooled(figure: Figure, reading: Reading) -> Reading:
    """Say how a sink is cooled where only the air's speed says so, or that the air is still."""
    if reading.place is None and reading.flow and "forced" in figure.places:
        return reading._replace(place="forced")
    if reading.place == "ambient" and "natural" in figure.places:
        return reading._replace(place="natural")
    return reading


def _curve(figure: Figure, column: str, readings: Sequence[Reading]) -> tuple[Outputs, Sequence[Reading]]:
    """Take the values that are given at a temperature as points of the curve; the rest is left."""
    points = {
        reading.degc: reading.value
        for reading in readings
        if reading.degc is not None and not (figure.limit_only and reading.statistic == "typ")
    }
    found: Outputs = {}
    if points:
        found[column] = [{"degc": degc, "value": value} for degc, value in sorted(points.items())]
    return found, [reading for reading in readings if reading.degc is None]


def _keeps(kept: Kept, figure: Figure, reading: Reading) -> bool:
    if figure.limit_only and reading.statistic == "typ":
        return False
    if kept.statistic and kept.statistic != (reading.statistic or figure.unmarked):
        return False
    if kept.place is None:
        return reading.place != "pulse" or figure.pulsed
    place = reading.place or figure.unmarked_place or ""
    return kept.place == (f"{place} hot" if hot(reading) else place)


def _put(found: Outputs, kept: Kept, figure: Figure, reading: Reading) -> None:
    typical = reading.statistic == "typ" and kept.statistic is None
    if typical and kept.column in found and TYPICAL not in found:
        return  # a limit is there already; a typical figure does not join it
    value = reading.value
    if figure.magnitude and value < 0:
        value = -value
        if figure.negative:
            found[figure.negative.column] = worse_of(kept.worse, found.get(figure.negative.column), value)
            return
    found[kept.column] = worse_of(kept.worse, found.get(kept.column), value)
    if found[kept.column] == value:
        found |= {column: getattr(reading, condition) for condition, column in kept.beside.items()}
    if typical:
        found[TYPICAL] = figure.symbol
    if figure.unmarked_place and reading.place is None and kept.place == figure.unmarked_place:
        found[f"{figure.name}_unmarked"] = True


def _levels(figure: Figure, levels: Levels, readings: Sequence[Reading]) -> Outputs | Refused:
    found: Outputs = {}
    for reading in readings:
        if hot(reading):
            _hot(found, reading)
            continue
        if reading.gate_v is None:
            continue
        place = bisect_left(levels.values, reading.gate_v - 1e-9)
        typical = reading.statistic == "typ"
        if not typical:
            least = f"{levels.stem}_from_v"
            found[least] = min(found.get(least, reading.gate_v), reading.gate_v)
        if place == len(levels.values):
            continue
        value, at = exact_columns(levels)[place + (len(levels.values) if typical else 0)]
        # Two gate voltages under one level: the greater one is nearer to it, and a lesser figure there is no worse.
        if at in found and found[at] > reading.gate_v:
            continue
        same = found.get(at) == reading.gate_v
        found[value] = worse_of(levels.worse, found.get(value) if same else None, reading.value)
        found[at] = reading.gate_v
        if reading.statistic is None:
            found[f"{levels.stem}_unmarked"] = True
    if not found and all(reading.gate_v is None for reading in readings):
        return Refused("no gate voltage is given with it; a recipe can name it (gate_v)")
    return found


def _hot(found: Outputs, reading: Reading) -> None:
    """Keep the hottest maximum: with its partner at 25 °C it gives the part's own exponent."""
    if reading.statistic == "typ" or (found.get("hot_degc") or 0.0) > (reading.degc or 0.0):
        return
    found["hot_ohm"], found["hot_degc"], found["hot_at_v"] = reading.value, reading.degc, reading.gate_v
