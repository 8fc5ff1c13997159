"""How a figure is headed: symbol, unit, and how soon its column makes room for others.

Rows come as dicts whose keys carry the SI unit at their end (``rds_on_ohm``, ``junction_degc``). A figure
that is not listed here gets its heading from its key, so a new family shows itself before anybody writes a
heading.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final, TypeAlias

from loadworthy.criteria import Heading

__all__ = ["ALWAYS", "HIDDEN", "Column", "Headings", "columns_of", "heading_of", "stem_of", "unit_of"]

#: Key → how a family heads it.
Headings: TypeAlias = Mapping[str, Heading]

#: The weight of a column that is never left out.
ALWAYS: Final = 0
_FIRST_TO_GO: Final = 90

_ENDINGS: Final = {
    "_k_per_w": "K/W", "_degc": "degC", "_ohm_per_m": "ohm/m", "_m_per_s": "m/s", "_n_m": "N·m", "_kg": "kg",
    "_ohm": "ohm", "_hz": "Hz", "_m2": "m2", "_v": "V", "_a": "A", "_w": "W", "_c": "C", "_f": "F", "_s": "s",
    "_m": "m", "_k": "K", "_j": "J", "_h": "H",
}  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class Column:
    """One column of a table.

    Attributes
    ----------
    name
        The key in the rows.
    heading
        What stands above it; letter symbols as in IEC 60747-8.
    unit
        The SI unit of its figures, named as in :func:`loadworthy.quantities.si`; None for text.
    weight
        :data:`ALWAYS` for a column that stays; of the others the greatest goes first where room is short.
    right
        True where the cells stand to the right although they are no quantities, such as counts.
    """

    name: str
    heading: str
    unit: str | None = None
    weight: int = ALWAYS
    right: bool = False


def unit_of(key: str) -> str | None:
    """Say which SI unit a key ends in, or is.

    Examples
    --------
    >>> unit_of("rthja_k_per_w"), unit_of("conduction_loss_w"), unit_of("part_number"), unit_of("ohm_per_m")
    ('K/W', 'W', None, 'ohm/m')
    """
    return next((unit for ending, unit in _ENDINGS.items() if f"_{key}".endswith(ending)), None)


def stem_of(key: str) -> str:
    """Return a key without its unit.

    Examples
    --------
    >>> stem_of("junction_degc"), stem_of("part_number")
    ('junction', 'part_number')
    """
    ending = next((ending for ending in _ENDINGS if key.endswith(ending)), "")
    return key.removesuffix(ending)


#: Columns from this weight on are not shown among ranked parts; CSV and JSON have them.
HIDDEN: Final = 60

#: Key → heading and weight of what every family shows; a family's own figures are headed by its description.
_KNOWN: Final[dict[str, tuple[str, int]]] = {
    "rank": ("", ALWAYS),
    "part_number": ("part number", ALWAYS),
    "conduction_loss_w": ("loss\nwhen on", ALWAYS),
    "unit_price": ("price", 9),
    "notes": ("notes", ALWAYS),
    "package": ("package", 20),
    "maker": ("maker", 7),
    "supplier": ("supplier", 32),
    "total_loss_w": ("loss\nin all", 40),
}


def heading_of(key: str, headings: Headings) -> str:
    """Say in one line what a key holds.

    Examples
    --------
    >>> heading_of("conduction_loss_w", {}), heading_of("hot_exponent", {})
    ('loss when on', 'hot exponent')
    """
    return _headed(key, headings)[0].replace("\n", " ")


def _headed(key: str, headings: Headings) -> tuple[str, int]:
    own = headings.get(key)
    if own is not None:
        return own.text, own.weight
    return _KNOWN.get(key, (stem_of(key).replace("_", " "), _FIRST_TO_GO))


def columns_of(
    rows: Iterable[Mapping[str, Any]], *, headings: Headings, without: Sequence[str] = ()
) -> tuple[Column, ...]:
    """Make the columns of rows from their keys, in the order in which the keys first come.

    Parameters
    ----------
    rows
        Dicts whose keys carry their SI unit at the end.
    headings
        How the family heads its own figures.
    without
        Keys that get no column.

    Returns
    -------
    tuple of Column
        A key that nobody gave a heading is headed by its own words and is the first to make room.

    Examples
    --------
    >>> rows = [{"part_number": "X1", "junction_degc": 71.0, "cable_s": 2e-8}]
    >>> own = {"junction_degc": Heading(text="TJ", weight=5)}
    >>> [(column.heading, column.unit) for column in columns_of(rows, headings=own)]
    [('part number', None), ('TJ', 'degC'), ('cable', 's')]
    """
    keys: dict[str, Any] = {}
    for row in rows:
        for key, value in row.items():
            if keys.get(key) is None:
                keys[key] = value
    return tuple(_column(key, example, headings) for key, example in keys.items() if key not in without)


def _column(key: str, example: object, headings: Headings) -> Column:
    heading, weight = _headed(key, headings)
    unit = unit_of(key) if _is_number(example) else None
    return Column(name=key, heading=heading, unit=unit, weight=weight, right=_is_number(example))


def _is_number(value: object) -> bool:
    return isinstance(value, (int, float)) and not isinstance(value, bool)
