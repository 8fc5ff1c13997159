"""A heading taken apart: the words of its name, its unit, its test conditions."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from functools import lru_cache

from loadworthy.catalog.currencies import currency_of
from loadworthy.catalog.families import words
from loadworthy.catalog.scanning import Token, scan
from loadworthy.quantities.text import tidy
from loadworthy.quantities.units import dimension_of

__all__ = ["UNIT_DIMENSIONS", "Name", "Parts", "bare", "prepared", "short", "split"]

_DIMENSIONS = ("V", "A", "degC", "ohm", "W", "K/W", "F", "s", "C", "Hz", "J", "m2", "m/s")
UNIT_DIMENSIONS = (
    "V", "A", "ohm", "W", "K/W", "C", "F", "s", "degC", "J", "m", "K", "m2", "kg", "N·m", "ohm/m", "m/s", "H",
)  # fmt: skip
_MEASURED = {"gate": "V", "drain": "V", "amps": "A", "degc": "degC"}


@dataclass(frozen=True, slots=True)
class Name:
    """One word of the heading's name; a soft one is also a statistic or a place."""

    word: str
    token: Token


@dataclass(slots=True)
class Parts:
    """A heading in its parts; numbers without a unit, and the dimensions of those with one, stand aside."""

    names: list[Name] = field(default_factory=list)
    unit: str | None = None
    gates: list[float] = field(default_factory=list)
    degc: float | None = None
    flow: float | None = None
    amps: float | None = None
    numbers: list[float] = field(default_factory=list)
    measured: set[str] = field(default_factory=set)
    named: str | None = None


def bare(text: str) -> str:
    """Return a text without the brackets and marks round it."""
    return tidy(text).strip("[](){}<>,;:/ ")


def _unit_of(text: str) -> str | None:
    """Return the text if it is a unit and nothing else."""
    rest = re.sub(r"^(?:in\s+)?±?\s?", "", bare(text))
    rest = re.sub(r"^([munpkµ]) (?=(?:A|W|V|F|C|Ω|[Oo]hms?)$)", r"\1", rest)
    of, _, given_at = re.sub(r"\s*(?:@|\b(?:at|bei)\b)\s*", "@", rest).partition("@")
    if given_at and dimension_of(given_at, UNIT_DIMENSIONS):
        rest = of  # "V @ A": the cells name the unit of their condition themselves
    if rest.lower() in words().place or not rest or rest.isdigit():
        return None
    return rest if dimension_of(rest, UNIT_DIMENSIONS) else None


#: Units in headings that are all capitals or all small letters, where case says nothing. No on-resistance is in MΩ.
_CASELESS = {
    "ma": "mA", "mw": "mW", "mohm": "mΩ", "mohms": "mΩ", "milliohm": "mΩ", "uohm": "µΩ", "ohm": "Ω", "ohms": "Ω",
    "mv": "mV", "kv": "kV", "nc": "nC", "pf": "pF", "nf": "nF", "ns": "ns", "us": "µs", "v": "V",
    "a": "A", "w": "W", "c/w": "K/W", "k/w": "K/W", "°c/w": "K/W", "degc": "°C", "mj": "mJ", "mω": "mΩ",
}  # fmt: skip


def _with_case(text: str) -> str:
    """Mend the unit at the end or in brackets of a heading in capitals or small letters only."""
    letters = re.sub(r"[^A-Za-zÄÖÜäöü]", "", text)
    if len(letters) < 4 or not (letters.isupper() or letters.islower()):
        return text

    def mended(match: re.Match[str]) -> str:
        return _CASELESS.get(match.group().casefold(), match.group())

    text = re.sub(r"(?<=\s)([kc])\s?w$", "K/W", text, flags=re.IGNORECASE)
    return re.sub(r"(?<=[\s\[(/])[^\s\[\]()]{1,9}(?=$|[\s\])])", mended, text)


def prepared(text: str) -> str:
    """Part what is written together, and mend the case of units in headings of one case."""
    text = tidy(text).replace("_", " ").replace("–", "-").replace("—", "-")
    text = re.sub(r"(?<=V)AC\b", " AC", text)
    text = re.sub(r"\b(\d+)v(\d*)\b", r"\1V\2", text)  # snake_case_headings write 4v5 and 100c
    text = re.sub(r"(?<=\d)c\b", "°C", text)
    text = re.sub(r"\b(tc|ta|tj)(\d{2,3})\b", r"\1 \2°C", text, flags=re.IGNORECASE)
    text = _with_case(re.sub(r"\b(max|min|typ)(?=[A-Z])", r"\1 ", text))
    return re.sub(r"(?<=[a-zäöü]{2})(?=[A-Z][a-z]{2})", " ", text)


