"""The needs: what a part of each family is looked for, in the job's own words."""

from __future__ import annotations

from typing import Final

from loadworthy.needs.base import Need
from loadworthy.needs.transistor import TransistorNeed

__all__ = ["NEEDS", "Need", "TransistorNeed"]

#: Family name → its need.
NEEDS: Final[dict[str, type[Need]]] = {"transistor": TransistorNeed}
