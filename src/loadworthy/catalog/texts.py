"""The texts of a list, as they stand in the file: in columns, on disk, a batch behind the other.

A column that repeats itself is kept as a dictionary, batch by batch: each of its texts once, and a number a row that
says which. So what a column says is read once a text, and never compared row by row.
"""

from __future__ import annotations

import os
import tempfile
from collections import deque
from collections.abc import Iterator, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from types import TracebackType
from typing import Self

import numpy as np
import numpy.typing as npt
import pyarrow as pa

from loadworthy.catalog import arrays

__all__ = ["CODED", "Distinct", "Texts", "TextsNotKeptError", "TextsWriter", "column_names"]

#: How a column is kept that repeats itself.
CODED = pa.dictionary(pa.int32(), pa.string())
#: A column whose first batch has more different texts than this share of its rows is kept as plain texts.
_REPEATS = 0.8
_FEW_ROWS = 1000
#: So many batches may wait to be written, which goes on beside the reading.
_WAITING = 16


def column_names(width: int) -> list[str]:
    """Return the names of the columns of text: ``c0``, ``c1`` and so on."""
    return [f"c{place}" for place in range(width)]


@dataclass(frozen=True, kw_only=True)
class Distinct:
    """The different texts of a column, or pairs of texts of two, in the order in which they first come.

    Attributes
    ----------
    texts
        One array a column, as long as there are different texts (or pairs). The first column's are never missing;
        where the second has none, there is an empty text.
    """

    texts: tuple[pa.Array, ...]
    _numbers: tuple[pa.Array, ...]
    _meanings: tuple[pa.Array, ...]

    def __len__(self) -> int:
        return len(self.texts[0])

    def spread(self, values: pa.Array) -> pa.ChunkedArray:
        """Give each row the value of its text: ``values`` holds one for each different text.

        Returns
        -------
        pyarrow.ChunkedArray
            Of dictionaries, in the batches of the texts; null where the row has no text, or the text no value.
        """
        pieces = []
        for numbers, meaning in zip(self._numbers, self._meanings, strict=True):
            own = values.take(meaning)
            # A row of a missing value has none: whoever asks for nulls looks at the numbers alone.
            given = _unless_missing(numbers, own) if own.null_count else numbers
            pieces.append(pa.DictionaryArray.from_arrays(given, own, safe=False))  # they were made for each other
        return pa.chunked_array(pieces, pa.dictionary(pa.int32(), values.type))

    def numbered(self, batch: int) -> npt.NDArray[np.int32]:
        """Return the place of each row's text among the different ones, -1 where it has none, in one batch."""
        meaning = np.append(arrays.places(self._meanings[batch]), np.int32(-1))
        return meaning[arrays.places(self._numbers[batch])]

    def marked(self, batch: int, marks: npt.NDArray[np.bool_]) -> npt.NDArray[np.bool_]:
        """Return whether each row's text is marked, in one batch; false where the row has none."""
        return np.append(marks, np.False_)[self.numbered(batch)]


