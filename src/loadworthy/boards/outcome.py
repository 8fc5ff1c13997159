"""What an audit gives: verdicts, lines, outputs and their bounds, as plain values too."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass
from typing import Any, Final

from loadworthy.boards.laws import Check
from loadworthy.boards.model import Board, Link, Output
from loadworthy.boards.protection import Protection

__all__ = ["CARRIES", "FALLS_SHORT", "NOT_KNOWN", "Audit", "AuditLine", "Bound", "OutputLine", "worst"]

CARRIES: Final = "carries"
FALLS_SHORT: Final = "falls short"
NOT_KNOWN: Final = "not known"


def worst(verdicts: Iterable[str]) -> str:
    """Return the worst of several verdicts; what is not known is worse than what carries.

    Examples
    --------
    >>> worst([CARRIES, NOT_KNOWN]), worst([NOT_KNOWN, FALLS_SHORT]), worst([])
    ('not known', 'falls short', 'carries')
    """
    found = set(verdicts)
    return next((verdict for verdict in (FALLS_SHORT, NOT_KNOWN) if verdict in found), CARRIES)


def _plain(value: float | None) -> float | None:
    return value if value is not None and math.isfinite(value) else None


@dataclass(frozen=True, kw_only=True)
class AuditLine:
    """One link against what it must carry.

    Attributes
    ----------
    link, group, shared, serves
        The link, the section or output that it stands in, whether it is a section, and the outputs that it serves.
    verdict
        ``carries``, ``falls short`` or ``not known``.
    current_a
        Greatest current that it must carry, at the worst corner of loads and supply.
    usable_a, ultimate_a
        What it may carry with margins, and what it stands without; None where that is not known.
    margin_a, used
        Usable less current, and current over usable.
    governs, source, unknown
        Which law and limit set the usable current, where it is from, or why it is not known.
    limit_degc
        The temperature that the law keeps to.
    settled_a, resistance_ohm, drop_v, loss_w, temperature_degc
        The link at rest on the nominal supply, as far as it is known.
    checks, assumed, notes
        What else it must meet, what the figures rest on, and what else is to be said.
    needs
        What a part in its place must do, with the units in the names; empty where the link carries.
    """

    link: Link
    group: str
    shared: bool
    serves: tuple[str, ...]
    verdict: str
    current_a: float
    usable_a: float | None
    ultimate_a: float | None
    margin_a: float | None
    used: float | None
    governs: str
    source: str
    unknown: str | None
    limit_degc: float | None
    settled_a: float | None
    resistance_ohm: float | None
    drop_v: float | None
    loss_w: float | None
    temperature_degc: float | None
    checks: tuple[Check, ...]
    assumed: tuple[str, ...]
    notes: tuple[str, ...]
    needs: Mapping[str, float | int | str]

    @property
    def where(self) -> str:
        """Its place in the board's file."""
        return self.link.where

    @property
    def label(self) -> str:
        """What to call it where links of several groups stand side by side."""
        return f"{self.group}: {self.link.name}"

    def as_json(self) -> dict[str, Any]:
        """Return it as plain values, with the SI units in the names."""
        return {
            "link": self.link.name,
            "kind": self.link.kind,
            "of": self.group,
            "shared": self.shared,
            "serves": list(self.serves),
            "where": self.where,
            "part": self.link.part,
            "verdict": self.verdict,
            "current_a": self.current_a,
            "usable_a": self.usable_a,
            "ultimate_a": self.ultimate_a,
            "margin_a": self.margin_a,
            "used": None if self.used is None else _plain(self.used),
            "governs": self.governs,
            "source": self.source,
            "unknown": self.unknown,
            "limit_degc": self.limit_degc,
            "settled_a": self.settled_a,
            "resistance_ohm": self.resistance_ohm,
            "drop_v": self.drop_v,
            "loss_w": self.loss_w,
            "temperature_degc": self.temperature_degc,
            "checks": [_check(check) for check in self.checks],
            "assumed": list(self.assumed),
            "notes": list(self.notes),
            "needs": dict(self.needs),
        }


def _check(check: Check) -> dict[str, Any]:
    return {**asdict(check), "has": _plain(check.has)}


@dataclass(frozen=True, kw_only=True)
class Bound:
    """The greatest load of an output.

    Attributes
    ----------
    current_a, stopped_by
        Greatest current, and the link that sets it; None where no link's limit is known.
    least_actual_ohm
        Least resistance that a load may really have: the high end of the supply over that current.
    least_resistance_ohm
        Least nominal resistance, with the load's tolerance taken off.
    least_cold_ohm
        The same as measured cold, where the load's cold resistance is given.
    greatest_power_w
        Power of that load at the nominal supply.
    """

    current_a: float | None
    stopped_by: str | None
    least_actual_ohm: float | None
    least_resistance_ohm: float | None
    least_cold_ohm: float | None
    greatest_power_w: float | None


