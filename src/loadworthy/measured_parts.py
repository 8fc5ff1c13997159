"""What was measured of parts and kept in the catalogue, for those who choose among them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from loadworthy import statements
from loadworthy.statements import Connection

__all__ = ["Kept", "kept"]


@dataclass(frozen=True, kw_only=True)
class Kept:
    """The records of a catalogue, summed up.

    Attributes
    ----------
    rows
        One a part and supplier: family, part, supplier, how many samples were within what is claimed, outside and not
        decided, first and last date.
    """

    rows: tuple[dict[str, Any], ...]

    @property
    def outside(self) -> tuple[tuple[str, ...], tuple[str, ...]]:
        """Keys of the parts of which a sample was outside, and the numbers of those that no list held then."""
        return _named([row for row in self.rows if row["outside"]])

    @property
    def within(self) -> tuple[tuple[str, ...], tuple[str, ...]]:
        """The same of the parts of which every sample that was kept was within."""
        bad = {_which(row) for row in self.rows if row["within"] < row["samples"]}
        return _named([row for row in self.rows if _which(row) not in bad])

    def remarks(self, part: Mapping[str, Any]) -> list[str]:
        """Say in words what was measured of a part.

        Parameters
        ----------
        part
            A row with its ``part_key`` and ``part_number``.

        Examples
        --------
        >>> row = {"part_key": "ALDER|X1", "part_number": "X1", "supplier": "Thistledown", "samples": 3, "within": 2,
        ...        "outside": 1, "not_decided": 0, "last_on": "2025-03-14"}
        >>> Kept(rows=(row,)).remarks({"part_key": "ALDER|X1", "part_number": "X1"})
        ['measured: 2 of 3 within what is claimed, 1 outside (Thistledown, 2025-03-14)']
        """
        return [_words(row) for row in self.rows if _is(row, part)]


def kept(connection: Connection, family: str | None = None) -> Kept:
    """Return what was measured and kept.

    Parameters
    ----------
    connection
        The catalogue's.
    family
        Only parts of this family.
    """
    asked = statements.bind("measured", statements.assemble("measured"), {"family": family})
    return Kept(rows=tuple(_plain(row) for row in asked.rows(connection)))


def _which(row: Mapping[str, Any]) -> str:
    return str(row["part_key"] or row["part_number"].lower())


def _named(rows: Sequence[Mapping[str, Any]]) -> tuple[tuple[str, ...], tuple[str, ...]]:
    return (
        tuple(dict.fromkeys(row["part_key"] for row in rows if row["part_key"] is not None)),
        tuple(dict.fromkeys(row["part_number"].lower() for row in rows if row["part_key"] is None)),
    )


def _is(row: Mapping[str, Any], part: Mapping[str, Any]) -> bool:
    if row["part_key"] is not None:
        return bool(row["part_key"] == part["part_key"])
    return bool(row["part_number"].lower() == str(part["part_number"]).lower())


def _words(row: Mapping[str, Any]) -> str:
    said = [f"{row['within']} of {row['samples']} within what is claimed"]
    said += [f"{row['outside']} outside"] if row["outside"] else []
    said += [f"{row['not_decided']} not decided"] if row["not_decided"] else []
    return f"measured: {', '.join(said)} ({row['supplier']}, {row['last_on']})"


def _plain(row: Mapping[str, Any]) -> dict[str, Any]:
    return {name: str(value) if isinstance(value, date) else value for name, value in row.items()}
