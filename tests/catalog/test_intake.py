"""What a list says is in the catalogue, and what is not in is accounted for."""

from __future__ import annotations

import gzip
import io
import re
from collections.abc import Callable, Sequence
from dataclasses import fields
from typing import TYPE_CHECKING, Any, ClassVar

import openpyxl
import pytest
from odf.opendocument import OpenDocumentSpreadsheet
from odf.table import Table, TableCell, TableRow
from odf.text import P

from loadworthy.catalog import evidence
from loadworthy.catalog.intake import intake
from loadworthy.catalog.store import Catalog
from loadworthy.errors import UnreadableFile

if TYPE_CHECKING:
    from conftest import Shelf


class TestAccounts:
    """Rows in are parts, headings, notes and refusals, and each can be found again."""

    def test_headings_without_rows_take_the_place_of_nothing(self, shelf: Shelf) -> None:
        """A list that came out empty must not wipe out the supplier's earlier one."""
        shelf.take_in(shelf.text(), name="june.csv", supplier="Fern")
        headings = shelf.text().splitlines()[0]
        with pytest.raises(UnreadableFile, match="no row of parts"):
            shelf.take_in(headings + "\n\n", name="july.csv", supplier="Fern")
        assert len(shelf.parts()) == 3

    def test_every_row_of_a_clean_list_is_a_part_with_an_offer(self, shelf: Shelf) -> None:
        """Nothing is refused, and the figures are the list's."""
        report = shelf.take_in(shelf.text())
        assert (report.rows_read, report.rows_parts, report.parts, report.cells_refused) == (3, 3, 3, 0)
        part = shelf.parts()["FP-12"]
        told = {
            "vds_v": 30.0, "vgs_max_v": 20.0, "vgs_th_max_v": 2.5, "rds_10v0_ohm": 0.0082, "rds_4v5_ohm": 0.0124,
            "id_case_a": 40.5, "junction_max_degc": 175.0, "package": "TO-220", "channel": "n",
            "maker": "Fernhill Power",
        }  # fmt: skip
        assert {name: part[name] for name in told} == told
        assert shelf.refused() == []
        (offer,) = shelf.rows("SELECT unit_price, currency, stock FROM offers WHERE part_key LIKE '%FP-12' "
                              "OR part_key LIKE '%FP12'")  # fmt: skip
        assert offer == {"unit_price": 0.52, "currency": "EUR", "stock": 10}

    def test_one_price_from_one_piece_on_is_told_as_a_break(self, shelf: Shelf) -> None:
        """It is not stored twice, but whoever reads the offers finds it."""
        shelf.take_in(shelf.text(shelf.ROWS[:1]))
        (offer,) = shelf.rows("SELECT breaks, unit_price FROM offers")
        assert offer == {"breaks": [{"quantity": 1, "price": 0.52}], "unit_price": 0.52}

    def test_a_channel_that_only_later_rows_name_is_found(self, shelf: Shelf, monkeypatch: pytest.MonkeyPatch) -> None:
        """A column without a heading that says so, empty where a first look ends."""
        monkeypatch.setattr(evidence, "_SAMPLE", 2)
        place = next(at for at, one in enumerate(shelf.HEADINGS) if one.startswith("Channel"))
        headings = ["Thing" if at == place else one for at, one in enumerate(shelf.HEADINGS)]
        rows = [shelf.row(Part=f"P-{number}", Channel="N-channel" if number > 3 else "") for number in range(6)]
        shelf.take_in(shelf.text(rows, headings))
        assert {name: part["channel"] for name, part in shelf.parts().items()} == {
            f"P-{number}": "n" if number > 3 else None for number in range(6)
        }

    @pytest.mark.parametrize("number", ["", " ", "n/a", "-"])
    def test_a_row_whose_number_says_none_is_refused_for_that(self, shelf: Shelf, number: str) -> None:
        """However good its figures are: nobody could order it."""
        shelf.take_in(shelf.text([*shelf.ROWS, shelf.row(Part=number)]))
        assert [(one["record"], one["reason"]) for one in shelf.refused()] == [(5, "it has no part number")]

    def test_headings_repeated_notes_blank_lines_and_rows_without_number_are_told_apart(self, shelf: Shelf) -> None:
        """Blank lines are no rows; the others are counted for what they are."""
        lines = shelf.text().splitlines()
        nameless = ",".join(shelf.row(Part=""))
        text = "\n".join([*lines[:2], "", lines[0], *lines[2:], nameless, "Prices without tax", ""])
        report = shelf.take_in(text)
        told = (report.rows_read, report.rows_parts, report.rows_headings, report.rows_notes, report.rows_refused)
        assert told == (6, 3, 1, 1, 1)

    BAD: ClassVar = {  # first word of the heading → a text that is no such figure, and the figure's column
        "VDS": ("plenty", "vds_v"), "VGS max": ("20 mA", "vgs_max_v"), "VGS(th)": ("99", "vgs_th_max_v"),
        "RDS(on) max at VGS = 10": ("12.4.1", "rds_10v0_ohm"), "ID": ("1 MA", "id_case_a"),
        "TJ": ("-55", "junction_max_degc"), "Channel": ("sideways", "channel"),
    }  # fmt: skip

    def test_a_bad_cell_costs_nothing_but_itself(self, shelf: Shelf) -> None:
        """It is kept with its place, its text and a reason; the row's other figures are in."""
        good = [shelf.row(Part=f"FP-{n}", **{"RDS(on) max at VGS = 4.5": ""}) for n in range(20)]
        bad = [
            shelf.row(Part=f"BAD-{n}", **{"RDS(on) max at VGS = 4.5": "", word: text})
            for n, (word, (text, _)) in enumerate(self.BAD.items())
        ]
        report = shelf.take_in(shelf.text([*good, *bad]))
        assert (report.rows_parts, report.cells_refused) == (len(good) + len(bad), len(bad))
        refused = shelf.refused()
        headings = [next(one for one in shelf.HEADINGS if one.startswith(word)) for word in self.BAD]
        assert {one["kind"] for one in refused} == {"cell"}
        assert [(one["file"], one["record"], one["heading"], one["text"]) for one in refused] == [
            ("list.csv", 22 + n, heading, text)
            for n, (heading, (text, _)) in enumerate(zip(headings, self.BAD.values(), strict=True))
        ]
        assert all(one["reason"] for one in refused)
        parts = shelf.parts()
        names = {name for name, value in parts["FP-0"].items() if value is not None} - {
            "part_key",
            "part_number",
            "record",
        }
        for number, (_, column) in enumerate(self.BAD.values()):
            lost = {name for name in names if parts[f"BAD-{number}"][name] != parts["FP-0"][name]}
            further = {name for name in names if column.startswith("rds") and re.match("rds_(10v0|12v0|from)", name)}
            assert lost == {column} | further

    def test_rows_are_numbered_as_a_spreadsheet_numbers_them(self, shelf: Shelf) -> None:
        """Lines above the table, blank ones too, and breaks inside quotes count as the spreadsheet counts."""
        bad = shelf.row(1, VDS="plenty")
        text = "Lakeside list\n\n" + shelf.text([shelf.row(Stock="10\nin two days"), bad, shelf.row(2)])
        shelf.take_in(text)
        assert [one["record"] for one in shelf.refused() if one["text"] == "plenty"] == [5]

    def test_cells_beyond_the_last_heading_are_kept(self, shelf: Shelf) -> None:
        """More cells than headings: the surplus is refused, not dropped."""
        lines = shelf.text().splitlines()
        lines[2] += ",see page 4"
        shelf.take_in("\n".join(lines))
        (refusal,) = shelf.refused()
        assert (refusal["record"], refusal["text"]) == (3, "see page 4")

    def test_refusals_carry_the_list_they_come_from(self, shelf: Shelf) -> None:
        """They can be asked for one list alone, and the report shows them."""
        bad = [shelf.row(VDS="plenty"), *shelf.ROWS[1:]]
        report = shelf.take_in(shelf.text(bad), name="fernhill.csv")
        shelf.take_in(shelf.text(), name="other.csv")
        with Catalog.open(shelf.path) as catalog:
            numbers = {one["supplier"]: one["list_id"] for one in catalog.summary().lists}
            assert len(catalog.refused(numbers["fernhill"])) == 1
            assert catalog.refused(numbers["other"]) == []
            assert catalog.summary().refused == {"cell": 1}
        assert [(one.record, one.text) for one in report.refused] == [(2, "plenty")]

    def test_a_row_without_figures_is_in_or_kept(self, shelf: Shelf) -> None:
        """A part number alone is no claim; whatever it counts as, it comes back."""
        lonely = ("Fernhill Power", "FP-99", *[""] * (len(shelf.HEADINGS) - 2))
        shelf.take_in(shelf.text([*shelf.ROWS, lonely]))
        assert "FP-99" in shelf.parts() or any("FP-99" in one["text"] for one in shelf.refused())


