"""A heading → which figure the column holds, and what it says of it.

A heading is read as quantity + min/typ/max + unit + test condition, in any order and spelling. The quantity is
found by letter symbols (IEC 60747-8) and by phrases of trade words from the family's description; no
supplier's set of headings is known here.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import cache, lru_cache

from loadworthy.catalog import families
from loadworthy.catalog.currencies import currency_of
from loadworthy.catalog.families import Family, Figure, words
from loadworthy.catalog.heading_parts import UNIT_DIMENSIONS, Name, Parts, bare, prepared, short, split
from loadworthy.quantities.text import tidy
from loadworthy.quantities.units import dimension_of, scale

__all__ = ["HeadingReading", "read_heading"]

_BREAK_HEADING = re.compile(
    r"(?:(?:ab|from|price|preis)\b\.?\s*)?(?P<quantity>\d{1,3}(?:[.,' ]?\d{3})*)\s*"
    r"(?:[-–]\s*\d[\d.,' ]*)?\s*(?:\+|up|off|stk\.?|st\.?|pcs?\.?|stück)?",
    re.IGNORECASE,
)
_PER = re.compile(r"\b(?:per|pro|je)\b|/\s?\d", re.IGNORECASE)
_BY_LENGTH = re.compile(
    r"(?:\b(?:per|pro|je)\b|/)\s*\d*\s*"
    r"(?:m|km|cm|ft|kft|met(?:re|er)s?|feet|foot|yards?|laufmeter|lfm)\b",
    re.IGNORECASE,
)
#: Brackets with words in them, unlike those of symbols and units.
_WORDLESS = re.compile(r"[\d\s.,+\-–]*")
_WORDY_BRACKET = re.compile(r"\([^()]*[\s,;][^()]*(?:\([^()]*\)[^()]*)*\)")
#: A letter symbol says more than a word of the same length.
_SYMBOL_WEIGHT = 4


@dataclass(frozen=True, kw_only=True)
class HeadingReading:
    """What a heading says; ``reads`` is None where no figure was found in it.

    ``unit_alone`` is true where only its unit spoke, and a unit of many a figure: it names no family.
    """

    reads: str | None = None
    statistic: str | None = None
    unit: str | None = None
    gate_v: float | None = None
    gates: tuple[float, ...] = ()
    degc: float | None = None
    place: str | None = None
    flow: float | None = None
    amps: float | None = None
    price_quantity: int | None = None
    per: int = 1
    unit_alone: bool = False
    certain: bool = True
    why: str = ""


@lru_cache(maxsize=4096)
def _compact(text: str) -> str:
    return re.sub(r"[^a-zäöüß0-9]", "", text.casefold().replace("θ", "th").replace("ϑ", "th"))


@cache
def _letters(family: Family) -> dict[str, tuple[str, ...]]:
    """Compact letter symbol → the figures that carry it."""
    found: dict[str, tuple[str, ...]] = {}
    for figure in _known(family):
        for letter in figure.letters:
            key = _compact(letter)
            found[key] = tuple(dict.fromkeys((*found.get(key, ()), figure.name)))
    return found


@cache
def _known(family: Family) -> tuple[Figure, ...]:
    return (*family.figures, *words().columns)


@dataclass(frozen=True, slots=True)
class _Phrase:
    place: int
    figure: str
    words: frozenset[str]
    score: int


@cache
def _phrases(family: Family) -> dict[str, list[_Phrase]]:
    """Return the phrases that name a figure, each under one of its words; ``place`` is its place among all."""
    found: dict[str, list[_Phrase]] = {}
    every = [(figure, phrase) for figure in _known(family) for phrase in figure.phrases]
    for place, (figure, phrase) in enumerate(every):
        spoken = frozenset(short(word) for word in re.split(r"\W+", phrase.casefold()) if word)
        score = sum(len(word) for word in spoken) + len(spoken)
        found.setdefault(max(spoken, key=len), []).append(_Phrase(place, figure.name, spoken, score))
    return found


@cache
def _weak_words(family: Family) -> frozenset[str]:
    return frozenset(word for figure in _known(family) for word in figure.weak)


def _candidates(names: list[Name], family: Family) -> dict[str, tuple[int, frozenset[int]]]:
    """Figure → its best score and the places of the words that speak for it."""
    best: dict[str, tuple[int, frozenset[int]]] = {}

    def offer(figure: str, score: int, places: Iterable[int]) -> None:
        before, where = best.get(figure, (0, frozenset()))
        best[figure] = (max(score, before), where | frozenset(places))

    letters = _letters(family)
    for start in range(len(names)):
        run = ""
        for end in range(start, min(start + 6, len(names))):
            run += _compact(names[end].word)
            glued = names[end].token.kind != "statistic" and re.sub(r"(max|min|typ)$", "", run)
            for key in {run, glued or run}:
                for figure in letters.get(key, ()):
                    offer(figure, len(key) * _SYMBOL_WEIGHT, range(start, end + 1))
    present = {name.word for name in names}
    spoken = [one for word in present for one in _phrases(family).get(word, ()) if one.words <= present]
    for phrase in sorted(spoken, key=lambda one: one.place):
        offer(phrase.figure, phrase.score, (index for index, name in enumerate(names) if name.word in phrase.words))
    return best


def _measures(figure: str, unit: str | None, family: Family) -> bool:
    """Can the figure be given in the unit that the heading names?"""
    dimension = family.figure(figure).unit
    return (
        not unit or not dimension or dimension_of(unit, UNIT_DIMENSIONS) is None or scale(unit, dimension) is not None
    )


def _choose(names: list[Name], unit: str | None, family: Family) -> tuple[str | None, frozenset[int], bool, str]:
    """Pick the figure that the name speaks for; say whether another one comes close."""
    found = _candidates(names, family)
    # "typ" is German for type and short for typical: beside a figure it is the latter.
    only_small = {f for f, (_, where) in found.items() if all(names[i].token.kind == "statistic" for i in where)}
    if len(only_small) < len(found):
        found = {figure: match for figure, match in found.items() if figure not in only_small}
    fitting = {figure: match for figure, match in found.items() if _measures(figure, unit, family)}
    if found and not fitting:
        figure = max(found, key=lambda name: found[name][0])
        return None, frozenset(), False, f"its words name {figure!r}, which is not given in {unit}"
    # A name inside a longer one that fits nearly as well says nothing: VGS in "VGS(th)", ID in "part id".
    ranked = sorted(
        (
            (figure, (score, places))
            for figure, (score, places) in fitting.items()
            if not any(places < wider and other * 2 >= score for other, wider in fitting.values())
        ),
        key=lambda item: -item[1][0],
    )
    if not ranked:
        present = {name.word for name in names}
        for one in _known(family) if present & _weak_words(family) else ():
            weak = sorted(set(one.weak) & present)
            if weak and _measures(one.name, unit, family):
                where = frozenset(i for i, name in enumerate(names) if name.word in weak)
                return one.name, where, False, f"only {', '.join(weak)!r} speaks for it"
        return None, frozenset(), False, "no word of it names a figure"
    figure, (score, places) = ranked[0]
    rivals = [
        name
        for name, (other, where) in ranked[1:]
        if (other * 10 >= score * 9 and not where < places) or (where.isdisjoint(places) and other * 4 >= score)
        # What other families only describe a part by, this one may choose by: weight, series.
        if not (name == "description" and where == places)
    ]
    if rivals:
        return figure, places, False, f"it could also be {', '.join(rivals)}"
    return figure, places, True, ""


@lru_cache(maxsize=4096)
def read_heading(text: str, family: Family) -> HeadingReading:
    """Read one heading.

    Parameters
    ----------
    text
        The heading as the file has it; headings over several rows are joined by line breaks.
    family
        The part family whose figures are looked for.

    Returns
    -------
    HeadingReading
        ``reads`` names the figure or shared column, None where none was found. ``certain`` is false where
        the words fit another figure nearly as well, or only a weak word speaks for it.

    Examples
    --------
    >>> from loadworthy.catalog import families
    >>> found = read_heading("On-resistance max [mOhm] at 4,5 V", families.load("transistor"))
    >>> found.reads, found.statistic, found.unit, found.gate_v
    ('rds_on', 'max', 'mOhm', 4.5)
    """
    if _WORDLESS.fullmatch(text):
        return _wordless(text)
    plain = _WORDY_BRACKET.sub(" ", text)
    reading = _read(text, family)
    outside = _read(plain, family) if plain != text else reading
    if outside.certain and outside.reads and outside.reads != reading.reads:
        reading = replace(outside, unit=outside.unit or reading.unit)  # what stands in brackets explains it
    plain = re.split(r"@|\b(?:at|bei)\b", plain)[0]
    pieces = [piece for piece in re.split(r"\s/\s|/(?=[A-Z][A-Za-z]+\b)|[,&]|\n", plain) if piece.strip()]
    if reading.reads and len(pieces) > 1:
        apart = [_read(piece, family) for piece in pieces if bare(piece).rstrip(".").lower() not in words().statistic]
        others = {one.reads for one in apart if one.certain and one.reads} - {
            reading.reads,
            family.gate_figure,
            "price",
        }
        others = {name for name in others if not _is_part_of(name, reading.reads, family)}
        if others and apart and apart[0].reads in (reading.reads, *others):
            why = f"it also names {', '.join(sorted(others))}"
            numbers = {family.figure(name).kind == "number" for name in (reading.reads, *others)}
            if numbers == {True}:  # to take its cells for one of two figures would be wrong half of the time
                return HeadingReading(certain=False, why=why)
            return replace(reading, certain=False, why=why)
    return reading


@lru_cache(maxsize=4096)
def _wordless(text: str) -> HeadingReading:
    """Read what has no word in it, alike for every family: nearly all cells that are looked at are numbers."""
    return _read(text, families.load(families.names()[0]))


def _is_part_of(name: str, figure: str, family: Family) -> bool:
    """Words that may stand in a longer heading without naming a second figure: "junction to case"."""
    same = family.figure(name).part_of == figure or family.figure(figure).part_of == name
    return name in ("package", "description") or figure in ("package", "description") or same


def _read(text: str, family: Family) -> HeadingReading:
    parts = split(text)
    figure, places, certain, why = _choose(parts.names, parts.unit, family)
    one = _BREAK_HEADING.fullmatch(tidy(text))
    if one and (figure in (None, "price")):
        quantity = int(re.sub(r"\D", "", one["quantity"])[:9])
        named = figure == "price"
        return HeadingReading(
            reads="price",
            price_quantity=quantity,
            certain=named,
            why="" if named else "a bare quantity: read as the price from it up",
        )
    spare = [name.token for index, name in enumerate(parts.names) if index not in places]
    statistics = list(dict.fromkeys(token.meaning for token in spare if token.kind == "statistic"))
    if not statistics:
        statistics = _glued_statistic(parts.names)
    place = next((token.meaning for token in spare if token.kind == "place"), None)
    unit_alone = figure is None and parts.named is None and not dimension_of(parts.unit or "", ("m2",))
    if figure is None:
        figure, certain, why = _unnamed(parts, family) or (None, certain, why)
    unit = parts.unit
    if figure is None and currency_of(text) and not parts.names[2:]:
        figure, certain, why = "price", False, "it names a currency and nothing else"
    if figure == "price":
        return _price(text, parts, unit, certain=certain, why=why)
    if figure is not None and family.figure(figure).kind == "other":
        return HeadingReading(why=f"{family.figure(figure).title} is not kept")
    if figure is not None and family.figure(figure).unit in parts.measured - {"V", "degC"}:
        return HeadingReading(certain=False, why=f"a number of {family.figure(figure).title} in it is not understood")
    gated = figure is not None and family.figure(figure).unit in ("ohm", "C", "V")
    gates = tuple(parts.gates) if gated else ()
    number = parts.numbers[0] if len(parts.numbers) == 1 else 0.0
    if not gates and figure in family.gated and (4 <= number <= 20 or (number % 1 and number > 1)):
        gates, certain, why = (number,), False, "its bare number is read as the gate voltage"
    gate_v = max(gates, default=None)
    if len(set(gates)) > 1:
        certain, why = False, "it names several gate voltages: a single value is read as given at the greatest"
    return HeadingReading(
        reads=figure,
        statistic="/".join(statistics) or None,
        unit=unit,
        gate_v=gate_v,
        gates=gates if len(set(gates)) > 1 else (),
        degc=parts.degc,
        place=place,
        flow=parts.flow,
        amps=parts.amps,
        unit_alone=unit_alone,
        certain=certain,
        why=why,
    )


def _unnamed(parts: Parts, family: Family) -> tuple[str | None, bool, str] | None:
    """Read a heading that names no figure, but a condition that another column's figure is given at, or a size."""
    if parts.named == "gate":
        return family.gate_figure, True, ""
    condition = next((one.name for one in family.figures if parts.named and one.condition == parts.named), None)
    if condition is not None:
        return condition, True, ""
    # Lists for direct current say DC and mean no more than the unit by it.
    soft = all(name.token.kind in ("statistic", "place") or name.word == "dc" for name in parts.names)
    if not (parts.unit and soft):
        return None
    if dimension_of(parts.unit, ("m2",)):
        return _only_area(family), False, "it names a size of wire and nothing else"
    spoken = bare(parts.unit).lower().replace(" ", "")
    weak = next(
        (one.name for one in family.figures if spoken in one.weak and _measures(one.name, spoken, family)), None
    )
    return (weak, False, f"only its unit {spoken!r} speaks for it") if weak else None


