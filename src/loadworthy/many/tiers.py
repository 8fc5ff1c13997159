"""A family's parts laid out in tiers, so that of many parts few are looked at for each of many needs.

Parts that have a figure at a drive are put together by channel, package and a class of VDS, and stand in each of
these cells by rising on-resistance at 25 °C: no part can lose less than that figure promises, so a need looks at a
cell from its beginning and stops early. Everything here is a bound that errs towards looking at a part: the family's
own query judges every part that is let through.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any, Final, TypeAlias

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc
from numpy.typing import NDArray

__all__ = ["FIGURES", "Floats", "Ints", "Shelf", "Tiers", "expanded", "lay_shelf", "lay_tiers"]

Floats: TypeAlias = NDArray[np.float64]
Ints: TypeAlias = NDArray[np.signedinteger[Any]]

#: What a part keeps in single precision. Rounding keeps the order, so a comparison with a rounded limit loses no part.
FIGURES: Final = (
    "vds_v", "vgs_max_v", "vgs_th_max_v", "id_a", "id_pulse_a", "still_air_k_per_w", "to_sink_k_per_w", "hot_exponent",
)  # fmt: skip
_CLASSES_OF_VDS: Final = 16
_LOW: Final = np.int64(0xFFFFFFFF)


@dataclass(frozen=True, kw_only=True)
class Shelf:
    """What does not depend on the drive, by a part's place in the catalogue.

    Attributes
    ----------
    figure
        Figures in single precision, nan where one is not known.
    cell
        The number of the part's cell.
    channels, packages
        What there is of them.
    """

    figure: Mapping[str, NDArray[np.float32]]
    cell: NDArray[np.int32]
    channels: tuple[str, ...]
    packages: tuple[str, ...]
    classes: int

    @property
    def places(self) -> int:
        """How many places there are."""
        return len(self.cell)

    def kinds(self, cells: Ints) -> tuple[Ints, Ints, Ints]:
        """Return what the parts of cells have in common: channel, package, and whether they stand on leads.

        Channel and package are places in `channels` and `packages`, -1 where they are not known; leads are 1 for yes,
        0 for no, -1 where it is not known.
        """
        rest = cells // self.classes
        rest, leaded = rest // 3, rest % 3 - 1
        width = len(self.packages) + 1
        return rest // width - 1, rest % width - 1, leaded


@dataclass(frozen=True, kw_only=True)
class Tiers:
    """Parts that have a figure at one drive, by cell and rising on-resistance.

    Attributes
    ----------
    shelf
        What else is known of them.
    key
        A row's cell, and below it the bits of its on-resistance, rounded down: one sorted column to search in.
    place
        Where a row's part stands in the catalogue.
    start, end
        First row of each cell, and the one behind its last; cells by their least on-resistance, the least first.
    number
        The cells' numbers, as the keys have them.
    channel, package, leaded
        What the parts of each cell have, as :meth:`Shelf.kinds` says it.
    most, least, unknown
        The greatest and least known figure of a cell, and whether one of them is not known.
    exponents
        The least and the greatest hot exponent.
    """

    shelf: Shelf
    key: Ints
    place: NDArray[np.int32]
    start: Ints
    end: Ints
    number: Ints
    channel: Ints
    package: Ints
    leaded: Ints
    most: Mapping[str, Floats]
    least: Mapping[str, Floats]
    unknown: Mapping[str, NDArray[np.bool_]]
    exponents: tuple[float, float]

    @property
    def rows(self) -> int:
        """How many parts stand in tiers."""
        return len(self.key)

    def figure(self, name: str, rows: Ints) -> NDArray[np.float32]:
        """Return a figure of rows."""
        return self.shelf.figure[name][self.place[rows]]

    def floor_ohm(self, rows: Ints) -> Floats:
        """Return the rows' on-resistance at 25 °C, rounded down."""
        return (self.key[rows] & _LOW).astype(np.uint32).view(np.float32).astype(np.float64)

    def least_floor_ohm(self) -> Floats:
        """Return each cell's least on-resistance, rounded down."""
        return self.floor_ohm(self.start)

    def below(self, cells: Ints, limit_ohm: Floats) -> Ints:
        """Return, for each of these cells, the row behind the last whose on-resistance is within the limit."""
        with np.errstate(over="ignore"):  # beyond single precision everything is within
            limit = np.nextafter(limit_ohm.astype(np.float32), np.float32(np.inf))
        sought = (self.number[cells] << 32) | _bits(limit)
        found: Ints = np.searchsorted(self.key, sought, side="right")
        return found


def _bits(values: NDArray[np.float32]) -> Ints:
    """Return the bits of floats from zero up, which rise as they do."""
    return values.view(np.uint32).astype(np.int64)


