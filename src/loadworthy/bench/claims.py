"""What the catalogue, or the user from a data sheet in hand, claims of a part that was measured."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Final

from loadworthy import statements
from loadworthy.bench.verdicts import Band
from loadworthy.errors import QuantityError, UsageError
from loadworthy.listed import at_gate, families_held
from loadworthy.needs.base import measured
from loadworthy.quantities import show
from loadworthy.statements import Connection, HasConnection

__all__ = ["Claims", "claimed_band", "claims_of", "listed_on_resistance"]

_RANGE: Final = re.compile(r"\s*(?:\.\.\.?|…|–| to )\s*")
#: A die's input capacitance goes with its area; meter, voltage and tolerance account for this much (common practice).
_CAPACITANCE_SPAN: Final = (0.5, 2.5)


@dataclass(frozen=True, kw_only=True)
class Claims:
    """What is claimed of one part.

    Attributes
    ----------
    family, part
        Its family, and its number as the user writes it.
    maker, part_key
        As the catalogue has them; None where it does not hold the part.
    row
        The catalogue's row of it; empty where it holds none.
    notes
        What is to be said of it.
    """

    family: str
    part: str
    maker: str | None = None
    part_key: str | None = None
    row: Mapping[str, Any] = field(default_factory=dict)
    notes: tuple[str, ...] = ()

    def figure(self, column: str) -> float | None:
        """Return one figure of the row in SI units."""
        value = self.row.get(column)
        return float(value) if isinstance(value, (int, float)) else None

    def typical(self, symbol: str) -> bool:
        """Say whether the lists give a figure as typical only."""
        return symbol in (self.row.get("typical") or "").split(", ")

    def band(self, least: str | None, most: str | None, said: str, *, symbol: str = "") -> Band | None:
        """Make the band of two columns; None where neither is known."""
        low = None if least is None else self.figure(least)
        high = None if most is None else self.figure(most)
        if low is None and high is None:
            return None
        return Band(least=low, most=high, said=said, limit=not (symbol and self.typical(symbol)))


def claims_of(catalog: HasConnection | None, family: str, part: str, *, maker: str | None = None) -> Claims:
    """Look up what the catalogue claims of a part.

    Parameters
    ----------
    catalog
        The catalogue, or None where there is none.
    family
        The part's family.
    part, maker
        Its number, and its maker where several use the number.

    Raises
    ------
    UsageError
        Several makers have a part of that number.
    """
    wanted = part.strip()
    if catalog is None:
        return Claims(
            family=family, part=wanted, notes=("there is no catalogue: nothing is claimed but what you gave",)
        )
    connection: Connection = catalog.connection
    rows: list[dict[str, Any]] = []
    if family in families_held(connection):
        asked = statements.assemble("numbered", family=family)
        rows = statements.bind("numbered", asked, {"part": wanted, "maker": maker}).rows(connection)
    if len(rows) > 1:
        makers = ", ".join(str(row["maker"]) for row in rows)
        raise UsageError(f"{part!r} is made by {makers}.", where="PART", way_out="Say whose part it is with --maker.")
    if not rows:
        said = f"the catalogue holds no {family} {wanted!r}: nothing is claimed but what you gave"
        return Claims(family=family, part=wanted, notes=(said,))
    row = rows[0]
    notes = [f"lists differ in {row['differs']}; the worse counts"] if row.get("differs") else []
    return Claims(
        family=family, part=row["part_number"], maker=row["maker"], part_key=row["part_key"], row=row,
        notes=tuple(notes),
    )  # fmt: skip


def listed_on_resistance(claims: Claims, gate_v: float) -> Band | None:
    """Return the on-resistance that is claimed at a gate voltage.

    The maximum specified at the greatest gate voltage not above it; where there is none, the typical figure, which
    is no limit.
    """
    if not claims.row:
        return None
    given = at_gate(claims.row, gate_v, typical=False) or at_gate(claims.row, gate_v, typical=True)
    if given is None:
        return None
    assumed: tuple[str, ...] = ()
    if claims.row.get("rds_unmarked") and not given.typical:
        assumed = ("the list does not say whether its on-resistance is a maximum; it is taken for one",)
    word = "typical" if given.typical else "maximum"
    said = f"{word} at {show(given.gate_v, 'V')} on the gate and 25 °C, as listed"
    return Band(most=float(given.ohms), said=said, assumed=assumed, limit=not given.typical)


def capacitance_band(claims: Claims) -> Band | None:
    """Return the span in which the input capacitance of a die of that kind lies, however it is measured."""
    listed = claims.figure("ciss_f")
    return None if listed is None else around_capacitance(listed, "as listed")


def around_capacitance(listed_f: float, where: str) -> Band:
    """Return the span round a listed input capacitance that tells one size of die from another."""
    low, high = _CAPACITANCE_SPAN
    return Band(
        least=low * listed_f,
        most=high * listed_f,
        said=f"{low:g} to {high:g} times Ciss {show(listed_f, 'F')}, {where}; at no drain voltage it reads higher",
        assumed=(f"{low:g} to {high:g} times Ciss is still the same die (common practice)",),
    )


def claimed_band(name: str, text: str | None, unit: str, *, alone: str) -> Band | None:
    """Read what the user says is claimed: one value, or two with .. between them.

    Parameters
    ----------
    name
        The option that it is from.
    text
        Such as ``8mohm`` or ``1V..2.5V``; the unit may stand once, at the end.
    unit
        Its SI unit.
    alone
        What a value alone is: ``most`` or ``least``.

    Raises
    ------
    QuantityError
        It is no such quantity, or the bounds are the wrong way round.

    Examples
    --------
    >>> band = claimed_band("claimed_threshold", "1..2.5V", "V", alone="most")
    >>> band.least, band.most
    (1.0, 2.5)
    """
    if text is None:
        return None
    pieces = _RANGE.split(text.strip())
    if len(pieces) == 1:
        value = measured(name, text, unit, above=0.0)
        return Band(least=value if alone == "least" else None, most=value if alone == "most" else None, said="as given")
    if len(pieces) > 2:
        raise QuantityError(
            f"{text!r} has more than two bounds.", where="--" + name.replace("_", "-"), way_out="Write 1V..2.5V."
        )
    high = measured(name, pieces[1], unit, above=0.0)
    first = pieces[0]
    if re.fullmatch(r"[\d.,]+", first):  # the unit stands once, at the end
        first += re.sub(r"^[\d.,\s]+", "", pieces[1])
    low = measured(name, first, unit, above=0.0)
    if low > high:
        raise QuantityError(
            f"{text!r} has its bounds the wrong way round.",
            where="--" + name.replace("_", "-"),
            way_out="Write the lesser one first.",
        )
    return Band(least=low, most=high, said="as given")
