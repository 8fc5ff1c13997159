"""Chosen parts added to an order's file, which stays as its owner wrote it, comments and all."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any

from loadworthy.errors import OrderError
from loadworthy.toml_files import read_toml, write_whole

__all__ = ["appended", "chosen_lines"]


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
    import tomlkit  # noqa: PLC0415 - only who adds lines needs it

    there, before = path.exists(), ""
    if there:
        file = read_toml(path, fault=OrderError)
        if not isinstance(file.raw.get("line", []), list):
            file.wrong(("line",), "line is no list of tables.", "Write [[line]] above each.")
            file.check()
        before = path.read_bytes().decode("utf-8-sig")
        document = tomlkit.parse(before)
    else:
        document = tomlkit.document()
        document.add(tomlkit.comment("What to buy; loadworthy shop says where. Quantities are for one board."))
        document.add("title", tomlkit.item(path.stem.replace("_", " ").replace("-", " ").capitalize() or "Order"))
        if currency is not None:
            document.add("currency", tomlkit.item(currency))
        document.add("boards", tomlkit.item(1))
    tables = document.get("line")
    listed = tables if isinstance(tables, tomlkit.items.AoT) else tomlkit.aot()
    for line in [*(() if listed is tables else tables or ()), *lines]:
        listed.append(tomlkit.item({key: value for key, value in dict(line).items() if value is not None}))
    if listed is not tables:
        document.pop("line", None)
        document.append("line", listed)
    text = tomlkit.dumps(document)
    if "\r\n" in before:  # what is added ends its lines as its owner does
        text = re.sub(r"\r?\n", "\r\n", text)
    write_whole(path, text)
