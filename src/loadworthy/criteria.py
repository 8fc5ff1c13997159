"""What a family's parts are judged on, as its TOML says it: criteria, margins, assumptions, formulas."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any

from loadworthy import shipped
from loadworthy.errors import FamilyError

__all__ = [
    "Assumption", "Criterion", "Formula", "Heading", "Margin", "Profile", "Ranking", "Remark", "Rules", "load",
]  # fmt: skip

_NAME = re.compile(r"[a-z][a-z0-9_]*")
_SENSES = ("at least", "at most", "below", "")


@dataclass(frozen=True, kw_only=True)
class Criterion:
    """One thing that a part must meet; the query has its verdict in ``ok_{name}``."""

    name: str
    title: str
    rule: str
    numeric: bool
    symbol: str = ""
    unit: str | None = None
    sense: str = ""
    source: str = ""
    rests_on: tuple[str, ...] = ()
    figure: str | None = None
    limit: str | None = None
    flag: str | None = None
    flag_words: str = ""


@dataclass(frozen=True, kw_only=True)
class Assumption:
    """What ``assumed_{name}`` of the query means, and the criteria that rest on it."""

    name: str
    words: str
    of: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class Remark:
    """What to say of a part where ``remark_{name}`` of the query is true: words with ``{figure:unit}`` in them."""

    name: str
    words: str


@dataclass(frozen=True, kw_only=True)
class Heading:
    """What stands above a figure of the query in a table, and how soon its column makes room for others."""

    text: str
    weight: int


@dataclass(frozen=True, kw_only=True)
class Formula:
    """One line of arithmetic: the law, the law with ``{figure:unit}`` to be replaced, and its source.

    ``when`` names what must be so for it to hold: a figure that is neither zero nor unknown, or after ``not`` one
    that is.
    """

    title: str
    text: str
    worked: str
    source: str
    when: str | None = None


@dataclass(frozen=True, kw_only=True)
class Margin:
    """The value of one margin, and where it comes from."""

    value: float
    source: str


@dataclass(frozen=True, kw_only=True)
class Profile:
    """A set of margins by name."""

    name: str
    margin: Mapping[str, Margin]


@dataclass(frozen=True, kw_only=True)
class Ranking:
    """What fitting parts are ranked by.

    ``least_price`` among them stands for the cheapest offer that meets the need. ``floor`` is a figure that only
    `plain` criteria have to do with and that bounds the first key from below.
    """

    by: tuple[str, ...]
    floor: str | None = None
    plain: tuple[str, ...] = ()

    @property
    def priced(self) -> bool:
        """Whether what a part costs is one of the keys."""
        return "least_price" in self.by


@dataclass(frozen=True, kw_only=True)
class Rules:
    """Everything a family's parts are judged by."""

    family: str
    criteria: tuple[Criterion, ...]
    assumptions: tuple[Assumption, ...]
    remarks: tuple[Remark, ...]
    headings: Mapping[str, Heading]
    formulas: tuple[Formula, ...]
    profiles: Mapping[str, Profile]
    ranking: Ranking

    @property
    def titles(self) -> dict[str, str]:
        """What each criterion is about."""
        return {criterion.name: criterion.title for criterion in self.criteria}

    def criterion(self, name: str) -> Criterion:
        """Return the criterion of that name."""
        return next(criterion for criterion in self.criteria if criterion.name == name)


@cache
def load(family: str) -> Rules:
    """Read what ``catalog/families/{family}.toml`` says of judging.

    Raises
    ------
    FamilyError
        There is no such family, or its description is not sound.
    """
    path = shipped.catalog_dir() / "families" / f"{family}.toml"
    try:
        table = tomllib.loads(path.read_text(encoding="utf-8"))
        rules = _rules(family, table)
    except FileNotFoundError as error:
        raise FamilyError(f"there is no family {family!r}.", way_out="Describe it in catalog/families.") from error
    except (tomllib.TOMLDecodeError, KeyError, TypeError) as error:
        raise FamilyError(f"{error}.", where=str(path), way_out="Compare it with a sound family.") from error
    _check(rules, str(path))
    return rules


def _rules(family: str, table: Mapping[str, Any]) -> Rules:
    profiles = [
        Profile(
            name=row["name"],
            margin={name: Margin(**margin) for name, margin in row["margin"].items()},
        )
        for row in table.get("profile", ())
    ]
    return Rules(
        family=family,
        criteria=tuple(Criterion(**{**row, "rests_on": tuple(row.get("rests_on", ()))}) for row in table["criterion"]),
        assumptions=tuple(Assumption(**{**row, "of": tuple(row["of"])}) for row in table.get("assumption", ())),
        remarks=tuple(Remark(**row) for row in table.get("remark", ())),
        headings={
            name: Heading(text=text, weight=weight) for name, (text, weight) in table.get("headings", {}).items()
        },
        formulas=tuple(Formula(**row) for row in table["formula"]),
        profiles={profile.name: profile for profile in profiles},
        ranking=Ranking(
            by=tuple(table["ranking"]["by"]),
            floor=table["ranking"].get("floor"),
            plain=tuple(table["ranking"].get("plain", ())),
        ),
    )


def _check(rules: Rules, where: str) -> None:
    """Names go into the text of a query, so nothing but plain names may pass."""
    known = [criterion.name for criterion in rules.criteria]
    floor = (rules.ranking.floor,) if rules.ranking.floor else ()
    for name in (
        *known,
        *(assumption.name for assumption in rules.assumptions),
        *(remark.name for remark in rules.remarks),
        *rules.ranking.by,
        *floor,
    ):
        if not _NAME.fullmatch(name):
            raise FamilyError(f"{name!r} is no plain name.", where=where, way_out="Use a–z, 0–9 and _.")
    references = {name for criterion in rules.criteria for name in criterion.rests_on}
    references |= {name for assumption in rules.assumptions for name in assumption.of}
    unknown = sorted((references | set(rules.ranking.plain)) - set(known))
    if unknown or len(set(known)) < len(known):
        raise FamilyError(
            f"criteria are named twice, or named and not described: {', '.join(unknown) or known}.",
            where=where,
            way_out="Describe each once as [[criterion]].",
        )
    senses = [criterion.name for criterion in rules.criteria if criterion.sense not in _SENSES]
    if senses:
        raise FamilyError(
            f"the sense of {senses[0]!r} is none of 'at least', 'at most', 'below'.",
            where=where,
            way_out="Write one of them.",
        )
