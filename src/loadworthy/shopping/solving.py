"""What to buy where, found: the aims one after another, each held while the next is sought."""

from __future__ import annotations

import math
from collections.abc import Iterator

from loadworthy.shopping.model import Model
from loadworthy.shopping.programme import Programme, Solution, charged
from loadworthy.shopping.solver import Clock

__all__ = ["solve"]


def solve(
    programme: Programme, *, aim: str = "cheapest", shortfall: str = "none", time_limit_s: float = 10.0
) -> Solution | None:
    """Find what to buy.

    Parameters
    ----------
    programme
        What is wanted, and how it can be had.
    aim
        One of :data:`AIMS`; of the plans that serve it alike the cheapest.
    shortfall
        One of :data:`SHORTFALLS`.
    time_limit_s
        Seconds after which the best plan so far is taken.

    Returns
    -------
    Solution or None
        None where the demands cannot all be met (and no shortfall is allowed).

    Raises
    ------
    OrderError
        The time was up before any plan was found.

    Examples
    --------
    Two parts, the second dearer where the first is cheap, but not by a parcel:

    >>> from loadworthy.shopping.programme import Charges, Demand, Way
    >>> ways = (
    ...     Way(offer=0, supplier="A", breaks=((1, 1.0),)),
    ...     Way(offer=1, supplier="A", breaks=((1, 1.4),)),
    ...     Way(offer=2, supplier="B", breaks=((1, 1.0),)),
    ... )
    >>> wanted = (Demand(pieces=10, ways=(0,)), Demand(pieces=10, ways=(1, 2)))
    >>> parcel = Charges(steps=((0.0, 4.9),))
    >>> found = solve(Programme(ways=ways, demands=wanted, charges={"A": parcel, "B": parcel}))
    >>> dict(found.bought), round(found.cost, 2), found.proven
    ({0: 10, 1: 10}, 28.9, True)
    """
    clock = Clock(time_limit_s)
    model = Model(programme, shortfall)
    proven, gap = True, 0.0
    for stage in _stages(model, aim, shortfall):
        if stage == "wait":
            if not _shorten_wait(model, clock):
                return None
            continue
        if stage == "parcels" and model.fewest():
            continue
        found = model.solved(stage, clock)
        if found is None:
            return None
        if stage != "cost":
            proven = proven and found.proven
            model.hold(stage, found.values)
            continue
        solution = model.solution(found.values)
        gap = found.gap if found.gap is not None else math.inf
        finished = proven and found.proven
        return Solution(
            bought=solution[0],
            allotted=solution[1],
            missing=solution[2],
            cost=charged(programme, solution[0]) or 0.0,
            proven=finished,
            gap=0.0 if finished else (gap if math.isfinite(gap) and proven else None),
        )
    return None


def _stages(model: Model, aim: str, shortfall: str) -> Iterator[str]:
    if shortfall != "none":
        yield "shortage"
    if aim == "fewest parcels":
        yield "parcels"
    if aim == "soonest":
        yield "wait"
    yield "cost"


def _shorten_wait(model: Model, clock: Clock) -> bool:
    """Find the shortest wait with which there is a plan, and hold it."""
    waits = sorted({model.programme.ways[place].wait_days for place in model.segments})
    if not waits:
        return True  # nothing can be bought: whether that will do is told by the next stage
    low, high = 0, len(waits) - 1
    model.within(waits[high])
    if model.solved("any", clock) is None:
        return False
    while low < high:
        middle = (low + high) // 2
        model.within(waits[middle])
        if model.solved("any", clock) is None:
            low = middle + 1
        else:
            high = middle
    model.within(waits[low])
    return True
