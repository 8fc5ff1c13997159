"""What to buy where, as a mixed-integer programme: numbers in, numbers out, nothing of parts or catalogues.

Here is what the programme is about; :mod:`~loadworthy.shopping.model` writes it out, and
:mod:`~loadworthy.shopping.solving` finds the answer.

The programme
-------------
A *way* is one offer as it can be had: from stock, or to order with a wait. Its price breaks cut the pieces that
one can buy into segments; in each the price of a piece is the same. A *demand* is a number of pieces that any of
some ways can give. A supplier whose ways are used sends one parcel, and charges for it by the value of the order.

Variables, for a segment k of a way w, a supplier s and a step j of its charges, and a demand d:

==========  ==========================================================================================
z[w,k]      1 where the way is bought in that segment
m[w,k]      multiples bought beyond the segment's least, so that q[w,k] = least·z + multiple·m
y[w,k]      pieces of q that are of use, y ≤ q, y ≤ z·(pieces wanted of the way)
x[d,w]      pieces of a way that several demands share which go to one of them, Σd x ≤ Σk y
u[s]        1 where the supplier is bought from
t[s,j]      1 where its charges are those of the step, Σj t = u
short[d]    pieces, or whole demands, that are not had (only where that is allowed)
==========  ==========================================================================================

=====================================================================  ===============================
Σ pieces of use for d + short[d] ≥ pieces of d                         every demand is met
m[w,k] ≤ (most − least)/multiple · z[w,k];  Σ z over an offer ≤ 1      one segment, one way of an offer
Σk z[w,k] ≤ u[s]                                                       who sells sends a parcel
Σj from[j]·t[s,j] ≤ value of the order at s (≤ Σj to[j]·t[s,j])        the charges are those of the value
=====================================================================  ===============================

The second half of the last row is needed only where charges rise with the value. The first step of the charges
starts at the least order value, so that an order below it cannot be. The cost is Σ price·q + fee·z + charge·t.

More pieces than are wanted are worth buying up to the next break, up to a multiple, and to reach a step of the
charges. Beyond the pieces wanted, pieces for the value of the supplier's highest step reach all of them, so that
more need not be looked at: this bounds every segment.

Aims are served one after another, each held while the next is sought: least shortfall, then fewest parcels or the
shortest wait, then the least cost.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Final

__all__ = [
    "AIMS",
    "GRAIN",
    "SHORTFALLS",
    "Charges",
    "Demand",
    "Programme",
    "Solution",
    "Way",
    "charged",
    "goods",
    "price_at",
    "sums",
]

#: What a plan can be for.
AIMS: Final = ("cheapest", "fewest parcels", "soonest")
#: What becomes of a demand that cannot be met: no plan; it is left out; as many pieces as there are.
SHORTFALLS: Final = ("none", "lines", "pieces")

#: The smallest amount that is told from another, a hundredth of a cent.
GRAIN: Final = 1e-4


@dataclass(frozen=True, kw_only=True)
class Way:
    """One offer as it can be had.

    Attributes
    ----------
    offer
        Which offer it is: ways of one and the same offer exclude one another.
    supplier
        Who sells it.
    breaks
        From how many pieces up a piece costs what, the quantities rising; the first is the least that is sold.
    multiple
        Pieces are sold in multiples of this.
    most
        Pieces that there are; None for as many as one wants.
    fee
        What is charged once, such as for a reel.
    wait_days
        Until it is sent; infinite where that is not known.
    """

    offer: int
    supplier: str
    breaks: tuple[tuple[int, float], ...]
    multiple: int = 1
    most: int | None = None
    fee: float = 0.0
    wait_days: float = 0.0


@dataclass(frozen=True, kw_only=True)
class Demand:
    """Pieces that are wanted, and the ways (by their places) that can give them."""

    pieces: int
    ways: tuple[int, ...]


@dataclass(frozen=True, kw_only=True)
class Charges:
    """What a supplier charges beside the goods: (order value from which it holds, charge), values rising.

    The first value is the least that an order may be worth.
    """

    steps: tuple[tuple[float, float], ...] = ((0.0, 0.0),)

    @property
    def highest(self) -> float:
        """The order value beyond which nothing changes."""
        return self.steps[-1][0]

    def at(self, value: float) -> float | None:
        """Return the charge on an order of a value; None where no such order is taken."""
        found = [charge for start, charge in self.steps if start <= value + GRAIN / 2]
        return found[-1] if found else None


@dataclass(frozen=True, kw_only=True)
class Programme:
    """What is wanted, and how it can be had. A supplier without charges sends for nothing."""

    ways: tuple[Way, ...]
    demands: tuple[Demand, ...]
    charges: Mapping[str, Charges] = field(default_factory=dict)

    def charges_of(self, supplier: str) -> Charges:
        """Return a supplier's charges."""
        return self.charges.get(supplier, Charges())

    @cached_property
    def users(self) -> tuple[tuple[int, ...], ...]:
        """The demands that each way can serve."""
        found: list[list[int]] = [[] for _ in self.ways]
        for place, demand in enumerate(self.demands):
            for way in demand.ways:
                found[way].append(place)
        return tuple(map(tuple, found))


@dataclass(frozen=True, kw_only=True)
class Solution:
    """What to buy.

    Attributes
    ----------
    bought
        Way → pieces.
    allotted
        (demand, way) → pieces of the way that go to the demand.
    missing
        For each demand the pieces that it does not get.
    cost
        Goods, fees and charges together.
    proven
        Whether no other plan serves the aims better.
    gap
        Where it is not proven, by what share a better one could cost less at most; None where not even that is known.
    """

    bought: Mapping[int, int]
    allotted: Mapping[tuple[int, int], int]
    missing: tuple[int, ...]
    cost: float
    proven: bool
    gap: float | None = 0.0


def price_at(way: Way, pieces: int) -> float | None:
    """Return what one piece costs where so many are bought; None where so few are not sold.

    Examples
    --------
    >>> way = Way(offer=0, supplier="Thistledown", breaks=((1, 0.5), (10, 0.4)))
    >>> price_at(way, 9), price_at(way, 10), price_at(way, 0)
    (0.5, 0.4, None)
    """
    found = [price for quantity, price in way.breaks if quantity <= pieces]
    return found[-1] if found else None


def goods(way: Way, pieces: int) -> float:
    """Return what so many pieces cost, with the fee.

    Raises
    ------
    ValueError
        So few are not sold.
    """
    price = price_at(way, pieces)
    if price is None:
        raise ValueError(f"{pieces} pieces are not sold")
    return price * pieces + way.fee


def sums(programme: Programme, bought: Mapping[int, int]) -> dict[str, float]:
    """Return the value of the order at each supplier that is bought from."""
    values: dict[str, float] = {}
    for place, pieces in bought.items():
        way = programme.ways[place]
        values[way.supplier] = values.get(way.supplier, 0.0) + goods(way, pieces)
    return values


def charged(programme: Programme, bought: Mapping[int, int]) -> float | None:
    """Return what a purchase costs in all; None where a supplier does not take an order so small."""
    total = 0.0
    for supplier, value in sums(programme, bought).items():
        charge = programme.charges_of(supplier).at(value)
        if charge is None:
            return None
        total += value + charge
    return total
