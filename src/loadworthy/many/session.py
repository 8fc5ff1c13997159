"""The session in which many needs are judged at once: parts looked up by their place, pairs judged by the query."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

import numpy as np
import pyarrow as pa
from numpy.typing import NDArray

from loadworthy import statements
from loadworthy.asking import lets_any, price_currency
from loadworthy.catalog import families
from loadworthy.catalog.schema import view_text
from loadworthy.judging import common_slots, judged, of_offers, offers_of, statement
from loadworthy.listed import placed_parts, with_places
from loadworthy.many.tiers import Floats, Ints, Shelf, Tiers, expanded, lay_shelf, lay_tiers
from loadworthy.measured_parts import kept
from loadworthy.statements import ASKED, HasConnection, Parameter, across

if TYPE_CHECKING:
    from loadworthy.needs import Need

__all__ = ["Pairs", "Session", "drive_class"]

#: Rows of tiers that are kept at once, 12 bytes each.
_MOST_ROWS: Final = 60_000_000
#: Parts that are looked up and kept at once.
_MOST_OPENED: Final = 500_000
#: So many parts of the beginning of each cell are looked up when the tiers are laid.
_AHEAD: Final = 48


@dataclass(frozen=True, kw_only=True)
class Pairs:
    """Pairs of a need and a part that fits it, with what parts are ranked by (infinite where it is not known)."""

    need: Ints
    place: Ints
    keys: tuple[Floats, ...]


def drive_class(need: Need) -> tuple[float, float, bool]:
    """Return the least and the greatest drive at which every part has one of the same two on-resistances.

    At a standard gate voltage there is one; between two of them a part has that of the lower or that of the upper.
    With it goes whether typical figures are accepted.
    """
    asked = need.parameters()
    drive = float(asked["drive_v"])  # type: ignore[arg-type]
    levels = next(figure.levels.values for figure in families.load(need.family).figures if figure.levels)
    let = bool(asked["let_drive"])
    if drive in levels:
        return drive, drive, let
    under = max((level for level in levels if level < drive), default=0.0)
    over = min((level for level in levels if level > drive), default=math.inf)
    return math.nextafter(under, math.inf), math.nextafter(over, 0.0), let


class Session:
    """A catalogue's parts of one family, as many needs ask for them; those that were looked up stand in tables."""

    #: Where parts stand that were looked up, by their place, and what suppliers ask for them: a table, or a select in
    #: brackets.
    opened = "many_opened"
    offered = "many_offers"
    #: Whether the engine keeps out the pairs that do not fit.
    narrowing = True

    def __init__(self, catalog: HasConnection, family: str) -> None:
        self.family = family
        self.connection: Any = catalog.connection.cursor()
        self.connection.execute("SET late_materialization_max_rows = 0")
        self.kept = kept(self.connection, family)
        self._shelf: Shelf | None = None
        self._tiers: dict[tuple[float, float, bool], Tiers] = {}
        self._asked: tuple[str, ...] = ()
        self._kind = np.zeros(0, dtype=np.int64)
        self._place_parts()
        last = self.connection.execute("SELECT coalesce(max(place), -1) + 1 AS places FROM many_placed").fetchall()
        #: How many places there are; a few may be empty.
        self.places = int(last[0][0])
        self._currencies: dict[Parameter, Parameter] = {}
        self._forget()

    def _place_parts(self) -> None:
        """Name the parts with their place in them ``many_placed``."""
        self.connection.execute(f"CREATE OR REPLACE TEMP VIEW many_placed AS {self._placed()}")

    def _placed(self) -> str:
        """Write the view over the stored parts so that the row's number, their place, is in it."""
        stored = f"stored_{self.family}"
        views = self.connection.execute("SELECT view_name FROM duckdb_views() WHERE NOT temporary").fetchall()
        if (stored,) not in views:
            return placed_parts(self.connection, self.family)
        # The rows of Parquet files have no number: they get one in a table of this session.
        self.connection.execute(f"CREATE OR REPLACE TEMP TABLE many_stored AS SELECT * FROM {stored}")
        columns = [row[0] for row in self.connection.execute("DESCRIBE many_stored").fetchall()]
        return with_places(view_text(families.load(self.family), columns, "many_stored"))

    def _forget(self) -> None:
        self.connection.execute("CREATE OR REPLACE TEMP TABLE many_opened AS SELECT * FROM many_placed LIMIT 0")
        self.connection.execute(
            "CREATE OR REPLACE TEMP TABLE many_offers AS SELECT CAST(0 AS BIGINT) AS place, * FROM offers LIMIT 0"
        )
        self._opened = np.zeros(self.places, dtype=bool)
        self._offered = np.zeros(self.places, dtype=bool)
        self._open_rows = 0

    # -- tiers ---------------------------------------------------------------------------------------
    def tiers(self, need: Need) -> Tiers:
        """Return the tiers for a need's drive, laid when they are first asked for."""
        name = drive_class(need)
        if name not in self._tiers:
            while self._tiers and sum(tiers.rows for tiers in self._tiers.values()) > _MOST_ROWS:
                del self._tiers[next(iter(self._tiers))]
            self._tiers[name] = self._lay(need, name)
        self._tiers[name] = self._tiers.pop(name)  # the one used last goes last
        return self._tiers[name]

    def _lay(self, need: Need, name: tuple[float, float, bool]) -> Tiers:
        if self._shelf is None:
            self._shelf = lay_shelf(self._rows("tiers", need, 0.0), self.places)
        drives = sorted(set(name[:2]))
        floor = str(need.rules.ranking.floor)
        tiers = lay_tiers(self._shelf, (self._rows("floors", need, drive_v, floor=floor) for drive_v in drives))
        ahead, _ = expanded(tiers.start, np.minimum(tiers.start + _AHEAD, tiers.end))
        self.open(tiers.place[ahead])
        return tiers

    def _rows(self, name: str, need: Need, drive_v: float, **slots: str) -> pa.Table:
        # What a need asks can only take a current, a loss or a resistance away from a part.
        kindest: dict[str, Parameter] = {
            "drive_v": drive_v, "id_least_a": 0.0, "pwm_hz": 0.0, "heatsink_k_per_w": None,
        }  # fmt: skip
        asked = statement(
            name,
            need,
            closely=False,
            values=kindest,
            slots=slots,
            parts="many_placed",
            besides="place, ",
            offered=False,
        )
        return self._table(asked.sql, asked.parameters)

    # -- parts and offers ----------------------------------------------------------------------------
    def open(self, places: Ints, *, with_offers: bool = False) -> None:
        """Look parts up by their place, those that were not yet, and what suppliers ask for them."""
        if self._open_rows > _MOST_OPENED:
            self._forget()
        self._fetch(
            places,
            self._opened,
            "INSERT INTO many_opened SELECT placed.* FROM many_placed AS placed "
            "SEMI JOIN many_wanted ON many_wanted.place = placed.place",
        )
        if with_offers:
            self._fetch(
                places,
                self._offered,
                "INSERT INTO many_offers SELECT opened.place, offers.* FROM offers "
                "INNER JOIN (SELECT many_opened.place, part_key FROM many_opened "
                "SEMI JOIN many_wanted ON many_wanted.place = many_opened.place) AS opened "
                f"ON opened.part_key = offers.part_key WHERE offers.family = '{self.family}'",
            )

    def _fetch(self, places: Ints, known: NDArray[np.bool_], insert: str) -> None:
        wanted = np.unique(places[~known[places]])
        if not len(wanted):
            return
        known[wanted] = True
        self._open_rows += len(wanted)
        self._want(wanted)
        self.connection.execute(insert)

    def _want(self, places: Ints) -> None:
        """Name parts by their place, in the table ``many_wanted``."""
        self.connection.register("many_wanted", pa.table({"place": np.unique(places).astype(np.int64)}))

    # -- judging -------------------------------------------------------------------------------------
    def ask(self, needs: Sequence[Need]) -> None:
        """Put the needs whose pairs are judged next."""
        rows = [self._asked_of(need) for need in needs]
        columns: dict[str, pa.Array] = {"need": pa.array(np.arange(len(rows)))}
        for name in rows[0]:
            values = [row[name] for row in rows]
            columns[ASKED + name] = (
                pa.array(values, pa.list_(pa.string())) if isinstance(values[0], tuple) else pa.array(values)
            )
        self._asked = tuple(rows[0])
        outside = any(self.kept.outside)
        self._kind = np.array([2 * of_offers(one) + (one.bar_measured_outside and outside) for one in needs])
        self.connection.register("many_asked", pa.table(columns))

    def price_currency(self, need: Need) -> Parameter:
        """Return the currency in which a need's parts are compared by price, as for a single choice."""
        asked = need.parameters()["currency"]
        if asked not in self._currencies:
            self._currencies[asked] = price_currency(need, lambda text: text.rows(self.connection))
        return self._currencies[asked]

    def _asked_of(self, need: Need) -> dict[str, Parameter]:
        return {**need.parameters(), "price_currency": self.price_currency(need), "closely": lets_any(need)}

    def passing(self, needs: Sequence[Need], need: Ints, place: Ints) -> Pairs:
        """Judge pairs; return those whose part fits.

        Parameters
        ----------
        needs
            The needs that were put by :meth:`ask`.
        need, place
            For each pair, which of them and which part.
        """
        rules = needs[0].rules
        keys = rules.ranking.by
        if not len(need):
            return Pairs(need=need, place=place, keys=tuple(np.zeros(0) for _ in keys))
        found: list[tuple[Ints, tuple[Floats, ...]]] = []
        for kind, of_kind in self._kinds(need):
            among = f"WHERE {common_slots(rules)['passes']}" if self.narrowing else ""
            sql, bound = self._text("passing", needs[0], kind, keys=", ".join(keys), among=among)
            self._put_pairs(need[of_kind], place[of_kind], of_kind, with_offers=kind[0])
            got = self._table(sql, bound)
            got = got.filter(got.column("fits"))
            found.append((got.column("pair").to_numpy(), tuple(_known(got.column(key)) for key in keys)))
        pair = np.concatenate([one for one, _ in found])
        ranked = tuple(np.concatenate(each) for each in zip(*(each for _, each in found), strict=True))
        return Pairs(need=need[pair], place=place[pair], keys=ranked)

    def answers(self, needs: Sequence[Need], need: Ints, place: Ints) -> pa.Table:
        """Return every figure and verdict of pairs, in their order."""
        tables = []
        for kind, of_kind in self._kinds(need):
            sql, bound = self._text("answers", needs[0], kind, asked=", ".join(ASKED + name for name in self._asked))
            self._put_pairs(need[of_kind], place[of_kind], of_kind, with_offers=kind[0])
            tables.append(self._table(sql, bound))
        table = pa.concat_tables(tables, promote_options="permissive")
        return table.sort_by("pair") if len(tables) > 1 else table

    def offers(self, places: Ints) -> pa.Table:
        """Return what suppliers ask for parts, in the order in which it is shown, with each part's place."""
        self.open(places, with_offers=True)
        text = offers_of(
            offers=f"{self.offered} AS offered SEMI JOIN many_wanted ON many_wanted.place = offered.place",
            among="TRUE",
            besides="place, ",
        )
        asked = statements.bind("offers", text, {"family": self.family})
        self._want(places)
        return self._table(asked.sql, asked.parameters)

    def _table(self, sql: str, parameters: Mapping[str, Any]) -> pa.Table:
        return self.connection.sql(sql, params=dict(parameters)).to_arrow_table()

    def _kinds(self, need: Ints) -> list[tuple[tuple[bool, bool], Ints]]:
        """Split pairs by what their needs' statements have to look at: offers, and parts that are barred."""
        kind = self._kind[need]
        return [((bool(k & 2), bool(k & 1)), np.flatnonzero(kind == k)) for k in np.unique(kind).tolist()] or [
            ((False, False), np.zeros(0, dtype=np.int64))
        ]

    def _text(self, name: str, need: Need, kind: tuple[bool, bool], **slots: str) -> tuple[str, Mapping[str, Any]]:
        offered, barring = kind
        text = judged(
            self.family,
            offered=offered,
            barring=barring,
            parts=statements.assemble("pairs", opened=self.opened),
            offers=statements.assemble("pair_offers", offered=self.offered),
            by="pair",
            besides="pair, " + "".join(f"{ASKED}{one}, " for one in self._asked),
        )
        whole = statements.assemble(name, judged=text, **{**common_slots(need.rules), **slots})
        barred = {"barred_keys": ["", *self.kept.outside[0]], "barred_numbers": ["", *self.kept.outside[1]]}
        asked = statements.bind(name, across(whole, self._asked), barred)
        return asked.sql, asked.parameters

    def _put_pairs(self, need: Ints, place: Ints, pair: Ints, *, with_offers: bool) -> None:
        self.open(place, with_offers=with_offers)
        self.connection.register("many_pairs", pa.table({"pair": pair, "need": need, "place": place}))


def _known(values: pa.ChunkedArray) -> Floats:
    """Return a figure of rows; one that is not known is infinite."""
    numbers = values.cast(pa.float64()).to_numpy()
    return np.where(np.isnan(numbers), np.inf, numbers)
