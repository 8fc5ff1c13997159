"""Currencies by their signs and ISO 4217 codes."""

from __future__ import annotations

import re
from functools import lru_cache
from typing import Final

__all__ = ["currencies_in", "currency_of"]

_SIGNS: Final = {
    "€": "EUR",
    "£": "GBP",
    "$": "USD",
    "¥": "JPY",
    "₹": "INR",
    "zł": "PLN",
    "Kč": "CZK",
    "Fr.": "CHF",
}
_CODES: Final = (
    "EUR", "USD", "GBP", "CHF", "SEK", "NOK", "DKK", "PLN", "CZK", "HUF", "JPY", "CNY", "AUD", "CAD", "NZD", "INR",
    "ZAR", "BRL", "TRY", "KRW", "SGD", "HKD", "TWD", "ILS", "MXN", "RON", "BGN", "ISK",
)  # fmt: skip
_CODE = re.compile(rf"(?<![A-Za-z])(?:{'|'.join(_CODES)})(?![A-Za-z])", re.IGNORECASE)
_NAMES: Final = {
    "euro": "EUR",
    "pound": "GBP",
    "pounds": "GBP",
    "dollar": "USD",
    "dollars": "USD",
    "franken": "CHF",
}


@lru_cache(maxsize=8192)
def currency_of(text: str) -> str | None:
    """Name the currency that a text mentions.

    Returns
    -------
    str or None
        The ISO 4217 code; None where there is none, or more than one.

    Examples
    --------
    >>> currency_of("1.234,50 €"), currency_of("Price [GBP]"), currency_of("0.82"), currency_of("€ or $")
    ('EUR', 'GBP', None, None)
    """
    found = currencies_in(text)
    return found.pop() if len(found) == 1 else None


def currencies_in(text: str) -> set[str]:
    """Name all currencies that a text mentions.

    Examples
    --------
    >>> sorted(currencies_in("1+ $0.82, 10+ £0.61"))
    ['GBP', 'USD']
    """
    found = {code.upper() for code in _CODE.findall(text)}
    found |= {code for sign, code in _SIGNS.items() if sign in text}
    return found | {_NAMES[word] for word in re.findall(r"[a-z]+", text.lower()) if word in _NAMES}
