"""Many needs put to an engine that splits the work: each part is read once for many needs, and held against all.

There are no tiers, which one machine would have to hold, so the work grows with needs times parts; what one machine
gets to see is the few parts that rank first.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Final

import numpy as np
import pyarrow as pa

from loadworthy import statements
from loadworthy.judging import passes
from loadworthy.many.pairing import Pairing, Pairs, known, leading, together
from loadworthy.many.tiers import Ints
from loadworthy.statements import HasConnection

if TYPE_CHECKING:
    from loadworthy.needs import Need

__all__ = ["Crossing"]

#: Needs that one reading of the parts serves: each of them costs less than the reading, all of them must be sent along.
_AT_ONCE: Final = 500


class Crossing(Pairing):
    """A catalogue's parts in an engine that knows them by their keys alone; a place is where a key stands in a list."""

    def __init__(self, catalog: HasConnection, family: str) -> None:
        super().__init__(catalog, family)
        self._keys: list[str] = []
        self._place: dict[str, int] = {}
        self.opened = self._wanted(f"parts_{family}", "TRUE")
        self.offered = self._wanted("offers", f"listed.family = '{family}'")

    @staticmethod
    def _wanted(table: str, among: str) -> str:
        return (
            f"(SELECT many_wanted.place, listed.* FROM {table} AS listed "
            f"INNER JOIN many_wanted ON many_wanted.part_key = listed.part_key WHERE {among})"
        )

    def find(self, needs: Sequence[Need], top: int) -> tuple[Pairs, Ints]:
        """Find the first parts of each need that was put, and all that tie with the last of them, in order.

        With them, the needs that are better asked alone: those that ask something of offers, whose every offer would
        have to be held against every need.
        """
        found = []
        alone = []
        for (offered, barring), numbers in self._kinds(np.arange(len(needs))):
            if offered:
                alone.append(numbers)
                continue
            for first in range(0, len(numbers), _AT_ONCE):
                found.append(self._best(needs, numbers[first : first + _AT_ONCE], top, barring=barring))
        nothing: Ints = np.zeros(0, dtype=np.int64)
        keys = tuple(np.zeros(0) for _ in needs[0].rules.ranking.by)
        pairs = together([Pairs(need=nothing, place=nothing, keys=keys), *found])
        return leading(pairs, top), np.sort(np.concatenate([nothing, *alone]))

    def _best(self, needs: Sequence[Need], numbers: Ints, top: int, *, barring: bool) -> Pairs:
        rules = needs[0].rules
        keys = rules.ranking.by
        plain = " AND ".join(passes(rules.criterion(name)) for name in rules.ranking.plain)
        parts = statements.assemble("crossed", parts=f"parts_{self.family}")
        asked = self._judging(
            "best",
            needs[0],
            "need",
            offered=False,
            barring=barring,
            parts=parts,
            head=f"WHERE {plain}",
            put={"top": top},
            slots={"keys": ", ".join(keys)},
        )
        self.connection.register("many_crossed", self._put.take(pa.array(numbers)))
        rows = self.table(asked)
        return Pairs(
            need=rows.column("need").to_numpy(),
            place=np.array([self._numbered(key) for key in rows.column("part_key").to_pylist()], dtype=np.int64),
            keys=tuple(known(rows.column(key)) for key in keys),
        )

    def _numbered(self, key: str) -> int:
        if key not in self._place:
            self._place[key] = len(self._keys)
            self._keys.append(key)
        return self._place[key]

    def open(self, places: Ints, *, with_offers: bool = False) -> None:
        """Have parts at hand by their place: they are looked up by their keys."""
        del with_offers
        self.want(np.unique(places))

    def want(self, places: Ints) -> None:
        """Name parts by their place and key, in the table ``many_wanted``."""
        keys = pa.array([self._keys[place] for place in places.tolist()], pa.string())
        self.connection.register("many_wanted", pa.table({"place": places, "part_key": keys}))
