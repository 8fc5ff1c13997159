"""Loadworthy: replacement parts that are fit to carry the load.

Suppliers' tables go into a catalogue, a need goes in, the parts that carry it come out ranked:

>>> import loadworthy
>>> need = loadworthy.TransistorNeed(supply="12V", resistance="1.6ohm", drive="5V", ambient="40degC")
>>> need.as_json()["current_a"]
7.5

With a catalogue file at hand::

    loadworthy.intake("greenhouse.duckdb", ["prices.csv"])
    with loadworthy.Catalog.open("greenhouse.duckdb") as catalog:
        selection = loadworthy.choose(catalog, need, top=5)
        selection.to_pandas()

Names are loaded when they are first used: ``import loadworthy`` itself takes no time.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from loadworthy.bench import measure
    from loadworthy.boards import Audit, Board, read_board
    from loadworthy.boards.audit import audit
    from loadworthy.boards.choosing import Mended, mend
    from loadworthy.boards.what_if import what_if
    from loadworthy.catalog.intake import intake
    from loadworthy.catalog.reports import IntakeReport
    from loadworthy.catalog.store import Catalog
    from loadworthy.errors import (
        BoardError,
        CatalogError,
        FamilyError,
        LoadworthyError,
        OrderError,
        QuantityError,
        RecipeError,
        UnreadableFile,
        UsageError,
    )
    from loadworthy.explanation import Explanation, explain
    from loadworthy.many import choose_many, read_needs
    from loadworthy.needs import NEEDS, ConnectorNeed, DiodeNeed, FuseNeed, HeatsinkNeed, TransistorNeed, WireNeed
    from loadworthy.selection import Selection, choose
    from loadworthy.shopping import Order, Plan, read_order
    from loadworthy.shopping.plan import plan

__all__ = [
    "NEEDS",
    "Audit",
    "Board",
    "BoardError",
    "Catalog",
    "CatalogError",
    "ConnectorNeed",
    "DiodeNeed",
    "Explanation",
    "FamilyError",
    "FuseNeed",
    "HeatsinkNeed",
    "IntakeReport",
    "LoadworthyError",
    "Mended",
    "Order",
    "OrderError",
    "Plan",
    "QuantityError",
    "RecipeError",
    "Selection",
    "TransistorNeed",
    "UnreadableFile",
    "UsageError",
    "WireNeed",
    "audit",
    "choose",
    "choose_many",
    "explain",
    "intake",
    "measure",
    "mend",
    "plan",
    "read_board",
    "read_needs",
    "read_order",
    "what_if",
]

_HOMES = {
    "NEEDS": "loadworthy.needs",
    "Audit": "loadworthy.boards",
    "Board": "loadworthy.boards",
    "Catalog": "loadworthy.catalog.store",
    "ConnectorNeed": "loadworthy.needs",
    "DiodeNeed": "loadworthy.needs",
    "Explanation": "loadworthy.explanation",
    "FuseNeed": "loadworthy.needs",
    "HeatsinkNeed": "loadworthy.needs",
    "IntakeReport": "loadworthy.catalog.reports",
    "Mended": "loadworthy.boards.choosing",
    "Order": "loadworthy.shopping",
    "Plan": "loadworthy.shopping",
    "Selection": "loadworthy.selection",
    "TransistorNeed": "loadworthy.needs",
    "WireNeed": "loadworthy.needs",
    "audit": "loadworthy.boards",
    "choose": "loadworthy.selection",
    "choose_many": "loadworthy.many",
    "explain": "loadworthy.explanation",
    "intake": "loadworthy.catalog.intake",
    "measure": "loadworthy.bench",
    "mend": "loadworthy.boards.choosing",
    "plan": "loadworthy.shopping",
    "read_board": "loadworthy.boards",
    "read_needs": "loadworthy.many",
    "read_order": "loadworthy.shopping",
    "what_if": "loadworthy.boards",
}


def __getattr__(name: str) -> Any:  # noqa: ANN401 - whatever is asked for
    if name == "__version__":
        from importlib.metadata import version  # noqa: PLC0415 - asked for seldom

        return version("loadworthy")
    if name not in __all__:
        raise AttributeError(f"module 'loadworthy' has no attribute {name!r}")
    found = getattr(import_module(_HOMES.get(name, "loadworthy.errors")), name)
    globals()[name] = found
    return found


def __dir__() -> list[str]:
    return sorted([*globals(), *__all__, "__version__"])
