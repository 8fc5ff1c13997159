"""Tables as people lay them out: each once took a figure silently wrong, or might; now it is read, or said."""

from __future__ import annotations

import io
from typing import TYPE_CHECKING

import openpyxl
import pytest

from loadworthy.catalog.intake import intake

if TYPE_CHECKING:
    from conftest import Shelf


def lines(*rows: str) -> str:
    """Write rows of a table, one a line, cells parted by semicolons."""
    return "\n".join(rows) + "\n"


def parts_of(shelf: Shelf, text: str) -> dict[str, dict[str, object]]:
    """Take a table in and return its parts by number."""
    shelf.take_in(text)
    return shelf.parts()


BODY = ("FP-1;TO-220;N;30;8;12;40", "FP-2;SO-8;P;60;20;31;9")


@pytest.mark.parametrize(
    "head",
    [
        ("Part;Package;Channel;VDS;RDS(on) max @ 10 V;RDS(on) max @ 4.5 V;ID", ";;;V;mΩ;mΩ;A"),
        (";;;V;mΩ;mΩ;A", "Part;Package;Channel;VDS;RDS(on) max @ 10 V;RDS(on) max @ 4.5 V;ID"),
        ("Part;Package;Channel;VDS;RDS(on) max;;ID", ";;;V;mΩ @ 10 V;mΩ @ 4.5 V;A"),
        ("Part;Package;Channel;VDS (V);RDS(on) max (mΩ);;ID (A)", ";;;;VGS = 10 V;VGS = 4.5 V;"),
        ("Part;Package;Channel;VDS (V);RDS(on) max (mΩ);;ID (A)", ";;;;10 V;4.5 V;"),
        ("Part;Package;Channel;VDS;RDS(on) max @ 10 V;RDS(on) max @ 4.5 V;ID", "", ";;;in V;in mΩ;in mΩ;in A"),
        ("part;package;channel;vds_v;rds_on_max_10v_mohm;rds_on_max_4v5_mohm;id_a",),
        ("PART;PACKAGE;CHANNEL;VDS_V;RDSON_MAX_10V_MOHM;RDSON_MAX_4V5_MOHM;ID_A",),
    ],
)
def test_headings_over_several_rows_and_in_every_case(shelf: Shelf, head: tuple[str, ...]) -> None:
    """Units and gate voltages above, below, in the middle, in capitals: the same two parts."""
    found = parts_of(shelf, lines(*head, *BODY))
    assert set(found) == {"FP-1", "FP-2"}
    first = found["FP-1"]
    assert (first["vds_v"], first["rds_10v0_ohm"], first["rds_4v5_ohm"], first["id_case_a"]) == (30, 0.008, 0.012, 40)
    assert found["FP-2"]["rds_5v0_ohm"] == 0.031


def test_milliamperes_and_milliwatts_are_never_a_thousand_times_more(shelf: Shelf) -> None:
    """Small letters only, where "ma" can only be milliampere."""
    found = parts_of(shelf, lines("part;vds_v;id_ma;pd_mw", "SP-1;60;150;300", "SP-2;30;200;350"))
    assert (found["SP-1"]["id_case_a"], found["SP-1"]["pd_case_w"]) == (0.15, 0.3)


def test_units_that_stand_above_the_table_hold_below(shelf: Shelf) -> None:
    """A line in the preamble says in what the currents are."""
    text = lines("All figures at 25 °C; ID in mA, PD in mW", "Part;VDS (V);ID;PD", "SP-1;60;150;300", "SP-2;30;200;350")
    assert parts_of(shelf, text)["SP-1"]["id_case_a"] == 0.15


def test_a_limit_alone_belongs_to_the_figure_on_its_left(shelf: Shelf) -> None:
    """VGS(th) min | max."""
    found = parts_of(shelf, lines("Part;VDS (V);VGS(th) (V) min;max", "SP-1;60;1;2.5"))
    assert (found["SP-1"]["vgs_th_min_v"], found["SP-1"]["vgs_th_max_v"]) == (1.0, 2.5)


def test_a_running_number_is_no_drain_current(shelf: Shelf) -> None:
    """A column "id" of whole numbers, all different, beside the current."""
    found = parts_of(shelf, lines("id;part;vds_v;id_tc25_a", "1;SP-1;60;40", "2;SP-2;30;50"))
    assert [part["id_case_a"] for part in found.values()] == [40.0, 50.0]


def test_a_row_shifted_by_a_stray_delimiter_is_refused(shelf: Shelf) -> None:
    """Its figures would be those of other columns."""
    report = shelf.take_in(
        lines("Part;Package;Channel;VDS (V);ID (A)", "SP-1;TO-220;N;60;40", "SP;2;SO-8;N;30;50", "SP-3;SO-8;N;30;9")
    )
    assert set(shelf.parts()) == {"SP-1", "SP-3"}
    assert report.rows_refused == 1


