"""What was measured, kept in the catalogue: part, supplier, date, figures, verdicts."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Final

from loadworthy.bench.outcome import BenchResult
from loadworthy.bench.verdicts import NOT_DECIDED, OUTSIDE, WITHIN
from loadworthy.errors import UsageError
from loadworthy.listed import suppliers
from loadworthy.statements import HasConnection

__all__ = ["WORDS", "date_of", "keep_records", "stranger_note", "supplier_of"]

#: Verdict → the word that stands for it in the catalogue.
WORDS: Final = {WITHIN: "within", OUTSIDE: "outside", NOT_DECIDED: "open"}


def supplier_of(text: str | None) -> str:
    """Read whose part was measured.

    Raises
    ------
    UsageError
        Nobody said it.
    """
    if text is None or not text.strip():
        raise UsageError(
            "a record says who sold the part.", where="--supplier", way_out="Give the supplier's name with --keep."
        )
    return " ".join(text.split())


def stranger_note(catalog: HasConnection, supplier: str) -> str | None:
    """Say that no list is of a supplier: a name written wrongly keeps apart what belongs together.

    Parameters
    ----------
    catalog
        The catalogue.
    supplier
        Who sold what was measured.

    Returns
    -------
    str or None
        None where the catalogue has offers of that supplier, or of none at all.
    """
    known = suppliers(catalog.connection)
    if not known or supplier.casefold() in (name.casefold() for name in known):
        return None
    return f"The catalogue has no list of {supplier}; it has {', '.join(known)}."


def date_of(text: str | None, *, today: date | None = None) -> date:
    """Read when something was measured; today where nobody says.

    Raises
    ------
    UsageError
        It is no date, or one to come.

    Examples
    --------
    >>> date_of("2025-03-14")
    datetime.date(2025, 3, 14)
    """
    now = today or date.today()
    if text is None:
        return now
    try:
        found = date.fromisoformat(text.strip())
    except ValueError as error:
        raise UsageError(
            f"{text!r} is no date.", where="--date", way_out="Write year, month, day: 2025-03-14."
        ) from error
    if found > now + timedelta(days=1):  # somewhere it is tomorrow already
        raise UsageError(f"{text} is yet to come.", where="--date", way_out="Check the year.")
    return found


def keep_records(catalog: HasConnection, result: BenchResult, *, supplier: str, measured_on: date) -> int:
    """Keep what was found in the catalogue, all of it or nothing.

    Parameters
    ----------
    catalog
        Open for writing.
    result
        What was found.
    supplier, measured_on
        Who sold the part, and when it was measured.

    Returns
    -------
    int
        How many figures were kept.
    """
    connection = catalog.connection
    claimed = result.claimed
    connection.execute("BEGIN TRANSACTION")
    try:
        session = connection.execute("SELECT nextval('measured_ids')").fetchone()[0]
        for number, sample in enumerate(result.samples, 1):
            for one in sample.findings:
                kept = {
                    "session": session,
                    "measured_on": measured_on,
                    "supplier": supplier,
                    "family": result.kind,
                    "part_key": None if claimed is None else claimed.part_key,
                    "maker": None if claimed is None else claimed.maker,
                    "part_number": None if claimed is None else claimed.part,
                    "piece": number,
                    "sample": sample.name or None,
                    "figure": one.name,
                    "unit": one.unit,
                    "value": one.value,
                    "low": one.low,
                    "high": one.high,
                    "claimed_least": None if one.band is None else one.band.least,
                    "claimed_most": None if one.band is None else one.band.most,
                    "verdict": WORDS[one.verdict],
                }
                names = ", ".join(kept)
                places = ", ".join(f"${name}" for name in kept)
                connection.execute(f"INSERT INTO measured ({names}) VALUES ({places})", kept)
        connection.execute("COMMIT")
    except BaseException:
        connection.execute("ROLLBACK")
        raise
    return sum(len(sample.findings) for sample in result.samples)
