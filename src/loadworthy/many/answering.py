"""The answers to many needs as one table: the rows that single choices give, one below the other."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, Final

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc
from numpy.typing import NDArray

from loadworthy.asking import how_many, price_currency
from loadworthy.engines import DUCKDB, engine_of
from loadworthy.judging import assumed, plain, remarks
from loadworthy.many.searching import Tell, search, search_all
from loadworthy.many.session import Pairs, Session
from loadworthy.many.spread import Spread
from loadworthy.many.tiers import Ints
from loadworthy.needs.transistor import TransistorNeed
from loadworthy.selection import choose, in_order, price_cautions, wished_first
from loadworthy.statements import HasConnection

if TYPE_CHECKING:
    from loadworthy.needs import Need

__all__ = ["Answering", "Tell"]

_NOT_SHOWN: Final = ("ok_", "has_", "needs_", "assumed_", "remark_")
#: Of families without tiers, so many parts are all held against each need; more are asked need by need.
_MOST_PARTS: Final = 20_000


def _few(catalog: HasConnection, family: str) -> bool:
    parts: int = how_many(family).rows(catalog.connection.cursor())[0]["parts"]
    return parts <= _MOST_PARTS


class Answering:
    """One catalogue, to which needs of one family are put, many at once.

    Parameters
    ----------
    catalog
        The catalogue; only its ``connection`` is used.
    family
        The family.
    top
        How many of the parts that fit each need is to have.
    """

    def __init__(self, catalog: HasConnection, family: str, top: int) -> None:
        self.catalog = catalog
        self.top = top
        self._tiered = family == TransistorNeed.family
        self._session: Session | None = None
        here = engine_of(catalog.connection) == DUCKDB
        if here and (self._tiered or _few(catalog, family)):
            self._session = Session(catalog, family)
        elif self._tiered:
            self._session = Spread(catalog, family)

    @property
    def at_once(self) -> int:
        """How many needs are best put at once: alone each costs so much that a few are enough."""
        return 10_000 if self._session else 100

    def cautions(self, need: Need) -> list[str]:
        """Return what is said with the answer to a need, whatever it is."""
        if self._session is not None:
            currency = self._session.price_currency(need)
        else:
            currency = price_currency(need, lambda text: text.rows(self.catalog.connection.cursor()))
        return [*price_cautions(need, currency), *need.cautions()]

    def answer(self, needs: Sequence[Need], tell: Tell | None = None) -> pa.Table:
        """Answer needs.

        Parameters
        ----------
        needs
            The needs.
        tell
            Told how far it is.

        Returns
        -------
        pyarrow.Table
            ``need`` (its place among the needs), ``rank`` and every figure of a single choice, need by need.
        """
        tell = tell or _tell_nobody
        if not needs:
            return pa.table({"need": pa.array([], pa.int64()), "rank": pa.array([], pa.int64())})
        if self._session is None:
            return self._one_by_one(needs, range(len(needs)), tell)
        together: list[int] = []
        alone: list[int] = []
        for number, need in enumerate(needs):
            first_measured = need.prefer_measured and any(self._session.kept.within)
            (alone if first_measured else together).append(number)
        tables = []
        if together:
            table, left = self._together([needs[number] for number in together], tell)
            numbers = np.array(together)
            tables.append(table.set_column(0, "need", pa.array(numbers[table.column("need").to_numpy()])))
            alone += numbers[left].tolist()
        if alone:
            tables.append(self._one_by_one([needs[number] for number in alone], alone, tell))
        table = _stacked(tables)
        return table.sort_by([("need", "ascending"), ("rank", "ascending")]) if len(tables) > 1 else table

    def _one_by_one(self, needs: Sequence[Need], numbers: Sequence[int], tell: Tell) -> pa.Table:
        """Answer each need by a choice of its own."""
        rows: list[dict[str, Any]] = []
        for done, (number, need) in enumerate(zip(numbers, needs, strict=True), 1):
            chosen = choose(self.catalog, need, top=self.top, near=0, counting=False)
            rows += [{"need": number, **row} for row in chosen.ranked]
            tell(done / len(needs))
        if not rows:
            return pa.table({"need": pa.array([], pa.int64()), "rank": pa.array([], pa.int64())})
        return pa.Table.from_pylist(rows)

    def _together(self, needs: Sequence[Need], tell: Tell) -> tuple[pa.Table, Ints]:
        """Answer needs by the tiers; name those that are to be asked alone."""
        session = self._session
        assert session is not None  # noqa: S101 - only called where there is one
        session.ask(needs)
        tell(0.1)
        if self._tiered:
            found, left = search(session, needs, self.top)  # type: ignore[arg-type]
        else:
            found, left = search_all(session, needs, self.top, lambda share: tell(0.1 + 0.6 * share)), np.zeros(0, int)
        tell(0.7)
        rows = session.answers(needs, found.need, found.place)
        offers = _Offers(session.offers(found.place))
        order, rank = self._placed(found, rows, offers, needs)
        tell(0.9)
        rows, need = rows.take(pa.array(order)), found.need[order]
        columns = {"need": pa.array(need), "rank": pa.array(rank)}
        for name in rows.column_names:
            if name not in ("pair", *_NOT_SHOWN) and not name.startswith(_NOT_SHOWN):
                columns[name] = _plain(rows.column(name))
        columns["assumed"] = _assumed(rows, needs, need)
        columns["remarks"] = self._remarks(rows, needs)
        columns["offers"] = offers.column([needs[number] for number in need], found.place[order])
        tell(1.0)
        return pa.table(columns), left

    def _placed(self, found: Pairs, rows: pa.Table, offers: _Offers, needs: Sequence[Need]) -> tuple[Ints, Ints]:
        """Put each need's parts in order: they are by their figures; where these tie, prices and names decide."""
        session = self._session
        assert session is not None  # noqa: S101 - as above
        first = np.searchsorted(found.need, found.need)
        place = np.arange(len(found.need)) - first
        same = np.zeros(len(place), dtype=bool)
        if len(place):
            same[1:] = found.need[1:] == found.need[:-1]
            for key in found.keys:
                same[1:] &= key[1:] == key[:-1]
        order = np.arange(len(place))
        tied = np.unique(found.need[same])
        if len(tied):
            named = rows.select([*needs[0].rules.ranking.by, "maker", "part_number", "part_key"])
            for number in tied.tolist():
                low, high = np.searchsorted(found.need, [number, number + 1]).tolist()
                each = [{**row, "at": low + at} for at, row in enumerate(named.slice(low, high - low).to_pylist())]
                theirs = {row["part_key"]: offers.of(int(found.place[row["at"]])) for row in each}
                need = needs[number]
                placed = in_order(each, theirs, need, session.price_currency(need))
                order[low:high] = [row["at"] for row, _ in placed]
        keep = place < self.top
        return order[keep], place[keep] + 1

    def _remarks(self, rows: pa.Table, needs: Sequence[Need]) -> pa.Array:
        """Say what is remarked on each part, and what was measured of it."""
        session = self._session
        assert session is not None  # noqa: S101 - as above
        rules = needs[0].rules
        if not rules.remarks and not session.kept.rows:
            return pa.array([[]] * len(rows), pa.list_(pa.string()))
        said = [[*remarks(row, rules), *session.kept.remarks(row)] for row in rows.to_pylist()]
        return pa.array(said, pa.list_(pa.string()))


