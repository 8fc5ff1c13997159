"""Price and stock cells give currency, quantity breaks and quantities; what is no price or stock gives none.

The spellings are common practice in English and German lists. Where a spelling can be understood in two ways,
the test asks for the careful way: a refusal, the higher price, the smaller stock.
"""

from __future__ import annotations

import math
from typing import Literal

import pytest

from loadworthy.catalog.cells import Refused
from loadworthy.catalog.offers import Prices, Stock, read_price, read_stock

Mark = Literal[".", ","]


def prices(text: str, decimal: Mark, currency: str | None = None) -> Prices:
    """Read the cell, and insist on a price."""
    got = read_price(text, decimal=decimal, currency=currency)
    assert isinstance(got, Prices), f"{text!r} is not read: {got}"
    return got


def stock(text: str, decimal: Mark = ".") -> Stock:
    """Read the cell, and insist on a stock."""
    got = read_stock(text, decimal=decimal)
    assert isinstance(got, Stock), f"{text!r} is not read: {got}"
    return got


def no_price(got: Prices | Refused | None) -> bool:
    """Return whether the cell gave no price: missing, refused with a reason, or no breaks."""
    if isinstance(got, Refused):
        return bool(got.reason.strip())
    return got is None or not got.breaks


def costs(got: Prices, price: float) -> bool:
    """Return whether the one price, from one piece on, is this one."""
    return [q for q, _ in got.breaks] == [1] and math.isclose(got.breaks[0][1], price, rel_tol=1e-9)


# --- one price -----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "decimal", "currency", "price"),
    [
        ("0.61", ".", None, 0.61),
        (".61", ".", None, 0.61),
        ("0,61", ",", None, 0.61),
        ("£0.30", ".", "GBP", 0.30),
        ("£ 0.30", ".", "GBP", 0.30),
        ("GBP 0.30", ".", "GBP", 0.30),
        ("0.30 GBP", ".", "GBP", 0.30),
        ("£0.30 each", ".", "GBP", 0.30),
        ("£0.30 ea", ".", "GBP", 0.30),
        ("$0.55", ".", "USD", 0.55),
        ("$ 0.55", ".", "USD", 0.55),
        ("US$0.55", ".", "USD", 0.55),
        ("USD 0.55", ".", "USD", 0.55),
        ("EUR 0.42", ".", "EUR", 0.42),
        ("€0.42", ".", "EUR", 0.42),
        ("0.42 €", ".", "EUR", 0.42),
        ("CHF 0.70", ".", "CHF", 0.70),
        ("0,61 €", ",", "EUR", 0.61),
        ("0,61€", ",", "EUR", 0.61),
        ("€ 0,61", ",", "EUR", 0.61),
        ("0,61\u00a0€", ",", "EUR", 0.61),
        ("0,61 EUR", ",", "EUR", 0.61),
        ("EUR 0,61", ",", "EUR", 0.61),
        ("0,61 Euro", ",", "EUR", 0.61),
        ("0,61 €/Stk", ",", "EUR", 0.61),
        ("0,61 € / Stück", ",", "EUR", 0.61),
        ("0,61 € pro Stück", ",", "EUR", 0.61),
        ("1.234,50 €", ",", "EUR", 1234.50),
        ("1.234 €", ",", "EUR", 1234.0),
        ("1,234.50 $", ".", "USD", 1234.50),
        ("$1,234.50", ".", "USD", 1234.50),
        ("1 234,50 €", ",", "EUR", 1234.50),
        ("1\u202f234,50 €", ",", "EUR", 1234.50),
        ("CHF 1'234.50", ".", "CHF", 1234.50),
        ("12,- €", ",", "EUR", 12.0),
        ("0.1210", ".", None, 0.121),
    ],
)
def test_one_price(text: str, decimal: Mark, currency: str | None, price: float) -> None:
    """A bare price is the price from one piece on."""
    got = prices(text, decimal)
    assert got.currency == currency
    assert costs(got, price)


