"""A small catalogue in memory, made from parts that a test spells out."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import duckdb
import pyarrow as pa
import pytest
from laid_offers import lay_offers

from loadworthy.catalog import families
from loadworthy.catalog.packages import packages
from loadworthy.catalog.schema import part_columns

Part = dict[str, Any]


@dataclass
class SmallCatalog:
    """What choosing needs of a catalogue: its connection."""

    connection: duckdb.DuckDBPyConnection


def level_columns(*, typical: bool) -> list[tuple[float, str]]:
    """Each standard gate voltage and the stem of its columns."""
    levels = next(figure.levels for figure in families.load("transistor").figures if figure.levels)
    stem = f"{levels.stem}_typ" if typical else levels.stem
    return [(level, f"{stem}_{levels.label(level)}") for level in levels.values]


def filled(given: Mapping[float, float], *, typical: bool) -> dict[str, float | None]:
    """Fill the level columns as a catalogue does, each from the greatest gate voltage not above it."""
    columns: dict[str, float | None] = {}
    for level, stem in level_columns(typical=typical):
        reached = max((volts for volts in given if volts <= level), default=None)
        columns[f"{stem}_ohm"] = None if reached is None else given[reached]
        if not typical:
            columns[f"{stem}_at_v"] = reached
    return columns


def sound(part_number: str, **other: Any) -> Part:
    """Return a part that fits 12 V, 7.5 A from a 5 V pin; ``rds`` and ``rds_typ`` map gate voltage → ohms."""
    rds = other.pop("rds", {4.5: 0.005, 10.0: 0.004})
    rds_typ = other.pop("rds_typ", {})
    package = other.pop("package", "TO-220")
    outline = next((one for one in packages() if one.name == package), None)
    part: Part = {
        "part_key": f"{other.get('maker', 'Alder')}|{part_number}",
        "maker": "Alder",
        "part_number": part_number,
        "channel": "n",
        "package": package,
        "leaded": outline.leaded if outline else None,
        "package_rthja_k_per_w": outline.rthja if outline else None,
        "package_rthjc_k_per_w": outline.rthjc if outline else None,
        "package_rthcs_k_per_w": outline.rthcs if outline else None,
        "vds_v": 40.0,
        "vgs_max_v": 20.0,
        "vgs_th_max_v": 2.5,
        "id_case_a": 50.0,
        "junction_max_degc": 175.0,
        "rds_from_v": min(rds, default=None),
        "claims": 1,
    }
    return {**part, **filled(rds, typical=False), **filled(rds_typ, typical=True), **other}


def _table(connection: duckdb.DuckDBPyConnection, parts: Sequence[Part]) -> None:
    family = families.load("transistor")
    columns = [f"{column.name} {column.kind}" for column in part_columns(family)]
    for name in (*filled({}, typical=False), *filled({}, typical=True)):
        columns.append(f"{name} DOUBLE")
    columns = ["part_key VARCHAR", *columns, "claims INTEGER", "differs VARCHAR"]
    connection.execute(f"CREATE TABLE parts_transistor ({', '.join(columns)})")
    if parts:
        types = {"VARCHAR": pa.string(), "DOUBLE": pa.float64(), "BOOLEAN": pa.bool_(), "INTEGER": pa.int32()}
        arrays = {
            name: pa.array([part.get(name) for part in parts], type=types[kind])
            for name, kind in (column.split() for column in columns)
        }
        connection.register("given", pa.table(arrays))
        connection.execute("INSERT INTO parts_transistor SELECT * FROM given")


@pytest.fixture
def catalog_of() -> Iterator[Callable[..., SmallCatalog]]:
    """Make a catalogue of the parts given, with the offers given as dicts."""
    opened: list[duckdb.DuckDBPyConnection] = []

    def make(*parts: Part, offers: Sequence[Mapping[str, Any]] = ()) -> SmallCatalog:
        connection = duckdb.connect(":memory:")
        opened.append(connection)
        _table(connection, parts)
        lay_offers(connection, "transistor", offers)
        return SmallCatalog(connection)

    yield make
    for connection in opened:
        connection.close()


@pytest.fixture
def part() -> Callable[..., Part]:
    """Make one part; see :func:`sound`."""
    return sound
