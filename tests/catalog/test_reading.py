"""Any supplier's file becomes a table of text, and nothing of it is lost."""

from __future__ import annotations

import csv
import datetime
import gzip
import io
import tempfile
import threading
from collections.abc import Callable, Iterator
from functools import cache
from pathlib import Path
from typing import Any

import duckdb
import openpyxl
import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st
from odf.opendocument import OpenDocumentSpreadsheet
from odf.table import Table, TableCell, TableRow
from odf.text import P

from loadworthy.catalog import bulk, reading, stepwise
from loadworthy.catalog.texts import Texts
from loadworthy.errors import UnreadableFile, UsageError

many_files = settings(suppress_health_check=[HealthCheck.function_scoped_fixture])

PRICES = (
    ("part number", "VDS", "RDS(on)"),
    ("FERN-20", "30 V", "12 mΩ bei 4,5 V"),
    ("MOSS-7", "±40 V", "8,5 mΩ"),
)
"""A small list; its letters and marks exist in UTF-8 and UTF-16."""


@pytest.fixture
def connection() -> Iterator[duckdb.DuckDBPyConnection]:
    """Open a database in memory."""
    with duckdb.connect() as opened:
        yield opened


@pytest.fixture
def scratch(tmp_path: Path) -> Path:
    """Make a folder for copies."""
    folder = tmp_path / "scratch"
    folder.mkdir()
    return folder


@pytest.fixture
def read(connection: duckdb.DuckDBPyConnection, tmp_path: Path, scratch: Path) -> Callable[..., list[tuple[Any, ...]]]:
    """Write bytes to a file and load it: gives back the table's rows."""

    def run(content: bytes, *, width: int, first_record: int = 1, **said: str) -> list[tuple[Any, ...]]:
        path = tmp_path / "list.txt"
        path.write_bytes(content)
        source = reading.open_source(path, scratch=scratch, **said)
        return rows_of(connection, reading.load_rows(source, first_record=first_record, width=width, folder=scratch))

    return run


def rows_of(connection: duckdb.DuckDBPyConnection, texts: Texts) -> list[tuple[Any, ...]]:
    """Read the rows as the engine does: they stay there by the name ``raw``."""
    connection.register("raw", texts.table)
    return connection.execute("SELECT * FROM raw").fetchall()


def text_of(rows: Any, delimiter: str = ";", line_end: str = "\r\n") -> str:
    """Write rows as delimited text."""
    text = io.StringIO(newline="")
    csv.writer(text, delimiter=delimiter, lineterminator=line_end).writerows(rows)
    return text.getvalue()


def numbered(rows: Any, first: int = 1) -> list[tuple[Any, ...]]:
    """Return the rows as `load_rows` lays them down, where none has a surplus."""
    return [(number, *(field or None for field in row), None) for number, row in enumerate(rows, start=first)]


class TestEncoding:
    """Which letters the bytes stand for."""

    @pytest.mark.parametrize(
        ("codec", "mark", "name"),
        [
            ("utf-8", b"", "utf-8"),
            ("utf-8", b"\xef\xbb\xbf", "utf-8"),
            ("utf-16-le", b"\xff\xfe", "utf-16-le"),
            ("utf-16-be", b"\xfe\xff", "utf-16-be"),
            ("utf-16-le", b"", "utf-16-le"),
            ("utf-16-be", b"", "utf-16-be"),
            ("utf-32-le", b"\xff\xfe\x00\x00", "utf-32-le"),
        ],
    )
    def test_unicode_is_read_in_every_form_with_and_without_a_mark(
        self, read: Any, tmp_path: Path, scratch: Path, *, codec: str, mark: bytes, name: str
    ) -> None:
        """Unicode is read in every form with and without a mark."""
        assert read(mark + text_of(PRICES).encode(codec), width=3) == numbered(PRICES)
        assert reading.open_source(tmp_path / "list.txt", scratch=scratch).encoding == name

    def test_text_that_is_not_utf8_is_cp1252(self, read: Any) -> None:
        """Text that is not UTF-8 is CP1252."""
        # The byte values are Unicode's published mapping of code page 1252 (CP1252.TXT): € 80, µ B5, ± B1.
        assert read(b"price;VGS;Qg\r\n4,10 \x80;\xb120 V;3 \xb5C\r\n", width=3, first_record=2) == [
            (2, "4,10 €", "±20 V", "3 µC", None)
        ]

    def test_bytes_without_a_cp1252_letter_are_kept_as_controls(self, read: Any) -> None:
        """Bytes without a CP1252 letter are kept as controls."""
        assert read(b"a;\x81\x8d\xe4\r\nb;\x8f\x90\x9d\r\n", width=2) == [
            (1, "a", "\x81\x8dä", None),
            (2, "b", "\x8f\x90\x9d", None),
        ]

    def test_one_stray_byte_does_not_spoil_a_utf8_file(self, read: Any) -> None:
        """One stray byte does not spoil a UTF-8 file."""
        content = text_of(PRICES).encode() + b"REED-1;\xb120 V;\r\n"
        assert read(content, width=3) == numbered([*PRICES, ("REED-1", "±20 V", "")])

    def test_a_stray_byte_far_behind_the_start_is_still_read(self, read: Any) -> None:
        """A stray byte far behind the start is still read."""
        rows = [(f"FERN-{place}", "a plain text that fills the line up", "x") for place in range(30_000)]
        content = text_of(rows).encode() + b"MOSS;4 \xb5s;\xe9\r\n"
        assert len(content) > 1 << 20
        table = read(content, width=3)
        assert table[-1] == (30_001, "MOSS", "4 µs", "é", None)
        assert table[:-1] == numbered(rows)

    def test_the_user_may_name_the_encoding(self, read: Any) -> None:
        """The user may name the encoding."""
        assert read("Größe;b\n".encode("cp850"), width=2, encoding="cp850") == [(1, "Größe", "b", None)]

    @pytest.mark.parametrize("name", ["no-such-code", "base64", "rot13", ""])
    def test_an_encoding_that_is_none_is_a_wrong_use(self, read: Any, name: str) -> None:
        """An encoding that is none is a wrong use."""
        with pytest.raises(UsageError, match="encoding"):
            read(b"a;b\n", width=2, encoding=name)


