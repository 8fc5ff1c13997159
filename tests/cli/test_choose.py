"""Choosing, as seen from the command."""

from __future__ import annotations

import csv
import io
import json
import re
from collections.abc import Callable
from typing import Any, TypeAlias

import pytest
from click.testing import Result
from rich.cells import cell_len

Call: TypeAlias = Callable[..., Result]

_MAT = ("choose", "transistor", "--supply", "12V", "--resistance", "1.6ohm", "--package", "TO-220")


@pytest.fixture
def chosen(greenhouse: Call) -> dict[str, Any]:
    """Return the heat mat's choice."""
    result = greenhouse(*_MAT, "--format", "json")
    assert result.exit_code == 0, result.stderr
    choice: dict[str, Any] = json.loads(result.stdout)
    return choice


def test_the_current_is_ohms_law(chosen: dict[str, Any]) -> None:
    """12 V on 1.6 Ω is 7.5 A."""
    assert chosen["need"]["current_a"] == 7.5


def test_the_loss_is_joules_law_and_heats_the_junction(chosen: dict[str, Any]) -> None:
    """P = I²·R and TJ = TA + Rth·P (textbook), with the figures that the answer itself gives."""
    for part in chosen["ranked"]:
        assert part["conduction_loss_w"] == pytest.approx(7.5**2 * part["rds_hot_ohm"], rel=1e-9)
        assert part["junction_degc"] == pytest.approx(40 + part["rth_k_per_w"] * part["conduction_loss_w"], rel=1e-9)


def test_the_counts_close(chosen: dict[str, Any]) -> None:
    """Every part considered fits, is stopped by one criterion, or is not known enough."""
    counts = chosen["counts"]
    assert counts["considered"] == counts["fit"] + sum(counts["stopped"].values()) + sum(counts["unknown"].values())


def test_the_ranking_is_by_conduction_loss(chosen: dict[str, Any]) -> None:
    """The least heat first."""
    losses = [part["conduction_loss_w"] for part in chosen["ranked"]]
    assert losses == sorted(losses)
    assert [part["rank"] for part in chosen["ranked"]] == list(range(1, len(losses) + 1))


def test_every_format_has_the_same_parts_in_the_same_order(greenhouse: Call, chosen: dict[str, Any]) -> None:
    """Table, CSV, Markdown and JSON tell one choice."""
    numbers = [part["part_number"] for part in chosen["ranked"]]
    rows = list(csv.DictReader(io.StringIO(greenhouse(*_MAT, "--format", "csv").stdout)))
    assert [row["part_number"] for row in rows] == numbers
    assert [float(row["conduction_loss_w"]) for row in rows] == [part["conduction_loss_w"] for part in chosen["ranked"]]
    table = greenhouse(*_MAT).stdout.splitlines()
    first = next(index for index, line in enumerate(table) if line.startswith("--")) + 1
    shown = table[first : first + len(numbers)]
    assert [number in line.split() for number, line in zip(numbers, shown, strict=True)] == [True] * len(numbers)
    marked = greenhouse(*_MAT, "--format", "markdown").stdout.splitlines()[2:]
    assert all(number in line.replace("\\", "") for number, line in zip(numbers, marked, strict=True))


def test_the_table_tells_the_whole_story(greenhouse: Call, chosen: dict[str, Any]) -> None:
    """What stopped the rest, near misses, and what to mind stand on stdout, in no more than 80 columns."""
    result = greenhouse(*_MAT)
    text = " ".join(result.stdout.split())
    stopped = text.split("What stopped the rest")[1].split("One step short")[0]
    for name, number in chosen["counts"]["stopped"].items():
        assert (re.search(rf"\b{name} .*? {number}\b", stopped) is not None) == (number > 0)
    assert all(miss["part_number"] in text for miss in chosen["near_misses"])
    assert all(" ".join(caution.split()) in text for caution in chosen["cautions"])
    assert max(map(cell_len, result.stdout.splitlines())) <= 80
    assert result.stderr == ""


def test_what_is_assumed_is_said_below_the_table(greenhouse: Call, chosen: dict[str, Any]) -> None:
    """No assumption is silent."""
    text = " ".join(greenhouse(*_MAT).stdout.split())
    assumed = {remark for part in chosen["ranked"] for remark in part["assumed"]}
    assert assumed
    assert all(f"assumed: {remark}" in text for remark in assumed)


@pytest.mark.parametrize("form", ["csv", "markdown"])
def test_cautions_go_beside_what_a_program_reads(greenhouse: Call, form: str, chosen: dict[str, Any]) -> None:
    """On stderr where stdout is read on."""
    result = greenhouse(*_MAT, "--format", form)
    assert all(" ".join(caution.split()) in " ".join(result.stderr.split()) for caution in chosen["cautions"])
    assert "fuse" not in result.stdout


def test_top_and_near_say_how_many(greenhouse: Call) -> None:
    """Three ranked, no near miss."""
    choice = json.loads(greenhouse(*_MAT, "--top", "3", "--near", "0", "--format", "json").stdout)
    assert (len(choice["ranked"]), choice["near_misses"]) == (3, [])


@pytest.mark.parametrize("form", ["table", "json", "csv", "markdown"])
def test_nothing_fits_is_status_1(greenhouse: Call, form: str) -> None:
    """The question was sound; the answer is no, with the reason."""
    result = greenhouse(*_MAT, "--max-loss", "1uW", "--format", form)
    assert result.exit_code == 1
    assert "loss" in result.output


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["--supply", "12", "--current", "1A"], "--supply"),
        (["--supply", "12V"], "current"),
        (["--supply", "12V", "--current", "1A", "--power", "5W"], "power"),
        (["--supply", "12V", "--current", "1A", "--ambient", "40 furlong"], "--ambient"),
        (["--supply", "12V", "--current", "1A", "--package", "TO-221x"], "--package"),
        (["--supply", "12V", "--current", "1A", "--accept", "luck"], "--accept"),
        (["--current", "1A"], "--supply"),
        (["--supply", "12V", "--current", "1A", "--load", "odd"], "--load"),
        (["--supply", "230V", "--current", "1A"], "--supply"),
    ],
)
def test_wrong_use_names_the_option(greenhouse: Call, words: list[str], told: str) -> None:
    """Status 2, one message, no traceback."""
    result = greenhouse("choose", "transistor", *words)
    assert result.exit_code == 2
    assert told in result.stderr
    assert "fault of the program" not in result.stderr
    assert result.stdout == ""


def test_an_unknown_family_is_wrong_use(greenhouse: Call) -> None:
    """Status 2."""
    result = greenhouse("choose", "teapot")
    assert result.exit_code == 2
    assert "teapot" in result.stderr


def test_a_missing_catalogue_says_how_to_fill_one(fresh: Call) -> None:
    """Status 2 and the command."""
    result = fresh(*_MAT)
    assert result.exit_code == 2
    assert "loadworthy intake" in result.stderr


def test_a_list_option_takes_several(greenhouse: Call) -> None:
    """--package may come more than once."""
    choice = json.loads(greenhouse(*_MAT, "--package", "DPAK", "--top", "200", "--format", "json").stdout)
    assert {part["package"] for part in choice["ranked"]} == {"TO-220", "TO-252"}
