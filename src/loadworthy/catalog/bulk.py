"""The quick way of loading: Arrow reads the text, a slab at a time, and is believed only where nothing can be lost.

Readers of delimited text differ where the text is not clean: stray quotation marks, spaces beside them, mixed
line ends. What such a text holds is settled by one reader, the careful one; this way stands aside there. A slab that
Arrow does not read as the table is, with a record too long or too short in it, is read the careful way alone.
"""

from __future__ import annotations

import csv
import io
from collections import Counter
from collections.abc import Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from dataclasses import dataclass, replace
from itertools import count
from pathlib import Path
from typing import BinaryIO

import numpy as np
import pyarrow as pa

from loadworthy.catalog import encodings, stepwise
from loadworthy.catalog.dialects import DELIMITERS, records
from loadworthy.catalog.stepwise import Layout
from loadworthy.catalog.surveying import Survey, Surveying
from loadworthy.catalog.texts import Texts, TextsWriter, column_names
from loadworthy.errors import UnreadableFile

__all__ = ["load"]

#: What the first slab holds says how its columns are kept; it is small, for it is read as if they all repeated.
_FIRST_SLAB = 1 << 21
_SLAB = 1 << 25
_BLOCK = 1 << 22
_ROOMS = 3
#: Pieces that are not as the table is are halved down to this size.
_SMALLEST = 1 << 18
#: So many of them in a row, and the rest of the text will be no better.
_HOPELESS = 8
#: A record that goes on so far behind its slab is no row of a table.
_LONGEST = 1 << 20
_END_BYTES = 1 << 16
_LF, _CR = 10, 13
_END_LINES = 20


def load(layout: Layout, survey: Surveying, head: Sequence[tuple[str, ...]], *, folder: Path) -> Texts | None:
    """Try to load the records of a text.

    Parameters
    ----------
    layout
        Which records, and how they are written.
    survey
        What the bytes of the text say, on its way: it is waited for as far as the text is read.
    head
        The first records, as the careful reader reads them.
    folder
        Where the texts are to lie.

    Returns
    -------
    Texts or None
        What the careful way would give; ``None`` where readers might differ. The number of records of each slab, the
        first and the last of them have been compared with what the survey and the careful reader say.
    """
    if not _may_be_clean(layout, head):
        return None
    with TextsWriter(folder, layout.width) as writer, suppress(_NotCleanError):
        if _all_laid_down(layout, survey, head, writer):
            return writer.finish()
    return None


def _all_laid_down(layout: Layout, survey: Surveying, head: Sequence[tuple[str, ...]], writer: TextsWriter) -> bool:
    """Lay all records down; say whether they are what the survey says."""
    loading = _Loading(layout, head, writer)
    slabs = _slabs(layout, survey, loading.fields)

    def following() -> tuple[_Slab, pa.Table | None] | None:
        slab = next(slabs, None)
        return None if slab is None else (slab, loading.read(slab))

    with ThreadPoolExecutor(max_workers=1) as beside:
        found = following()
        while found is not None:
            # What the first slab holds says how the columns of the others are read.
            ahead = beside.submit(following) if loading.rows else None
            if not _clean(found[0].survey):
                return False
            loading.add(*found)
            found = ahead.result() if ahead else following()
    whole = survey.whole()
    return whole.line_end is not None and _clean(whole) and loading.rows == _expected(layout, whole)


class _NotCleanError(Exception):
    """The text is not what the quick way is for."""


def _may_be_clean(layout: Layout, head: Sequence[tuple[str, ...]]) -> bool:
    return any(head[layout.first_record - 1 :]) and layout.width > 1 and layout.delimiter in DELIMITERS


def _clean(survey: Survey) -> bool:
    """Whether every reader must understand the text in the same way, as far as its bytes show."""
    return survey.blanks is not None and survey.nul_at is None and not survey.loose_quotes


def _expected(layout: Layout, survey: Survey) -> int:
    """How many records there must be."""
    blanks = sum(blank >= layout.first_record for blank in survey.blanks or ())
    return survey.records - layout.first_record + 1 - blanks


