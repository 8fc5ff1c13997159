"""The best plan found by trying every purchase: slow, and without any programme to get wrong."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from itertools import combinations, product

from loadworthy.shopping.programme import Programme, Way


def _price(way: Way, pieces: int) -> float | None:
    price = None
    for quantity, each in way.breaks:
        if pieces >= quantity:
            price = each
    return price


def purchases_of(programme: Programme, place: int) -> Iterator[int]:
    """Give every number of pieces of one way that can be of use; none first."""
    way = programme.ways[place]
    wanted = sum(demand.pieces for demand in programme.demands if place in demand.ways)
    yield 0
    if not wanted:
        return
    steps = programme.charges[way.supplier].steps if way.supplier in programme.charges else ((0.0, 0.0),)
    cheapest = min(price for _, price in way.breaks)
    most = max([wanted, *(quantity for quantity, _ in way.breaks)]) + math.ceil(steps[-1][0] / cheapest) + way.multiple
    for pieces in range(1, most + 1):
        sold = pieces % way.multiple == 0 and _price(way, pieces) is not None
        if sold and (way.most is None or pieces <= way.most):
            yield pieces


def shortage(programme: Programme, bought: Mapping[int, int], left_out: Sequence[int] = ()) -> int:
    """Return how many pieces are missing at the least (by Hall's theorem with deficiency)."""
    asked = [place for place in range(len(programme.demands)) if place not in left_out]
    worst = 0
    for size in range(1, len(asked) + 1):
        for some in combinations(asked, size):
            ways = {way for place in some for way in programme.demands[place].ways}
            have = sum(bought.get(way, 0) for way in ways)
            worst = max(worst, sum(programme.demands[place].pieces for place in some) - have)
    return worst


def cost_of(programme: Programme, bought: Mapping[int, int]) -> tuple[float, int] | None:
    """Return what a purchase costs and how many parcels it takes; None where it cannot be."""
    values: dict[str, float] = {}
    offers: set[int] = set()
    for place, pieces in bought.items():
        if not pieces:
            continue
        way = programme.ways[place]
        if way.offer in offers:
            return None
        offers.add(way.offer)
        price = _price(way, pieces)
        assert price is not None
        values[way.supplier] = values.get(way.supplier, 0.0) + price * pieces + way.fee
    total = 0.0
    for supplier, value in values.items():
        charge = None
        for start, each in programme.charges[supplier].steps if supplier in programme.charges else ((0.0, 0.0),):
            if value >= start - 1e-9:
                charge = each
        if charge is None:
            return None
        total += value + charge
    return total, len(values)


def best(programme: Programme, *, aim: str = "cheapest", shortfall: str = "none") -> tuple[float, ...] | None:
    """Return what the best plan reaches: (shortfall, parcels or wait or 0, cost); None where there is no plan."""
    places = range(len(programme.ways))
    found: tuple[float, ...] | None = None
    for amounts in product(*(list(purchases_of(programme, place)) for place in places)):
        bought = {place: pieces for place, pieces in enumerate(amounts) if pieces}
        told = cost_of(programme, bought)
        if told is None:
            continue
        missing = _missing(programme, bought, shortfall)
        if missing is None:
            continue
        second = 0.0
        if aim == "fewest parcels":
            second = float(told[1])
        elif aim == "soonest":
            second = max((programme.ways[place].wait_days for place in bought), default=-1.0)
        rank = (float(missing), second, round(told[0], 6))
        if found is None or rank < found:
            found = rank
    return found


def _missing(programme: Programme, bought: Mapping[int, int], shortfall: str) -> int | None:
    if shortfall == "pieces":
        return shortage(programme, bought)
    if shortfall == "none":
        return None if shortage(programme, bought) else 0
    every = range(len(programme.demands))
    for size in range(len(programme.demands) + 1):
        for left_out in combinations(every, size):
            # What only demands that are left out could use is not bought.
            idle = [
                way
                for way in bought
                if not any(way in programme.demands[one].ways for one in every if one not in left_out)
            ]
            if not idle and not shortage(programme, bought, left_out):
                return size
    return None
