"""Amounts of money: read as people write them, changed at the rates that the user gives, rounded where it is said.

A price in the order's currency is rounded to four places, what a line costs to two (half a cent to the even one).
Sums are of those rounded figures, so that what is shown adds up.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, Decimal, InvalidOperation
from typing import Final

from loadworthy.catalog.currencies import currencies_in, currency_of
from loadworthy.errors import OrderError
from loadworthy.quantities.numbers import decimal_mark_of

__all__ = ["Amount", "cents", "changed", "piece_price", "read_amount"]

_NUMBER: Final = re.compile(r"\d[\d.,' ]*|[.,]\d+")
_MOST: Final = Decimal(10) ** 9
_GRAIN: Final = Decimal("0.0001")
_CENT: Final = Decimal("0.01")


@dataclass(frozen=True, kw_only=True)
class Amount:
    """An amount; a currency of None is the order's own."""

    value: Decimal
    currency: str | None = None


def read_amount(value: object) -> Amount:
    """Read an amount, with its currency where it has one.

    Parameters
    ----------
    value
        A text such as ``"4.90"``, ``"4,90 EUR"`` or ``"£3"``, or a number.

    Raises
    ------
    OrderError
        It is none.

    Examples
    --------
    >>> read_amount("4,90 EUR").value, read_amount("4.90").currency, read_amount("£3").currency
    (Decimal('4.90'), None, 'GBP')
    """
    text = str(value) if isinstance(value, (int, float)) and not isinstance(value, bool) else value
    if isinstance(text, str):
        found = _NUMBER.findall(text)
        if len(found) == 1 and "-" not in text and len(currencies_in(text)) <= 1:
            rest = text.replace(found[0], "", 1).strip()
            currency = currency_of(text)
            number = _decimal(found[0].strip())
            if number is not None and number < _MOST and bool(rest) == (currency is not None):
                return Amount(value=number, currency=currency)
    raise OrderError(f"{value!r} is no amount of money.", way_out='Write it like "4.90" or "4.90 EUR".')


def _decimal(digits: str) -> Decimal | None:
    mark = decimal_mark_of(digits) or "."
    plain = digits.replace(" ", "").replace("'", "").replace("," if mark == "." else ".", "").replace(",", ".")
    try:
        return Decimal(plain)
    except InvalidOperation:
        return None


def changed(amount: Amount, *, to: str, rates: Mapping[str, Decimal]) -> Decimal | None:
    """Return an amount in a currency; None where the rate is not given, for rates are never guessed.

    Examples
    --------
    >>> changed(Amount(value=Decimal(10), currency="USD"), to="EUR", rates={"USD": Decimal("0.92")})
    Decimal('9.20')
    >>> changed(Amount(value=Decimal(10), currency="GBP"), to="EUR", rates={}) is None
    True
    """
    if amount.currency in (None, to):
        return amount.value
    rate = rates.get(amount.currency)
    return None if rate is None else amount.value * rate


def piece_price(price: Decimal) -> Decimal:
    """Round what one piece costs to four places."""
    return price.quantize(_GRAIN, rounding=ROUND_HALF_EVEN)


def cents(amount: Decimal) -> Decimal:
    """Round an amount to two places.

    Examples
    --------
    >>> cents(Decimal("0.125")), cents(Decimal("0.135"))
    (Decimal('0.12'), Decimal('0.14'))
    """
    return amount.quantize(_CENT, rounding=ROUND_HALF_EVEN)
