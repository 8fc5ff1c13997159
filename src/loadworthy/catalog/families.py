"""What a part family's lists say and what the catalogue keeps of it: read from ``catalog/families/*.toml``."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any

from loadworthy import shipped
from loadworthy.errors import FamilyError

__all__ = ["Family", "Figure", "Kept", "Levels", "Negative", "Words", "load", "names", "words"]


@dataclass(frozen=True, kw_only=True)
class Kept:
    """One column of the parts table, and which readings of a figure it keeps.

    ``worse`` says which of two claims counts: ``lower``, ``higher`` or ``first``. ``beside`` names columns for
    the conditions that the reading was given with, such as ``{"flow": "forced_flow_m_per_s"}``.
    """

    column: str
    statistic: str | None
    place: str | None
    worse: str
    beside: Mapping[str, str]


@dataclass(frozen=True, kw_only=True)
class Levels:
    """A figure that is kept once for each standard gate voltage: ``{stem}_4v5_ohm`` and so on."""

    stem: str
    values: tuple[float, ...]
    worse: str

    @staticmethod
    def label(level: float) -> str:
        """Name a level as the columns do.

        Examples
        --------
        >>> Levels.label(4.5), Levels.label(10.0)
        ('4v5', '10v0')
        """
        return f"{level:.1f}".replace(".", "v")


@dataclass(frozen=True, kw_only=True)
class Negative:
    """A rating whose negative side is kept apart, and counts for the parts of one kind."""

    column: str
    kind_of: str
    kind: str


@dataclass(frozen=True, kw_only=True, eq=False)
class Figure:
    """One figure of a data sheet: how lists name and write it, what it can be, where it is kept."""

    name: str
    kind: str
    symbol: str
    title: str
    unit: str
    plausible: tuple[float, float]
    usual: Mapping[str, tuple[float, float]]
    magnitude: bool
    limit_only: bool
    unmarked: str | None
    unmarked_place: str | None
    letters: tuple[str, ...]
    phrases: tuple[str, ...]
    weak: tuple[str, ...]
    choices: Mapping[str, tuple[str, ...]]
    barred: Mapping[str, str]
    barred_as: str | None
    pulsed: bool
    store: tuple[Kept, ...]
    levels: Levels | None
    curve: str | None
    nouns: tuple[str, ...]
    single: bool
    named_only: bool
    gated: bool
    gates: bool
    may_gate: bool
    may_be_index: bool
    own_condition: str | None
    condition: str | None
    better_named: str | None
    part_of: str | None
    negative: Negative | None

    @property
    def text(self) -> bool:
        """Whether it is kept as text."""
        return self.kind in ("choice", "text")

    @property
    def places(self) -> frozenset[str]:
        """The places (case, still air, …) that have a column of their own."""
        return frozenset(kept.place for kept in self.store if kept.place)

    @property
    def keeps_statistics(self) -> frozenset[str]:
        """The statistics that have a column of their own."""
        return frozenset(kept.statistic for kept in self.store if kept.statistic)


@dataclass(frozen=True, kw_only=True, eq=False)
class Family:
    """One part family: its name, its figures, and how its table is laid."""

    name: str
    title: str
    sorted_by: tuple[str, ...]
    figures: tuple[Figure, ...]
    named_by: tuple[str, ...]

    def names(self, text: str) -> bool:
        """Say whether a text names parts of the family: terminal blocks, fuses, MOSFETs."""
        return bool(self.named_by) and _naming(self.named_by).search(text) is not None

    @property
    def gate_figure(self) -> str | None:
        """The figure whose column says at which gate voltage others are given."""
        return next((figure.name for figure in self.figures if figure.gates), None)

    @property
    def gated(self) -> frozenset[str]:
        """The figures that are given at a gate voltage."""
        return frozenset(figure.name for figure in self.figures if figure.gated)

    def figure(self, name: str) -> Figure:
        """Return the figure of that name, or of the columns that all families share."""
        for figure in (*self.figures, *words().columns):
            if figure.name == name:
                return figure
        raise FamilyError(
            f"the family {self.name!r} has no figure {name!r}.",
            way_out="It has " + ", ".join(figure.name for figure in (*self.figures, *words().columns)) + ".",
        )


@cache
def _naming(words_of_it: tuple[str, ...]) -> re.Pattern[str]:
    return re.compile(rf"(?<![^\W_\d])(?:{'|'.join(map(re.escape, words_of_it))})(?![^\W_\d])", re.IGNORECASE)


@dataclass(frozen=True, kw_only=True, eq=False)
class Words:
    """Small words of the trade that every family shares."""

    statistic: Mapping[str, str]
    place: Mapping[str, str]
    condition: frozenset[str]
    missing: frozenset[str]
    summary: frozenset[str]
    short: Mapping[str, str]
    columns: tuple[Figure, ...]


def _phrases(table: Mapping[str, Any]) -> tuple[str, ...]:
    """All languages' phrases: every list of texts under a two-letter key."""
    found: list[str] = []
    for key, value in table.items():
        if len(key) == 2 and isinstance(value, list):
            found += [str(phrase) for phrase in value]
    return tuple(dict.fromkeys(found))