def lay_shelf(rows: pa.Table, places: int) -> Shelf:
    """Put down what does not depend on the drive.

    Parameters
    ----------
    rows
        What ``queries/tiers.sql`` gives.
    places
        How many places the catalogue has.
    """
    place = rows.column("place").to_numpy()
    figure = {}
    for name in FIGURES:
        figure[name] = np.full(places, np.nan, dtype=np.float32)
        figure[name][place] = rows.column(name).to_numpy()
    channel, channels = _coded(rows.column("channel"))
    package, packages = _coded(rows.column("package"))
    leaded = pc.fill_null(rows.column("leaded").cast(pa.int8()), -1).to_numpy()
    voltage, classes = _classed(figure["vds_v"][place])
    kind = ((channel + 1) * (len(packages) + 1) + package + 1) * 3 + leaded + 1
    cell = np.zeros(places, dtype=np.int32)
    cell[place] = kind * classes + voltage
    return Shelf(figure=figure, cell=cell, channels=channels, packages=packages, classes=classes)


def lay_tiers(shelf: Shelf, floors: Iterable[pa.Table]) -> Tiers:
    """Lay parts out in tiers.

    Parameters
    ----------
    shelf
        What does not depend on the drive.
    floors
        What ``queries/floors.sql`` gives for each drive of the class: the least of a part's figures counts.
    """
    floor = np.full(shelf.places, np.inf, dtype=np.float32)
    there = np.zeros(shelf.places, dtype=bool)
    for rows in floors:
        place, ohm = rows.column("place").to_numpy(), _rounded_down(rows.column("least").to_numpy())
        floor[place] = np.fmin(floor[place], ohm)
        there[place] = True
    place = np.flatnonzero(there).astype(np.int32)
    key = (shelf.cell[place].astype(np.int64) << 32) | _bits(floor[place])
    order = np.argsort(key)
    key, place = key[order], place[order]
    del order, floor, there
    start = np.flatnonzero(np.diff(key >> 32, prepend=-1)) if len(key) else np.zeros(0, dtype=np.int64)
    end = np.append(start[1:], len(key)) if len(key) else start
    by_floor = np.argsort(key[start] & _LOW, kind="stable")
    number = (key[start] >> 32)[by_floor]
    channel, package, leaded = shelf.kinds(number)
    most, least, unknown = {}, {}, {}
    for name in FIGURES:
        values = shelf.figure[name][place]
        most[name] = _of_cells(np.fmax, values, start)[by_floor]
        least[name] = _of_cells(np.fmin, values, start)[by_floor]
        unknown[name] = _of_cells(np.logical_or, np.isnan(values), start)[by_floor].astype(bool)
    some = len(key) > 0
    return Tiers(
        shelf=shelf,
        key=key,
        place=place,
        start=start[by_floor],
        end=end[by_floor],
        number=number,
        channel=channel,
        package=package,
        leaded=leaded,
        most=most,
        least=least,
        unknown=unknown,
        exponents=(
            # Single precision may have rounded either way.
            float(np.nextafter(np.float32(least["hot_exponent"].min()), np.float32(0.0))) if some else 0.0,
            float(np.nextafter(np.float32(most["hot_exponent"].max()), np.float32(np.inf))) if some else 0.0,
        ),
    )


def _of_cells(of: np.ufunc, values: NDArray[Any], start: Ints) -> Floats:
    """Sum the rows of each cell up."""
    return of.reduceat(values, start).astype(np.float64) if len(start) else np.zeros(0)


def _rounded_down(ohms: Floats) -> NDArray[np.float32]:
    """Round to single precision, never up; what is not known is infinite."""
    known = np.where(np.isnan(ohms), np.inf, ohms)
    single = known.astype(np.float32)
    return np.where(single > known, np.nextafter(single, np.float32(0.0)), single)


def _coded(column: pa.ChunkedArray) -> tuple[NDArray[np.int32], tuple[str, ...]]:
    """Return each text's place among the texts there are, -1 where there is none, and the texts."""
    coded = column.cast(pa.string()).dictionary_encode().unify_dictionaries()
    texts = coded.chunk(0).dictionary.to_pylist() if coded.num_chunks else []
    places = [pc.fill_null(chunk.indices, -1).to_numpy(zero_copy_only=False) for chunk in coded.chunks]
    return np.concatenate([np.zeros(0, dtype=np.int32), *places]), tuple(str(text) for text in texts)


def _classed(values: NDArray[np.float32]) -> tuple[Ints, int]:
    """Put voltages into classes of about as many parts each, and say how many there are.

    Voltages that are not known make a class of their own.
    """
    known = values[~np.isnan(values)]
    cuts = np.zeros(0, dtype=np.float32)
    if len(known):
        shares = np.linspace(0.0, 1.0, _CLASSES_OF_VDS + 1)[1:-1]
        cuts = np.unique(np.quantile(known, shares, method="higher"))
    classes = np.searchsorted(cuts, values, side="right")
    return np.where(np.isnan(values), len(cuts) + 1, classes), len(cuts) + 2


def expanded(start: Ints, end: Ints) -> tuple[Ints, Ints]:
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
