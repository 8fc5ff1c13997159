"""The audit as seen from the command."""

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

Call: TypeAlias = Callable[..., Result]

BOARD = shipped.catalog_dir() / "greenhouse" / "board.toml"
SOUND = """\
title = "one rod"
[supply]
voltage = "12V"
[surroundings]
ambient = "30degC"
[[output]]
name = "rod"
[output.load]
kind = "resistive"
resistance = "6ohm"
[[output.link]]
kind = "plain"
name = "relay"
rated_current = "{rating}"
"""


def _file(folder: Path, text: str) -> Path:
    path = folder / "bench.toml"
    path.write_text(text, encoding="utf-8")
    return path


@pytest.mark.parametrize(("rating", "status", "word"), [("3A", 0, "carries"), ("1A", 1, "falls short")])
def test_the_status_says_whether_all_carry(fresh: Call, tmp_path: Path, rating: str, status: int, word: str) -> None:
    """0 all carry, 1 something falls short."""
    result = fresh("audit", _file(tmp_path, SOUND.format(rating=rating)))
    assert (result.exit_code, result.stderr) == (status, "")
    assert word in result.stdout


def test_what_is_not_known_is_no_fit(fresh: Call, tmp_path: Path) -> None:
    """Status 1 as well."""
    wide = 'kind = "trace"\nwidth = "20mm"\ncopper = "1oz"\nlength = "1cm"\nlayer = "outer"\n'
    text = SOUND.format(rating="3A") + "[[output.link]]\n" + wide
    result = fresh("audit", _file(tmp_path, text))
    assert result.exit_code == 1
    assert "not everything is known" in result.stdout


def test_the_text_keeps_to_its_width_and_says_everything(fresh: Call) -> None:
    """Every link, remark, warning and caution of the JSON stands in the text, in 80 columns."""
    words = ("audit", BOARD, "--what-if", "24V")
    shown = fresh(*words).stdout
    told = json.loads(fresh(*words, "--format", "json").stdout)
    assert max(map(cell_len, shown.splitlines())) <= 80
    text = " ".join(shown.split())
    for line in told["links"]:
        assert all(" ".join(said.split()) in text for said in (*line["assumed"], *line["notes"], line["governs"]))
    for one in told["protection"]:
        assert all(" ".join(warning.split()) in text for warning in one["warnings"])
    assert all(" ".join(said.split()) in text for said in (*told["cautions"], *told["what_if"]["warnings"]))


def test_no_fuse_is_said_at_the_top(fresh: Call, tmp_path: Path) -> None:
    """Before any table."""
    shown = fresh("audit", _file(tmp_path, SOUND.format(rating="3A"))).stdout
    assert shown.index("NO FUSE in the path of rod") < shown.index("Every link")


def test_other_air(fresh: Call) -> None:
    """--ambient takes the place of the file's, within its bounds."""
    hot = json.loads(fresh("audit", BOARD, "--ambient", "55degC", "--format", "json").stdout)
    assert hot["surroundings"]["ambient_degc"] == 55.0
    refused = fresh("audit", BOARD, "--ambient", "140degC")
    assert (refused.exit_code, refused.stdout) == (2, "")
    assert "--ambient" in refused.stderr


def test_csv_has_every_link_in_full(fresh: Call) -> None:
    """SI units in the names; what must not be missed goes to stderr."""
    result = fresh("audit", BOARD, "--format", "csv")
    rows = list(csv.DictReader(io.StringIO(result.stdout)))
    links = json.loads(fresh("audit", BOARD, "--format", "json").stdout)["links"]
    assert [row["link"] for row in rows] == [link["link"] for link in links]
    assert [float(row["current_a"]) for row in rows] == [link["current_a"] for link in links]
    assert "Transistors fail on" in result.stderr


def test_markdown_is_a_table_of_the_links(fresh: Call) -> None:
    """A line each, under a heading and a rule."""
    count = len(json.loads(fresh("audit", BOARD, "--format", "json").stdout)["links"])
    assert len(fresh("audit", BOARD, "--format", "markdown").stdout.splitlines()) == count + 2


def test_every_problem_has_a_line_of_its_own_and_nothing_is_half_printed(fresh: Call, tmp_path: Path) -> None:
    """File, line, key and way out, each on one line of stderr; status 2."""
    text = SOUND.format(rating="1V").replace("6ohm", "0ohm").replace("[surroundings]", "[surrounding]")
    result = fresh("audit", _file(tmp_path, text))
    assert (result.exit_code, result.stdout) == (2, "")
    lines = result.stderr.splitlines()
    assert len(lines) == 4
    assert all("bench.toml, line " in line and ", key " in line for line in lines)
    assert "Did you mean surroundings?" in result.stderr


@pytest.mark.parametrize("data", [b"title = ", b'title = "\xff"', None])
def test_what_cannot_be_read_at_all(fresh: Call, tmp_path: Path, data: bytes | None) -> None:
    """No TOML, not UTF-8, not there: one line, status 2, nothing on stdout."""
    path = tmp_path / "bench.toml"
    if data is not None:
        path.write_bytes(data)
    result = fresh("audit", path)
    assert (result.exit_code, result.stdout) == (2, "")
    assert len(result.stderr.splitlines()) == 1
    assert str(path) in result.stderr


@pytest.mark.parametrize("command", ["audit", "limits"])
def test_help_starts_at_once(command: str) -> None:
    """Reading help brings no number-crunching in."""
    look = (
        "import atexit, sys; atexit.register(lambda: print('numpy' in sys.modules, file=sys.stderr));"
        "from loadworthy.cli import main; main()"
    )
    done = subprocess.run(  # noqa: S603 - our own interpreter
        [sys.executable, "-c", look, command, "--help"], capture_output=True, text=True, check=True
    )
    assert done.stderr.strip() == "False"
