"""The shopping list as seen from the command, on the greenhouse's catalogue."""

from __future__ import annotations

import csv
import io
import json
import subprocess
import sys
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import TypeAlias

import pytest
from click.testing import Result
from rich.cells import cell_len

Call: TypeAlias = Callable[..., Result]

_RATES = "[rates]\nGBP = 1.17\nUSD = 0.92\nCHF = 1.05\n"
_NEED = (
    '[[line]]\nname = "Q1"\nquantity = 2\n[line.need]\nfamily = "transistor"\nsupply = "12V"\nresistance = "1.6ohm"\n'
)
_TERMS = '[terms."*"]\nshipping = [["0", "4.90"], ["50", "0"]]\ntax = "19%"\n'
SOUND = f'title = "Bench"\ncurrency = "EUR"\nboards = 3\n{_RATES}{_NEED}{_TERMS}'


def _file(folder: Path, text: str) -> Path:
    path = folder / "bench.toml"
    path.write_text(text, encoding="utf-8")
    return path


def test_a_plan_is_told(greenhouse: Call, tmp_path: Path) -> None:
    """Status 0, within the width, with the total that the JSON has."""
    order = _file(tmp_path, SOUND)
    shown = greenhouse("shop", order)
    told = json.loads(greenhouse("shop", order, "--format", "json").stdout)
    assert (shown.exit_code, shown.stderr, told["verdict"], told["proven"]) == (0, "", "planned", True)
    assert max(map(cell_len, shown.stdout.splitlines())) <= 80
    assert f"{told['totals']['total']:.2f} EUR" in shown.stdout
    assert sum(line["pieces"] for one in told["suppliers"] for line in one["lines"]) >= 6


def test_a_shortfall_is_status_1(greenhouse: Call, tmp_path: Path) -> None:
    """With the reasons, whether it was allowed or not."""
    order = _file(tmp_path, SOUND.replace("quantity = 2", "quantity = 300000"))
    result = greenhouse("shop", order)
    assert (result.exit_code, result.stderr) == (1, "")
    assert "nothing is planned" in result.stdout
    assert "What cannot be had:" in result.stdout
    assert greenhouse("shop", order, "--shortfall", "pieces").exit_code == 1


def test_options_count_before_the_file(greenhouse: Call, tmp_path: Path) -> None:
    """Tax, aim and supplier."""
    order = _file(tmp_path, SOUND)
    words = ("--tax", "--aim", "fewest parcels", "--supplier", "rabenmoos", "--format", "json")
    told = json.loads(greenhouse("shop", order, *words).stdout)
    assert [one["supplier"] for one in told["suppliers"]] == ["rabenmoos"]
    assert told["aim"] == "fewest parcels"
    assert told["totals"]["tax"] == pytest.approx(0.19 * (told["totals"]["goods"] + 4.9), abs=0.005)


def test_csv_has_every_purchase_and_says_the_rest_aside(greenhouse: Call, tmp_path: Path) -> None:
    """What is no purchase goes to stderr."""
    result = greenhouse("shop", _file(tmp_path, SOUND), "--format", "csv")
    rows = list(csv.DictReader(io.StringIO(result.stdout)))
    assert {row["for"] for row in rows if row["part_number"]} == {"Q1"}
    assert "Transistors fail on" in " ".join(result.stderr.split())


def test_files_by_their_endings(greenhouse: Call, tmp_path: Path) -> None:
    """All five at once; another ending is refused before any work."""
    names = [tmp_path / f"plan{ending}" for ending in (".html", ".csv", ".xlsx", ".md", ".JSON")]
    words = [word for name in names for word in ("--output", name)]
    assert greenhouse("shop", _file(tmp_path, SOUND), *words).exit_code == 0
    assert all(name.stat().st_size > 200 for name in names)
    refused = greenhouse("shop", _file(tmp_path, SOUND), "-o", tmp_path / "plan.doc")
    assert (refused.exit_code, refused.stdout) == (2, "")
    assert ".xlsx" in refused.stderr


