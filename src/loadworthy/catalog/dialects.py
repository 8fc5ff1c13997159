"""The delimiter of a table in text, and its records, by the usual rules of quoting (RFC 4180)."""

from __future__ import annotations

import csv
import io
import math
import re
from collections import Counter
from collections.abc import Iterator
from typing import TextIO

from loadworthy.errors import UnreadableFile

__all__ = ["DELIMITERS", "find_delimiter", "records"]

DELIMITERS = (";", "\t", "|", ",")
"""What may separate fields; where two fit equally well, the first counts."""

_SAID = re.compile(r'sep=([^\w\s"]|\t)\s*(?:[\r\n]|$)', re.IGNORECASE)
_RECORDS_WEIGHED = 200
_LINE_LIMIT = 1 << 20
_RECORD_LIMIT = 1 << 22
_END = "\x03end of table\x03"
_NO_TABLE = "Give the delimiter, or remove the mark; write a quotation mark inside a quoted field twice."


def find_delimiter(sample: str) -> str:
    r"""Return what separates the fields of a sample of text.

    A first line ``sep=;`` is believed. Else each candidate cuts the sample up by the rules of quoting. That
    one counts which gives most records the same, large number of fields, and the first of these the look of
    headings: letters in its fields. So neither a decimal comma nor a comma inside quotation marks makes a
    comma the delimiter. Text in one column gives ``,``.

    Examples
    --------
    >>> find_delimiter("Bauform;VDS\nSO-8;4,5\nTO-220;6,3\n")
    ';'
    >>> find_delimiter("part number\nQX1\nQX2\n")
    ','
    """
    said = _SAID.match(sample)
    if said:
        return said[1]
    weights = {delimiter: _weight(sample, delimiter) for delimiter in DELIMITERS}
    best = max(DELIMITERS, key=lambda delimiter: weights[delimiter])
    return best if weights[best] > 0 else ","


def _weight(sample: str, delimiter: str) -> float:
    """How well a delimiter explains the sample: agreement in the number of fields, how many, and headings."""
    rows = []
    try:
        for row in csv.reader(io.StringIO(sample, newline=""), delimiter=delimiter):
            if row:
                rows.append(row)
            if len(rows) == _RECORDS_WEIGHED:
                break
    except csv.Error:
        pass  # what came before a field without end still says something
    sizes = Counter(len(row) for row in rows if len(row) > 1)
    if not sizes:
        return 0.0
    size, agreeing = max(sizes.items(), key=lambda item: (item[1] * math.log(item[0]), item[0]))
    filled = [field for field in next(row for row in rows if len(row) == size) if field.strip()]
    lettered = sum(any(letter.isalpha() for letter in field) for field in filled) / max(len(filled), 1)
    return (agreeing / len(rows)) ** 2 * math.log(size) * (0.25 + lettered)


def records(stream: TextIO, delimiter: str, *, where: str) -> Iterator[list[str]]:
    """Yield the records of a table in text; a blank line is an empty list.

    Record, field and line have a greatest size, so memory stays bounded whatever the text.

    Parameters
    ----------
    stream
        Text opened with ``newline=""``: line breaks inside quotation marks belong to the field.
    delimiter
        One character.
    where
        The file's name for errors.

    Raises
    ------
    UnreadableFile
        When a quotation mark is never closed, or a line, field or record is out of all proportion.
    """
    done = 0
    pending = 0

    def lines() -> Iterator[str]:
        nonlocal pending
        while line := stream.readline(_LINE_LIMIT):
            pending += len(line)
            if len(line) == _LINE_LIMIT and line[-1] not in "\r\n":
                raise _out_of_proportion(where, done, "is a line of more than a million characters")
            if pending > _RECORD_LIMIT:
                raise _unclosed(where, done + 1)
            yield line
        yield _END  # stands alone as a record, unless a quotation mark is still open

    reader = csv.reader(lines(), delimiter=delimiter)
    ahead: list[str] | None = None
    try:
        for row in reader:
            if ahead is not None:
                yield ahead
            ahead = row
            done += 1
            pending = 0
    except csv.Error as error:
        if "field limit" in str(error):
            raise _unclosed(where, done + 1) from error
        raise _out_of_proportion(where, done, f"cannot be read ({error})") from error
    if ahead != [_END]:
        raise _unclosed(where, done)


def _unclosed(where: str, number: int) -> UnreadableFile:
    return UnreadableFile(
        f"A quotation mark that opens in or after record {number} is not closed.",
        where=where,
        way_out=_NO_TABLE,
    )


def _out_of_proportion(where: str, number: int, what: str) -> UnreadableFile:
    return UnreadableFile(
        f"What follows record {number} {what}: this is no table.",
        where=where,
        way_out="Export the table as text with one record a line.",
    )
