"""A buying plan: what to buy where at what total, what each choice beat, and why a line cannot be had."""

from __future__ import annotations

import datetime
import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Any, Final

from loadworthy.errors import UsageError
from loadworthy.shopping.buying import Market, charge_on, market
from loadworthy.shopping.offers import wanted
from loadworthy.shopping.order import Order
from loadworthy.shopping.programme import Charges, Solution, sums
from loadworthy.shopping.solving import solve
from loadworthy.shopping.telling import amount_of, told
from loadworthy.statements import HasConnection

__all__ = ["Plan", "plan"]

_ROUNDS: Final = 4


@dataclass(frozen=True, kw_only=True)
class Plan:
    """What to buy.

    Attributes
    ----------
    verdict
        ``planned``; ``short`` where not all can be had and that was allowed; ``impossible`` where it was not.
    result
        Everything as plain values: see :meth:`as_json`.
    """

    verdict: str
    result: Mapping[str, Any]

    @property
    def complete(self) -> bool:
        """Whether every line gets all its pieces."""
        return self.verdict == "planned"

    def as_json(self) -> dict[str, Any]:
        """Return it as plain values; amounts are in the order's currency, waits in days."""
        return dict(self.result)


def plan(
    catalog: HasConnection,
    order: Order,
    *,
    today: datetime.date,
    time_limit_s: float = 10.0,
) -> Plan:
    """Find what to buy for an order.

    Parameters
    ----------
    catalog
        The catalogue; only its ``connection`` is used.
    order
        The order.
    today
        The day on which prices count as old or not.
    time_limit_s
        Seconds after which the best plan so far is taken.

    Raises
    ------
    OrderError
        A line names what the catalogue does not hold, a rate is missing, or the time was up before any plan was found.
    UsageError
        The time limit is none.
    """
    if not 0.0 < time_limit_s < math.inf:
        raise UsageError(
            f"{time_limit_s:g} s is no time limit.", where="--time-limit", way_out="Write it like 10s, above 0."
        )
    found = wanted(catalog, order)
    offered = market(order, found)
    solution = _solved(offered, order, order.shortfall, time_limit_s)
    verdict = "impossible"
    if solution is not None:
        verdict = "short" if any(solution.missing) else "planned"
    else:
        # What could be had shows which lines stand in the way.
        solution = _solved(offered, order, "pieces", time_limit_s)
    result = told(order, found, offered, solution=solution, verdict=verdict, today=today)
    return Plan(verdict=verdict, result=result)


def _solved(offered: Market, order: Order, shortfall: str, time_limit_s: float) -> Solution | None:
    """Solve the programme; where cents that are rounded away spoil a step of the charges, once more with some room."""
    programme = offered.programme
    for _ in range(_ROUNDS):
        solution = solve(programme, aim=order.aim, shortfall=shortfall, time_limit_s=time_limit_s)
        if solution is None:
            return None
        solution = _from_stock(offered, solution)
        spoilt = _spoilt(offered, order, solution)
        if not spoilt:
            return solution
        charges = dict(programme.charges)
        for supplier, room in spoilt.items():
            steps = charges[supplier].steps
            charges[supplier] = Charges(steps=tuple((start + room if start else start, fee) for start, fee in steps))
        programme = replace(programme, charges=charges)
    return solution


def _from_stock(offered: Market, solution: Solution) -> Solution:
    """Take from stock what an offer has there: it costs the same as to order, so that the programme may take either."""
    ways = offered.programme.ways
    stocked = {way.offer: (place, way.most) for place, way in enumerate(ways) if way.most is not None}
    instead = {}
    for place, pieces in solution.bought.items():
        other, most = stocked.get(ways[place].offer, (place, 0))
        instead[place] = other if ways[place].most is None and pieces <= most else place
    return replace(
        solution,
        bought={instead[place]: pieces for place, pieces in solution.bought.items()},
        allotted={(line, instead[place]): pieces for (line, place), pieces in solution.allotted.items()},
    )


def _spoilt(offered: Market, order: Order, solution: Solution) -> dict[str, float]:
    """Return suppliers whose order, rounded line by line, is charged more than the programme has it."""
    exact = sums(offered.programme, solution.bought)
    rounded: dict[str, Decimal] = {}
    for way, pieces in solution.bought.items():
        supplier = offered.programme.ways[way].supplier
        rounded[supplier] = rounded.get(supplier, Decimal(0)) + amount_of(offered.buyables[way], pieces)
    found: dict[str, float] = {}
    for supplier, value in exact.items():
        planned = offered.programme.charges_of(supplier).at(value)
        charge = charge_on(offered.terms[supplier], rounded[supplier], currency=offered.currency, rates=order.rates)
        if charge is None or (planned is not None and float(sum(charge)) > planned + 1e-4):
            found[supplier] = max(value - float(rounded[supplier]), 0.0) + 0.01
    return found
