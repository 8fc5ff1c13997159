"""Transistors over current: conduction loss, heat, junction temperature, and where each of them runs away.

No law stands here: a candidate of a ranked list and the part that is fitted are both worked out by the functions that
the audit judges a transistor by.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final, TypeAlias

import numpy as np
import numpy.typing as npt

from loadworthy.boards.audit import conditions_at
from loadworthy.boards.laws import Conditions
from loadworthy.boards.laws import transistor as law
from loadworthy.boards.laws.base import greatest, known
from loadworthy.boards.model import Board, Output, Section, Transistor
from loadworthy.errors import UsageError
from loadworthy.needs import TransistorNeed

__all__ = [
    "Candidate",
    "OperatingCurve",
    "OperatingCurves",
    "OperatingPoint",
    "candidate_of",
    "fitted_on",
    "operating_curve",
    "operating_curves",
]

#: A current beyond which no board's part is looked at.
_MOST_A: Final = 1e5
#: Thermal runaway up to this × the target current is shown, and the axis goes on to at least so far.
_NEAR: Final = 2.0
_REACH: Final = 1.5
_POINTS: Final = 181

_Array: TypeAlias = npt.NDArray[np.float64]


@dataclass(frozen=True, kw_only=True)
class OperatingPoint:
    """A transistor at one current; None where a figure is not known."""

    current_a: float
    conduction_loss_w: float | None
    heat_w: float | None
    junction_degc: float | None

    def as_json(self) -> dict[str, float | None]:
        """Return it as plain values, with the SI units in the names."""
        return {
            "current_a": self.current_a,
            "conduction_loss_w": self.conduction_loss_w,
            "heat_w": self.heat_w,
            "junction_degc": self.junction_degc,
        }


@dataclass(frozen=True, kw_only=True)
class Candidate:
    """A transistor where it is to work: one of a ranked list, or the one that is fitted.

    Attributes
    ----------
    name, maker
        Its part number and maker; for one that is fitted what the board calls it.
    fitted
        Whether it is on the board now.
    figures, conditions
        Its figures, and what it meets.
    junction_limit_degc, heat_limit_w
        The temperature that its junction is kept below, and the most heat that it may make; None without such a limit.
    assumed
        What its figures rest on.
    """

    name: str
    maker: str | None
    fitted: bool
    figures: law.Figures
    conditions: Conditions
    junction_limit_degc: float
    heat_limit_w: float | None
    assumed: tuple[str, ...]

    @property
    def unknown(self) -> str | None:
        """Say what keeps its junction's temperature from being known; None where nothing does."""
        if math.isnan(self.figures.rds25_ohm):
            return "its on-resistance at this drive is not known"
        if self.figures.rth_k_per_w is None:
            return "its thermal resistance is not known"
        if not self.fitted and self.conditions.pwm_hz > 0.0 and self.figures.edges_s is None:
            return "its switching loss is not known"
        return None


def candidate_of(need: TransistorNeed, row: Mapping[str, Any]) -> Candidate:
    """Take a row of a ranked list as a candidate under its need."""
    asked, limits = need.as_json(), need.parameters()
    edges = row["edges_s"]
    figures = law.Figures(
        rds25_ohm=math.nan if row["rds25_ohm"] is None else row["rds25_ohm"],
        exponent=row["hot_exponent"],
        rth_k_per_w=row["rth_k_per_w"],
        junction_max_degc=row["junction_limit_degc"] + limits["junction_derate_k"],
        leaded=row["leaded"],
        # The loss is that of both edges together, whichever of them is the longer.
        edges_s=None if edges is None else (edges, 0.0),
        assumed=(),
        notes=(),
    )
    conditions = Conditions(
        ambient_degc=asked["ambient_degc"],
        coldest_degc=asked["ambient_degc"],
        supply_v=asked["supply_v"],
        supply_high_v=asked["supply_v"],
        duty=asked["duty"],
        pwm_hz=asked["pwm_hz"],
        inductive=asked["load"] == "inductive",
        clamped=not asked["unclamped"],
    )
    bounds = [asked["max_loss_w"]]
    # Where it is not known whether a package stands on leads, no more heat than leads take is sure to be well.
    if asked["heatsink_k_per_w"] is None and row["leaded"] is not False:
        bounds.append(limits["leaded_loss_w"])
    return Candidate(
        name=row["part_number"],
        maker=row["maker"],
        fitted=False,
        figures=figures,
        conditions=conditions,
        junction_limit_degc=row["junction_limit_degc"],
        heat_limit_w=min((bound for bound in bounds if bound is not None), default=None),
        assumed=tuple(row["assumed"]),
    )