def test_the_currency_of_the_heading_goes_with_a_bare_price() -> None:
    """A heading such as "Price (EUR)" says it for the whole column."""
    assert prices("0.61", ".", currency="EUR").currency == "EUR"


def test_the_currency_in_the_cell_beats_the_heading() -> None:
    """The nearer word counts."""
    assert prices("£0.61", ".", currency="EUR").currency == "GBP"


@pytest.mark.parametrize(("text", "price"), [("30p", 0.30), ("55¢", 0.55), ("61 ct", 0.61), ("61 Cent", 0.61)])
def test_hundredths_are_never_whole_units(text: str, price: float) -> None:
    """Thirty pence read as a fraction of the pound or are refused; they never become thirty pounds."""
    got = read_price(text, decimal=".")
    assert no_price(got) or (isinstance(got, Prices) and costs(got, price))


@pytest.mark.parametrize(
    ("text", "decimal"),
    [
        ("61,00 € / 100 Stück", ","),
        ("61,00 € pro 100 Stk", ","),
        ("£61.00 per 100", "."),
        ("$61.00/100 pcs", "."),
    ],
)
def test_a_price_for_a_hundred_is_never_the_price_of_one(text: str, decimal: Mark) -> None:
    """Read as 0.61 each (from 100, or from one) or refused; an order's total must not be out by a hundred."""
    got = read_price(text, decimal=decimal)
    assert no_price(got) or (isinstance(got, Prices) and [p for _, p in got.breaks] == [pytest.approx(0.61)])


# --- quantity breaks -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "decimal", "currency", "breaks"),
    [
        ("1+ 0.82, 10+ 0.61", ".", None, ((1, 0.82), (10, 0.61))),
        ("1+: 0.82; 10+: 0.61", ".", None, ((1, 0.82), (10, 0.61))),
        ("1+ 0.82\n10+ 0.61", ".", None, ((1, 0.82), (10, 0.61))),
        ("1: 0.82 | 10: 0.61", ".", None, ((1, 0.82), (10, 0.61))),
        ("1 = 0.82, 10 = 0.61", ".", None, ((1, 0.82), (10, 0.61))),
        ("1 @ $0.55, 100 @ $0.38", ".", "USD", ((1, 0.55), (100, 0.38))),
        ("1+ £0.82 / 10+ £0.61", ".", "GBP", ((1, 0.82), (10, 0.61))),
        ("10+: £0.30", ".", "GBP", ((10, 0.30),)),
        ("1000+ $0.121", ".", "USD", ((1000, 0.121),)),
        ("1,000+: $0.121", ".", "USD", ((1000, 0.121),)),
        ("1-9: 0.82, 10-99: 0.61, 100+: 0.38", ".", None, ((1, 0.82), (10, 0.61), (100, 0.38))),
        ("from 10 pcs £0.30", ".", "GBP", ((10, 0.30),)),
        ("10 pcs: £0.30", ".", "GBP", ((10, 0.30),)),
        ("10+ 0.61, 1+ 0.82", ".", None, ((1, 0.82), (10, 0.61))),
        ("EUR 1+ 0.82, 10+ 0.61", ".", "EUR", ((1, 0.82), (10, 0.61))),
        ("10: 0,61 €/100: 0,38 €", ",", "EUR", ((10, 0.61), (100, 0.38))),
        ("1: 4,10 € / 25: 3,48 €", ",", "EUR", ((1, 4.10), (25, 3.48))),
        ("ab 10 Stk 0,61 €", ",", "EUR", ((10, 0.61),)),
        ("ab 10 Stk. 0,61 €", ",", "EUR", ((10, 0.61),)),
        ("ab 10 Stück: 0,61 €", ",", "EUR", ((10, 0.61),)),
        ("ab 100 Stück à 0,38 €", ",", "EUR", ((100, 0.38),)),
        ("0,61 € ab 10 Stück", ",", "EUR", ((10, 0.61),)),
        ("1 Stk. 0,82 €; ab 10 Stk. 0,61 €", ",", "EUR", ((1, 0.82), (10, 0.61))),
        ("ab 1: 0,82 EUR, ab 10: 0,61 EUR", ",", "EUR", ((1, 0.82), (10, 0.61))),
        ("1+ 0,82, 10+ 0,61", ",", None, ((1, 0.82), (10, 0.61))),
        ("ab 1.000 Stk 0,12 €", ",", "EUR", ((1000, 0.12),)),
        ("1 St. 0,82 € | 10 St. 0,61 € | 100 St. 0,38 €", ",", "EUR", ((1, 0.82), (10, 0.61), (100, 0.38))),
    ],
)
def test_quantity_breaks(text: str, decimal: Mark, currency: str | None, breaks: tuple[tuple[int, float], ...]) -> None:
    """Each quantity keeps its price, in rising order of quantity, whatever mark stands between them."""
    got = prices(text, decimal)
    assert got.currency == currency
    assert [quantity for quantity, _ in got.breaks] == [quantity for quantity, _ in breaks]
    assert [price for _, price in got.breaks] == pytest.approx([price for _, price in breaks])
    assert all(isinstance(quantity, int) for quantity, _ in got.breaks)


