"""The bench as seen from the command."""

from __future__ import annotations

import csv
import io
import json
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import TypeAlias

import pytest
from click.testing import Result
from rich.cells import cell_len

from loadworthy import shipped
from loadworthy.bench import KINDS

Call: TypeAlias = Callable[..., Result]

BOARD = shipped.catalog_dir() / "greenhouse" / "board.toml"
PART = ("bench", "transistor", "NOBODY-1")
READ = ("--drop", "96.00mV", "--current", "6.000A", "--gate", "5V", "--temp", "25degC", "--pulse", "300us", "--kelvin")


def _json(result: Result) -> dict[str, object]:
    found: dict[str, object] = json.loads(result.stdout)
    return found


@pytest.mark.parametrize(
    ("claimed", "status", "word"),
    [("20mohm", 0, "within"), ("16mohm", 1, "not decided"), ("8mohm", 1, "outside")],
)
def test_the_status_says_whether_all_is_within(fresh: Call, claimed: str, status: int, word: str) -> None:
    """0 within; 1 outside, and where it is not decided."""
    result = fresh(*PART, *READ, "--claimed-on-resistance", claimed)
    assert (result.exit_code, result.stderr) == (status, "")
    assert f"NOBODY-1: {word}" in result.stdout


def test_a_load_without_a_marking_is_no_failure(fresh: Call) -> None:
    """Nothing is claimed of it: what it draws is the answer."""
    result = fresh("bench", "load", "--reading", "1.60ohm", "--leads", "0.20ohm", "--supply", "12V")
    assert (result.exit_code, result.stderr) == (0, "")
    assert "it draws 8.57 A" in result.stdout


def test_marked_and_read(fresh: Call) -> None:
    """Marked 1.6 Ω, reads 1.4 Ω: on 12 V 8.6 A, and not 7.5 (Ohm's law)."""
    words = ("bench", "load", "--marked", "1.6ohm", "--reading", "1.60ohm", "--leads", "0.20ohm", "--supply", "12V")
    shown = " ".join(fresh(*words).stdout.split())
    assert "it draws 8.57 A" in shown
    assert "and not 7.5 A as its marking says" in shown


def test_the_text_keeps_to_its_width_and_says_everything(fresh: Call) -> None:
    """Every assumption, note and caution of the JSON stands in the text, in 80 columns."""
    words = (*PART, *READ[:-1], "--leads", "3mohm", "--vth", "1.90V", "--claimed-threshold", "1..2.5V", "--marking",
             "agrees", "--supply", "12V", "--package", "TO-220", "--claimed-on-resistance", "8mohm")  # fmt: skip
    shown = fresh(*words).stdout
    told = json.loads(fresh(*words, "--format", "json").stdout)
    assert max(map(cell_len, shown.splitlines())) <= 80
    text = " ".join(shown.split())
    findings = [finding for sample in told["samples"] for finding in sample["findings"]]
    said = [one for finding in findings for one in (*finding["assumed"], *finding["notes"])]
    said += [*told["cautions"], *told["as_measured"]["assumed"], *told["as_measured"]["notes"]]
    said += [sample["words"] for sample in told["samples"]]
    assert len(said) > 10
    assert [one for one in said if " ".join(one.split()) not in text] == []


def test_what_passes_is_not_called_genuine(fresh: Call) -> None:
    """A clone can pass."""
    shown = " ".join(fresh(*PART, *READ, "--claimed-on-resistance", "20mohm").stdout.split())
    assert "proves little" in shown
    assert "is genuine" not in shown


def test_csv_is_in_full(fresh: Call) -> None:
    """SI units, a row a figure; what must not be missed goes to stderr."""
    words = (*PART, *READ, "--vth", "1.90V", "--claimed-on-resistance", "8mohm")
    result = fresh(*words, "--format", "csv")
    rows = list(csv.DictReader(io.StringIO(result.stdout)))
    findings = json.loads(fresh(*words, "--format", "json").stdout)["samples"][0]["findings"]
    assert [row["name"] for row in rows] == ["on_resistance", "threshold"]
    assert [float(row["value"]) for row in rows] == [finding["value"] for finding in findings]
    assert "Contradicted by on-resistance" in result.stderr
    assert "Transistors fail on" in result.stderr


