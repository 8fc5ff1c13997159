"""The programme written out: its variables and rows, and whole pieces read back from a solution."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from loadworthy.errors import OrderError
from loadworthy.shopping.programme import GRAIN, Programme, Way
from loadworthy.shopping.solver import Clock, Found, Problem

__all__ = ["Model"]

#: So many choices of suppliers are solved one by one, and so many suppliers looked at in all choices.
_MOST_SETS = 500
_MOST_LOOKED_AT = 14


@dataclass(frozen=True)
class _Segment:
    """Part of a way: least and most pieces at one price, and the places of its variables."""

    least: int
    most: int
    price: float
    taken: int
    more: int | None


class Model:
    """Variables and rows of one programme."""

    def __init__(self, programme: Programme, shortfall: str) -> None:
        self.programme = programme
        self.shortfall = shortfall
        self.costs: list[float] = []
        self.lows: list[float] = []
        self.highs: list[float] = []
        self.whole: list[int] = []
        self.rows: list[tuple[dict[int, float], float, float]] = []
        self.segments: dict[int, list[_Segment]] = {}
        self.suppliers: dict[str, int] = {}
        self.shares: dict[tuple[int, int], int] = {}
        self.short: dict[int, int] = {}
        #: Of a first plan with the fewest parcels, who sends them.
        self.senders: set[int] = set()
        self._demands_short()
        supply = self._ways()
        self._met(supply)
        self._charges()
        self._offers()

    def variable(self, *, cost: float = 0.0, most: float = 1.0, whole: bool = True) -> int:
        """Add one variable from 0 up; return its place."""
        self.costs.append(cost)
        self.lows.append(0.0)
        self.highs.append(most)
        self.whole.append(1 if whole else 0)
        return len(self.costs) - 1

    def row(self, terms: Mapping[int, float], *, least: float = -math.inf, most: float = math.inf) -> None:
        """Add one row: the sum of the terms lies between."""
        self.rows.append((dict(terms), least, most))

    # -- what is wanted ------------------------------------------------------------------------------
    def _demands_short(self) -> None:
        for place, demand in enumerate(self.programme.demands):
            if self.shortfall == "pieces":
                self.short[place] = self.variable(most=demand.pieces)
            elif self.shortfall == "lines":
                self.short[place] = self.variable()

    def _met(self, supply: Mapping[int, Mapping[int, float]]) -> None:
        for place, demand in enumerate(self.programme.demands):
            terms = dict(supply.get(place, {}))
            if place in self.short:
                terms[self.short[place]] = 1.0 if self.shortfall == "pieces" else float(demand.pieces)
            self.row(terms, least=float(demand.pieces))

    # -- how it can be had ---------------------------------------------------------------------------
    def _ways(self) -> dict[int, dict[int, float]]:
        """Add every way; return for each demand the variables whose sum are the pieces that it gets."""
        programme = self.programme
        supply: dict[int, dict[int, float]] = {place: {} for place in range(len(programme.demands))}
        for place, way in enumerate(programme.ways):
            users = programme.users[place]
            if not users:
                continue
            wanted = sum(programme.demands[user].pieces for user in users)
            useful: dict[int, float] = {}
            for least, most, price in self._cut(way, wanted):
                segment = self._segment(way, least, most, price)
                self.segments.setdefault(place, []).append(segment)
                useful |= self._useful(segment, way, wanted)
            if place not in self.segments:
                continue
            self._supplied(place, way)
            if len(users) == 1:
                supply[users[0]] |= useful
                continue
            self._shared(place, users, useful, supply)
        return supply

    def _cut(self, way: Way, wanted: int) -> Iterator[tuple[int, int, float]]:
        """Cut what can be bought into segments of one price: least and most pieces, and the price.

        No segment goes across the pieces wanted: up to there every piece is of use, beyond none is.
        """
        step = way.multiple
        highest = self.programme.charges_of(way.supplier).highest
        enough: list[tuple[int, int, float]] = []
        for place, (start, price) in enumerate(way.breaks):
            least = max(math.ceil(start / step), 1) * step
            end = math.inf if place + 1 == len(way.breaks) else way.breaks[place + 1][0] - 1
            end = end if way.most is None else min(end, way.most)
            partly = int(min(end, wanted)) // step * step
            if least <= partly:
                yield least, partly, price
                if partly == wanted and highest <= 0.0:
                    continue  # beyond that there is only more at the same price
            least = max(least, (wanted // step + 1) * step)
            beyond = math.ceil(highest / price / step) * step if price > 0.0 else 0
            most = int(min(end, least + beyond)) // step * step
            if least <= most:
                enough.append((least, most, price))
        if enough:
            least, _, price = min(enough, key=lambda one: one[0] * one[2])
            # Beyond this it is cheaper to buy more of the cheapest until the highest step is reached.
            limit = max(least * price, highest + price * step)
            yield from (one for one in enough if one[0] * one[2] <= limit)

    def _segment(self, way: Way, least: int, most: int, price: float) -> _Segment:
        taken = self.variable(cost=least * price + way.fee)
        more = None
        if most > least:
            steps = (most - least) // way.multiple
            more = self.variable(cost=way.multiple * price, most=steps)
            self.row({more: 1.0, taken: -float(steps)}, most=0.0)
        return _Segment(least=least, most=most, price=price, taken=taken, more=more)

    def _useful(self, segment: _Segment, way: Way, wanted: int) -> dict[int, float]:
        """Return the terms that add up to the pieces of a segment that are of use."""
        if segment.least >= wanted:
            return {segment.taken: float(wanted)}
        more = {} if segment.more is None else {segment.more: float(way.multiple)}
        return {segment.taken: float(segment.least), **more}

    def _shared(
        self,
        place: int,
        users: Sequence[int],
        useful: Mapping[int, float],
        supply: dict[int, dict[int, float]],
    ) -> None:
        """Share the pieces of a way among several demands."""
        rest = {name: -factor for name, factor in useful.items()}
        taken = [segment.taken for segment in self.segments[place]]
        for user in users:
            pieces = self.programme.demands[user].pieces
            share = self.variable(most=pieces)
            self.shares[user, place] = share
            supply[user][share] = 1.0
            rest[share] = 1.0
            self.row({share: 1.0, **dict.fromkeys(taken, -float(pieces))}, most=0.0)
        self.row(rest, most=0.0)

    def _supplied(self, place: int, way: Way) -> None:
        if way.supplier not in self.suppliers:
            self.suppliers[way.supplier] = self.variable()
        taken = dict.fromkeys((segment.taken for segment in self.segments[place]), 1.0)
        self.row({**taken, self.suppliers[way.supplier]: -1.0}, most=0.0)
        if self.shortfall == "lines":
            # What is of use only to demands that are left out is not bought either.
            users = self.programme.users[place]
            self.row({**taken, **{self.short[user]: 1.0 for user in users}}, most=float(len(users)))

    def _offers(self) -> None:
        """Of one offer one way alone is taken."""
        offers: dict[int, dict[int, float]] = {}
        several: set[int] = set()
        for place, segments in self.segments.items():
            offer = self.programme.ways[place].offer
            if offer in offers:
                several.add(offer)
            offers.setdefault(offer, {}).update({segment.taken: 1.0 for segment in segments})
        for offer in sorted(several):
            self.row(offers[offer], most=1.0)

    # -- what is charged -----------------------------------------------------------------------------
    def _charges(self) -> None:
        values: dict[str, dict[int, float]] = {supplier: {} for supplier in self.suppliers}
        most: dict[str, float] = dict.fromkeys(self.suppliers, 0.0)
        for place, segments in self.segments.items():
            way = self.programme.ways[place]
            for segment in segments:
                values[way.supplier][segment.taken] = segment.least * segment.price + way.fee
                most[way.supplier] += segment.most * segment.price + way.fee
                if segment.more is not None:
                    values[way.supplier][segment.more] = way.multiple * segment.price
        for supplier, used in self.suppliers.items():
            self._steps(supplier, used, values[supplier], most[supplier])

    def _steps(self, supplier: str, used: int, value: Mapping[int, float], most: float) -> None:
        steps = self.programme.charges_of(supplier).steps
        if len(steps) == 1:
            start, charge = steps[0]
            self.costs[used] += charge
            if start > 0.0:
                self.row({**{name: min(amount, start) for name, amount in value.items()}, used: -start}, least=0.0)
            return
        chosen = [self.variable(cost=charge) for _, charge in steps]
        self.row({**dict.fromkeys(chosen, 1.0), used: -1.0}, least=0.0, most=0.0)
        for place, (start, _) in enumerate(steps):
            if start > 0.0:
                # No purchase need count for more than the step: this says the same of whole numbers, and more else.
                reached = {name: min(amount, start) for name, amount in value.items()}
                self.row({**reached, **dict.fromkeys(chosen[place:], -start)}, least=0.0)
        if any(later[1] > earlier[1] for earlier, later in itertools.pairwise(steps)):
            ends = [step[0] - GRAIN for step in steps[1:]] + [most]
            self.row({**value, **{name: -end for name, end in zip(chosen, ends, strict=True)}}, most=0.0)

    # -- solving -------------------------------------------------------------------------------------
    def objective(self, stage: str) -> list[float]:
        """Return what is made least."""
        if stage == "cost":
            return self.costs
        counted = self.short.values() if stage == "shortage" else self.suppliers.values()
        weights = [0.0] * len(self.costs)
        for name in counted if stage != "any" else ():
            weights[name] = 1.0
        return weights

    def hold(self, stage: str, values: Any) -> None:  # noqa: ANN401 - a numpy array
        """Keep what a stage has reached."""
        if stage == "parcels":
            self.senders = {place for place in self.suppliers.values() if values[place] > 0.5}
        weights = {name: weight for name, weight in enumerate(self.objective(stage)) if weight}
        reached = round(sum(values[name] * weight for name, weight in weights.items()))
        if weights:
            self.row(weights, most=float(reached))

    def within(self, wait_days: float) -> None:
        """Let only ways be used that are sent within so many days."""
        for place, segments in self.segments.items():
            kept = self.programme.ways[place].wait_days <= wait_days
            for segment in segments:
                self.highs[segment.taken] = 1.0 if kept else 0.0

    def solved(self, stage: str, clock: Clock) -> Found | None:
        """Solve one stage; None where it cannot be done."""
        if not self.costs:
            return Found([], proven=True, gap=0.0) if not self.programme.demands else None
        problem = Problem(self.objective(stage), self.highs, self.whole, self.rows)
        if stage != "cost":
            return problem.solved(clock)
        if not self.senders:
            return problem.narrowed(clock)
        # The fewest parcels leave few choices of suppliers, each of which is soon solved.
        return problem.among(list(self._sets()), clock)

    def fewest(self) -> bool:
        """Find the fewest parcels by looking at every choice of suppliers; false where that does not tell.

        It tells where demands share no ways, no least order stands in the way, and choices are few.
        """
        least = any(self.programme.charges_of(supplier).steps[0][0] > 0.0 for supplier in self.suppliers)
        if self.shortfall != "none" or self.shares or least or len(self.suppliers) > _MOST_LOOKED_AT:
            return False
        for count in range(len(self.suppliers) + 1):
            some = next(self._enough(count), None)
            if some is not None:
                self.senders = set(some)
                self.row(dict.fromkeys(self.suppliers.values(), 1.0), most=float(count))
                return True
        return False

    def _sets(self) -> Iterator[list[int]]:
        """Give the suppliers that send nothing, for each choice of as many as send at the least."""
        every = list(self.suppliers.values())
        if math.comb(len(every), len(self.senders)) > _MOST_SETS:
            yield []  # too many to look at one by one: all at once, beside one that is known
            yield [place for place in every if place not in self.senders]
            return
        for some in self._enough(len(self.senders)):
            yield [place for place in every if place not in some]

    def _enough(self, count: int) -> Iterator[tuple[int, ...]]:
        """Give the choices of so many suppliers that may have enough of everything."""
        names = {place: supplier for supplier, place in self.suppliers.items()}
        have: list[tuple[int, dict[str, int]]] = []
        for demand in self.programme.demands if self.shortfall == "none" else ():
            most: dict[int, tuple[str, int]] = {}
            for place in demand.ways:
                way = self.programme.ways[place]
                pieces = max(
                    (one.most for one in self.segments.get(place, ()) if self.highs[one.taken] > 0.0), default=0
                )
                most[way.offer] = (way.supplier, max(pieces, most.get(way.offer, ("", 0))[1]))
            held: dict[str, int] = {}
            for supplier, pieces in most.values():
                held[supplier] = held.get(supplier, 0) + pieces
            have.append((demand.pieces, held))
        for some in itertools.combinations(self.suppliers.values(), count):
            sellers = {names[place] for place in some}
            if all(sum(held.get(seller, 0) for seller in sellers) >= pieces for pieces, held in have):
                yield some

    def solution(self, values: Any) -> tuple[dict[int, int], dict[tuple[int, int], int], tuple[int, ...]]:  # noqa: ANN401
        """Read a solution in whole pieces: what is bought, who gets it, and what is missing."""
        bought: dict[int, int] = {}
        for place, segments in self.segments.items():
            for segment in segments:
                if values[segment.taken] > 0.5:
                    more = 0 if segment.more is None else round(values[segment.more])
                    bought[place] = segment.least + more * self.programme.ways[place].multiple
        wants = [demand.pieces for demand in self.programme.demands]
        if self.shortfall == "lines":
            wants = [0 if values[self.short[place]] > 0.5 else pieces for place, pieces in enumerate(wants)]
        allotted: dict[tuple[int, int], int] = {}
        left = dict(bought)
        for (user, place), share in self.shares.items():
            pieces = min(round(values[share]), left.get(place, 0), wants[user])
            if pieces:
                allotted[user, place] = pieces
                left[place] -= pieces
                wants[user] -= pieces
        for user, demand in enumerate(self.programme.demands):
            for place in demand.ways:
                pieces = min(left.get(place, 0), wants[user])
                if pieces:
                    allotted[user, place] = allotted.get((user, place), 0) + pieces
                    left[place] -= pieces
                    wants[user] -= pieces
        got = [0] * len(wants)
        for (user, _), pieces in allotted.items():
            got[user] += pieces
        missing = tuple(demand.pieces - got[user] for user, demand in enumerate(self.programme.demands))
        if self.shortfall == "none" and any(missing):
            raise OrderError(
                "the quantities are too great to be planned exactly.", way_out="Plan them in smaller lots."
            )
        return bought, allotted, missing
