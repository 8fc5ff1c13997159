"""An order file → an order, or every problem of the file at once, each with its line, its key and the way out.

    title = "Bench controllers, spring"
    currency = "EUR"
    boards = 4
    spares = "10%"

    [rates]
    GBP = 1.17          # what one GBP is in EUR

    [[line]]
    name = "Q1 to Q3"
    part = "BRQ33324-40L"
    quantity = 3        # for one board

    [[line]]
    name = "Q4"
    [line.need]         # any part that fits, as `loadworthy choose` asks for it
    family = "transistor"
    supply = "12V"
    resistance = "1.6ohm"

    [terms."Thistledown Parts Post"]
    shipping = [["0", "4.90"], ["50", "0"]]

:mod:`~loadworthy.shopping.order_keys` has every key.
"""

from __future__ import annotations

import difflib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import MISSING, Field, dataclass, field, fields
from decimal import Decimal, InvalidOperation
from pathlib import Path
from typing import Any, Final

from loadworthy import toml_positions as positions
from loadworthy.errors import LoadworthyError, OrderError
from loadworthy.needs import NEEDS, Need
from loadworthy.shopping.order_keys import (
    KEYS,
    MOST_PIECES,
    READERS,
    Spares,
    are_texts,
    read_more_loss,
    read_rate,
)
from loadworthy.shopping.terms import KEYS as TERM_KEYS
from loadworthy.shopping.terms import Terms, read_currency, read_terms
from loadworthy.toml_files import TomlFile, read_toml

__all__ = ["Order", "OrderLine", "read_order", "read_order_text"]

_MOST_LINES: Final = 2000


@dataclass(frozen=True, kw_only=True)
class OrderLine:
    """One line: a part, or a need that any part that fits will do for.

    Attributes
    ----------
    name, where
        What it is called, and its place in the file.
    pieces
        With all boards and spares.
    needed
        Without spares.
    more_loss
        How much more than the best a part may lose; None for any part that fits.
    """

    name: str
    where: str
    pieces: int
    needed: int
    part: str | None = None
    maker: str | None = None
    family: str | None = None
    need: Need | None = None
    more_loss: Decimal | None = None
    suppliers: tuple[str, ...] = ()
    second_source: bool = False


@dataclass(frozen=True, kw_only=True)
class Order:
    """What is to be bought, and on which terms.

    ``wait_days`` is 0 where only what is in stock may be bought, infinite for however long; None leaves it to the
    aim. Suppliers are in small letters; so are the names of `terms`, in which ``*`` stands for all others.
    """

    title: str = "Order"
    currency: str | None = None
    boards: int = 1
    lines: tuple[OrderLine, ...]
    rates: Mapping[str, Decimal] = field(default_factory=dict)
    terms: Mapping[str, Terms] = field(default_factory=dict)
    aim: str = "cheapest"
    shortfall: str = "none"
    wait_days: float | None = None
    tax: bool = False

    def terms_of(self, supplier: str) -> Terms | None:
        """Return a supplier's terms; None where the order has none for it."""
        return self.terms.get(supplier.lower(), self.terms.get("*"))


def read_order(path: Path, **instead: object) -> Order:
    """Read an order file.

    Parameters
    ----------
    path
        The file; terms in a file of their own are looked for beside it.
    instead
        Values that count before those of the file, by their keys (``aim="soonest"``).

    Raises
    ------
    OrderError
        The file cannot be read, or something in it is not sound; :attr:`OrderError.problems` has all.
    """
    return _Reader(read_toml(path, fault=OrderError), instead, folder=path.parent).order()


def read_order_text(text: str, *, name: str = "order", **instead: object) -> Order:
    r"""Read the text of an order file; `name` is what errors call it. Terms in a file of their own are not read.

    Raises
    ------
    OrderError
        Something in it is not sound.

    Examples
    --------
    >>> order = read_order_text('boards = 4\nspares = "10%"\n[[line]]\npart = "X1"\nquantity = 2')
    >>> order.lines[0].pieces, order.lines[0].needed
    (9, 8)
    """
    return _Reader(read_toml(text, fault=OrderError, name=name), instead, folder=None).order()


