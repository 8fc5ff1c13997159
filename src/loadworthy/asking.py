"""One need put to one catalogue: the session in which its questions are asked, and what they are asked with."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from copy import copy
from typing import Any, Final

from loadworthy import statements
from loadworthy.catalog.schema import placed_offers
from loadworthy.judging import of_offers, require_parts, standings_of, statement
from loadworthy.listed import placed_parts
from loadworthy.measured_parts import kept
from loadworthy.needs import Need
from loadworthy.statements import Connection, HasConnection, Parameter, Statement

__all__ = ["Asking", "figures_first", "how_many", "leading", "lets_any", "names_last", "price_currency"]

#: Rows looked at beyond those asked for, so that ties at the end of the list are seen.
_SPARE: Final = 16
#: From so many parts on it pays to look first at those with the lowest floor.
_MANY_PARTS: Final = 1_000_000
_MANY_PARTS_OF_A_PACKAGE: Final = 4_000_000
_LATE_ROWS: Final = 100
_FEW_PARTS: Final = 500_000
_STANDINGS: Final = "standings_asked"


def how_many(family: str) -> Statement:
    """Ask how many parts of a family there are, as ``parts``."""
    return statements.bind("size", f"SELECT count(*) AS parts FROM parts_{family}", {})


def price_currency(need: Need, read: Callable[[Statement], list[dict[str, Any]]]) -> Parameter:
    """Return the currency in which a need's parts are compared by price, if they are.

    Parameters
    ----------
    need
        The need; the currency of the price that it asks for counts.
    read
        Runs a statement; the currency that most offers use is looked up where the need names none.
    """
    currency = need.parameters()["currency"]
    if not need.rules.ranking.priced or currency is not None:
        return currency
    asked = statements.bind("currencies", statements.assemble("currencies"), {"family": need.rules.family})
    rows = read(asked)
    return rows[0]["currency"] if rows else None


class Asking:
    """One need put to one catalogue, in a session of its own; keeps the statements that ran.

    DuckDB can fetch wide rows late, after it has found which they are. Planning that takes it many times as
    long as the rest, and over a deep query seconds, so it is left for the ranked list of a great catalogue
    that could not be narrowed.
    """

    def __init__(self, catalog: HasConnection, need: Need) -> None:
        self.need = need
        self.ran: list[Statement] = []
        self._catalog = catalog
        self._session: Connection = catalog.connection.cursor()
        there = require_parts(self._session, need.rules.family)
        #: Whether the rows of parts say by list and record where their offers are; else offers have the parts' keys.
        self.by_rows = f"concurring_{need.rules.family}" in there
        parts = self.rows(how_many(need.rules.family))[0]["parts"]
        self.values = self._currency()
        self.kept = kept(self._session, need.rules.family)
        self.barred = self.kept.outside if need.bar_measured_outside else ((), ())
        #: Whether planning a question takes longer than answering it.
        self.small = parts < _FEW_PARTS
        # Of one package there are fewer, so that a first look pays only in a still greater catalogue.
        self.great = parts >= (_MANY_PARTS_OF_A_PACKAGE if "package" in need.asked() else _MANY_PARTS)
        #: Where the questions find parts and the standings of their offers, if not by the catalogue's own names.
        self.source: dict[str, str] = {}
        if self.by_rows and not self.small and of_offers(need):
            self._keep_standings()

    def _keep_standings(self) -> None:
        """Work out once how offers stand against the need, by the places of the parts' rows: all questions ask it."""
        need, family = self.need, self.need.rules.family
        text = f"CREATE OR REPLACE TEMP TABLE {_STANDINGS} AS {standings_of(placed_offers(family), 'place')}"
        asked = statements.bind("standings", text, {**need.parameters(), **self.values})
        self._session.execute(asked.sql, dict(asked.parameters))
        self.ran.append(asked)
        self.source = {
            "parts": f"({placed_parts(self._session, family)})",
            "by": "place",
            "standings": f"SELECT * FROM {_STANDINGS}",
        }

    def statement(
        self,
        name: str,
        **put: Any,  # noqa: ANN401 - what `judging.statement` takes
    ) -> Statement:
        """Put one of the questions together for the need."""
        values = {**self.values, **put.pop("values", {})}
        return statement(name, self.need, barred=self.barred, values=values, **{**self.source, **put})

    def apart(self) -> Asking:
        """Return the same to ask something else: of a small catalogue in a session of its own, which may run beside."""
        other = copy(self)
        other.ran = []
        if self.small:
            other._session = self._catalog.connection.cursor()
        return other

    def _currency(self) -> dict[str, Parameter]:
        """Prices are compared in one currency: that of the price asked for, else the one most offers use."""
        return {"price_currency": price_currency(self.need, self.rows)}

    def barred_parts(self) -> int:
        """Count the parts that are passed over because of what was measured of them."""
        if not any(self.barred):
            return 0
        keys, numbers = self.barred
        text = statements.assemble("barred", family=self.need.rules.family)
        put = {"barred_keys": ["", *keys], "barred_numbers": ["", *numbers]}
        return int(self.rows(statements.bind("barred", text, put))[0]["parts"])

    def rows(self, asked: Statement, *, late: bool = False) -> list[dict[str, Any]]:
        """Run a statement, keep it among those that ran, and return each row by column name."""
        self._session.execute(f"SET late_materialization_max_rows = {_LATE_ROWS if late else 0}")
        self.ran.append(asked)
        return asked.rows(self._session)


def leading(
    asking: Asking,
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
    values: dict[str, Parameter] = put.pop("values", {})
    limit = count + _SPARE
    while True:
        rows = asking.rows(asking.statement(name, values={**values, "limit": limit}, **put), late=late)
        last = [rows[count - 1][key] for key in keys] if len(rows) > count else None
        if len(rows) < limit or [rows[-1][key] for key in keys] != last:
            # Of the rows beyond that tie with nothing it is chance which they are: they may settle nothing.
            return [row for place, row in enumerate(rows) if place < count or [row[key] for key in keys] == last]
        limit *= 16


def figures_first(row: Mapping[str, Any], keys: Sequence[str]) -> list[float]:
    """Return what a row is ordered by; a figure that is not known comes last."""
    return [math.inf if row[key] is None else row[key] for key in keys]


def names_last(row: Mapping[str, Any]) -> tuple[str, str, str]:
    """Return what breaks the ties of rows that are alike in every figure."""
    return row["maker"] or "", row["part_number"], row["part_key"]


def lets_any(need: Need) -> bool:
    """Say whether unknowns must be told from failures: only where one is accepted."""
    return bool(need.accept)
