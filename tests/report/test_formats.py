"""CSV, Markdown and JSON: nothing lost, nothing that does harm in the next program."""

from __future__ import annotations

import csv
import io
import json
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loadworthy.report.columns import Column
from loadworthy.report.delimited import csv_text
from loadworthy.report.json_text import json_text
from loadworthy.report.markdown import escape, markdown_table


def _read(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text)))


@given(st.lists(st.floats(allow_nan=False, allow_infinity=False), min_size=1))
def test_csv_gives_back_every_float(values: list[float]) -> None:
    """Full precision: what is read back is the same number, bit for bit."""
    assert [float(row["loss_w"]) for row in _read(csv_text({"loss_w": value} for value in values))] == values


@pytest.mark.parametrize("start", ["=", "+", "-", "@", "\t", "\r"])
def test_csv_disarms_text_that_a_spreadsheet_would_run(start: str) -> None:
    """OWASP, "CSV Injection": cells that begin with = + - @ tab or carriage return get an apostrophe."""
    (row,) = _read(csv_text([{"part_number": f"{start}HYPERLINK(1)"}]))
    assert row["part_number"].startswith("'")


def test_csv_leaves_negative_numbers_alone() -> None:
    """A figure is no formula."""
    assert _read(csv_text([{"ambient_degc": -20.0}])) == [{"ambient_degc": "-20.0"}]


@given(
    st.text(alphabet=st.characters(categories=["L", "N", "P", "S", "Zs"])).filter(lambda text: text[:1] not in "=+-@")
)
def test_csv_gives_back_every_text(text: str) -> None:
    """Quotes, commas and semicolons inside a cell stay in it."""
    assert [row["maker"] for row in _read(csv_text([{"rank": 1, "maker": text}]))] == [text]


def test_csv_has_every_key_and_leaves_the_unknown_empty() -> None:
    """Rows need not have the same keys; None and not-a-number are empty cells."""
    text = csv_text([{"a": 1}, {"b_w": math.nan, "c": None}])
    assert text.splitlines() == ["a,b_w,c", "1,,", ",,"]


def test_csv_lets_no_escape_sequence_out() -> None:
    """A CSV printed in a terminal must not steer it."""
    assert "\x1b" not in csv_text([{"maker": "\x1b[2JMoss & Fern", "offers": [{"supplier": "\x1b[0m"}]}])


_TREES = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False, allow_infinity=False) | st.text(),
    lambda inner: st.lists(inner) | st.dictionaries(st.text(), inner),
)


@given(_TREES)
def test_json_gives_back_the_same(tree: object) -> None:
    """Whatever text a list held, the standard library's reader gets it back."""
    assert json.loads(json_text(tree)) == tree


@given(st.text())
def test_json_lets_no_steering_character_out(text: str) -> None:
    """C1 controls and direction marks are legal in JSON, so they are escaped beyond what JSON asks."""
    assert not set(json_text([text])) & (set(map(chr, range(0x7F, 0xA0))) | set("\x1b\u202e\u2066"))


def test_json_keeps_the_order_and_the_letters() -> None:
    """Ω stays Ω, and keys stand as given."""
    assert json_text({"z": "Ω", "a": 1}).splitlines() == ["{", '  "z": "Ω",', '  "a": 1', "}"]


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf])
def test_json_has_no_word_that_other_readers_refuse(value: float) -> None:
    """RFC 8259, section 6: Infinity and NaN are not permitted."""
    assert json_text({"junction_degc": value}) == '{\n  "junction_degc": null\n}'


def test_markdown_keeps_cells_apart() -> None:
    """A pipe in a part number makes no new column; a line break makes no new row; HTML stays text."""
    number = Column(name="part_number", heading="part number")
    lines = markdown_table([{"part_number": "A|B\n<b>C</b>"}], [number]).splitlines()
    assert lines[2] == r"| A\|B \<b\>C\</b\> |"


def test_markdown_escapes_what_would_be_markup() -> None:
    """Emphasis, code and links."""
    assert escape("*_`[x]") == r"\*\_\`\[x\]"