def test_sums_and_averages_are_no_parts(shelf: Shelf) -> None:
    """Rows that a word of the office heads."""
    found = parts_of(shelf, lines("Part;VDS (V);ID (A)", "SP-1;60;40", "SP-2;30;20", "Average;45;30", "Max;60;40"))
    assert set(found) == {"SP-1", "SP-2"}


def test_what_stands_under_another_heading_is_not_read_by_the_first(shelf: Shelf) -> None:
    """A second table with its columns swapped: refused row by row, and said."""
    report = shelf.take_in(
        lines("Part;VDS (V);ID (A)", "SP-1;60;40", "SP-2;55;30", "Part;ID (A);VDS (V)", "SP-3;40;60", "SP-4;30;55")
    )
    assert set(shelf.parts()) == {"SP-1", "SP-2"}
    assert any("another table" in note for note in report.notes)


def test_two_figures_in_one_column_are_left_unread(shelf: Shelf) -> None:
    """VDS/VGS with 60/±12 is neither 60 V nor 12 V of one of them."""
    found = parts_of(shelf, lines("Part;VDS/VGS (V);ID (A)", "SP-1;60/±12;40", "SP-2;30/±20;50"))
    assert all(part["vds_v"] is None for part in found.values())


@pytest.mark.parametrize("mark", ["¹", "¹⁾", " ¹)", " 1)", "*", " [2]"])
def test_a_footnote_is_no_digit(shelf: Shelf, mark: str) -> None:
    """12¹ is twelve with a note, not one hundred and twenty-one."""
    found = parts_of(shelf, lines("Part;VDS (V);ID (A)", f"SP-1;60;12{mark}", "SP-2;30;9"))
    assert found["SP-1"]["id_case_a"] == 12.0


def test_quantity_and_price_stand_in_pairs_of_columns(shelf: Shelf) -> None:
    """Qty 1 | Price 1 | Qty 2 | Price 2: the numbers in the headings are those of the pairs."""
    shelf.take_in(lines("Part;VDS (V);Qty 1;Price 1 (EUR);Qty 2;Price 2 (EUR)", "SP-1;60;1;0.82;10;0.61"))
    (row,) = shelf.rows("SELECT breaks, currency FROM offers")
    assert row["breaks"] == [{"quantity": 1, "price": 0.82}, {"quantity": 10, "price": 0.61}]
    assert row["currency"] == "EUR"


def test_two_prices_for_one_piece_are_both_kept(shelf: Shelf) -> None:
    """Each column says no more than what one piece costs; the two of them do."""
    shelf.take_in(lines("Part;VDS (V);Qty 1;Price 1 (EUR);Qty 2;Price 2 (EUR)", "SP-1;60;1;0.5;1;0.4"))
    (row,) = shelf.rows("SELECT breaks FROM offers")
    assert row["breaks"] == [{"quantity": 1, "price": 0.5}, {"quantity": 1, "price": 0.4}]


def test_a_price_for_a_hundred_pieces_is_not_taken_for_one(shelf: Shelf) -> None:
    """It may be either: left unread, and a recipe can say."""
    shelf.take_in(lines("Part;VDS (V);Price per 100 (EUR)", "SP-1;60;41", "SP-2;30;52"))
    assert {row["unit_price"] for row in shelf.rows("SELECT unit_price FROM offers")} == {None}


def test_every_sheet_that_holds_a_table_is_taken_in(shelf: Shelf) -> None:
    """N and P channel on sheets of their own, behind a cover."""
    book = openpyxl.Workbook()
    book.active.title = "Cover"
    book.active.append(["Our transistors"])
    for channel, number in (("N", "SP-1"), ("P", "SP-2")):
        sheet = book.create_sheet(f"{channel} channel")
        sheet.append(["Part number", "Channel", "VDS (V)", "ID (A)"])
        sheet.append([number, channel, 60, 40])
    content = io.BytesIO()
    book.save(content)
    reports = intake(shelf.path, [shelf.write(content.getvalue(), "stock.xlsx")])
    assert [report.sheet for report in reports] == ["N channel", "P channel"]
    assert {number: part["channel"] for number, part in shelf.parts().items()} == {"SP-1": "n", "SP-2": "p"}


def test_a_guessed_unit_is_said_in_the_row(shelf: Shelf) -> None:
    """No unit anywhere: the usual one is taken, and every part carries the mark."""
    found = parts_of(shelf, lines("Part;VDS (V);RDS(on) max (4.5V)", "SP-1;60;5", "SP-2;30;7.5"))
    assert found["SP-1"]["rds_4v5_ohm"] == 0.005
    assert found["SP-1"]["rds_guessed"] is True
