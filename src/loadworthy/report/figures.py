"""Figures for people: one unit a column, and no more digits than the figure deserves."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from statistics import median_low
from typing import Any, Final

from loadworthy.quantities import show
from loadworthy.quantities.text import tidy
from loadworthy.quantities.units import scale
from loadworthy.report.columns import Column
from loadworthy.report.text import clean

__all__ = ["UNKNOWN", "column_cells"]

#: What stands where a figure is not known.
UNKNOWN: Final = "–"

#: Volts, amperes and watts are compared by eye across the table: 0.5 W beside 12 W, not 500 mW.
_PLAIN: Final = frozenset({"V", "A", "W"})

#: Characters of a text in a table; CSV and JSON keep all.
_LONGEST: Final = 200


def column_cells(rows: Sequence[Mapping[str, Any]], column: Column) -> tuple[str, list[str]]:
    """Write the cells of one column.

    Parameters
    ----------
    rows
        The rows, figures in SI.
    column
        Which figure, and its unit.

    Returns
    -------
    tuple
        The unit for the heading, with the prefix that suits the column's middle figure, and the cells.

    Examples
    --------
    >>> rds = Column(name="rds_on_ohm", heading="RDS(on)", unit="ohm", right=True)
    >>> column_cells([{"rds_on_ohm": 0.0045}, {"rds_on_ohm": 0.17}, {"rds_on_ohm": None}], rds)
    ('mΩ', ['4.5', '170', '–'])
    """
    values = [row.get(column.name) for row in rows]
    if column.unit is None:
        return "", [_text(value) for value in values]
    known = [value for value in values if isinstance(value, (int, float)) and math.isfinite(value)]
    unit = _written_unit(median_low(known) if known else 0.0, column.unit)
    factor = _factor(unit, column.unit)
    return unit, [_figure(value, factor) for value in values]


def _text(value: object) -> str:
    if value is None or value == "":
        return UNKNOWN
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return show(value, "1") if math.isfinite(value) else UNKNOWN
    if isinstance(value, (list, tuple)):
        return ", ".join(_text(item) for item in value) if value else ""
    if isinstance(value, Mapping) and set(value) == {"degc", "value"}:  # a point of a curve
        return f"{_text(value['value'])} at {show(value['degc'], 'degC')}"
    text = clean(value)
    # No name is so long; a cell that is would push every other column off the page.
    return text if len(text) <= _LONGEST else text[: _LONGEST - 1] + "…"


def _written_unit(value: float, unit: str) -> str:
    if unit in _PLAIN:
        return unit
    return show(value, unit).partition(" ")[2]


def _factor(written: str, unit: str) -> float:
    if unit == "1":
        return 1.0
    known = scale(tidy(written), unit)
    return known.factor if known else 1.0


def _figure(value: object, factor: float) -> str:
    if not isinstance(value, (int, float)) or not math.isfinite(value):
        return UNKNOWN if value is None or isinstance(value, float) else clean(value)
    return show(value / factor, "1")
