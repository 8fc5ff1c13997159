"""The catalogue's page: a list is dropped, looked at, corrected, confirmed, and nothing enters before that."""

from __future__ import annotations

import html
import io
import re
import threading
import time
import tomllib
import zipfile
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from loadworthy import shipped
from loadworthy.catalog import versions
from loadworthy.catalog.intake import intake
from loadworthy.catalog.store import Catalog
from loadworthy.web import app as application
from loadworthy.web import spool as spooling
from loadworthy.web.catalog_looks import MOST_READINGS
from loadworthy.web.spool import LONGEST_S, MOST_ENTRIES, MOST_FILES, NotThere, Spool, label

HEADINGS = "Maker;Part number;Package;VGS max (V);VDS (V);On-state;Weight"
ODD = HEADINGS + "\n" + "".join(f"Mossbank;MB{n};TO-220;20;{20 + n};{8 + n},5;{n}\n" for n in range(1, 6))
"""A list that leaves one column open: what the on-state figure is."""
NO_NUMBER = "Package;VDS (V);RDS(on) max at VGS=4.5V (mΩ);Our thing\nTO-220;30;9;AB1\nTO-220;40;8;AB2\n"
LETTER = "Dear reader,\nthere is no table here.\nYours\n"


def seen(answer: Any) -> str:
    """Return what a page says, without its marks and with its letters as they are."""
    return " ".join(html.unescape(re.sub(r"<[^>]*>", " ", answer.text)).split())


def drop(client: Any, *files: tuple[str, str | bytes], **fields: str) -> str:
    """Drop files and return the address of what was found."""
    uploads = [(io.BytesIO(text.encode() if isinstance(text, str) else text), name) for name, text in files]
    answer = client.post("/catalog/look", data={"file": uploads, **fields})
    assert answer.status_code == 303, seen(answer)
    return str(answer.location)


def look(client: Any, address: str) -> Any:
    """Ask for a page until what it waits for has come."""
    end = time.monotonic() + 60
    while True:
        answer = client.get(address.partition("#")[0])
        if "Refresh" not in answer.headers:
            return answer
        assert time.monotonic() < end, "it never ends"


def token(address: str) -> str:
    """Return the token of an address."""
    return address.partition("?")[0].rpartition("/")[2]


def take(client: Any, address: str, reading: int = 1, tables: tuple[int, ...] = (0,), **fields: str) -> Any:
    """Confirm, and return the page on which that ends."""
    said = {"token": token(address), "reading": reading, "take": list(tables), **fields}
    answer = client.post("/catalog/take", data=said)
    if answer.status_code != 303:
        return answer
    answer = client.get(answer.location)
    while "Refresh" in answer.headers:
        answer = client.get(address)
    return client.get(answer.location) if answer.status_code == 303 else answer


def correct(client: Any, address: str, reading: int = 1, table: int = 0, **fields: str) -> tuple[str, Any]:
    """Correct something and return the new address and its page."""
    said = {name.replace("__", "."): text for name, text in fields.items()}
    answer = client.post(f"/catalog/look/{token(address)}/correct", data={"reading": reading, "table": table, **said})
    assert answer.status_code == 303, seen(answer)
    return str(answer.location), look(client, str(answer.location))


@pytest.fixture
def place(tmp_path: Path) -> Path:
    """Return where the empty client's catalogue will stand."""
    return tmp_path / "empty.duckdb"


class TestWhatItHolds:
    """The front page."""

    def test_families_lists_and_how_complete_they_are(self, client: Any) -> None:
        """Counts are those that the catalogue gives."""
        answer = client.get("/catalog")
        assert answer.status_code == 200
        said = seen(answer)
        for word in ("transistor", "connector", "thistledown.csv", "tidemill-path.xlsx, Heat sinks", "2026-11-02"):
            assert word in said
        assert "How much is known of each fuse" in said

    def test_without_a_catalogue_it_says_so_and_where_one_will_be(self, empty: Any, place: Path) -> None:
        """Looking at the page makes none."""
        answer = empty.get("/catalog")
        assert answer.status_code == 200
        assert "There is no catalogue yet" in seen(answer)
        assert str(place) in seen(answer)
        assert not place.exists()

    def test_what_is_no_catalogue_is_told_on_the_page(self, opened: Callable[[Path], Any], tmp_path: Path) -> None:
        """The rest of the page stays."""
        wrong = tmp_path / "notes.duckdb"
        wrong.write_text("notes on the benches, and nothing that an engine could read")
        answer = opened(wrong).get("/catalog")
        assert answer.status_code == 200
        assert "not a catalogue" in seen(answer)

    def test_refused_cells_stand_behind_a_link_of_their_list(self, client: Any) -> None:
        """With row, column, text and reason."""
        front = client.get("/catalog").text
        found = re.findall(r'href="(/catalog/refused\?list=\d+)"', front)
        assert found
        assert "why it was refused" in seen(client.get(found[0]))

    def test_refused_lines_come_in_pages(self, empty: Any) -> None:
        """Every line stands on exactly one."""
        rows = "".join(f"Mossbank;MB{n};TO-220;20;wet{n};{n};1\n" for n in range(250)) + ODD.partition("\n")[2]
        good = "".join(f"Mossbank;MG{n};TO-220;20;{20 + n / 100};9;1\n" for n in range(2000))
        address = drop(empty, ("mossy.csv", f"{HEADINGS}\n{rows}{good}"))
        look(empty, address)
        take(empty, address)
        pages = [seen(empty.get(f"/catalog/refused?list=1&after={after}")) for after in (0, 100, 200)]
        texts = [set(re.findall(r"\bwet\d+\b", page)) for page in pages]
        assert set().union(*texts) == {f"wet{n}" for n in range(250)}
        assert sum(map(len, texts)) == 250

    @pytest.mark.parametrize("query", ["list=77", "list=-1", "list=x&after=y", "after=99999999999999999999"])
    def test_a_list_that_is_not_there_is_no_fault(self, client: Any, query: str) -> None:
        """It says so, or shows all."""
        assert client.get(f"/catalog/refused?{query}").status_code in (200, 404)