def test_markdown_is_a_table_of_the_figures(fresh: Call) -> None:
    """A line each, under a heading and a rule."""
    assert len(fresh(*PART, *READ, "--vth", "1.90V", "--format", "markdown").stdout.splitlines()) == 4


@pytest.mark.parametrize("kind", KINDS)
def test_how_it_is_measured(fresh: Call, kind: str) -> None:
    """Circuit, wires, cautions and source, without a part; the same in JSON."""
    shown = fresh("bench", kind, "--how")
    assert (shown.exit_code, shown.stderr) == (0, "")
    told = json.loads(fresh("bench", kind, "--how", "--format", "json").stdout)
    text = " ".join(shown.stdout.split())
    assert told["cautions"]
    assert all(" ".join(one.split()) in text for one in (*told["circuit"], *told["cautions"], told["wires"]))
    assert max(map(cell_len, shown.stdout.splitlines())) <= 88  # the title is one line


def test_how_a_transistor_is_measured_names_the_pulse_of_data_sheets(fresh: Call) -> None:
    """At most 300 µs, duty at most 2 % (data-sheet convention)."""
    shown = fresh("bench", "transistor", "--how").stdout
    assert "300 µs" in shown
    assert "2 %" in shown


def test_samples_of_which_one_cannot_be_taken(fresh: Call, tmp_path: Path) -> None:
    """The others are answered; the row and its reason are told."""
    path = tmp_path / "readings.csv"
    path.write_text("sample,drop\nA1,96.0mV\nA2,many\n", encoding="utf-8")
    words = (*PART, *READ[2:], "--samples", path)
    shown = fresh(*words)
    assert "row 3: drop: 'many' is not a quantity." in shown.stdout
    assert "A1" in shown.stdout
    assert json.loads(fresh(*words, "--format", "json").stdout)["refused"][0]["row"] == 3


def test_a_sample_that_was_not_taken_is_not_within(fresh: Call, tmp_path: Path) -> None:
    """The one that was taken is; the status does not speak for the other."""
    path = tmp_path / "readings.csv"
    words = (*PART, *READ[2:], "--claimed-on-resistance", "20mohm", "--samples", path)
    path.write_text("sample,drop\nA1,96.0mV\n", encoding="utf-8")
    assert fresh(*words).exit_code == 0
    path.write_text("sample,drop\nA1,96.0mV\nA2,many\n", encoding="utf-8")
    result = fresh(*words)
    assert result.exit_code == 1
    assert "1 row was not taken" in result.stdout


class TestInto:
    """The measured value goes into a board's file."""

    def test_puts_the_upper_end_where_it_belongs(self, fresh: Call, tmp_path: Path) -> None:
        """And the audit then runs on it."""
        board = tmp_path / "board.toml"
        board.write_bytes(BOARD.read_bytes())
        result = fresh(*PART, *READ, "--claimed-on-resistance", "20mohm", "--into", board, "--link", "Q2")
        assert result.exit_code == 0
        assert "is now 16." in " ".join(result.stderr.split())
        links = json.loads(fresh("audit", board, "--format", "json").stdout)["links"]
        assert any("measured" in note for link in links if link["link"] == "Q2" for note in link["notes"])

    @pytest.mark.parametrize("words", [("--into", "board.toml"), ("--link", "Q1")])
    def test_board_and_link_belong_together(self, fresh: Call, words: tuple[str, ...]) -> None:
        """One without the other is refused before anything is printed."""
        result = fresh(*PART, *READ, *words)
        assert (result.exit_code, result.stdout) == (2, "")
        assert "--into, --link" in result.stderr

    def test_without_an_on_resistance_there_is_nothing_to_put(self, fresh: Call, tmp_path: Path) -> None:
        """It says what is missing."""
        board = tmp_path / "board.toml"
        board.write_bytes(BOARD.read_bytes())
        result = fresh(*PART, "--vth", "1.90V", "--into", board, "--link", "Q2")
        assert result.exit_code == 2
        assert "--drop" in result.stderr
        assert board.read_bytes() == BOARD.read_bytes()