def _figure(table: Mapping[str, Any]) -> Figure:
    levels = table.get("levels")
    low, high = table.get("plausible", (float("-inf"), float("inf")))
    return Figure(
        name=table["name"],
        kind=table.get("kind", "number"),
        symbol=table.get("symbol", ""),
        title=table["title"],
        unit=table.get("unit", ""),
        plausible=(float(low), float(high)),
        usual={unit: (float(a), float(b)) for unit, (a, b) in table.get("usual", {}).items()},
        magnitude=bool(table.get("magnitude", False)),
        limit_only=bool(table.get("limit_only", False)),
        unmarked=table.get("unmarked"),
        unmarked_place=table.get("unmarked_place"),
        letters=tuple(table.get("letters", ())),
        phrases=_phrases(table),
        weak=tuple(table.get("weak", ())),
        barred=table.get("barred", {}),
        barred_as=table.get("barred_as"),
        pulsed=bool(table.get("pulsed", False)),
        choices={key: tuple(values) for key, values in table.get("choices", {}).items()},
        store=tuple(
            Kept(
                column=kept["column"],
                statistic=kept.get("statistic"),
                place=kept.get("place"),
                worse=kept["worse"],
                beside=kept.get("beside", {}),
            )
            for kept in table.get("store", [])
        ),
        levels=Levels(stem=levels["stem"], values=tuple(levels["values"]), worse=levels["worse"]) if levels else None,
        curve=table.get("curve"),
        nouns=tuple(table.get("nouns", ())),
        single=bool(table.get("single", False)),
        named_only=bool(table.get("named_only", False)),
        gated=bool(table.get("gated", False)),
        gates=bool(table.get("gates", False)),
        may_gate=bool(table.get("may_gate", False)),
        may_be_index=bool(table.get("may_be_index", False)),
        own_condition=table.get("own_condition"),
        condition=table.get("condition"),
        better_named=table.get("better_named"),
        part_of=table.get("part_of"),
        negative=Negative(**table["negative"]) if "negative" in table else None,
    )


def _read(path: str) -> dict[str, Any]:
    with (shipped.catalog_dir() / path).open("rb") as file:
        return tomllib.load(file)


@cache
def names() -> tuple[str, ...]:
    """Return the names of the families that have a description."""
    return tuple(sorted(path.stem for path in (shipped.catalog_dir() / "families").glob("*.toml")))


@cache
def load(name: str) -> Family:
    """Return the description of a family.

    Raises
    ------
    FamilyError
        There is no such family, or its description lacks something.
    """
    if name not in names():
        raise FamilyError(f"there is no part family {name!r}.", way_out=f"There is {', '.join(names())}.")
    table = _read(f"families/{name}.toml")
    try:
        return Family(
            name=table["name"],
            title=table["title"],
            sorted_by=tuple(table["sorted_by"]),
            figures=tuple(_figure(figure) for figure in table["figure"]),
            named_by=tuple(word.casefold() for word in table.get("named_by", ())),
        )
    except (KeyError, TypeError, ValueError) as error:
        raise FamilyError(
            f"the description of the family {name!r} is not sound: {error!r}.",
            where=f"catalog/families/{name}.toml",
            way_out="DEVELOPERS.md says what a family needs.",
        ) from error


def _by_word(table: Mapping[str, Mapping[str, list[str]]]) -> dict[str, str]:
    return {word: meaning for meaning, lists in table.items() for word in _phrases(lists)}


@cache
def words() -> Words:
    """Return the small words that all families share."""
    table = _read("words.toml")
    return Words(
        statistic=_by_word(table["statistic"]),
        place=_by_word(table["place"]),
        condition=frozenset(_phrases(table["condition"])),
        missing=frozenset(word.casefold() for word in table["missing"]["words"]),
        summary=frozenset(word.casefold() for word in table["summary"]["words"]),
        short=table["short"],
        columns=tuple(_figure(column) for column in table["column"]),
    )