class TestLooking:
    """A list is read and shown; nothing enters."""

    def test_every_column_stands_with_what_it_was_read_as(self, empty: Any, place: Path) -> None:
        """Also one that is not read, with some of its cells and why."""
        answer = look(empty, drop(empty, ("Quayside.csv", ODD)))
        said = seen(answer)
        assert answer.status_code == 200
        for heading in HEADINGS.split(";"):
            assert heading in said
        assert "5 rows: 5 parts." in said
        assert "drain–source voltage, V" in said
        assert "“9,5”" in said or "9,5" in said
        assert "not read" in said
        assert "Quayside (from the file's name)" in said
        assert not place.exists()

    def test_what_is_not_said_is_one_choice(self, empty: Any) -> None:
        """A rating is by UL, by IEC, or nobody says: the catalogue's own word for the last is no choice of its own."""
        listed = "Part number;Maker;Ways;Rated current (A)\nHK-2;Holmfelt;2;16\nHK-3;Holmfelt;3;16\n"
        page = empty.get(drop(empty, ("terminals.csv", listed), family="connector")).text
        told = re.search(r'<select name="c4.place".*?</select>', page, re.DOTALL)
        assert told is not None
        assert re.findall(r">([^<>]+)</option>", told.group()) == ["not said", "iec", "ul"]

    def test_guessed_columns_stand_first_and_say_so_in_words(self, empty: Any) -> None:
        """The list of terminals leaves some in doubt."""
        path = shipped.catalog_dir() / "greenhouse" / "thistledown-terminals.csv"
        text = look(empty, drop(empty, (path.name, path.read_bytes()))).text
        how = re.findall(r'<span class="how">([^<]*)</span>', text)
        assert how[0] == "guessed"
        assert how == sorted(how, key=["guessed", "sure", "not read"].index)
        assert f"<b>{how.count('guessed')} columns were guessed</b>" in text

    def test_refused_cells_are_shown_with_their_reason(self, empty: Any) -> None:
        """The first hundred, and the count of all."""
        rows = "".join(f"Mossbank;MB{n};TO-220;20;{'wet' if n % 8 == 0 else n % 30 + 10};9;1\n" for n in range(1000))
        said = seen(look(empty, drop(empty, ("mossy.csv", f"{HEADINGS}\n{rows}"))))
        assert "1000 parts; 125 cells of them refused" in said
        assert "The first 100 of 125 lines." in said
        assert "wet" in said

    def test_sheets_of_a_workbook_stand_side_by_side(self, empty: Any) -> None:
        """Each is a list of its own; another is shown by its address."""
        path = shipped.catalog_dir() / "greenhouse" / "tidemill-path.xlsx"
        address = drop(empty, (path.name, path.read_bytes()))
        said = seen(look(empty, address))
        for sheet in ("Heat sinks", "Hook-up wire", "Diodes"):
            assert sheet in said
        assert "diodes" in seen(look(empty, f"{address}?table=2"))
        assert look(empty, f"{address}?table=9").status_code == 404

    def test_what_cannot_be_read_stands_beside_what_can(self, empty: Any) -> None:
        """With its first rows and the fields that may settle it."""
        answer = look(empty, drop(empty, ("letter.txt", LETTER), ("Quayside.csv", ODD)))
        said = seen(answer)
        assert answer.status_code == 200
        assert "cannot be taken in as it is" in said
        assert "No row near its top reads as the headings" in said
        assert "there is no table here." in said
        assert "--recipe" not in said.partition("Its first rows")[0]

    @pytest.mark.parametrize(
        "content",
        [b"", b"\x00\x01\x02" * 500, b"\x89PNG\r\n\x1a\n" + b"x" * 100, b"PK\x03\x04 cut short", b"\x1f\x8b broken"],
        ids=["empty", "no text", "picture", "workbook", "packed"],
    )
    def test_a_file_that_is_no_table_is_told_in_place(self, empty: Any, place: Path, content: bytes) -> None:
        """Under the name that it was dropped by, not under the one that it has on the disk."""
        address = drop(empty, ("Quayside.csv", content))
        answer = look(empty, address)
        assert answer.status_code == 200
        alert = re.search(r'role="alert">(.*?)</div>', answer.text, re.DOTALL)
        assert alert is not None
        assert "Quayside.csv" in alert[1]
        assert "Take it in" not in answer.text
        assert take(empty, address).status_code == 400
        assert not place.exists()

    def test_a_workbook_that_swells_is_refused(self, empty: Any) -> None:
        """A sheet of a few kilobytes that unpacks to a row in a far corner, and a part of zeros."""
        packed = io.BytesIO()
        with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as book:
            book.writestr("[Content_Types].xml", "<Types/>")
            book.writestr("xl/workbook.xml", b"0" * 50_000_000)
        answer = look(empty, drop(empty, ("swollen.xlsx", packed.getvalue())))
        assert answer.status_code == 200
        assert "swollen.xlsx" in seen(answer)
        assert "Take it in" not in answer.text

    def test_the_work_goes_along(self, empty: Any) -> None:
        """What the address carries of board and order is not lost by dropping a list."""
        address = drop(empty, ("Quayside.csv", ODD), board="abc", order="def")
        assert "board=abc" in address
        assert "order=def" in address


