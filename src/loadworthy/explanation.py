"""One part against one need, line by line: what it has, what it needs, and the arithmetic."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass, field
from typing import Any

from loadworthy import statements
from loadworthy.criteria import Criterion
from loadworthy.errors import UsageError
from loadworthy.judging import assumed, figures, filled, names_in, offers_of, plain, remarks, require_parts, statement
from loadworthy.listed import listed_at, near_numbers
from loadworthy.measured_parts import kept
from loadworthy.needs import Need
from loadworthy.selection import wished_first
from loadworthy.statements import Connection, HasConnection, Statement

__all__ = ["CriterionLine", "Explanation", "FormulaLine", "explain"]

_VERDICTS = {True: "pass", False: "fail", None: "unknown"}


@dataclass(frozen=True, kw_only=True)
class CriterionLine:
    """One criterion: what the part has, what it needs, by how much, and where the limit comes from.

    ``margin`` is the distance to the limit in the criterion's unit, negative where it is missed; None where
    nothing numeric is compared, a side is not known, or the part must be neither more nor less.
    """

    name: str
    title: str
    symbol: str
    rule: str
    value: float | str | None
    limit: float | str | None
    margin: float | None
    unit: str | None
    sense: str
    verdict: str
    accepted: bool
    source: str
    assumed: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class FormulaLine:
    """One step of the arithmetic: the law, the law with the numbers put in, its source, and the figures in it."""

    title: str
    text: str
    worked: str
    source: str
    figures: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class Explanation:
    """One part against one need.

    Attributes
    ----------
    need
        The need.
    part
        The part's figures in SI units.
    fits
        Whether every criterion passes, counting accepted unknowns as passed.
    criteria
        One line a criterion, in the order of the need.
    listed
        On-resistance at each gate voltage that the lists give, with its statistic.
    formulas
        The arithmetic.
    assumed
        What the figures rest on.
    remarks
        What else there is to say of the part.
    remedy
        What would make the part fit, by name with its unit, where only its heat stops it.
    cautions
        What to mind.
    statements
        The statements that ran, with what was bound to them.
    """

    need: Need
    part: Mapping[str, Any]
    fits: bool
    criteria: tuple[CriterionLine, ...]
    listed: tuple[Mapping[str, float | str], ...]
    formulas: tuple[FormulaLine, ...]
    assumed: tuple[str, ...]
    remarks: tuple[str, ...]
    remedy: Mapping[str, float]
    cautions: tuple[str, ...]
    statements: tuple[Statement, ...] = field(repr=False)

    def as_json(self) -> dict[str, Any]:
        """Return it as plain values, with the SI units in the names."""
        return {
            "need": self.need.as_json(),
            "part": dict(self.part),
            "fits": self.fits,
            "criteria": [{**asdict(line), "assumed": list(line.assumed)} for line in self.criteria],
            "listed": [dict(one) for one in self.listed],
            "formulas": [{**asdict(line), "figures": list(line.figures)} for line in self.formulas],
            "assumed": list(self.assumed),
            "remarks": list(self.remarks),
            "remedy": dict(self.remedy),
            "cautions": list(self.cautions),
        }


def explain(catalog: HasConnection, part: str, need: Need, *, maker: str | None = None) -> Explanation:
    """Hold one part against a need.

    Parameters
    ----------
    catalog
        The catalogue; only its ``connection`` is used.
    part
        Its part number; case does not count.
    need
        What the part is needed for.
    maker
        Its maker, where several use the number.

    Raises
    ------
    CatalogError
        The catalogue holds no parts of the family.
    UsageError
        There is no such part, or several makers have one.
    """
    connection: Connection = catalog.connection
    require_parts(connection, need.rules.family)
    wanted = part.strip()
    asked = statement(
        "one_part", need, closely=True, values={"part": wanted, "maker": maker.strip() if maker else None}
    )
    rows = asked.rows(connection)
    if not rows:
        raise _no_such_part(connection, wanted, maker, need)
    if len(rows) > 1:
        makers = ", ".join(str(row["maker"]) for row in rows)
        raise UsageError(f"{part!r} is made by {makers}.", where="PART", way_out="Say whose part it is with --maker.")
    row = {**rows[0], "offer": _nearest_offer(connection, rows[0]["part_key"], need)}
    lines = tuple(_line(need.rules.criterion(name), row, need) for name in need.asked())
    failing = [line.name for line in lines if line.verdict == "fail"]
    remedy = {}
    if failing and set(failing) <= need.remedied:
        remedy = need.remedy({**row, "criterion": failing[0]})
    return Explanation(
        need=need,
        part=figures(row),
        fits=all(line.verdict == "pass" or line.accepted for line in lines),
        criteria=lines,
        listed=_listed(connection, row["part_key"], need.rules.family),
        formulas=tuple(_formulas(row, need)),
        assumed=tuple(assumed(row, need)),
        remarks=(*remarks(row, need.rules), *kept(connection, need.rules.family).remarks(row)),
        remedy=remedy,
        cautions=need.cautions(),
        statements=(asked,),
    )


def _line(criterion: Criterion, row: Mapping[str, Any], need: Need) -> CriterionLine:
    value, limit = _sides(criterion, row, need)
    verdict = row[f"ok_{criterion.name}"]
    return CriterionLine(
        name=criterion.name,
        title=criterion.title,
        symbol=criterion.symbol,
        rule=criterion.rule,
        value=value,
        limit=limit,
        margin=_margin(criterion, value, limit),
        unit=criterion.unit,
        sense=criterion.sense,
        verdict=_VERDICTS[verdict],
        accepted=verdict is None and bool(need.parameters()[f"let_{criterion.name}"]),
        source=need.limit_sources().get(criterion.name, criterion.source),
        assumed=tuple(assumed(row, need, of=[criterion.name])),
    )


def _sides(criterion: Criterion, row: Mapping[str, Any], need: Need) -> tuple[float | str | None, float | str | None]:
    if criterion.flag and row[criterion.flag]:
        return criterion.flag_words, plain(row[f"needs_{criterion.name}"])
    if criterion.numeric:
        return plain(row[f"has_{criterion.name}"]), plain(row[f"needs_{criterion.name}"])
    value = row.get(criterion.figure or "")
    limit = _wishes(need) if criterion.limit == "offer" else need.as_json().get(criterion.limit or "")
    return value, " or ".join(limit) if isinstance(limit, list) else limit


def _wishes(need: Need) -> str:
    """Say in words what is asked of an offer."""
    asked = need.as_json()
    said = [f"from {' or '.join(asked['supplier'])}"] if asked.get("supplier") else []
    said += ["in stock"] if asked.get("in_stock") else []
    said += [f"at most {asked['max_price']}"] if asked.get("max_price") else []
    return ", ".join(said)


def _nearest_offer(connection: Connection, part_key: str, need: Need) -> str | None:
    """Say in words which offer comes nearest to what is asked of one."""
    asked = statements.bind("offers", offers_of(), {"family": need.rules.family, "part_key": [part_key]})
    offers = wished_first(asked.rows(connection), need)
    if not offers:
        return None
    best = offers[0]
    price = "no price" if best["unit_price"] is None else f"{best['unit_price']:.2f} {best['currency'] or ''}".strip()
    stock = "stock not said" if best["stock"] is None else f"{best['stock']} in stock"
    return f"{best['supplier']}: {price}, {stock}"


def _listed(connection: Connection, part_key: str, family: str) -> tuple[dict[str, float | str], ...]:
    """Return the figures that the lists give at each gate voltage, the greatest voltage first."""
    asked = statements.bind("listed", statements.assemble("listed", family=family), {"part_key": part_key})
    row = asked.rows(connection)[0]
    return tuple(
        {"statistic": "typ" if one.typical else "max", "vgs_v": one.gate_v, "rds_on_ohm": one.ohms}
        for one in listed_at(row, family)
    )


def _margin(criterion: Criterion, value: float | str | None, limit: float | str | None) -> float | None:
    if not criterion.sense or not isinstance(value, (int, float)) or not isinstance(limit, (int, float)):
        return None
    return value - limit if criterion.sense == "at least" else limit - value


def _formulas(row: Mapping[str, Any], need: Need) -> list[FormulaLine]:
    known = {**need.parameters(), **figures(row)}
    return [
        FormulaLine(
            title=formula.title,
            text=formula.text,
            worked=filled(formula.worked, known, digits=4),
            source=formula.source,
            figures=tuple(dict.fromkeys(names_in(formula.worked))),
        )
        for formula in need.rules.formulas
        if _holds(formula.when, known)
        if all(known.get(name) is not None for name in names_in(formula.worked))
    ]


def _holds(when: str | None, known: Mapping[str, Any]) -> bool:
    """Say whether a formula is one of this part: ``when`` names a figure that must be, or with ``not`` must not be."""
    if when is None:
        return True
    name = when.removeprefix("not ")
    return bool(known.get(name)) != (name != when)


def _no_such_part(connection: Connection, part: str, maker: str | None, need: Need) -> UsageError:
    family = need.rules.family
    near = near_numbers(connection, part, [family], most=5)
    whose = f" by {maker}" if maker else ""
    return UsageError(
        f"the catalogue holds no {family} {part!r}{whose}.",
        where="PART",
        way_out=f"Close to it: {', '.join(near)}." if near else "Look at what it holds with: loadworthy catalog.",
    )