class TestDelimiter:
    """What separates the fields."""

    @pytest.mark.parametrize("delimiter", [",", ";", "\t", "|"])
    def test_each_usual_delimiter_is_found(self, read: Any, delimiter: str) -> None:
        """Each usual delimiter is found."""
        assert read(text_of(PRICES, delimiter).encode(), width=3) == numbered(PRICES)

    @pytest.mark.parametrize(
        ("text", "expected"),
        [
            ("Bauform;VDS;RDS\nSO-8;4,5;1,2\nTO-220;6,3;2,2\n", ";"),
            ("Bauform;VDS\n1,5;2,5\n1,7;2,7\n", ";"),
            ('a,b,c\n"x;y;z",1,2\n"p;q;r",3,4\n', ","),
            ("maker|prices\nA|1: 4,10; 25: 3,48\nB|1: 1,47; 25: 1,25\n", "|"),
            ("List of 3 March, all prices net, no guarantee\n\npart\tVDS\nA\t30\nB\t40\n", "\t"),
            ("part number\nFERN-20\nMOSS-7\n", ","),
            ("sep=|\na,b|c\nd,e|f\n", "|"),
        ],
    )
    def test_agreement_between_records_decides_and_not_mere_numbers(
        self, tmp_path: Path, scratch: Path, text: str, expected: str
    ) -> None:
        """Agreement between records decides and not mere numbers."""
        path = tmp_path / "list.csv"
        path.write_text(text, encoding="utf-8")
        assert reading.open_source(path, scratch=scratch).delimiter == expected

    def test_the_line_that_names_the_delimiter_stays_a_record(self, read: Any) -> None:
        """The line that names the delimiter stays a record."""
        assert read(b"sep=;\r\na;b\r\n", width=2) == [(1, "sep=", None, None), (2, "a", "b", None)]

    def test_the_user_may_name_the_delimiter(self, read: Any) -> None:
        """The user may name the delimiter."""
        assert read(b"a;b:c\n", width=2, delimiter=":") == [(1, "a;b", "c", None)]

    @pytest.mark.parametrize("delimiter", ["", ";;", '"', "\n"])
    def test_what_cannot_be_a_delimiter_is_a_wrong_use(self, read: Any, delimiter: str) -> None:
        """What cannot be a delimiter is a wrong use."""
        with pytest.raises(UsageError, match="delimiter"):
            read(b"a;b\n", width=2, delimiter=delimiter)