def test_part_numbers_stay_text(shelf: Shelf) -> None:
    """What looks like a number, a resistance, a day or a truth value is what it says, letter by letter."""
    numbers = [
        "22E1",
        "0R10",
        "00471",
        "1E05",
        "12345678901234567890",
        "10-12",
        "MAR07",
        "4R7",
        "1,5",
        "007.50",
        "TRUE",
    ]
    report = shelf.take_in(shelf.text([shelf.row(Part=number) for number in numbers]))
    assert set(shelf.parts()) == set(numbers)
    assert report.parts == len(numbers)


class TestStatistics:
    """Maximum, typical and unmarked figures stay apart."""

    @staticmethod
    def one(shelf: Shelf, heading: str, text: str) -> dict[str, Any]:
        """Take in three parts with one on-resistance column and return the first."""
        headings = ("Maker", "Part number", "Package", "Channel", "VDS max (V)", heading)
        shelf.take_in(shelf.text([("Mossbank", f"MB{n}", "TO-220", "N", "30", text) for n in (1, 2, 3)], headings))
        return shelf.parts()["MB1"]

    @pytest.mark.parametrize(
        ("heading", "text"),
        [("RDS(on) typ at VGS=10V (mΩ)", "12"), ("RDS(on)", "12 mΩ typ @ 10 V"),
         ("Einschaltwiderstand RDS(on) typ. bei 10 V (mOhm)", "12")],
    )  # fmt: skip
    def test_a_typical_figure_is_no_maximum(self, shelf: Shelf, heading: str, text: str) -> None:
        """Nothing counts on it."""
        part = self.one(shelf, heading, text)
        assert part["rds_typ_10v0_ohm"] == pytest.approx(0.012)
        assert part["rds_10v0_ohm"] is None
        assert part["rds_from_v"] is None
        assert not part["rds_unmarked"]

    @pytest.mark.parametrize(
        ("heading", "text"),
        [("RDS(on) max at VGS=10V (mΩ)", "12"), ("RDS(on)", "12 mΩ max @ 10 V"), ("RDS(on) max.", "12 mΩ bei 10 V")],
    )
    def test_a_maximum_is_no_typical_figure(self, shelf: Shelf, heading: str, text: str) -> None:
        """It is kept for its gate voltage and upwards."""
        part = self.one(shelf, heading, text)
        assert (part["rds_10v0_ohm"], part["rds_10v0_at_v"]) == (pytest.approx(0.012), 10.0)
        assert part["rds_8v0_ohm"] is None
        assert part["rds_typ_10v0_ohm"] is None
        assert not part["rds_unmarked"]

    def test_both_in_one_cell(self, shelf: Shelf) -> None:
        """Each goes to its own."""
        part = self.one(shelf, "RDS(on)", "9 mΩ typ, 12 mΩ max @ 10 V")
        assert (part["rds_typ_10v0_ohm"], part["rds_10v0_ohm"]) == (pytest.approx(0.009), pytest.approx(0.012))

    def test_an_unmarked_figure_counts_as_the_maximum_and_is_flagged(self, shelf: Shelf) -> None:
        """The list did not say which it is."""
        part = self.one(shelf, "RDS(on) at VGS=10V (mΩ)", "12")
        assert part["rds_10v0_ohm"] == pytest.approx(0.012)
        assert part["rds_unmarked"] is True

    @pytest.mark.parametrize(
        ("heading", "column", "flagged"),
        [("ID (A)", "id_case_a", True), ("ID at Tc = 25 °C (A)", "id_case_a", False),
         ("ID at Ta = 25 °C (A)", "id_ambient_a", False), ("ID at Tc = 100 °C (A)", "id_case_hot_a", False)],
    )  # fmt: skip
    def test_a_current_is_of_case_or_ambient_and_flagged_where_the_list_is_silent(
        self, shelf: Shelf, heading: str, column: str, flagged: bool
    ) -> None:
        """An ID without case or ambient is taken at a 25 °C case."""
        headings = ("Maker", "Part number", "Package", "Channel", "VDS max (V)", heading)
        shelf.take_in(shelf.text([("Mossbank", f"MB{n}", "TO-220", "N", "30", "12") for n in (1, 2, 3)], headings))
        part = shelf.parts()["MB1"]
        currents = {name: part[name] for name in ("id_case_a", "id_case_hot_a", "id_ambient_a")}
        assert currents == {**dict.fromkeys(currents), column: 12.0}
        assert bool(part["id_unmarked"]) is flagged


