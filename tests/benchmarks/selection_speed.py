"""A ranked list against the barest scan of the same columns, and against the same job in data frames."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from functools import partial
from pathlib import Path
from typing import Any

import duckdb
import pyarrow as pa
from frames import CODED, FIGURES, Ranked, as_pandas, as_polars, rank_in_pandas, rank_in_polars
from layout import make_catalog_file
from timing import Cost, Line, compared, costs_of_call, in_turn

from loadworthy.catalog.store import Catalog
from loadworthy.needs import Need, TransistorNeed
from loadworthy.selection import Selection, choose

__all__ = ["LIST", "OURS", "WHOLE", "choosing", "measure_selection"]

_TOP = 10
_STORED = "stored_transistor"
#: The steps of `choose` that find the ranked list.
_RANKING = ("size", "floor", "ranked")
_PLAIN = "scan, the plain comparisons counted"
_BARE = "scan, every column of the question"
OURS = "ranked statements"
LIST = "choose, ranked list with its offers"
WHOLE = "choose, with counts and near misses"
_PANDAS, _POLARS = "the same in pandas", "the same in polars"


class _Session:
    """A DuckDB session that notes what each statement took."""

    def __init__(self, session: duckdb.DuckDBPyConnection) -> None:
        self._session = session
        self.took: dict[str, Cost] = {}
        self.description: Any = None
        self._rows: list[Any] = []

    def execute(self, query: str, parameters: object = None) -> _Session:
        def run() -> None:
            result = self._session.execute(query, parameters)
            self.description, self._rows = result.description, result.fetchall()

        self.took[query] = self.took.get(query, Cost(0.0, 0.0)) + costs_of_call(run)
        return self

    def fetchall(self) -> list[Any]:
        return self._rows


class _Measured:
    """An open catalogue whose sessions note what they do."""

    def __init__(self, connection: duckdb.DuckDBPyConnection) -> None:
        self._connection = connection
        self.sessions: list[_Session] = []

    @property
    def connection(self) -> _Measured:
        return self

    def cursor(self) -> _Session:
        self.sessions.append(_Session(self._connection.cursor()))
        return self.sessions[-1]


def _scans(asked: Mapping[str, Any]) -> dict[str, str]:
    """Write the barest statements: the comparisons alone, and with every column of the question looked at."""
    where = (
        f"channel = '{asked['channel']}' AND vds_v >= {asked['vds_least_v']} AND vgs_max_v >= {asked['vgs_least_v']} "
        f"AND vgs_th_max_v < {asked['drive_v']} AND id_case_a >= {asked['id_least_a']} AND rds_5v0_ohm IS NOT NULL"
    )
    if asked["package"]:
        where += " AND package IN (" + ", ".join(f"'{name}'" for name in asked["package"]) + ")"
    looked_at = ", ".join(f"max({name})" for name in FIGURES)
    return {
        _PLAIN: f"SELECT count(*) FROM {_STORED} WHERE {where}",
        _BARE: f"SELECT {looked_at} FROM {_STORED} WHERE {where}",
    }


def _scan(connection: duckdb.DuckDBPyConnection, text: str) -> None:
    connection.execute(text).fetchall()


def choosing(connection: duckdb.DuckDBPyConnection, need: Need, *, whole: bool) -> dict[str, Cost]:
    """Choose, and say what the whole and each of its statements took."""
    catalog = _Measured(connection)
    found: list[Selection] = []
    taken = costs_of_call(lambda: found.append(choose(catalog, need, top=_TOP, near=5 if whole else 0, counting=whole)))
    took = {name: cost for session in catalog.sessions for name, cost in session.took.items()}
    steps = {one.name: took[one.sql] for one in found[0].statements}
    if whole:
        return {WHOLE: taken, "its counts": steps["stopped"], "its near misses": steps["near"]}
    ranking = [steps[name] for name in _RANKING if name in steps]
    return {LIST: taken, OURS: sum(ranking, Cost(0.0, 0.0)), "its offers": steps["offers"]}


def _agree(ours: Sequence[Mapping[str, Any]], theirs: Mapping[str, Ranked], keys: pa.ChunkedArray) -> str:
    """Say whether others rank the same parts; parts that lose the same may stand in any order."""
    told = []
    for name, ranked in theirs.items():
        losses = zip((row["conduction_loss_w"] for row in ours), (watts for watts, _ in ranked), strict=False)
        same_losses = len(ours) == len(ranked) and all(abs(one - other) <= 1e-9 * one for one, other in losses)
        common = {row["part_key"] for row in ours} & {keys[place].as_py() for _, place in ranked}
        told.append(f"{name}: losses {'equal' if same_losses else 'DIFFER'}, {len(common)} of {len(ours)} parts")
    return "; ".join(told)


def measure_selection(parts: int, folder: Path, *, rounds: int) -> tuple[list[Line], list[str]]:
    """Measure with a catalogue of so many parts; return lines of the table, and notes on agreement."""
    lines: list[Line] = []
    notes: list[str] = []
    with Catalog.open(make_catalog_file(folder / f"catalog-{parts}.duckdb", parts, 1)) as catalog:
        connection = catalog.connection
        columns = ", ".join((*CODED, *FIGURES))
        table = connection.cursor().sql(f"SELECT {columns} FROM {_STORED}").to_arrow_table()
        keys = connection.cursor().sql(f"SELECT part_key FROM {_STORED}").to_arrow_table().column(0)
        pandas_frame, polars_frame = as_pandas(table), as_polars(table)
        del table
        for packages in (("TO-220",), ()):
            need = TransistorNeed(supply="12V", resistance="1.6ohm", drive="5V", ambient="40degC", package=packages)
            asked = need.parameters()
            frames: dict[str, Callable[[], Ranked]] = {
                _PANDAS: partial(rank_in_pandas, pandas_frame, asked, _TOP),
                _POLARS: partial(rank_in_polars, polars_frame, asked, _TOP),
            }
            jobs: dict[str, Callable[[], Cost | Mapping[str, Cost]]] = {
                name: partial(costs_of_call, partial(_scan, connection, text)) for name, text in _scans(asked).items()
            }
            jobs[LIST] = partial(choosing, connection, need, whole=False)
            jobs |= {name: partial(costs_of_call, rank) for name, rank in frames.items()}
            jobs[WHOLE] = partial(choosing, connection, need, whole=True)
            title = f"{parts:,} parts, {packages[0] if packages else 'any package'}: "
            pairs = [
                (OURS, _PLAIN), (OURS, _BARE), (OURS, _PANDAS), (OURS, _POLARS), (LIST, _BARE),
                ("its offers", _BARE), (WHOLE, _BARE), ("its counts", _BARE), ("its near misses", _BARE),
                (WHOLE, _PANDAS), (WHOLE, _POLARS),
            ]  # fmt: skip
            lines += compared(in_turn(jobs, rounds=rounds), pairs, title=title)
            ours = choose(catalog, need, top=_TOP, near=0, counting=False).ranked
            notes.append(f"{title}{_agree(ours, {name: rank() for name, rank in frames.items()}, keys)}.")
    return lines, notes