# --- no price ------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "text",
    [
        "POA",
        "P.O.A.",
        "price on application",
        "on request",
        "call",
        "TBA",
        "auf Anfrage",
        "Preis auf Anfrage",
        "a. A.",
        "-",
        "—",
        "n/a",
        "",
        "  ",
    ],
)
@pytest.mark.parametrize("decimal", [".", ","])
def test_a_price_on_application_is_no_price(text: str, decimal: Mark) -> None:
    """The part may be had, but its price is not known; it must never count as free."""
    assert no_price(read_price(text, decimal=decimal))


@pytest.mark.parametrize("text", ["", " ", "-", "—", "n/a"])
def test_an_empty_price_is_missing_and_not_refused(text: str) -> None:
    """A supplier who says nothing is not wrong."""
    assert read_price(text, decimal=".") is None


@pytest.mark.parametrize(
    "text",
    [
        "-0.61",
        "£-0.61",
        "0",
        "0.00",
        "£0.00",
        "free",
        "1e999",
        "nan",
        "1+ $0.82, 10+ £0.61",
        "12 mΩ",
        "0+ 0.61",
    ],
)
def test_what_cannot_be_a_price_gives_none(text: str) -> None:
    """Nothing, less than nothing, two currencies in one cell, or a figure of another kind."""
    assert no_price(read_price(text, decimal="."))


def test_two_bare_prices_never_give_only_the_lower() -> None:
    """Ambiguous (no quantities are named): refused, or the higher price counts from one piece on."""
    got = read_price("0.82 / 0.61", decimal=".")
    assert no_price(got) or (isinstance(got, Prices) and [q for q, p in got.breaks if p == 0.82] == [1])


@pytest.mark.parametrize(("text", "decimal", "price"), [("1.234,50 €", ".", 1234.5), ("1,234.50 $", ",", 1234.5)])
def test_both_marks_in_one_price_settle_which_is_which(text: str, decimal: Mark, price: float) -> None:
    """Written against the list's decimal mark: the clear meaning or a refusal, never a thousandth of it."""
    got = read_price(text, decimal=decimal)
    assert no_price(got) or (isinstance(got, Prices) and costs(got, price))


def test_a_tax_rate_is_no_price_and_no_quantity() -> None:
    """The 19 of "incl. 19 % VAT" must not reach the order."""
    got = read_price("0.73 € incl. 19 % VAT", decimal=".")
    assert no_price(got) or (isinstance(got, Prices) and costs(got, 0.73))


