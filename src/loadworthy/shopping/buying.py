"""Offers made ways of a programme: prices in one currency, what may be had and when, and why the rest may not."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from loadworthy.errors import OrderError
from loadworthy.shopping.money import Amount, changed, piece_price
from loadworthy.shopping.offers import Candidate, Offer, Wanted
from loadworthy.shopping.order import Order, OrderLine
from loadworthy.shopping.programme import Charges, Demand, Programme, Way
from loadworthy.shopping.terms import Terms
from loadworthy.shopping.waits import read_wait

__all__ = [
    "NO_CURRENCY",
    "Buyable",
    "Market",
    "MissingRates",
    "Refused",
    "charge_on",
    "charges_of",
    "market",
    "steps_of",
]

#: Why an offer in no currency cannot be used.
NO_CURRENCY: Final = "its list names no currency"
_LEAST_PRICE: Final = Decimal("0.0001")


@dataclass(frozen=True, kw_only=True)
class Buyable:
    """One way of the programme, and what stands behind it.

    ``wait_days`` is None where it is not known; ``to_order`` where the pieces are not in stock, or not all of them.
    """

    candidate: Candidate
    offer: Offer
    breaks: tuple[tuple[int, Decimal], ...]
    fee: Decimal
    wait_days: float | None
    to_order: bool
    currency_assumed: bool


@dataclass(frozen=True, kw_only=True)
class Refused:
    """An offer that a line cannot use, and why."""

    candidate: Candidate
    offer: Offer
    reason: str


@dataclass(frozen=True, kw_only=True)
class Market:
    """What is wanted, and all that may be bought for it.

    Attributes
    ----------
    currency
        In which all sums are.
    assumed
        Whether nobody named it.
    buyables
        In the places of the programme's ways.
    refused
        For each line the offers that it cannot use.
    terms
        Supplier → its terms; None where the order has none.
    least_loss_w
        For each line the least loss of a part that can be bought; None where losses are not compared.
    """

    currency: str
    assumed: bool
    programme: Programme
    buyables: tuple[Buyable, ...]
    refused: tuple[tuple[Refused, ...], ...]
    terms: Mapping[str, Terms | None]
    least_loss_w: tuple[float | None, ...]


class MissingRates(OrderError):  # noqa: N818 - it names what is missing
    """Prices are in several currencies, and the order does not say what each is in that of the sums.

    Parameters
    ----------
    message, way_out, problems
        As of every error of an order.
    currency
        In which sums are; None where the order does not say it.
    currencies
        Those of which the order has no rate; where it names no currency, all that prices are in.
    """

    def __init__(
        self,
        message: str,
        *,
        way_out: str | None = None,
        problems: tuple[OrderError, ...] = (),
        currency: str | None,
        currencies: tuple[str, ...],
    ) -> None:
        super().__init__(message, way_out=way_out, problems=problems)
        self.currency = currency
        self.currencies = currencies


def market(order: Order, found: Sequence[Wanted]) -> Market:
    """Put together what may be bought.

    Raises
    ------
    MissingRates
        A rate is missing, or nobody named a currency and the prices are in several.
    """
    currency = order.currency or _only_currency(order, found)
    _check_rates(order, found, currency)
    maker = _Maker(order, currency)
    demands: list[Demand] = []
    refused: list[tuple[Refused, ...]] = []
    losses: list[float | None] = []
    for one in found:
        ways, why, loss = maker.line(one)
        demands.append(Demand(pieces=one.line.pieces, ways=tuple(ways)))
        refused.append(tuple(why))
        losses.append(loss)
    suppliers = dict.fromkeys(buyable.offer.supplier for buyable in maker.buyables)
    terms = {supplier: order.terms_of(supplier) for supplier in suppliers}
    _check_terms(order, terms, currency)
    charges = {
        supplier: charges_of(given, currency=currency, rates=order.rates)
        for supplier, given in terms.items()
        if given is not None
    }
    return Market(
        currency=currency,
        assumed=order.currency is None,
        programme=Programme(ways=tuple(maker.ways), demands=tuple(demands), charges=charges),
        buyables=tuple(maker.buyables),
        refused=tuple(refused),
        terms=terms,
        least_loss_w=tuple(losses),
    )


def _may(line: OrderLine, offer: Offer) -> bool:
    return not line.suppliers or " ".join(offer.supplier.split()).lower() in line.suppliers


def _currency_of(order: Order, offer: Offer) -> str | None:
    terms = order.terms_of(offer.supplier)
    return offer.currency or (terms.currency if terms else None)


def _usable(order: Order, found: Iterable[Wanted]) -> Iterable[tuple[OrderLine, Offer, str]]:
    """Give every priced offer that a line may use, with its currency."""
    for one in found:
        for candidate in one.candidates:
            for offer in candidate.offers:
                currency = _currency_of(order, offer)
                if currency is not None and offer.breaks and _may(one.line, offer):
                    yield one.line, offer, currency


def _only_currency(order: Order, found: Sequence[Wanted]) -> str:
    currencies = sorted({currency for _, _, currency in _usable(order, found)})
    if len(currencies) > 1:
        raise MissingRates(
            f"the prices are in {' and '.join(currencies)}, and the order does not say in which sums are to be.",
            way_out=f'Write currency = "{currencies[0]}" at the top, and under [rates] what the others are in it.',
            currency=None,
            currencies=tuple(currencies),
        )
    return currencies[0] if currencies else "EUR"


def _check_rates(order: Order, found: Sequence[Wanted], currency: str) -> None:
    """A rate is never guessed, nor are offers dropped silently for want of one."""
    lacking: dict[str, dict[str, set[str]]] = {}
    for line, offer, own in _usable(order, found):
        if own != currency and own not in order.rates:
            lacking.setdefault(own, {}).setdefault(f"{line.name} ({line.where})", set()).add(offer.supplier)
    problems = [
        OrderError(
            f"{', '.join(sorted(set.union(*lines.values())))} ask {own} for {'; '.join(lines)}, and the order has no "
            "rate for it.",
            way_out=f"Write {own} = … under [rates], what one {own} is in {currency}, or name other suppliers.",
        )
        for own, lines in sorted(lacking.items())
    ]
    if problems:
        several = len(problems) > 1
        raise MissingRates(
            "\n".join(map(str, problems)) if several else problems[0].message,
            way_out=None if several else problems[0].way_out,
            problems=tuple(problems) if several else (),
            currency=currency,
            currencies=tuple(sorted(lacking)),
        )


def _check_terms(order: Order, terms: Mapping[str, Terms | None], currency: str) -> None:
    for supplier, given in terms.items():
        for amount in given.amounts() if given else ():
            if changed(amount, to=currency, rates=order.rates) is None:
                raise MissingRates(
                    f"the terms of {supplier} are in {amount.currency}, and the order has no rate for it.",
                    way_out=f"Write under [rates] what one {amount.currency} is in {currency}.",
                    currency=currency,
                    currencies=(str(amount.currency),),
                )


def _in(amount: Amount, currency: str, rates: Mapping[str, Decimal]) -> Decimal:
    found = changed(amount, to=currency, rates=rates)
    if found is None:
        raise OrderError(f"there is no rate for {amount.currency}.", way_out="Write it under [rates].")
    return found


def steps_of(terms: Terms, *, currency: str, rates: Mapping[str, Decimal]) -> tuple[tuple[Decimal, Decimal], ...]:
    """Return shipping and handling by the value of the goods; the first step starts at the least order."""
    handling = _in(terms.handling, currency, rates)
    least = _in(terms.least_order, currency, rates)
    steps = [
        (_in(start, currency, rates), piece_price(_in(charge, currency, rates) + handling))
        for start, charge in terms.shipping
    ]
    below = [charge for start, charge in steps if start <= least]
    return ((least, below[-1]), *((start, charge) for start, charge in steps if start > least))


def charges_of(terms: Terms, *, currency: str, rates: Mapping[str, Decimal]) -> Charges:
    """Return the terms as the programme takes them."""
    steps = steps_of(terms, currency=currency, rates=rates)
    return Charges(steps=tuple((float(start), float(charge)) for start, charge in steps))


def charge_on(
    terms: Terms | None, value: Decimal, *, currency: str, rates: Mapping[str, Decimal]
) -> tuple[Decimal, Decimal] | None:
    """Return (shipping, handling) on goods of a value; None where so little is not sold."""
    if terms is None:
        return Decimal(0), Decimal(0)
    if value < _in(terms.least_order, currency, rates):
        return None
    shipping = [
        _in(charge, currency, rates) for start, charge in terms.shipping if _in(start, currency, rates) <= value
    ]
    return shipping[-1], _in(terms.handling, currency, rates)


class _Maker:
    """Makes ways, each offer's once, however many lines can use it."""

    def __init__(self, order: Order, currency: str) -> None:
        self.order = order
        self.currency = currency
        self.ways: list[Way] = []
        self.buyables: list[Buyable] = []
        #: By the offer itself: two lines may see one part's offers in part, where a need bars some.
        self.known: dict[int, tuple[list[int], str | None]] = {}

    def line(self, one: Wanted) -> tuple[list[int], list[Refused], float | None]:
        """Return the ways of one line, why others are none, and the least loss among them."""
        usable: list[tuple[Candidate, list[int]]] = []
        refused: list[Refused] = []
        for candidate in one.candidates:
            own: list[int] = []
            for offer in candidate.offers:
                if not _may(one.line, offer):
                    refused.append(Refused(candidate=candidate, offer=offer, reason="not among the suppliers allowed"))
                    continue
                ways, reason = self._of(candidate, offer)
                own += ways
                if reason is not None:
                    refused.append(Refused(candidate=candidate, offer=offer, reason=reason))
            if own:
                usable.append((candidate, own))
        losses = [candidate.loss_w for candidate, _ in usable if candidate.loss_w is not None]
        least = min(losses, default=None)
        if one.line.more_loss is not None and least is not None:
            most = least * (1.0 + float(one.line.more_loss)) * (1.0 + 1e-12)
            usable = [(candidate, own) for candidate, own in usable if (candidate.loss_w or 0.0) <= most]
        return [way for _, own in usable for way in own], refused, least

    def _of(self, candidate: Candidate, offer: Offer) -> tuple[list[int], str | None]:
        key = id(offer)
        if key not in self.known:
            self.known[key] = self._made(candidate, offer, len(self.known))
        return self.known[key]

    def _made(self, candidate: Candidate, offer: Offer, place: int) -> tuple[list[int], str | None]:
        """Make the ways of one offer: from stock, and to order; a reason where there is none, or not all."""
        own = _currency_of(self.order, offer)
        if not offer.breaks:
            return [], "no price is given"
        if own is None:
            return [], NO_CURRENCY
        least = math.ceil(offer.breaks[0][0] / offer.multiple) * offer.multiple
        wait = read_wait(offer.lead_time)
        if offer.stock is None:
            if wait is not None and self.order.wait_days is not None and wait > self.order.wait_days:
                return [], f"stock not stated, and it takes {offer.lead_time}"
            return [self._way(candidate, offer, place, own, most=None, wait=wait, to_order=False)], None
        ways: list[int] = []
        reason: str | None = None
        if offer.stock >= least:
            ways.append(self._way(candidate, offer, place, own, most=offer.stock, wait=0.0, to_order=False))
        elif offer.stock:
            reason = f"{offer.stock} in stock, and no fewer than {least} are sold"
        else:
            reason = "out of stock"
        limit = self._limit()
        if (math.inf if wait is None else wait) <= limit and limit > 0.0:
            ways.append(self._way(candidate, offer, place, own, most=None, wait=wait, to_order=True))
            return ways, None
        said = f"{offer.lead_time} for more" if offer.lead_time else "when there will be more is not stated"
        first = reason or f"{offer.stock} in stock"
        return ways, f"{first}; {said}"

    def _limit(self) -> float:
        if self.order.wait_days is not None:
            return self.order.wait_days
        return math.inf if self.order.aim == "soonest" else 0.0

    def _way(
        self,
        candidate: Candidate,
        offer: Offer,
        place: int,
        currency: str,
        *,
        most: int | None,
        wait: float | None,
        to_order: bool,
    ) -> int:
        rates = self.order.rates
        prices = tuple(
            (
                quantity,
                max(piece_price(_in(Amount(value=price, currency=currency), self.currency, rates)), _LEAST_PRICE),
            )
            for quantity, price in offer.breaks
        )
        terms = self.order.terms_of(offer.supplier)
        packaging = (offer.packaging or "").lower()
        fees = [
            _in(amount, self.currency, rates)
            for word, amount in (terms.packaging if terms else {}).items()
            if word in packaging
        ]
        fee = sum(fees, Decimal(0))
        self.buyables.append(
            Buyable(
                candidate=candidate,
                offer=offer,
                breaks=prices,
                fee=fee,
                wait_days=wait,
                to_order=to_order,
                currency_assumed=offer.currency is None,
            )
        )
        self.ways.append(
            Way(
                offer=place,
                supplier=offer.supplier,
                breaks=tuple((quantity, float(price)) for quantity, price in prices),
                multiple=offer.multiple,
                most=most,
                fee=float(fee),
                wait_days=math.inf if wait is None else wait,
            )
        )
        return len(self.ways) - 1