class _Reader:
    """One file being read."""

    def __init__(self, file: TomlFile[OrderError], instead: Mapping[str, object], folder: Path | None) -> None:
        self.file = file
        self.instead = instead
        self.folder = folder

    def order(self) -> Order:
        """Read everything; raise what is wrong all at once."""
        raw = {**self.file.raw, **{key: value for key, value in self.instead.items() if value is not None}}
        top = self.keys(raw, "order", ())
        terms = self.terms(raw.get("terms"))
        rates = self.rates(raw.get("rates", {}), top.get("currency"))
        boards = top.get("boards", 1)
        lines = [self.line(line, path, top, boards) for line, path in self.lines(raw)]
        self.file.check()
        known = {name: top[name] for name in ("title", "currency", "aim", "shortfall", "tax") if name in top}
        return Order(
            **known,
            boards=boards,
            lines=tuple(line for line in lines if line is not None),
            rates=rates,
            terms=terms,
            wait_days=top.get("wait"),
        )

    def keys(self, raw: Mapping[str, Any], table: str, path: positions.Path) -> dict[str, Any]:
        """Read the keys of one table that hold a value."""
        read: dict[str, Any] = {}
        for key, value in raw.items():
            if key not in KEYS[table]:
                self.file.wrong((*path, key), f"there is no key {key!r} here.", _near(key, KEYS[table]))
            elif key in READERS:
                try:
                    read[key] = READERS[key](value)
                except LoadworthyError as error:
                    example = f"Write it like {key} = {KEYS[table][key][0]}."
                    self.file.wrong((*path, key), error.message, error.way_out or example)
        return read

    def lines(self, raw: Mapping[str, Any]) -> Iterator[tuple[Mapping[str, Any], positions.Path]]:
        """Give the tables of the lines."""
        rows = raw.get("line", [])
        if not isinstance(rows, list) or not all(isinstance(row, Mapping) for row in rows):
            self.file.wrong(("line",), "line is no list of tables.", "Write [[line]] above each.")
            return
        if not rows:
            self.file.wrong(("line",), "the order has no line.", "Write [[line]] with part or need below it.")
        if len(rows) > _MOST_LINES:
            self.file.wrong(("line",), f"the order has more than {_MOST_LINES} lines.", "Part it in several.")
            return
        for place, row in enumerate(rows):
            yield row, ("line", place)

    def line(
        self, raw: Mapping[str, Any], path: positions.Path, top: Mapping[str, Any], boards: int
    ) -> OrderLine | None:
        """Read one line."""
        before = len(self.file.problems)
        read = self.keys(raw, "line", path)
        if ("part" in raw) == ("need" in raw):
            said = "part and need exclude one another." if "part" in raw else "neither part nor need is given."
            self.file.wrong((*path, "need") if "part" in raw else path, said, "Give exactly one of them.")
        for key in ("maker", "family"):
            if key in raw and "part" not in raw:
                self.file.wrong((*path, key), f"{key} belongs to a part.", "Leave it out, or say it under [line.need].")
        need, more_loss = self.need(raw["need"], (*path, "need")) if "need" in raw else (None, None)
        if "quantity" not in raw:
            self.file.wrong((*path, "quantity"), "quantity is missing.", "Write it like quantity = 2, for one board.")
        needed = read.get("quantity", 1) * boards
        pieces = read.get("spares", top.get("spares", Spares())).with_them(needed)
        if pieces > MOST_PIECES:
            self.file.wrong(
                (*path, "quantity"), f"{pieces} pieces cannot be planned.", f"{MOST_PIECES} are the most for a line."
            )
        if len(self.file.problems) > before:
            return None
        forced = self.instead.get("suppliers") is not None
        return OrderLine(
            name=read.get("name", f"line {path[-1] + 1}" if isinstance(path[-1], int) else "line"),
            where=self.file.place(path),
            pieces=pieces,
            needed=needed,
            part=read.get("part"),
            maker=read.get("maker"),
            family=read.get("family"),
            need=need,
            more_loss=more_loss,
            suppliers=top.get("suppliers", ()) if forced else read.get("suppliers", top.get("suppliers", ())),
            second_source=read.get("second_source", top.get("second_source", False)),
        )

    def need(self, raw: object, path: positions.Path) -> tuple[Need | None, Decimal | None]:
        """Read a need: the family, and the options of choosing."""
        if not isinstance(raw, Mapping):
            self.file.wrong(path, "need is no table.", "Write [line.need] with family and its options below.")
            return None, None
        family = raw.get("family")
        if not isinstance(family, str) or family not in NEEDS:
            said = "family is missing." if family is None else f"there is no family {family!r}."
            self.file.wrong((*path, "family"), said, f"It is one of {', '.join(NEEDS)}.")
            return None, None
        kind = NEEDS[family]
        options = {one.name: one for one in fields(kind)}
        given: dict[str, Any] = {}
        before = len(self.file.problems)
        for key, value in raw.items():
            name = key.replace("-", "_")
            if name in ("family", "more_loss"):
                continue
            if name not in options:
                self.file.wrong(
                    (*path, key), f"a {family} has no option {key!r}.", _near(name, [*options, "more_loss"])
                )
                continue
            several = isinstance(options[name].default, tuple)
            flag = options[name].default is False
            sound = isinstance(value, bool) if flag else isinstance(value, str) or (several and are_texts(value))
            if not sound:
                example = (
                    "true" if flag else '["one", "another"]' if several else f'"{options[name].metadata["example"]}"'
                )
                self.file.wrong((*path, key), f"{value!r} cannot be.", f"Write it like {key} = {example}.")
                continue
            given[name] = ((value,) if isinstance(value, str) else tuple(value)) if several else value
        more_loss = None
        if "more_loss" in raw:
            try:
                more_loss = read_more_loss(raw["more_loss"], kind)
            except OrderError as error:
                self.file.wrong((*path, "more_loss"), error.message, error.way_out or 'Write it like "10%".')
        if len(self.file.problems) > before:
            return None, None
        try:
            return kind(**given), more_loss
        except LoadworthyError as error:
            name = (error.where or "").removeprefix("--").replace("-", "_")
            place = (*path, next((key for key in raw if key.replace("-", "_") == name), name)) if name else path
            self.file.wrong(place, error.message, _as_keys(error.way_out or "Check it."))
        except TypeError:
            missing = [name for name, one in options.items() if _required(one) and name not in given]
            self.file.wrong(path, f"{', '.join(missing)} is missing.", f"See loadworthy choose {family} --help.")
        return None, None

    def rates(self, raw: object, own: str | None) -> dict[str, Decimal]:
        """Read what one of another currency is in the order's."""
        found: dict[str, Decimal] = {}
        if not isinstance(raw, Mapping):
            self.file.wrong(("rates",), "rates is no table.", "Write [rates] with lines like USD = 0.92 below.")
            return found
        for code, value in raw.items():
            try:
                currency, rate = read_currency(code), read_rate(value)
            except (InvalidOperation, OrderError):
                self.file.wrong(("rates", code), f"{code} = {value!r} is no rate.", "Write it like USD = 0.92.")
                continue
            if currency in found:
                self.file.wrong(("rates", code), f"the rate of {currency} is there twice.", "Keep one of them.")
            elif currency == own and rate != 1:
                said = f"{currency} is the currency in which sums are: one is one."
                self.file.wrong(("rates", code), said, "Leave it out, or name another currency at the top.")
            found[currency] = rate
        return found

    def terms(self, raw: object) -> dict[str, Terms]:
        """Read the terms, here or in a file of their own."""
        if raw is None:
            return {}
        if isinstance(raw, str):
            if self.folder is None:  # whoever wrote the text may not be who may read this computer's files
                said = "terms in a file of their own are not read here."
                self.file.wrong(("terms",), said, 'Write them into the order, as [terms."SUPPLIER"].')
                return {}
            file = read_toml(self.folder / raw, fault=OrderError)
            found = read_terms(file.raw, (), file.wrong, among=lambda key: _near(key, TERM_KEYS))
            self.file.problems += file.problems
            return found
        if not isinstance(raw, Mapping):
            self.file.wrong(("terms",), "terms is neither a table nor a file.", 'Write [terms."SUPPLIER"].')
            return {}
        return read_terms(raw, ("terms",), self.file.wrong, among=lambda key: _near(key, TERM_KEYS))


def _near(key: str, known: Sequence[str] | Mapping[str, object]) -> str:
    near = difflib.get_close_matches(key, list(known), n=2)
    return f"Did you mean {' or '.join(near)}?" if near else f"It is one of {', '.join(known)}."


def _as_keys(text: str) -> str:
    """Say of keys what an error says of options."""
    return " ".join(word[2:].replace("-", "_") if word.startswith("--") else word for word in text.split(" "))


def _required(option: Field[Any]) -> bool:
    return option.default is MISSING and option.default_factory is MISSING
