"""The small sum as seen from the command."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Callable
from typing import TypeAlias

import pytest
from click.testing import Result
from rich.cells import cell_len

Call: TypeAlias = Callable[..., Result]

LOAD = ("limits", "--supply", "12V", "--resistance", "1.6ohm", "--supply-tolerance", "10%")


def test_json_has_the_results_by_name(fresh: Call) -> None:
    """13.2 V over 1.6 Ω is 8.25 A (Ohm's law)."""
    result = fresh(*LOAD, "--format", "json")
    assert result.exit_code == 0
    assert json.loads(result.stdout)["result"]["worst_case_a"] == pytest.approx(8.25)


def test_the_text_shows_the_arithmetic_in_eighty_columns(fresh: Call) -> None:
    """Each law with its numbers put in."""
    shown = fresh(*LOAD, "--lamp").stdout
    assert max(map(cell_len, shown.splitlines())) <= 80
    assert "8.25 A = 13.2 V / (1.6 Ω · (1 − 0))" in " ".join(shown.split())
    assert "Assumed:" in shown


def test_csv_and_markdown_have_a_row_a_step(fresh: Call) -> None:
    """In the order of the sum."""
    names = [step["name"] for step in json.loads(fresh(*LOAD, "--format", "json").stdout)["formulas"]]
    rows = csv.DictReader(io.StringIO(fresh(*LOAD, "--format", "csv").stdout))
    assert [row["name"] for row in rows] == names
    assert len(fresh(*LOAD, "--format", "markdown").stdout.splitlines()) == len(names) + 2


@pytest.mark.parametrize("words", [(), ("--current", "1A", "--power", "9W"), ("--current", "1V")])
def test_wrong_use_is_told_at_its_option(fresh: Call, words: tuple[str, ...]) -> None:
    """Status 2, nothing on stdout."""
    result = fresh("limits", "--supply", "12V", *words)
    assert (result.exit_code, result.stdout) == (2, "")
    assert "--current" in result.stderr
