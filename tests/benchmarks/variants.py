"""Another supplier's list of the same parts, made from one: as lists differ from one another."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc
import pyarrow.csv

__all__ = ["VARIANTS", "write_variant"]

_QG, _NUMBER = "Qg (nC)", "Part number"
_FIGURES = (_QG, "RθJC (K/W)", "RDS(on) max at VGS = 10 V (mΩ)")
#: A tenth of the rows gives one of these figures otherwise.
_OTHERWISE = 0.1


def _figures(table: pa.Table, name: str) -> np.ndarray:
    return table.column(name).to_numpy(zero_copy_only=False).astype(float)


def _put(table: pa.Table, name: str, values: pa.Array | pa.ChunkedArray) -> pa.Table:
    return table.set_column(table.column_names.index(name), name, values)


def _otherwise(table: pa.Table) -> pa.Table:
    draw = np.random.default_rng(3)
    for name in _FIGURES:
        values = _figures(table, name)
        some = draw.random(len(values)) < _OTHERWISE / len(_FIGURES)
        table = _put(table, name, pa.array(np.where(some, np.round(1.1 * values, 3), values), from_pandas=True))
    return table


def _more(table: pa.Table) -> pa.Table:
    values = np.round(0.3 * _figures(table, _QG), 2)
    return table.append_column("Qgd (nC)", pa.array(values, from_pandas=True))


def _worded(table: pa.Table) -> pa.Table:
    return _put(table, "Maker", pc.utf8_upper(table.column("Maker"))).drop_columns(["RθJA (K/W)"])


def _new(table: pa.Table) -> pa.Table:
    return _put(table, _NUMBER, pc.binary_join_element_wise("Z", table.column(_NUMBER), ""))


VARIANTS: dict[str, Callable[[pa.Table], pa.Table]] = {
    "a tenth of them otherwise": _otherwise,
    "with a figure more": _more,
    "with a figure less, the makers in capitals": _worded,
    "as many parts that are new": _new,
}


def write_variant(kind: str, file: Path, made: Path) -> None:
    """Write one of :data:`VARIANTS` of a list."""
    pyarrow.csv.write_csv(
        VARIANTS[kind](pyarrow.csv.read_csv(file)), made, pyarrow.csv.WriteOptions(quoting_style="needed")
    )