class TestCorrecting:
    """What is wrong is put right, read again, and told."""

    def test_a_column_is_read_as_it_is_said(self, empty: Any, place: Path) -> None:
        """The page says what that changed; the parts have the figure once it is confirmed."""
        address = drop(empty, ("Quayside.csv", ODD))
        look(empty, address)
        where, answer = correct(empty, address, c6__reads="rds_on")
        assert "reading=2" in where
        assert "does not go" in seen(answer)
        assert "no gate voltage is given" in seen(answer)
        where, answer = correct(
            empty, address, 2, c6__reads="rds_on", c6__statistic="max", c6__unit="mΩ", c6__gate_v="4.5 V"
        )
        assert "column 6, On-state: not read → on-resistance" in seen(answer)
        assert "on-resistance, max, VGS = 4.5 V, mΩ" in seen(answer)
        assert "said by you" in seen(answer)
        assert not place.exists()
        assert "It is in." in seen(take(empty, address, reading=3))
        with Catalog.open(place) as catalog:
            parts = catalog.parts("transistor").to_pylist()
        assert [part["rds_4v5_ohm"] for part in parts] == pytest.approx([0.0095, 0.0105, 0.0115, 0.0125, 0.0135])

    def test_a_correction_is_taken_back(self, empty: Any) -> None:
        """By its choice; and by the address of the reading before it, which never changes."""
        address = drop(empty, ("Quayside.csv", ODD))
        first = look(empty, address).text
        correct(empty, address, c5__reads="nothing")
        _, answer = correct(empty, address, 2, c5__reads="")
        assert "column 5, VDS (V): not read → drain–source voltage, V" in seen(answer)
        assert look(empty, f"{address}?reading=1").text == first

    def test_what_is_left_as_it_was_says_nothing(self, empty: Any) -> None:
        """Sent back as it was shown, the page corrects nothing."""
        address = drop(empty, ("Quayside.csv", ODD))
        text = look(empty, address).text
        inputs = dict(re.findall(r'<input type="text" [^>]*name="([^"]*)" value="([^"]*)"', text))
        selects = {
            name: found[1] if (found := re.search(r'value="([^"]*)" selected', options)) else ""
            for name, options in re.findall(r'<select name="([^"]*)".*?>(.*?)</select>', text, re.DOTALL)
        }
        assert len(selects) > 7
        fields = {name.replace(".", "__"): html.unescape(value) for name, value in {**inputs, **selects}.items()}
        _, answer = correct(empty, address, **fields)
        assert "Your correction changed nothing." in seen(answer)
        assert "said by you" not in seen(answer)

    @pytest.mark.parametrize(
        ("fields", "complaint"),
        [
            ({"c5__unit": "furlong"}, "is no unit of drain–source voltage"),
            ({"c5__statistic": "mostly"}, "is no statistic"),
            ({"c6__reads": "wishes"}, "is nothing that a column can hold"),
            ({"c5__temperature": "warm"}, "temperature"),
            ({"c6__reads": "price", "c6__quantity": "9"}, ""),
        ],
    )
    def test_what_does_not_go_stands_beside_its_column(
        self, empty: Any, fields: dict[str, str], complaint: str
    ) -> None:
        """The column comes first then, and the list cannot be taken in so."""
        address = drop(empty, ("Quayside.csv", ODD))
        look(empty, address)
        _, answer = correct(empty, address, **fields)
        if not complaint:
            assert "does not go" not in seen(answer)  # a condition that the column did not have is not heard
            return
        columns = answer.text.partition('<ol class="columns">')[2]
        first = columns.partition("</li>")[0]
        assert "does not go" in first
        assert complaint in html.unescape(first)
        assert take(empty, address, reading=2).status_code == 400

    def test_what_holds_for_the_whole_list(self, empty: Any, place: Path) -> None:
        """Its supplier and its decimal mark."""
        address = drop(empty, ("Quayside.csv", ODD))
        look(empty, address)
        _, answer = correct(empty, address, supplier="Quayside & <Sons>", decimal=".")
        said = seen(answer)
        assert "supplier: Quayside → Quayside & <Sons>" in said
        assert "decimal mark" in said
        take(empty, address, reading=2)
        with Catalog.open(place) as catalog:
            assert [one["supplier"] for one in catalog.summary().lists] == ["Quayside & <Sons>"]

    @pytest.mark.parametrize(
        "fields",
        [
            {"decimal": "~"},
            {"currency": "shells"},
            {"encoding": "morse"},
            {"heading_rows": "the first"},
            {"family": "spoon"},
            {"heading_rows": "90-95"},
            {"delimiter": "ab"},
        ],
        ids=str,
    )
    def test_nonsense_for_the_whole_list_is_told(self, empty: Any, fields: dict[str, str]) -> None:
        """The way out names no option of the command, and no file of the program's own."""
        address = drop(empty, ("Quayside.csv", ODD))
        look(empty, address)
        _, answer = correct(empty, address, **fields)
        alert = re.search(r'role="alert">(.*?)</div>', answer.text, re.DOTALL)
        assert answer.status_code == 200
        assert alert is not None
        assert "your-corrections" not in alert[1]
        assert "<details open>" in answer.text

    def test_a_part_number_is_pointed_out(self, empty: Any, place: Path) -> None:
        """A list of which no heading names the part can be settled on the page."""
        address = drop(empty, ("bare.csv", NO_NUMBER))
        answer = look(empty, address)
        assert "No column reads as the part number" in seen(answer)
        _, answer = correct(empty, address, c4__reads="part_number")
        assert "2 rows: 2 parts." in seen(answer)
        take(empty, address, reading=2)
        with Catalog.open(place) as catalog:
            assert [part["part_number"] for part in catalog.parts("transistor").to_pylist()] == ["AB1", "AB2"]

    def test_headings_that_were_not_found_are_pointed_out(self, empty: Any) -> None:
        """By their row and what the parts are; then each column."""
        text = "x1;x2;x3\nMB1;30;9\nMB2;40;8\n"
        address = drop(empty, ("bare.csv", text))
        assert "No row near its top" in seen(look(empty, address))
        _, answer = correct(empty, address, family="transistor", heading_rows="1")
        assert "No column reads as the part number" in seen(answer)
        _, answer = correct(empty, address, 2, c1__reads="part_number", c2__reads="vds")
        assert "2 rows: 2 parts." in seen(answer)

    def test_one_sheet_is_corrected_and_the_others_stay(self, empty: Any, place: Path) -> None:
        """All are taken in together, each as it was read."""
        path = shipped.catalog_dir() / "greenhouse" / "tidemill-path.xlsx"
        address = drop(empty, (path.name, path.read_bytes()))
        look(empty, address)
        _, answer = correct(empty, address, table=1, supplier="Tidemill Wire")
        assert "Tidemill Wire" in seen(answer)
        take(empty, address, reading=2, tables=(0, 1))
        with Catalog.open(place) as catalog:
            lists = {one["sheet"]: one["supplier"] for one in catalog.summary().lists}
        assert lists == {"Heat sinks": "tidemill-path", "Hook-up wire": "Tidemill Wire"}

    def test_the_recipe_reads_the_next_list_so(self, empty: Any, tmp_path: Path) -> None:
        """It is downloaded, and the command takes it."""
        address = drop(empty, ("Quayside.csv", ODD))
        look(empty, address)
        correct(empty, address, c6__reads="rds_on", currency="CHF")
        correct(empty, address, 2, c6__reads="rds_on", c6__statistic="max", c6__unit="mΩ", c6__gate_v="4.5 V")
        answer = empty.get(f"/catalog/look/{token(address)}/recipe?reading=3&table=0")
        assert answer.headers["Content-Disposition"].startswith("attachment")
        assert tomllib.loads(answer.text)["currency"] == "CHF"
        recipe, next_one = tmp_path / "quayside.toml", tmp_path / "next.csv"
        recipe.write_text(answer.text, encoding="utf-8")
        next_one.write_text(ODD, encoding="utf-8")
        (report,) = intake(tmp_path / "other.duckdb", [next_one], recipe=recipe)
        (on_state,) = (column for column in report.columns if column.heading == "On-state")
        assert (on_state.reads, on_state.statistic, on_state.unit, on_state.gate_v) == ("rds_on", "max", "mΩ", 4.5)

    def test_readings_are_kept_as_far_as_back_goes(self, empty: Any, monkeypatch: pytest.MonkeyPatch) -> None:
        """Not without end: the oldest are let go of."""
        monkeypatch.setattr("loadworthy.web.catalog_looks.MOST_READINGS", 3)
        assert MOST_READINGS > 3
        address = drop(empty, ("Quayside.csv", ODD))
        look(empty, address)
        for reading in range(1, 4):
            correct(empty, address, reading, supplier=f"Quayside {reading}")
        assert look(empty, f"{address}?reading=1").status_code == 404
        assert look(empty, f"{address}?reading=4").status_code == 200


