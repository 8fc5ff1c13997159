"""A contact that arrived: its resistance against what its list claims."""

from __future__ import annotations

from collections.abc import Mapping

from loadworthy.bench.claims import Claims, claimed_band
from loadworthy.bench.resistances import finding, resistance
from loadworthy.bench.verdicts import Finding
from loadworthy.errors import UsageError

__all__ = ["findings"]


def findings(given: Mapping[str, str | None], claimed: Claims, *, kelvin: bool) -> tuple[Finding, ...]:
    """Hold the readings of one sample against what is claimed of one contact.

    Raises
    ------
    LoadworthyError
        Something given is no such quantity, or something is missing.
    """
    found = resistance(given, kelvin=kelvin, in_series=_contacts(given.get("contacts")), most_ohm=100.0)
    band = claimed_band("claimed_contact", given.get("claimed_contact"), "ohm", alone="most")
    band = band or claimed.band(None, "contact_ohm", "contact resistance, as listed", symbol="Rc")
    note = "a contact when new: it grows with every mating, with heat and in damp air; measure again after a season"
    return (finding("contact_resistance", "contact resistance", found, band, notes=(note,)),)


def _contacts(text: str | None) -> int:
    """Read how many contacts lay between the points that the meter touched."""
    if text is None:
        return 1
    if not text.strip().isdecimal() or not 1 <= int(text) <= 100:
        raise UsageError(
            f"{text!r} is no number of contacts.", where="--contacts", way_out="Give a whole number from 1 to 100."
        )
    return int(text)
