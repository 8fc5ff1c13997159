"""Part numbers are looked over as bytes; what is done to each of them is held against a plain tidying in Python."""

from __future__ import annotations

import tempfile
from collections import Counter
from collections.abc import Sequence
from pathlib import Path

import duckdb
import numpy as np
import pyarrow as pa
import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from loadworthy.catalog import arrays, families
from loadworthy.catalog.columns import ColumnReading, Layout
from loadworthy.catalog.number_texts import records_alike, records_saying, survey_numbers
from loadworthy.catalog.texts import Texts, TextsWriter

LAYOUT = Layout(
    family=families.load("transistor"),
    heading_records=(("Part number",),),
    heading_from=1,
    first_record=2,
    columns=(ColumnReading(position=1, heading="Part number", reads="part_number"),),
    preamble=(),
)
BLANKS = " \t\r\n\u00a0"

numbers = st.one_of(
    st.none(),
    st.sampled_from(
        ["FERN-20", "FERN-20 ", "Fern-20", "FERN 20", "n/a", "N/A", " - ", "-", "TBD", "tbd ", "Total", "k.A."]
    ),
    st.sampled_from(["FERN-20\u00a0", "\u00a0FERN", "MOSS\n7", "MOSS\r\n7", "Ω-12", "à", "-\u00a0", "\u00a0"]),
    st.text(alphabet="aAzZ09-. \t\u00a0\nàÄß", min_size=1, max_size=5),
)


def laid(batches: Sequence[Sequence[str | None]], folder: Path) -> Texts:
    """Lay part numbers down, batch by batch."""
    first = 2
    with TextsWriter(folder, 1) as writer:
        for batch in batches:
            writer.add(np.arange(first, first + len(batch)), [arrays.column(batch, pa.string())])
            first += len(batch)
        return writer.finish()


def tidied(text: str | None) -> str | None:
    """What is left of a number when blanks at its ends are taken off, and it is not a word for none."""
    if text is None:
        return None
    plain = text.replace("\r", "").replace("\n", " ").strip(BLANKS)
    said = families.words().missing | families.words().summary
    return None if not plain or plain.lower() in said else plain


@given(batches=st.lists(st.lists(numbers, max_size=5), max_size=3))
@example(batches=[["FERN-20"], ["n/a", "FERN-21"]])
@example(batches=[["FERN-20"], ["FERN-21 ", "FERN-22"]])
@example(batches=[["K.A."]])
def test_numbers_are_tidied_as_a_reader_would(batches: list[list[str | None]]) -> None:
    """Whatever the list needs of it; what it is said to do without is not needed."""
    rows = [text for batch in batches for text in batch]
    expected = [tidied(text) for text in rows]
    with tempfile.TemporaryDirectory() as folder, duckdb.connect() as connection:
        texts = laid(batches, Path(folder))
        found = survey_numbers(connection, LAYOUT, texts)
        connection.register("rows", texts.table)
        told = connection.execute(f"SELECT {found.expressions['part_number']} FROM rows r ORDER BY record").fetchall()
    assert [row[0] for row in told] == expected
    assert found.expressions["order_number"] == "NULL"
    assert found.may_lack or None not in expected
    if found.as_keys:
        given_ones = [number for number in expected if number is not None]
        assert [number.upper().replace(" ", "") for number in given_ones] == given_ones


def test_clean_numbers_are_left_alone(tmp_path: Path) -> None:
    """Nothing is done to each of a million of them, and none is stored twice."""
    with duckdb.connect() as connection:
        found = survey_numbers(connection, LAYOUT, laid([["FERN-20", "MOSS-7/2"], ["TBD-1"]], tmp_path))
    assert found.expressions["part_number"] == 'r."c0"'
    assert not found.may_lack
    assert found.as_keys


@pytest.mark.parametrize("number", ["Fern-20", "FERN 20", "FERN-à", None])
def test_a_number_that_no_key_ends_in_is_seen(number: str | None, tmp_path: Path) -> None:
    """A small letter or a blank in it; a row without one is not a part."""
    with duckdb.connect() as connection:
        found = survey_numbers(connection, LAYOUT, laid([["FERN-20", number]], tmp_path))
    assert found.may_lack == (number is None)
    assert found.as_keys == (number is None)


@given(batches=st.lists(st.lists(numbers, max_size=12), max_size=3))
def test_no_record_is_missed_that_shares_its_part(batches: list[list[str | None]]) -> None:
    """Alike are the numbers but for blanks and case, as in the parts' keys."""
    rows = [tidied(text) for batch in batches for text in batch]
    keys = [None if number is None else number.upper().replace(" ", "") for number in rows]
    often = Counter(keys)
    with tempfile.TemporaryDirectory() as folder, duckdb.connect() as connection:
        alike = records_alike(connection, LAYOUT, laid(batches, Path(folder)))
    shared = {record for record, key in enumerate(keys, 2) if key is not None and often[key] > 1}
    assert alike is None or shared <= set(alike)


@given(batches=st.lists(st.lists(numbers, max_size=6), max_size=3))
def test_headings_that_come_again_are_found_among_the_numbers(batches: list[list[str | None]]) -> None:
    """Whatever their case and the blanks at their ends."""
    words = frozenset({"fern-20", "total", "à"})
    rows = [text for batch in batches for text in batch]
    plain = [(text or "").replace("\r", "").replace("\n", " ").strip(BLANKS).lower() for text in rows]
    with tempfile.TemporaryDirectory() as folder:
        found = records_saying(LAYOUT, laid(batches, Path(folder)), words)
    assert found == [record for record, text in enumerate(plain, 2) if text in words]


def test_records_that_share_nothing_are_not_picked_out(tmp_path: Path) -> None:
    """Of many, the two that name one part; where a great share does, all are looked at."""
    rows = [f"P-{number}" for number in range(100)]
    with duckdb.connect() as connection:
        assert records_alike(connection, LAYOUT, laid([rows], tmp_path)) == []
        assert records_alike(connection, LAYOUT, laid([rows, ["p-7 "]], tmp_path)) == [9, 102]
        assert records_alike(connection, LAYOUT, laid([rows, rows], tmp_path)) is None