class TestRecords:
    """Which fields a record has, and which number."""

    def test_the_rules_of_rfc_4180_hold(self, read: Any) -> None:
        """Examples of RFC 4180, section 2, items 5 to 7: quoted fields, line breaks and marks in them."""
        content = b'"aaa","bbb","ccc"\r\nzzz,yyy,xxx\r\n"aaa","b\r\nbb","ccc"\r\n"aaa","b""bb","ccc"'
        assert read(content, width=3) == numbered(
            [("aaa", "bbb", "ccc"), ("zzz", "yyy", "xxx"), ("aaa", "b\r\nbb", "ccc"), ("aaa", 'b"bb', "ccc")]
        )

    @pytest.mark.parametrize("line_end", ["\r\n", "\n", "\r"])
    def test_every_kind_of_line_end_is_read(self, read: Any, line_end: str) -> None:
        """Every kind of line end is read."""
        assert read(text_of(PRICES, line_end=line_end).encode(), width=3) == numbered(PRICES)

    def test_line_ends_may_be_mixed(self, read: Any) -> None:
        """Line ends may be mixed."""
        assert read(b'a;b\r\nc;"d\ne"\nf;g\rh;i', width=2) == numbered(
            [("a", "b"), ("c", "d\ne"), ("f", "g"), ("h", "i")]
        )

    def test_an_inch_mark_is_text(self, read: Any) -> None:
        """An inch mark is text."""
        assert read(b'part;3/4" hose;x\nb;12";y\n', width=3) == numbered(
            [("part", '3/4" hose', "x"), ("b", '12"', "y")]
        )

    def test_no_space_is_stripped(self, read: Any) -> None:
        """No space is stripped."""
        content = b' a ;"b" ; "c"\n\tx;  ;y\n'
        assert read(content, width=3) == numbered([(" a ", "b ", ' "c"'), ("\tx", "  ", "y")])

    def test_blank_lines_count_but_are_left_out(self, read: Any, tmp_path: Path, scratch: Path) -> None:
        """Blank lines count but are left out."""
        assert read(b"Price list\n\na;b\n\n\nc;d\n\n", width=2, first_record=3) == [
            (3, "a", "b", None),
            (6, "c", "d", None),
        ]
        head = reading.open_source(tmp_path / "list.txt", scratch=scratch).head
        assert head[:4] == (("Price list",), (), ("a", "b"), ())

    def test_a_short_record_is_filled_up_and_a_long_one_keeps_its_surplus(self, read: Any) -> None:
        """A short record is filled up and a long one keeps its surplus."""
        content = b"a;b;c\nd\ne;f;g;h;;i;\nj;k;l;;\nTotal: 4 parts\n"
        assert read(content, width=3) == [
            (1, "a", "b", "c", None),
            (2, "d", None, None, None),
            (3, "e", "f", "g", "h;;i"),
            (4, "j", "k", "l", None),
            (5, "Total: 4 parts", None, None, None),
        ]

    def test_lines_before_the_table_are_skipped_by_record_not_by_line(self, read: Any) -> None:
        """Lines before the table are skipped by record not by line."""
        content = b'Our list\n"part\nnumber";"VDS\n(max)"\nFERN;30\n'
        assert read(content, width=2, first_record=3) == [(3, "FERN", "30", None)]

    def test_records_of_empty_fields_are_kept(self, read: Any) -> None:
        """Records of empty fields are kept."""
        assert read(b'a;b\n;\n"";""\n', width=2) == numbered([("a", "b"), ("", ""), ("", "")])

    def test_a_first_record_behind_the_end_gives_an_empty_table(self, read: Any) -> None:
        """A first record behind the end gives an empty table."""
        assert read(b"a;b\nc;d\n", width=2, first_record=9) == []

    def test_a_table_of_one_column_is_a_table(self, read: Any) -> None:
        """A table of one column is a table."""
        assert read(b"part\nFERN\n\nMOSS\n", width=1) == [
            (1, "part", None),
            (2, "FERN", None),
            (4, "MOSS", None),
        ]

    def test_the_head_holds_at_most_200_records(self, tmp_path: Path, scratch: Path) -> None:
        """The head holds at most 200 records."""
        path = tmp_path / "list.csv"
        path.write_bytes(b"a;b\n" * 300)
        assert reading.open_source(path, scratch=scratch).head == (("a", "b"),) * 200

    def test_columns_have_the_agreed_names_and_types(self, read: Any, connection: duckdb.DuckDBPyConnection) -> None:
        """Columns have the agreed names and types."""
        for content in (b"a;b\nc;d\n", b"a;b\n\nc;d\n", b"a;b;\nc;d;\n"):
            read(content, width=2)
            columns = [row[:2] for row in connection.execute("DESCRIBE raw").fetchall()]
            assert columns == [
                ("record", "BIGINT"),
                ("c0", "VARCHAR"),
                ("c1", "VARCHAR"),
                ("surplus", "VARCHAR"),
            ]

    @pytest.mark.parametrize(("first_record", "width"), [(0, 2), (1, 0)])
    def test_counting_begins_at_one(self, read: Any, first_record: int, width: int) -> None:
        """Counting begins at one."""
        with pytest.raises(ValueError, match="count from 1"):
            read(b"a;b\n", first_record=first_record, width=width)


