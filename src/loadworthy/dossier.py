"""What a report shows, gathered: a choice with its curves and arithmetic, a board mended, an order planned.

Nothing new is worked out here; results of the layers below are put side by side, so that a page needs no catalogue.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Any, Final

from loadworthy import statements
from loadworthy.bench.records import WORDS
from loadworthy.boards import audit
from loadworthy.boards.choosing import Mended, Replacement, mend
from loadworthy.boards.model import Board, Transistor
from loadworthy.derating import DeratingCurve, derating_curve
from loadworthy.explanation import Explanation, explain
from loadworthy.needs import ConnectorNeed, FuseNeed, Need, TransistorNeed
from loadworthy.operating import OperatingCurves, fitted_on, operating_curves
from loadworthy.selection import Selection, choose
from loadworthy.statements import HasConnection

if TYPE_CHECKING:
    from loadworthy.boards.outcome import Audit
    from loadworthy.shopping import Order, Plan

__all__ = [
    "BoardStudy",
    "ChoiceStudy",
    "OrderStudy",
    "curves_of",
    "study_board",
    "study_choice",
    "study_mended",
    "study_order",
    "study_plan",
]

#: Parts of a list whose curves are drawn.
DRAWN: Final = 3
_DERATED: Final = (ConnectorNeed, FuseNeed)
#: Verdict as it is kept → as a measurement says it.
_VERDICTS: Final = {word: verdict for verdict, word in WORDS.items()}


@dataclass(frozen=True, kw_only=True)
class ChoiceStudy:
    """A choice, and what there is to see of it.

    Attributes
    ----------
    title
        What it is for.
    selection
        The choice.
    curves
        The first parts over current, for transistors; None where there is nothing to draw.
    derating
        The first part over ambient, for connectors and fuses.
    explained
        The first part line by line; None where nothing fits.
    measured
        What was measured of the parts shown and kept, as findings, each with ``sample`` and where it came from.
    """

    title: str
    selection: Selection
    curves: OperatingCurves | None
    derating: DeratingCurve | None
    explained: Explanation | None
    measured: tuple[dict[str, Any], ...]

    def as_json(self) -> dict[str, Any]:
        """Return it as plain values."""
        return {
            "title": self.title,
            "family": self.selection.need.family,
            "choice": self.selection.as_json(),
            "curves": None if self.curves is None else self.curves.as_json(),
            "derating": None if self.derating is None else self.derating.as_json(),
            "explained": None if self.explained is None else self.explained.as_json(),
            "measured": list(self.measured),
        }


@dataclass(frozen=True, kw_only=True)
class BoardStudy:
    """A board as it is and, where a catalogue is at hand, with what can be done about it.

    Attributes
    ----------
    audit
        The board as it is.
    mended
        What is done about it and the board after that; None without a catalogue.
    choices
        One study for each replacement that was chosen from the catalogue.
    """

    audit: Audit
    mended: Mended | None
    choices: tuple[ChoiceStudy, ...]

    def as_json(self) -> dict[str, Any]:
        """Return it as plain values."""
        told = self.audit.as_json() if self.mended is None else self.mended.as_json()
        return {"board": told, "choices": [one.as_json() for one in self.choices]}


@dataclass(frozen=True, kw_only=True)
class OrderStudy:
    """A buying plan, and the choices behind those of its lines that say a need."""

    plan: Plan
    choices: tuple[ChoiceStudy, ...]

    def as_json(self) -> dict[str, Any]:
        """Return it as plain values."""
        return {"plan": self.plan.as_json(), "choices": [one.as_json() for one in self.choices]}


def curves_of(selection: Selection, *, board: Board | None = None, where: str = "") -> OperatingCurves | None:
    """Work out the curves of a choice, beside the part that is fitted where a board has one there.

    Parameters
    ----------
    selection
        The choice; only one of transistors has curves.
    board, where
        The board that it is for, and the place of the link in its file.
    """
    need = selection.need
    if not isinstance(need, TransistorNeed):
        return None
    fitted = None
    if board is not None and any(link.where == where and isinstance(link, Transistor) for link in board.links()):
        fitted = fitted_on(board, where)
    if not selection.ranked and fitted is None:
        return None
    return operating_curves(need, selection.ranked, first=DRAWN, fitted=fitted)


def study_choice(
    catalog: HasConnection,
    asked: Need | Selection,
    *,
    title: str,
    top: int = 10,
    near: int = 5,
    board: Board | None = None,
    where: str = "",
) -> ChoiceStudy:
    """Choose for a need, and gather what there is to see of the choice.

    Parameters
    ----------
    catalog
        The catalogue.
    asked
        The need, or a selection that was already made for one.
    title
        What it is for.
    top, near
        How many parts that fit, and how many near misses.
    board, where
        The board that it is for, and the place of the link in its file.

    Raises
    ------
    CatalogError
        The catalogue holds no parts of the family.
    """
    selection = asked if isinstance(asked, Selection) else choose(catalog, asked, top=top, near=near)
    need, first = selection.need, selection.ranked[0] if selection.ranked else None
    explained, derated = None, None
    if first is not None:
        explained = explain(catalog, first["part_number"], need, maker=first["maker"])
        if isinstance(need, _DERATED):
            derated = derating_curve(catalog, need, first)
    return ChoiceStudy(
        title=title,
        selection=selection,
        curves=curves_of(selection, board=board, where=where),
        derating=derated,
        explained=explained,
        measured=_measured(catalog, need.family, selection.ranked),
    )


def study_board(board: Board, catalog: HasConnection | None) -> BoardStudy:
    """Audit a board, choose for what falls short where a catalogue is at hand, and gather what there is to see.

    Parameters
    ----------
    board
        The board.
    catalog
        Where parts are chosen from; None for the audit alone.
    """
    if catalog is None:
        return BoardStudy(audit=audit(board), mended=None, choices=())
    return study_mended(mend(board, catalog), catalog)


def study_mended(mended: Mended, catalog: HasConnection) -> BoardStudy:
    """Gather what there is to see of a board for which parts were chosen already."""
    board = mended.before.board
    return BoardStudy(
        audit=mended.before,
        mended=mended,
        choices=tuple(
            study_choice(catalog, one.selection, title=one.label, board=board, where=one.where)
            for one in _chosen(mended.replacements)
            if one.selection is not None
        ),
    )


def _chosen(done: Sequence[Replacement]) -> list[Replacement]:
    """Keep the last choice for each place: a fuse may be chosen anew when what is behind it has changed."""
    last = {(one.where, one.kind): one for one in done if one.selection is not None}
    return list(last.values())


def study_order(order: Order, catalog: HasConnection, *, today: date, time_limit_s: float = 10.0) -> OrderStudy:
    """Plan an order, and gather the choices behind its lines.

    Parameters
    ----------
    order
        The order.
    catalog
        Whose offers it is planned with.
    today
        From when waits are counted.
    time_limit_s
        Time after which the best plan so far is taken.

    Raises
    ------
    OrderError
        A line asks for what the catalogue does not hold.
    """
    from loadworthy.shopping import plan  # noqa: PLC0415 - brings the solver in

    return study_plan(plan(catalog, order, today=today, time_limit_s=time_limit_s), order, catalog)


def study_plan(found: Plan, order: Order, catalog: HasConnection) -> OrderStudy:
    """Gather the choices behind the lines of an order that is planned already."""
    needs = [(number, line.need) for number, line in enumerate(order.lines, 1) if line.need is not None]
    return OrderStudy(
        plan=found,
        choices=tuple(
            study_choice(catalog, need, title=f"line {number} of the order: {need.family}") for number, need in needs
        ),
    )


def _measured(catalog: HasConnection, family: str, ranked: Sequence[Mapping[str, Any]]) -> tuple[dict[str, Any], ...]:
    """Return what was kept of parts, as a measurement says it."""
    if not ranked:
        return ()
    values = {
        "family": family,
        "part_key": [row["part_key"] for row in ranked],
        "part_number": [str(row["part_number"]).lower() for row in ranked],
    }
    asked = statements.bind("kept", statements.assemble("kept"), values)
    return tuple(_finding(row) for row in asked.rows(catalog.connection))


def _finding(row: Mapping[str, Any]) -> dict[str, Any]:
    low, high = row["low"], row["high"]
    return {
        "sample": f"{row['part_number']}, {row['sample'] or 'piece ' + str(row['piece'])}",
        "name": row["figure"],
        "title": str(row["figure"]).replace("_", " "),
        "unit": row["unit"],
        "value": row["value"],
        "uncertainty": None if row["value"] is None or low is None or high is None else (high - low) / 2.0,
        "low": low,
        "high": high,
        "claimed_least": row["claimed_least"],
        "claimed_most": row["claimed_most"],
        "claimed_by": f"kept {row['measured_on']}, from {row['supplier']}",
        "claimed_is_limit": True,
        "verdict": _VERDICTS[row["verdict"]],
        "shares": {},
        "assumed": [],
        "notes": [],
    }
