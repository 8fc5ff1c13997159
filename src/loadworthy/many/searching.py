"""The parts that fit each of many needs best: a first look bounds the loss, a second looks at all that may beat it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Final, TypeAlias

import numpy as np
from numpy.typing import NDArray

from loadworthy.many.bounds import Bounds, bounds_of
from loadworthy.many.session import Pairs, Session, drive_class
from loadworthy.many.tiers import Floats, Ints, Tiers, expanded

if TYPE_CHECKING:
    from loadworthy.needs import Need
    from loadworthy.needs.transistor import TransistorNeed

__all__ = ["search", "search_all"]

#: Called with the share that is done.
Tell: TypeAlias = Callable[[float], None]

#: The first looks at each need: how many cells, how many rows of each, and how many of these are judged at the most,
#: as × of what is asked for. A need that finds enough in one is not in the next.
_LOOKS: Final = ((12, 24, 4), (200, 200, 60))
#: Classes of drive whose tiers are held at once.
_CLASSES: Final = 8
#: Needs whose cells are held against the tiers at once.
_SLICE: Final = 500
#: Rows that are held against needs at once.
_MOST_ROWS: Final = 2_000_000
#: Where so many rows of the tiers, or parts, would have to be looked at for one need, it is asked alone.
_ROWS_OF_ONE: Final = 3_000_000
_PAIRS_OF_ONE: Final = 20_000
#: Pairs that are judged at once.
_MOST_PAIRS: Final = 200_000


def search(session: Session, needs: Sequence[TransistorNeed], top: int) -> tuple[Pairs, Ints]:
    """Find the parts that rank first for each need.

    Parameters
    ----------
    session
        The catalogue's.
    needs
        The needs; the session has been asked them.
    top
        How many parts each is to have.

    Returns
    -------
    tuple
        The first parts of each need and all that tie with the last of them, in order; and the needs that would have to
        look at too many parts here, to be asked alone.
    """
    classes: dict[object, list[int]] = {}
    for number, need in enumerate(needs):
        classes.setdefault(drive_class(need), []).append(number)
    found, alone = [], []
    for first in range(0, len(classes), _CLASSES):
        some = list(classes.values())[first : first + _CLASSES]
        looking = [_Looking(session, needs, np.array(numbers)) for numbers in some]
        pairs, too_many = _looked(session, needs, looking, top)
        found.append(pairs)
        alone.append(too_many)
    return _leading(_together(found), top), np.sort(np.concatenate(alone))


def search_all(session: Session, needs: Sequence[Need], top: int, tell: Tell) -> Pairs:
    """Find the parts that rank first for each need by judging all of them: for families of which there are few.

    Parameters
    ----------
    session, needs, top
        As for :func:`search`.
    tell
        Told the share that is done.
    """
    at_once = max(1, _MOST_PAIRS // max(session.places, 1))
    places = np.arange(session.places)
    found = []
    for first in range(0, len(needs), at_once):
        numbers = np.arange(first, min(first + at_once, len(needs)))
        judged = session.passing(needs, np.repeat(numbers, len(places)), np.tile(places, len(numbers)))
        found.append(_leading(judged, top))
        tell(int(numbers[-1] + 1) / len(needs))
    return _together(found)


def _looked(
    session: Session, needs: Sequence[TransistorNeed], looking: Sequence[_Looking], top: int
) -> tuple[Pairs, Ints]:
    bound = np.full(len(needs), np.inf)
    for cells, rows, share in _LOOKS:
        places = [one.first(bound, cells, rows, share * top) for one in looking]
        found = _judged(session, needs, places)
        bound = np.minimum(bound, _bounds(found, len(needs), top))
    alone: list[Ints] = []
    places = []
    for one in looking:
        pairs, too_many = one.rest(bound)
        places.append(pairs)
        alone.append(too_many)
    return _judged(session, needs, places), np.concatenate(alone)


class _Looking:
    """The needs of one class of drive, and the tiers that they look at."""

    def __init__(self, session: Session, needs: Sequence[TransistorNeed], numbers: Ints) -> None:
        self.tiers: Tiers = session.tiers(needs[int(numbers[0])])
        self.numbers = numbers
        self.slices: list[tuple[Ints, Bounds, NDArray[np.bool_], Floats]] = []
        for first in range(0, len(numbers), _SLICE):
            here = numbers[first : first + _SLICE]
            bounds = bounds_of([needs[number] for number in here], self.tiers)
            self.slices.append((here, bounds, *bounds.cells(self.tiers)))

    def first(self, bound: Floats, cells: int, rows: int, most: int) -> tuple[Ints, Ints]:
        """Pick parts at the beginning of the best cells, for needs that have no bound yet."""
        picked: list[tuple[Ints, Ints]] = []
        for here, bounds, usable, limit_ohm in self.slices:
            open_ones = np.isinf(bound[here])
            if not open_ones.any():
                continue
            chosen = usable & open_ones[:, None]
            chosen &= np.cumsum(chosen, axis=1) <= cells
            need, cell = np.nonzero(chosen)
            start = self.tiers.start[cell]
            end = np.minimum(self.tiers.below(cell, limit_ohm[need, cell]), start + rows)
            nothing = np.full(len(here), np.inf)
            for of_need, row in _in_bunches(bounds, self.tiers, need, (start, end), nothing):
                keep = _best(of_need, self.tiers.floor_ohm(row), most)
                picked.append((here[of_need[keep]], self.tiers.place[row[keep]]))
        return _joined(picked)

    def rest(self, bound: Floats) -> tuple[tuple[Ints, Ints], Ints]:
        """Pick every part that may rank within the bound; and name the needs that would look at too many."""
        picked: list[tuple[Ints, Ints]] = []
        alone: list[Ints] = []
        for here, bounds, usable, limit_ohm in self.slices:
            # 0 × infinity: nothing bounds it.
            most_ohm = np.nan_to_num(bounds.slope_ohm_per_w * _guarded(bound[here]), nan=np.inf, posinf=np.inf)
            limit = np.minimum(limit_ohm, most_ohm[:, None])
            need, cell = np.nonzero(usable & (self.tiers.least_floor_ohm() <= limit))
            start, end = self.tiers.start[cell], self.tiers.below(cell, limit[need, cell])
            rows = np.bincount(need, weights=end - start, minlength=len(here))
            few = rows <= _ROWS_OF_ONE
            kept = few[need]
            pairs = list(_in_bunches(bounds, self.tiers, need[kept], (start[kept], end[kept]), _guarded(bound[here])))
            count = np.bincount(_joined(pairs)[0], minlength=len(here))
            few &= count <= _PAIRS_OF_ONE
            picked += [(here[of_need[few[of_need]]], self.tiers.place[row[few[of_need]]]) for of_need, row in pairs]
            alone.append(here[~few])
        return _joined(picked), np.concatenate(alone)


def _guarded(bound: Floats) -> Floats:
    """A part whose loss is the bound itself ties with it: it must not be lost to rounding."""
    return bound * (1.0 + 1e-12)


def _in_bunches(
    bounds: Bounds, tiers: Tiers, need: Ints, ranges: tuple[Ints, Ints], most_w: Floats
) -> list[tuple[Ints, Ints]]:
    """Write ranges of rows out, not too many at once, and keep those that are worth judging."""
    start, end = ranges
    counts = np.maximum(end - start, 0)
    bunch = np.cumsum(counts) // _MOST_ROWS
    # A need's ranges stay together.
    bunch = np.maximum.accumulate(bunch[np.searchsorted(need, need)]) if len(need) else bunch
    found = []
    for number in np.unique(bunch):
        here = bunch == number
        row, of = expanded(start[here], end[here])
        of_need = need[here][of]
        keep = bounds.rows(tiers, row, of_need, most_w)
        found.append((of_need[keep], row[keep]))
    return found


def _best(need: Ints, floor: Floats, most: int) -> NDArray[np.bool_]:
    """Say which rows are among the first `most` of their need by on-resistance."""
    order = np.lexsort((floor, need))
    sorted_need = need[order]
    rank = np.arange(len(need)) - np.searchsorted(sorted_need, sorted_need)
    keep = np.zeros(len(need), dtype=bool)
    keep[order] = rank < most
    return keep


def _joined(pairs: Sequence[tuple[Ints, Ints]]) -> tuple[Ints, Ints]:
    nothing = np.zeros(0, dtype=np.int64)
    if not pairs:
        return nothing, nothing
    return np.concatenate([need for need, _ in pairs]), np.concatenate([place for _, place in pairs])


def _judged(session: Session, needs: Sequence[TransistorNeed], pairs: Sequence[tuple[Ints, Ints]]) -> Pairs:
    need, place = _joined(pairs)
    found = [
        session.passing(needs, need[first : first + _MOST_PAIRS], place[first : first + _MOST_PAIRS])
        for first in range(0, max(len(need), 1), _MOST_PAIRS)
    ]
    return _together(found)


def _together(found: Sequence[Pairs]) -> Pairs:
    return Pairs(
        need=np.concatenate([one.need for one in found]),
        place=np.concatenate([one.place for one in found]),
        keys=tuple(np.concatenate(each) for each in zip(*(one.keys for one in found), strict=True)),
    )


def _ordered(found: Pairs) -> tuple[Pairs, Ints]:
    """Put pairs in order, and say each one's rank among its need's, from 0."""
    order = np.lexsort((*reversed(found.keys), found.need))
    need = found.need[order]
    rank = np.arange(len(need)) - np.searchsorted(need, need)
    return Pairs(need=need, place=found.place[order], keys=tuple(key[order] for key in found.keys)), rank


def _bounds(found: Pairs, needs: int, top: int) -> Floats:
    """Return the greatest first key among each need's first `top` parts; infinite where it has fewer."""
    ordered, rank = _ordered(found)
    bound = np.full(needs, np.inf)
    last = rank == top - 1
    bound[ordered.need[last]] = ordered.keys[0][last]
    return bound


def _leading(found: Pairs, top: int) -> Pairs:
    """Keep each need's first parts, and all that tie with the last of them."""
    ordered, rank = _ordered(found)
    last = np.searchsorted(ordered.need, ordered.need) + top - 1
    last = np.minimum(last, len(rank) - 1)
    ties = np.ones(len(rank), dtype=bool)
    for key in ordered.keys:
        ties &= key == key[last]
    keep = (rank < top) | (ties & (ordered.need == ordered.need[last]))
    return Pairs(need=ordered.need[keep], place=ordered.place[keep], keys=tuple(key[keep] for key in ordered.keys))
