"""What a link of a board asks of a part in its place, as ``loadworthy choose`` takes it."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any, Final

from loadworthy.boards import draws
from loadworthy.boards.audit import COLDEST_DEGC
from loadworthy.boards.model import Board, Connector, Link, Load, Transistor, Wire

__all__ = ["diode_asked", "fuse_asked", "link_asked", "typed"]

#: How a typed quantity is written: its unit, and by what an SI value is multiplied.
_WRITTEN: Final = {"m": ("mm", 1e3), "m2": ("mm2", 1e6), "1": ("", 1.0)}
_DIGITS: Final = 6
#: What lies nearer to six digits than this does so but for the last bits of its arithmetic.
_WITHIN: Final = 1e-9


def typed(value: float, unit: str, *, careful: str = "") -> str:
    """Write a value as one types it, to six digits.

    Parameters
    ----------
    value, unit
        The value in its SI unit, and the unit.
    careful
        ``up`` or ``down`` where it must not come out below or above what it is; else it is rounded.

    Examples
    --------
    >>> typed(0.00508, "m"), typed(17.4824561, "A"), typed(0.6, "1")
    ('5.08mm', '17.4825A', '0.6')
    >>> typed(8.28947368, "A", careful="up"), typed(14.8270999, "A", careful="down"), typed(7.5, "A", careful="up")
    ('8.28948A', '14.827A', '7.5A')
    """
    written, factor = _WRITTEN.get(unit, (unit, 1.0))
    shown = value * factor
    if careful and shown and not math.isclose(shown, float(f"{shown:.{_DIGITS}g}"), rel_tol=_WITHIN):
        step = 10.0 ** (math.floor(math.log10(abs(shown))) - _DIGITS + 1)
        shown = step * (math.ceil(shown / step) if careful == "up" else math.floor(shown / step))
    return f"{shown:.{_DIGITS}g}{written}"


def _common(board: Board, current_a: float) -> dict[str, Any]:
    return {
        "supply": typed(board.supply.high_v, "V", careful="up"),
        "current": typed(current_a, "A", careful="up"),
        "ambient": typed(board.surroundings.ambient_degc, "degC"),
    }


def link_asked(
    link: Link, board: Board, current_a: float, load: Load | None, *, clamped: bool = True
) -> dict[str, Any] | None:
    """Say what a connector, a wire or a transistor has to be; None for what no family holds.

    Parameters
    ----------
    link
        The link.
    board
        The board that it is on.
    current_a
        What it must carry, at the worst corner of loads and supply.
    load
        The load that it serves alone; None where it serves several.
    clamped
        Whether a diode takes what an inductive load gives back.
    """
    asked = _common(board, current_a)
    if isinstance(link, Connector):
        optional = {
            "poles": None if link.poles is None else str(link.poles),
            "pitch": None if link.pitch_m is None else typed(link.pitch_m, "m"),
            "wire": link.wire,
            "contacts": None if link.contacts is None else str(link.contacts),
        }
    elif isinstance(link, Wire):
        optional = {
            "length": typed(link.length_m / 2.0, "m"),
            "strand": None if link.strand is None else "solid" if link.strand == "solid" else "stranded",
        }
    elif isinstance(link, Transistor):
        optional = _transistor(link, board, current_a, load, clamped=clamped)
    else:
        return None
    return asked | {name: value for name, value in optional.items() if value is not None}


def _transistor(
    link: Transistor, board: Board, current_a: float, load: Load | None, *, clamped: bool
) -> dict[str, Any]:
    sink, inductive = link.heatsink_k_per_w, load is not None and load.kind == "inductive"
    switched = _switched(load)
    gate = link.gate_resistance_ohm if switched else None
    return {
        "drive": None if link.drive_v is None else typed(link.drive_v, "V"),
        "package": None if link.package is None else (link.package,),
        "heatsink": None if sink is None else typed(sink + (link.pad_k_per_w or 0.0), "K/W"),
        "load": "inductive" if inductive else None,
        "unclamped": True if inductive and not clamped else None,
        "cold_resistance": _cold(board, current_a, load),
        "pin_resistance": None if gate is None else typed(gate, "ohm"),
        **switched,
    }


def _cold(board: Board, current_a: float, load: Load | None) -> str | None:
    """Say which resistance draws the inrush; None where the load draws no more cold than warm."""
    inrush = None if load is None else draws.inrush_a(load, board.supply)
    if inrush is None or inrush[0] <= current_a:
        return None
    return typed(board.supply.high_v / inrush[0], "ohm", careful="down")


def _switched(load: Load | None) -> dict[str, str]:
    if load is None or load.pwm_hz is None:
        return {}
    return {"pwm": typed(load.pwm_hz, "Hz"), "duty": typed(load.on_share, "1")}


def fuse_asked(
    board: Board,
    current_a: float,
    *,
    kind: str | None = None,
    weakest_a: float | None = None,
    fault_a: float | None = None,
) -> dict[str, Any]:
    """Say what a fuse has to be: what it carries, what it must break, and what stands behind it.

    Parameters
    ----------
    board, current_a
        The board, and what the fuse carries at the worst corner of loads and supply.
    kind
        Whether it melts or resets itself; None where both do.
    weakest_a
        What the weakest link behind it stands.
    fault_a
        Current into a short circuit; what the supply can give counts before it.
    """
    fault = fault_a if board.supply.most_current_a is None else board.supply.most_current_a
    optional = {
        "coldest": typed(board.surroundings.coldest(COLDEST_DEGC), "degC"),
        "type": kind,
        "fault": None if fault is None else typed(fault, "A", careful="up"),
        "weakest": None if weakest_a is None else typed(weakest_a, "A", careful="down"),
    }
    return _common(board, current_a) | {name: value for name, value in optional.items() if value is not None}


def diode_asked(board: Board, current_a: float, load: Load) -> Mapping[str, Any]:
    """Say what a freewheel diode has to be.

    Always on, or on for nobody knows how long, the load says nothing of the diode's mean: then no duty is asked.
    """
    switched = _switched(load)
    if load.on_share >= 1.0:
        switched.pop("duty", None)
    return _common(board, current_a) | switched