class TestDress:
    """One list in many files of different dress."""

    @staticmethod
    def workbook(rows: Sequence[Sequence[str]]) -> bytes:
        """Write the rows into a workbook, all as text."""
        book = openpyxl.Workbook()
        sheet = book.active
        assert sheet is not None
        for row in rows:
            sheet.append(list(row))
        kept = io.BytesIO()
        book.save(kept)
        return kept.getvalue()

    @staticmethod
    def open_document(rows: Sequence[Sequence[str]]) -> bytes:
        """Write the rows into an open-document spreadsheet (ISO/IEC 26300)."""
        document = OpenDocumentSpreadsheet()
        table = Table(name="List")
        for row in rows:
            line = TableRow()
            for text in row:
                cell = TableCell(valuetype="string")
                cell.addElement(P(text=text))
                line.addElement(cell)
            table.addElement(line)
        document.spreadsheet.addElement(table)
        kept = io.BytesIO()
        document.write(kept)
        return kept.getvalue()

    DRESSES: ClassVar[dict[str, tuple[str, Callable[[Any], bytes]]]] = {
        "gzip": ("list.csv.gz", lambda shelf: gzip.compress(shelf.text().encode())),
        "utf-16": ("list.csv", lambda shelf: shelf.text().encode("utf-16")),
        "utf-8 with mark": ("list.csv", lambda shelf: shelf.text().encode("utf-8-sig")),
        "cp1252": ("list.csv", lambda shelf: shelf.text().replace("mΩ", "mOhm").encode("cp1252")),
        "semicolon": ("list.csv", lambda shelf: shelf.text(delimiter=";").encode()),
        "decimal comma": (
            "list.csv",
            lambda shelf: re.sub(r"(?<=\d)\.(?=\d)", ",", shelf.text(delimiter=";")).encode(),
        ),
        "tab": ("list.tsv", lambda shelf: shelf.text(delimiter="\t").encode()),
        "pipe": ("list.txt", lambda shelf: shelf.text(delimiter="|").encode()),
        "dos line ends": ("list.csv", lambda shelf: shelf.text().replace("\n", "\r\n").encode()),
        "workbook": ("list.xlsx", lambda shelf: TestDress.workbook([shelf.HEADINGS, *shelf.ROWS])),
        "open document": ("list.ods", lambda shelf: TestDress.open_document([shelf.HEADINGS, *shelf.ROWS])),
    }  # fmt: skip

    @pytest.mark.parametrize("dress", DRESSES)
    def test_the_parts_are_the_same(self, shelf: Shelf, plain: Shelf, dress: str) -> None:
        """Packing, encoding, delimiter and kind of file change no figure."""
        name, content = self.DRESSES[dress]
        report = shelf.take_in(content(shelf), name=name)
        assert report.supplier == "list"
        assert shelf.parts() == plain.parts()
        offers = "SELECT part_key, supplier, currency, unit_price, breaks, stock FROM offers ORDER BY ALL"
        assert shelf.rows(offers) == plain.rows(offers)


