"""Arrow's arrays made without its own way through Python's objects: that one is the oracle."""

from __future__ import annotations

import subprocess
import sys
from typing import Any

import numpy as np
import pyarrow as pa
import pytest
from hypothesis import given
from hypothesis import strategies as st

from loadworthy.catalog import arrays

_STEPS = pa.list_(pa.struct([("quantity", pa.int64()), ("price", pa.float64())]))
_number = st.floats(allow_nan=False)
_whole = st.integers(-(2**63), 2**63 - 1)
_steps = st.lists(st.fixed_dictionaries({"quantity": _whole, "price": _number}), max_size=3)
KINDS: list[tuple[pa.DataType, st.SearchStrategy[Any]]] = [
    (pa.string(), st.text(max_size=4)),
    (pa.float64(), _number),
    (pa.int64(), _whole),
    (pa.bool_(), st.booleans()),
    (_STEPS, _steps),
]


@given(data=st.data())
@pytest.mark.parametrize(("kind", "values"), KINDS, ids=lambda one: str(one)[:12])
def test_a_column_holds_what_it_was_made_of(data: st.DataObject, kind: pa.DataType, values: Any) -> None:
    """Missing ones are missing; Arrow finds nothing amiss with it."""
    given_values = data.draw(st.lists(st.one_of(st.none(), values), max_size=20))
    made = arrays.column(given_values, kind)
    made.validate(full=True)
    assert made.equals(pa.array(given_values, kind))


@given(
    numbers=st.lists(st.one_of(st.none(), st.integers(0, 2**31 - 1)), max_size=30),
    start=st.integers(0, 30),
)
def test_numbers_come_back_also_of_a_piece(numbers: list[int | None], start: int) -> None:
    """A piece of an array begins anywhere in the same memory."""
    piece = pa.array(numbers, pa.int32()).slice(start)
    expected = [-1 if number is None else number for number in numbers[start:]]
    assert arrays.places(piece).tolist() == expected
    present = pa.array([number is not None for number in numbers], pa.bool_()).slice(start)
    assert arrays.flags(present).tolist() == [number is not None for number in numbers[start:]]
    whole = pa.array([number or 0 for number in numbers], pa.int64()).slice(start)
    assert arrays.whole(whole).tolist() == [number or 0 for number in numbers[start:]]
    missing = np.array([number is None for number in numbers[start:]], np.bool_)
    assert arrays.counted(np.array(expected, np.int32), missing=missing).equals(piece)
    assert arrays.truths(~missing).equals(present)


def test_an_intake_does_not_wait_for_pandas(tmp_path: Any) -> None:
    """It takes a quarter of a second to load, and nothing in an intake needs it."""
    list_of_parts = tmp_path / "list.csv"
    list_of_parts.write_text(
        "Part number,VDS (V),VGS (V),RDS(on) max at VGS = 4.5 V (mOhm),Price (EUR)\nFERN-20,30,20,12,0.2\n"
    )
    code = (
        "import sys; from loadworthy.catalog.intake import intake; "
        "(one,) = intake(sys.argv[1], [sys.argv[2]], family='transistor'); "
        "print(one.rows_parts, 'pandas' in sys.modules)"
    )
    command = [sys.executable, "-c", code, str(tmp_path / "made.duckdb"), str(list_of_parts)]
    told = subprocess.run(command, capture_output=True, text=True, check=True)  # noqa: S603 - our own interpreter
    assert told.stdout == "1 False\n"
