"""The family's query put together for one need, and the rows that come back made ready to show."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from loadworthy import statements
from loadworthy.criteria import Criterion, Rules
from loadworthy.errors import CatalogError
from loadworthy.listed import tables_held
from loadworthy.needs import Need
from loadworthy.quantities import show
from loadworthy.statements import Connection, Parameter, Statement

__all__ = [
    "assumed",
    "common_slots",
    "figures",
    "filled",
    "judged",
    "names_in",
    "of_offers",
    "offers_of",
    "passes",
    "plain",
    "remarks",
    "require_parts",
    "standings_of",
    "statement",
]

_JUDGING = ("ok_", "has_", "needs_", "assumed_", "remark_")
_FIGURE = re.compile(r"\{(\w+):([^}]*)\}")


def require_parts(connection: Connection, family: str) -> set[str]:
    """See to it that the catalogue holds a table of the family; return the names of all its tables and views.

    Raises
    ------
    CatalogError
        No list of the family has been taken in.
    """
    there = tables_held(connection)
    if f"parts_{family}" not in there:
        raise CatalogError(
            f"the catalogue holds no {family}.",
            way_out="Take a supplier's list in with: loadworthy intake FILE.",
        )
    return there


def passes(criterion: Criterion) -> str:
    """Write the condition that a criterion lets a part pass: its verdict, or an accepted unknown."""
    name = criterion.name
    return f"(ok_{name} OR (ok_{name} IS NULL AND $let_{name}))"


def statement(
    name: str,
    need: Need,
    *,
    closely: bool,
    head: str = "",
    barred: Sequence[Sequence[str]] = (),
    only: Sequence[Sequence[str]] = (),
    values: Mapping[str, Parameter] | None = None,
    slots: Mapping[str, str] | None = None,
    offered: bool | None = None,
    **source: str,
) -> Statement:
    """Put a question over the family's query, and bind the need to it.

    Parameters
    ----------
    name
        The SQL file of the question; its ``{{judged}}`` is the family's query.
    need
        The need.
    closely
        Whether failures are to be told from unknowns; false reads less.
    head
        A condition or order that narrows the parts before their physics is worked out.
    barred
        Keys and numbers of parts that are passed over before anything is judged; empty where none is.
    only
        Keys and numbers of the only parts that are looked at; empty where all are.
    values, slots
        What the question's own parameters and slots are.
    offered
        Whether offers are looked at; where it is not said, if the need cannot be judged without.
    source
        Where parts stand and what is carried along, as :func:`judged` takes it.
    """
    rules = need.rules
    put = {**need.parameters(), "price_currency": None, **(values or {}), "closely": closely}
    if any(barred):
        # An empty list would be NULL, which no part is shown not to be.
        put |= {"barred_keys": ["", *barred[0]], "barred_numbers": ["", *barred[1]]}
    if any(only):
        put |= {"only_keys": only[0], "only_numbers": only[1]}
    looked_up = of_offers(need) if offered is None else offered
    text = judged(rules.family, offered=looked_up, head=head, barring=any(barred), choosing=any(only), **source)
    return statements.bind(name, statements.assemble(name, judged=text, **common_slots(rules), **(slots or {})), put)


def of_offers(need: Need) -> bool:
    """Say whether a need cannot be judged without what suppliers offer."""
    return "offer" in need.asked() or need.rules.ranking.priced


def judged(
    family: str,
    *,
    offered: bool,
    head: str = "",
    barring: bool = False,
    choosing: bool = False,
    parts: str | None = None,
    offers: str = "offers",
    by: str = "part_key",
    standings: str | None = None,
    besides: str = "",
) -> str:
    """Put the family's query over its parts.

    Parameters
    ----------
    family
        The family.
    offered
        Whether offers are looked at.
    head
        A condition or order that narrows the parts before their physics is worked out.
    barring, choosing
        Whether parts are passed over by name, or are the only ones.
    parts, offers
        Where they stand: a table or a select in brackets.
    by
        The column that says which part an offer is of.
    standings
        The question for the standings of offers, where they were worked out before; see :func:`standings_of`.
    besides
        Columns of the parts that are carried along, each with a comma behind it.
    """
    where = parts or f"parts_{family}"
    if offered:
        text = statements.assemble("offered", parts=where, standings=standings or standings_of(offers, by), by=by)
    else:
        text = statements.assemble("parts", parts=where)
    if barring:
        text = statements.assemble("unbarred", parts=text)
    if choosing:
        text = statements.assemble("only", parts=text)
    return statements.assemble(family, parts=text, head=head, besides=besides)


def standings_of(offers: str, by: str) -> str:
    """Write the question how the offers of parts stand against what a need asks of one; as in :func:`judged`."""
    return statements.assemble("standings", offers=offers, by=by)


def offers_of(*, offers: str = "offers", among: str = "part_key IN ($part_key)", besides: str = "") -> str:
    """Write the question what suppliers ask for some parts of a family.

    Parameters
    ----------
    offers
        Where offers stand.
    among
        Which parts are meant.
    besides
        Columns that are carried along, each with a comma behind it.
    """
    return statements.assemble("offers", offers=offers, among=among, besides=besides)


def common_slots(rules: Rules) -> dict[str, str]:
    """Return what the slots of questions stand for that are alike for every need of a family."""
    return {
        "passes": "\n    AND ".join(passes(criterion) for criterion in rules.criteria),
        "order": ", ".join(f"{key} NULLS LAST" for key in rules.ranking.by),
        "key": rules.ranking.by[0],
    }


def figures(row: Mapping[str, Any]) -> dict[str, Any]:
    """Keep a row's figures, without its verdicts; what is not a number in them is not known."""
    return {name: plain(value) for name, value in row.items() if not name.startswith(_JUDGING)}


