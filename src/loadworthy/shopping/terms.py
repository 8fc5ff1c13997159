"""What a supplier charges beside the goods: shipping by the value of the order, handling, the least order, tax.

[terms."Thistledown Parts Post"]        # "*" stands for every supplier without terms of its own
shipping = [["0", "4.90"], ["50", "0"]] # from which value of the goods on, and what it costs; or one amount
handling = "2.50"                       # once an order
least_order = "10"                      # least value of the goods
tax = "19%"                             # on goods, shipping and handling; shown, never weighed
packaging = { reel = "7.00" }           # once a line whose packaging has this word
currency = "EUR"                        # of these amounts, and of the supplier's prices that name none
"""

from __future__ import annotations

import itertools
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any, Final

from loadworthy.errors import OrderError
from loadworthy.shopping.money import Amount, read_amount
from loadworthy.toml_positions import Path

__all__ = ["KEYS", "Terms", "read_currency", "read_percent", "read_terms"]

#: Key → how it is written, and what it means.
KEYS: Final[dict[str, tuple[str, str]]] = {
    "shipping": ('[["0", "4.90"], ["50", "0"]]', "From which value of the goods on shipping costs what."),
    "handling": ('"2.50"', "Charged once an order."),
    "least_order": ('"10"', "Least value of the goods that is accepted."),
    "tax": ('"19%"', "Tax on everything; shown, never weighed."),
    "packaging": ('{ reel = "7.00" }', "Charged once a line whose packaging has the word."),
    "currency": ('"EUR"', "Currency of these amounts, and of the supplier's prices that name none."),
}
_MOST_STEPS: Final = 20
_NOTHING: Final = Amount(value=Decimal(0))


@dataclass(frozen=True, kw_only=True)
class Terms:
    """One supplier's terms."""

    shipping: tuple[tuple[Amount, Amount], ...] = ((_NOTHING, _NOTHING),)
    handling: Amount = _NOTHING
    least_order: Amount = _NOTHING
    tax: Decimal | None = None
    packaging: Mapping[str, Amount] = field(default_factory=dict)
    currency: str | None = None

    def amounts(self) -> tuple[Amount, ...]:
        """Return every amount in it."""
        steps = tuple(amount for step in self.shipping for amount in step)
        return (*steps, self.handling, self.least_order, *self.packaging.values())


def read_currency(value: object) -> str:
    """Read the code of a currency.

    Raises
    ------
    OrderError
        It is none.
    """
    if isinstance(value, str) and re.fullmatch(r"[A-Za-z]{3}", value):
        return value.upper()
    raise OrderError(f"{value!r} is no currency.", way_out='Write its three letters, like "EUR".')


def read_percent(value: object) -> Decimal:
    """Read a share given in per cent.

    Raises
    ------
    OrderError
        It is none, or above 100 %.

    Examples
    --------
    >>> read_percent("7.5 %")
    Decimal('0.075')
    """
    match = re.fullmatch(r"\s*(\d{1,4}(?:[.,]\d{1,4})?)\s*%\s*", value) if isinstance(value, str) else None
    share = Decimal(match.group(1).replace(",", ".")) / 100 if match else None
    if share is None or share > 1:
        raise OrderError(f"{value!r} is no share of at most 100 %.", way_out='Write it like "10%".')
    return share


def read_terms(
    raw: Mapping[str, Any], path: Path, wrong: Callable[[Path, str, str], None], *, among: Callable[[str], str]
) -> dict[str, Terms]:
    """Read the terms of all suppliers.

    Parameters
    ----------
    raw
        Supplier → their table.
    path
        Where the tables stand.
    wrong
        Keeps a problem: its path, what is wrong, the way out.
    among
        An unknown key → what to say of it.

    Returns
    -------
    dict
        Supplier, in small letters → terms.
    """
    found: dict[str, Terms] = {}
    for supplier, table in raw.items():
        here = (*path, supplier)
        if not isinstance(table, Mapping):
            wrong(here, "these terms are no table.", f'Write [terms."{supplier}"] with its keys below.')
            continue
        read: dict[str, Any] = {}
        for key, value in table.items():
            if key not in KEYS:
                wrong((*here, key), f"there is no key {key!r} here.", among(key))
                continue
            try:
                read[key] = _READERS[key](value)
            except OrderError as error:
                wrong((*here, key), error.message, error.way_out or f"Write it like {KEYS[key][0]}.")
        found[supplier.strip().lower()] = _in_its_currency(Terms(**read))
    return found


def _in_its_currency(terms: Terms) -> Terms:
    """Give bare amounts the currency that the terms name."""

    def own(amount: Amount) -> Amount:
        return Amount(value=amount.value, currency=amount.currency or terms.currency)

    return Terms(
        shipping=tuple((own(start), own(charge)) for start, charge in terms.shipping),
        handling=own(terms.handling),
        least_order=own(terms.least_order),
        tax=terms.tax,
        packaging={word: own(amount) for word, amount in terms.packaging.items()},
        currency=terms.currency,
    )


def _shipping(value: object) -> tuple[tuple[Amount, Amount], ...]:
    if not isinstance(value, list):
        return ((_NOTHING, read_amount(value)),)
    if not value or len(value) > _MOST_STEPS or not all(isinstance(step, list) and len(step) == 2 for step in value):
        raise OrderError(
            "shipping is no list of pairs.", way_out="Write it like [[value from which on, cost], …], the first from 0."
        )
    steps = tuple((read_amount(start), read_amount(charge)) for start, charge in value)
    starts = [start.value for start, _ in steps]
    if starts[0] != 0 or any(later <= earlier for earlier, later in itertools.pairwise(starts)):
        raise OrderError("the values do not rise from 0.", way_out='Put them in order; the first step is from "0" on.')
    return steps


def _packaging(value: object) -> dict[str, Amount]:
    if not isinstance(value, Mapping):
        raise OrderError("packaging is no table.", way_out='Write it like { reel = "7.00" }.')
    return {str(word).lower(): read_amount(amount) for word, amount in value.items()}


_READERS: Final[dict[str, Callable[[Any], Any]]] = {
    "shipping": _shipping,
    "handling": read_amount,
    "least_order": read_amount,
    "tax": read_percent,
    "packaging": _packaging,
    "currency": read_currency,
}
