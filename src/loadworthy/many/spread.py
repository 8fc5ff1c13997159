"""Many needs put to an engine that splits the work: the tiers stand here, the parts stay where they are."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Final

from loadworthy.many.session import Session
from loadworthy.many.tiers import Ints
from loadworthy.statements import HasConnection

if TYPE_CHECKING:
    from loadworthy.needs import Need

__all__ = ["Spread"]

_WANTED: Final = "FROM many_placed AS placed SEMI JOIN many_wanted ON many_wanted.place = placed.place"


class Spread(Session):
    """A catalogue's parts that are looked up anew for each statement: what is wanted of them is sent to the parts.

    Only what the tiers need of a part comes here, and the answers.
    """

    # Spark would ask it as early as it can, and write the whole physics out again for every criterion.
    narrowing = False
    opened = f"(SELECT placed.* {_WANTED})"

    def __init__(self, catalog: HasConnection, family: str) -> None:
        super().__init__(catalog, family)
        self.offered = (
            f"(SELECT wanted.place, offers.* FROM (SELECT placed.place, placed.part_key {_WANTED}) AS wanted "
            f"INNER JOIN offers ON offers.part_key = wanted.part_key WHERE offers.family = '{family}')"
        )

    def _place_parts(self) -> None:
        self.connection.number_parts(self.family, "many_placed")

    def _forget(self) -> None:
        """Nothing is kept."""

    def ask(self, needs: Sequence[Need]) -> None:
        """Put the needs whose pairs are judged next; if one asks of offers, offers are looked up for all.

        A need that asks nothing of them is answered alike, and a statement more costs more than the look.
        """
        super().ask(needs)
        self._kind |= 2 * bool((self._kind & 2).any())

    def open(self, places: Ints, *, with_offers: bool = False) -> None:
        """Say which parts the next statement is about, and so of which it may read offers."""
        del with_offers
        self._want(places)