class TestPacked:
    """Text packed by gzip."""

    def test_gzip_is_known_by_its_bytes(self, read: Any) -> None:
        """Gzip is known by its bytes."""
        assert read(gzip.compress(text_of(PRICES).encode("utf-16")), width=3) == numbered(PRICES)
        assert read(gzip.compress(text_of(PRICES).encode()), width=3) == numbered(PRICES)

    @pytest.mark.parametrize("harm", ["cut", "changed", "no gzip inside"])
    def test_a_damaged_packed_file_is_refused_and_leaves_nothing(self, read: Any, scratch: Path, harm: str) -> None:
        """A damaged packed file is refused and leaves nothing."""
        packed = gzip.compress(text_of(PRICES * 2000).encode())
        middle = len(packed) // 2
        harmed = {
            "cut": packed[:middle],
            "changed": packed[: middle - 40] + b"\xff" * 80 + packed[middle + 40 :],
            "no gzip inside": b"\x1f\x8b but not really",
        }[harm]
        with pytest.raises(UnreadableFile, match="packed file") as refusal:
            read(harmed, width=3)
        assert refusal.value.where == "list.txt"
        assert refusal.value.way_out
        assert not any(scratch.iterdir())


def workbook(path: Path) -> Path:
    """Save a workbook with a list, a note and a hidden sheet that has more cells than both."""
    book = openpyxl.Workbook()
    prices = book.active
    prices.title = "Prices"
    prices["B2"], prices["C2"], prices["D2"] = "part number", "stock", "since"
    prices["B4"], prices["C4"], prices["D4"] = 4711, 12.0, datetime.date(2026, 3, 9)
    prices["B5"], prices["C5"], prices["D5"] = "FERN\n20", 0.25, datetime.datetime(2026, 3, 9, 7, 30)
    prices["B6"], prices["C6"], prices["D6"] = 'say "hi", twice', True, datetime.time(7, 30)
    notes = book.create_sheet("Notes")
    notes["A1"] = "nothing to see"
    hidden = book.create_sheet("Choices")
    hidden.sheet_state = "hidden"
    for row in range(1, 40):
        hidden.cell(row, 1, row)
    book.save(path)
    return path


class TestWorkbook:
    """Sheets of workbooks."""

    def test_cells_keep_their_places_and_show_as_people_see_them(
        self, tmp_path: Path, scratch: Path, connection: duckdb.DuckDBPyConnection
    ) -> None:
        """Cells keep their places and show as people see them."""
        source = reading.open_source(workbook(tmp_path / "list.xlsx"), scratch=scratch)
        assert (source.sheet, source.sheets) == ("Prices", ("Prices", "Notes", "Choices"))
        assert source.head[:3] == ((), ("", "part number", "stock", "since"), ())
        texts = reading.load_rows(source, first_record=2, width=4, folder=scratch)
        assert rows_of(connection, texts) == [
            (2, None, "part number", "stock", "since", None),
            (4, None, "4711", "12", "2026-03-09", None),
            (5, None, "FERN\n20", "0.25", "2026-03-09 07:30:00", None),
            (6, None, 'say "hi", twice', "true", "07:30:00", None),
        ]

    def test_a_sheet_may_be_named(self, tmp_path: Path, scratch: Path) -> None:
        """A sheet may be named."""
        source = reading.open_source(workbook(tmp_path / "list.xlsx"), scratch=scratch, sheet="Notes")
        assert source.head == (("nothing to see",),)

    def test_an_unknown_sheet_lists_those_there_are(self, tmp_path: Path, scratch: Path) -> None:
        """An unknown sheet lists those there are."""
        with pytest.raises(UsageError, match="Prices, Notes, Choices"):
            reading.open_source(workbook(tmp_path / "list.xlsx"), scratch=scratch, sheet="Preise")
        assert not any(scratch.iterdir())

    def test_text_has_no_sheets(self, read: Any) -> None:
        """Text has no sheets."""
        with pytest.raises(UsageError, match="no sheets"):
            read(b"a;b\n", width=2, sheet="Prices")

    def test_opendocument_is_read(self, tmp_path: Path, scratch: Path, connection: duckdb.DuckDBPyConnection) -> None:
        """OpenDocument is read."""
        document = OpenDocumentSpreadsheet()
        sheet = Table(name="Liste")
        row = TableRow()
        for kind in ({"valuetype": "string"}, {"valuetype": "float", "value": 30}):
            cell = TableCell(**kind)
            cell.addElement(P(text="FERN"))
            row.addElement(cell)
        sheet.addElement(row)
        document.spreadsheet.addElement(sheet)
        document.save(tmp_path / "list.ods")
        source = reading.open_source(tmp_path / "list.ods", scratch=scratch)
        texts = reading.load_rows(source, first_record=1, width=2, folder=scratch)
        assert source.sheet == "Liste"
        assert rows_of(connection, texts) == [(1, "FERN", "30", None)]

    def test_one_cell_in_the_far_corner_does_not_end_the_program(self, tmp_path: Path, scratch: Path) -> None:
        """Its rectangle would have 17 thousand million cells."""
        book = openpyxl.Workbook()
        book.active["A1"], book.active["XFD1048576"] = "part number", "x"
        book.save(tmp_path / "list.xlsx")
        with pytest.raises(UnreadableFile, match="memory"):
            reading.open_source(tmp_path / "list.xlsx", scratch=scratch)
        assert not any(scratch.iterdir())

    def test_a_workbook_of_nothing_is_refused(self, tmp_path: Path, scratch: Path) -> None:
        """A workbook of nothing is refused."""
        openpyxl.Workbook().save(tmp_path / "list.xlsx")
        with pytest.raises(UnreadableFile, match="empty"):
            reading.open_source(tmp_path / "list.xlsx", scratch=scratch)