class TestConfirming:
    """Only then it enters."""

    def test_what_came_of_it_is_told(self, empty: Any, place: Path) -> None:
        """New, then there already, then in the place of the earlier one."""
        address = drop(empty, ("Quayside.csv", ODD))
        look(empty, address)
        assert "Quayside.csv is new in the catalogue. 5 rows: 5 parts." in seen(take(empty, address))
        again = drop(empty, ("Quayside.csv", ODD))
        assert "they give way to it: Quayside.csv" in seen(look(empty, again))
        assert "was in already" in seen(take(empty, again))
        other = drop(empty, ("Quayside.csv", ODD + "Mossbank;MB9;TO-220;20;60;9;1\n"))
        look(empty, other)
        assert "took the place" in seen(take(empty, other))
        with Catalog.open(place) as catalog:
            assert [one["rows_parts"] for one in catalog.summary().lists] == [6]

    def test_earlier_lists_are_kept_where_that_is_ticked(self, empty: Any, place: Path) -> None:
        """A price list in several files."""
        for number, text in enumerate((ODD, ODD.replace("MB", "MC"))):
            address = drop(empty, ("Quayside.csv", text))
            look(empty, address)
            take(empty, address, **({"keep_earlier": "yes"} if number else {}))
        with Catalog.open(place) as catalog:
            assert len(catalog.summary().lists) == 2

    def test_only_what_is_ticked_enters(self, empty: Any, place: Path) -> None:
        """Of several lists that were dropped together."""
        address = drop(empty, ("one.csv", ODD), ("letter.txt", LETTER), ("two.csv", ODD.replace("MB", "MC")))
        look(empty, address)
        take(empty, address, tables=(2,))
        with Catalog.open(place) as catalog:
            assert [one["file"] for one in catalog.summary().lists] == ["two.csv"]

    def test_lists_dropped_together_do_not_replace_one_another(self, empty: Any, place: Path) -> None:
        """Although they are of one supplier."""
        address = drop(empty, ("one.csv", ODD), ("two.csv", ODD.replace("MB", "MC")))
        look(empty, address)
        correct(empty, address, 1, 0, supplier="Quayside")
        correct(empty, address, 2, 1, supplier="Quayside")
        take(empty, address, reading=3, tables=(0, 1))
        with Catalog.open(place) as catalog:
            assert [one["supplier"] for one in catalog.summary().lists] == ["Quayside", "Quayside"]

    def test_confirmed_twice_it_is_in_once(self, empty: Any, place: Path) -> None:
        """By a second page on the same list, or by sending the form again."""
        address = drop(empty, ("Quayside.csv", ODD))
        look(empty, address)
        take(empty, address)
        answer = empty.post("/catalog/take", data={"token": token(address), "reading": 1, "take": "0"})
        assert answer.status_code == 303
        assert "It is in." in seen(empty.get(empty.get(answer.location).location))
        with Catalog.open(place) as catalog:
            assert len(catalog.summary().lists) == 1

    def test_discarded_it_is_gone(self, empty: Any, place: Path) -> None:
        """And its address says the way out."""
        address = drop(empty, ("Quayside.csv", ODD))
        look(empty, address)
        answer = empty.post("/catalog/discard", data={"token": token(address)})
        assert (answer.status_code, answer.location) == (303, "/catalog")
        answer = empty.get(address)
        assert answer.status_code == 404
        assert "Drop it again" in seen(answer)
        assert not place.exists()

    @pytest.mark.parametrize("path", ["look", "take", "discard"])
    def test_nothing_is_changed_by_following_a_link_or_from_elsewhere(self, empty: Any, path: str) -> None:
        """By GET it is not there; by POST without this page's origin it is refused."""
        assert empty.get(f"/catalog/{path}").status_code in (404, 405)
        assert empty.post(f"/catalog/{path}", headers={"Origin": None}).status_code == 403
        assert empty.post(f"/catalog/{path}", headers={"Origin": "http://elsewhere.example"}).status_code == 403

    @pytest.mark.parametrize(
        "said", [{}, {"take": "x"}, {"take": "7"}, {"take": "99999999999999999999"}, {"reading": "8"}]
    )
    def test_what_cannot_be_meant_is_told(self, empty: Any, place: Path, said: dict[str, str]) -> None:
        """Nothing ticked, another table, another reading."""
        address = drop(empty, ("Quayside.csv", ODD))
        look(empty, address)
        answer = empty.post("/catalog/take", data={"token": token(address), "reading": 1, **said})
        assert answer.status_code in (400, 404)
        assert not place.exists()


