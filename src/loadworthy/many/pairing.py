"""Pairs of a need and a part, judged by the family's query, whichever engine runs it."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import pyarrow as pa

from loadworthy import statements
from loadworthy.asking import lets_any
from loadworthy.judging import common_slots, judged, of_offers, offers_of
from loadworthy.many.tiers import Floats, Ints
from loadworthy.measured_parts import kept
from loadworthy.statements import ASKED, HasConnection, Parameter, Statement, across

if TYPE_CHECKING:
    from loadworthy.needs import Need

__all__ = ["Pairing", "Pairs", "known", "leading", "ordered", "together"]


@dataclass(frozen=True, kw_only=True)
class Pairs:
    """Pairs of a need and a part that fits it, with what parts are ranked by (infinite where it is not known)."""

    need: Ints
    place: Ints
    keys: tuple[Floats, ...]


class Pairing(ABC):
    """Parts of one family, as many needs ask for them: needs are put, then pairs of a need and a part are judged.

    Attributes
    ----------
    opened, offered
        Where the parts stand that are at hand, by their place, and what is asked for them: a table or a select in
        brackets.
    kept
        What was measured of the family.
    """

    opened: str
    offered: str

    def __init__(self, catalog: HasConnection, family: str) -> None:
        self.family = family
        self.connection: Any = catalog.connection.cursor()
        self.connection.execute("SET late_materialization_max_rows = 0")
        self.kept = kept(self.connection, family)
        self._asked: tuple[str, ...] = ()
        self._put = pa.table({})
        self._kind = np.zeros(0, dtype=np.int64)

    @abstractmethod
    def open(self, places: Ints, *, with_offers: bool = False) -> None:
        """Have parts at hand by their place, and if it is said, what suppliers ask for them."""

    @abstractmethod
    def want(self, places: Ints) -> None:
        """Name parts by their place, in the table ``many_wanted``."""

    def ask(self, needs: Sequence[Need]) -> None:
        """Put the needs whose pairs are judged next."""
        rows = [_asked(need) for need in needs]
        columns: dict[str, pa.Array] = {"need": pa.array(np.arange(len(rows)))}
        for name in rows[0]:
            values = [row[name] for row in rows]
            columns[ASKED + name] = (
                pa.array(values, pa.list_(pa.string())) if isinstance(values[0], tuple) else pa.array(values)
            )
        self._asked = tuple(rows[0])
        outside = any(self.kept.outside)
        self._kind = np.array([2 * of_offers(one) + (one.bar_measured_outside and outside) for one in needs])
        self._put = pa.table(columns)
        self.connection.register("many_asked", self._put)

    def answers(self, needs: Sequence[Need], need: Ints, place: Ints) -> pa.Table:
        """Return every figure and verdict of pairs, in their order."""
        tables = []
        for kind, of_kind in self._kinds(need):
            asked = ", ".join(ASKED + name for name in self._asked)
            text = self._of_pairs("answers", needs[0], kind, asked=asked)
            self._put_pairs(need[of_kind], place[of_kind], of_kind, with_offers=kind[0])
            tables.append(self.table(text))
        table = pa.concat_tables(tables, promote_options="permissive")
        return table.sort_by("pair") if len(tables) > 1 else table

    def offers(self, places: Ints) -> pa.Table:
        """Return what suppliers ask for parts, in the order in which it is shown, with each part's place."""
        self.open(places, with_offers=True)
        self.want(np.unique(places))
        text = offers_of(
            offers=f"{self.offered} AS offered SEMI JOIN many_wanted ON many_wanted.place = offered.place",
            among="TRUE",
            besides="place, ",
        )
        return self.table(statements.bind("offers", text, {"family": self.family}))

    def table(self, asked: Statement) -> pa.Table:
        """Run a statement and return its rows."""
        return self.connection.sql(asked.sql, params=dict(asked.parameters)).to_arrow_table()

    def _kinds(self, need: Ints) -> list[tuple[tuple[bool, bool], Ints]]:
        """Split pairs by what their needs' statements have to look at: offers, and parts that are barred."""
        kind = self._kind[need]
        return [((bool(k & 2), bool(k & 1)), np.flatnonzero(kind == k)) for k in np.unique(kind).tolist()] or [
            ((False, False), np.zeros(0, dtype=np.int64))
        ]

    def _of_pairs(self, name: str, need: Need, kind: tuple[bool, bool], **slots: str) -> Statement:
        offered, barring = kind
        parts = statements.assemble("pairs", opened=self.opened)
        offers = statements.assemble("pair_offers", offered=self.offered)
        return self._judging(
            name, need, "pair", offered=offered, barring=barring, parts=parts, offers=offers, slots=slots
        )

    def _judging(
        self,
        name: str,
        need: Need,
        by: str,
        *,
        offered: bool,
        barring: bool,
        parts: str,
        offers: str = "",
        head: str = "",
        put: Mapping[str, Parameter] | None = None,
        slots: Mapping[str, str],
    ) -> Statement:
        """Put a question over rows that have a need's own numbers in them."""
        text = judged(
            self.family,
            offered=offered,
            head=head,
            barring=barring,
            parts=parts,
            offers=offers,
            by=by,
            besides=f"{by}, " + "".join(f"{ASKED}{one}, " for one in self._asked),
        )
        whole = statements.assemble(name, judged=text, **{**common_slots(need.rules), **slots})
        barred = {"barred_keys": ["", *self.kept.outside[0]], "barred_numbers": ["", *self.kept.outside[1]]}
        return statements.bind(name, across(whole, self._asked), {**barred, **(put or {})})

    def _put_pairs(self, need: Ints, place: Ints, pair: Ints, *, with_offers: bool) -> None:
        self.open(place, with_offers=with_offers)
        self.connection.register("many_pairs", pa.table({"pair": pair, "need": need, "place": place}))


def _asked(need: Need) -> dict[str, Parameter]:
    asked = need.parameters()
    return {**asked, "price_currency": asked["currency"], "closely": lets_any(need)}


def known(values: pa.ChunkedArray) -> Floats:
    """Return a figure of rows; one that is not known is infinite."""
    numbers = values.cast(pa.float64()).to_numpy()
    return np.where(np.isnan(numbers), np.inf, numbers)


def together(found: Sequence[Pairs]) -> Pairs:
    """Put findings one behind the other."""
    return Pairs(
        need=np.concatenate([one.need for one in found]),
        place=np.concatenate([one.place for one in found]),
        keys=tuple(np.concatenate(each) for each in zip(*(one.keys for one in found), strict=True)),
    )


def ordered(found: Pairs) -> tuple[Pairs, Ints]:
    """Put pairs in order, and say each one's rank among its need's, from 0."""
    order = np.lexsort((*reversed(found.keys), found.need))
    need = found.need[order]
    rank = np.arange(len(need)) - np.searchsorted(need, need)
    return Pairs(need=need, place=found.place[order], keys=tuple(key[order] for key in found.keys)), rank


def leading(found: Pairs, top: int) -> Pairs:
    """Keep each need's first parts, and all that tie with the last of them."""
    pairs, rank = ordered(found)
    last = np.searchsorted(pairs.need, pairs.need) + top - 1
    last = np.minimum(last, len(rank) - 1)
    ties = np.ones(len(rank), dtype=bool)
    for key in pairs.keys:
        ties &= key == key[last]
    keep = (rank < top) | (ties & (pairs.need == pairs.need[last]))
    return Pairs(need=pairs.need[keep], place=pairs.place[keep], keys=tuple(key[keep] for key in pairs.keys))