class TestRefusal:
    """What cannot be read is refused with the reason, the place and the way out."""

    @pytest.mark.parametrize(
        ("content", "what"),
        [
            (b"", "empty"),
            (b"\xef\xbb\xbf", "empty"),
            (b"\n \r\n\t\n", "empty"),
            (b";;;\n;;;\n", "empty"),
            (gzip.compress(b""), "empty"),
            (b"\x89PNG\r\n\x1a\n\x00\x00", "picture"),
            (b"%PDF-1.7 stream", "PDF"),
            (b"PK\x03\x04 a zip archive of no workbook", "workbook"),
            (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(600), "workbook"),
            (b"a;b\n" * 400_000 + b"c;\0\n", "NUL"),
            (b"\x01\x02\x03\x04 controls \x05\x06", "no text"),
            (b'a;b\nc;"d\ne;f\n', "record 2 is not closed"),
            (b'a;b\nc;"' + b"d;e\n" * 40_000, "record 2 is not closed"),
            (b'a;b\n"c' + (b'";"' + b"d" * 60_000 + b"\n") * 80, "record 2 is not closed"),
            (b"a;b\n" + b"c" * (1 << 21), "million"),
        ],
        ids=lambda value: value if isinstance(value, str) else "",
    )
    def test_what_is_no_table_is_named_with_its_file_and_the_way_out(
        self, read: Any, scratch: Path, content: bytes, what: str
    ) -> None:
        """What is no table is named with its file and the way out."""
        with pytest.raises(UnreadableFile, match=what) as refusal:
            read(content, width=2)
        assert refusal.value.where == "list.txt"
        assert refusal.value.way_out
        assert not any(scratch.iterdir())

    @pytest.mark.parametrize(
        ("name", "what"), [("absent.csv", "no such file"), (".", "folder"), ("a\0b", "such a name")]
    )
    def test_what_is_no_file_is_refused(self, tmp_path: Path, scratch: Path, name: str, what: str) -> None:
        """What is no file is refused."""
        with pytest.raises(UnreadableFile, match=what):
            reading.open_source(tmp_path / name, scratch=scratch)

    @pytest.mark.parametrize(
        ("trouble", "what"),
        [
            (PermissionError(13, "Permission denied"), "may not be read"),
            (OSError(5, "Input/output error"), "output"),
        ],
    )
    def test_what_the_system_refuses_is_told(
        self, tmp_path: Path, scratch: Path, monkeypatch: pytest.MonkeyPatch, trouble: OSError, what: str
    ) -> None:
        """What the system refuses is told."""

        def refuse(*_: object, **__: object) -> None:
            raise trouble

        path = tmp_path / "list.csv"
        path.write_bytes(b"a;b\n")
        monkeypatch.setattr(Path, "open", refuse)
        with pytest.raises(UnreadableFile, match=what):
            reading.open_source(path, scratch=scratch)

    def test_a_file_that_changes_meanwhile_is_refused(self, tmp_path: Path, scratch: Path) -> None:
        """A file that changes meanwhile is refused."""
        path = tmp_path / "list.csv"
        path.write_bytes(b"a;b\n")
        source = reading.open_source(path, scratch=scratch)
        path.write_bytes(b"a;b\nc;d\n")
        with pytest.raises(UnreadableFile, match="changed"):
            reading.load_rows(source, first_record=1, width=2, folder=scratch)

    def test_a_fault_far_behind_the_start_leaves_nothing(self, tmp_path: Path, scratch: Path) -> None:
        """A fault far behind the start leaves nothing."""
        path = tmp_path / "list.csv"
        path.write_bytes(b"a;b\n" * 50_000 + b'c;"d\n')
        source = reading.open_source(path, scratch=scratch)
        with pytest.raises(UnreadableFile, match="record 50001 is not closed"):
            reading.load_rows(source, first_record=1, width=2, folder=scratch)
        assert list(scratch.iterdir()) == []


