"""Several samples from a table that people keep beside the bench: a row each, headings in words."""

from __future__ import annotations

import io
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from loadworthy.catalog.dialects import find_delimiter, records
from loadworthy.catalog.encodings import decoded, detect
from loadworthy.errors import UnreadableFile
from loadworthy.quantities.numbers import NUMBER
from loadworthy.quantities.text import tidy

__all__ = ["Row", "read_samples"]

#: Option → words that head it, English and German; case and punctuation do not count.
_HEADINGS: Final[dict[str, tuple[str, ...]]] = {
    "sample": ("sample", "piece", "no", "number", "name", "specimen", "probe", "stück", "nr", "nummer", "muster"),
    "drop": ("drop", "voltage drop", "vds drop", "v drop", "drop voltage", "spannungsabfall", "abfall"),
    "current": ("current", "test current", "i", "id", "amperes", "strom", "messstrom", "prüfstrom"),
    "gate": ("gate", "gate voltage", "vgs", "drive", "gatespannung", "gate spannung"),
    "temp": ("temp", "temperature", "air", "case temperature", "temperatur", "lufttemperatur"),
    "leads": ("leads", "lead resistance", "messleitungen", "leitungswiderstand"),
    "pulse": ("pulse", "pulse length", "puls", "pulsdauer", "impulsdauer"),
    "duration": ("duration", "time", "dauer", "zeit"),
    "vth": (
        "vth",
        "threshold",
        "threshold voltage",
        "vgs th",
        "vgsth",
        "schwelle",
        "schwellspannung",
        "schwellenspannung",
    ),
    "gate_capacitance": (
        "gate capacitance",
        "ciss",
        "capacitance",
        "input capacitance",
        "gatekapazität",
        "gate kapazität",
        "eingangskapazität",
        "kapazität",
    ),
    "breakdown": (
        "breakdown",
        "breakdown voltage",
        "vbr",
        "bvdss",
        "durchbruch",
        "durchbruchspannung",
        "durchbruchsspannung",
    ),
    "marking": ("marking",),
    "outline": ("outline", "package looks"),
    "reading": ("reading", "resistance", "ohms", "r", "messwert", "anzeige", "widerstand"),
    "contacts": ("contacts", "kontakte"),
}
_UNIT_BEHIND: Final = re.compile(r"^(?P<words>.*?)\s*[\[(]\s*(?P<unit>[^\])]+?)\s*[\])]\s*$")
_BARE: Final = re.compile(r"[-+]?\d+(?:[.,]\d+)?(?:[eE][-+]?\d+)?")
#: A comma that cannot part thousands.
_COMMA: Final = re.compile(r"0*,\d+|\d+,(?:\d{1,2}|\d{4,})")
_MOST_BYTES: Final = 10_000_000


@dataclass(frozen=True, kw_only=True)
class Row:
    """One row: its number in the file, its readings by the names of the options, or what is wrong with it."""

    number: int
    given: Mapping[str, str]
    wrong: str | None = None


def read_samples(source: Path | bytes, known: frozenset[str]) -> Iterator[Row]:
    """Read the rows of a samples' file.

    Parameters
    ----------
    source
        The file or its bytes: a delimited text with one line of headings; a unit may stand in the heading in brackets,
        or in each cell.
    known
        The options that this measurement has.

    Yields
    ------
    Row
        One a row, blank ones left out.

    Raises
    ------
    UnreadableFile
        It cannot be read, or its headings say nothing that is known.
    """
    where = "the samples" if isinstance(source, bytes) else str(source)
    text = _text(source, where)
    rows = records(io.StringIO(text, newline=""), find_delimiter(text), where=where)
    columns: list[tuple[str, str] | None] = []
    taken: list[tuple[int, list[str]]] = []
    for number, cells in enumerate(rows, 1):
        if not any(cell.strip() for cell in cells) or cells[0].startswith("#"):
            continue
        if not columns:
            columns = _headed(cells, known, where)
            continue
        taken.append((number, cells))
    if not columns:
        raise UnreadableFile("it has no line of headings.", where=where, way_out=_way_out(known))
    comma = _has_commas([cells for _, cells in taken], columns)
    for number, cells in taken:
        yield _row(number, cells, columns, comma=comma)


def _text(source: Path | bytes, where: str) -> str:
    try:
        data = source if isinstance(source, bytes) else source.read_bytes()
    except OSError as error:
        raise UnreadableFile(
            f"it cannot be read: {error.strerror or error}.", where=where, way_out="Check the name and the rights."
        ) from error
    if len(data) > _MOST_BYTES:
        raise UnreadableFile(
            "it is too long for readings of a bench.", where=where, way_out="Split it, or check the name."
        )
    return "".join(decoded([data], detect(data)))


def _way_out(known: frozenset[str]) -> str:
    words = [_HEADINGS[name][0] for name in _HEADINGS if name in known or name == "sample"]
    return f"Head its columns with some of: {', '.join(words)}."


def _headed(cells: list[str], known: frozenset[str], where: str) -> list[tuple[str, str] | None]:
    by_words = {_folded(words): name for name, every in _HEADINGS.items() for words in every}
    found: list[tuple[str, str] | None] = []
    for cell in cells:
        heading = tidy(cell)
        match = _UNIT_BEHIND.match(heading)
        words, unit = (match["words"], match["unit"]) if match else (heading, "")
        name = by_words.get(_folded(words))
        found.append((name, unit) if name is not None and (name in known or name == "sample") else None)
    names = [column[0] for column in found if column is not None]
    if not set(names) - {"sample"}:
        raise UnreadableFile("no heading of it names a reading.", where=where, way_out=_way_out(known))
    twice = sorted({name for name in names if names.count(name) > 1})
    if twice:
        raise UnreadableFile(
            f"two columns are headed {twice[0].replace('_', ' ')}.", where=where, way_out="Keep one of them."
        )
    return found


def _folded(text: str) -> str:
    return re.sub(r"[\W_]+", " ", text.casefold()).strip()


def _has_commas(rows: list[list[str]], columns: list[tuple[str, str] | None]) -> bool:
    """Say whether a table writes its decimals with commas: one cell shows it and none speaks against it."""
    readings = (cell for cells in rows for cell, column in zip(cells, columns, strict=False) if _is_reading(column))
    numbers = (found.group() for cell in readings for found in re.finditer(NUMBER, cell))
    marked = [number for number in numbers if "," in number or "." in number]
    return any(_COMMA.fullmatch(number) for number in marked) and all("." not in number for number in marked)


def _is_reading(column: tuple[str, str] | None) -> bool:
    return column is not None and column[0] != "sample"


def _row(number: int, cells: list[str], columns: list[tuple[str, str] | None], *, comma: bool) -> Row:
    if len(cells) > len(columns):
        surplus = sum(1 for cell in cells[len(columns) :] if cell.strip())
        if surplus:
            wrong = "it has more cells than there are headings; a decimal comma wants another delimiter"
            return Row(number=number, given={}, wrong=wrong)
    given = {}
    for cell, column in zip(cells, columns, strict=False):
        if column is not None and cell.strip():
            name, unit = column
            text = " ".join(cell.split())
            if comma and _is_reading(column):
                text = re.sub(r"(?<=\d),(?=\d)", ".", text)
            given[name] = f"{text} {unit}" if unit and _BARE.fullmatch(text) else text
    return Row(number=number, given=given)
