"""An order's text changed by forms: its lines, its keys, its terms; whatever else stands in it stays."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from loadworthy.errors import OrderError
from loadworthy.toml_blocks import edited, in_document
from loadworthy.toml_files import read_toml

__all__ = ["line_changed", "lines_of", "new_order", "rewritten", "table_changed", "with_line", "without_line"]


def new_order(title: str, *, currency: str | None = None) -> str:
    """Return the text of an order without lines yet.

    Examples
    --------
    >>> print(new_order("Spring", currency="EUR"), end="")
    # What to buy; loadworthy shop says where. Quantities are for one board.
    title = "Spring"
    currency = "EUR"
    boards = 1
    """
    keys = {"title": title, **({} if currency is None else {"currency": currency}), "boards": 1}
    first = "# What to buy; loadworthy shop says where. Quantities are for one board.\n"
    return rewritten(first, lambda tables: tables.update(keys))


def rewritten(text: str, change: Callable[[Any], None], *, name: str = "order") -> str:
    """Change the text of an order.

    Parameters
    ----------
    text, change
        As of :func:`loadworthy.toml_blocks.edited`.
    name
        What errors call it.

    Raises
    ------
    OrderError
        It is no TOML, its lines are no list of tables, or the change cannot be written.
    """
    file = read_toml(text.removeprefix("\ufeff"), fault=OrderError, name=name)
    rows = file.raw.get("line", [])
    if not isinstance(rows, list) or not all(isinstance(row, Mapping) for row in rows):
        file.wrong(("line",), "line is no list of tables.", "Write [[line]] above each.")
        file.check()
    try:
        return edited(text, change, in_document(change))
    except ValueError as error:
        raise OrderError(
            "this cannot be put into the order.", where=name, way_out="Write it into the text yourself."
        ) from error


def lines_of(tables: Any) -> Any:  # noqa: ANN401 - tables of TOML
    """Return the tables of the lines of an order."""
    return tables.get("line", [])


def with_line(tables: Any, line: Mapping[str, Any]) -> None:  # noqa: ANN401 - tables of TOML
    """Add a line to the tables of an order; lines that were written as one list are then written one below another."""
    from tomlkit.items import AoT  # noqa: PLC0415 - slow to start, and few write into a file

    added = {key: value for key, value in line.items() if value is not None}
    rows = tables.get("line")
    if isinstance(rows, AoT):
        rows.append(added)
        return
    before = [dict(row) for row in rows or ()]
    tables.pop("line", None)
    tables["line"] = [*before, added]


def without_line(text: str, place: int) -> str:
    """Take a line away; the place is from 0.

    Raises
    ------
    OrderError
        There is no such line, or the text cannot be changed.
    """

    def take(tables: Any) -> None:  # noqa: ANN401 - tables of TOML
        _line(tables, place)
        del tables["line"][place]
        if not tables["line"]:
            del tables["line"]

    return rewritten(text, take)


def line_changed(text: str, place: int, keys: Mapping[str, object]) -> str:
    r"""Set keys of a line, or take away those whose value is None; the place is from 0.

    Raises
    ------
    OrderError
        There is no such line, or the text cannot be changed.

    Examples
    --------
    >>> line_changed('[[line]]\npart = "X1"   # the old one\nquantity = 2\n', 0, {"quantity": 3})
    '[[line]]\npart = "X1"   # the old one\nquantity = 3\n'
    """
    return rewritten(text, lambda tables: _put(_line(tables, place), keys))


def table_changed(text: str, path: tuple[str, ...], keys: Mapping[str, object]) -> str:
    """Set keys of a table of the order, or take away those whose value is None.

    Parameters
    ----------
    text
        The order's text.
    path
        Where the table is: nothing for the order itself, ``("terms", "Tidemill")`` for a supplier's terms. It is made
        where there is none; one that is left empty is taken away.
    keys
        Key → value.

    Raises
    ------
    OrderError
        The text cannot be changed.
    """

    def change(tables: Any) -> None:  # noqa: ANN401 - tables of TOML
        above, table = [], tables
        for step in path:
            above.append((table, step))
            if not isinstance(table.get(step), Mapping):
                table.pop(step, None)
                table[step] = {}
            table = table[step]
        _put(table, keys)
        for holder, step in reversed(above):
            if not holder[step]:
                del holder[step]

    return rewritten(text, change)


def _line(tables: Any, place: int) -> Any:  # noqa: ANN401 - tables of TOML
    rows = lines_of(tables)
    if not 0 <= place < len(rows):
        raise OrderError(f"the order has no line {place + 1}.", way_out=f"It has {len(rows)}.")
    return rows[place]


def _put(table: Any, keys: Mapping[str, object]) -> None:  # noqa: ANN401 - tables of TOML
    for key, value in keys.items():
        if value is None:
            table.pop(key, None)
        elif table.get(key) != value or type(table.get(key)) is bool:
            table[key] = value