def test_every_problem_has_a_line_of_its_own(greenhouse: Call, tmp_path: Path) -> None:
    """Of the file, and then of what the catalogue does not hold; status 2, nothing half printed."""
    slips = greenhouse("shop", _file(tmp_path, SOUND.replace("boards = 3", "boards = 0").replace("12V", "12A")))
    assert (slips.exit_code, slips.stdout, len(slips.stderr.splitlines())) == (2, "", 2)
    assert all("bench.toml, line " in line and ", key " in line for line in slips.stderr.splitlines())
    unknown = '[[line]]\npart = "NONE-1"\nquantity = 1\n[[line]]\npart = "NONE-2"\nquantity = 1\n'
    missing = greenhouse("shop", _file(tmp_path, unknown))
    assert (missing.exit_code, missing.stdout, len(missing.stderr.splitlines())) == (2, "", 2)


def test_a_missing_rate_names_the_line(greenhouse: Call, tmp_path: Path) -> None:
    """Rates are never guessed."""
    result = greenhouse("shop", _file(tmp_path, SOUND.replace(_RATES, "")))
    assert (result.exit_code, result.stdout) == (2, "")
    assert "GBP for Q1" in result.stderr


@pytest.mark.parametrize("limit", ["0s", "-1s", "1V", "ten"])
def test_a_time_limit_that_is_none(greenhouse: Call, tmp_path: Path, limit: str) -> None:
    """Said by its option."""
    result = greenhouse("shop", _file(tmp_path, SOUND), f"--time-limit={limit}")
    assert result.exit_code == 2
    assert "--time-limit" in result.stderr


def test_no_catalogue_is_said(fresh: Call, tmp_path: Path) -> None:
    """With the way out."""
    result = fresh("shop", _file(tmp_path, SOUND))
    assert result.exit_code == 2
    assert "loadworthy intake" in result.stderr


def test_a_choice_is_added_to_an_order_and_can_be_shopped(greenhouse: Call, tmp_path: Path) -> None:
    """The first ranked part, one a board; a second time a second line."""
    order = tmp_path / "spring.toml"
    words = ("choose", "transistor", "--supply", "12V", "--current", "5A", "--format", "json", "--add", order)
    first = json.loads(greenhouse(*words).stdout)["ranked"][0]
    assert greenhouse(*words).exit_code == 0
    lines = tomllib.loads(order.read_text(encoding="utf-8"))["line"]
    assert [(line["part"], line["quantity"]) for line in lines] == [(first["part_number"], 1)] * 2
    order.write_text(f'currency = "EUR"\n{order.read_text(encoding="utf-8")}{_RATES}', encoding="utf-8")
    told = json.loads(greenhouse("shop", order, "--wait", "any", "--format", "json").stdout)
    assert {line["asked"] for line in told["lines"]} == {first["part_number"]}
    assert told["verdict"] == "planned"


def test_help_starts_at_once() -> None:
    """Reading help brings neither the solver nor the database in."""
    look = (
        "import atexit, sys;"
        "atexit.register(lambda: print({'numpy', 'scipy', 'duckdb'} & set(sys.modules), file=sys.stderr));"
        "from loadworthy.cli import main; main()"
    )
    done = subprocess.run(  # noqa: S603 - our own interpreter
        [sys.executable, "-c", look, "shop", "--help"], capture_output=True, text=True, check=True
    )
    assert done.stderr.strip() == "set()"


@pytest.mark.skipif(sys.platform == "win32", reason="the C library is loaded by another name there")
def test_what_the_solver_prints_by_itself_is_no_result() -> None:
    """C code that writes past Python, with a buffer of its own, is kept out; what comes after is not."""
    code = (
        "import ctypes, sys\n"
        "from loadworthy.cli.common import hushed\n"
        "print('before')\n"
        "with hushed():\n"
        "    ctypes.CDLL(None).printf(b'noise')\n"
        "print('after')\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)  # noqa: S603
    assert done.stdout == "before\nafter\n"
