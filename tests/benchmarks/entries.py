"""One line of a supplier's list before it is put into any style, and numbers as texts that lose nothing."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

import pyarrow as pa
from population import GATE_LEVELS

__all__ = ["Column", "Entry", "entries", "plain", "stated"]

_FIGURES = (
    "vds_v", "vgs_max_v", "vgs_th_min_v", "vgs_th_typ_v", "vgs_th_max_v", "id_case_a", "id_case_hot_a",
    "id_ambient_a", "id_pulse_a", "pd_case_w", "pd_ambient_w", "rthja_k_per_w", "rthjc_k_per_w",
    "junction_max_degc", "qg_c", "qgd_c", "ciss_f", "rise_s", "fall_s",
)  # fmt: skip
_BREAKS = ((1, 1.0), (10, 0.84), (100, 0.69))


@dataclass(frozen=True, kw_only=True)
class Entry:
    """What one supplier says of one part, in SI; what it does not say is absent or None.

    Attributes
    ----------
    figures : dict of str to float
        By the names of the catalogue's columns; voltages and currents of P channels as magnitudes.
    rds_max, rds_typ : dict of float to float
        Gate voltage (V, magnitude) to on-resistance at 25 °C (Ω).
    rds_hot : float or None
        Maximum at 10 V with the junction at 125 °C (Ω).
    breaks : tuple of (int, float)
        From which number of pieces a piece has which price; empty where a price has to be asked for.
    stock_text : str or None
        Where the list writes its stock in another way than as a number.
    slips : dict of str to str
        What the list misprints: a figure's name (or ``rds_max:10``) to the text that stands in its cell.
    """

    maker: str
    part_number: str
    order_number: str
    channel: str
    package: str
    figures: dict[str, float]
    rds_max: dict[float, float]
    rds_typ: dict[float, float]
    rds_hot: float | None
    breaks: tuple[tuple[int, float], ...]
    stock: int
    stock_text: str | None = None
    least_quantity: int = 1
    life_cycle: str
    lead_time: str | None
    slips: dict[str, str] = field(default_factory=dict)


@dataclass(frozen=True, kw_only=True)
class Column:
    """One column of a list: its heading (one text a heading row), what it tells of a part, and how."""

    heading: tuple[str, ...]
    tells: tuple[str, ...]
    cell: Callable[[Entry], Any]


def plain(value: float, shift: int = 0) -> str:
    """Write ``value``·10^``shift`` in full, without losing or inventing a digit.

    >>> plain(0.0082, 3), plain(1.23e-9, 12), plain(120.0)
    ('8.2', '1230', '120')
    """
    number = Decimal(repr(value)).scaleb(shift)
    whole = number.to_integral_value()
    return format(whole if number == whole else number.normalize(), "f")


def _rounded(price: float) -> float:
    return max(round(price, 2), 0.01)


def _at_levels(row: dict[str, Any], stem: str) -> dict[float, float]:
    found = {volts: row[f"{stem}_{name}_ohm"] for volts, name in GATE_LEVELS.items()}
    return {volts: ohm for volts, ohm in found.items() if ohm is not None}


def _hot(row: dict[str, Any]) -> float | None:
    """Work the maximum at 10 V out for a junction at 125 °C, to three digits."""
    if not row["hot_told"] or row["rds_10v0_ohm"] is None:
        return None
    return float(f"{row['rds_10v0_ohm'] * ((125 + 273.15) / 298.15) ** row['hot_exponent']:.3g}")


def entries(table: pa.Table, *, order_prefix: str) -> list[Entry]:
    """Turn rows of the population into lines of a list; order numbers are counted through."""
    return [
        Entry(
            maker=row["maker"],
            part_number=row["part_number"],
            order_number=f"{order_prefix}{number:05d}",
            channel=row["channel"],
            package=row["package"],
            figures={name: row[name] for name in _FIGURES if row[name] is not None},
            rds_max=_at_levels(row, "rds"),
            rds_typ=_at_levels(row, "rds_typ"),
            rds_hot=_hot(row),
            breaks=tuple((pieces, _rounded(row["unit_price"] * share)) for pieces, share in _BREAKS),
            stock=row["stock"],
            life_cycle=row["life_cycle"],
            lead_time=None if row["lead_time_weeks"] is None else f"{row['lead_time_weeks']:.0f} weeks",
        )
        for number, row in enumerate(table.to_pylist(), start=1)
    ]


def stated(entry: Entry, columns: Sequence[Column]) -> dict[str, Any]:
    """Return exactly what a list with these columns states of ``entry``; misprinted figures are left out.

    Keys are those figures of ``entry`` that the columns tell, flattened, and ``rds_max``, ``rds_typ``,
    ``rds_hot``, ``maker``, ``part_number``, ``order_number``, ``channel``, ``package``, ``breaks``,
    ``stock``, ``stock_text``, ``least_quantity``, ``life_cycle``, ``lead_time``, ``slips`` where told.
    """
    told = [name for column in columns for name in column.tells]
    facts: dict[str, Any] = {"slips": entry.slips}
    for name in told:
        kind, _, level = name.partition(":")
        if name in entry.slips:
            continue
        if level:  # one column for each gate voltage
            volts = float(level)
            facts.setdefault(kind, {})
            if volts in getattr(entry, kind):
                facts[kind][volts] = getattr(entry, kind)[volts]
        elif name in entry.figures:
            facts[name] = entry.figures[name]
        elif hasattr(entry, name):
            facts[name] = getattr(entry, name)
    return facts