def test_the_digest_tells_files_apart_by_their_bytes(tmp_path: Path, scratch: Path) -> None:
    """Value: BLAKE2b of RFC 7693 with 16 bytes, as ``b2sum -l 128`` gives it."""
    first, second = tmp_path / "first.csv", tmp_path / "second.csv"
    first.write_bytes(b"a;b\n")
    second.write_bytes(b"a;b\r\n")
    assert reading.open_source(first, scratch=scratch).digest == B2SUM
    assert reading.open_source(second, scratch=scratch).digest != B2SUM


B2SUM = "ed950d6c483a096996210a1e29489bb2"


def open_and_load(connection: duckdb.DuckDBPyConnection, content: bytes, folder: Path, **said: str) -> None:
    """Either the file is read to its end, or an error says why not."""
    scratch = folder / "scratch"
    scratch.mkdir(exist_ok=True)
    path = folder / "list.bin"
    path.write_bytes(content)
    refusal = None
    try:
        source = reading.open_source(path, scratch=scratch, **said)
        for width in (1, 3):
            rows_of(connection, reading.load_rows(source, first_record=1, width=width, folder=scratch))
    except UnreadableFile as error:
        refusal = error
    if refusal:
        assert refusal.where == "list.bin"
        return
    filled = sum(any(record) for record in source.head)
    counts = connection.execute(
        "SELECT count(*) FILTER (c0 IS NOT NULL OR c1 IS NOT NULL OR c2 IS NOT NULL OR surplus IS NOT NULL) "
        "FROM raw WHERE record <= 200"
    ).fetchall()
    assert counts == [(filled,)]


class TestWhatever:
    """Whatever the bytes are: a table or a refusal, never another error."""

    @many_files
    @given(content=st.binary(max_size=300))
    def test_any_bytes(self, connection: Any, tmp_path: Path, content: bytes) -> None:
        """Any bytes."""
        open_and_load(connection, content, tmp_path)

    @many_files
    @given(content=st.text(alphabet='";,|\t\r\n aΩ1\x00\ufeff', max_size=80))
    def test_any_text_of_the_letters_that_matter(self, connection: Any, tmp_path: Path, content: str) -> None:
        """Any text of the letters that matter."""
        open_and_load(connection, content.encode(), tmp_path)

    @many_files
    @given(
        content=st.binary(max_size=60),
        encoding=st.sampled_from(["utf-8", "utf-16", "utf-16-le", "utf-32", "cp1252", "ascii", "utf-7", "gb18030"]),
    )
    def test_any_bytes_in_any_encoding(self, connection: Any, tmp_path: Path, content: bytes, encoding: str) -> None:
        """Any bytes in any encoding."""
        open_and_load(connection, content, tmp_path, encoding=encoding)

    @many_files
    @given(data=st.data())
    def test_good_files_with_harm_done_to_them(self, connection: Any, tmp_path: Path, data: st.DataObject) -> None:
        """Good files with harm done to them."""
        kind = data.draw(st.sampled_from(sorted(GOOD)))
        content = bytearray(GOOD[kind]())
        for _ in range(data.draw(st.integers(1, 4))):
            place = data.draw(st.integers(0, len(content) - 1))
            content[place : place + data.draw(st.integers(0, 3))] = data.draw(st.binary(max_size=3))
        if data.draw(st.booleans()):
            del content[data.draw(st.integers(0, len(content))) :]
        open_and_load(connection, bytes(content), tmp_path)


@cache
def workbook_bytes() -> bytes:
    """Save the workbook once: each one carries its time and so differs."""
    with tempfile.TemporaryDirectory() as folder:
        return workbook(Path(folder) / "good.xlsx").read_bytes()


GOOD: dict[str, Callable[[], bytes]] = {
    "text": lambda: text_of(PRICES).encode(),
    "utf-16": lambda: text_of(PRICES).encode("utf-16"),
    "gzip": lambda: gzip.compress(text_of(PRICES).encode(), mtime=0),
    "xlsx": workbook_bytes,
}

fields = st.text(alphabet=st.sampled_from('ab1 ,;"\n\r\tΩ€'), max_size=6)
tables = st.integers(2, 4).flatmap(
    lambda width: st.lists(st.lists(fields, min_size=width, max_size=width).filter(any), min_size=1, max_size=8)
)


