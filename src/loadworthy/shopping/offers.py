"""What the lines of an order can be met with: parts from the catalogue, and what suppliers ask for them."""

from __future__ import annotations

import datetime
import difflib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal
from typing import Any, Final

from loadworthy import statements
from loadworthy.errors import LoadworthyError, OrderError
from loadworthy.listed import families_held, near_numbers, suppliers
from loadworthy.selection import choose, meets
from loadworthy.shopping.order import Order, OrderLine
from loadworthy.shopping.waits import knowledge
from loadworthy.statements import HasConnection

__all__ = ["Candidate", "Offer", "Wanted", "wanted"]

#: Parts looked at for a need, the best ranked first; further down they lose more, and the plan grows without use.
_MOST_PARTS: Final = 60


@dataclass(frozen=True, kw_only=True)
class Offer:
    """What one supplier asks for one part, as its list says it.

    ``breaks`` are the price of a piece from each quantity up, in the list's currency; empty where it gives none.
    """

    supplier: str
    order_number: str | None
    currency: str | None
    breaks: tuple[tuple[int, Decimal], ...]
    multiple: int
    stock: int | None
    stock_at_least: bool
    packaging: str | None
    life_cycle: str | None
    lead_time: str | None
    dated: datetime.date | None
    date_stated: bool

    @property
    def ending(self) -> str | None:
        """What the list says of the part's life cycle where it is not made and sold as usual."""
        said = " ".join((self.life_cycle or "").split())
        return said if said and said.lower() not in knowledge()["life_cycle"]["usual"] else None


