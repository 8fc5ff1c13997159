"""The needs: what a part of each family is looked for, in the job's own words.

A family's need is loaded when it is asked about.
"""

from __future__ import annotations

from collections.abc import Iterator, MutableMapping
from importlib import import_module
from typing import TYPE_CHECKING, Any, Final

from loadworthy.needs.base import Need

if TYPE_CHECKING:
    from loadworthy.needs.connector import ConnectorNeed
    from loadworthy.needs.diode import DiodeNeed
    from loadworthy.needs.fuse import FuseNeed
    from loadworthy.needs.heatsink import HeatsinkNeed
    from loadworthy.needs.transistor import TransistorNeed
    from loadworthy.needs.wire import WireNeed

__all__ = ["NEEDS", "ConnectorNeed", "DiodeNeed", "FuseNeed", "HeatsinkNeed", "Need", "TransistorNeed", "WireNeed"]


class _Needs(MutableMapping[str, "type[Need]"]):
    """Family name → its need, which stands in the module of that name."""

    def __init__(self, *families: str) -> None:
        self._known: dict[str, type[Need] | None] = dict.fromkeys(families)

    def __getitem__(self, family: str) -> type[Need]:
        need = self._known[family]
        if need is None:
            need = getattr(import_module(f"{__name__}.{family}"), f"{family.capitalize()}Need")
            self._known[family] = need
        return need

    def __setitem__(self, family: str, need: type[Need]) -> None:
        self._known[family] = need

    def __delitem__(self, family: str) -> None:
        del self._known[family]

    def __iter__(self) -> Iterator[str]:
        return iter(self._known)

    def __len__(self) -> int:
        return len(self._known)


#: Family name → its need, in the order in which the families are listed.
NEEDS: Final = _Needs("transistor", "connector", "fuse", "wire", "heatsink", "diode")


def __getattr__(name: str) -> Any:  # noqa: ANN401 - whatever is asked for
    family = name.removesuffix("Need").lower()
    if name in __all__ and family in NEEDS:
        return NEEDS[family]
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
