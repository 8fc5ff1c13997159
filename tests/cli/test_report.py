"""``loadworthy report``: one page of what is named, and one message where that cannot be."""

from __future__ import annotations

import json
import os
import shlex
from collections.abc import Callable
from pathlib import Path
from typing import TypeAlias

import pytest
from click.testing import Result

from loadworthy import shipped
from loadworthy.needs import NEEDS
from loadworthy.quantities import show

Call: TypeAlias = Callable[..., Result]

GREENHOUSE = shipped.catalog_dir() / "greenhouse"
BOARD, ORDER = GREENHOUSE / "board.toml", GREENHOUSE / "order.toml"
#: A board on which everything carries its load: there is nothing to choose, and the page is made quickly.
SOUND = """\
title = "one lamp"
[supply]
voltage = "12V"
[surroundings]
ambient = "30degC"
[[output]]
name = "lamp"
[output.load]
kind = "resistive"
current = "1A"
[[output.link]]
kind = "plain"
name = "relay"
rated_current = "5A"
"""


@pytest.fixture
def sound(tmp_path: Path) -> Path:
    """Return a small board's file."""
    path = tmp_path / "lamp.toml"
    path.write_text(SOUND, encoding="utf-8")
    return path


@pytest.fixture
def measurement(greenhouse: Call, tmp_path: Path) -> Path:
    """Return a measurement as the bench writes it for programs."""
    words = "--drop 96.0mV --current 6.00A --gate 5V --temp 25degC --kelvin --pulse 300us"
    found = greenhouse(
        "bench", "transistor", "X1", *words.split(), "--claimed-on-resistance", "8mohm", "--format", "json"
    )
    assert found.exit_code == 1, found.output  # 16 mΩ against 8 mΩ
    path = tmp_path / "x1.json"
    path.write_text(found.stdout, encoding="utf-8")
    return path


def page_of(result: Result, path: Path) -> str:
    """Return the page of a call that went well: status 0, nothing on stdout, the file named on stderr."""
    assert result.exit_code == 0, result.output
    assert result.stdout == ""
    assert path.name in result.stderr
    text = path.read_text(encoding="utf-8")
    assert text.lstrip().startswith("<!DOCTYPE html>")
    assert text.rstrip().endswith("</html>")
    return text


def refused(result: Result, *words: str) -> None:
    """Hold a call to status 2 with one message that has these words, and no traceback."""
    assert result.exit_code == 2, result.output
    assert result.stdout == ""
    told = " ".join(result.stderr.split())
    assert "fault of the program" not in told
    assert "Traceback" not in told
    for word in words:
        assert word in told


def left(folder: Path) -> set[str]:
    """Return what is in a folder, hidden files too."""
    return {one.name for one in folder.iterdir()}