def fitted_on(board: Board, where: str) -> Candidate:
    """Take a transistor as it is fitted on a board, by its place in the board's file.

    Raises
    ------
    UsageError
        No transistor is there.
    """
    groups: tuple[Section | Output, ...] = (*board.sections, *board.outputs)
    for group in groups:
        for link in group.links:
            if link.where == where and isinstance(link, Transistor):
                return _fitted(link, conditions_at(board, group))
    raise UsageError("there is no transistor.", where=where, way_out="Name the place of one in the board's file.")


def _fitted(link: Transistor, conditions: Conditions) -> Candidate:
    figures = law.figures_of(link, conditions)
    return Candidate(
        name=link.name if link.part is None else f"{link.name}, {link.part}",
        maker=link.maker,
        fitted=True,
        figures=figures,
        conditions=conditions,
        junction_limit_degc=law.junction_limit_degc(figures),
        heat_limit_w=law.heat_limit_w(figures, link),
        assumed=(*figures.assumed, *figures.notes),
    )


@dataclass(frozen=True, kw_only=True, eq=False)
class OperatingCurve:
    """A transistor's heat and junction temperature over current.

    Attributes
    ----------
    candidate
        The transistor.
    current_a
        The currents.
    conduction_loss_w, heat_w, junction_degc
        Conduction loss, all heat in the part, and its junction at each of them; nan where it runs away, or where that
        is not known.
    at_target
        The same at the target current; its figures are None where it runs away there.
    limit
        Where the junction reaches its limit; None where it does not, or that is not known.
    runaway
        The last current at which it comes to rest; None where it always does, or that is not known.
    unknown
        Why the junction's temperature is not known. The conduction loss is then that at the junction's limit.
    """

    candidate: Candidate
    current_a: _Array
    conduction_loss_w: _Array
    heat_w: _Array
    junction_degc: _Array
    at_target: OperatingPoint
    limit: OperatingPoint | None
    runaway: OperatingPoint | None
    unknown: str | None

    def as_json(self) -> dict[str, Any]:
        """Return it as plain values, with the SI units in the names."""
        part = self.candidate
        return {
            "name": part.name,
            "maker": part.maker,
            "fitted": part.fitted,
            "current_a": self.current_a.tolist(),
            "conduction_loss_w": [known(value) for value in self.conduction_loss_w],
            "heat_w": [known(value) for value in self.heat_w],
            "junction_degc": [known(value) for value in self.junction_degc],
            "at_target": self.at_target.as_json(),
            "runs_away_at_target": self.runs_away(self.at_target.current_a),
            "limit": None if self.limit is None else self.limit.as_json(),
            "runaway": None if self.runaway is None else self.runaway.as_json(),
            "junction_limit_degc": part.junction_limit_degc,
            "heat_limit_w": part.heat_limit_w,
            "unknown": self.unknown,
            "assumed": list(part.assumed),
        }

    def runs_away(self, current_a: float) -> bool:
        """Say whether it runs away at a current."""
        return self.runaway is not None and current_a > self.runaway.current_a


@dataclass(frozen=True, kw_only=True, eq=False)
class OperatingCurves:
    """Several transistors over the same currents.

    Attributes
    ----------
    target_a, ambient_degc
        The load's current, and the air.
    curves
        The parts in the order of their ranks, the fitted one last.
    left_out
        Parts without a curve, each with why.
    """

    target_a: float
    ambient_degc: float
    curves: tuple[OperatingCurve, ...]
    left_out: tuple[tuple[str, str], ...]

    def as_json(self) -> dict[str, Any]:
        """Return it as plain values, with the SI units in the names; the currents stand once."""
        each = [curve.as_json() for curve in self.curves]
        currents = each[0]["current_a"] if each else []
        return {
            "target_a": self.target_a,
            "ambient_degc": self.ambient_degc,
            "current_a": currents,
            "curves": [{name: value for name, value in one.items() if name != "current_a"} for one in each],
            "left_out": [{"name": name, "why": why} for name, why in self.left_out],
        }


