"""What one forgets to order with a part: lines to tick, each with its reason. ``catalog/shopping.toml`` has them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from loadworthy.shopping.offers import Candidate
from loadworthy.shopping.order import OrderLine
from loadworthy.shopping.waits import knowledge

__all__ = ["forgotten"]


def forgotten(bought: Iterable[tuple[OrderLine, Candidate, int]]) -> list[dict[str, Any]]:
    """Say what goes with parts that are bought.

    Parameters
    ----------
    bought
        Each line with the part that it gets, and how many.

    Returns
    -------
    list of dict
        ``what``, ``pieces`` (None where it is not counted by the piece), ``lines``, ``reason``, and ``when``: words
        for what decides it where that is not known, else None.
    """
    listed = list(bought)
    families = {candidate.family for _, candidate, _ in listed}
    told: dict[tuple[str, str | None], dict[str, Any]] = {}
    for row in knowledge()["forgotten"]:
        if families & set(row.get("met_by", ())):
            continue
        for line, candidate, pieces in listed:
            if candidate.family != row["family"]:
                continue
            sure = _holds(row, line, candidate)
            if sure is False:
                continue
            when = None if sure else row.get("if", "where it is made so")
            entry = told.setdefault(
                (row["what"], when),
                {"what": row["what"], "pieces": 0, "lines": [], "reason": row["reason"], "when": when},
            )
            entry["pieces"] += row["each"] * pieces
            if line.name not in entry["lines"]:
                entry["lines"].append(line.name)
    return [{**entry, "pieces": entry["pieces"] or None} for entry in told.values()]


def _holds(row: Mapping[str, Any], line: OrderLine, candidate: Candidate) -> bool | None:
    """Say whether a row of the list is about a line; None where that is not known."""
    verdicts = [_among(candidate.figures.get(column), values) for column, values in row.get("part", {}).items()]
    if line.need is None:
        verdicts += [None] * bool(row.get("need"))
    else:
        need = line.need.as_json()
        verdicts += [_as_needed(need.get(entry), values) for entry, values in row.get("need", {}).items()]
    return False if False in verdicts else None if None in verdicts else True


def _among(value: object, values: Sequence[object]) -> bool | None:
    return None if value is None else value in values


def _as_needed(value: object, values: Sequence[object] | str) -> bool:
    if values in ("given", "missing"):
        return (value is None) == (values == "missing")
    return value in values
