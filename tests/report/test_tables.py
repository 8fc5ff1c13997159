"""Tables fit the width by leaving columns out, never by cutting."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rich.cells import cell_len

from loadworthy.report.columns import Column, columns_of, unit_of
from loadworthy.report.figures import column_cells
from loadworthy.report.tables import lettered, table

_NUMBER = Column(name="part_number", heading="part number")
_MAKER = Column(name="maker", heading="maker", weight=30)
_PACKAGE = Column(name="package", heading="package", weight=20)
_ROWS = [
    {"part_number": "GH-4R5N60", "maker": "Moss & Fern Semiconductors", "package": "TO-220 full-pack"},
    {"part_number": "TT-12", "maker": "Tidewater", "package": None},
]

_words = st.text(alphabet=st.characters(categories=["L", "N"]), min_size=1, max_size=30)


_row = st.fixed_dictionaries({"part_number": _words, "maker": _words, "package": _words})


@given(st.lists(_row, max_size=5), st.integers(40, 120))
def test_every_line_fits_and_nothing_is_cut(rows: list[dict[str, str]], width: int) -> None:
    """Lines keep to the width in terminal cells (wide letters count two), or to the part number."""
    text = table(rows, [_NUMBER, _MAKER, _PACKAGE], width=width)
    room = max([width, *(cell_len(row["part_number"]) for row in rows)])
    assert all(cell_len(line) <= room for line in text.splitlines())
    assert all(row["part_number"] in text for row in rows)


def test_the_least_important_column_makes_room_first_and_is_named() -> None:
    """The greatest weight goes; a line says what is missing and how to see it."""
    text = table(_ROWS, [_NUMBER, _MAKER, _PACKAGE], width=40)
    assert "Moss" not in text.split("Left out")[0]
    assert "TO-220 full-pack" in text
    assert " ".join(text.split()).endswith(
        "Left out for want of room: maker. A wider window or --format csv shows all."
    )


def test_a_column_that_always_stays_is_whole_even_where_it_does_not_fit() -> None:
    """A part number cut short is no part number: the line gets longer instead."""
    number = "GH-" + "9" * 80
    assert number in table([{"part_number": number}], [_NUMBER], width=40)


def test_an_unknown_cell_is_a_dash() -> None:
    """Nothing known is not the same as nothing there."""
    assert table(_ROWS, [_NUMBER, _PACKAGE]).splitlines()[-1].split() == ["TT-12", "–"]


def test_no_escape_sequence_from_a_list_gets_through() -> None:
    """Neither from cells nor from headings, and the table itself has none: it needs no colour."""
    text = table(
        [{"part_number": "\x1b[31mGH-1\x1b[0m\x9b2J"}],
        [Column(name="part_number", heading="part \x1b[1mnumber")],
    )
    assert "\x1b" not in text
    assert "\x9b" not in text


def test_figures_stand_to_the_right_under_one_unit() -> None:
    """All on-resistances of a column in the unit that suits its middle one."""
    column = Column(name="rds_on_ohm", heading="RDS(on)", unit="ohm", right=True)
    lines = table([{"rds_on_ohm": 0.0045}, {"rds_on_ohm": 0.0125}, {"rds_on_ohm": 1.2}], [column]).splitlines()
    assert [line.strip() for line in lines] == ["RDS(on)", "mΩ", "-------", "4.5", "12.5", "1200"]
    assert {len(line) for line in lines} == {7}


@given(st.lists(st.floats(1e-4, 1e3), min_size=1, max_size=6))
def test_a_figure_read_back_is_within_its_three_digits(values: list[float]) -> None:
    """Rounding to three significant digits is off by half a digit of the third at most: 0.5 %."""
    column = Column(name="rds_on_ohm", heading="RDS(on)", unit="ohm")
    unit, cells = column_cells([{"rds_on_ohm": value} for value in values], column)
    factor = {"µΩ": 1e-6, "mΩ": 1e-3, "Ω": 1.0, "kΩ": 1e3}[unit]
    assert [float(cell) * factor for cell in cells] == pytest.approx(values, rel=0.0051)


@pytest.mark.parametrize(
    ("key", "unit"), [("rthja_k_per_w", "K/W"), ("junction_degc", "degC"), ("rds_on_ohm", "ohm"), ("qg_c",
    "C"), ("pwm_hz", "Hz"),
     ("supplier", None)],
)  # fmt: skip
def test_a_key_tells_its_unit(key: str, unit: str | None) -> None:
    """The ending of a key is its SI unit."""
    assert unit_of(key) == unit


def test_a_figure_without_a_heading_is_headed_by_its_own_words_and_goes_first() -> None:
    """So a new family shows itself; text never takes a unit from its name."""
    known, new, text = columns_of([{"part_number": "X", "contact_rise_k": 30.0, "note_a": "text"}], headings={})
    assert (new.heading, new.unit, text.unit) == ("contact rise", "K", None)
    assert new.weight > known.weight


def test_remarks_become_letters_that_stand_once_below() -> None:
    """The same remark has the same letter; past z the letters double."""
    rows, remarks = lettered([{"assumed": [str(count)]} for count in range(27)] + [{"assumed": ["0"]}], "assumed")
    assert (rows[0]["assumed"], rows[26]["assumed"], rows[27]["assumed"]) == ("a", "aa", "a")
    assert len(remarks) == 27


def test_a_curve_is_written_point_by_point() -> None:
    """As a list of a supplier would, not as a program keeps it."""
    points = [{"degc": 20.0, "value": 17.5}, {"degc": 40.0, "value": 15.1}]
    _, (cell, none) = column_cells([{"derating": points}, {"derating": None}], Column(name="derating", heading="curve"))
    assert cell == "17.5 at 20 °C, 15.1 at 40 °C"
    assert none == "–"
