"""Part and order numbers: texts that are nearly all different, so that they are tidied row by row, where they need it.

Most lists need nothing of the kind. One look over the bytes of each column says so.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache

import duckdb
import numpy as np
import numpy.typing as npt
import pyarrow as pa
import pyarrow.compute as pc

from loadworthy.catalog import arrays
from loadworthy.catalog.columns import Layout
from loadworthy.catalog.families import words
from loadworthy.catalog.texts import Texts

__all__ = ["NUMBERS", "NumberTexts", "records_alike", "records_saying", "survey_numbers"]

#: The columns that are read so.
NUMBERS = ("part_number", "order_number")
_BLANKS = " \t\r\n\u00a0"
_NO_BREAK = b"\xc2\xa0"  # the one blank of two bytes
_LF = 10
#: Where more than this share of the records may have a number in common, they are not picked out.
_MOST_ALIKE = 0.1
#: Of more records than these the hashes would take too much memory, some 30 bytes each.
_MOST_RECORDS = 16_000_000


@dataclass(frozen=True, kw_only=True)
class NumberTexts:
    """How the columns of numbers are tidied: what their texts do not need is not done to each of them.

    Attributes
    ----------
    expressions
        Column → expression over the rows ``r``; NULL where a cell gives no number.
    may_lack
        Whether a row may have no part number.
    as_keys
        Whether the parts' keys end in the part numbers as they are: no small letter and no blank is in them.
    """

    expressions: Mapping[str, str]
    may_lack: bool
    as_keys: bool


def survey_numbers(connection: duckdb.DuckDBPyConnection, layout: Layout, texts: Texts) -> NumberTexts:
    """Look through the columns of numbers once: blanks at their ends, line breaks, words that say "none".

    Parameters
    ----------
    connection
        Where the texts that say "none" are put down, in a temporary table.
    layout, texts
        The columns and what stands in them.
    """
    expressions: dict[str, str] = {}
    may_lack, as_keys = True, False
    for name in NUMBERS:
        column = layout.reading(name)
        if column is None:
            expressions[name] = "NULL"
            continue
        chunks = texts.table.column(column.field).chunks
        looks = [_look(chunk.dictionary if pa.types.is_dictionary(chunk.type) else chunk) for chunk in chunks]
        untidy = any(look.untidy for look in looks)
        absent = sorted(set().union(*(look.absent for look in looks)))
        cell = f'r."{column.field}"'
        trimmed = f"trim(replace(replace({cell}, chr(13), ''), chr(10), ' '), '{_BLANKS}')"
        tidied = f"nullif({trimmed}, '')" if untidy else cell
        if absent:
            connection.execute(f"CREATE OR REPLACE TEMP TABLE absent_{name} AS SELECT unnest(?) AS text", [absent])
            tidied = f"CASE WHEN {cell} NOT IN (SELECT text FROM absent_{name}) THEN {tidied} END"
        expressions[name] = tidied
        if name == "part_number":
            as_keys = not untidy and all(look.as_keys for look in looks)
            may_lack = bool(absent) or untidy or any(chunk.null_count for chunk in chunks)
    return NumberTexts(expressions=expressions, may_lack=may_lack, as_keys=as_keys)


@dataclass(frozen=True, kw_only=True)
class _Look:
    """What a batch of texts needs: to be tidied, and to be left out."""

    untidy: bool = False
    absent: frozenset[str] = frozenset()
    as_keys: bool = True


def _look(texts: pa.Array) -> _Look:
    if texts.null_count == len(texts):
        return _Look()
    ends, letters = _bytes_of(texts)
    absent = frozenset(texts.take(arrays.counted(_rows_saying(texts, _none_words()))).to_pylist())
    if _needs_tidying(ends, letters):
        return _Look(untidy=True, absent=absent, as_keys=False)
    own = letters[ends[0] : ends[-1]]
    return _Look(absent=absent, as_keys=bool(own.max() < ord("a") and (own != ord(" ")).all()))


def records_saying(layout: Layout, texts: Texts, words: frozenset[str]) -> list[int]:
    """Return the records whose part number is one of these words, in small letters here and in any there."""
    number = layout.reading("part_number")
    if number is None:
        return []
    found: list[int] = []
    for batch, chunk in enumerate(texts.table.column(number.field).chunks):
        coded = pa.types.is_dictionary(chunk.type)
        rows = _rows_saying(chunk.dictionary if coded else chunk, words)
        if coded:
            rows = np.flatnonzero(np.isin(arrays.places(chunk.indices), rows))
        found += arrays.whole(texts.table.column("record").chunk(batch))[rows].tolist()
    return found


def _bytes_of(texts: pa.Array) -> tuple[npt.NDArray[np.int32], npt.NDArray[np.uint8]]:
    """Return where each text ends (and the first begins), and the letters of all."""
    ends = np.frombuffer(texts.buffers()[1], dtype=np.int32)[texts.offset : texts.offset + len(texts) + 1]
    return ends, np.frombuffer(texts.buffers()[2] or b"\0", dtype=np.uint8)


def _rows_saying(texts: pa.Array, words: frozenset[str]) -> npt.NDArray[np.intp]:
    """Which texts are one of these words, but for case and blanks at their ends."""
    if texts.null_count == len(texts):
        return np.empty(0, np.intp)
    ends, letters = _bytes_of(texts)
    if _needs_tidying(ends, letters):
        plain = pc.replace_substring(pc.replace_substring(texts, "\r", ""), "\n", " ")
        said = pc.utf8_lower(pc.utf8_trim(plain, characters=_BLANKS))
        return np.flatnonzero(arrays.flags(pc.is_in(said, value_set=arrays.column(sorted(words), pa.string()))))
    maybe = np.flatnonzero(_may_say(ends, letters, words))
    told = texts.take(arrays.counted(maybe)).to_pylist()
    return maybe[[text is not None and text.lower() in words for text in told]]


def _needs_tidying(ends: npt.NDArray[np.int32], letters: npt.NDArray[np.uint8]) -> bool:
    """Whether any text begins or ends with a blank, or has a line break in it."""
    filled = ends[1:] > ends[:-1]
    first, last = ends[:-1][filled], ends[1:][filled] - 1
    blank = np.zeros(256, np.bool_)
    blank[[ord(one) for one in _BLANKS if ord(one) < 128]] = True
    if blank[letters[first]].any() or blank[letters[last]].any() or (letters[ends[0] : ends[-1]] == _LF).any():
        return True
    long = last > first
    first, last = first[long], last[long]
    lead, tail = _NO_BREAK
    begins = (letters[first] == lead) & (letters[first + 1] == tail)
    return bool(begins.any() or ((letters[last] == tail) & (letters[last - 1] == lead)).any())


@cache
def _none_words() -> frozenset[str]:
    return frozenset(words().missing | words().summary) - {""}


@cache
def _shapes(words: frozenset[str]) -> npt.NDArray[np.bool_]:
    """Which (length, first byte, last byte) one of these words has, in small letters or capitals."""
    forms = [form.encode() for word in words for form in _spellings(word)]
    shapes = np.zeros((max(map(len, forms)) + 1, 256, 256), np.bool_)
    for form in forms:
        shapes[len(form), form[0], form[-1]] = True
    return shapes


def _spellings(word: str) -> Iterator[str]:
    """Yield every spelling of a word whose first and last letters differ in case."""
    for first in {word[0].lower(), word[0].upper()}:
        for last in {word[-1].lower(), word[-1].upper()}:
            yield first + word[1:-1] + last if len(word) > 1 else first


def _may_say(
    ends: npt.NDArray[np.int32], letters: npt.NDArray[np.uint8], words: frozenset[str]
) -> npt.NDArray[np.bool_]:
    shapes = _shapes(words)
    sizes = np.minimum(ends[1:] - ends[:-1], len(shapes))
    fits = (sizes > 0) & (sizes < len(shapes))
    own = np.where(fits, sizes, 0)
    first = letters[np.minimum(ends[:-1], len(letters) - 1)]
    last = letters[np.maximum(ends[1:] - 1, 0)]
    found: npt.NDArray[np.bool_] = shapes[own, first, last] & fits
    return found


def records_alike(connection: duckdb.DuckDBPyConnection, layout: Layout, texts: Texts) -> list[int] | None:
    """Return the records whose part numbers may be the same, but for blanks and case: nearly always few.

    All records of one part are among them, and some others, whose numbers' hashes merely agree or whose makers differ.

    Returns
    -------
    list of int or None
        The records' numbers; ``None`` where they are not worth picking out.
    """
    number = layout.reading("part_number")
    if number is None or len(texts.table) > _MOST_RECORDS:
        return None
    connection.register("texts_alike", texts.table)
    hashes = connection.sql(
        f"SELECT hash(upper(translate(\"{number.field}\", '{_BLANKS}', ''))) AS h FROM texts_alike"
    ).to_arrow_table()
    connection.unregister("texts_alike")
    found = np.concatenate([np.empty(0, np.uint64), *map(arrays.hashes, hashes.column("h").chunks)])
    ordered = np.sort(found)
    twice = np.unique(ordered[1:][ordered[1:] == ordered[:-1]])
    if not len(twice):
        return []
    place = np.minimum(np.searchsorted(twice, found), len(twice) - 1)
    rows = np.flatnonzero(twice[place] == found)
    if len(rows) > _MOST_ALIKE * len(found):
        return None
    records = np.concatenate([arrays.whole(chunk) for chunk in texts.table.column("record").chunks])
    return [int(record) for record in records[rows]]
