"""The whole job put to a catalogue, and two engines held equal statement by statement."""

from __future__ import annotations

import math
import shlex
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

import click

from loadworthy.cli.needs import need_from, need_options
from loadworthy.needs import NEEDS, Need

__all__ = ["Both", "apart", "needs_of"]

#: Figures of two engines may differ by so much of their value.
WITHIN = 1e-12


def needs_of(family: str) -> Iterator[Need]:
    """Make the needs that the family's own help gives as examples."""
    need = NEEDS[family]
    others = [click.Option([name]) for name in ("--top", "--near", "--add", "--format")]
    command = click.Command(family, params=[*need_options(need), *others])
    for text in need.examples:
        yield need_from(need, command.make_context(family, shlex.split(text)).params)


def apart(one: Any, other: Any, where: str = "") -> list[str]:
    """Name the places where two answers differ: figures by more than a share of 1e-12, all else at all."""
    if isinstance(one, Mapping) and isinstance(other, Mapping) and list(one) == list(other):
        return [found for key in one for found in apart(one[key], other[key], f"{where}.{key}")]
    if isinstance(one, list | tuple) and isinstance(other, list | tuple) and len(one) == len(other):
        pairs = enumerate(zip(one, other, strict=True))
        return [found for place, (mine, yours) in pairs for found in apart(mine, yours, f"{where}[{place}]")]
    if isinstance(one, float) and isinstance(other, float):
        same = math.isclose(one, other, rel_tol=WITHIN) or (math.isnan(one) and math.isnan(other))
    else:
        same = type(one) is type(other) and one == other
    return [] if same else [f"{where}: {one!r} and {other!r}"]


class _Answer:
    def __init__(self, names: Sequence[str], rows: list[tuple[Any, ...]]) -> None:
        self.description = [(name,) for name in names]
        self._rows = rows

    def fetchall(self) -> list[tuple[Any, ...]]:
        return self._rows


class Both:
    """A catalogue open in two engines: each statement runs in both, and must give the same rows.

    Rows that a statement leaves in any order, or that tie, are held equal in an order of their own; what is made of
    them is held equal where the answers are.
    """

    def __init__(self, *connections: Any) -> None:
        self.connection = self
        self._engines = connections
        self.ran: list[str] = []

    def cursor(self) -> Both:
        """Return one over cursors of both, which counts with this one."""
        other = Both(*(connection.cursor() for connection in self._engines))
        other.ran = self.ran
        return other

    def execute(self, query: str, parameters: object = None) -> _Answer:
        """Run a statement in both, hold the rows equal, and return those of the second."""
        results = [connection.execute(query, parameters) for connection in self._engines]
        found = [
            [dict(zip((column[0] for column in result.description), row, strict=True)) for row in result.fetchall()]
            for result in results
            if result.description
        ]
        if len(found) < len(self._engines):
            return _Answer([], [])  # a setting, which another engine has no use for
        ordered = [sorted(rows, key=lambda row: repr(_texts(row))) for rows in found]
        assert not (unlike := apart(*ordered)), (query[:300], parameters, unlike[:5])
        self.ran.append(query)
        names = [column[0] for column in results[1].description]
        return _Answer(names, [tuple(row.values()) for row in found[1]])


def _texts(row: Mapping[str, Any]) -> list[Any]:
    """What a row is told by: its texts and whole numbers, which both engines give alike."""
    return [value for value in row.values() if not isinstance(value, float)]