class _Offers:
    """What suppliers ask for parts, by the part's place."""

    def __init__(self, rows: pa.Table) -> None:
        places = rows.column("place").to_pylist()
        self._type = pa.list_(pa.struct([field for field in rows.schema if field.name not in ("place", "part_key")]))
        self._of: dict[int, list[dict[str, Any]]] = {}
        for place, row in zip(places, rows.drop_columns(["place", "part_key"]).to_pylist(), strict=True):
            self._of.setdefault(place, []).append({name: plain(value) for name, value in row.items()})

    def of(self, place: int) -> list[dict[str, Any]]:
        """Return a part's offers."""
        return self._of.get(place, [])

    def column(self, needs: Sequence[Need], places: Ints) -> pa.Array:
        """Return the offers of each row's part, those that its need asks for first."""
        shown: dict[tuple[int, int | None], int] = {}
        lists: list[list[dict[str, Any]]] = []
        rows = []
        for need, place in zip(needs, places.tolist(), strict=True):
            name = (place, id(need) if need.asks_for_offer else None)
            if name not in shown:
                shown[name] = len(lists)
                each = self.of(place)
                lists.append(wished_first(each, need))
            rows.append(shown[name])
        return pa.array(lists, self._type).take(pa.array(rows, pa.int64()))


def _assumed(rows: pa.Table, needs: Sequence[Need], need: Ints) -> pa.Array:
    """Say what each row rests on; rows that rest on the same are put into words once."""
    rules = needs[0].rules
    flags = [f"assumed_{assumption.name}" for assumption in rules.assumptions]
    kinds: list[NDArray[Any]] = [pc.fill_null(rows.column(name), False).to_numpy() for name in flags]
    kinds += [pc.is_null(rows.column(f"ok_{criterion.name}")).to_numpy() for criterion in rules.criteria]
    typical = pc.fill_null(rows.column("typical").cast(pa.string()), "").combine_chunks().dictionary_encode()
    voices: dict[object, int] = {}
    voice = np.array([voices.setdefault(_voice(one), len(voices)) for one in needs])
    kinds += [typical.indices.to_numpy(), voice[need]]
    if not len(rows):
        return pa.array([], pa.list_(pa.string()))
    _, first, which = np.unique(_folded(kinds), return_index=True, return_inverse=True)
    seen = rows.take(pa.array(first)).to_pylist()
    said = [assumed(row, needs[int(need[at])]) for row, at in zip(seen, first, strict=True)]
    return pa.array(said, pa.list_(pa.string())).take(pa.array(which))


def _folded(kinds: Sequence[NDArray[Any]]) -> Ints:
    """Give rows one number each that is the same where all of these are."""
    folded, size = np.zeros(len(kinds[0]), dtype=np.int64), 1
    for kind in kinds:
        of_kind = int(kind.max()) + 1
        if size * of_kind > 2**62:
            known, folded = np.unique(folded, return_inverse=True)
            size = len(known)
        folded, size = folded * of_kind + kind, size * of_kind
    return folded


def _voice(need: Need) -> object:
    """What of a need goes into the words for what its rows rest on."""
    return need.assumptions(), need.symbols(), tuple(need.accept)


def _plain(column: pa.ChunkedArray) -> pa.ChunkedArray:
    """Leave out what is not a finite number: it is not known."""
    if not pa.types.is_floating(column.type):
        return column
    return pc.if_else(pc.is_finite(column), column, pa.scalar(None, column.type))


def _stacked(tables: Sequence[pa.Table]) -> pa.Table:
    return pa.concat_tables(tables, promote_options="permissive")


def _tell_nobody(_: float) -> None:
    """Nobody wants to know."""