@dataclass(frozen=True, kw_only=True)
class OutputLine:
    """One output with its whole path.

    Attributes
    ----------
    output, verdict
        The output, and the worst verdict of its path and its own checks.
    current_a, nominal_a
        Its load's current at the worst corner, and nominally without any drop.
    weakest, unknown
        The link that is used most, and those whose usable current is not known.
    alone, together
        The greatest load with all other outputs off, and with them at their loads.
    state, settled_a, load_v, load_w
        The path at rest on the nominal supply: current, and what reaches the load.
    low_load_v, low_load_w
        The same voltage and power at the low end of the supply.
    inrush_a, energy_j
        Current at switching on, and what an inductive load gives back at switching off.
    checks, notes
        What else must be met, and what else is to be said.
    """

    output: Output
    verdict: str
    current_a: float
    nominal_a: float
    weakest: str | None
    unknown: tuple[str, ...]
    alone: Bound
    together: Bound
    state: str
    settled_a: float | None
    load_v: float | None
    load_w: float | None
    low_load_v: float | None
    low_load_w: float | None
    inrush_a: float | None
    energy_j: float | None
    checks: tuple[Check, ...]
    notes: tuple[str, ...]

    def as_json(self) -> dict[str, Any]:
        """Return it as plain values, with the SI units in the names."""
        load = {name: value for name, value in asdict(self.output.load).items() if value is not None}
        return {
            "output": self.output.name,
            "fed_by": self.output.fed_by,
            "verdict": self.verdict,
            "load": load,
            "current_a": self.current_a,
            "nominal_a": self.nominal_a,
            "weakest": self.weakest,
            "unknown": list(self.unknown),
            "alone": asdict(self.alone),
            "together": asdict(self.together),
            "state": self.state,
            "settled_a": self.settled_a,
            "load_v": self.load_v,
            "load_w": self.load_w,
            "low_load_v": self.low_load_v,
            "low_load_w": self.low_load_w,
            "inrush_a": self.inrush_a,
            "energy_j": self.energy_j,
            "checks": [_check(check) for check in self.checks],
            "notes": list(self.notes),
        }


@dataclass(frozen=True, kw_only=True)
class Audit:
    """A whole board against its loads.

    Attributes
    ----------
    board, verdict
        The board, and the worst verdict of all.
    lines
        Every link once, the weakest first.
    outputs
        Every output, in the order of the file.
    all_current_a, all_power_w
        What all loads draw at once at the worst corner, and their power on the nominal supply without any drop.
    factor, factor_stopped_by
        By what all loads at once may be multiplied, and the link that sets it; None where no limit is known.
    protection
        What protects each output's path.
    assumed, cautions
        What the board's own figures rest on, and what to mind.
    """

    board: Board
    verdict: str
    lines: tuple[AuditLine, ...]
    outputs: tuple[OutputLine, ...]
    all_current_a: float
    all_power_w: float
    factor: float | None
    factor_stopped_by: str | None
    protection: tuple[Protection, ...]
    assumed: tuple[str, ...]
    cautions: tuple[str, ...]

    @property
    def carries(self) -> bool:
        """Whether everything carries what it must."""
        return self.verdict == CARRIES

    @property
    def failing(self) -> tuple[AuditLine, ...]:
        """The links that fall short or are not known, the weakest first."""
        return tuple(line for line in self.lines if line.verdict != CARRIES)

    def as_json(self) -> dict[str, Any]:
        """Return it as plain values, with the SI units in the names."""
        supply, air = self.board.supply, self.board.surroundings
        return {
            "title": self.board.title,
            "verdict": self.verdict,
            "supply": {**asdict(supply), "high_v": supply.high_v, "low_v": supply.low_v},
            "surroundings": asdict(air),
            "links": [line.as_json() for line in self.lines],
            "outputs": [
                {**line.as_json(), "path": [link.where for link in self.board.path(line.output)]}
                for line in self.outputs
            ],
            "together": {
                "current_a": self.all_current_a,
                "power_w": self.all_power_w,
                "factor": self.factor,
                "greatest_current_a": None if self.factor is None else self.factor * self.all_current_a,
                "greatest_power_w": None if self.factor is None else self.factor * self.all_power_w,
                "stopped_by": self.factor_stopped_by,
                "unknown": [line.label for line in self.lines if line.usable_a is None],
            },
            "replace": [
                {"link": line.link.name, "of": line.group, "kind": line.link.kind, "where": line.where,
                 "verdict": line.verdict, "needs": dict(line.needs)}
                for line in self.failing
            ],
            "protection": [one.as_json() for one in self.protection],
            "assumed": list(self.assumed),
            "cautions": list(self.cautions),
        }  # fmt: skip
