"""Several claims of one part → one: what is gathered of them, what of that counts, and where they disagree.

All of it is text for a statement: one that groups claims by part, or one that joins a claim to the row of its part,
where that says what all other claims of the part say.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence

from loadworthy.catalog.families import Figure, Levels
from loadworthy.catalog.schema import Column, exact_columns

__all__ = ["counting", "differences", "gathered", "paired"]

#: Lists round differently; figures that agree within this share do not differ.
_SAME_WITHIN = 2e-3
#: Of two claims the one of the earlier list is the first, and of one list's that of the earlier record.
_EARLIER = "list_id * 1099511627776 + record"


def gathered(columns: Sequence[Column], exact: Iterable[tuple[str, str]]) -> list[str]:
    """Return what is to be known of a part's claims: of each column, and of each level's value and gate voltage."""
    return [*_gathered_columns(columns), *(text for pair in exact for text in _gathered_level(*pair))]


def paired(
    columns: Sequence[Column], exact: Iterable[tuple[str, str]], claim: Collection[str], part: Collection[str]
) -> list[str]:
    """Return the same as :func:`gathered` of a ``claim`` and the row of its ``part``, which have these columns."""

    def of(relation: str, name: str) -> str | None:
        return f'{relation}."{name}"' if name in (claim if relation == "claim" else part) else None

    found: list[str] = []
    for column in columns:
        sides = [text for text in (of("part", column.name), of("claim", column.name)) if text]
        if column.worse == "either":
            found.append(f'{_either(sides)} AS "{column.name}"')
            continue
        if column.worse == "first":
            found.append(f'coalesce({", ".join(sides)}) AS "{column.name}"')
        found += [
            f'{function}({", ".join(sides)}) AS "{kind}:{column.name}"'
            for function, kind, worse in (("least", "least", "lower"), ("greatest", "most", "higher"))
            if column.title or column.worse == worse
        ]
    for value, at in exact:
        for kind, sign in (("most", ""), ("least", "-")):
            structs = [
                f"CASE WHEN {ohm} IS NOT NULL THEN struct_pack(volts := {of(relation, at)}, ohm := {sign}{ohm}) END"
                for relation in ("part", "claim")
                if (ohm := of(relation, value))
            ]
            found.append(f'greatest({", ".join(structs)}) AS "{kind}:{value}"')
    return found


def _either(sides: Sequence[str]) -> str:
    return f"coalesce({' OR '.join(sides)}, {', '.join(sides)})" if len(sides) > 1 else sides[0]


def counting(columns: Sequence[Column], exact: Iterable[tuple[str, str]]) -> list[str]:
    """Return what counts, from what was gathered: the worse figure."""
    return [*map(_merged, columns), *(text for pair in exact for text in _merged_level(*pair))]


def differences(
    columns: Sequence[Column], levels: Iterable[tuple[Figure, Levels]], present: Collection[str]
) -> list[str]:
    """Return texts that name each figure of which claims disagree, NULL where they agree."""
    return [*_column_differences(columns), *(_level_difference(figure, one, present) for figure, one in levels)]


def _merged(column: Column) -> str:
    """What counts of a column, from what was gathered of it; see :func:`gathered`."""
    name = f'"{column.name}"'
    if column.worse in ("lower", "higher"):
        return f'"{"least" if column.worse == "lower" else "most"}:{column.name}" AS {name}'
    return name


def _gathered_columns(columns: Iterable[Column]) -> Iterator[str]:
    """What is to be known of each column of a part's claims: each aggregate once, it is dear."""
    for column in columns:
        name = f'"{column.name}"'
        if column.worse == "either":
            yield f"bool_or({name}) AS {name}"
            continue
        if column.worse == "first":
            yield f"arg_min({name}, {_EARLIER}) FILTER ({name} IS NOT NULL) AS {name}"
        if column.title or column.worse == "lower":
            yield f'min({name}) AS "least:{column.name}"'
        if column.title or column.worse == "higher":
            yield f'max({name}) AS "most:{column.name}"'


def _column_differences(columns: Iterable[Column]) -> list[str]:
    """The titles of figures that lists disagree about, each once however many columns it has."""
    tests: dict[str, list[str]] = {}
    for column in columns:
        if column.title and column.worse != "either":
            tests.setdefault(column.title, []).append(_apart(column))
    return [f"CASE WHEN {' OR '.join(apart)} THEN '{title}' END" for title, apart in tests.items()]


def _apart(column: Column) -> str:
    least, most = f'"least:{column.name}"', f'"most:{column.name}"'
    if column.worse == "first":
        return f"{least} <> {most}"
    return f"{most} - {least} > {_SAME_WITHIN} * abs({most})"


def _gathered_level(value: str, at: str) -> Iterator[str]:
    """The greatest and the least value of a level, both at the greatest gate voltage that it is given at."""
    for name, sign in ((f"most:{value}", ""), (f"least:{value}", "-")):
        yield f'max(struct_pack(volts := "{at}", ohm := {sign}"{value}")) FILTER ("{value}" IS NOT NULL) AS "{name}"'


def _merged_level(value: str, at: str) -> list[str]:
    """Take the claim given at the greatest gate voltage; among several of those the greatest value."""
    return [f'"most:{value}".ohm AS "{value}"', f'"most:{value}".volts AS "{at}"']


def _level_difference(figure: Figure, levels: Levels, present: Collection[str]) -> str:
    tests = [
        f'coalesce("most:{value}".ohm + "least:{value}".ohm > {_SAME_WITHIN} * "most:{value}".ohm, FALSE)'
        for value, _ in exact_columns(levels)[: len(levels.values)]
        if value in present
    ]
    return f"CASE WHEN {' OR '.join(tests) or 'FALSE'} THEN '{figure.symbol}' END"
