"""What anything else carries: its rating as it stands."""

from __future__ import annotations

from loadworthy.boards.laws.base import Body, Conditions, Judgement, unheated
from loadworthy.boards.model import Plain

__all__ = ["body", "judge"]


def judge(link: Plain, conditions: Conditions) -> Judgement:
    """Say what the link carries: its rating, which is not derated for the air."""
    rated = link.rated_current_a
    return Judgement(
        usable_a=rated,
        ultimate_a=rated,
        governs="its rating as given",
        source="the board's file",
        unknown=None if rated is not None else "no rating is given",
        notes=("its rating is taken as it stands, whatever the air",),
    )


def body(link: Plain, conditions: Conditions, rms_a: float) -> Body:
    """Say what voltage the link takes; what it warms to is not known."""
    return unheated(link.resistance_ohm, conditions.ambient_degc, temperature_known=False)