@dataclass(frozen=True, slots=True)
class _Slab:
    """A piece of the text that begins and ends with a record, and what the bytes up to its end say."""

    data: bytearray
    start: int
    end: int
    survey: Survey
    fields: int

    def count(self, byte: bytes, end: int) -> int:
        """How often a byte occurs before a place."""
        return self.data.count(byte, self.start, end)

    def text(self, start: int, end: int) -> str:
        """The letters between two places, those outside left out."""
        return self.data[max(start, self.start) : min(end, self.end)].decode("utf-8", errors="replace")

    def halves(self) -> tuple[_Slab, ...]:
        """Cut it at a record's end near its middle; none where there is none."""
        cut = self.data.rfind(b"\n", self.start, (self.start + self.end) // 2) + 1
        quotes = self.count(b'"', cut) if self.survey.broken_fields else 0
        while cut > self.start and quotes % 2:
            before = self.data.rfind(b"\n", self.start, cut - 1) + 1
            quotes -= self.data.count(b'"', max(before, self.start), cut)
            cut = before
        if cut <= self.start:
            return ()
        return replace(self, end=cut), replace(self, start=cut)


def _slabs(layout: Layout, survey: Surveying, fields: int) -> Iterator[_Slab]:
    """Yield the text from the first record on, cut between records. A slab is good until the third one after it."""
    room = min(_SLAB, layout.text.stat().st_size) + _END_BYTES
    rooms: list[bytearray] = []  # used in turn: fresh memory costs as much as reading
    with layout.text.open("rb") as stream:
        _skip(stream, layout.first_record - 1)
        size = _FIRST_SLAB
        for turn in count():
            if len(rooms) < _ROOMS:
                rooms.append(bytearray(room))
            data = rooms[turn % _ROOMS]
            with memoryview(data) as view:
                end = stream.readinto(view[:size])
            if not end:
                return
            end = _to_the_end_of_a_record(stream, data, end, survey.upto(stream.tell()))
            yield _Slab(data, 0, end, survey.upto(stream.tell()), fields)
            size = _SLAB


def _to_the_end_of_a_record(stream: BinaryIO, data: bytearray, end: int, survey: Survey) -> int:
    """Read on until a record ends; return where. One that is out of proportion is left to the careful reader."""
    if not _clean(survey):
        raise _NotCleanError
    broken, most = survey.broken_fields, end + _LONGEST
    open_quote = broken and data.count(b'"', 0, end) % 2 > 0
    while (open_quote or data[end - 1] != _LF) and (line := stream.readline(_LONGEST)):
        data[end : end + len(line)] = line
        end += len(line)
        open_quote ^= broken and line.count(b'"') % 2 > 0
        if end > most:
            raise _NotCleanError
    return end


def _skip(stream: BinaryIO, count: int) -> None:
    """Go past the byte order mark and so many records."""
    if stream.read(3) != b"\xef\xbb\xbf":
        stream.seek(0)
    quotes = 0
    while count and (line := stream.readline()):
        quotes += line.count(b'"')
        count -= quotes % 2 == 0


class _Loading:
    """The records of a text on their way, a slab at a time."""

    def __init__(self, layout: Layout, head: Sequence[tuple[str, ...]], writer: TextsWriter) -> None:
        self.layout, self.writer = layout, writer
        body = [len(record) for record in head[layout.first_record - 1 :] if record]
        self.fields = max(Counter(body).most_common(1)[0][0], 2)
        self.blanks: list[int] = []
        self.next_record = layout.first_record
        self.failed = 0  # pieces in a row
        self.rows = 0

    def add(self, slab: _Slab, table: pa.Table | None) -> None:
        """Lay the records of a slab down, which Arrow reads as the table given."""
        self.blanks = [blank for blank in slab.survey.blanks or () if blank >= self.next_record]
        if table is None and (full := self._filled_up(slab)) is not None:
            slab, table = full, self.read(full)
        if table is None or not self._agrees(table, slab):
            self._add_in_halves(slab)
            return
        self.failed = 0
        names = column_names(self.layout.width)
        batches = table.to_batches()
        for batch in batches:
            numbers = self._numbers(len(batch))
            columns = [
                batch.column(place) if place < slab.fields else pa.nulls(len(batch), pa.string())
                for place in range(len(names))
            ]
            self.writer.add(numbers, columns)
            self.next_record = int(numbers[-1]) + 1 if len(numbers) else self.next_record
        self.rows += len(table)
        # Blank lines at the end of the slab are records, too.
        ends = slab.data.count(b"\n", _filled(slab), slab.end)
        self.next_record += max(0, ends - 1) if len(table) else ends

    def read(self, slab: _Slab) -> pa.Table | None:
        """Read a slab by Arrow; ``None`` where its records are not as the table is."""
        if self.failed >= _HOPELESS:
            return None
        from pyarrow import csv as arrow_csv  # noqa: PLC0415 - what is not clean does without

        names = column_names(slab.fields)
        kinds = {name: self.writer.kinds.get(name, pa.string()) for name in names}
        try:
            table = arrow_csv.read_csv(
                pa.BufferReader(pa.py_buffer(slab.data).slice(slab.start, slab.end - slab.start)),
                read_options=arrow_csv.ReadOptions(column_names=names, block_size=_BLOCK),
                parse_options=arrow_csv.ParseOptions(
                    delimiter=self.layout.delimiter, newlines_in_values=slab.survey.broken_fields
                ),
                convert_options=arrow_csv.ConvertOptions(
                    column_types=kinds, null_values=[""], strings_can_be_null=True, quoted_strings_can_be_null=True
                ),
            )
        except pa.ArrowInvalid:
            return None
        beyond = any(table.column(name).null_count < len(table) for name in names[self.layout.width :])
        return None if beyond else table

    def _agrees(self, table: pa.Table, slab: _Slab) -> bool:
        """Whether the number of records, the first and the last of them are what they must be."""
        filled = _filled(slab)
        if not len(table) or filled == slab.start:
            return not len(table) and filled == slab.start
        if not slab.survey.broken_fields:
            lines = slab.count(b"\n", filled) + 1
            last = self.next_record + lines - 1
            if lines - sum(self.next_record <= blank <= last for blank in self.blanks) != len(table):
                return False
        end = _row(table, len(table) - 1)
        return _row(table, 0) == self._first(slab) and any(
            end == possible for possible in self._possible_ends(slab, filled)
        )

    def _first(self, slab: _Slab) -> tuple[str | None, ...]:
        text = io.StringIO(slab.text(slab.start, slab.start + _END_BYTES), newline="")
        rows = csv.reader(text, delimiter=self.layout.delimiter)
        return _padded(next((row for row in rows if row), []), slab.fields)

    def _possible_ends(self, slab: _Slab, filled: int) -> Iterator[tuple[str | None, ...]]:
        """Yield what the last record may be: the last line, the last two as one quoted record, and so on."""
        lines = slab.text(filled - _END_BYTES, filled).split("\n")
        lines = lines[filled - _END_BYTES > slab.start :][-_END_LINES:]  # a line that is cut says nothing
        for start in range(len(lines) - 1, -1, -1):
            text = io.StringIO("\n".join(lines[start:]), newline="")
            end = list(csv.reader(text, delimiter=self.layout.delimiter))
            if len(end) == 1:
                yield _padded(end[0], slab.fields)

    def _filled_up(self, slab: _Slab) -> _Slab | None:
        """Give records that are too short their empty fields; ``None`` where that is not what is amiss."""
        if slab.survey.broken_fields or self.failed >= _HOPELESS:
            return None
        codes = np.frombuffer(slab.data, np.uint8)[slab.start : slab.end]
        feeds = np.flatnonzero(codes == _LF)
        if not len(feeds) or feeds[-1] != len(codes) - 1:
            feeds = np.append(feeds, len(codes))
        marks = np.flatnonzero(codes == ord(self.layout.delimiter))
        quotes = np.flatnonzero(codes == ord('"'))
        marks = marks[np.searchsorted(quotes, marks) % 2 == 0]  # those within quotes part nothing
        ends = feeds - ((feeds > 0) & (codes[np.maximum(feeds - 1, 0)] == _CR))
        fields = max(slab.fields, self.layout.width)
        lacking = fields - 1 - np.diff(np.searchsorted(marks, feeds), prepend=0)
        lacking[ends <= np.append(0, feeds[:-1] + 1)] = 0  # blank lines
        if (lacking < 0).any() or not lacking.any():
            return None
        full = bytearray(np.insert(codes, np.repeat(ends, lacking), ord(self.layout.delimiter)).tobytes())
        return replace(slab, data=full, start=0, end=len(full), fields=fields)

    def _add_in_halves(self, slab: _Slab) -> None:
        """Read what is not as the table is the careful way, and as little as can be beside it."""
        pieces = slab.halves() if slab.end - slab.start > _SMALLEST and self.failed < _HOPELESS else ()
        for piece in pieces:
            self.add(piece, self.read(piece))
        if not pieces:
            self.failed += 1
            self._add_carefully(slab)

    def _add_carefully(self, slab: _Slab) -> None:
        text = io.BytesIO(slab.data[slab.start : slab.end])
        stream = io.TextIOWrapper(text, encoding="utf-8", errors=encodings.STRAY, newline="")
        rows = records(stream, self.layout.delimiter, where=self.layout.text.name)
        try:
            for record, filled in stepwise.add(self.writer, rows, self.layout, first=self.next_record):
                self.next_record, self.rows = record + 1, self.rows + filled
        except UnreadableFile as error:  # it counts from here: who reads the whole text can say where it is
            raise _NotCleanError from error

    def _numbers(self, rows: int) -> np.ndarray[tuple[int], np.dtype[np.int64]]:
        """Number the next rows: their place in the text's order, and the blank lines before them."""
        numbers = np.arange(self.next_record, self.next_record + rows, dtype=np.int64)
        for blank in self.blanks:
            if self.next_record <= blank:
                numbers[numbers >= blank] += 1
        return numbers


def _filled(slab: _Slab) -> int:
    """Where a slab ends without the line ends at its end."""
    end = slab.end
    while end > slab.start and slab.data[end - 1] in b"\r\n":
        end -= 1
    return end


def _row(table: pa.Table, place: int) -> tuple[str | None, ...]:
    return tuple(column[place].as_py() for column in table.columns)


def _padded(record: Sequence[str], width: int) -> tuple[str | None, ...]:
    """Return the first ``width`` fields of a record; ``None`` where a field is empty or absent."""
    fields = [field or None for field in record[:width]]
    return (*fields, *[None] * (width - len(fields)))