def _at(part: Candidate, currents_a: _Array) -> tuple[_Array, ...]:
    """Return conduction loss, all heat and junction at currents, as far as they are known."""
    if part.unknown is not None:
        at_limit = law.conduction_w(part.figures, part.conditions, currents_a, part.junction_limit_degc)
        nothing = np.full(currents_a.shape, np.nan)
        return np.asarray(at_limit), nothing, nothing
    junction = law.junction_degc(part.figures, part.conditions, currents_a)
    conducted = law.conduction_w(part.figures, part.conditions, currents_a, junction)
    heat = conducted + law.switching_w(part.figures, part.conditions, currents_a)
    return np.asarray(conducted), np.asarray(heat), np.asarray(junction)


def _point(part: Candidate, current_a: float) -> OperatingPoint:
    conducted, heat, junction = (known(values[0]) for values in _at(part, np.array([current_a])))
    return OperatingPoint(current_a=current_a, conduction_loss_w=conducted, heat_w=heat, junction_degc=junction)


def _last(part: Candidate, most_degc: float) -> OperatingPoint | None:
    """Return the greatest current at which the junction comes to rest at no more than a temperature."""
    if part.unknown is not None:
        return None
    found = greatest(
        lambda current: bool(law.junction_degc(part.figures, part.conditions, current) <= most_degc), most=_MOST_A
    )
    return _point(part, found) if found < _MOST_A else None


def operating_curve(part: Candidate, *, target_a: float, currents_a: _Array | None = None) -> OperatingCurve:
    """Work out a transistor over current.

    Parameters
    ----------
    part
        The transistor where it is to work.
    target_a
        The load's current.
    currents_a
        The currents; where they are left out, from none to somewhat beyond what matters.
    """
    limit, runaway = _last(part, part.junction_limit_degc), _last(part, math.inf)
    if currents_a is None:
        currents_a = _axis(target_a, [point.current_a for point in (limit, runaway) if point is not None])
    conducted, heat, junction = _at(part, currents_a)
    return OperatingCurve(
        candidate=part,
        current_a=currents_a,
        conduction_loss_w=conducted,
        heat_w=heat,
        junction_degc=junction,
        at_target=_point(part, target_a),
        limit=limit,
        runaway=runaway,
        unknown=part.unknown,
    )


def _axis(target_a: float, turns_a: Iterable[float]) -> _Array:
    """Return currents up to beyond the target, and beyond every turn of a curve that is near it, these among them."""
    near = [turn for turn in turns_a if turn <= _NEAR * target_a]
    most = max(_REACH * target_a, 1.08 * max(near, default=0.0))
    return np.unique(np.concatenate([np.linspace(0.0, most, _POINTS), [target_a, *near]]))


def operating_curves(
    need: TransistorNeed, ranked: Sequence[Mapping[str, Any]], *, first: int = 3, fitted: Candidate | None = None
) -> OperatingCurves:
    """Work out the first of a ranked list over one range of current, and what is fitted now beside them.

    Parameters
    ----------
    need
        The need that they were ranked for.
    ranked
        The parts that fit, the best first, as :class:`~loadworthy.selection.Selection` gives them.
    first
        How many of them to take.
    fitted
        What is on the board now, see :func:`fitted_on`.
    """
    target_a = float(need.as_json()["current_a"])
    parts = [candidate_of(need, row) for row in ranked[:first]] + ([] if fitted is None else [fitted])
    drawn = [part for part in parts if not math.isnan(part.figures.rds25_ohm)]
    turns = [_last(part, most) for part in drawn for most in (part.junction_limit_degc, math.inf)]
    currents = _axis(target_a, [turn.current_a for turn in turns if turn is not None])
    return OperatingCurves(
        target_a=target_a,
        ambient_degc=need.as_json()["ambient_degc"],
        curves=tuple(operating_curve(part, target_a=target_a, currents_a=currents) for part in drawn),
        left_out=tuple((part.name, part.unknown or "") for part in parts if part not in drawn),
    )
