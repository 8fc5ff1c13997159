"""The statements that put a list's rows together: raw texts joined with their lookups.

Names in these statements are the program's own (columns of the schema, numbered fields); everything that comes
from a file is a bound parameter or stays in a table.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import duckdb

from loadworthy.catalog.columns import Layout
from loadworthy.catalog.families import Family, Figure, Negative, words
from loadworthy.catalog.lookups import Lookup
from loadworthy.catalog.outputs import MISPLACED, TYPICAL
from loadworthy.catalog.schema import CURVE, claim_columns, exact_columns, part_columns

__all__ = [
    "NUMBERS",
    "STAGED",
    "NumberTexts",
    "claims_statement",
    "headings_condition",
    "offers_statement",
    "survey_numbers",
]

#: The temporary table of one list's claims.
STAGED = "staged_claims"
#: Texts that are nearly all different: they are tidied row by row instead of text by text.
NUMBERS = ("part_number", "order_number")
_OFFERED = (
    "packaging",
    "life_cycle",
    "lead_time",
    "least_quantity",
    "multiple",
    "stock",
    "stock_at_least",
    "stock_note",
)
_BLANKS = "' \t\r\n\u00a0'"


@dataclass(frozen=True, kw_only=True)
class NumberTexts:
    """How a column of part or order numbers is tidied: what its texts do not need is not done to each of them."""

    expressions: Mapping[str, str]
    bound: Mapping[str, str]


def _longest(texts: list[str]) -> int:
    return max(map(len, texts))


def survey_numbers(connection: duckdb.DuckDBPyConnection, layout: Layout, raw: str) -> NumberTexts:
    """Look through the columns of numbers once: blanks at their ends, line breaks, words that say "none"."""
    missing = sorted((words().missing | words().summary) - {""})
    expressions: dict[str, str] = {}
    bound: dict[str, str] = {}
    for name in NUMBERS:
        column = layout.reading(name)
        if column is None:
            expressions[name] = "NULL"
            continue
        cell = f'r."{column.field}"'
        trimmed = f"trim(replace(replace({cell}, chr(13), ''), chr(10), ' '), {_BLANKS})"
        placeholders = ", ".join("?" for _ in missing)
        blanks = ", ".join(f"'{blank}'" for blank in _BLANKS.strip("'"))
        row = connection.execute(
            f"SELECT bool_or(left({cell}, 1) IN ({blanks}) OR right({cell}, 1) IN ({blanks})), "
            f"bool_or(contains({cell}, chr(10))), "
            f'bool_or(length({cell}) <= ?) FROM "{raw}" r',
            [_longest(missing)],
        ).fetchone() or (False, False, False)
        untidy = bool(row[0] or row[1])
        tidied = f"nullif({trimmed}, '')" if untidy else cell
        absent: list[tuple[str]] = []
        if row[2] or untidy:
            absent = connection.execute(
                f'SELECT DISTINCT {cell} FROM "{raw}" r WHERE (length({cell}) <= ? OR {"TRUE" if untidy else "FALSE"}) '
                f"AND lower({trimmed if untidy else cell}) IN ({placeholders})",
                [_longest(missing), *missing],
            ).fetchall()
        names = {f"{name}_{index}": str(row[0]) for index, row in enumerate(absent)}
        bound |= names
        listed = ", ".join(f"${one}" for one in names)
        expressions[name] = f"CASE WHEN {cell} NOT IN ({listed}) THEN {tidied} END" if names else tidied
    return NumberTexts(expressions=expressions, bound=bound)


def _sources(lookups: Sequence[Lookup], output: str) -> list[str]:
    return [lookup.named(output) for lookup in lookups if output in lookup.outputs]


def _fold(rule: str, sources: Sequence[str]) -> str:
    """Put together what several columns say: the worse counts, NULL is no claim."""
    if not sources:
        return "NULL"
    if len(sources) == 1:
        return sources[0]
    if rule == "either":
        return "(" + " OR ".join(f"coalesce({source}, FALSE)" for source in sources) + ")"
    function = {"lower": "least", "higher": "greatest", "first": "coalesce"}[rule]
    return f"{function}({', '.join(sources)})"


def _exact(lookups: Sequence[Lookup], value: str, at: str, worse: str) -> tuple[str, str] | None:
    """One level's own value and gate voltage, from all columns that give one for it."""
    pairs = [(lookup.named(value), lookup.named(at)) for lookup in lookups if value in lookup.outputs]
    if not pairs:
        return None
    if len(pairs) == 1:
        return pairs[0]
    greatest = f"greatest({', '.join(at_v for _, at_v in pairs)})"
    kept = [f"CASE WHEN {at_v} = {greatest} THEN {ohm} END" for ohm, at_v in pairs]
    return _fold(worse, kept), greatest


