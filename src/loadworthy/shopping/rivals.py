"""What a plan is held against: each line by itself, one supplier for all, and one line bought elsewhere."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping

from loadworthy.shopping.programme import Programme, Way, charged, goods

__all__ = ["alone", "cheapest_pieces", "line_by_line", "swapped"]


def cheapest_pieces(way: Way, pieces: int) -> tuple[float, int] | None:
    """Return what at least so many pieces cost by one way, and how many one then buys; None where it has too few.

    Examples
    --------
    >>> cheapest_pieces(Way(offer=0, supplier="A", breaks=((1, 1.0), (10, 0.7))), 8)
    (7.0, 10)
    """
    found = []
    for quantity in {pieces, *(start for start, _ in way.breaks if start >= pieces)}:
        least = max(quantity, way.breaks[0][0])
        number = math.ceil(least / way.multiple) * way.multiple
        if way.most is None or number <= way.most:
            found.append((goods(way, number), number))
    return min(found, default=None)


def line_by_line(programme: Programme, ways: Iterable[int] | None = None) -> dict[int, int] | None:
    """Buy each demand where its goods are cheapest, from one offer, and think of nothing else.

    Parameters
    ----------
    programme
        What is wanted.
    ways
        Only these; all if not given.

    Returns
    -------
    dict or None
        Way → pieces; None where a demand cannot be met from one offer, or what is left is not enough.
    """
    allowed = set(range(len(programme.ways))) if ways is None else set(ways)
    bought: dict[int, int] = {}
    wanted: dict[int, int] = {}
    taken: dict[int, int] = {}
    for demand in programme.demands:
        options = []
        for place in demand.ways:
            way = programme.ways[place]
            if place not in allowed or taken.get(way.offer, place) != place:
                continue
            found = cheapest_pieces(way, wanted.get(place, 0) + demand.pieces)
            if found is not None:
                already = bought.get(place)
                options.append((found[0] - (goods(way, already) if already else 0.0), place, found[1]))
        if not options:
            return None
        _, place, pieces = min(options)
        bought[place] = pieces
        wanted[place] = wanted.get(place, 0) + demand.pieces
        taken[programme.ways[place].offer] = place
    return bought


def alone(programme: Programme) -> Iterator[tuple[str, float, dict[int, int]]]:
    """Give for each supplier that has everything the cost of buying all of it there, line by line."""
    for supplier in sorted({way.supplier for way in programme.ways}):
        own = [place for place, way in enumerate(programme.ways) if way.supplier == supplier]
        bought = line_by_line(programme, own)
        cost = None if bought is None else charged(programme, bought)
        if bought is not None and cost is not None:
            yield supplier, cost, bought


def swapped(programme: Programme, bought: Mapping[int, int], old: int, new: int, pieces: int) -> dict[int, int] | None:
    """Buy pieces by another way in place of all that is bought by one; None where the other has too few."""
    changed = {place: number for place, number in bought.items() if place != old}
    if any(programme.ways[place].offer == programme.ways[new].offer for place in changed):
        return None
    found = cheapest_pieces(programme.ways[new], pieces)
    return None if found is None else {**changed, new: found[1]}
