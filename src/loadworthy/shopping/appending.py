"""Chosen parts added to an order, which stays as its owner wrote it, comments and all."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any

from loadworthy.errors import OrderError
from loadworthy.shopping.editing import lines_of, new_order, rewritten, with_line
from loadworthy.toml_files import read_toml, write_whole

__all__ = ["appended", "chosen_lines", "joined"]


def chosen_lines(chosen: Iterable[tuple[str, Mapping[str, Any]]]) -> list[dict[str, Any]]:
    """Make lines of an order from chosen parts, a piece a board for each; the same part twice is one line of two.

    Examples
    --------
    >>> part = {"maker": "Quenchford", "part_number": "QBL-4"}
    >>> chosen_lines([("fuse", part), ("fuse", part)])
    [{'part': 'QBL-4', 'maker': 'Quenchford', 'family': 'fuse', 'quantity': 2}]
    """
    counted = Counter((family, row["maker"], row["part_number"]) for family, row in chosen)
    return [
        {"part": part, **({"maker": maker} if maker else {}), "family": family, "quantity": count}
        for (family, maker, part), count in counted.items()
    ]


def appended(path: Path, lines: Sequence[Mapping[str, Any]], *, currency: str | None = None) -> None:
    """Add lines to an order file, keeping what stands in it, its comments too; make the file where there is none.

    Parameters
    ----------
    path
        The file.
    lines
        Each as it stands under ``[[line]]``: ``{"part": …, "maker": …, "quantity": …}``, or with a ``need`` table.
    currency
        Of a new order; left to the prices if not given.

    Raises
    ------
    OrderError
        The file that is there is no TOML, or its lines are not written as ``[[line]]``.
    """
    if path.exists():
        read_toml(path, fault=OrderError)
        text = path.read_bytes().decode("utf-8")
    else:
        text = new_order(path.stem.replace("_", " ").replace("-", " ").capitalize() or "Order", currency=currency)

    def add(tables: Any) -> None:  # noqa: ANN401 - tables of TOML
        for line in lines:
            with_line(tables, line)

    write_whole(path, rewritten(text, add, name=str(path)))


def joined(text: str, lines: Sequence[Mapping[str, Any]]) -> tuple[str, int]:
    """Add lines to the text of an order; of a part that it has already, more are wanted.

    Parameters
    ----------
    text
        The order's text; a new order is made where it is empty.
    lines
        As of :func:`appended`, with ``part``.

    Returns
    -------
    tuple
        The new text, and the place of the last line that was added or raised, from 0.

    Raises
    ------
    OrderError
        The text is no TOML, or its lines are not written as ``[[line]]``.

    Examples
    --------
    >>> text, place = joined("", [{"part": "X1", "family": "fuse", "quantity": 1}])
    >>> text, place = joined(text, [{"part": "x1", "quantity": 2}])
    >>> print(text.split("[[line]]")[1].strip(), place)
    part = "X1"
    family = "fuse"
    quantity = 3 0
    """
    place = 0

    def add(tables: Any) -> None:  # noqa: ANN401 - tables of TOML
        nonlocal place
        for line in lines:
            rows = lines_of(tables)
            place = next((at for at, row in enumerate(rows) if _same(row, line)), len(rows))
            if place < len(rows):
                rows[place]["quantity"] += line["quantity"]
            else:
                with_line(tables, line)

    return rewritten(text or new_order("Order"), add), place


def _same(row: Mapping[str, Any], line: Mapping[str, Any]) -> bool:
    """Say whether a line of an order asks for the part of another one, in pieces that can be counted."""
    if "part" not in row or "need" in row or not _is_whole(row.get("quantity")):
        return False
    keys = ("part", "maker", "family")
    pairs = [(row.get(key), line.get(key)) for key in keys]
    return all(str(one).casefold() == str(other).casefold() for one, other in pairs if one and other)


def _is_whole(value: object) -> bool:
    return isinstance(value, int) and not isinstance(value, bool)
