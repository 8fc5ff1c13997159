"""The statements that put a list's rows together: each with the values of its texts.

Names in these statements are the program's own (columns of the schema, numbered fields); everything that comes
from a file is a bound parameter or stays in a table.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pyarrow as pa

from loadworthy.catalog import arrays
from loadworthy.catalog.columns import Layout
from loadworthy.catalog.families import Family, Figure, Negative
from loadworthy.catalog.lookups import PROBLEM, Lookup
from loadworthy.catalog.number_texts import NUMBERS, NumberTexts
from loadworthy.catalog.outputs import MISPLACED, TYPICAL
from loadworthy.catalog.schema import CURVE, NUMBER_IN_KEY, OFFERED, claim_columns, exact_columns, part_columns
from loadworthy.catalog.texts import Texts

__all__ = [
    "ROWS",
    "STAGED",
    "Worded",
    "claims_statement",
    "headings_condition",
    "offered_columns",
    "offers_statement",
    "place_of",
    "rows_with_values",
    "taken_rows",
    "worded_columns",
]

#: The rows of a list with the values of their texts; see :func:`rows_with_values`.
ROWS = "rows_with_values"
#: What one list claims: a temporary view over its rows, read as often as it is asked.
STAGED = "staged_claims"
#: A column of more words than these is sorted with its words.
_MOST_WORDS = 2000
#: What an offer says beyond its price: the first column that gives it counts.
_OFFERED = tuple(
    name for name, _ in OFFERED if name not in ("supplier", "order_number", "currency", "unit_price", "breaks")
)


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


def taken_rows(
    texts: Texts, layout: Layout, lookups: Sequence[Lookup], *, section: int | None, again: Sequence[int]
) -> pa.ChunkedArray | None:
    """Say which rows are parts.

    A row is one where at least one of its figures could be read, and its cells stand in the right columns: where a
    package stands in the place of a number, or a cell too many in a row that does not read well, its other cells
    are figures of something else.

    Parameters
    ----------
    texts, layout, lookups
        The list, its columns, and the values of its texts.
    section
        The record where another table begins.
    again
        Records that repeat the headings.

    Returns
    -------
    pyarrow.ChunkedArray or None
        A truth value a row, in the texts' batches; ``None`` where all are parts.
    """
    figures = _figures(layout.family, lookups)
    numbers = {figure.name for figure in layout.family.figures if figure.kind == "number"}
    read = [lookup for lookup in figures if lookup.column.reads in numbers]
    misplaced = [(lookup, lookup.has(MISPLACED)) for lookup in figures if MISPLACED in lookup.outputs]
    refused = [(lookup, lookup.has(PROBLEM)) for lookup in figures if lookup.tally.refused]
    masks = []
    for batch, size in enumerate(texts.batches):
        taken = np.zeros(size, np.bool_)
        for lookup in read:
            if taken.all():
                break
            taken |= lookup.distinct.marked(batch, lookup.taken)
        for lookup, marks in misplaced:
            taken &= ~lookup.distinct.marked(batch, marks)
        surplus = texts.table.column("surplus").chunk(batch)
        if refused and surplus.null_count < size:
            beyond = arrays.flags(surplus.is_valid())
            for lookup, marks in refused:
                taken &= ~(beyond & lookup.distinct.marked(batch, marks))
        records = arrays.whole(texts.table.column("record").chunk(batch))
        if section is not None:
            taken &= records < section
        if again:
            taken &= ~np.isin(records, again)
        masks.append(taken)
    if all(mask.all() for mask in masks):
        return None
    return pa.chunked_array([arrays.truths(mask) for mask in masks])


def _figures(family: Family, lookups: Sequence[Lookup]) -> list[Lookup]:
    """Those that say something of the part, and not of the offer."""
    named = {figure.name for figure in family.figures} | {"package", "maker"}
    return [lookup for lookup in lookups if lookup.column.reads in named]


@dataclass(frozen=True, kw_only=True)
class Worded:
    """A column of words that one column of the list gives: its words in order, and which of them each text says."""

    lookup: Lookup
    words: tuple[str, ...]
    places: pa.Array


def worded_columns(layout: Layout, lookups: Sequence[Lookup]) -> dict[str, Worded]:
    """Find the columns whose words can stand as numbers while parts are sorted: texts make rows long.

    Returns
    -------
    dict
        Column of the claims → its words. :data:`STAGED` has their places in the column that :func:`place_of` names.
    """
    found = {}
    figures = _figures(layout.family, lookups)
    for name, kind in claim_columns(layout.family):
        sources = [lookup for lookup in figures if name in lookup.outputs]
        if kind != "VARCHAR" or len(sources) != 1 or name == TYPICAL:
            continue
        values = sources[0].outputs[name].to_pylist()
        words = tuple(sorted({word for word in values if word is not None}))
        if len(words) <= _MOST_WORDS:
            at = {word: place for place, word in enumerate(words)}
            places = arrays.column([at.get(word) for word in values], pa.int32())
            found[name] = Worded(lookup=sources[0], words=words, places=places)
    return found


def place_of(column: str) -> str:
    """Name the column that says which of its words a column of words has."""
    return f"place of {column}"


def rows_with_values(
    texts: Texts,
    layout: Layout,
    lookups: Sequence[Lookup],
    worded: Mapping[str, Worded],
    taken: pa.ChunkedArray | None,
) -> pa.Table:
    """Lay the values of the rows' texts beside their numbers, as columns: :meth:`Lookup.named` says their names.

    Nothing is worked out row by row: a column of values is a dictionary that the texts' numbers point into.
    """
    names = ["record", *(column.field for name in NUMBERS if (column := layout.reading(name)))]
    columns = {name: texts.table.column(name) for name in names}
    for lookup in lookups:
        columns |= dict(lookup.columns())
    for name, one in worded.items():
        columns[place_of(name)] = one.lookup.distinct.spread(one.places)
    if taken is not None:
        columns["taken"] = taken
    return pa.table(columns)


def _parts_only(numbers: NumberTexts, *, every: bool) -> str:
    """The condition that holds of the rows that are parts."""
    tests = ([] if every else ["r.taken"]) + (["part_number IS NOT NULL"] if numbers.may_lack else [])
    return f"WHERE {' AND '.join(tests)}" if tests else ""


def _of_rows(numbers: NumberTexts) -> str:
    return f'(SELECT *, {numbers.expressions["part_number"]} AS part_number FROM "{ROWS}" r) r'


def claims_statement(
    layout: Layout,
    lookups: Sequence[Lookup],
    numbers: NumberTexts,
    worded: Collection[str],
    *,
    list_id: int,
    every: bool,
) -> str:
    """Return the statement that makes :data:`STAGED`, what a list claims of its parts.

    Parameters
    ----------
    layout, lookups, numbers, worded
        The columns, the values of their texts, how numbers are tidied, and which columns have places for words.
    list_id
        The list's number.
    every
        Whether all rows are parts; else their column ``taken`` says which.
    """
    family = layout.family
    figures = _figures(family, lookups)
    maker_key = _fold("first", _sources(figures, "maker_key"))
    expressions = {
        **_figure_expressions(family, figures),
        "part_key": f"coalesce({maker_key}, '') || '|' || {NUMBER_IN_KEY}",
        "list_id": f"CAST({list_id} AS INTEGER)",
        "record": "r.record",
        "part_number": "part_number",
    }
    chosen = ",\n".join(
        f'{expressions[name]} AS "{name}"'
        for name, _ in claim_columns(family)
        if expressions.get(name, "NULL") != "NULL"
    ) + "".join(f',\nr."{place_of(name)}" AS "{place_of(name)}"' for name in worded)
    return (
        f'CREATE OR REPLACE TEMP VIEW "{STAGED}" AS\nSELECT {chosen}\nFROM {_of_rows(numbers)}\n'
        f"{_parts_only(numbers, every=every)}"
    )


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


def _has_breaks(lookup: Lookup) -> bool:
    """Whether any price of a column says more than what one piece costs; see :func:`schema.listed_offers_view`."""
    breaks = lookup.outputs.get("breaks")
    return breaks is not None and any(
        one is not None and [step["quantity"] for step in one] != [1] for one in breaks.to_pylist()
    )


def offered_columns(lookups: Sequence[Lookup], numbers: NumberTexts) -> dict[str, str]:
    """Return what a list says of its offers: column of ``offer_rows`` → expression over the rows."""
    wanted = {"price", "price_unit", "supplier", "currency", *_OFFERED}
    used = [lookup for lookup in lookups if lookup.column.reads in wanted]
    breaks = _sources(used, "breaks")
    if len(breaks) == 1 and not any(map(_has_breaks, used)):
        breaks = []
    pieces = _fold("first", _sources(used, "price_unit"))
    expressions = {
        "supplier": _fold("first", _sources(used, "supplier")),
        "order_number": numbers.expressions["order_number"],
        "currency": _fold("first", _sources(used, "currency")),
        "unit_price": _divided(_fold("first", _sources(used, "unit_price")), pieces),
        "breaks": _each_divided(
            f"list_concat({', '.join(breaks)})" if len(breaks) > 1 else _fold("first", breaks), pieces
        ),
        **{name: _fold("first", _sources(used, name)) for name in _OFFERED},
    }
    return {name: expression for name, expression in expressions.items() if expression != "NULL"}


def offers_statement(columns: Mapping[str, str], numbers: NumberTexts, *, list_id: int, every: bool) -> str:
    """Return the statement that adds a list's offers, one for each claim; ``columns`` as :func:`offered_columns`."""
    rows = {"list_id": f"CAST({list_id} AS INTEGER)", "record": "r.record", **columns}
    chosen = ",\n".join(f'{expression} AS "{name}"' for name, expression in rows.items())
    return (
        f"INSERT INTO offer_rows BY NAME\nSELECT {chosen}\nFROM {_of_rows(numbers)}\n"
        f"{_parts_only(numbers, every=every)}"
    )
