"""Choosing: the parts that fit a need, ranked; what stopped the others; the nearest misses."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, Final

from loadworthy import statements
from loadworthy.asking import Asking, figures_first, leading, lets_any, names_last
from loadworthy.beside import Beside
from loadworthy.catalog.schema import offers_of_rows
from loadworthy.errors import UsageError
from loadworthy.judging import assumed, figures, offers_of, passes, plain, remarks
from loadworthy.needs import Need
from loadworthy.shortfalls import Counts, count_parts, near_misses_of, open_questions
from loadworthy.statements import HasConnection, Parameter, Statement

if TYPE_CHECKING:
    import pandas as pd
    import pyarrow as pa

__all__ = [
    "Counts",
    "Selection",
    "check_suppliers",
    "choose",
    "in_order",
    "known_suppliers",
    "meets",
    "price_cautions",
    "wished_first",
]

_HEAD: Final = 2000
#: The offers of so many parts are asked for row by row.
_FEW_ROWS: Final = 200
#: What a part's row says of where it is from.
_WHENCE: Final = ("list_id", "record")


@dataclass(frozen=True, kw_only=True)
class Selection:
    """What was chosen for a need, and why the rest was not.

    Attributes
    ----------
    need
        The need.
    ranked
        The parts that fit, the best first; each a dict of figures in SI units.
    counts
        How many parts each criterion stopped; None where they were not counted.
    near_misses
        Parts that one numeric criterion stopped and nothing else, the nearest first.
    cautions
        What to mind.
    statements
        The statements that ran, with what was bound to them.
    """

    need: Need
    ranked: tuple[dict[str, Any], ...]
    counts: Counts | None
    near_misses: tuple[dict[str, Any], ...]
    cautions: tuple[str, ...]
    statements: tuple[Statement, ...] = field(repr=False)

    def as_json(self) -> dict[str, Any]:
        """Return it as plain values, with the SI units in the names."""
        return {
            "need": self.need.as_json(),
            "counts": None if self.counts is None else self.counts.as_json(),
            "ranked": [dict(row) for row in self.ranked],
            "near_misses": [dict(row) for row in self.near_misses],
            "cautions": list(self.cautions),
        }

    def to_pandas(self) -> pd.DataFrame:
        """Return the ranked parts as a data frame."""
        import pandas as pd  # noqa: PLC0415 - it takes long to start, and few ask for it

        return pd.DataFrame([dict(row) for row in self.ranked])

    def to_arrow(self) -> pa.Table:
        """Return the ranked parts as an Arrow table."""
        import pyarrow as pa  # noqa: PLC0415 - as above

        return pa.Table.from_pylist([dict(row) for row in self.ranked])


def choose(catalog: HasConnection, need: Need, *, top: int = 10, near: int = 5, counting: bool = True) -> Selection:
    """Rank the parts of a catalogue that fit a need.

    Parameters
    ----------
    catalog
        The catalogue; only its ``connection`` is used.
    need
        What the part is needed for.
    top
        How many of the parts that fit to return.
    near
        How many near misses to return.
    counting
        Whether to count what each criterion stopped. Counts and near misses look at every figure of every
        part, which the ranked list does not; leave them out where they are not shown.

    Raises
    ------
    CatalogError
        The catalogue holds no parts of the family.
    UsageError
        A number of rows is impossible.
    """
    for name, number, least in (("top", top, 1), ("near", near, 0)):
        if number < least:
            raise UsageError(f"{number} rows cannot be shown.", where=f"--{name}", way_out=f"Give {least} or more.")
    asking = Asking(catalog, need)
    if need.parameters().get("supplier"):
        suppliers = asking.rows(statements.bind("suppliers", statements.assemble("suppliers"), {}))
        check_suppliers(need, known_suppliers(suppliers))
    apart = asking.apart()
    # In a great catalogue the engine itself keeps all cores busy.
    beside = Beside(lambda: near_misses_of(apart, near)) if near and asking.small else None
    try:
        ranked = _ranked(asking, top)
        counts = count_parts(asking) if counting else None
    finally:
        if beside is not None:
            beside.wait()
    misses = beside.result() if beside is not None else near_misses_of(apart, near) if near else ()
    return Selection(
        need=need,
        ranked=ranked,
        counts=counts,
        near_misses=misses,
        cautions=(
            *(open_questions(need, counts) if counts else ()),
            *price_cautions(need, asking.values["price_currency"]),
            *need.cautions(),
        ),
        statements=(*asking.ran, *apart.ran),
    )


def _ranked(asking: Asking, top: int) -> tuple[dict[str, Any], ...]:
    need = asking.need
    head, values = _narrowed(asking, top)
    rows = _sorted(asking, top, late=asking.great and not head, head=head, values=values)
    if need.prefer_measured and any(asking.kept.within):
        first = _sorted(asking, top, late=False, only=asking.kept.within)
        known = {row["part_key"] for row, _ in first}
        rows = [*first, *(one for one in rows if one[0]["part_key"] not in known)]
    return tuple(
        {
            "rank": rank,
            **figures(row),
            "assumed": assumed(row, need),
            "remarks": [*remarks(row, need.rules), *asking.kept.remarks(row)],
            "offers": offers,
        }
        for rank, (row, offers) in enumerate(rows[:top], 1)
    )


def _sorted(
    asking: Asking,
    top: int,
    *,
    late: bool,
    **put: Any,  # noqa: ANN401 - what `statement` takes
) -> list[tuple[dict[str, Any], list[dict[str, Any]]]]:
    """Read the first parts that fit, the best first, each with its offers."""
    keys = asking.need.rules.ranking.by
    if asking.by_rows:
        put["besides"] = "".join(f"{name}, " for name in _WHENCE)
    rows = leading(asking, "ranked", top, keys=keys, late=late, closely=lets_any(asking.need), **put)
    offers = _offers(asking, rows)
    rows = [{name: told for name, told in row.items() if name not in _WHENCE} for row in rows]
    return in_order(rows, offers, asking.need, asking.values["price_currency"])[:top]


def in_order(
    rows: Sequence[dict[str, Any]],
    offers: Mapping[str, Sequence[dict[str, Any]]],
    need: Need,
    price_currency: Parameter,
) -> list[tuple[dict[str, Any], list[dict[str, Any]]]]:
    """Put parts that fit in order, each with its offers: those that were asked for first.

    Parameters
    ----------
    rows
        At least their ranking's figures and their names, and every part that ties with one of them.
    offers
        Key of a part → what suppliers ask for it.
    need
        The need.
    price_currency
        The currency in which prices break ties; None for the one that most of these offers use.
    """
    wished = {key: wished_first(each, need) for key, each in offers.items()}
    currency = price_currency or _currency(wished)
    placed = sorted(
        rows,
        key=lambda row: (
            *figures_first(row, need.rules.ranking.by),
            _price(wished.get(row["part_key"], ()), currency),
            *names_last(row),
        ),
    )
    return [(row, wished.get(row["part_key"], [])) for row in placed]


def _narrowed(asking: Asking, top: int) -> tuple[str, dict[str, Parameter]]:
    """In a great catalogue, bound what the ranked list has to look at.

    The parts with the lowest floor are judged first. The last of their `top` best bounds the first key of the
    list from above, so a part whose floor lies beyond that bound cannot be on it.
    """
    need, ranking = asking.need, asking.need.rules.ranking
    if ranking.floor is None or math.isinf(need.floor_limit(1.0)) or not asking.great:
        return "", {}
    plain_ones = " AND ".join(passes(need.rules.criterion(name)) for name in ranking.plain)
    head = f"WHERE {plain_ones} ORDER BY {ranking.floor} LIMIT $head"
    asked = asking.statement(
        "floor",
        closely=lets_any(need),
        head=head,
        values={"top": top, "head": max(_HEAD, 50 * top)},
    )
    bounds = [row["bound"] for row in asking.rows(asked)]
    if len(bounds) < top or bounds[-1] is None:
        return "", {}
    return f"WHERE {ranking.floor} <= $most_floor", {"most_floor": need.floor_limit(bounds[-1])}


def _offers(asking: Asking, rows: Sequence[Mapping[str, Any]]) -> dict[str, list[dict[str, Any]]]:
    """Look up what suppliers ask for parts; the others' keys need not be read where the rows say whence they are."""
    if not rows:
        return {}
    family, values = asking.need.rules.family, {}
    text = offers_of()
    if asking.by_rows and len(rows) <= _FEW_ROWS:
        given = [(row["part_key"], *(row[name] for name in _WHENCE)) for row in rows if row["list_id"] is not None]
        values = {
            f"{name}_{number}": told
            for number, each in enumerate(given or [("", 0, 0)])
            for name, told in zip(("key", *_WHENCE), each, strict=True)
        }
        places = ", ".join(
            f"($key_{number}, $list_id_{number}, $record_{number})" for number in range(len(values) // 3)
        )
        at_hand = f"SELECT * FROM (VALUES {places}) AS given(part_key, list_id, record)"
        text = offers_of(offers=offers_of_rows(family, at_hand), among="TRUE")
    values |= {"family": family, "part_key": [row["part_key"] for row in rows]}
    found: dict[str, list[dict[str, Any]]] = {}
    for row in asking.rows(statements.bind("offers", text, values)):
        found.setdefault(row.pop("part_key"), []).append({name: plain(value) for name, value in row.items()})
    return found


def wished_first(offers: Iterable[dict[str, Any]], need: Need) -> list[dict[str, Any]]:
    """Put offers in the order in which they are shown: those that the need asks for first, those sold out last."""
    asked = need.asks_for_offer
    return sorted(offers, key=lambda offer: (asked and not meets(offer, need), offer["stock"] == 0))


def meets(offer: Mapping[str, Any], need: Need) -> bool:
    """Say whether an offer is one of those that the need asks for."""
    asked = need.parameters()
    suppliers, most = asked.get("supplier") or (), asked.get("max_price")
    named = not suppliers or str(offer["supplier"]).lower() in suppliers  # type: ignore[operator]
    stocked = not asked.get("in_stock") or (offer["stock"] or 0) > 0
    price = offer["unit_price"]
    cheap = most is None or (price is not None and price <= most and offer["currency"] == asked.get("currency"))
    return bool(named and stocked and cheap)


def check_suppliers(need: Need, known: Mapping[str, str]) -> None:
    """A supplier that the catalogue does not know is a slip, not a criterion that nothing meets.

    Parameters
    ----------
    need
        The need.
    known
        The suppliers of the catalogue, by their names in small letters.

    Raises
    ------
    UsageError
        The need names another.
    """
    for name in need.parameters().get("supplier") or ():  # type: ignore[union-attr]
        if name not in known:
            raise UsageError(
                f"the catalogue has no supplier {name!r}.",
                where="--supplier",
                way_out=f"It has {', '.join(known.values())}.",
            )


def known_suppliers(rows: Iterable[Mapping[str, Any]]) -> dict[str, str]:
    """Return suppliers by their names in small letters."""
    return {str(row["supplier"]).lower(): str(row["supplier"]) for row in rows}


def _currency(offers: Mapping[str, Sequence[Mapping[str, Any]]]) -> str | None:
    """Return the currency that most of these offers use: in it prices break a tie."""
    used = Counter(offer["currency"] for each in offers.values() for offer in each if offer["currency"])
    return min(used, key=lambda name: (-used[name], name)) if used else None


def _price(offers: Sequence[Mapping[str, Any]], currency: Parameter) -> float:
    prices = [
        offer["unit_price"] for offer in offers if offer["unit_price"] is not None and offer["currency"] == currency
    ]
    return min(prices, default=math.inf)


def price_cautions(need: Need, currency: Parameter) -> list[str]:
    """Say in which currency parts were ranked by price, where they were; the rates of others are not known."""
    if not need.rules.ranking.priced or currency is None:
        return []
    return [f"Prices are compared in {currency}; a part that is offered in other currencies only comes last."]