class Texts:
    """A list's records.

    Attributes
    ----------
    table
        ``record`` (int64), ``c0`` … (texts; null where the field is empty or absent) and ``surplus`` (text; what a
        record has beyond the table's width, joined by the delimiter, else null), in the file's order. It
        lies in a file that is mapped into memory.
    """

    def __init__(self, table: pa.Table) -> None:
        self.table = table
        self._distinct: dict[tuple[str, ...], Distinct] = {}

    @property
    def batches(self) -> list[int]:
        """How many rows each batch has."""
        return [len(chunk) for chunk in self.table.column("record").chunks]

    def first(self, count: int, names: Sequence[str]) -> list[tuple[int, tuple[str | None, ...]]]:
        """Return the first records: number, and what stands in some columns."""
        rows = self.table.slice(0, count)
        cells = [rows.column(name).to_pylist() for name in names]
        numbers = rows.column("record").to_pylist()
        return list(zip(numbers, zip(*cells, strict=True) if cells else [()] * len(numbers), strict=True))

    def top(self, name: str, count: int) -> pa.Array:
        """Return the different texts of a column among its first records."""
        column = self.table.column(name).slice(0, count)
        words = column.cast(pa.string()) if pa.types.is_dictionary(column.type) else column
        return words.drop_null().unique()

    def distinct(self, *names: str) -> Distinct:
        """Return the different texts of one column, or the pairs of two; made once."""
        if names not in self._distinct:
            self._distinct[names] = self._paired(*names) if len(names) > 1 else self._single(*names)
        return self._distinct[names]

    def _single(self, name: str) -> Distinct:
        numbers, words = [], []
        for chunk in self.table.column(name).chunks:
            coded = chunk if pa.types.is_dictionary(chunk.type) else chunk.dictionary_encode()
            numbers.append(coded.indices)
            words.append(coded.dictionary)
        texts, meanings = _unified(words, pa.string())
        return Distinct(texts=(texts,), _numbers=tuple(numbers), _meanings=meanings)

    def _paired(self, name: str, companion: str) -> Distinct:
        """Number the pairs: a row has one where the first column has a text."""
        first, second = self._single(name), self._single(companion)
        numbers, words = [], []
        for batch in range(len(self.batches)):
            left, right = first.numbered(batch), second.numbered(batch)
            both = left.astype(np.int64) * (len(second) + 1) + right + 1
            found, own = np.unique(both[left >= 0], return_inverse=True)
            of_row = np.full(len(left), -1, dtype=np.int32)
            of_row[left >= 0] = own
            numbers.append(arrays.counted(of_row, missing=of_row < 0))
            words.append(arrays.counted(found))
        pairs, meanings = _unified(words, pa.int64())
        known = arrays.whole(pairs)
        with_nothing = pa.concat_arrays([arrays.column([""], pa.string()), second.texts[0]])
        texts = (
            first.texts[0].take(arrays.counted(known // (len(second) + 1))),
            with_nothing.take(arrays.counted(known % (len(second) + 1))),
        )
        return Distinct(texts=texts, _numbers=tuple(numbers), _meanings=meanings)


def _unified(words: Sequence[pa.Array], kind: pa.DataType) -> tuple[pa.Array, tuple[pa.Array, ...]]:
    """Put the dictionaries of all batches together; return it, and where in it the words of each batch stand."""
    if not words:
        return pa.nulls(0, kind), ()
    each = [pa.DictionaryArray.from_arrays(arrays.counted(np.arange(len(own), dtype=np.int32)), own) for own in words]
    together = pa.chunked_array(each).unify_dictionaries()
    return together.chunk(0).dictionary, tuple(chunk.indices for chunk in together.chunks)


def _unless_missing(numbers: pa.Array, values: pa.Array) -> pa.Array:
    """Leave out the numbers of values that are missing."""
    valid = np.append(arrays.flags(values.is_valid()), np.False_)[arrays.places(numbers)]
    return arrays.counted(arrays.places(numbers), missing=~valid)


class TextsNotKeptError(OSError):
    """The texts could not be written to their folder, which stands in the error's ``filename``."""


@contextmanager
def _not_kept(path: Path) -> Iterator[None]:
    try:
        yield
    except OSError as error:
        raise TextsNotKeptError(error.errno, str(error), str(path.parent)) from error


class TextsWriter:
    """Lays a list's records down in a file of its own, a batch at a time; :meth:`finish` opens them.

    Left without that it leaves no file behind.
    """

    def __init__(self, folder: Path, width: int) -> None:
        handle, name = tempfile.mkstemp(dir=folder, prefix="texts-", suffix=".arrow")
        os.close(handle)
        self._path = Path(name)
        self._names = column_names(width)
        self._kinds: list[pa.DataType] | None = None
        self._writer: pa.ipc.RecordBatchStreamWriter | None = None
        self._beside = ThreadPoolExecutor(max_workers=1)
        self._waiting: deque[Future[None]] = deque()
        self._finished = False

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._beside.shutdown(cancel_futures=True)
        if self._writer is not None:
            with suppress(OSError):
                self._writer.close()
        if not self._finished:
            self._path.unlink(missing_ok=True)

    @property
    def kinds(self) -> dict[str, pa.DataType]:
        """Arrow's types of the columns of text; before the first batch all are :data:`CODED`."""
        return dict(zip(self._names, self._kinds or [CODED] * len(self._names), strict=True))

    def add(self, records: npt.NDArray[np.int64], columns: Sequence[pa.Array], surplus: pa.Array | None = None) -> None:
        """Lay records down.

        Parameters
        ----------
        records
            Their numbers.
        columns
            The texts of each column, plain or :data:`CODED`; null where a field is empty.
        surplus
            What they have beyond the table's width; ``None`` where none has anything.
        """
        if self._kinds is None:
            self._kinds = [_kept_as(one) for one in columns]
        kept = [_as_kind(one, kind) for one, kind in zip(columns, self._kinds, strict=True)]
        beyond = pa.nulls(len(records), pa.string()) if surplus is None else surplus
        batch = pa.RecordBatch.from_arrays(
            [arrays.counted(records), *kept, beyond], names=["record", *self._names, "surplus"]
        )
        if self._writer is None:
            self._writer = pa.ipc.new_stream(str(self._path), batch.schema)
        self._waiting.append(self._beside.submit(self._writer.write_batch, batch))
        if len(self._waiting) > _WAITING:
            with _not_kept(self._path):
                self._waiting.popleft().result()

    def finish(self) -> Texts:
        """Open what was laid down."""
        if self._writer is None:
            self.add(np.empty(0, np.int64), [pa.nulls(0, pa.string()) for _ in self._names])
        with _not_kept(self._path):
            for written in self._waiting:
                written.result()
            if self._writer is not None:
                self._writer.close()
                self._writer = None
        self._finished = True
        with pa.ipc.open_stream(pa.memory_map(str(self._path))) as stream:
            return Texts(stream.read_all())


def _kept_as(column: pa.Array) -> pa.DataType:
    """Say how a column is kept whose first batch this is."""
    coded = column if pa.types.is_dictionary(column.type) else column.dictionary_encode()
    return pa.string() if len(coded.dictionary) > max(_FEW_ROWS, _REPEATS * len(column)) else CODED


def _as_kind(column: pa.Array, kind: pa.DataType) -> pa.Array:
    if column.type == kind:
        return column
    return column.dictionary_encode() if pa.types.is_dictionary(kind) else column.dictionary_decode()
