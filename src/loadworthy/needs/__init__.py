"""The needs: what a part of each family is looked for, in the job's own words."""

from __future__ import annotations

from typing import Final

from loadworthy.needs.base import Need
from loadworthy.needs.connector import ConnectorNeed
from loadworthy.needs.diode import DiodeNeed
from loadworthy.needs.fuse import FuseNeed
from loadworthy.needs.heatsink import HeatsinkNeed
from loadworthy.needs.transistor import TransistorNeed
from loadworthy.needs.wire import WireNeed

__all__ = ["NEEDS", "ConnectorNeed", "DiodeNeed", "FuseNeed", "HeatsinkNeed", "Need", "TransistorNeed", "WireNeed"]

#: Family name → its need.
NEEDS: Final[dict[str, type[Need]]] = {
    "transistor": TransistorNeed,
    "connector": ConnectorNeed,
    "fuse": FuseNeed,
    "wire": WireNeed,
    "heatsink": HeatsinkNeed,
    "diode": DiodeNeed,
}