def _only_area(family: Family) -> str | None:
    """Return the one figure of the family that is a cross-section."""
    sizes = [figure.name for figure in family.figures if figure.unit == "m2" and figure.kind == "number"]
    return sizes[0] if len(sizes) == 1 else None


def _price(text: str, parts: Parts, unit: str | None, *, certain: bool, why: str) -> HeadingReading:
    """Say of a heading of prices from which quantity up they are, and in what."""
    if _BY_LENGTH.search(text):
        return HeadingReading(certain=False, why="it is the price of a length, and prices are kept by the piece")
    whole = [int(number) for number in parts.numbers if number == int(number) and number < 1e9]
    from_up = whole[0] if whole else None
    if from_up and from_up > 1 and _PER.search(text):
        doubt = f"the price of {from_up} pieces, or of one from {from_up} up? A recipe can say (per, quantity)"
        return HeadingReading(certain=False, why=doubt)
    hundredths = re.search(r"\b(ct|cents?|pence)\b", text, re.IGNORECASE)
    unit = currency_of(prepared(text)) or unit
    if hundredths and hundredths[1].lower() == "pence":
        unit = "GBP"
    return HeadingReading(
        reads="price", unit=unit, price_quantity=from_up, per=100 if hundredths else 1, certain=certain, why=why
    )


def _glued_statistic(names: list[Name]) -> list[str]:
    """``VDSmax`` carries its statistic at the end of the symbol."""
    for name in names:
        match = re.search(r"(max|min|typ)$", name.word)
        if match and match.group() != name.word and name.token.kind != "statistic" and len(name.word) < 12:
            return [match.group()]
    return []
