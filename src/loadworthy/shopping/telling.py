"""A plan in plain values: every purchase with what it beat, every line with why it cannot be had, sums and remarks."""

from __future__ import annotations

import datetime
import math
from collections.abc import Iterator, Sequence
from decimal import Decimal
from typing import Any, Final

from loadworthy.needs import cautions
from loadworthy.shopping.buying import NO_CURRENCY, Buyable, Market, charge_on
from loadworthy.shopping.forgotten import forgotten
from loadworthy.shopping.money import cents
from loadworthy.shopping.offers import Candidate, Wanted
from loadworthy.shopping.order import Order, OrderLine
from loadworthy.shopping.programme import Solution, charged, goods, sums
from loadworthy.shopping.rivals import alone, cheapest_pieces, line_by_line, swapped

__all__ = ["amount_of", "told"]

#: Prices of lists older than this may have changed (common practice).
_OLD_DAYS: Final = 30
_SHOWN_REASONS: Final = 6
#: Differences below this are no difference.
_NOTHING: Final = 0.005


def told(
    order: Order,
    found: Sequence[Wanted],
    offered: Market,
    *,
    solution: Solution | None,
    verdict: str,
    today: datetime.date,
) -> dict[str, Any]:
    """Return a plan as plain values.

    Parameters
    ----------
    order, found, offered
        What is wanted, and what may be bought.
    solution
        What to buy; where the verdict is ``impossible``, the most that could be had.
    verdict
        ``planned``, ``short`` or ``impossible``.
    today
        The day on which prices count as old or not.
    """
    return _Teller(order, found, offered, solution=solution, verdict=verdict, today=today).told()


def _price(buyable: Buyable, pieces: int) -> Decimal:
    return [price for quantity, price in buyable.breaks if quantity <= pieces][-1]


def amount_of(buyable: Buyable, pieces: int) -> Decimal:
    """Return what a line costs, as it is shown."""
    return cents(_price(buyable, pieces) * pieces + buyable.fee)