# --- stock ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "decimal", "quantity", "at_least"),
    [
        ("0", ".", 0, False),
        ("37", ".", 37, False),
        (" 37 ", ".", 37, False),
        ("37.0", ".", 37, False),  # a spreadsheet's number
        ("37 pcs", ".", 37, False),
        ("37pcs.", ".", 37, False),
        ("37 pieces", ".", 37, False),
        ("37 ea", ".", 37, False),
        ("37 units", ".", 37, False),
        ("37 in stock", ".", 37, False),
        ("In stock: 37", ".", 37, False),
        ("37 available", ".", 37, False),
        ("1.2k", ".", 1200, False),
        ("12k", ".", 12000, False),
        ("12K", ".", 12000, False),
        ("12,000", ".", 12000, False),
        ("1,234,567", ".", 1234567, False),
        ("12 000", ".", 12000, False),
        ("12\u00a0000", ".", 12000, False),
        ("12'000", ".", 12000, False),
        (">10000", ".", 10000, True),
        ("> 10,000", ".", 10000, True),
        ("≥ 500", ".", 500, True),
        (">=500", ".", 500, True),
        ("10000+", ".", 10000, True),
        ("10k+", ".", 10000, True),
        ("more than 1000", ".", 1000, True),
        ("over 1000", ".", 1000, True),
        ("12.000", ",", 12000, False),
        ("1,2k", ",", 1200, False),
        ("12.000 Stk", ",", 12000, False),
        ("37 Stk", ",", 37, False),
        ("37 Stk.", ",", 37, False),
        ("37 Stück", ",", 37, False),
        ("37 St.", ",", 37, False),
        ("37 auf Lager", ",", 37, False),
        ("37 verfügbar", ",", 37, False),
        ("> 1.000 Stk", ",", 1000, True),
        ("über 1000", ",", 1000, True),
        ("mehr als 1.000", ",", 1000, True),
    ],
)
def test_stock(text: str, decimal: Mark, quantity: int, at_least: bool) -> None:
    """A number of pieces, exact or a lower bound."""
    got = stock(text, decimal)
    assert isinstance(got.quantity, int)
    assert (got.quantity, got.at_least) == (quantity, at_least)


@pytest.mark.parametrize(
    "text",
    [
        "",
        " ",
        "-",
        "auf Anfrage",
        "on request",
        "call",
        "in stock",
        "lagernd",
        "yes",
        "3.7",
        "-5",
        "1e999",
        "12 mΩ",
        "available",
    ],
)
def test_a_stock_without_a_number_gives_no_quantity(text: str) -> None:
    """The words "in stock" alone promise no quantity, half a piece is a mistake; neither is a stock."""
    got = read_stock(text, decimal=".")
    assert got is None or (isinstance(got, Refused) and bool(got.reason.strip()))


@pytest.mark.parametrize(
    "text", ["out of stock", "sold out", "none", "nicht lagernd", "ausverkauft", "nicht auf Lager"]
)
def test_out_of_stock_is_never_a_stock(text: str) -> None:
    """Nought, missing or refused: nothing that an order could draw on."""
    got = read_stock(text, decimal=".")
    assert not isinstance(got, Stock) or (got.quantity, got.at_least) == (0, False)


@pytest.mark.parametrize(
    ("text", "decimal", "most"),
    [
        ("12.000", ".", 12),  # three noughts after a decimal point: twelve
        ("<10", ".", 9),  # fewer than ten
        ("0 (1200 on order)", ".", 0),
        ("0, 1200 expected", ".", 0),
        ("37 (2 weeks)", ".", 37),
        ("37 / 500", ".", 37),
    ],
)
def test_an_unclear_stock_is_never_overstated(text: str, decimal: Mark, most: int) -> None:
    """Ambiguous, so the careful outcome: the smaller stock or none."""
    got = read_stock(text, decimal=decimal)
    assert not isinstance(got, Stock) or (got.quantity <= most and not got.at_least)


def test_a_quantity_that_nobody_sells_is_refused() -> None:
    """More pieces than a catalogue's numbers hold are a slip of the list."""
    assert no_price(read_price("1: 0.5 / 9999999999999999999: 0.4", decimal="."))
    assert isinstance(read_price("1: 0.5 / 9999999999999999999: 0.4", decimal="."), Refused)
    assert isinstance(read_stock("9999999999999", decimal="."), Refused)
