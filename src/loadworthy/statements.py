"""SQL files made into statements: files put together by name, the need's numbers bound, never pasted."""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Final, Protocol, TypeAlias

from loadworthy import shipped

__all__ = ["ASKED", "Connection", "HasConnection", "Parameter", "Statement", "across", "assemble", "bind"]

#: A value that a statement can take: a list is spread into as many placeholders.
Parameter: TypeAlias = "str | float | int | bool | Sequence[str] | None"

_SLOT = re.compile(r"\{\{(\w+)\}\}")
_PLACEHOLDER = re.compile(r"\$([a-zA-Z_]\w*)")
_AMONG = re.compile(r"(\w+|\w+\(\w+\)) IN \(\$(\w+)\)")
#: How the column of a parameter is named where many needs are asked at once.
ASKED: Final = "asked_"


class _Result(Protocol):
    @property
    def description(self) -> Any: ...  # noqa: ANN401 - DuckDB's list of column descriptions

    def fetchall(self) -> list[Any]: ...


class Connection(Protocol):
    """What is used of a DuckDB connection."""

    def execute(self, query: str, parameters: object = None) -> _Result:
        """Run one statement with named parameters."""
        ...


class HasConnection(Protocol):
    """What is used of a catalogue."""

    @property
    def connection(self) -> Any:  # noqa: ANN401 - duckdb.DuckDBPyConnection, which has no importable base
        """The open connection."""
        ...


@dataclass(frozen=True, kw_only=True)
class Statement:
    """The exact text that runs, and the values bound to it."""

    name: str
    sql: str
    parameters: Mapping[str, str | float | int | bool | None] = field(default_factory=dict)

    def rows(self, connection: Connection) -> list[dict[str, Any]]:
        """Run it and return each row by column name."""
        result = connection.execute(self.sql, dict(self.parameters) or None)
        names = [column[0] for column in result.description]
        return [dict(zip(names, row, strict=True)) for row in result.fetchall()]


def assemble(name: str, **slots: str) -> str:
    """Read the SQL file `name` and fill its ``{{slots}}``.

    What fills a slot is the text of another SQL file, or column names that come from a family's description;
    a user's words never do.

    Raises
    ------
    KeyError
        The file has a slot that is not filled.
    """
    return _SLOT.sub(lambda slot: slots[slot.group(1)], shipped.query(name).rstrip())


def bind(name: str, sql: str, parameters: Mapping[str, Parameter]) -> Statement:
    """Keep the parameters that a text uses, and spread a list over as many placeholders.

    An empty list becomes ``NULL``, which nothing equals.

    Raises
    ------
    KeyError
        The text uses a parameter that is not given.

    Examples
    --------
    >>> asked = bind("some", "SELECT $a IN ($words)", {"a": "x", "words": ["x", "y"], "b": 1})
    >>> asked.sql, asked.parameters
    ('SELECT $a IN ($words_1, $words_2)', {'a': 'x', 'words_1': 'x', 'words_2': 'y'})
    """
    bound: dict[str, str | float | int | bool | None] = {}

    def placeholder(match: re.Match[str]) -> str:
        value = parameters[match.group(1)]
        if value is None or isinstance(value, (str, float, int)):
            bound[match.group(1)] = value
            return match.group()
        spread = {f"{match.group(1)}_{number}": item for number, item in enumerate(value, 1)}
        bound.update(spread)
        return ", ".join(f"${key}" for key in spread) or "NULL"

    text = _PLACEHOLDER.sub(placeholder, _without_comments(sql))
    return Statement(name=name, sql=text, parameters=bound)


def across(sql: str, columns: Collection[str]) -> str:
    """Turn the parameters of a text into columns, so that one statement judges by many needs.

    Parameters
    ----------
    sql
        The text.
    columns
        The parameters that stand in a column each, named ``asked_…``; those of several values in a list. Others stay
        parameters.

    Examples
    --------
    >>> across("$loss_w <= 1 AND ($n = 0 OR lower(kind) IN ($kind)) AND a NOT IN ($b)", {"loss_w", "n", "kind"})
    'asked_loss_w <= 1 AND (asked_n = 0 OR list_contains(asked_kind, lower(kind))) AND a NOT IN ($b)'
    """

    def among(match: re.Match[str]) -> str:
        return f"list_contains({ASKED}{match[2]}, {match[1]})" if match[2] in columns else match.group()

    def placeholder(match: re.Match[str]) -> str:
        return f"{ASKED}{match[1]}" if match[1] in columns else match.group()

    return _PLACEHOLDER.sub(placeholder, _AMONG.sub(among, _without_comments(sql)))


def _without_comments(sql: str) -> str:
    """Drop whole-line comments: they talk about placeholders and mean none."""
    return "\n".join(line for line in sql.splitlines() if not line.lstrip().startswith("--"))