class TestWhatIsWritten:
    """A board, an order, a need, a measurement."""

    def test_a_board_and_an_order_on_one_page(self, greenhouse: Call, tmp_path: Path) -> None:
        """In their order, with every link of the board and the plan's total."""
        out = tmp_path / "all.html"
        text = page_of(greenhouse("report", BOARD, ORDER, "-o", out), out)
        told = json.loads(greenhouse("audit", BOARD, "--choose", "--format", "json").stdout)
        plan = json.loads(greenhouse("shop", ORDER, "--format", "json").stdout)
        assert text.index(f">{told['title']}</h2>") < text.index(f">{plan['title']}</h2>")
        assert all(line["link"] in text for line in told["links"])
        for one in told["mended"]["replacements"]:
            assert one["chosen"] is None or one["chosen"]["part_number"] in text
        assert f"{plan['totals']['total']:.2f} {plan['currency']} in all" in text
        for output in told["outputs"]:
            if output["alone"]["current_a"]:
                assert f"<b>{show(output['alone']['current_a'], 'A')}</b>" in text

    def test_an_order(self, greenhouse: Call, tmp_path: Path) -> None:
        """By itself."""
        out = tmp_path / "order.html"
        assert "What is done about it" not in page_of(greenhouse("report", ORDER, "-o", out), out)

    def test_an_order_of_a_windows_editor_is_one(self, greenhouse: Call, tmp_path: Path) -> None:
        """With the mark that such an editor puts before the first letter, and its line ends."""
        order, out = tmp_path / "order.toml", tmp_path / "order.html"
        order.write_bytes(b"\xef\xbb\xbf" + ORDER.read_bytes().replace(b"\n", b"\r\n"))
        assert "in all, in" in page_of(greenhouse("report", order, "-o", out), out)

    @pytest.mark.parametrize("family", NEEDS)
    def test_a_need_of_each_family(self, greenhouse: Call, tmp_path: Path, family: str) -> None:
        """As choose is asked, by the first example of its help; the same parts in the same ranks."""
        words = shlex.split(NEEDS[family].examples[0])
        out = tmp_path / f"{family}.html"
        text = page_of(greenhouse("report", family, *words, "-o", out), out)
        told = json.loads(greenhouse("choose", family, *words, "--format", "json").stdout)
        places = [text.index(f">{one['part_number']}</th>") for one in told["ranked"]]
        assert places == sorted(places)
        assert f"{told['counts']['fit']} of {told['counts']['considered']} parts fit." in text

    def test_a_need_that_nothing_meets(self, greenhouse: Call, tmp_path: Path) -> None:
        """The page is written all the same: what stopped the parts is what one wants to see."""
        out = tmp_path / "none.html"
        text = page_of(greenhouse("report", "connector", "--supply", "12V", "--current", "900A", "-o", out), out)
        assert ">0 of " in text
        assert "What stopped the rest" in text

    def test_a_measurement(self, greenhouse: Call, tmp_path: Path, measurement: Path) -> None:
        """With its uncertainty, and what it is held against."""
        out = tmp_path / "x1.html"
        text = page_of(greenhouse("report", measurement, "-o", out), out)
        assert "Measured: X1" in text
        assert "claimed: at most 8 mΩ" in text
        assert "±" in text

    def test_a_board_beside_a_measurement(
        self, greenhouse: Call, tmp_path: Path, sound: Path, measurement: Path
    ) -> None:
        """Whatever the order."""
        out = tmp_path / "both.html"
        text = page_of(greenhouse("report", measurement, sound, "-o", out), out)
        assert text.index("Measured: X1") < text.index("one lamp")

    def test_options_may_stand_before_the_files(self, greenhouse: Call, tmp_path: Path, sound: Path) -> None:
        """As one types them."""
        out = tmp_path / "first.html"
        assert "one lamp" in page_of(greenhouse("report", "-o", out, sound), out)

    def test_the_same_twice_is_the_same(self, greenhouse: Call, tmp_path: Path, sound: Path) -> None:
        """A page that is there is written over."""
        out = tmp_path / "lamp.html"
        first = page_of(greenhouse("report", sound, "-o", out), out)
        assert page_of(greenhouse("report", sound, "-o", out), out) == first

    def test_without_a_catalogue_the_board_is_audited_and_it_is_said_that_nothing_was_chosen(
        self, fresh: Call, tmp_path: Path
    ) -> None:
        """And nothing is made of what is not there."""
        out = tmp_path / "board.html"
        result = fresh("report", BOARD, "-o", out)
        text = page_of(result, out)
        assert "nothing is chosen" in " ".join(result.stderr.split())
        assert "gives in first" in text
        assert "Card for the lid" in text
        assert "What is done about it" not in text
        assert "Parts that fit" not in text
        assert not (tmp_path / "fresh.duckdb").exists()