class TestKeep:
    """Records in the catalogue."""

    def test_are_shown_by_part_and_supplier(self, fresh: Call, lists: list[Path]) -> None:
        """Kept for a part of a list, then shown in the formats of every command."""
        assert fresh("intake", *lists[:2]).exit_code == 0
        assert "Nothing that was measured" in fresh("catalog", "--measured").stderr
        kept = fresh(*PART, *READ, "--claimed-on-resistance", "8mohm", "--keep", "--supplier", "Ninefold", "--date",
                     "2025-03-14")  # fmt: skip
        assert kept.exit_code == 1
        assert "catalogue: 1." in kept.stderr
        rows = json.loads(fresh("catalog", "--measured", "--format", "json").stdout)
        assert [(row["part_number"], row["supplier"], row["outside"], row["last_on"]) for row in rows] == [
            ("NOBODY-1", "Ninefold", 1, "2025-03-14")
        ]
        assert "NOBODY-1" in fresh("catalog", "--measured").stdout
        assert fresh("catalog", "--measured", "--lists").exit_code == 2

    def test_where_the_board_cannot_take_it_nothing_is_kept(self, fresh: Call, lists: list[Path]) -> None:
        """A second run with the right link would count the sample twice."""
        assert fresh("intake", *lists[:1]).exit_code == 0
        wrong = fresh(*PART, *READ, "--claimed-on-resistance", "8mohm", "--keep", "--supplier", "Ninefold", "--into",
                      BOARD, "--link", "Q99")  # fmt: skip
        assert (wrong.exit_code, wrong.stdout) == (2, "")
        assert "Q99" in wrong.stderr
        assert "Nothing that was measured" in fresh("catalog", "--measured").stderr

    def test_a_supplier_that_no_list_is_of_is_said(self, fresh: Call, lists: list[Path]) -> None:
        """The record is kept as it was said, and the names that are there are given; one of these says nothing more."""
        assert fresh("intake", lists[0], "--supplier", "Ninefold").exit_code == 0
        keep = (*PART, *READ, "--claimed-on-resistance", "20mohm", "--keep", "--supplier")
        stranger = " ".join(fresh(*keep, "Ninefald").stderr.split())
        assert "no list of Ninefald; it has Ninefold." in stranger
        assert "no list" not in fresh(*keep, "ninefold").stderr

    def test_want_a_supplier_before_anything_is_done(self, fresh: Call, tmp_path: Path) -> None:
        """No catalogue is made for it."""
        result = fresh(*PART, *READ, "--keep")
        assert (result.exit_code, result.stdout) == (2, "")
        assert "--supplier" in result.stderr
        assert not (tmp_path / "fresh.duckdb").exists()


@pytest.mark.parametrize(
    ("words", "where"),
    [
        (("transistor", "X"), "--drop"),
        (("transistor", *READ), "PART"),
        (("transistor", "X", "--drop", "96mA", "--current", "6A", "--gate", "5V"), "--drop"),
        (("connector", "X", "--drop", "1mV"), "--reading"),
        (("fuse", "X", "--reading", "1ohm", "--volt-meter", "good"), "--volt-meter"),
        (("load", "--marked", "1.6ohm"), "--reading"),
        (("transistor", "X", "--samples", "nowhere.csv"), "nowhere.csv"),
    ],
)
def test_wrong_use_is_one_line_and_status_2(fresh: Call, words: tuple[str, ...], where: str) -> None:
    """The place and the way out, and nothing half printed."""
    result = fresh("bench", *words)
    assert (result.exit_code, result.stdout) == (2, "")
    assert where in result.stderr
    assert len(result.stderr.splitlines()) == 1


def test_help_starts_at_once() -> None:
    """Reading help brings no number-crunching in."""
    look = (
        "import atexit, sys; atexit.register(lambda: print({'numpy', 'uncertainties'} & set(sys.modules), "
        "file=sys.stderr)); from loadworthy.cli import main; main()"
    )
    done = subprocess.run(  # noqa: S603 - our own interpreter
        [sys.executable, "-c", look, "bench", "transistor", "--help"], capture_output=True, text=True, check=True
    )
    assert done.stderr.strip() == "set()"
