"""HTML: one environment for every page, in which all text is escaped and none can steer."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any, Final

from jinja2 import BaseLoader, ChoiceLoader, Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from loadworthy.quantities import show
from loadworthy.report.columns import Column
from loadworthy.report.figures import UNKNOWN, column_cells
from loadworthy.report.tables import lettered
from loadworthy.report.text import clean

__all__ = ["Head", "TableView", "drawn", "environment", "style", "table_view"]

_HERE: Final = Path(__file__).parent / "templates"


@dataclass(frozen=True, kw_only=True)
class Head:
    """What stands above one column of a table on a page."""

    name: str
    text: str
    unit: str
    right: bool


@dataclass(frozen=True, kw_only=True)
class TableView:
    """A table ready to be written: heads, rows of texts beside what each row was made of, and remarks by letter."""

    heads: tuple[Head, ...]
    rows: tuple[tuple[Mapping[str, Any], tuple[str, ...]], ...]
    remarks: tuple[tuple[str, str], ...] = ()


def table_view(rows: Iterable[Mapping[str, Any]], columns: Sequence[Column], *, notes: str | None = None) -> TableView:
    """Write the cells of a table.

    Parameters
    ----------
    rows
        The rows, figures in SI.
    columns
        The columns, in the order in which they are to stand.
    notes
        The key of the column whose texts are given letters and stand below the table.

    Examples
    --------
    >>> view = table_view([{"loss_w": 0.25}], [Column(name="loss_w", heading="heat", unit="W", right=True)])
    >>> view.heads[0].unit, view.rows[0][1]
    ('W', ('0.25',))
    """
    listed: Sequence[Mapping[str, Any]] = list(rows)
    remarks: Sequence[tuple[str, str]] = ()
    if notes is not None:
        listed, remarks = lettered(listed, notes)
    written = [(column, *column_cells(listed, column)) for column in columns]
    # On paper and on a phone room is short: a column in which nothing is known says nothing.
    written = [one for one in written if not listed or any(text != UNKNOWN for text in one[2])]
    heads = tuple(
        Head(
            name=column.name,
            text=column.heading.replace("\n", " ").strip() or column.name,
            unit=unit,
            right=column.right,
        )
        for column, unit, _ in written
    )
    cells = list(zip(*(texts for _, _, texts in written), strict=True)) if written else []
    return TableView(heads=heads, rows=tuple(zip(listed, cells, strict=True)), remarks=tuple(remarks))


def _written(value: object) -> object:
    """Let no text of a catalogue steer the page; nothing stands where nothing is known."""
    if isinstance(value, Markup):
        return value
    if value is None:
        return ""
    return clean(value) if isinstance(value, str) else value


def _quantity(value: float | None, unit: str) -> str:
    return UNKNOWN if value is None else show(value, unit)


def _sentence(text: str) -> str:
    return text[:1].upper() + text[1:] + ("" if text.endswith((".", "?", "!")) else ".")


def drawn(svg: str) -> Markup:
    """Mark a picture as what it is: it was written by this program, its texts are escaped."""
    return Markup(svg)  # noqa: S704 - see the docstring


@cache
def style() -> str:
    """Return the style that every page has."""
    return (_HERE / "page.css").read_text(encoding="utf-8")


def environment(*more: BaseLoader) -> Environment:
    """Make an environment over the templates of the reports, and others if given.

    Parameters
    ----------
    more
        Where else templates are looked for, before the reports' own.
    """
    made = Environment(
        loader=ChoiceLoader([*more, PackageLoader("loadworthy.report", "templates")]),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        finalize=_written,
    )
    made.filters["quantity"] = _quantity
    made.filters["sentence"] = _sentence
    made.filters["drawn"] = drawn
    made.globals["table_view"] = table_view
    return made
