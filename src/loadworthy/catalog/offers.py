"""Cells that say what a part is sold for: price breaks, stock, quantities."""

from __future__ import annotations

import re
from dataclasses import dataclass

from loadworthy.catalog.cells import Refused, is_missing
from loadworthy.catalog.currencies import currencies_in, currency_of
from loadworthy.quantities.numbers import DecimalMark, decimal_mark_of, read_number
from loadworthy.quantities.text import tidy

__all__ = ["Prices", "Stock", "read_count", "read_price", "read_stock"]

_DIGITS = r"(?:\d{1,3}(?: \d{3})+(?:[.,]\d+)?(?!\d)|\d+(?:[.,'’]\d+)*|[.,]\d+)(?:[.,][-–—])?"
_COUNT = r"\d{1,3}(?:[.,' ’]\d{3})+|\d+"
_MONEY = r"(?:US|C|A|NZ|HK)?[€£$¥₹]|[A-Za-z]{3}|euros?|pounds?|dollars?"
_PIECES = r"(?:per|pro|je)?\s*(?:pcs?|pieces?|units?|stk|stück|st|ea|each|off|up|qty)\b\.?"
#: ``1+ 0.82``, ``10: 0,61 €``, ``ab 10 Stk 0,61 €``, ``100 @ 0.38``, ``>= 25 pcs = 0.5``, ``1-9 0.82``
_BREAK = re.compile(
    rf"(?:ab|from|qty|>=|≥|>|je)?\s*(?P<quantity>{_COUNT})(?!\d)(?:\s?[-–]\s?(?:{_COUNT}))?(?=\D)(?![.,]\d)\s*"
    rf"(?:{_PIECES})?\s*(?:\+|:|=|@|x|×|à|\||→|-?>)?\s*(?:{_PIECES})?\s*:?\s*"
    rf"(?P<before>{_MONEY})?\s*(?P<price>{_DIGITS})\s*(?P<after>(?:{_MONEY}|p|ct)\b|[€£$¥₹])?",
    re.IGNORECASE,
)
_ONE = re.compile(
    rf"(?:from|ab|je|each)?\s*(?P<before>{_MONEY})?\s*(?P<price>{_DIGITS})\s*"
    rf"(?P<after>(?:{_MONEY}|p|ct)\b|[€£$¥₹])?\s*(?:/?\s*(?:{_PIECES}))?"
    rf"(?:\s*(?:ab|from)\s*(?P<quantity>{_COUNT})\s*(?:{_PIECES})?)?",
    re.IGNORECASE,
)
#: ``0.63 @ 1, 0.57 @ 10``: a decimal amount, then the quantity.
_PRICE_FIRST = re.compile(
    rf"(?P<before>{_MONEY})?\s*(?P<price>\d+[.,]\d{{1,2}}(?!\d)|\d+[.,]\d{{4,}})\s*(?P<after>(?:{_MONEY}|p|ct)\b|[€£$¥₹])?\s*"
    rf"(?:@|at|ab|from|bei)\s*(?P<quantity>{_COUNT})(?!\d)(?![.,]\d{{1,2}}(?!\d))\s*(?:{_PIECES})?\+?",
    re.IGNORECASE,
)
_NO_PRICE = re.compile(
    r"p\.?o\.?a\.?|on request|on application|price on (?:request|application)|ask|call|quote|auf anfrage|a\. ?a\.|"
    r"tagespreis",
    re.IGNORECASE,
)
_NO_STOCK = re.compile(
    r"on request|on order|ask|call|auf anfrage|to order|auf bestellung|in stock|auf lager|yes|ja",
    re.IGNORECASE,
)
_OUT_OF_STOCK = re.compile(
    r"out of stock|none|no|nein|sold out|ausverkauft|nicht (?:auf|am) lager|nicht verfügbar", re.IGNORECASE
)
_STOCK = re.compile(
    r"(?:(?:in stock|auf lager|stock|lager|available|verfügbar)\s*:?\s*)?"
    r"(?P<bound>>=|≥|>|over|more than|about|ca\.?|mehr als|über|<|≤|up to)?\s*"
    rf"(?P<number>{_DIGITS})\s*(?P<kilo>[kK]|Mio|M)?\s*(?P<plus>\+)?\s*"
    rf"(?:{_PIECES})?(?:\s*(?:in stock|available|auf lager|verfügbar|lagernd))?",
    re.IGNORECASE,
)
#: Nobody offers or asks for more.
_MOST_PIECES = 10**12


@dataclass(frozen=True, slots=True)
class Prices:
    """What a cell says a part costs: price from each quantity up, in quantity order."""

    currency: str | None
    breaks: tuple[tuple[int, float], ...]


@dataclass(frozen=True, slots=True)
class Stock:
    """How many there are; ``at_least`` where the list only gives a lower bound (``>10000``)."""

    quantity: int
    at_least: bool = False


def _money(text: str, decimal: DecimalMark) -> float | None:
    """Read an amount; a mark with one or two digits behind it can only be a decimal mark."""
    digits = re.sub(r"[.,][-–—]$", "", text)
    value = read_number(digits, decimal=decimal)
    if value is not None:
        return value
    own = decimal_mark_of(digits)
    return read_number(digits, decimal=own) if own else None


