"""Tables for people: plain lines that fit the width, with nothing cut short.

Where room is short, whole columns make way for more important ones, and a line says which. Words carry
every meaning: there is no colour, and nothing that would have to be stripped in a pipe. Only the cell
widths come from rich; its console would take longer to start than a choice among a hundred thousand parts.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from string import ascii_lowercase
from typing import Any

from rich.cells import cell_len

from loadworthy.report.columns import ALWAYS, Column
from loadworthy.report.figures import column_cells
from loadworthy.report.text import clean, paragraph

__all__ = ["NARROWEST", "lettered", "table"]

#: The width for pipes and files, where nobody says another.
NARROWEST = 80

_GAP = "  "


def table(
    rows: Iterable[Mapping[str, Any]],
    columns: Sequence[Column],
    *,
    width: int = NARROWEST,
    styled: bool = False,
) -> str:
    """Write rows as a table.

    Parameters
    ----------
    rows
        The rows, figures in SI.
    columns
        The columns, in the order in which they are to stand.
    width
        Characters a line. The columns that stay always may need more; then the lines are longer, since a part
        number that is cut short is no part number.

    Returns
    -------
    str
        Heading lines with units, a rule, the rows, and where columns made way a line that names them.

    Examples
    --------
    >>> columns = [Column(name="part_number", heading="part number"),
    ...            Column(name="rds_on_ohm", heading="RDS(on)", unit="ohm", right=True)]
    >>> print(table([{"part_number": "GH-1", "rds_on_ohm": 0.0045}], columns), end="")
    part number  RDS(on)
                      mΩ
    -----------  -------
    GH-1             4.5
    """
    listed = list(rows)
    written = [(column, *column_cells(listed, column)) for column in columns]
    widths = {column.name: _width(column, unit, cells) for column, unit, cells in written}
    kept = _kept(columns, widths, width)
    shown = [item for item in written if item[0].name in kept]
    text = _drawn(shown, widths)
    gone = [column.heading for column in columns if column.name not in kept]
    return text + (_left_out(gone, width) if gone else "")


def _width(column: Column, unit: str, cells: Sequence[str]) -> int:
    return max(cell_len(text) for text in (*_words_above(column), unit, *cells))


def _kept(columns: Sequence[Column], widths: Mapping[str, int], width: int) -> set[str]:
    """Take the columns that stay always, then by their weight each one that still finds room."""
    kept = {column.name for column in columns if column.weight == ALWAYS}
    used = sum(widths[name] + len(_GAP) for name in kept) - len(_GAP)
    for column in sorted(columns, key=lambda column: column.weight):
        more = widths[column.name] + len(_GAP)
        if column.weight != ALWAYS and used + more <= width:
            kept.add(column.name)
            used += more
    return kept


def _left_out(headings: Sequence[str], width: int) -> str:
    names = ", ".join(clean(heading) for heading in headings)
    return (
        paragraph(f"Left out for want of room: {names}. A wider window or --format csv shows all.", width=width) + "\n"
    )


def _drawn(written: Sequence[tuple[Column, str, list[str]]], widths: Mapping[str, int]) -> str:
    drawn = []
    for column, unit, cells in written:
        words = _words_above(column)
        above = [*words, unit] if any(unit for _, unit, _ in written) else words
        drawn.append((column, above, cells))
    height = max((len(above) for _, above, _ in drawn), default=0)
    stacks = [
        [_placed(text, widths[column.name], right=column.right) for text in _stack(above, height)]
        + ["-" * widths[column.name]]
        + [_placed(text, widths[column.name], right=column.right) for text in cells]
        for column, above, cells in drawn
    ]
    return "".join(f"{_GAP.join(line).rstrip()}\n" for line in zip(*stacks, strict=True))


def _words_above(column: Column) -> list[str]:
    return [clean(line) for line in column.heading.split("\n")]


def _stack(above: Sequence[str], height: int) -> list[str]:
    return [""] * (height - len(above)) + list(above)


def _placed(text: str, width: int, *, right: bool) -> str:
    room = " " * (width - cell_len(text))
    return room + text if right else text + room


def lettered(rows: Iterable[Mapping[str, Any]], key: str) -> tuple[list[dict[str, Any]], tuple[tuple[str, str], ...]]:
    """Turn lists of remarks in the rows into letters, with the remarks once below.

    Parameters
    ----------
    rows
        The rows.
    key
        Which entry holds the remarks: a sequence of texts.

    Returns
    -------
    tuple
        The rows with letters at ``key``, and (letter, remark) for each remark in the order in which they
        come.

    Examples
    --------
    >>> lettered([{"on": ["exponent"]}, {"on": ["RθJA", "exponent"]}, {"on": []}], "on")
    ([{'on': 'a'}, {'on': 'ab'}, {'on': ''}], (('a', 'exponent'), ('b', 'RθJA')))
    """
    letters: dict[str, str] = {}
    marked = []
    for row in rows:
        remarks = [clean(remark) for remark in row.get(key) or ()]
        for remark in remarks:
            letters.setdefault(remark, _letter(len(letters)))
        marked.append({**row, key: _joined(letters[remark] for remark in remarks)})
    return marked, tuple((letter, remark) for remark, letter in letters.items())


def _joined(letters: Iterable[str]) -> str:
    """Letters stand close together; doubled ones would run into each other."""
    found = sorted(letters, key=lambda letter: (len(letter), letter))
    return ("" if all(len(letter) == 1 for letter in found) else " ").join(found)


def _letter(position: int) -> str:
    rounds, place = divmod(position, len(ascii_lowercase))
    return ascii_lowercase[place] * (rounds + 1)
