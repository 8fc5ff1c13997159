"""Claims that say of a part what its row says, or less: each is kept as the mark of what it says, and not written out.

Lists of several suppliers mostly agree about a part: the row says it all. Such a row carries the list and the record of
one claim, its own; that one says all that the row says, unless it is marked too. Where a claim says something
else, all claims of that part are written out in the table of disputed claims, and its row carries no list.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from functools import cache

from loadworthy.catalog.families import Family
from loadworthy.catalog.laying import row_as_claim
from loadworthy.catalog.outputs import TYPICAL
from loadworthy.catalog.schema import claim_columns, exact_columns, number_text, of_row, part_columns

__all__ = [
    "CONCURRING",
    "OWN_COLUMNS",
    "OWN_WORDS",
    "Compared",
    "claims_sources",
    "claims_view",
    "compared",
    "rows_own_least",
    "said_by",
]

_NUMBER = "part_number"
#: What the first claim alone says for the row; another one may word it in its own way. A list that takes the place of
#: another keeps the words for maker and number that the row has by then.
OWN_WORDS = ("maker", _NUMBER, TYPICAL)
#: The columns of ``concurring_FAMILY``: the row, by the list and record that it carries; the claim; the mark of each
#: thing that it says; and those of its words that are not the row's.
CONCURRING = (
    ("row_list", "INTEGER"),
    ("row_record", "BIGINT"),
    ("list_id", "INTEGER"),
    ("record", "BIGINT"),
    ("says", "BIGINT"),
    *((name, "VARCHAR") for name in OWN_WORDS),
)
#: Its own words, from where :meth:`Compared.own_columns` put them.
OWN_COLUMNS = ", ".join(f"own_{name} AS {name}" for name in OWN_WORDS)


@dataclass(frozen=True, kw_only=True)
class Compared:
    """Expressions that hold a ``claim`` against the row of its ``part``.

    Attributes
    ----------
    agrees
        Whether all that the claim says is what the row says.
    extends
        Whether it says else only what the row does not say at all.
    lowers
        Whether it so makes the row's least gate voltage of a level lesser: by levels of its own.
    says, row_says
        The marks of what the claim says, and of what the row says.
    all
        Whether the claim says all that the row says, in the same words.
    own_words
        Column of :data:`OWN_WORDS` → the claim's words where they are not the row's.
    """

    agrees: str
    extends: str
    lowers: str
    says: str
    row_says: str
    all: str
    own_words: Mapping[str, str]

    def own_columns(self) -> list[tuple[str, str]]:
        """Return (expression, name) of each of the claim's own words, NULL where it has the row's."""
        return [(self.own_words.get(name, "CAST(NULL AS VARCHAR)"), f"own_{name}") for name in OWN_WORDS]


@cache
def _marks(family: Family) -> dict[str, int]:
    """Give each thing that a claim may say a bit: the value of a level and its gate voltage are one thing.

    The part number has none: each claim says one.

    The least gate voltage of a level is one thing where it is that of the claim's own levels (:func:`_by_levels`), and
    another where it is not: then it is the row's.
    """
    levels = [figure.levels for figure in family.figures if figure.levels]
    pairs = [pair for one in levels for pair in exact_columns(one)]
    names = [
        *(column.name for column in part_columns(family) if column.name != _NUMBER),
        *(value for value, _ in pairs),
        *(_by_levels(f"{one.stem}_from_v") for one in levels),
    ]
    marks = {name: 1 << place for place, name in enumerate(names)}
    return marks | {at: marks[value] for value, at in pairs}


def _gates(family: Family) -> set[str]:
    """The gate voltages of levels: they are said with their values."""
    return {at for figure in family.figures if figure.levels for _, at in exact_columns(figure.levels)}


def _by_levels(name: str) -> str:
    return f"{name} by its levels"


def _least_gate(family: Family) -> dict[str, list[tuple[str, str]]]:
    """Return the columns of least gate voltages, each with the levels (value, gate voltage) of its maxima."""
    return {
        f"{levels.stem}_from_v": list(exact_columns(levels)[: len(levels.values)])
        for levels in (figure.levels for figure in family.figures)
        if levels
    }


def _least(volts: list[str]) -> str:
    return f"least({', '.join(volts)})" if volts else "CAST(NULL AS DOUBLE)"


def _sum(marks: Mapping[str, int]) -> str:
    """Add up the marks whose conditions hold."""
    return " + ".join(f"CASE WHEN {test} THEN CAST({mark} AS BIGINT) ELSE 0 END" for test, mark in marks.items()) or "0"


def _says(family: Family, relation: str, names: Collection[str]) -> str:
    """Write the marks of what a relation of these columns says."""
    marks, least_gate, gates = _marks(family), _least_gate(family), _gates(family)
    tests: dict[str, int] = {}
    for name in (name for name in marks if name in names and name not in gates):
        if name in least_gate:
            own = f'{relation}."{name}" = {_own_least(family, relation, names, name)}'
            tests[f"coalesce({own}, FALSE)"] = marks[_by_levels(name)]
            tests[f'{relation}."{name}" IS NOT NULL AND NOT coalesce({own}, FALSE)'] = marks[name]
        else:
            tests[f'{relation}."{name}" IS NOT NULL'] = marks[name]
    return _sum(tests)


def _own_least(family: Family, relation: str, names: Collection[str], name: str) -> str:
    return _least([f'{relation}."{at}"' for _, at in _least_gate(family)[name] if at in names])


def compared(family: Family, claim: Collection[str], part: Collection[str]) -> Compared:
    """Hold a claim against a row.

    Parameters
    ----------
    family
        The family.
    claim, part
        The columns of the claims, and those that the row has of them: relations of these names in the statement. Where
        one has no part number, both have the same.
    """
    least_gate = _least_gate(family)
    agrees, extends, lowers = [], [], []
    for name in (name for name in _marks(family) if name in claim):
        said, rows = f'claim."{name}"', f'part."{name}"'
        if name not in part:
            agrees.append(f"{said} IS NULL")
            continue
        silent = f"{said} IS NULL OR {rows} IS NULL"
        if name in OWN_WORDS:
            agrees.append(f"({said} IS NULL OR {rows} IS NOT NULL)")
        elif name in least_gate:
            own = f"{said} = {_own_least(family, 'claim', claim, name)}"
            rows_own = f"{rows} = {_own_least(family, 'part', part, name)}"
            agrees.append(f"coalesce({said} = {rows} OR ({said} > {rows} AND {own}), {said} IS NULL)")
            extends.append(f"coalesce({said} = {rows} OR ({own} AND ({said} > {rows} OR {rows_own})), {silent})")
            lowers.append(f"coalesce({said} < {rows}, FALSE)")
        else:
            agrees.append(f"coalesce({said} = {rows}, {said} IS NULL)")
            extends.append(f"coalesce({said} = {rows}, {silent})")
    own_words = {
        name: f'CASE WHEN claim."{name}" <> part."{name}" THEN claim."{name}" END'
        for name in OWN_WORDS
        if name in claim and name in part
    }
    says, row_says = _says(family, "claim", claim), _says(family, "part", part)
    return Compared(
        agrees=" AND ".join(agrees) or "TRUE",
        extends=" AND ".join(extends) or "TRUE",
        lowers=" OR ".join(lowers) or "FALSE",
        says=says,
        row_says=row_says,
        all=" AND ".join([f"{says} = {row_says}", *(f"{words} IS NULL" for words in own_words.values())]),
        own_words=own_words,
    )


def rows_own_least(family: Family) -> int:
    """Return the marks of least gate voltages that are the row's and not that of the claim's own levels."""
    marks = _marks(family)
    return sum(marks[name] for name in _least_gate(family))


def said_by(family: Family, marks: int) -> list[str]:
    """Name the columns of the claims whose marks are among these; of a level, that of its value."""
    gates = _gates(family)
    return [name for name, mark in _marks(family).items() if mark & marks and name not in gates]


def _spoken(family: Family, part: Collection[str]) -> dict[str, str]:
    """Write a marked claim out again: column of the claims → expression over ``part`` and ``marked``."""
    marks, least_gate = _marks(family), _least_gate(family)

    def where(name: str, value: str) -> str:
        return f"CASE WHEN marked.says & {marks[name]} <> 0 THEN {value} END"

    found = {}
    for name, _ in claim_columns(family):
        if name not in part:
            continue
        value = f'part."{name}"'
        if name in OWN_WORDS:
            value = f'coalesce(marked."{name}", {value})'
        found[name] = value if name == _NUMBER else where(name, value)
        if name in least_gate:
            own = [where(at, f'part."{at}"') for _, at in least_gate[name] if at in part]
            found[name] = f"coalesce({found[name]}, {where(_by_levels(name), _least(own))})"
    return found | {"part_key": "part.part_key", "list_id": "marked.list_id", "record": "marked.record"}


def claims_sources(
    family: Family, stored: Collection[str], disputed: Collection[str], *, among: str = "", alone: bool = True
) -> list[tuple[dict[str, str], str]]:
    """Return the three places where claims stand, each as (column of the claims → expression, relation).

    First those that rows carry as they are, then those that are marked, then the disputed ones.

    Parameters
    ----------
    family
        The family.
    stored, disputed
        The names of the columns of ``stored_FAMILY`` and ``disputed_FAMILY``.
    among
        What to join a table with that has the keys of parts, to see those alone.
    alone
        Whether to see the claims of parts that have but one.
    """
    row = row_as_claim(family, stored)
    carried = row | {name: f'"{name}"' for name in ("part_key", "list_id", "record")}
    several = " AND FALSE" if "claims" not in stored else " AND claims > 1"
    own = (
        f"(SELECT * FROM (SELECT * FROM stored_{family.name} {among}) WHERE list_id IS NOT NULL"
        f"{'' if alone else several}) "
        f"ANTI JOIN (SELECT list_id, record FROM concurring_{family.name} AS marked WHERE {of_row('marked')}) "
        "USING (list_id, record)"
    )
    rows = ", ".join(f'{expression} AS "{name}"' for name, expression in carried.items())
    marked = (
        f"(SELECT {rows} FROM (SELECT * FROM stored_{family.name} {among})) AS part "
        f"JOIN concurring_{family.name} AS marked ON part.list_id = marked.row_list AND part.record = marked.row_record"
    )
    written = {name: f'"{name}"' for name in disputed} | {"part_number": number_text(disputed)}
    return [
        (carried, own),
        (_spoken(family, row), marked),
        (written, f"(SELECT * FROM disputed_{family.name} {among})"),
    ]


def claims_view(family: Family, stored: Collection[str], disputed: Collection[str]) -> str:
    """Write the view ``claims_FAMILY``: what each list says of each part that has several claims.

    Parameters
    ----------
    family, stored, disputed
        As for :func:`claims_sources`.
    """
    sources = claims_sources(family, stored, disputed, alone=False)
    given = set().union(*(columns for columns, _ in sources))
    names = [(name, kind) for name, kind in claim_columns(family) if name in given]
    return " UNION ALL ".join(
        "SELECT "
        + ", ".join(f'{columns.get(name, f"CAST(NULL AS {kind})")} AS "{name}"' for name, kind in names)
        + f" FROM {source}"
        for columns, source in sources
    )
