"""Results as a Markdown table."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from loadworthy.report.columns import Column
from loadworthy.report.figures import column_cells
from loadworthy.report.text import clean

__all__ = ["escape", "markdown_table"]

_MARKS = re.compile(r"([\\|`*_\[\]<>#~])")


def escape(text: object) -> str:
    r"""Write a text so that Markdown shows it as it is, in one table cell.

    Examples
    --------
    >>> print(escape("A|B <b>x_1"))
    A\|B \<b\>x\_1
    """
    return _MARKS.sub(r"\\\1", clean(text))


def markdown_table(rows: Iterable[Mapping[str, Any]], columns: Sequence[Column]) -> str:
    r"""Write rows as a Markdown table, figures to the right, with every column given.

    Examples
    --------
    >>> part = Column(name="part_number", heading="part number")
    >>> loss = Column(name="loss_w", heading="loss", unit="W", right=True)
    >>> print(markdown_table([{"part_number": "A|1", "loss_w": 0.5}], [part, loss]), end="")
    | part number | loss (W) |
    | --- | ---: |
    | A\|1 | 0.5 |
    """
    listed = list(rows)
    cells = [column_cells(listed, column) for column in columns]
    headings = [
        f"{column.heading} ({unit})" if unit else column.heading
        for column, (unit, _) in zip(columns, cells, strict=True)
    ]
    lines = [_line(headings), _line("---:" if column.right else "---" for column in columns)]
    lines += [_line(line) for line in zip(*(texts for _, texts in cells), strict=True)]
    return "\n".join(lines) + "\n"


def _line(texts: Iterable[str]) -> str:
    return "| " + " | ".join(text if set(text) <= {"-", ":"} else escape(text) for text in texts) + " |"
