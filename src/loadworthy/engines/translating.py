"""The SQL of the query files, written for DuckDB, in the words of Spark.

The files keep to what both engines read alike; what is outside that is an error here, never a guess.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from functools import lru_cache

import sqlglot
from sqlglot import exp

from loadworthy.errors import UsageError

__all__ = ["Translated", "column_type", "translated"]

_FROM, _TO = "duckdb", "spark"


@dataclass(frozen=True, kw_only=True)
class Translated:
    """A statement in Spark's words.

    Attributes
    ----------
    sql
        The text; its parameters are written ``:name``.
    tables
        The tables and views that it reads.
    """

    sql: str
    tables: frozenset[str]


@lru_cache(maxsize=256)
def translated(sql: str) -> Translated:
    """Translate a statement.

    Parameters
    ----------
    sql
        DuckDB's text; its parameters are written ``$name``.

    Raises
    ------
    UsageError
        It uses what Spark does not have, or what cannot be told to mean the same there.

    Examples
    --------
    >>> translated("SELECT list_max(points) AS p FROM parts_fuse WHERE rating_a > $least_a ORDER BY p").sql
    'SELECT ARRAY_MAX(points) AS p FROM parts_fuse WHERE rating_a > :least_a ORDER BY p NULLS LAST'
    """
    try:
        tree = sqlglot.parse_one(sql, read=_FROM)
        unknown = sorted({one.name for one in tree.find_all(exp.Anonymous)})
        if unknown:
            raise _not_portable(f"nobody knows what {', '.join(unknown)} is called there")
        mixed = sorted({one.this for one in tree.find_all(exp.Literal) if _is_decimal(one)})
        if mixed:
            raise _not_portable(f"{', '.join(mixed)} would be decimal there: write it with an exponent")
        named = Counter(one.alias for one in tree.find_all(exp.CTE))
        twice = sorted(name for name, count in named.items() if count > 1)
        if twice:  # it knows no WITH inside a WITH: all of them come to stand side by side
            raise _not_portable(f"{', '.join(twice)} is named by two of its WITH clauses")
        for table in tree.find_all(exp.Table):
            # Spark has no such schema; the names of the tables stand in a view.
            if table.db:
                table.replace(exp.to_table("_".join(part.name for part in table.parts)))
        tables = {table.name for table in tree.find_all(exp.Table)} - set(named)
        text = tree.sql(_TO, unsupported_level=sqlglot.ErrorLevel.RAISE)
    except sqlglot.errors.SqlglotError as error:
        raise _not_portable(str(error).splitlines()[0]) from error
    return Translated(sql=text, tables=frozenset(tables))


def column_type(kind: str) -> str:
    """Translate the type of a column.

    Examples
    --------
    >>> column_type("STRUCT(degc DOUBLE, value DOUBLE)[]")
    'ARRAY<STRUCT<degc: DOUBLE, value: DOUBLE>>'
    """
    # What a clock on a wall shows, as DuckDB's TIMESTAMP; Spark's own is a moment in some time zone.
    return "TIMESTAMP_NTZ" if kind == "TIMESTAMP" else exp.DataType.build(kind, dialect=_FROM).sql(_TO)


def _is_decimal(literal: exp.Literal) -> bool:
    return not literal.is_string and "." in literal.this and "e" not in literal.this.lower()


def _not_portable(why: str) -> UsageError:
    return UsageError(
        f"a query cannot be put into Spark's words: {why}.",
        where="--engine spark",
        way_out="Ask it of DuckDB: leave --engine out.",
    )
