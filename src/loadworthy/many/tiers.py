"""A family's parts laid out in tiers, so that of many parts few are looked at for each of many needs.

Parts that have a figure at a drive are put together by channel, package and a class of VDS, and stand in each of
these cells by rising on-resistance at 25 °C: no part can lose less than that figure promises, so a need looks at a
cell from its beginning and stops early. Everything here is a bound that errs towards looking at a part: the family's
own query judges every part that is let through.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final, TypeAlias

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc
from numpy.typing import NDArray

__all__ = ["FIGURES", "Floats", "Tiers", "expanded", "lay_tiers"]

Floats: TypeAlias = NDArray[np.float64]
Places: TypeAlias = NDArray[np.int64]

#: What a row keeps in single precision. Rounding keeps the order, so a comparison with a rounded limit loses no part.
FIGURES: Final = (
    "vds_v", "vgs_max_v", "vgs_th_max_v", "id_a", "id_pulse_a", "still_air_k_per_w", "to_sink_k_per_w", "hot_exponent",
)  # fmt: skip
_CLASSES_OF_VDS: Final = 16
_LOW: Final = np.int64(0xFFFFFFFF)


@dataclass(frozen=True, kw_only=True)
class Tiers:
    """Parts by cell and rising on-resistance.

    Attributes
    ----------
    key
        A row's cell, and below it the bits of its on-resistance, rounded down: one sorted column to search in.
    place
        Where a row's part stands in the catalogue.
    figure
        The rows' figures in single precision, nan where one is not known.
    start, end
        First row of each cell, and the one behind its last; cells by their least on-resistance, the least first.
    number
        The cells' numbers, as the keys have them.
    channel, package
        What the parts of a cell have, as a place in `channels` and `packages`; -1 where it is not known.
    leaded
        Whether they stand on leads: 1 yes, 0 no, -1 not known.
    most, least, unknown
        The greatest and least known figure of a cell, and whether one of them is not known.
    channels, packages
        What there is of them.
    exponents
        The least and the greatest hot exponent.
    """

    key: NDArray[np.int64]
    place: Places
    figure: Mapping[str, NDArray[np.float32]]
    start: NDArray[np.int64]
    end: NDArray[np.int64]
    number: NDArray[np.int64]
    channel: NDArray[np.int64]
    package: NDArray[np.int64]
    leaded: NDArray[np.int64]
    most: Mapping[str, Floats]
    least: Mapping[str, Floats]
    unknown: Mapping[str, NDArray[np.bool_]]
    channels: tuple[str, ...]
    packages: tuple[str, ...]
    exponents: tuple[float, float]

    @property
    def rows(self) -> int:
        """How many parts stand in tiers."""
        return len(self.key)

    def floor_ohm(self, rows: Places) -> Floats:
        """Return the rows' on-resistance at 25 °C, rounded down."""
        return (self.key[rows] & _LOW).astype(np.uint32).view(np.float32).astype(np.float64)

    def least_floor_ohm(self) -> Floats:
        """Return each cell's least on-resistance, rounded down."""
        return self.floor_ohm(self.start)

    def below(self, cells: NDArray[np.int64], limit_ohm: Floats) -> NDArray[np.int64]:
        """Return, for each of these cells, the row behind the last whose on-resistance is within the limit."""
        with np.errstate(over="ignore"):  # beyond single precision everything is within
            limit = np.nextafter(limit_ohm.astype(np.float32), np.float32(np.inf))
        sought = (self.number[cells] << 32) | _bits(limit)
        found: NDArray[np.int64] = np.searchsorted(self.key, sought, side="right")
        return found


def _bits(values: NDArray[np.float32]) -> NDArray[np.int64]:
    """Return the bits of floats from zero up, which rise as they do."""
    return values.view(np.uint32).astype(np.int64)


