"""A fuse that arrived: its cold resistance against the span that its list claims."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from loadworthy.bench.claims import Claims, claimed_band
from loadworthy.bench.resistances import finding, resistance
from loadworthy.bench.verdicts import Band, Finding
from loadworthy.needs.base import measured
from loadworthy.quantities import show

__all__ = ["findings"]

#: More than a tenth of its rating warms a fuse, and it then reads more than cold (common practice).
_COLD_SHARE: Final = 0.1


def findings(given: Mapping[str, str | None], claimed: Claims, *, kelvin: bool) -> tuple[Finding, ...]:
    """Hold the readings of one sample against what is claimed.

    Raises
    ------
    LoadworthyError
        Something given is no such quantity, or something is missing.
    """
    found = resistance(given, kelvin=kelvin, most_ohm=1e4)
    band = claimed_band("claimed_resistance", given.get("claimed_resistance"), "ohm", alone="most")
    band = band or _listed(claimed)
    notes = ["a cold resistance says nothing of when the fuse opens: only its maker's test does"]
    rating = next((value for name in ("hold_a", "rating_a") if (value := claimed.figure(name)) is not None), None)
    if given.get("current") is not None and rating is not None:
        current = measured("current", given["current"], "A", above=0.0)
        if current > _COLD_SHARE * rating:
            notes.append(
                f"{show(current, 'A')} is more than a tenth of its {show(rating, 'A')}: warmed, it reads more than cold"
            )
    return (finding("cold_resistance", "cold resistance", found, band, notes=tuple(notes)),)


def _listed(claimed: Claims) -> Band | None:
    """Return Rmin to R1max of a resettable fuse, or the cold resistance of one that melts."""
    known = [name for name, column in (("Rmin", "r_min_ohm"), ("R1max", "r1_max_ohm")) if claimed.figure(column)]
    span = claimed.band("r_min_ohm", "r1_max_ohm", f"{' to '.join(known)}, as listed")
    return span or claimed.band(None, "cold_ohm", "cold resistance, as listed", symbol="Rcold")