def _count(text: str) -> int:
    return int(re.sub(r"\D", "", text))


def read_price(
    text: str | None, *, decimal: DecimalMark, currency: str | None = None, quantity: int = 1, per: int = 1
) -> Prices | Refused | None:
    """Read a price or a list of price breaks.

    Parameters
    ----------
    text
        The cell.
    decimal
        The decimal mark of the file. An amount that shows another mark beyond doubt is read by it.
    currency
        The currency that the heading or the file names; the cell's own wins.
    quantity
        The quantity from which a single price holds (a heading such as ``100+``).
    per
        The number of pieces that an amount is for.

    Returns
    -------
    Prices, Refused or None
        None where the cell gives no price (empty, ``POA``).

    Examples
    --------
    >>> read_price("10: 0,61 €/100: 0,38 €", decimal=",")
    Prices(currency='EUR', breaks=((10, 0.61), (100, 0.38)))
    >>> read_price("1.234,50 €", decimal=",").breaks
    ((1, 1234.5),)
    """
    if is_missing(text) or text is None:
        return None
    cell = tidy(text.replace("\n", "; "))
    if _NO_PRICE.fullmatch(cell.strip(" .")):
        return None
    if len(currencies_in(cell)) > 1:
        return Refused("it names more than one currency")
    currency = currency_of(cell) or currency
    one = _ONE.fullmatch(cell)
    if one:
        amount = _money(one["price"], decimal)
        if amount is not None:
            amount = amount / 100 if (one["after"] or "").lower() in ("p", "ct") else amount
            return _checked(currency, per, [(_count(one["quantity"]) if one["quantity"] else quantity, amount)])
    breaks: list[tuple[int, float]] = []
    ahead = re.match(rf"\s*(?:{_MONEY})\s+(?=\d)", cell)
    position = ahead.end() if ahead else 0
    grammar = _PRICE_FIRST if _PRICE_FIRST.match(cell, position) else _BREAK
    while position < len(cell):
        match = grammar.match(cell, position)
        amount = _money(match["price"], decimal) if match else None
        if match is None or amount is None:
            return Refused("it is not a price, nor a list of quantities with prices")
        if (match["after"] or "").lower() in ("p", "ct"):
            amount = amount / 100
        breaks.append((_count(match["quantity"]), amount))
        position = match.end()
        position += len(cell[position:]) - len(cell[position:].lstrip(" ;,/|&·"))
    return _checked(currency, per, breaks)


def _checked(currency: str | None, per: int, breaks: list[tuple[int, float]]) -> Prices | Refused:
    breaks = [(quantity, amount / per) for quantity, amount in breaks] if per != 1 else breaks
    if len({quantity for quantity, _ in breaks}) < len(breaks):
        return Refused("the same quantity has two prices")
    if any(not 1 <= quantity <= _MOST_PIECES or not 0 < amount < 1e7 for quantity, amount in breaks):
        return Refused("a quantity or a price in it cannot be")
    return Prices(currency, tuple(sorted(breaks)))


def read_stock(text: str | None, *, decimal: DecimalMark) -> Stock | Refused | None:
    """Read how many a supplier has.

    Returns
    -------
    Stock, Refused or None
        None where the cell gives no number (empty, ``on request``).

    Examples
    --------
    >>> read_stock(">10000", decimal="."), read_stock("1.2k", decimal="."), read_stock("12.000", decimal=",")
    (Stock(quantity=10000, at_least=True), Stock(quantity=1200, at_least=False), Stock(quantity=12000, at_least=False))
    """
    if text and len(text) <= 12 and text.isascii() and text.isdigit():  # nearly all are of this kind
        return Stock(int(text))
    if is_missing(text) or text is None:
        return None
    cell = tidy(text)
    if _NO_STOCK.fullmatch(cell):
        return None
    if _OUT_OF_STOCK.fullmatch(cell):
        return Stock(0)
    match = _STOCK.fullmatch(cell)
    number = _amount(match["number"], decimal) if match else None
    if match is None or number is None:
        return Refused("it is not a number of pieces")
    scale = {"k": 1e3, "m": 1e6, "mio": 1e6}.get((match["kilo"] or "").lower(), 1.0)
    value = round(number * scale, 6)
    if value != int(value) or value > _MOST_PIECES:
        return Refused("it is not a whole number of pieces")
    bound = (match["bound"] or "").lower()
    if bound in ("<", "≤", "up to"):
        return Stock(0)
    return Stock(int(value), at_least=bool(match["plus"]) or bound not in ("", "about", "ca", "ca."))


def _amount(digits: str, decimal: DecimalMark) -> float | None:
    """Read a count; where it does not follow the file's decimal mark it may show its own beyond doubt."""
    value = read_number(digits, decimal=decimal)
    if value is None:
        own = decimal_mark_of(digits)
        value = read_number(digits, decimal=own) if own else None
    return value


def read_count(text: str | None, *, decimal: DecimalMark) -> int | Refused | None:
    """Read a quantity such as a least order or a pack.

    Examples
    --------
    >>> read_count("50 pcs", decimal="."), read_count("-", decimal=".")
    (50, None)
    """
    stock = read_stock(text, decimal=decimal)
    return stock.quantity if isinstance(stock, Stock) else stock