def _level_expressions(figure: Figure, lookups: Sequence[Lookup]) -> dict[str, str]:
    """What the list gives for each level, and the exponent that a hot figure shows."""
    levels = figure.levels
    if levels is None:
        return {}
    found: dict[str, str] = {}
    maxima: list[tuple[str, str]] = []
    for index, (value, at) in enumerate(exact_columns(levels)):
        own = _exact(lookups, value, at, levels.worse)
        if own is not None:
            found[value], found[at] = own
            if index < len(levels.values):
                maxima.append(own)
    found["hot_exponent"] = _hot_exponent(lookups, maxima)
    return found


def _hot_exponent(lookups: Sequence[Lookup], exact: Sequence[tuple[str, str]]) -> str:
    """The exponent n that a part's own hot figure gives: ln(R/R25)/ln(T/298.15 K), at the same gate voltage."""
    hot = next((lookup for lookup in lookups if "hot_ohm" in lookup.outputs), None)
    if hot is None:
        return "NULL"
    if "hot_at_v" in hot.outputs:
        cold = [f"CASE WHEN {volts} = {hot.named('hot_at_v')} THEN {ohm} END" for ohm, volts in exact]
    else:
        cold = [exact[0][0]] if len(exact) == 1 else []
    if not cold:
        return "NULL"
    ratio = f"{hot.named('hot_ohm')} / {_fold('first', cold)}"
    exponent = f"ln({ratio}) / ln(({hot.named('hot_degc')} + 273.15) / 298.15)"
    return f"CASE WHEN {ratio} >= 1 THEN {exponent} END"


def _figure_expressions(family: Family, lookups: Sequence[Lookup]) -> dict[str, str]:
    found = {
        column.name: (_joined if column.kind == CURVE else _fold)(column.worse, _sources(lookups, column.name))
        for column in part_columns(family)
    }
    for figure in family.figures:
        found |= _level_expressions(figure, lookups)
    typical = _sources(lookups, TYPICAL)
    found[TYPICAL] = f"nullif(concat_ws(', ', {', '.join(typical)}), '')" if typical else "NULL"
    for figure in family.figures:
        if figure.negative:
            found |= _sided(figure, figure.negative, found, lookups)
    return found


def _sided(figure: Figure, apart: Negative, found: Mapping[str, str], lookups: Sequence[Lookup]) -> dict[str, str]:
    """A P-channel gate is driven downwards: its negative rating counts."""
    negative = _fold("lower", _sources(lookups, apart.column))
    if negative == "NULL":
        return {}
    column = figure.store[0].column
    up, kind = found[column], found[apart.kind_of]
    counts = (
        f"CASE WHEN {kind} = '{apart.kind}' THEN coalesce({negative}, {up}) "
        f"WHEN {kind} IS NOT NULL THEN coalesce({up}, {negative}) ELSE least({up}, {negative}) END"
    )
    return {column: counts}


def _joined(rule: str, sources: Sequence[str]) -> str:
    """Put the points of a curve together that stand in several columns, the coldest first."""
    if len(sources) < 2:
        return _fold(rule, sources)
    every = f"list_sort(list_concat({', '.join(sources)}))"
    return f"CASE WHEN len({every}) > 0 THEN {every} END"


def headings_condition(layout: Layout) -> tuple[str, dict[str, Any]]:
    """Say which raw rows repeat a heading row of the table, to the letter."""
    conditions: list[str] = []
    bound: dict[str, Any] = {}
    for row, record in enumerate(layout.heading_records):
        filled = [index for index in range(min(len(record), layout.width)) if record[index]]
        blank = [index for index in range(layout.width) if index not in filled]
        for index in filled:
            bound[f"h{row}_{index}"] = record[index]
        cells = [f'r."c{index}" = $h{row}_{index}' for index in filled]
        cells += [f"trim(coalesce(r.\"c{index}\", '')) = ''" for index in blank]
        conditions.append("coalesce(" + " AND ".join(cells) + ", FALSE)")
    return "(" + " OR ".join(conditions) + ")", bound


def _joins(lookups: Sequence[Lookup]) -> str:
    return "\n".join(lookup.joined for lookup in lookups)