class TestWhatIsRefused:
    """Status 2, one message, nothing left behind."""

    @pytest.mark.parametrize("name", ["page.txt", "page", "page.pdf", "page.html.gz"])
    def test_another_ending(self, greenhouse: Call, tmp_path: Path, sound: Path, name: str) -> None:
        """Before anything is worked out."""
        refused(greenhouse("report", sound, "-o", tmp_path / name), name, ".html")
        assert left(tmp_path) == {"lamp.toml"}

    def test_no_output(self, greenhouse: Call, sound: Path) -> None:
        """The option is named."""
        refused(greenhouse("report", sound), "--output")

    def test_no_file(self, greenhouse: Call, tmp_path: Path) -> None:
        """Only an output."""
        refused(greenhouse("report", "-o", tmp_path / "x.html"), "FILE")

    def test_a_file_that_is_not_there(self, greenhouse: Call, tmp_path: Path) -> None:
        """It is named."""
        refused(greenhouse("report", tmp_path / "none.toml", "-o", tmp_path / "x.html"), "none.toml", "no such file")
        assert left(tmp_path) == set()

    def test_a_family_that_is_none(self, greenhouse: Call, tmp_path: Path) -> None:
        """What was mistyped is named, and not the option after it."""
        found = greenhouse("report", "transistr", "--supply", "12V", "-o", tmp_path / "x.html")
        refused(found, "transistr", "no such family")

    def test_one_file_of_two_that_is_not_there(self, greenhouse: Call, tmp_path: Path, sound: Path) -> None:
        """Half a page is none."""
        refused(greenhouse("report", sound, tmp_path / "none.toml", "-o", tmp_path / "x.html"), "none.toml")
        assert left(tmp_path) == {"lamp.toml"}

    @pytest.mark.parametrize(
        ("name", "data", "said"),
        [
            ("list.csv", b"Maker,Part number\nAlder,X\n", "line 1"),
            ("notes.toml", b'[shopping]\nmilk = "2"\n', "shopping"),
            ("picture.toml", b"\x89PNG\r\n\x1a\n\x00\xff", "no text"),
            ("empty.toml", b"", "empty.toml"),
            ("bad.json", b"{", "no JSON"),
            ("other.json", b'{"a": 1}', "no measurement"),
            ("list.json", b"[1, 2]", "no measurement"),
            ("deep.json", b"[" * 100_000, "no JSON"),
            ("half.json", b'{"kind": "transistor", "samples": [], "verdict": "x", "counts": {}}', "key "),
            ("kinds.json", b'{"kind": 1, "samples": 2, "verdict": 3, "counts": 4}', "key kind"),
        ],
    )
    def test_a_file_that_is_neither(self, greenhouse: Call, tmp_path: Path, name: str, data: bytes, said: str) -> None:
        """It is named, with what is wrong about it."""
        (tmp_path / name).write_bytes(data)
        refused(greenhouse("report", tmp_path / name, "-o", tmp_path / "x.html"), name, said)
        assert left(tmp_path) == {name}

    @pytest.mark.parametrize(
        ("key", "value"),
        [("value", None), ("uncertainty", None), ("uncertainty", -1.0), ("value", 1e300), ("high", float("nan")),
         ("value", "4 mΩ"), ("value", True), ("verdict", "splendid"), ("notes", "one"), ("title", None)],
    )  # fmt: skip
    def test_a_measurement_that_was_meddled_with(
        self, greenhouse: Call, tmp_path: Path, measurement: Path, key: str, value: object
    ) -> None:
        """The place is named."""
        found = json.loads(measurement.read_text(encoding="utf-8"))
        finding = found["samples"][0]["findings"][0]
        finding[key] = value
        if key == "value" and value is None:
            finding["high"] = None
        measurement.write_text(json.dumps(found), encoding="utf-8")
        result = greenhouse("report", measurement, "-o", tmp_path / "x.html")
        refused(result, "samples[1].findings[1]")
        assert left(tmp_path) == {"x1.json"}

    def test_another_result_as_json(self, greenhouse: Call, tmp_path: Path) -> None:
        """A choice is no measurement."""
        words = ("choose", "transistor", "--supply", "12V", "--current", "3A", "--format", "json")
        (tmp_path / "c.json").write_text(greenhouse(*words).stdout, encoding="utf-8")
        refused(greenhouse("report", tmp_path / "c.json", "-o", tmp_path / "x.html"), "no measurement", "bench")

    def test_a_board_with_errors(self, greenhouse: Call, tmp_path: Path) -> None:
        """Each, with its line."""
        lines = SOUND.splitlines()
        lines[2] = 'voltage = "12 bananas"'
        lines[-1] = 'rated_curent = "5A"'
        path = tmp_path / "b.toml"
        path.write_text("\n".join(lines), encoding="utf-8")
        result = greenhouse("report", path, "-o", tmp_path / "x.html")
        refused(result, "line 3", f"line {len(lines)}", "12 bananas", "rated_curent")
        assert left(tmp_path) == {"b.toml"}

    def test_an_order_with_errors(self, greenhouse: Call, tmp_path: Path) -> None:
        """As a board."""
        path = tmp_path / "o.toml"
        path.write_text('currency = "EUR"\n[[line]]\npart = "X"\nquantity = "many"\n', encoding="utf-8")
        refused(greenhouse("report", path, "-o", tmp_path / "x.html"), "line 4", "quantity")

    def test_an_order_without_a_catalogue(self, fresh: Call, tmp_path: Path) -> None:
        """There is nothing to plan with."""
        refused(fresh("report", ORDER, "-o", tmp_path / "x.html"), "fresh.duckdb", "intake")
        assert left(tmp_path) == set()

    def test_a_need_without_a_catalogue(self, fresh: Call, tmp_path: Path) -> None:
        """As for choose."""
        words = ("transistor", "--supply", "12V", "--current", "3A", "-o", tmp_path / "x.html")
        refused(fresh("report", *words), "fresh.duckdb", "intake")

    def test_a_need_that_says_too_little(self, greenhouse: Call, tmp_path: Path) -> None:
        """As for choose."""
        refused(greenhouse("report", "transistor", "--supply", "12V", "-o", tmp_path / "x.html"), "--current")

    def test_a_folder_that_is_not_there(self, greenhouse: Call, tmp_path: Path, sound: Path) -> None:
        """The page is named as it was asked for, not the file that it would have been written to first."""
        result = greenhouse("report", sound, "-o", tmp_path / "no" / "x.html")
        refused(result, f"{Path('no') / 'x.html'}: No such file")
        assert left(tmp_path) == {"lamp.toml"}

    def test_an_output_that_is_a_folder(self, greenhouse: Call, tmp_path: Path, sound: Path) -> None:
        """Nothing is written into it."""
        (tmp_path / "x.html").mkdir()
        refused(greenhouse("report", sound, "-o", tmp_path / "x.html"), "x.html")
        assert left(tmp_path / "x.html") == set()
        assert left(tmp_path) == {"lamp.toml", "x.html"}

    def test_a_failure_in_writing_leaves_the_old_page_and_nothing_else(
        self, greenhouse: Call, tmp_path: Path, sound: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """What was there stays as it was."""
        out = tmp_path / "x.html"
        out.write_text("the old one", encoding="utf-8")

        def full(self: Path, target: Path) -> Path:
            raise OSError(28, "No space left on device", str(self))

        monkeypatch.setattr(Path, "replace", full)
        refused(greenhouse("report", sound, "-o", out), "x.html", "disk is full")
        assert out.read_text(encoding="utf-8") == "the old one"
        assert left(tmp_path) == {"lamp.toml", "x.html"}

    @pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() == 0, reason="the superuser may write everywhere")
    def test_a_folder_that_may_not_be_written_to(self, greenhouse: Call, tmp_path: Path, sound: Path) -> None:
        """The rights are named."""
        folder = tmp_path / "shut"
        folder.mkdir(mode=0o500)
        refused(greenhouse("report", sound, "-o", folder / "x.html"), "rights")


class TestHelp:
    """What the command says of itself."""

    def test_it_names_files_families_and_an_example(self, greenhouse: Call) -> None:
        """How a page of a board is made, and one of a need."""
        text = greenhouse("report", "--help").stdout
        assert "loadworthy report board.toml -o board.html" in text
        assert all(family in text for family in NEEDS)

    @pytest.mark.parametrize("family", NEEDS)
    def test_each_family_has_an_example(self, greenhouse: Call, family: str) -> None:
        """The one that the tests above call."""
        text = " ".join(greenhouse("report", family, "--help").stdout.split())
        assert f"loadworthy report {family} {NEEDS[family].examples[0]} -o {family}.html" in text
        assert "--catalog" in text

    def test_files_have_their_own(self, greenhouse: Call) -> None:
        """Under the words that one types."""
        text = greenhouse("report", BOARD, "--help").stdout
        assert text.startswith("Usage: loadworthy report [OPTIONS] FILE...")
        assert "loadworthy report board.toml order.toml -o all.html" in text