def plain(value: Any) -> Any:  # noqa: ANN401 - whatever a row holds
    """Give a value that JSON can carry: nan and infinity are not known."""
    return None if isinstance(value, float) and not math.isfinite(value) else value


def assumed(row: Mapping[str, Any], need: Need, *, of: Iterable[str] | None = None) -> list[str]:
    """Say in words what a part's figures rest on.

    Parameters
    ----------
    row
        A row of the family's query.
    need
        The need that it was held against.
    of
        Only what these criteria rest on; else everything, with the unknowns that the need accepts.
    """
    rules, letting = need.rules, need.parameters()
    wanted = None if of is None else set(of)
    words = [
        assumption.words
        for assumption in rules.assumptions
        if row.get(f"assumed_{assumption.name}") and (wanted is None or wanted & set(assumption.of))
    ]
    if wanted is None:
        words += need.assumptions()
        words += _typical(row, need)
    words += [
        f"{criterion.title} unknown, accepted"
        for criterion in rules.criteria
        if row[f"ok_{criterion.name}"] is None
        and letting[f"let_{criterion.name}"]
        and (wanted is None or criterion.name in wanted)
    ]
    return words


def remarks(row: Mapping[str, Any], rules: Rules) -> list[str]:
    """Say in words what the query remarks on a part."""
    return [filled(remark.words, row) for remark in rules.remarks if row.get(f"remark_{remark.name}")]


def filled(words: str, known: Mapping[str, Any], digits: int = 3) -> str:
    """Put figures into a text: ``{name:unit}`` by its value with its unit, ``{name:}`` by its own words.

    Parameters
    ----------
    words
        The text.
    known
        The figures by name; those of :func:`names_in` the text must be there.
    digits
        Significant digits.

    Examples
    --------
    >>> filled("{current_a:A} through {part_number:}", {"current_a": 7.5, "part_number": "GH-1"})
    '7.5 A through GH-1'
    """

    def one(match: re.Match[str]) -> str:
        value, unit = known[match.group(1)], match.group(2)
        return show(value, unit, digits) if isinstance(value, (int, float)) else str(value)

    return _FIGURE.sub(one, words)


def names_in(words: str) -> list[str]:
    """Name the figures that a text asks for.

    Examples
    --------
    >>> names_in("P = {current_a:A} × {drop_v:V}")
    ['current_a', 'drop_v']
    """
    return [name for name, _ in _FIGURE.findall(words)]


def _typical(row: Mapping[str, Any], need: Need) -> list[str]:
    """Name the figures that a list gives as typical only and that this need looks at."""
    symbols = [symbol for symbol in (row.get("typical") or "").split(", ") if symbol in need.symbols()]
    return [f"{', '.join(symbols)} typical, no limit given"] if symbols else []
