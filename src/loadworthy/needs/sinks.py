"""The heat sink that lets a part do which is stopped by its heat alone."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from loadworthy.physics import conduction, thermal

__all__ = ["sink_for"]

_FIGURES = (
    "rds25_ohm",
    "hot_exponent",
    "rthjc_k_per_w",
    "rthcs_k_per_w",
    "junction_limit_degc",
    "switching_loss_w",
)


def sink_for(
    row: Mapping[str, Any],
    *,
    current_a: float,
    duty: float,
    ambient_degc: float,
    most_loss_w: float | None = None,
    bare: bool = True,
) -> float | None:
    """Return the greatest thermal resistance, sink to air in K/W, that a leaded part can do with.

    Parameters
    ----------
    row
        A judged part, as the family's query gives it.
    current_a, duty
        Current of the load while it is on, and the share of the time that it is.
    ambient_degc
        Air round the sink.
    most_loss_w
        Most heat that the part may make; a sink makes it no less.
    bare
        Whether the part has no sink yet, so that one must be better than none.

    Returns
    -------
    float or None
        Rounded down to three digits. None where a figure is missing, no sink would do, or the part gives
        its heat to the board: a sink goes on a tab that stands free, elsewhere the copper decides.
    """
    if not row["leaded"] or any(row[name] is None for name in _FIGURES):
        return None
    limit_degc, other_w = row["junction_limit_degc"], row["switching_loss_w"]
    hot_ohm = conduction.resistance_at(
        rds25_ohm=row["rds25_ohm"], exponent=row["hot_exponent"], junction_degc=limit_degc
    )
    heat_w = conduction.conduction_loss(resistance_ohm=hot_ohm, current_a=current_a, duty=duty) + other_w
    if most_loss_w is not None and heat_w > most_loss_w:
        return None
    sink = float(
        thermal.needed_heatsink(
            rds25_ohm=row["rds25_ohm"],
            exponent=row["hot_exponent"],
            rthjc_k_per_w=row["rthjc_k_per_w"],
            rthcs_k_per_w=row["rthcs_k_per_w"],
            ambient_degc=ambient_degc,
            junction_limit_degc=limit_degc,
            other_loss_w=other_w,
            current_a=current_a,
            duty=duty,
        )
    )
    if bare and row["still_air_k_per_w"] is not None:
        # A sink that leaves the part hotter than it is without one is none.
        sink = min(sink, row["still_air_k_per_w"] - row["rthjc_k_per_w"] - row["rthcs_k_per_w"])
    return _three_down(sink) if math.isfinite(sink) and sink > 0.0 else None


def _three_down(value: float) -> float:
    """Round down to three significant digits: a sink as printed must do.

    Examples
    --------
    >>> _three_down(67.588), _three_down(3.999)
    (67.5, 3.99)
    """
    scale = 10.0 ** (2 - math.floor(math.log10(value)))
    return float(f"{math.floor(value * scale) / scale:.6g}")
