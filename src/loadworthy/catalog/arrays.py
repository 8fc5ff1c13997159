"""Python's values as Arrow's arrays, and back to numpy, without the detour that has pandas loaded.

``pyarrow.array`` asks whether it was given something of pandas, and loads it for that: a quarter of a second at
every intake. What is given here is known.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import numpy.typing as npt
import pyarrow as pa

__all__ = ["column", "counted", "flags", "hashes", "places", "truths", "whole"]


def column(values: Sequence[Any], kind: pa.DataType) -> pa.Array:
    """Make an array of values that are all of one kind, or missing.

    Parameters
    ----------
    values
        Texts, numbers, truth values, or lists of dicts; ``None`` where one is missing.
    kind
        Arrow's type of them: string, int64, int32, float64, bool, or a list of structs of these.

    Returns
    -------
    pyarrow.Array
        As many.

    Examples
    --------
    >>> column(["a", None], pa.string()).to_pylist()
    ['a', None]
    >>> column([[{"q": 1}], None, []], pa.list_(pa.struct([("q", pa.int64())]))).to_pylist()
    [[{'q': 1}], None, []]
    """
    count = len(values)
    valid = np.fromiter((value is not None for value in values), dtype=np.bool_, count=count)
    if not valid.any():
        return pa.nulls(count, kind)
    present = None if valid.all() else _bits(valid)
    if pa.types.is_string(kind):
        encoded = [b"" if value is None else value.encode() for value in values]
        ends = _offsets([len(one) for one in encoded])
        return pa.Array.from_buffers(kind, count, [present, pa.py_buffer(ends), pa.py_buffer(b"".join(encoded))])
    if pa.types.is_list(kind):
        ends = _offsets([0 if value is None else len(value) for value in values])
        rows = [row for value in values if value is not None for row in value]
        members = [column([row[field.name] for row in rows], field.type) for field in kind.value_type]
        structs = pa.Array.from_buffers(kind.value_type, len(rows), [None], children=members)
        return pa.Array.from_buffers(kind, count, [present, pa.py_buffer(ends)], children=[structs])
    filled = np.array([0 if value is None else value for value in values], dtype=kind.to_pandas_dtype())
    return pa.Array.from_buffers(kind, count, [present, _bits(filled) if pa.types.is_boolean(kind) else _held(filled)])


def counted(numbers: npt.NDArray[Any], missing: npt.NDArray[np.bool_] | None = None) -> pa.Array:
    """Make an array of numpy's integers, with gaps where they are said to be ``missing``."""
    present = None if missing is None or not missing.any() else _bits(~missing)
    return pa.Array.from_buffers(pa.from_numpy_dtype(numbers.dtype), len(numbers), [present, _held(numbers)])


def truths(values: npt.NDArray[np.bool_]) -> pa.Array:
    """Make an array of numpy's truth values."""
    return pa.Array.from_buffers(pa.bool_(), len(values), [None, _bits(values)])


def places(numbers: pa.Array) -> npt.NDArray[np.int32]:
    """Return an array of 32-bit integers as numpy's, -1 where one is missing."""
    if not len(numbers):
        return np.empty(0, np.int32)
    start = numbers.offset
    found = np.frombuffer(numbers.buffers()[1], dtype=np.int32)[start : start + len(numbers)]
    if not numbers.null_count:
        return found
    bits = np.frombuffer(numbers.buffers()[0], dtype=np.uint8)
    valid = np.unpackbits(bits, count=start + len(numbers), bitorder="little")[start:]
    return np.where(valid, found, np.int32(-1))


def whole(numbers: pa.Array) -> npt.NDArray[np.int64]:
    """Return an array of 64-bit integers, none of them missing, as numpy's."""
    if not len(numbers):
        return np.empty(0, np.int64)
    return np.frombuffer(numbers.buffers()[1], dtype=np.int64)[numbers.offset : numbers.offset + len(numbers)]


def hashes(numbers: pa.Array) -> npt.NDArray[np.uint64]:
    """Return an array of unsigned 64-bit integers, none of them missing, as numpy's."""
    return whole(numbers).view(np.uint64)


def flags(values: pa.Array) -> npt.NDArray[np.bool_]:
    """Return an array of truth values, none of them missing, as numpy's."""
    if not len(values):
        return np.empty(0, np.bool_)
    bits = np.frombuffer(values.buffers()[1], dtype=np.uint8)
    return np.unpackbits(bits, count=values.offset + len(values), bitorder="little")[values.offset :].astype(np.bool_)


def _bits(values: npt.NDArray[np.bool_]) -> pa.Buffer:
    return pa.py_buffer(np.packbits(values, bitorder="little"))


def _held(values: npt.NDArray[Any]) -> pa.Buffer:
    return pa.py_buffer(np.ascontiguousarray(values))


def _offsets(lengths: Sequence[int]) -> npt.NDArray[np.int32]:
    ends = np.zeros(len(lengths) + 1, dtype=np.int32)
    np.cumsum(lengths, out=ends[1:])
    return ends
