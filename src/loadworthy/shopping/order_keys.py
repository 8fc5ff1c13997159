"""What may stand in an order file: its keys, and how the value of each is read."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from decimal import ROUND_CEILING, Decimal
from typing import Any, Final

from loadworthy.errors import OrderError
from loadworthy.needs import Need
from loadworthy.shopping.programme import AIMS, SHORTFALLS
from loadworthy.shopping.terms import KEYS as TERM_KEYS
from loadworthy.shopping.terms import read_currency, read_percent
from loadworthy.shopping.waits import read_wait

__all__ = ["KEYS", "MOST_PIECES", "READERS", "Spares", "are_texts", "described", "read_more_loss", "read_rate"]

#: Table → key → how it is written, and what it means.
KEYS: Final[dict[str, dict[str, tuple[str, str]]]] = {
    "order": {
        "title": ('"Bench controllers"', "What the order is for."),
        "currency": ('"EUR"', "In which sums are made; if not given, the one that all prices are in."),
        "boards": ("4", "How many boards are built; every quantity is for one."),
        "spares": ('"10%"', "More than needed of every line: a share, or a number of pieces."),
        "second_source": ("true", "Name another source of every part beside the one that is bought."),
        "suppliers": ('["Thistledown Parts Post"]', "Who may be bought from; all if not given."),
        "aim": ('"cheapest"', f"What the plan is for: {', '.join(AIMS)}."),
        "shortfall": ('"none"', f"What becomes of a line that cannot be had: {', '.join(SHORTFALLS)}."),
        "wait": ('"6 weeks"', 'How long a part that is not in stock may take; "any" for however long.'),
        "tax": ("true", "Show tax, by the rates of the terms."),
        "terms": ('"terms.toml"', "Suppliers' terms: tables here, or the file that has them."),
        "rates": ("{ USD = 0.92 }", "What one of another currency is in the order's."),
        "line": ("[[line]]", "One part, or one need."),
    },
    "line": {
        "name": ('"Q1"', "What the line is called; its number if not given."),
        "part": ('"BRQ33324-40L"', "Part number."),
        "maker": ('"Brackmere"', "Its maker, where several makers use the number."),
        "family": ('"transistor"', "Its family, where the number is in several."),
        "quantity": ("2", "Pieces for one board."),
        "spares": ("2", "As for the order, for this line."),
        "suppliers": ('["Tidemill"]', "As for the order, for this line."),
        "second_source": ("false", "As for the order, for this line."),
        "need": ("[line.need]", "Any part that fits: family, and the options of `loadworthy choose`."),
    },
    "need": {
        "family": ('"transistor"', "Which family is asked for."),
        "more_loss": ('"10%"', "How much more than the best a part may lose; any part that fits if not given."),
    },
    "terms": TERM_KEYS,
}
#: The most that one line may ask for.
MOST_PIECES: Final = 1_000_000


@dataclass(frozen=True, kw_only=True)
class Spares:
    """What is bought beyond the pieces needed: a share of them, or a number."""

    share: Decimal = Decimal(0)
    pieces: int = 0

    def with_them(self, needed: int) -> int:
        """Return the pieces with the spares, a share rounded up.

        Examples
        --------
        >>> Spares(share=Decimal("0.1")).with_them(30), Spares(share=Decimal("0.1")).with_them(31)
        (33, 35)
        """
        return int((needed * (1 + self.share)).to_integral_value(ROUND_CEILING)) + self.pieces


def described() -> Iterator[tuple[str, str, str, str]]:
    """Give every key of an order file: table, key, how it is written, what it means."""
    for table, keys in KEYS.items():
        for key, (example, words) in keys.items():
            yield table, key, example, words


def are_texts(value: object) -> bool:
    """Say whether a value is a list of texts."""
    return isinstance(value, list) and all(isinstance(item, str) for item in value)


def _text(value: object) -> str:
    if not isinstance(value, str) or not value.strip():
        raise OrderError(f"{value!r} is no text.")
    return " ".join(value.split())


def _count(value: object) -> int:
    if not isinstance(value, int) or isinstance(value, bool) or not 1 <= value <= MOST_PIECES:
        raise OrderError(f"{value!r} is no whole number from 1 to {MOST_PIECES}.")
    return value


def _flag(value: object) -> bool:
    if not isinstance(value, bool):
        raise OrderError(f"{value!r} is neither true nor false.")
    return value


def _spares(value: object) -> Spares:
    if isinstance(value, int) and not isinstance(value, bool) and 0 <= value <= MOST_PIECES:
        return Spares(pieces=value)
    if isinstance(value, str):
        return Spares(share=read_percent(value))
    raise OrderError(f"{value!r} is neither a share nor a number of pieces.")


def _suppliers(value: object) -> tuple[str, ...]:
    if not are_texts(value) or not value:
        raise OrderError(f"{value!r} is no list of suppliers.")
    return tuple(dict.fromkeys(" ".join(str(name).split()).lower() for name in value))  # type: ignore[attr-defined]


def _word(words: Sequence[str]) -> Callable[[object], str]:
    def read(value: object) -> str:
        if value not in words:
            raise OrderError(f"{value!r} is none of {', '.join(words)}.", way_out="Write one of them.")
        return str(value)

    return read


def _wait(value: object) -> float:
    found = float("inf") if value == "any" else read_wait(value) if isinstance(value, str) else None
    if found is None:
        raise OrderError(f"{value!r} is no wait.", way_out='Write it like "10 days", "6 weeks" or "any".')
    return found


def read_rate(value: object) -> Decimal:
    """Read a rate of exchange.

    Raises
    ------
    OrderError
        It is none.
    decimal.InvalidOperation
        It is no number.
    """
    rate = Decimal(0 if isinstance(value, bool) else str(value))
    if not 0 < rate < 10**6:
        raise OrderError(f"{value!r} is no rate.")
    return rate


def read_more_loss(value: object, kind: type[Need]) -> Decimal:
    """Read how much more than the best a part may lose.

    Raises
    ------
    OrderError
        It is no share, or parts of the family are not ranked by what they lose.
    """
    from loadworthy import criteria  # noqa: PLC0415 - only where it is asked for

    if not any(key.endswith("_loss_w") for key in criteria.load(kind.family).ranking.by):
        raise OrderError(f"a {kind.family} is not ranked by what it loses.", way_out="Leave more_loss out.")
    return read_percent(value)


#: Key → the reader of its value.
READERS: Final[dict[str, Callable[[Any], Any]]] = {
    "title": _text, "currency": read_currency, "boards": _count, "spares": _spares, "second_source": _flag,
    "suppliers": _suppliers, "aim": _word(AIMS), "shortfall": _word(SHORTFALLS), "wait": _wait, "tax": _flag,
    "name": _text, "part": _text, "maker": _text, "family": _text, "quantity": _count,
}  # fmt: skip