class TestTwoAtOnce:
    """Pages that are open side by side neither corrupt nor block one another."""

    @pytest.fixture
    def gate(self, monkeypatch: pytest.MonkeyPatch) -> Iterator[tuple[threading.Event, threading.Event]]:
        """Hold every intake at its first step: (one is there, it may go on)."""
        there, may = threading.Event(), threading.Event()

        def held_up(*args: Any, progress: Callable[[str, float], None], **said: Any) -> Any:
            progress("reading", 0.4)
            there.set()
            assert may.wait(30)
            return intake(*args, progress=progress, **said)

        monkeypatch.setattr("loadworthy.web.catalog_looks.intake", held_up)
        monkeypatch.setattr("loadworthy.web.catalog_page._PATIENCE_S", 0.01)
        monkeypatch.setattr("loadworthy.web.catalog_page._CONFIRMED_S", 0.01)
        yield there, may
        may.set()

    def test_while_a_list_is_read_the_page_says_how_far(self, empty: Any, gate: Any) -> None:
        """It asks again by itself, and other pages answer."""
        there, may = gate
        address = drop(empty, ("Quayside.csv", ODD))
        assert there.wait(30)
        answer = empty.get(address)
        assert "Quayside.csv is being read" in seen(answer)
        assert "40 %" in seen(answer)
        assert 'aria-busy="true"' in answer.text
        assert answer.headers["Refresh"].startswith(f"1; url={address.partition('?')[0]}?")
        assert empty.get("/catalog").status_code == 200
        may.set()
        assert "5 rows: 5 parts." in seen(look(empty, address))

    def test_what_is_left_while_it_is_read_goes(self, empty: Any, gate: Any) -> None:
        """Its files too, as soon as nobody reads them."""
        there, may = gate
        address = drop(empty, ("Quayside.csv", ODD))
        assert there.wait(30)
        assert empty.post("/catalog/discard", data={"token": token(address)}).status_code == 303
        may.set()
        assert empty.get(address).status_code == 404

    def test_a_reading_whose_files_go_beneath_it_is_no_fault(
        self, empty: Any, gate: Any, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
    ) -> None:
        """As where the program ends: it was let go of before it could be told."""
        there, may = gate

        def torn(*_: Any, **__: Any) -> Any:
            there.set()
            assert may.wait(30)
            raise FileNotFoundError("gone")

        monkeypatch.setattr("loadworthy.web.catalog_looks.intake", torn)
        address = drop(empty, ("Quayside.csv", ODD))
        assert there.wait(30)
        assert empty.post("/catalog/discard", data={"token": token(address)}).status_code == 303
        may.set()
        for one in threading.enumerate():
            if one.name == "loadworthy-list":
                one.join(30)
        assert caplog.records == []

    def test_a_reader_goes_on_while_a_list_is_taken_in(self, own: Any, gate: Any) -> None:
        """Needs are answered, the catalogue tells what it holds, and the list is in afterwards."""
        there, may = gate
        may.set()
        address = drop(own, ("Quayside.csv", ODD))
        look(own, address)
        may.clear()
        there.clear()
        answer = own.post("/catalog/take", data={"token": token(address), "reading": 1, "take": "0"})
        assert answer.status_code == 303
        assert there.wait(30)
        assert "is being taken in" in seen(own.get(address))
        assert own.post("/catalog/discard", data={"token": token(address)}).status_code == 400
        answers: list[Any] = []
        readers = [
            threading.Thread(target=lambda path=path: answers.append(own.application.test_client().get(path)))
            for path in ("/catalog", "/need/transistor?supply=12V&resistance=1.6ohm") * 3
        ]
        for reader in readers:
            reader.start()
        for reader in readers:
            reader.join(60)
        assert [one.status_code for one in answers] == [200] * 6
        assert not any("Quayside.csv" in seen(one) for one in answers)
        may.set()
        answer = look(own, address)
        assert answer.status_code == 303
        assert "Quayside.csv is new" in seen(own.get(answer.location))

    def test_the_second_to_confirm_waits_its_turn(self, empty: Any, place: Path, gate: Any) -> None:
        """Both lists are in at the end."""
        there, may = gate
        may.set()
        addresses = [drop(empty, (f"{name}.csv", ODD)) for name in ("one", "two")]
        for address in addresses:
            look(empty, address)
        may.clear()
        there.clear()
        for address in addresses:
            empty.post("/catalog/take", data={"token": token(address), "reading": 1, "take": "0"})
        assert there.wait(30)
        waiting = [seen(empty.get(address)) for address in addresses]
        assert sum("Waiting until another list is in" in said for said in waiting) == 1
        may.set()
        for address in addresses:
            assert look(empty, address).status_code == 303
        with Catalog.open(place) as catalog:
            assert sorted(one["file"] for one in catalog.summary().lists) == ["one.csv", "two.csv"]

    def test_a_busy_catalogue_is_told_and_the_list_waits(
        self, own: Any, stocked: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """Another program writes: a page with the way out, and the same button again."""
        monkeypatch.setattr(versions, "WAIT_S", 0.05)
        address = drop(own, ("Quayside.csv", ODD))
        look(own, address)
        _, answer = correct(own, address, supplier="Quayside Parts")
        with versions.renewed(tmp_path / "own.duckdb"):
            answer = take(own, address, reading=2)
            assert answer.status_code == 503
            assert "is being written to" in seen(answer)
            assert "confirm it again then" in seen(answer)
            assert "Take it in" in answer.text
        assert "Quayside.csv is new" in seen(take(own, address, reading=2))

    def test_two_pages_correct_the_same_list_each_for_itself(self, empty: Any) -> None:
        """What one says does not reach the other."""
        address = drop(empty, ("Quayside.csv", ODD))
        look(empty, address)
        one, _ = correct(empty, address, supplier="Reedham")
        other, _ = correct(empty, address, c5__reads="nothing")
        assert "Reedham" in seen(look(empty, one))
        assert "Reedham" not in seen(look(empty, other))


class TestHostileInput:
    """What a page sends is no order."""

    @pytest.mark.parametrize(
        "name",
        [
            "../../../etc/passwd.csv", "..\\..\\boot.csv", "/etc/cron.d/x.csv", "<script>alert(1)</script>.csv",
            "a\x00b.csv", "x" * 4000 + ".csv", "..", "\N{RIGHT-TO-LEFT OVERRIDE}vsc.exe",
            "'; DROP TABLE lists; --.csv", "{{ 7 * 7 }}.csv",
        ],
    )  # fmt: skip
    def test_a_files_name_is_a_label(self, empty: Any, place: Path, name: str) -> None:
        """It steers neither the page nor the disk; the list is in under its last part."""
        address = drop(empty, (name, ODD))
        answer = look(empty, address)
        assert answer.status_code == 200
        assert "<script>alert" not in answer.text
        assert "\N{RIGHT-TO-LEFT OVERRIDE}" not in answer.text
        assert "It is in." in seen(take(empty, address))
        with Catalog.open(place) as catalog:
            (one,) = catalog.summary().lists
        assert "/" not in one["file"].replace("</script>", "")
        assert len(one["file"]) <= 120
        assert sorted(path.name for path in place.parent.iterdir()) == [place.name]

    def test_headings_and_cells_with_marks_are_texts(self, empty: Any) -> None:
        """Also in the select, the notes and the table of what was refused."""
        text = ODD.replace("On-state", "<img src=x onerror=alert(1)>").replace(
            "MB3;TO-220;20;23", "MB3;TO-220;20;<b>wet</b>"
        )
        answer = look(empty, drop(empty, ("Quayside.csv", text)))
        assert "<img src=x" not in answer.text
        assert "<b>wet" not in answer.text
        assert "<img src=x onerror=alert(1)>" in html.unescape(answer.text)

    @pytest.mark.parametrize(
        "shape", ["x", "a" * 22, "..", "%2e%2e%2f%2e%2e", "A" * 5000, "' OR 1=1 --", "ééééééééééééééééééééée"]
    )
    def test_a_token_of_another_shape_is_not_there(self, empty: Any, shape: str) -> None:
        """A page with the way out."""
        for answer in (
            empty.get(f"/catalog/look/{shape}"),
            empty.get(f"/catalog/look/{shape}/recipe"),
            empty.post(f"/catalog/look/{shape}/correct"),
            empty.post("/catalog/take", data={"token": shape}),
            empty.post("/catalog/discard", data={"token": shape}),
        ):
            assert answer.status_code == 404
        assert empty.get(f"/catalog?came={shape}").status_code == 200

    def test_more_than_is_taken_in_at_once(self, empty: Any) -> None:
        """A page that names the bound and the way out."""
        empty.application.config["MAX_CONTENT_LENGTH"] = 1000
        answer = empty.post("/catalog/look", data={"file": (io.BytesIO(b"x" * 2000), "big.csv")})
        assert answer.status_code == 413
        assert f"{application.MOST_UPLOAD // 1_048_576} MiB" in seen(answer)
        assert "loadworthy intake FILE" in seen(answer)

    def test_no_file_and_too_many(self, empty: Any) -> None:
        """Each is told."""
        answer = empty.post("/catalog/look", data={})
        assert answer.status_code == 400
        assert "no file was chosen" in seen(answer).lower()
        many = [(io.BytesIO(b"x"), f"{number}.csv") for number in range(MOST_FILES + 1)]
        assert empty.post("/catalog/look", data={"file": many}).status_code == 400


class TestSpool:
    """Where dropped files wait."""

    class Clock:
        """Seconds that pass when they are told to."""

        now = 0.0

        def __call__(self) -> float:
            """Say what it is."""
            return self.now

    @pytest.fixture
    def clock(self) -> Clock:
        """Return a clock that stands."""
        return self.Clock()

    @pytest.fixture
    def spool(self, clock: Clock) -> Iterator[Spool[None]]:
        """Return a spool that is closed at the end."""
        made: Spool[None] = Spool(lambda: None, clock=clock)
        yield made
        made.close()

    @staticmethod
    def put(spool: Spool[None], text: bytes = b"abc", name: str = "list.csv") -> Any:
        """Put one file in."""
        return spool.put([(name, io.BytesIO(text))])

    def test_it_ends_with_its_folder(self, spool: Spool[None]) -> None:
        """There is none before the first file, none after the end, and only its owner may look into it."""
        assert spool.folder is None
        entry = self.put(spool)
        folder = spool.folder
        assert folder is not None
        assert folder.stat().st_mode & 0o077 == 0
        assert entry.files[0].path.read_bytes() == b"abc"
        spool.close()
        assert not folder.exists()
        with pytest.raises(NotThere):
            self.put(spool)

    def test_the_end_of_the_process_removes_it(self) -> None:
        """Also where nobody closed it."""
        import subprocess
        import sys

        code = (
            "import io\nfrom loadworthy.web.spool import Spool\ns = Spool(lambda: None)\n"
            "s.put([('a.csv', io.BytesIO(b'x'))])\nprint(s.folder)"
        )
        done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)  # noqa: S603
        assert not Path(done.stdout.strip()).exists()

    def test_after_an_hour_that_nobody_looks_it_goes(self, spool: Spool[None], clock: Clock) -> None:
        """Whoever looks within it keeps it; what is at work stays as well."""
        looked, left, at_work = (self.put(spool) for _ in range(3))
        with spool.at_work(at_work):
            clock.now = LONGEST_S - 1
            spool.find(looked.token)
            clock.now = LONGEST_S + 1
            with pytest.raises(NotThere):
                spool.find(left.token)
            assert not left.folder.exists()
            assert spool.find(looked.token) is looked
            assert at_work.folder.exists()

    def test_the_oldest_make_room(self, spool: Spool[None], clock: Clock) -> None:
        """By their number."""
        entries = []
        for clock.now in range(MOST_ENTRIES + 2):
            entries.append(self.put(spool))
        assert [entry.folder.exists() for entry in entries] == [False] * 2 + [True] * MOST_ENTRIES

    def test_and_by_their_bytes(self, spool: Spool[None], monkeypatch: pytest.MonkeyPatch) -> None:
        """What is at work does not: then the new one is refused, and leaves nothing behind."""
        monkeypatch.setattr(spooling, "MOST_BYTES", 1000)
        first, second = self.put(spool, b"x" * 600), self.put(spool, b"x" * 600)
        assert not first.folder.exists()
        with spool.at_work(second), pytest.raises(spooling.UsageError, match="too many"):
            self.put(spool, b"x" * 600)
        assert spool.folder is not None
        assert [path.name for path in spool.folder.iterdir()] == [second.folder.name]

    def test_tokens_cannot_be_guessed_and_files_have_no_names(self, spool: Spool[None]) -> None:
        """128 bits each; two are never alike."""
        entries = [self.put(spool, name="../x.csv") for _ in range(5)]
        assert len({entry.token for entry in entries}) == 5
        assert all(len(entry.token) == 22 for entry in entries)
        assert {entry.files[0].name for entry in entries} == {"x.csv"}
        assert not any("x.csv" in str(entry.files[0].path) for entry in entries)

    def test_a_label_keeps_what_people_write(self) -> None:
        """Letters of any language, blanks, brackets; and its ending where it is too long."""
        assert label("Müller & Söhne (Mai).csv") == "Müller & Söhne (Mai).csv"
        assert label("x" * 500 + ".xlsx").endswith("….xlsx")