class _Teller:
    """Turns a solution into what people are told."""

    def __init__(
        self,
        order: Order,
        found: Sequence[Wanted],
        offered: Market,
        *,
        solution: Solution | None,
        verdict: str,
        today: datetime.date,
    ) -> None:
        self.order, self.found, self.offered, self.today = order, found, offered, today
        self.verdict = verdict
        self.reached = solution
        #: Nothing is bought where not all can be had and that was not allowed.
        self.bought = dict(solution.bought) if solution and verdict != "impossible" else {}
        self.allotted = dict(solution.allotted) if solution and verdict != "impossible" else {}
        self.lines_of: dict[int, list[tuple[int, int]]] = {}
        for (line, way), pieces in self.allotted.items():
            self.lines_of.setdefault(way, []).append((line, pieces))
        self.money: dict[str, dict[str, Decimal]] = {}

    def told(self) -> dict[str, Any]:
        """Put everything together."""
        suppliers = self._suppliers()
        total = sum((each["total"] for each in self.money.values()), Decimal(0))
        solution = self.reached
        complete = self.verdict != "impossible" and solution is not None
        return {
            "title": self.order.title,
            "currency": self.offered.currency,
            "boards": self.order.boards,
            "aim": self.order.aim,
            "verdict": self.verdict,
            "proven": bool(complete and solution and solution.proven),
            "gap": solution.gap if complete and solution else None,
            "suppliers": suppliers,
            "lines": list(self._lines()),
            "totals": {
                **{
                    name: float(sum((each[name] for each in self.money.values()), Decimal(0)))
                    for name in ("goods", "shipping", "handling", "tax")
                },
                "total": float(total),
                "per_board": float(cents(total / self.order.boards)),
                "parcels": len(suppliers),
            },
            "compared": self._compared(float(total)) if complete else [],
            "forgotten": forgotten(self._parts_bought()),
            "assumed": self._assumed(),
            "cautions": self._cautions(),
        }

    # -- what is bought ------------------------------------------------------------------------------
    def _suppliers(self) -> list[dict[str, Any]]:
        told = []
        for supplier in sorted({self.offered.programme.ways[way].supplier for way in self.bought}):
            own = sorted(
                (way for way in self.bought if self.offered.programme.ways[way].supplier == supplier),
                key=lambda way: min(self.lines_of.get(way, [(len(self.found), 0)])),
            )
            value = sum((amount_of(self.offered.buyables[way], self.bought[way]) for way in own), Decimal(0))
            terms = self.offered.terms[supplier]
            charge = charge_on(terms, value, currency=self.offered.currency, rates=self.order.rates)
            shipping, handling = (cents(each) for each in charge or (Decimal(0), Decimal(0)))
            net = value + shipping + handling
            tax = cents(net * terms.tax) if self.order.tax and terms and terms.tax is not None else Decimal(0)
            self.money[supplier] = {
                "goods": value, "shipping": shipping, "handling": handling, "tax": tax, "total": net + tax
            }  # fmt: skip
            told.append(
                {
                    "supplier": supplier,
                    "lines": [self._row(way) for way in own],
                    **{name: float(amount) for name, amount in self.money[supplier].items()},
                    "tax_rate": float(terms.tax) if self.order.tax and terms and terms.tax is not None else None,
                    "terms_given": terms is not None,
                }
            )
        return told

    def _row(self, way: int) -> dict[str, Any]:
        buyable, pieces = self.offered.buyables[way], self.bought[way]
        offer, candidate = buyable.offer, buyable.candidate
        lines = sorted(self.lines_of.get(way, []))
        needed = sum(number for _, number in lines)
        age = (self.today - offer.dated).days if offer.dated else None
        loss, least_loss = self._loss(candidate, [line for line, _ in lines])
        return {
            "supplier": offer.supplier,
            "lines": [{"line": self.found[line].line.name, "pieces": number} for line, number in lines],
            "part_number": candidate.part_number,
            "maker": candidate.maker,
            "family": candidate.family,
            "package": candidate.package,
            "order_number": offer.order_number,
            "packaging": offer.packaging,
            "pieces": pieces,
            "needed": needed,
            "over": self._over(way, needed),
            "unit_price": float(_price(buyable, pieces)),
            "listed_price": float([price for quantity, price in offer.breaks if quantity <= pieces][-1]),
            "listed_currency": offer.currency,
            "fee": float(buyable.fee),
            "amount": float(amount_of(buyable, pieces)),
            "stock": offer.stock,
            "to_order": buyable.to_order,
            "wait_days": buyable.wait_days,
            "lead_time": offer.lead_time,
            "dated": offer.dated.isoformat() if offer.dated else None,
            "age_days": age,
            "loss_w": loss,
            "least_loss_w": least_loss,
            "notes": list(self._notes(buyable, age)),
            "beat": self._beat(way, lines),
        }

    def _loss(self, candidate: Candidate, lines: Sequence[int]) -> tuple[float | None, float | None]:
        """Return what the part loses and the least that one could, for the line where it is furthest from the best.

        A part loses by what each line asks of it, not by itself.
        """
        key = (candidate.family, candidate.part_key)
        found = [
            (own.loss_w, least)
            for line in lines
            for own in self.found[line].candidates
            if (own.family, own.part_key) == key
            and own.loss_w is not None
            and (least := self.offered.least_loss_w[line]) is not None
        ]
        return max(found, key=lambda pair: (pair[0] / pair[1] if pair[1] else 1.0, pair[0]), default=(None, None))

    def _notes(self, buyable: Buyable, age: int | None) -> Iterator[str]:
        offer = buyable.offer
        if offer.stock is None:
            said = f"; its list gives a lead time of {offer.lead_time}" if offer.lead_time else ""
            yield f"stock not stated, assumed to be there{said}: ask before ordering"
        if buyable.to_order:
            there = f"only {offer.stock} in stock" if offer.stock else "not in stock"
            yield f"{there}; lead time {offer.lead_time or 'not stated'}"
        if offer.ending is not None:
            yield f"life cycle as listed: {offer.ending}"
        if age is not None and age > _OLD_DAYS:
            yield f"price of {offer.dated}, {age} days old: ask again"
        if offer.dated is not None and not offer.date_stated:
            yield f"its list has no date; taken in on {offer.dated}"
        if buyable.currency_assumed:
            yield "its list names no currency; that of the terms is assumed"

    def _over(self, way: int, needed: int) -> dict[str, Any] | None:
        """Say why more is bought than is needed."""
        bought, asked = self.bought[way], self.offered.programme.ways[way]
        if bought <= needed or not needed:
            return {"pieces": bought, "why": "charges"} if bought > needed else None
        least = math.ceil(max(needed, asked.breaks[0][0]) / asked.multiple) * asked.multiple
        why = "charges"
        if bought <= least:
            why = "least" if needed < asked.breaks[0][0] else "multiple"
        elif goods(asked, bought) <= goods(asked, least) + 1e-9:
            why = "break"
        return {"pieces": bought - needed, "why": why}

    def _beat(self, way: int, lines: Sequence[tuple[int, int]]) -> list[dict[str, Any]]:
        """Hold a choice against the same pieces bought elsewhere: the cheapest goods, and the next best in all."""
        if len(lines) != 1:
            return []
        line, pieces = lines[0]
        programme = self.offered.programme
        before = charged(programme, self.bought)
        if before is None:
            return []
        own, parcels = goods(programme.ways[way], self.bought[way]), len(sums(programme, self.bought))
        rivals: list[dict[str, Any]] = []
        for other in programme.demands[line].ways:
            if programme.ways[other].offer == programme.ways[way].offer or other in self.bought:
                continue
            instead = swapped(programme, self.bought, way, other, pieces)
            after = None if instead is None else charged(programme, instead)
            if instead is None or after is None:
                continue
            dearer = goods(programme.ways[other], instead[other]) - own
            buyable = self.offered.buyables[other]
            rivals.append(
                {
                    "supplier": buyable.offer.supplier,
                    "part_number": buyable.candidate.part_number,
                    "pieces": instead[other],
                    "goods": round(dearer, 4),
                    "charges": round(after - before - dearer, 4),
                    "total": round(after - before, 4),
                    "parcels": len(sums(programme, instead)) - parcels,
                    "wait_days": buyable.wait_days,
                }
            )
        rivals.sort(key=lambda rival: (rival["goods"], rival["total"], rival["supplier"], rival["part_number"]))
        cheaper = rivals[:1] if rivals and rivals[0]["goods"] < -_NOTHING else []
        next_best = sorted(rivals, key=lambda rival: rival["total"])[:1]
        return [*cheaper, *(rival for rival in next_best if rival not in cheaper)]

    # -- the lines of the order ----------------------------------------------------------------------
    def _lines(self) -> Iterator[dict[str, Any]]:
        solution = self.reached
        for place, one in enumerate(self.found):
            missing = solution.missing[place] if solution else one.line.pieces
            yield {
                "line": one.line.name,
                "where": one.line.where,
                "asked": one.line.part or f"any {one.line.need.family if one.line.need else ''} that fits",
                "needed": one.line.needed,
                "pieces": one.line.pieces,
                "missing": missing,
                "why": self._why(place) if missing else [],
                "considered": len(one.candidates),
                "capped": one.capped,
                "second_source": self._second(place) if one.line.second_source else None,
            }

    def _why(self, place: int) -> list[str]:
        """Say why a line cannot be had."""
        demand = self.offered.programme.demands[place]
        several = len(self.found[place].candidates) > 1
        refused = [
            f"{one.offer.supplier}{' ' + one.candidate.part_number if several else ''}: {one.reason}"
            for one in self.offered.refused[place]
        ]
        said = []
        for way in demand.ways:
            each = self.offered.buyables[way]
            if self.offered.programme.ways[way].most is not None:
                number = f" {each.candidate.part_number}" if several else ""
                stock = f"{each.offer.supplier}{number}: {each.offer.stock} in stock"
                # Why there is no more of it begins with the same words.
                said += [] if any(reason.startswith(f"{stock};") for reason in refused) else [stock]
        said += refused
        if not said and not demand.ways:
            said.append("no supplier in the catalogue offers it")
        if demand.ways and len(said) < _SHOWN_REASONS:
            shared = [
                self.found[user].line.name
                for user in sorted({user for way in demand.ways for user in self.offered.programme.users[way]})
                if user != place
            ]
            said += [f"its stock is wanted by {', '.join(shared)} as well"] if shared else []
            for supplier in sorted({self.offered.programme.ways[way].supplier for way in demand.ways}):
                least = self.offered.programme.charges_of(supplier).steps[0][0]
                said += [f"{supplier}: takes no order below {least:.2f}"] if least > 0.0 else []
        more = len(said) - _SHOWN_REASONS
        return said[:_SHOWN_REASONS] + ([f"and {more} more offers"] if more > 0 else [])

    def _second(self, place: int) -> dict[str, Any] | None:
        """Name another source than what is bought: another part where any will do, else another supplier.

        None where nothing is bought, so that there is no first one.
        """
        bought = [way for (line, way) in self.allotted if line == place]
        if not bought:
            return None
        parts = {self.offered.buyables[way].candidate.part_key for way in bought}
        sellers = {self.offered.programme.ways[way].supplier for way in bought}
        options = []
        for way in self.offered.programme.demands[place].ways:
            each = self.offered.buyables[way]
            other_part, other_seller = each.candidate.part_key not in parts, each.offer.supplier not in sellers
            found = cheapest_pieces(self.offered.programme.ways[way], self.found[place].line.pieces)
            if found is not None and (other_part or other_seller):
                options.append(((not other_part, not other_seller, found[0], way), way, found[1]))
        if not options:
            return {"supplier": None, "part_number": None, "maker": None, "unit_price": None}
        _, way, pieces = min(options)
        each = self.offered.buyables[way]
        return {
            "supplier": each.offer.supplier,
            "part_number": each.candidate.part_number,
            "maker": each.candidate.maker,
            "unit_price": float(_price(each, pieces)),
        }

    def _parts_bought(self) -> Iterator[tuple[OrderLine, Candidate, int]]:
        for (line, way), pieces in sorted(self.allotted.items()):
            yield self.found[line].line, self.offered.buyables[way].candidate, pieces

    # -- what it is held against ---------------------------------------------------------------------
    def _compared(self, total: float) -> list[dict[str, Any]]:
        """Give simple plans beside it, where they are possible at all; without tax, as it was weighed."""
        programme = self.offered.programme
        net = total - float(sum((each["tax"] for each in self.money.values()), Decimal(0)))
        told = []
        greedy = line_by_line(programme)
        cost = None if greedy is None else charged(programme, greedy)
        if greedy is not None and cost is not None:
            told.append(("each line where its goods are cheapest", cost, len(sums(programme, greedy))))
        best = min(((cost, supplier) for supplier, cost, _ in alone(programme)), default=None)
        if best is not None:
            told.append((f"all from {best[1]}", best[0], 1))
        return [
            {"plan": words, "total": round(cost, 2), "parcels": parcels, "dearer": round(cost - net, 2) + 0.0}
            for words, cost, parcels in told
        ]

    def _assumed(self) -> list[str]:
        said = []
        if self.offered.assumed:
            said.append(f"sums are in {self.offered.currency}, in which all prices are: the order names no currency")
        without = [supplier for supplier in self.money if self.offered.terms[supplier] is None]
        if without:
            said.append(
                f"shipping, handling and least order of {', '.join(without)} are counted as nothing: the order has no "
                "terms for them"
            )
        offering = {offer.supplier.lower() for one in self.found for part in one.candidates for offer in part.offers}
        unused = [name for name in self.order.terms if name != "*" and name not in offering]
        if without and unused:
            said.append(
                f"the terms of {', '.join(unused)} count for nothing: none of these parts is offered by that name"
            )
        nameless = {
            one.offer.supplier: None for refused in self.offered.refused for one in refused if one.reason == NO_CURRENCY
        }
        said += [
            f'the offers of {supplier} are left out: {NO_CURRENCY}; write currency under [terms."{supplier}"]'
            for supplier in nameless
        ]
        untaxed = [
            supplier
            for supplier in self.money
            if self.order.tax and ((terms := self.offered.terms[supplier]) is None or terms.tax is None)
        ]
        if untaxed:
            said.append(f"no tax is counted for {', '.join(untaxed)}: the terms give no rate")
        said += [
            f"{one.line.name}: the {len(one.candidates)} best ranked of the parts that fit were considered"
            for one in self.found
            if one.capped
        ]
        return said

    def _cautions(self) -> list[str]:
        said = [caution for one in self.found for caution in one.cautions]
        return list(dict.fromkeys([*said, cautions.LOW_VOLTAGE_ONLY, cautions.PAPER_FIGURES]))
