"""A list's texts, kept by column: what each row says comes back, however the rows are parted into batches."""

from __future__ import annotations

import tempfile
from collections.abc import Sequence
from pathlib import Path

import duckdb
import numpy as np
import pyarrow as pa
import pytest
from hypothesis import given
from hypothesis import strategies as st

from loadworthy.catalog import arrays, texts
from loadworthy.catalog.texts import CODED, Texts, TextsNotKeptError, TextsWriter

Cells = Sequence["str | None"]

words = st.one_of(st.none(), st.sampled_from(["12", "12 mΩ", "n/a", "Ω"]), st.text(min_size=1, max_size=3))
two_columns = st.lists(st.lists(st.tuples(words, words), max_size=6), max_size=4)


def laid(batches: Sequence[Sequence[tuple[str | None, ...]]], folder: Path, *, coded: bool = True) -> Texts:
    """Lay rows of two columns down, batch by batch."""
    first = 1
    with TextsWriter(folder, 2) as writer:
        for batch in batches:
            columns = [arrays.column([row[place] for row in batch], pa.string()) for place in range(2)]
            kept = [column.dictionary_encode() for column in columns] if coded else columns
            writer.add(np.arange(first, first + len(batch)), kept)
            first += len(batch)
        return writer.finish()


@given(batches=two_columns, coded=st.booleans())
def test_the_rows_come_back_as_they_were(batches: list[list[tuple[str | None, ...]]], coded: bool) -> None:
    """Numbered, in their order, to whoever reads the table."""
    with tempfile.TemporaryDirectory() as folder, duckdb.connect() as connection:
        kept = laid(batches, Path(folder), coded=coded)
        connection.register("rows", kept.table)
        rows = [row for batch in batches for row in batch]
        assert connection.execute("SELECT * FROM rows").fetchall() == [
            (number, *row, None) for number, row in enumerate(rows, 1)
        ]
        assert connection.execute("SELECT count(*) FROM rows WHERE c0 IS NULL").fetchall() == [
            (sum(row[0] is None for row in rows),)
        ]


@given(batches=two_columns, coded=st.booleans())
def test_each_row_gets_the_value_of_its_text(batches: list[list[tuple[str | None, ...]]], coded: bool) -> None:
    """Also where a text has no value: then the row has none, and says so to the engine."""
    with tempfile.TemporaryDirectory() as folder, duckdb.connect() as connection:
        kept = laid(batches, Path(folder), coded=coded)
        distinct = kept.distinct("c0")
        different = distinct.texts[0].to_pylist()
        column = [row[0] for batch in batches for row in batch]
        assert different == list(dict.fromkeys(text for text in column if text is not None))
        values = {text: float(place) if place % 2 else None for place, text in enumerate(different)}
        spread = distinct.spread(arrays.column([values[text] for text in different], pa.float64()))
        connection.register("rows", pa.table({"value": spread}))
        expected = [None if text is None else values[text] for text in column]
        assert connection.execute("SELECT value FROM rows").fetchall() == [(value,) for value in expected]
        missing = connection.execute("SELECT count(*) FROM rows WHERE value IS NULL").fetchall()
        assert missing == [(expected.count(None),)]
        marks = np.array([place % 2 == 0 for place in range(len(different))], np.bool_)
        marked = [bool(one) for batch in range(len(kept.batches)) for one in distinct.marked(batch, marks)]
        assert marked == [text is not None and values[text] is None for text in column]


@given(batches=two_columns, coded=st.booleans())
def test_two_columns_are_read_as_pairs(batches: list[list[tuple[str | None, ...]]], coded: bool) -> None:
    """A pair is of rows whose first column says something; an absent second text is an empty one."""
    with tempfile.TemporaryDirectory() as folder:
        kept = laid(batches, Path(folder), coded=coded)
        distinct = kept.distinct("c0", "c1")
        pairs = list(zip(*(one.to_pylist() for one in distinct.texts), strict=True))
        rows = [row for batch in batches for row in batch]
        told = [(row[0], row[1] or "") if row[0] is not None else None for row in rows]
        assert len(pairs) == len(set(pairs))
        assert set(pairs) == {pair for pair in told if pair}
        places = [int(place) for batch in range(len(kept.batches)) for place in distinct.numbered(batch)]
        assert [pairs[place] if place >= 0 else None for place in places] == told


def test_a_column_that_hardly_repeats_itself_is_kept_plain(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Its first batch tells; what comes later is kept in the same way."""
    monkeypatch.setattr(texts, "_FEW_ROWS", 3)
    rows = [(f"P-{number}", f"{number % 3} V") for number in range(20)]
    kept = laid([rows[:10], rows[10:]], tmp_path)
    assert [kept.table.schema.field(name).type for name in ("c0", "c1")] == [pa.string(), CODED]
    assert kept.table.column("c0").to_pylist() == [row[0] for row in rows]


def test_the_first_records_are_at_hand(tmp_path: Path) -> None:
    """By the columns asked for, and the different texts among them."""
    kept = laid([[("a", "x"), (None, "y")], [("a", "z")]], tmp_path)
    assert kept.first(2, ["c1", "c0"]) == [(1, ("x", "a")), (2, ("y", None))]
    assert kept.first(1, []) == [(1, ())]
    assert kept.top("c0", 3).to_pylist() == ["a"]


def test_what_is_not_finished_leaves_no_file(tmp_path: Path) -> None:
    """Neither when it is given up nor when it fails."""
    with TextsWriter(tmp_path, 1) as writer:
        writer.add(np.array([1]), [arrays.column(["a"], pa.string())])
    assert list(tmp_path.iterdir()) == []
    with pytest.raises(RuntimeError), TextsWriter(tmp_path, 1):
        raise RuntimeError
    assert list(tmp_path.iterdir()) == []


def test_where_there_is_no_room_the_folder_is_named(tmp_path: Path) -> None:
    """A device that is always full stands for the folder's disk."""
    with TextsWriter(tmp_path, 1) as writer:
        writer._path.unlink()
        writer._path.symlink_to("/dev/full")
        writer.add(np.array([1]), [arrays.column(["a"], pa.string())])
        with pytest.raises(TextsNotKeptError) as caught:
            writer.finish()
    assert caught.value.filename == str(tmp_path)