def _take_units(text: str, parts: Parts) -> str:
    """Take bracketed units and those after "in" or "/" or at the end out of the heading."""

    def bracket(match: re.Match[str]) -> str:
        unit = _unit_of(match.group(1)) or currency_of(match.group(1))
        if unit and parts.unit is None:
            parts.unit = unit
            return " "
        return match.group()

    text = re.sub(r"[\[({]\s*(?:in\s+)?([^\[\](){}]*?)\s*[\])}]", bracket, text)
    if parts.unit is None:
        match = re.search(r"(?:\bin\s+|[/,:|]\s*|\s)([^\s\[\]()]{1,8}(?:\s?/\s?W)?)\s*$", text)
        unit = _unit_of(match.group(1)) if match else None
        if (
            match
            and unit
            and len(text[: match.start()].strip()) > 1
            and not re.search(r"\d\s?$", text[: match.start()])
        ):
            parts.unit = unit
            text = text[: match.start()]
    if parts.unit is None:
        match = re.search(r"\bin\s+([^\s\[\]()@]{1,8})(?=\s|@|$)", text)
        unit = _unit_of(match.group(1)) if match else None
        if match and unit:
            parts.unit = unit
            text = text[: match.start()] + " " + text[match.end() :]
    return text


@lru_cache(maxsize=8192)
def split(text: str) -> Parts:
    """Take a heading apart into the words of its name, unit and conditions; nobody changes what is returned."""
    parts = Parts()
    lines = [line for line in text.splitlines() if line.strip()]
    rest: list[str] = []
    for line in lines:
        unit = _unit_of(line) if len(lines) > 1 else None
        if unit and parts.unit is None:
            parts.unit = unit
        else:
            rest.append(prepared(line))
    tokens = scan(_take_units(" ".join(rest), parts), decimal=None, dimensions=_DIMENSIONS)
    at_mode = False
    for index, token in enumerate(tokens):
        following = tokens[index + 1] if index + 1 < len(tokens) else None
        if token.kind == "at" or token.text == "@":
            at_mode = True
        elif token.kind == "symbol" and _is_condition(token, following, tokens[index - 1] if index else None, at_mode):
            parts.named = "gate" if "gate" in (parts.named, token.meaning) else parts.named or token.meaning
        elif token.kind == "number" and not _is_symbol(token):
            before = tokens[index - 1] if index else None
            if before and before.kind == "place" and token.dimension is None and 20 <= token.value <= 200:
                parts.degc = token.value  # id_tc100
                continue
            if before is None or before.kind != "symbol" or before.meaning == "gate" or token.dimension != "V":
                _condition(token, parts)
        elif token.kind == "unit" and parts.unit is None and _stands_alone(token, index, tokens):
            parts.unit = token.text
        elif token.kind != "mark":
            at_mode = at_mode and token.kind in ("place", "statistic")
            parts.names += [Name(short(word), token) for word in re.split(r"[^\wθϑ]+", token.text.casefold()) if word]
    return parts


def _is_symbol(token: Token) -> bool:
    """R1 and R20 are values in a cell and letter symbols in a heading."""
    return token.meaning == "code" and token.text[:1].isalpha()


def _stands_alone(token: Token, index: int, tokens: list[Token]) -> bool:
    """A unit of one letter may be a word of its own; at the end of a heading it is the unit."""
    return len(token.text) > 1 or token.text == "Ω" or index == len(tokens) - 1


def _is_condition(token: Token, following: Token | None, before: Token | None, at_mode: bool) -> bool:
    """Is this letter symbol a test condition here, and not the heading's own quantity?"""
    if at_mode or (before and before.kind == "symbol" and before.text.endswith("=")):
        return True
    if following is None or token.meaning == "other":
        return False
    if following.kind == "number":
        return following.dimension in (_MEASURED[token.meaning], None) and not (
            following.dimension is None and token.meaning == "amps"
        )
    return token.text.endswith("=")


def _condition(token: Token, parts: Parts) -> None:
    if token.dimension:
        parts.measured.add(token.dimension)
    if token.dimension == "V":
        parts.gates.append(token.value)
    elif token.dimension == "degC":
        parts.degc = token.value
    elif token.dimension == "m/s":
        parts.flow = token.value
    elif token.dimension == "A":
        parts.amps = token.value
    elif token.dimension is None:
        parts.numbers.append(token.value)


def short(word: str) -> str:
    """Return the word that a short form stands for."""
    return words().short.get(word, word)