class TestReports:
    """What the caller is told."""

    def test_progress_never_falls_and_ends_at_the_whole(self, shelf: Shelf) -> None:
        """Each file has its share, and each stage a name."""
        told: list[tuple[str, float]] = []
        files = [shelf.write(shelf.text(), name) for name in ("a.csv", "b.csv")]
        intake(shelf.path, files, progress=lambda stage, share: told.append((stage, share)))
        shares = [share for _, share in told]
        assert shares == sorted(shares)
        assert shares[0] >= 0
        assert shares[-1] == 1
        assert all(stage for stage, _ in told)

    def test_progress_ends_at_the_whole_where_the_file_is_in_already(self, shelf: Shelf) -> None:
        """There is nothing left to do."""
        shelf.take_in(shelf.text())
        shares: list[float] = []
        assert shelf.take_in(shelf.text(), progress=lambda _, share: shares.append(share)).outcome == "same"
        assert shares[-1] == 1

    def test_a_dry_run_writes_nothing(self, shelf: Shelf) -> None:
        """Neither a catalogue that is not there nor one that is."""
        (report,) = intake(shelf.path, [shelf.write(shelf.text())], dry_run=True)
        assert (report.outcome, report.rows_parts) == ("dry run", 3)
        assert sorted(path.name for path in shelf.folder.iterdir()) == ["list.csv"]
        shelf.take_in(shelf.text())
        before = shelf.path.read_bytes()
        intake(shelf.path, [shelf.write(shelf.text(shelf.ROWS[:2]))], dry_run=True)
        assert shelf.path.read_bytes() == before
        assert sorted(path.name for path in shelf.folder.iterdir()) == ["catalog.duckdb", "list.csv"]

    def test_the_supplier_is_the_options_else_the_columns_else_the_files(self, shelf: Shelf) -> None:
        """And the report says which."""
        assert (shelf.take_in(shelf.text(), name="lakeside.csv").supplier_from) == "file name"
        report = shelf.take_in(shelf.text(), name="l2.csv", supplier="Lakeside")
        assert (report.supplier, report.supplier_from) == ("Lakeside", "option")
        rows = [(*row, supplier) for row, supplier in zip(shelf.ROWS, ("Reed", "Rush", "Reed"), strict=True)]
        report = shelf.take_in(shelf.text(rows, (*shelf.HEADINGS, "Supplier")), name="fair.csv")
        assert report.supplier_from == "column"
        told = shelf.rows("SELECT supplier FROM offers WHERE list_id = 3 ORDER BY ALL")
        assert [one["supplier"] for one in told] == ["Reed", "Reed", "Rush"]

    def test_a_report_is_plain_values(self, shelf: Shelf) -> None:
        """It says how each column was read, where from, and holds nothing that JSON does not."""
        report = shelf.take_in(shelf.text())
        told = report.as_json()
        assert set(told) >= {one.name for one in fields(report)} - {"recipe"}
        assert [column["heading"] for column in told["columns"]] == list(shelf.HEADINGS)
        assert {column["certainty"] for column in told["columns"]} == {"sure"}
        assert (report.encoding, report.delimiter, report.decimal) == ("utf-8", ",", ".")
