"""Taking lists in, as seen from the command."""

from __future__ import annotations

import csv
import io
import json
import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import TypeAlias

import pytest
from click.testing import Result

Call: TypeAlias = Callable[..., Result]

_HEADINGS = "Part number,Maker,Package,Channel,VDS [V],VGS [V],RDS(on) max at VGS = 4.5 V [mΩ],ID [A]"


@pytest.fixture
def small(tmp_path: Path) -> Path:
    """Write a list of three parts, one with a cell that cannot be."""
    path = tmp_path / "mosswall.csv"
    rows = [
        "GH-1,Fernhill,TO-220,N,30,20,4.5,60",
        "GH-2,Fernhill,TO-220,N,40,20,6,50",
        "GH-3,Fernhill,TO-220,N,40,20,6 kV,50",
    ]
    path.write_text("\n".join([_HEADINGS, *rows]) + "\n", encoding="utf-8")
    return path


def test_each_list_gets_one_line(fresh: Call, lists: list[Path]) -> None:
    """Name, rows, parts, refused: one line for each file, in the order given."""
    result = fresh("intake", *lists)
    assert result.exit_code == 0
    named = [line.split()[0] for line in result.stdout.splitlines() if line.split()[:1] and "." in line.split()[0]]
    assert list(dict.fromkeys(named))[: len(lists)] == [path.name for path in lists]  # a workbook has a line a sheet


def test_the_counts_of_every_list_close(fresh: Call, lists: list[Path]) -> None:
    """Every record is a part, a heading, a note or refused; none gets lost."""
    for report in json.loads(fresh("intake", *lists, "--format", "json").stdout):
        kinds = ("rows_parts", "rows_headings", "rows_notes", "rows_refused")
        assert report["rows_read"] == sum(report[kind] for kind in kinds)
        assert report["rows_parts"] > 0


def test_what_was_refused_is_told_with_place_and_reason(fresh: Call, small: Path) -> None:
    """On stderr, since it is no result: row, heading, the cell's text."""
    result = fresh("intake", small)
    assert result.exit_code == 0
    assert "mosswall.csv: 1 cell refused" in result.stderr
    assert "row 4" in result.stderr
    assert "“6 kV”" in result.stderr
    assert "6 kV" not in result.stdout


def test_a_dry_run_shows_every_column_and_takes_nothing_in(fresh: Call, small: Path, tmp_path: Path) -> None:
    """Each heading with what it was read as; no catalogue appears."""
    result = fresh("intake", small, "--dry-run")
    assert result.exit_code == 0
    assert all(heading in result.stdout for heading in _HEADINGS.split(","))
    assert "→ drain–source voltage" in result.stdout
    assert not (tmp_path / "fresh.duckdb").exists()


def test_a_guess_is_shown_and_a_recipe_settles_it(fresh: Call, small: Path, tmp_path: Path) -> None:
    """A list that names its parts by order number only: guessed at first, sure with the recipe."""
    text = small.read_text(encoding="utf-8").replace("Part number", "Order number")
    small.write_text(text, encoding="utf-8")
    recipe = tmp_path / "mosswall.toml"
    guessed = fresh("intake", small, "--dry-run", "--save-recipe", recipe)
    assert "guessed" in guessed.stdout
    assert "--recipe" in guessed.stderr
    settled = fresh("intake", small, "--recipe", recipe)
    assert settled.exit_code == 0, settled.stderr
    assert "guessed" not in settled.stdout


def test_a_recipe_is_of_one_list(fresh: Call, lists: list[Path], tmp_path: Path) -> None:
    """Two lists and one recipe file is wrong use."""
    result = fresh("intake", *lists[:2], "--save-recipe", tmp_path / "recipe.toml")
    assert result.exit_code == 2
    assert "--save-recipe" in result.stderr


def test_a_second_intake_says_that_nothing_changed(fresh: Call, small: Path) -> None:
    """The same file again is the same list."""
    fresh("intake", small)
    (row,) = csv.DictReader(io.StringIO(fresh("intake", small, "--format", "csv").stdout))
    assert row["outcome"] == "same"


@pytest.mark.parametrize("content", [b"", b"\x00\x01\x02\xff" * 50, b"one line without a table\n"])
def test_a_file_that_is_no_table_is_told_by_name(fresh: Call, tmp_path: Path, content: bytes) -> None:
    """Status 2, the file's name, no traceback, and no half-made catalogue."""
    path = tmp_path / "odd.csv"
    path.write_bytes(content)
    result = fresh("intake", path)
    assert result.exit_code == 2
    assert "odd.csv" in result.stderr
    assert "fault of the program" not in result.stderr
    assert not (tmp_path / "fresh.duckdb").exists()


def test_a_file_that_is_not_there_is_told_by_name(fresh: Call, tmp_path: Path) -> None:
    """Status 2 and the name."""
    result = fresh("intake", tmp_path / "absent.csv")
    assert result.exit_code == 2
    assert "absent.csv" in result.stderr
    assert "fault of the program" not in result.stderr


def test_no_progress_bar_where_stderr_is_no_terminal(fresh: Call, small: Path) -> None:
    """A log holds no cursor movements."""
    assert not set(fresh("intake", small).stderr) & set("\x1b\r")


@pytest.mark.skipif(os.name == "nt", reason="pseudo-terminals are otherwise there")
def test_on_a_terminal_progress_is_shown_beside_the_result(small: Path, tmp_path: Path) -> None:
    """The bar moves the cursor on stderr only; what goes to stdout stays plain."""
    ours, theirs = os.openpty()
    code = "from loadworthy.cli import main; main()"
    words = ["intake", str(small), "--catalog", str(tmp_path / "fresh.duckdb")]
    done = subprocess.run(  # noqa: S603
        [sys.executable, "-c", code, *words], stdout=subprocess.PIPE, stderr=theirs, check=False,
        env={**os.environ, "TERM": "xterm"},
    )  # fmt: skip
    os.close(theirs)
    shown = os.read(ours, 100_000)
    os.close(ours)
    assert done.returncode == 0
    assert b"mosswall.csv" in done.stdout
    assert b"\x1b" not in done.stdout
    assert b"\x1b" in shown


def test_what_a_supplier_typed_never_steers_the_terminal(fresh: Call, tmp_path: Path) -> None:
    """Escape sequences in part number, maker, heading and refused cell, through every command and format."""
    path = tmp_path / "mosswall.csv"
    lines = [
        _HEADINGS.replace("Maker", "Maker \x1b[2J"),
        "GH-\x1b[31m1,Fern\x9b31mhill\u202e,TO-220,N,30,20,4.5,60",
        "GH-2\x07,Fernhill,TO-220,N,30,20,\x1b]0;x\x07 5,60",
    ]
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    need = ("transistor", "--supply", "12V", "--current", "5A")
    calls: list[tuple[str | Path, ...]] = [
        ("intake", path),
        ("intake", path, "--dry-run"),
        ("catalog",),
        ("catalog", "--refused"),
    ]
    calls += [("catalog", "--parts", "transistor"), ("choose", *need)]
    for words in calls:
        for form in ("table", "json", "csv", "markdown"):
            result = fresh(*words, "--format", form)
            assert result.exit_code == 0, (words, form, result.stderr)
            assert not set(result.output) & set("\x1b\x9b\x07\u202e"), (words, form)
