"""Choosing: the parts that fit a need, ranked; what stopped the others; the nearest misses."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, Final

from loadworthy import statements
from loadworthy.errors import UsageError
from loadworthy.judging import assumed, figures, passes, plain, remarks, require_parts, statement
from loadworthy.needs import Need
from loadworthy.statements import Connection, HasConnection, Parameter, Statement

if TYPE_CHECKING:
    import pandas as pd
    import pyarrow as pa

__all__ = ["Counts", "Selection", "choose", "meets"]

#: Rows looked at beyond those asked for, so that ties at the end of the list are seen.
_SPARE: Final = 16
#: From so many parts on it pays to look first at those with the lowest floor.
_MANY_PARTS: Final = 1_000_000
_MANY_PARTS_OF_A_PACKAGE: Final = 4_000_000
_HEAD: Final = 2000
_LATE_ROWS: Final = 100


@dataclass(frozen=True, kw_only=True)
class Counts:
    """How many parts were looked at, and what became of them.

    ``stopped`` counts a part under the first criterion that it fails, ``unknown`` one that fails none under
    the first whose verdict is not known; considered = fit + stopped + unknown.
    """

    considered: int
    fit: int
    stopped: Mapping[str, int]
    unknown: Mapping[str, int]

    def as_json(self) -> dict[str, Any]:
        """Return them as plain values."""
        return {
            "considered": self.considered,
            "fit": self.fit,
            "stopped": dict(self.stopped),
            "unknown": dict(self.unknown),
        }


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


class _Asking:
    """One need put to one catalogue, in a session of its own; keeps the statements that ran.

    DuckDB can fetch wide rows late, after it has found which they are. Planning that takes it many times as
    long as the rest, and over a deep query seconds, so it is left for the ranked list of a great catalogue
    that could not be narrowed.
    """

    def __init__(self, catalog: HasConnection, need: Need) -> None:
        self.need = need
        self.ran: list[Statement] = []
        self._session: Connection = catalog.connection.cursor()
        require_parts(self._session, need.rules.family)
        text = f"SELECT count(*) AS parts FROM parts_{need.rules.family}"
        parts = self.rows(statements.bind("size", text, {}))[0]["parts"]
        self.values = self._currency()
        # Of one package there are fewer, so that a first look pays only in a still greater catalogue.
        self.great = parts >= (_MANY_PARTS_OF_A_PACKAGE if "package" in need.asked() else _MANY_PARTS)

    def _currency(self) -> dict[str, Parameter]:
        """Prices are compared in one currency: that of the price asked for, else the one most offers use."""
        need = self.need
        currency = need.parameters()["currency"]
        if need.rules.ranking.priced and currency is None:
            text = statements.assemble("currencies")
            rows = self.rows(statements.bind("currencies", text, {"family": need.rules.family}))
            currency = rows[0]["currency"] if rows else None
        return {"price_currency": currency}

    def rows(self, asked: Statement, *, late: bool = False) -> list[dict[str, Any]]:
        self._session.execute(f"SET late_materialization_max_rows = {_LATE_ROWS if late else 0}")
        self.ran.append(asked)
        return asked.rows(self._session)


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
    asking = _Asking(catalog, need)
    _check_suppliers(asking)
    ranked = _ranked(asking, top)
    counts = _counts(asking) if counting else None
    misses = _near_misses(asking, near) if near else ()
    return Selection(
        need=need,
        ranked=ranked,
        counts=counts,
        near_misses=misses,
        cautions=(*(_open_questions(need, counts) if counts else ()), *_prices(asking), *need.cautions()),
        statements=tuple(asking.ran),
    )


def _ranked(asking: _Asking, top: int) -> tuple[dict[str, Any], ...]:
    need, keys = asking.need, asking.need.rules.ranking.by
    head, values = _narrowed(asking, top)
    rows = _leading(
        asking,
        "ranked",
        top,
        keys=keys,
        late=asking.great and not head,
        closely=_lets_any(need),
        head=head,
        values=values,
    )
    offers = _offers(asking, [row["part_key"] for row in rows])
    for each in offers.values():
        each.sort(key=lambda offer: not meets(offer, need))  # the price shown first is one that was asked for
    currency = asking.values["price_currency"] or _currency(offers)
    rows.sort(
        key=lambda row: (
            *_figures_first(row, keys),
            _price(offers.get(row["part_key"], ()), currency),
            *_names_last(row),
        )
    )
    return tuple(
        {
            "rank": rank,
            **figures(row),
            "assumed": assumed(row, need),
            "remarks": remarks(row, need.rules),
            "offers": offers.get(row["part_key"], []),
        }
        for rank, row in enumerate(rows[:top], 1)
    )


def _leading(
    asking: _Asking,
    name: str,
    count: int,
    *,
    keys: Sequence[str],
    late: bool,
    **put: Any,  # noqa: ANN401 - what `statement` takes
) -> list[dict[str, Any]]:
    """Read the first `count` rows of a question and every row that ties with the last of them.

    Texts that break a tie would cost more to read for every part than all its figures, so the question orders
    by figures alone.
    """
    values: dict[str, Parameter] = {**asking.values, **put.pop("values", {})}
    limit = count + _SPARE
    while True:
        values["limit"] = limit
        rows = asking.rows(statement(name, asking.need, values=values, **put), late=late)
        if len(rows) < limit or [rows[-1][key] for key in keys] != [rows[count - 1][key] for key in keys]:
            return rows
        limit *= 16


def _figures_first(row: Mapping[str, Any], keys: Sequence[str]) -> list[float]:
    """Return what a row is ordered by; a figure that is not known comes last."""
    return [math.inf if row[key] is None else row[key] for key in keys]


def _names_last(row: Mapping[str, Any]) -> tuple[str, str, str]:
    return row["maker"] or "", row["part_number"], row["part_key"]


def _lets_any(need: Need) -> bool:
    """Say whether unknowns must be told from failures: only where one is accepted."""
    return any(value for name, value in need.parameters().items() if name.startswith("let_"))


def _narrowed(asking: _Asking, top: int) -> tuple[str, dict[str, Parameter]]:
    """In a great catalogue, bound what the ranked list has to look at.

    The parts with the lowest floor are judged first. The last of their `top` best bounds the first key of the
    list from above, so a part whose floor lies beyond that bound cannot be on it.
    """
    need, ranking = asking.need, asking.need.rules.ranking
    if ranking.floor is None or math.isinf(need.floor_limit(1.0)) or not asking.great:
        return "", {}
    plain_ones = " AND ".join(passes(need.rules.criterion(name)) for name in ranking.plain)
    head = f"WHERE {plain_ones} ORDER BY {ranking.floor} LIMIT $head"
    asked = statement(
        "floor", need, closely=_lets_any(need), head=head, values={"top": top, "head": max(_HEAD, 50 * top)}
    )
    bounds = [row["bound"] for row in asking.rows(asked)]
    if len(bounds) < top or bounds[-1] is None:
        return "", {}
    return f"WHERE {ranking.floor} <= $most_floor", {"most_floor": need.floor_limit(bounds[-1])}


def _offers(asking: _Asking, parts: Sequence[str]) -> dict[str, list[dict[str, Any]]]:
    if not parts:
        return {}
    values = {"family": asking.need.rules.family, "part_key": parts}
    found: dict[str, list[dict[str, Any]]] = {}
    for row in asking.rows(statements.bind("offers", statements.assemble("offers"), values)):
        found.setdefault(row.pop("part_key"), []).append({name: plain(value) for name, value in row.items()})
    return found


def meets(offer: Mapping[str, Any], need: Need) -> bool:
    """Say whether an offer is one of those that the need asks for."""
    asked = need.parameters()
    suppliers, most = asked.get("supplier") or (), asked.get("max_price")
    named = not suppliers or str(offer["supplier"]).lower() in suppliers  # type: ignore[operator]
    stocked = not asked.get("in_stock") or (offer["stock"] or 0) > 0
    price = offer["unit_price"]
    cheap = most is None or (price is not None and price <= most and offer["currency"] == asked.get("currency"))
    return bool(named and stocked and cheap)


def _check_suppliers(asking: _Asking) -> None:
    """A supplier that the catalogue does not know is a slip, not a criterion that nothing meets."""
    asked = asking.need.parameters().get("supplier") or ()
    if not asked:
        return
    rows = asking.rows(statements.bind("suppliers", statements.assemble("suppliers"), {}))
    known = {str(row["supplier"]).lower(): str(row["supplier"]) for row in rows}
    for name in asked:  # type: ignore[union-attr]
        if name not in known:
            raise UsageError(
                f"the catalogue has no supplier {name!r}.",
                where="--supplier",
                way_out=f"It has {', '.join(known.values())}.",
            )


def _currency(offers: Mapping[str, Sequence[Mapping[str, Any]]]) -> str | None:
    """Return the currency that most of these offers use: in it prices break a tie."""
    used = Counter(offer["currency"] for each in offers.values() for offer in each if offer["currency"])
    return min(used, key=lambda name: (-used[name], name)) if used else None


def _price(offers: Sequence[Mapping[str, Any]], currency: Parameter) -> float:
    prices = [
        offer["unit_price"] for offer in offers if offer["unit_price"] is not None and offer["currency"] == currency
    ]
    return min(prices, default=math.inf)


def _counts(asking: _Asking) -> Counts:
    need = asking.need
    names = [criterion.name for criterion in need.rules.criteria]
    slots = {
        "failed": "\n            ".join(f"WHEN NOT ok_{name} THEN '{name}'" for name in names),
        "unknown": "\n            ".join(f"WHEN ok_{name} IS NULL AND NOT $let_{name} THEN '{name}'" for name in names),
    }
    stopped, unknown, fit = dict.fromkeys(need.asked(), 0), Counter[str](), 0
    for row in asking.rows(statement("stopped", need, closely=True, values=asking.values, slots=slots)):
        if row["failed"] is not None:
            stopped[row["failed"]] += row["parts"]
        elif row["unknown"] is not None:
            unknown[row["unknown"]] += row["parts"]
        else:
            fit += row["parts"]
    open_ones = {name: unknown[name] for name in need.asked() if unknown[name]}
    considered = fit + sum(stopped.values()) + sum(open_ones.values())
    return Counts(considered=considered, fit=fit, stopped=stopped, unknown=open_ones)


def _near_misses(asking: _Asking, near: int) -> tuple[dict[str, Any], ...]:
    need, criteria = asking.need, asking.need.rules.criteria
    numeric = [criterion for criterion in criteria if criterion.numeric]
    blocks = [f"CASE WHEN {passes(criterion)} THEN 0 ELSE 1 END AS block_{criterion.name}" for criterion in criteria]
    missed = [
        f"WHEN NOT ok_{one.name} AND "
        + " + ".join(f"block_{other.name}" for other in criteria if other is not one and one.name not in other.rests_on)
        + f" = 0 THEN '{one.name}'"
        for one in numeric
    ]
    slots = {
        "blocks": ",\n        ".join(blocks),
        "missed": "\n        ".join(missed),
        "has": " ".join(f"WHEN '{one.name}' THEN has_{one.name}" for one in numeric),
        "needs": " ".join(f"WHEN '{one.name}' THEN needs_{one.name}" for one in numeric),
    }
    keys = ("shortfall", *need.rules.ranking.by)
    rows = _leading(asking, "near", near, keys=keys, late=False, closely=True, slots=slots)
    missing = [row for row in rows if row["criterion"] is not None]
    missing.sort(key=lambda row: (*_figures_first(row, keys), *_names_last(row)))
    return tuple(_miss(row, need) for row in missing[:near])


def _miss(row: Mapping[str, Any], need: Need) -> dict[str, Any]:
    criterion = need.rules.criterion(row["criterion"])
    shown = ("part_key", "maker", "part_number", "package")
    return {
        **{name: row[name] for name in shown},
        "criterion": criterion.name,
        "has": plain(row["has"]),
        "needs": plain(row["needs"]),
        "unit": criterion.unit,
        "sense": criterion.sense,
        "note": criterion.flag_words if criterion.flag and row[criterion.flag] else None,
        **need.remedy(row),
        "assumed": assumed(row, need),
        "remarks": remarks(row, need.rules),
    }


def _prices(asking: _Asking) -> list[str]:
    """Say in which currency parts were ranked by price; the rates of others are not known."""
    currency = asking.values["price_currency"]
    if not asking.need.rules.ranking.priced or currency is None:
        return []
    return [f"Prices are compared in {currency}; a part that is offered in other currencies only comes last."]


def _open_questions(need: Need, counts: Counts) -> list[str]:
    said = []
    for name, number in counts.unknown.items():
        whose = "1 part fails" if number == 1 else f"{number} parts fail"
        title = need.rules.criterion(name).title
        said.append(
            f"{whose} nothing, but the lists do not say enough to judge “{title}”. With --accept {name} "
            "they may pass, marked: look the figure up in the data sheet before buying."
        )
    return said