def _accepted(family: Family, lookups: Sequence[Lookup]) -> str:
    """A row is a part where at least one of its figures could be read."""
    names = {figure.name for figure in family.figures if figure.kind == "number"}
    found = [
        f"({lookup.named('t0')} IS NOT NULL AND {lookup.named('problem')} IS NULL)"
        for lookup in lookups
        if lookup.column.reads in names
    ]
    return " OR ".join(found) or "FALSE"


def _in_place(lookups: Sequence[Lookup]) -> str:
    """Leave out rows whose cells stand in the wrong columns.

    A package where a number should be, or a cell too many in a row that does not read well: its other
    cells are then figures of something else.
    """
    misplaced = "".join(f" AND {lookup.named(MISPLACED)} IS NULL" for lookup in lookups if MISPLACED in lookup.outputs)
    refused = [f"{lookup.named('problem')} IS NOT NULL" for lookup in lookups if lookup.tally.refused]
    shifted = f" AND NOT (r.surplus IS NOT NULL AND ({' OR '.join(refused)}))" if refused else ""
    return misplaced + shifted


def claims_statement(
    layout: Layout, lookups: Sequence[Lookup], numbers: NumberTexts, raw: str
) -> tuple[str, dict[str, Any]]:
    """Return the statement that stages a list's claims, and its parameters (without ``list_id``)."""
    family = layout.family
    named = {figure.name for figure in family.figures} | {"package", "maker"}
    figures = [lookup for lookup in lookups if lookup.column.reads in named]
    part = numbers.expressions["part_number"]
    maker_key = _fold("first", _sources(figures, "maker_key"))
    expressions = {
        **_figure_expressions(family, figures),
        "part_key": f"coalesce({maker_key}, '') || '|' || upper(replace(part_number, ' ', ''))",
        "list_id": "$list_id",
        "record": "r.record",
        "part_number": "part_number",
    }
    chosen = ",\n".join(
        f'{expressions[name]} AS "{name}"'
        for name, _ in claim_columns(family)
        if expressions.get(name, "NULL") != "NULL"
    )
    repeated, bound = headings_condition(layout)
    statement = (
        f'CREATE OR REPLACE TEMP TABLE "{STAGED}" AS\nSELECT {chosen}\n'
        f'FROM (SELECT *, {part} AS part_number FROM "{raw}" r) r\n{_joins(figures)}\n'
        f"WHERE part_number IS NOT NULL AND NOT {repeated} AND ({_accepted(family, figures)})"
        f"{_in_place(figures)} AND ($section IS NULL OR r.record < $section)"
    )
    return statement, {**bound, **numbers.bound}


def _divided(amount: str, pieces: str) -> str:
    """An amount that another column says is for so many pieces."""
    return amount if "NULL" in (amount, pieces) else f"{amount} / coalesce({pieces}, 1)"


def _each_divided(breaks: str, pieces: str) -> str:
    if "NULL" in (breaks, pieces):
        return breaks
    return (
        f"list_transform({breaks}, lambda one: struct_pack(quantity := one.quantity, "
        f"price := one.price / coalesce({pieces}, 1)))"
    )


def offers_statement(
    layout: Layout, lookups: Sequence[Lookup], numbers: NumberTexts, raw: str
) -> tuple[str, dict[str, Any]]:
    """Return the statement that adds a list's offers, one for each claim, and its parameters."""
    wanted = {"price", "price_unit", "supplier", "currency", *_OFFERED}
    used = [lookup for lookup in lookups if lookup.column.reads in wanted]
    breaks = _sources(used, "breaks")
    pieces = _fold("first", _sources(used, "price_unit"))
    expressions = {
        "part_key": "c.part_key",
        "family": "$family",
        "list_id": "$list_id",
        "record": "r.record",
        "supplier": f"coalesce({_fold('first', [*_sources(used, 'supplier'), '$supplier'])})",
        "order_number": numbers.expressions["order_number"],
        "currency": _fold("first", _sources(used, "currency")),
        "unit_price": _divided(_fold("first", _sources(used, "unit_price")), pieces),
        "breaks": _each_divided(
            f"list_concat({', '.join(breaks)})" if len(breaks) > 1 else _fold("first", breaks), pieces
        ),
        **{name: _fold("first", _sources(used, name)) for name in _OFFERED},
    }
    chosen = ",\n".join(f'{expression} AS "{name}"' for name, expression in expressions.items())
    statement = (
        f'INSERT INTO offers BY NAME\nSELECT {chosen}\nFROM "{raw}" r\nJOIN "{STAGED}" c USING (record)\n{_joins(used)}'
    )
    return statement, dict(numbers.bound)
