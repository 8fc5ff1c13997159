"""How a figure is headed: symbol, unit, and how soon its column makes room for others.

Rows come as dicts whose keys carry the SI unit at their end (``rds_on_ohm``, ``junction_degc``). A figure
that is not listed here gets its heading from its key, so a new family shows itself before anybody writes a
heading.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

__all__ = ["ALWAYS", "HIDDEN", "Column", "columns_of", "heading_of", "stem_of", "unit_of"]

#: The weight of a column that is never left out.
ALWAYS: Final = 0
_FIRST_TO_GO: Final = 90

_ENDINGS: Final = {
    "_k_per_w": "K/W", "_degc": "degC", "_ohm": "ohm", "_hz": "Hz", "_m2": "m2", "_v": "V", "_a": "A",
    "_w": "W", "_c": "C", "_f": "F", "_s": "s", "_m": "m", "_k": "K",
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
    """Say which SI unit a key ends in.

    Examples
    --------
    >>> unit_of("rthja_k_per_w"), unit_of("conduction_loss_w"), unit_of("part_number")
    ('K/W', 'W', None)
    """
    return next((unit for ending, unit in _ENDINGS.items() if key.endswith(ending)), None)


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

#: Key → heading and weight. Symbols are those of IEC 60747-8; the rest is plain words.
_KNOWN: Final[dict[str, tuple[str, int]]] = {
    "rank": ("", ALWAYS),
    "part_number": ("part number", ALWAYS),
    "conduction_loss_w": ("loss\nwhen on", ALWAYS),
    "junction_degc": ("TJ", 5),
    "unit_price": ("price", 9),
    "rds_on_ohm": ("RDS(on)", 8),
    "notes": ("notes", ALWAYS),
    "rds_on_vgs_v": ("at VGS", 15),
    "package": ("package", 20),
    "maker": ("maker", 7),
    "supplier": ("supplier", 32),
    "vds_v": ("VDS", 35),
    "total_loss_w": ("loss\nin all", 40),
    "junction_limit_degc": ("TJ\nallowed", 42),
    "rds_hot_ohm": ("RDS(on)\nhot", 44),
    "id_a": ("ID", 45),
    "vgs_max_v": ("VGS\ngreatest", 50),
    "vgs_th_min_v": ("VGS(th) min", HIDDEN),
    "vgs_th_typ_v": ("VGS(th) typ", HIDDEN),
    "vgs_th_max_v": ("VGS(th) max", HIDDEN),
    "id_case_a": ("ID, case at 25 °C", HIDDEN),
    "id_case_hot_a": ("ID, hotter case", HIDDEN),
    "id_ambient_a": ("ID in still air", HIDDEN),
    "id_pulse_a": ("IDM", HIDDEN),
    "pd_case_w": ("PD, case at 25 °C", HIDDEN),
    "pd_case_hot_w": ("PD, hotter case", HIDDEN),
    "pd_ambient_w": ("PD in still air", HIDDEN),
    "rds_from_v": ("RDS(on) max with its VGS", HIDDEN),
    "qg_c": ("Qg", HIDDEN),
    "qgd_c": ("Qgd", HIDDEN),
    "ciss_f": ("Ciss", HIDDEN),
    "rise_s": ("tr", HIDDEN),
    "fall_s": ("tf", HIDDEN),
    "rth_k_per_w": ("Rθ\nin all", HIDDEN),
    "rthja_k_per_w": ("RθJA", HIDDEN),
    "rthjc_k_per_w": ("RθJC", HIDDEN),
    "rthcs_k_per_w": ("RθCS", HIDDEN),
    "junction_max_degc": ("TJ max", HIDDEN),
}


def heading_of(key: str) -> str:
    """Say in one line what a key holds.

    Examples
    --------
    >>> heading_of("conduction_loss_w"), heading_of("hot_exponent")
    ('loss when on', 'hot exponent')
    """
    return _KNOWN.get(key, (stem_of(key).replace("_", " "), 0))[0].replace("\n", " ")


def columns_of(rows: Iterable[Mapping[str, Any]], *, without: Sequence[str] = ()) -> tuple[Column, ...]:
    """Make the columns of rows from their keys, in the order in which the keys first come.

    Parameters
    ----------
    rows
        Dicts whose keys carry their SI unit at the end.
    without
        Keys that get no column.

    Returns
    -------
    tuple of Column
        A key that nobody gave a heading is headed by its own words and is the first to make room.

    Examples
    --------
    >>> rows = [{"part_number": "X1", "junction_degc": 71.0, "cable_s": 2e-8}]
    >>> [(column.heading, column.unit) for column in columns_of(rows)]
    [('part number', None), ('TJ', 'degC'), ('cable', 's')]
    """
    keys: dict[str, Any] = {}
    for row in rows:
        for key, value in row.items():
            if keys.get(key) is None:
                keys[key] = value
    return tuple(_column(key, example) for key, example in keys.items() if key not in without)


def _column(key: str, example: object) -> Column:
    heading, weight = _KNOWN.get(key, (stem_of(key).replace("_", " "), _FIRST_TO_GO))
    unit = unit_of(key) if _is_number(example) else None
    return Column(name=key, heading=heading, unit=unit, weight=weight, right=_is_number(example))


def _is_number(value: object) -> bool:
    return isinstance(value, (int, float)) and not isinstance(value, bool)
