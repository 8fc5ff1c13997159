"""Many needs at once: a file or a list of needs in, one table out, its rows those that single choices give.

Transistors are found by tiers (:mod:`loadworthy.many.tiers`), so that what a need costs hardly grows with the
catalogue. Of other families every part is held against every need; where parts are many, needs
are asked one after the other.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

import pyarrow as pa

from loadworthy import statements
from loadworthy.errors import UsageError
from loadworthy.many.answering import Answering
from loadworthy.many.needs_file import Asked, Refused, read_needs
from loadworthy.many.running import Run
from loadworthy.needs import Need
from loadworthy.selection import check_suppliers, known_suppliers
from loadworthy.statements import HasConnection

__all__ = ["Asked", "Refused", "Run", "choose_many", "read_needs"]


def choose_many(
    catalog: HasConnection, needs: Iterable[Need | Asked] | Mapping[str, Need], *, top: int = 10
) -> pa.Table:
    """Rank the parts of a catalogue that fit each of many needs.

    Parameters
    ----------
    catalog
        The catalogue; only its ``connection`` is used.
    needs
        The needs, all of one family: a list of them, a dict of them by name, or what :func:`read_needs` gives.
    top
        How many of the parts that fit each need is to have.

    Returns
    -------
    pyarrow.Table
        One row a part: ``id`` – the need's name, that of its row in a file, or else its place in the list from 0 –,
        ``rank``, and every figure that :func:`loadworthy.choose` gives for it, identical to it. A need that nothing
        fits has no row.

    Raises
    ------
    CatalogError
        The catalogue holds no parts of the family.
    UsageError
        The needs are of several families, a supplier is not known, or a number of rows is impossible.
    """
    if top < 1:
        raise UsageError(f"{top} rows cannot be shown.", where="top", way_out="Give 1 or more.")
    asked: list[Need] = []
    ids: list[str | int] = []
    for place, one in enumerate(needs.items() if isinstance(needs, Mapping) else needs):
        if isinstance(one, tuple):
            ids.append(str(one[0]))
            asked.append(one[1])
        else:
            ids.append(one.id if isinstance(one, Asked) else place)
            asked.append(one.need if isinstance(one, Asked) else one)
    families = sorted({need.family for need in asked})
    if len(families) > 1:
        raise UsageError(
            f"the needs are of several families: {', '.join(families)}.", way_out="Ask for each family on its own."
        )
    if not asked:
        return pa.table({"id": pa.array([], pa.int64()), "rank": pa.array([], pa.int64())})
    rows = statements.bind("suppliers", statements.assemble("suppliers"), {}).rows(catalog.connection.cursor())
    suppliers = known_suppliers(rows)
    for need in asked:
        check_suppliers(need, suppliers)
    table = Answering(catalog, families[0], top).answer(asked)
    named = pa.array(ids).take(table.column("need").combine_chunks())
    return table.set_column(0, "id", named)
