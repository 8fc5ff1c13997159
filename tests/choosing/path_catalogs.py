"""Small catalogues in memory of fuses, wire and the like, and what their queries say of every part."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import duckdb
import pyarrow as pa
from laid_offers import lay_offers

from loadworthy import choose, explain, statements
from loadworthy.catalog import families
from loadworthy.catalog.schema import CURVE, part_columns
from loadworthy.judging import judged
from loadworthy.needs import Need

Part = dict[str, Any]
_ARROW = {
    "VARCHAR": pa.string(),
    "DOUBLE": pa.float64(),
    "BOOLEAN": pa.bool_(),
    "INTEGER": pa.int32(),
    CURVE: pa.list_(pa.struct([("degc", pa.float64()), ("value", pa.float64())])),
}


@dataclass
class SmallCatalog:
    """What choosing needs of a catalogue: its connection."""

    connection: duckdb.DuckDBPyConnection


def points(table: Mapping[float, float]) -> list[dict[str, float]]:
    """Write a table of temperature → value as the catalogue keeps a curve."""
    return [{"degc": degc, "value": value} for degc, value in table.items()]


def catalog_with(family: str, parts: Sequence[Part], *, offers: Sequence[Mapping[str, Any]] = ()) -> SmallCatalog:
    """Make a catalogue of one family's parts, with offers given as dicts."""
    connection = duckdb.connect(":memory:")
    columns = {"part_key": "VARCHAR", **{column.name: column.kind for column in part_columns(families.load(family))}}
    columns |= {"claims": "INTEGER", "differs": "VARCHAR"}
    laid = ", ".join(f'"{name}" {kind}' for name, kind in columns.items())
    connection.execute(f"CREATE TABLE parts_{family} ({laid})")
    if parts:
        unknown = {name for part in parts for name in part} - set(columns)
        assert not unknown, unknown
        arrays = {
            name: pa.array([part.get(name) for part in parts], type=_ARROW[kind]) for name, kind in columns.items()
        }
        connection.register("given", pa.table(arrays))
        connection.execute(f"INSERT INTO parts_{family} SELECT * FROM given")
    lay_offers(connection, family, offers)
    return SmallCatalog(connection)


def every_row(catalog: SmallCatalog, need: Need, *, closely: bool = True) -> list[dict[str, Any]]:
    """Run the family's own query over every part, in the order of their part numbers."""
    text = judged(need.family, offered=False)
    rows = statements.bind("all", text, {**need.parameters(), "closely": closely}).rows(catalog.connection)
    return sorted(rows, key=lambda row: row["part_number"])


def the_row(part: Part, need: Need) -> dict[str, Any]:
    """Run the family's query over one part."""
    (row,) = every_row(catalog_with(need.family, [part]), need)
    return row


def assert_judged(catalog: SmallCatalog, need: Need, criterion: str, verdict: str) -> None:
    """Hold the verdict on the catalogue's only part, and explain, the ranked list and the counts to one another."""
    explained = explain(catalog, "A", need)
    assert next(line for line in explained.criteria if line.name == criterion).verdict == verdict
    chosen = choose(catalog, need, near=0)
    assert bool(chosen.ranked) == explained.fits
    first_failed = next((one.name for one in explained.criteria if one.verdict == "fail"), None)
    assert chosen.counts is not None
    assert [name for name, number in chosen.counts.stopped.items() if number] == [first_failed] * bool(first_failed)
    assert explained.fits or first_failed or chosen.counts.unknown