def lay_tiers(rows: pa.Table, floor_ohm: Floats) -> Tiers:
    """Lay parts out in tiers.

    Parameters
    ----------
    rows
        What ``queries/tiers.sql`` gives.
    floor_ohm
        Their least on-resistance at 25 °C, infinite where a part has none.
    """
    channel, channels = _coded(rows.column("channel"))
    package, packages = _coded(rows.column("package"))
    leaded = np.asarray(pc.fill_null(rows.column("leaded").cast(pa.int8()), -1).to_numpy(), dtype=np.int64)
    vds = rows.column("vds_v").to_numpy()
    voltage, classes = _classed(vds)
    numbers = ((channel + 1) * (len(packages) + 1) + package + 1) * 3 + leaded + 1
    numbers = numbers * (classes + 1) + voltage
    down = floor_ohm.astype(np.float32)
    down = np.where(down > floor_ohm, np.nextafter(down, np.float32(0.0)), down)
    key = (numbers << 32) | _bits(down)
    order = np.argsort(key)
    key = key[order]
    cell_of = key >> 32
    start = np.flatnonzero(np.diff(cell_of, prepend=-1)) if len(key) else np.zeros(0, dtype=np.int64)
    end = np.append(start[1:], len(key)) if len(key) else start
    figure = {name: rows.column(name).to_numpy()[order].astype(np.float32) for name in FIGURES}
    by_floor = np.argsort((key[start] & _LOW), kind="stable")
    start, end = start[by_floor], end[by_floor]
    exponent = figure["hot_exponent"]
    some = len(exponent) > 0
    return Tiers(
        key=key,
        place=rows.column("place").to_numpy()[order],
        figure=figure,
        start=start,
        end=end,
        number=cell_of[start],
        channel=channel[order][start],
        package=package[order][start],
        leaded=leaded[order][start],
        most=_of_cells(figure, start, by_floor, np.fmax),
        least=_of_cells(figure, start, by_floor, np.fmin),
        unknown={
            name: values.astype(bool)
            for name, values in _of_cells(
                {name: np.isnan(values) for name, values in figure.items()}, start, by_floor, np.logical_or
            ).items()
        },
        channels=channels,
        packages=packages,
        exponents=(
            # Single precision may have rounded either way.
            float(np.nextafter(exponent.min(), np.float32(0.0))) if some else 0.0,
            float(np.nextafter(exponent.max(), np.float32(np.inf))) if some else 0.0,
        ),
    )


def _of_cells(
    figure: Mapping[str, NDArray[Any]],
    start: NDArray[np.int64],
    by_floor: NDArray[np.int64],
    of: np.ufunc,
) -> dict[str, Floats]:
    """Sum the rows of each cell up; `start` is in the order of the cells, rows are in their own."""
    if not len(start):
        return {name: np.zeros(0) for name in figure}
    rising = np.sort(start)
    return {name: of.reduceat(values, rising).astype(np.float64)[by_floor] for name, values in figure.items()}


def _coded(column: pa.ChunkedArray) -> tuple[NDArray[np.int64], tuple[str, ...]]:
    """Return each text's place among the texts there are, -1 where there is none, and the texts."""
    coded = column.cast(pa.string()).combine_chunks().dictionary_encode()
    if isinstance(coded, pa.ChunkedArray):
        coded = coded.combine_chunks()
    places = pc.fill_null(coded.indices, -1).to_numpy(zero_copy_only=False).astype(np.int64)
    return places, tuple(str(text) for text in coded.dictionary.to_pylist())


def _classed(values: Floats) -> tuple[NDArray[np.int64], int]:
    """Put voltages into classes of about as many parts each; those that are not known make one of their own."""
    known = values[~np.isnan(values)]
    cuts = np.zeros(0)
    if len(known):
        shares = np.linspace(0.0, 1.0, _CLASSES_OF_VDS + 1)[1:-1]
        cuts = np.unique(np.quantile(known, shares, method="higher"))
    classes = np.searchsorted(cuts, values, side="right").astype(np.int64)
    return np.where(np.isnan(values), len(cuts) + 1, classes), len(cuts) + 1


def expanded(start: NDArray[np.int64], end: NDArray[np.int64]) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Write ranges out: every number in them, and of which range it is.

    Examples
    --------
    >>> numbers, of = expanded(np.array([3, 7]), np.array([5, 8]))
    >>> numbers.tolist(), of.tolist()
    ([3, 4, 7], [0, 0, 1])
    """
    counts = np.maximum(end - start, 0)
    of = np.repeat(np.arange(len(start)), counts)
    ahead = np.cumsum(counts) - counts
    return np.arange(len(of)) - ahead[of] + start[of], of