class TestTheTwoWays:
    """The quick reader and the careful one give the same table."""

    @many_files
    @given(rows=tables, delimiter=st.sampled_from(",;\t|"), line_end=st.sampled_from(["\n", "\r\n", "\r"]))
    def test_what_was_written_is_what_is_read(
        self, connection: Any, tmp_path: Path, rows: list[list[str]], delimiter: str, line_end: str
    ) -> None:
        """Oracle: the table that Python's csv writer wrote."""
        folder = tmp_path / "scratch"
        folder.mkdir(exist_ok=True)
        path = tmp_path / "list.csv"
        text = io.StringIO(newline="")
        csv.writer(text, delimiter=delimiter, lineterminator=line_end, quoting=csv.QUOTE_ALL).writerows(rows)
        path.write_text(text.getvalue(), encoding="utf-8", newline="")
        if not "".join("".join(row) for row in rows).strip():
            with pytest.raises(UnreadableFile, match="empty"):
                reading.open_source(path, scratch=folder, delimiter=delimiter)
            return
        source = reading.open_source(path, scratch=folder, delimiter=delimiter)
        texts = reading.load_rows(source, first_record=1, width=len(rows[0]), folder=folder)
        assert rows_of(connection, texts) == numbered(rows)

    @many_files
    @given(data=st.data(), line_end=st.sampled_from(["\n", "\r\n"]))
    def test_where_the_text_is_cut_makes_no_difference(
        self, connection: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, data: st.DataObject, line_end: str
    ) -> None:
        """Slabs of a few bytes, with records among them that are too long or too short, broken or blank."""
        lines = st.sampled_from(["a;b", 'a;"b;c"', '"x";""', "a", "a;b;c", "a;b;", "", 'Ω;"two\nlines"', "; "])
        text = line_end.join(data.draw(st.lists(lines, min_size=1, max_size=40)))
        for name, most in (("_FIRST_SLAB", 40), ("_SLAB", 60), ("_SMALLEST", 20), ("_HOPELESS", 4)):
            monkeypatch.setattr(bulk, name, data.draw(st.integers(1, most)))
        quick, careful = both_ways(connection, tmp_path, text.encode(), data.draw(st.integers(1, 3)), 2)
        if quick is not None:
            assert quick == careful
        else:  # line ends within quotes may differ from the others, which readers take in two ways
            assert line_end == "\r\n" or not careful

    @many_files
    @given(
        text=st.lists(
            st.sampled_from(["a", "b1", " ", '"', '""', '"a;b"', '"a\nb"', ";", ";", "\n", "\r\n", "Ω", "a;b;c\n"]),
            max_size=25,
        ).map("".join),
        first_record=st.integers(1, 4),
        width=st.integers(2, 4),
    )
    @example(text='a; "b";c\nd;e;f\n', first_record=1, width=3)
    @example(text='a;"b" ;c\nd;e;f\n', first_record=1, width=3)
    @example(text='a"\n\n"a\nb"', first_record=1, width=2)
    @example(text="a;b;\nc;d;\nend\n", first_record=1, width=2)
    @example(text='x\n"a\nb";c\n\nd;e\nf;g', first_record=4, width=2)
    def test_where_the_quick_way_is_taken_the_careful_way_gives_the_same(
        self, connection: Any, tmp_path: Path, text: str, first_record: int, width: int
    ) -> None:
        """Where the quick way is taken the careful way gives the same."""
        quick, careful = both_ways(connection, tmp_path, text.encode(), first_record, width)
        if quick is not None:
            assert quick == careful

    @pytest.mark.parametrize(
        ("text", "first_record", "width"),
        [
            ("a;b\nc;d\n", 1, 2),
            ("a;b\r\nc;d", 1, 2),
            ('Our list\n\n"part\nnumber";b\nc;"d\ne"\n', 3, 2),
            ('a;b\r\nc;"d\ne"\r\n', 1, 2),
            ("a;b\nc;d\nend of list\n", 1, 2),
            ('a;b\n"c\nx";d\nend of list\n\n', 1, 2),
            ("a;b;\nc;d;\n", 1, 2),
            ("\n\na;b\n\n\nc;d\n\nend of list\n\n", 2, 2),
            ("\ufeffa;b\nc;d\n", 1, 2),
            ("a;b\r\n\r\nc;d\r\n", 1, 2),
            ("a;b\n" * 50 + "short\n" + "c;" + "x" * 140_000 + "\n", 1, 2),
            ("a;b\n" * 50 + "short\n" + 'c;"' + "x, y\n" * 50_000 + '"\n', 1, 2),
        ],
    )
    def test_clean_files_go_the_quick_way(
        self, connection: Any, tmp_path: Path, text: str, first_record: int, width: int
    ) -> None:
        """Clean files go the quick way."""
        quick, careful = both_ways(connection, tmp_path, text.encode(), first_record, width)
        assert quick == careful

    @pytest.mark.parametrize("text", ["a;b\r" * 1000, "a;b\n" * 300 + 'a;"b\n' + "c;d\n" * 1000])
    def test_what_does_not_end_is_not_read_into_memory(
        self, tmp_path: Path, scratch: Path, monkeypatch: pytest.MonkeyPatch, text: str
    ) -> None:
        """A file of other line ends, or a quotation mark that stays open: the quick way gives up soon."""
        path = tmp_path / "list.csv"
        path.write_text(text, encoding="utf-8", newline="")
        source = reading.open_source(path, scratch=scratch, delimiter=";")
        monkeypatch.setattr(bulk, "_FIRST_SLAB", 8)
        monkeypatch.setattr(bulk, "_LONGEST", 16)
        steps: list[int] = []
        to_the_end = bulk._to_the_end_of_a_record

        def noted(stream: Any, data: bytearray, end: int, survey: Any) -> int:
            before = stream.tell()
            try:
                return to_the_end(stream, data, end, survey)
            finally:
                steps.append(stream.tell() - before)

        monkeypatch.setattr(bulk, "_to_the_end_of_a_record", noted)
        layout = stepwise.Layout(text=source.text, delimiter=";", first_record=1, width=2)
        assert bulk.load(layout, source.survey, source.head, folder=scratch) is None
        assert max(steps) <= 3 * 16

    @pytest.mark.parametrize("fault", ["x" * 1_100_000 + "\n", '"never closed\n' + "e;f\n" * 10])
    def test_an_error_says_the_record_of_the_file(self, tmp_path: Path, scratch: Path, fault: str) -> None:
        """Also where the quick way has left a piece to the careful one."""
        path = tmp_path / "list.csv"
        path.write_text("a;b\n" * 1000 + "short\n" + "c;" + fault, encoding="utf-8")
        source = reading.open_source(path, scratch=scratch, delimiter=";")
        with pytest.raises(UnreadableFile, match=r"record 100[12]\b"):
            reading.load_rows(source, first_record=1, width=2, folder=scratch)

    def test_a_file_that_is_cut_while_it_is_read_is_refused(
        self, tmp_path: Path, scratch: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """What is left of it is not taken for the whole."""
        path = tmp_path / "list.csv"
        path.write_bytes(b"a;b\n" * 1000)
        source = reading.open_source(path, scratch=scratch)
        load = bulk.load

        def cut_and_load(*words: Any, **said: Any) -> Any:
            path.write_bytes(b"a;b\n" * 10)
            return load(*words, **said)

        monkeypatch.setattr(bulk, "load", cut_and_load)
        with pytest.raises(UnreadableFile, match="changed"):
            reading.load_rows(source, first_record=1, width=2, folder=scratch)

    @pytest.mark.parametrize(
        "text",
        [
            'a; "b"\nc;d\n',
            'a;"b" \nc;d\n',
            '3/4" hose;b\nc;12"\n',
            "a;b\nc;d\r\n",
            "a;b\rc;d\r",
            "a;b\n" + "\n" * 60 + "c;d\n",
        ],
    )
    def test_what_readers_may_understand_in_two_ways_goes_the_careful_way(
        self, connection: Any, tmp_path: Path, text: str
    ) -> None:
        """What readers may understand in two ways goes the careful way."""
        quick, careful = both_ways(connection, tmp_path, text.encode(), 1, 2)
        assert quick is None
        assert careful is not None
        assert len(careful) == 2


def both_ways(
    connection: duckdb.DuckDBPyConnection, folder: Path, content: bytes, first_record: int, width: int
) -> tuple[list[tuple[Any, ...]] | None, list[tuple[Any, ...]] | None]:
    """Load by the quick way, if it is taken, and by the careful way; ``None`` for what is refused."""
    scratch = folder / "scratch"
    scratch.mkdir(exist_ok=True)
    path = folder / "list.csv"
    path.write_bytes(content)
    try:
        source = reading.open_source(path, scratch=scratch, delimiter=";")
    except UnreadableFile:
        return None, None
    layout = stepwise.Layout(text=source.text, delimiter=";", first_record=first_record, width=width)
    quick = bulk.load(layout, source.survey, source.head, folder=scratch)
    with source.text.open(encoding="utf-8-sig", newline="") as stream:
        careful = stepwise.load(reading.records(stream, ";", where="list"), layout, folder=scratch)
    return (None if quick is None else rows_of(connection, quick)), rows_of(connection, careful)


def test_a_source_that_is_closed_reads_no_longer(tmp_path: Path, scratch: Path) -> None:
    """Nothing goes on beside when a file is given up; what it was asked before still holds."""
    path = tmp_path / "list.csv"
    path.write_bytes(b"a;b\n" * 2_000_000)
    before = set(threading.enumerate())
    source = reading.open_source(path, scratch=scratch)
    source.close()
    assert source.digest
    for thread in set(threading.enumerate()) - before:
        thread.join(10)
        assert not thread.is_alive()