@dataclass(frozen=True, kw_only=True)
class Candidate:
    """A part that a line can be met with, and its offers."""

    family: str
    part_key: str
    maker: str | None
    part_number: str
    package: str | None
    loss_w: float | None = None
    figures: Mapping[str, Any] = field(default_factory=dict, repr=False)
    offers: tuple[Offer, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Wanted:
    """One line, and what it can be met with. ``capped`` says that more parts fit than were looked at."""

    line: OrderLine
    candidates: tuple[Candidate, ...]
    capped: bool = False
    cautions: tuple[str, ...] = ()


def wanted(catalog: HasConnection, order: Order) -> list[Wanted]:
    """Find what every line can be met with.

    Raises
    ------
    OrderError
        A part, maker or supplier is not there, or a part number is not one part's alone; all of it at once.
    """
    return _Finder(catalog, order).found()


class _Finder:
    """One order held against one catalogue."""

    def __init__(self, catalog: HasConnection, order: Order) -> None:
        self.catalog = catalog
        self.session = catalog.connection.cursor()
        self.order = order
        self.problems: list[OrderError] = []
        self.families = families_held(self.session)

    def rows(self, text: str, values: Mapping[str, Any]) -> list[dict[str, Any]]:
        return statements.bind("shopping", text, values).rows(self.session)

    def found(self) -> list[Wanted]:
        self._check_suppliers()
        numbered = self._numbered()
        found = []
        for line in self.order.lines:
            one = self._part(line, numbered) if line.need is None else self._need(line)
            if one is not None:
                found.append(one)
        if self.problems:
            if len(self.problems) == 1:
                raise self.problems[0]
            said = "\n".join([f"{len(self.problems)} things are to be mended:", *map(str, self.problems)])
            raise OrderError(said, problems=tuple(self.problems))
        return self._with_offers(found)

    def _wrong(self, line: OrderLine, message: str, way_out: str) -> None:
        self.problems.append(OrderError(message, where=line.where, way_out=way_out))

    def _check_suppliers(self) -> None:
        """A supplier that the catalogue does not know is a slip of the pen."""
        known = {name.lower(): name for name in suppliers(self.session)}
        told: set[str] = set()
        for line in self.order.lines:
            for name in line.suppliers:
                if name not in known and name not in told:
                    told.add(name)
                    near = difflib.get_close_matches(name, list(known), n=2)
                    said = " or ".join(known[one] for one in near)
                    way_out = f"Did you mean {said}?" if near else f"It has {', '.join(known.values()) or 'none'}."
                    self._wrong(line, f"the catalogue has no supplier {name!r}.", way_out)

    def _numbered(self) -> dict[str, list[Candidate]]:
        """Look all part numbers up at once; number in small letters → parts."""
        numbers = list(dict.fromkeys(line.part.lower() for line in self.order.lines if line.part))
        found: dict[str, list[Candidate]] = {}
        for family in self.families if numbers else ():
            for row in self.rows(statements.assemble("by_numbers", family=family), {"part": numbers}):
                found.setdefault(row["part_number"].lower(), []).append(_candidate(family, row))
        return found

    def _part(self, line: OrderLine, numbered: Mapping[str, Sequence[Candidate]]) -> Wanted | None:
        every = numbered.get((line.part or "").lower(), ())
        fitting = [
            one
            for one in every
            if (line.family is None or one.family == line.family)
            and (line.maker is None or (one.maker or "").lower() == line.maker.lower())
        ]
        if len(fitting) == 1:
            return Wanted(line=line, candidates=(fitting[0],))
        if fitting:
            makers = sorted({one.maker or "no maker" for one in fitting})
            kinds = sorted({one.family for one in fitting})
            way_out = f"Say maker: it is one of {', '.join(makers)}." if len(makers) > 1 else ""
            way_out = way_out or f"Say family: it is one of {', '.join(kinds)}."
            self._wrong(line, f"{line.part!r} is the number of {len(fitting)} parts.", way_out)
        elif every:
            said = ", ".join(sorted({f"{one.maker or 'no maker'} ({one.family})" for one in every}))
            self._wrong(line, f"the maker or family of {line.part!r} is another.", f"The catalogue has it of {said}.")
        else:
            near = near_numbers(self.catalog.connection, line.part or "", self.families, most=3)
            way_out = f"Close to it: {', '.join(near)}." if near else "Take its list in with: loadworthy intake FILE."
            self._wrong(line, f"the catalogue holds no part {line.part!r}.", way_out)
        return None

    def _need(self, line: OrderLine) -> Wanted | None:
        need = line.need
        if need is None:
            return None
        try:
            selection = choose(self.catalog, need, top=_MOST_PARTS + 1, near=0, counting=False)
        except LoadworthyError as error:
            self._wrong(line, error.message, error.way_out or "Check the need.")
            return None
        if not selection.ranked:
            said = f"loadworthy choose {need.family} says what stopped them, and what is one step short."
            self._wrong(line, "no part fits its need.", said)
            return None
        key = next((name for name in need.rules.ranking.by if name.endswith("_loss_w")), None)
        ranked = [_candidate(need.family, row, loss=row[key] if key else None) for row in selection.ranked]
        return Wanted(
            line=line,
            candidates=tuple(ranked[:_MOST_PARTS]),
            capped=len(ranked) > _MOST_PARTS,
            cautions=selection.cautions,
        )

    def _with_offers(self, found: Sequence[Wanted]) -> list[Wanted]:
        keys: dict[str, dict[str, None]] = {}
        for one in found:
            for candidate in one.candidates:
                keys.setdefault(candidate.family, {})[candidate.part_key] = None
        offers: dict[tuple[str, str], list[Offer]] = {}
        rows: dict[int, Mapping[str, Any]] = {}
        for family, wanted_keys in keys.items():
            values = {"family": family, "part_key": list(wanted_keys)}
            for row in self.rows(statements.assemble("buyable"), values):
                offer = _offer(row)
                rows[id(offer)] = row
                offers.setdefault((family, row["part_key"]), []).append(offer)
        filled = []
        for one in found:
            candidates = []
            for candidate in one.candidates:
                own: Iterable[Offer] = offers.get((candidate.family, candidate.part_key), ())
                if one.line.need is not None:
                    need = one.line.need
                    own = [offer for offer in own if meets(rows[id(offer)], need)]
                candidates.append(replace(candidate, offers=tuple(own)))
            filled.append(replace(one, candidates=tuple(candidates)))
        return filled


def _candidate(family: str, row: Mapping[str, Any], *, loss: float | None = None) -> Candidate:
    return Candidate(
        family=family,
        part_key=row["part_key"],
        maker=row["maker"],
        part_number=row["part_number"],
        package=row.get("package"),
        loss_w=loss,
        figures=row,
    )


def _offer(row: Mapping[str, Any]) -> Offer:
    given = row["breaks"] or ([{"quantity": 1, "price": row["unit_price"]}] if row["unit_price"] is not None else [])
    least = max(row["least_quantity"] or 1, 1)
    breaks: dict[int, Decimal] = {}
    for one in sorted(given, key=lambda step: step["quantity"]):
        # What is not sold in such small numbers has no price there: the last break below counts from the least on.
        breaks[max(int(one["quantity"]), least)] = Decimal(repr(float(one["price"])))
    return Offer(
        supplier=row["supplier"],
        order_number=row["order_number"],
        currency=row["currency"],
        breaks=tuple(sorted(breaks.items())),
        multiple=max(row["multiple"] or 1, 1),
        stock=row["stock"],
        stock_at_least=bool(row["stock_at_least"]),
        packaging=row["packaging"],
        life_cycle=row["life_cycle"],
        lead_time=row["lead_time"],
        dated=row["dated"],
        date_stated=bool(row["date_stated"]),
    )
