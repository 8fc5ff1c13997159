"""Each family's ranked list against the barest scan of its own columns, over the demo's parts many times over."""

from __future__ import annotations

import shlex
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import fields, replace
from functools import partial
from pathlib import Path

import duckdb
from path_parts import PATH_LISTS, write_path_lists
from selection_speed import LIST, OURS, WHOLE, choosing
from timing import Cost, Line, compared, costs_of_call, in_turn

from loadworthy.catalog import families
from loadworthy.catalog.intake import intake
from loadworthy.catalog.schema import CURVE
from loadworthy.catalog.store import Catalog
from loadworthy.catalog.versions import renewed
from loadworthy.many import choose_many
from loadworthy.needs import NEEDS, Need
from loadworthy.selection import choose

__all__ = ["measure_families"]

_BARE = "scan of every figure that is stored"
_MANY, _SINGLY = "200 needs at once", "200 choices"
_NEEDS = 200
#: Each list is laid down once, or so often that a family has so many parts.
_FEW_PARTS = (1, 10_000)


def _need(family: str) -> Need:
    """Make the need of the family's first example, as it is typed."""
    several = {field.name for field in fields(NEEDS[family]) if isinstance(field.default, tuple)}
    words = iter(shlex.split(NEEDS[family].examples[0]))
    typed = {word[2:].replace("-", "_"): next(words) for word in words}
    needed: Callable[..., Need] = NEEDS[family]
    return needed(**{name: (text,) if name in several else text for name, text in typed.items()})


def _make(parts: int, folder: Path) -> Path:
    """Take the demo's lists in, and lay each family's parts down again and again under other numbers."""
    made = folder / f"path-{parts}.duckdb"
    if made.exists():
        return made
    lists = folder / "lists"
    write_path_lists(lists)
    intake(made, [lists / name for name in PATH_LISTS])
    with renewed(made) as catalog:
        for family in families.names():
            if catalog.holds(family):
                _multiply(catalog.connection, family, parts)
    return made


def _multiply(connection: duckdb.DuckDBPyConnection, family: str, parts: int) -> None:
    stored = f"stored_{family}"
    described = [(str(row[0]), str(row[1])) for row in connection.execute(f"DESCRIBE {stored}").fetchall()]
    columns = [name for name, _ in described]
    kept = ", ".join(_varied(name, kind) for name, kind in described if name not in ("part_key", "part_number"))
    order = ", ".join(name for name in families.load(family).sorted_by if name in columns)
    listed = ", ".join(f'"{name}"' for name in columns)
    row = connection.execute(f"SELECT count(*) FROM {stored}").fetchone() or (1,)
    connection.execute(
        f"CREATE TABLE many AS SELECT {listed} FROM (SELECT part_key || '-' || i AS part_key, "
        f"part_number || '-' || i AS part_number, {kept} FROM {stored}, range(?) t(i)) ORDER BY {order}",
        [parts // int(row[0]) + 1],
    )
    connection.execute(f"DROP TABLE {stored}")
    connection.execute(f"ALTER TABLE many RENAME TO {stored}")


def _varied(name: str, kind: str) -> str:
    """Let no two parts be quite alike: thousands that tie would all be read, and no catalogue holds such."""
    factor = "(1e0 + i * 1e-9)"
    if kind == "DOUBLE" and name not in ("poles", "loaded_poles"):
        return f'"{name}" * {factor} AS "{name}"'
    if kind == CURVE:
        point = f"struct_pack(degc := p.degc, value := p.value * {factor})"
        return f'list_transform("{name}", lambda p: {point}) AS "{name}"'
    return f'"{name}"'


def _scan(connection: duckdb.DuckDBPyConnection, family: str) -> None:
    described = connection.execute(f"DESCRIBE stored_{family}").fetchall()
    figures = [str(row[0]) for row in described if row[1] in ("DOUBLE", "BOOLEAN")]
    connection.execute(f"SELECT {', '.join(f'max({name})' for name in figures)} FROM stored_{family}").fetchall()


def measure_families(parts: int, folder: Path, *, rounds: int) -> tuple[list[Line], list[str]]:
    """Measure with so many parts of each family; return lines of the table, and notes on what was asked."""
    lines = _lines(parts, folder, rounds)
    for few in _FEW_PARTS:
        lines += _lines_of_many(few, folder, rounds)
    return lines, [f"{family}: {NEEDS[family].examples[0]}" for family in _measured(folder, parts)]


def _measured(folder: Path, parts: int) -> Iterator[str]:
    with Catalog.open(_make(parts, folder)) as catalog:
        yield from (family for family in NEEDS if catalog.holds(family))


def _lines_of_many(parts: int, folder: Path, rounds: int) -> list[Line]:
    """Hold many needs, whose currents and losses rise by hundredths, against as many single choices."""
    lines: list[Line] = []
    with Catalog.open(_make(parts, folder)) as catalog:
        for family in (family for family in NEEDS if catalog.holds(family)):
            first = _need(family)
            if "power" in vars(first):
                first = replace(first, power=None, resistance=None, current="1A")  # type: ignore[call-arg]
            name, unit, most = ("loss", "W", 8.0) if "loss" in vars(first) else ("current", "A", 8.0)
            sizes = [0.5 + (most - 0.5) * number / _NEEDS for number in range(_NEEDS)]
            needs = [replace(first, **{name: f"{size:.4f}{unit}"}) for size in sizes]  # type: ignore[arg-type]
            held = len(catalog.parts(family))
            jobs: dict[str, Callable[[], Cost | Mapping[str, Cost]]] = {
                _MANY: partial(costs_of_call, partial(choose_many, catalog, needs, top=5)),
                _SINGLY: partial(costs_of_call, partial(_each, catalog, needs)),
            }
            lines += compared(in_turn(jobs, rounds=rounds), [(_MANY, _SINGLY)], title=f"{held:,} {family} parts: ")
    return lines


def _each(catalog: Catalog, needs: Sequence[Need]) -> None:
    for need in needs:
        choose(catalog, need, top=5, near=0, counting=False)


def _lines(parts: int, folder: Path, rounds: int) -> list[Line]:
    lines: list[Line] = []
    with Catalog.open(_make(parts, folder)) as catalog:
        for family in NEEDS:
            if not catalog.holds(family):
                continue
            need = _need(family)
            jobs: dict[str, Callable[[], Cost | Mapping[str, Cost]]] = {
                _BARE: partial(costs_of_call, partial(_scan, catalog.connection, family)),
                LIST: partial(choosing, catalog.connection, need, whole=False),
                WHOLE: partial(choosing, catalog.connection, need, whole=True),
            }
            pairs = [(OURS, _BARE), (LIST, _BARE), (WHOLE, _BARE)]
            lines += compared(in_turn(jobs, rounds=rounds), pairs, title=f"{parts:,} {family} parts: ")
    return lines
