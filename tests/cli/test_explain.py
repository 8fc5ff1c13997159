"""One part against one need, as seen from the command."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Callable
from typing import Any, TypeAlias

import pytest
from click.testing import Result
from rich.cells import cell_len

Call: TypeAlias = Callable[..., Result]

_NEED = ("--supply", "12V", "--resistance", "1.6ohm", "--package", "TO-220")


@pytest.fixture
def chosen(greenhouse: Call) -> dict[str, Any]:
    """Return the heat mat's choice."""
    choice: dict[str, Any] = json.loads(greenhouse("choose", "transistor", *_NEED, "--format", "json").stdout)
    return choice


def _named(part: dict[str, Any]) -> tuple[str, ...]:
    return (part["part_number"], "--maker", part["maker"])


def test_the_ranked_parts_pass_with_the_same_figures(greenhouse: Call, chosen: dict[str, Any]) -> None:
    """Status 0, every verdict pass; loss and junction temperature as in the ranked list."""
    for part in chosen["ranked"][:3]:
        result = greenhouse("explain", "transistor", *_named(part), *_NEED, "--format", "json")
        answer = json.loads(result.stdout)
        assert result.exit_code == 0
        assert {line["verdict"] for line in answer["criteria"]} == {"pass"}
        assert answer["part"]["conduction_loss_w"] == part["conduction_loss_w"]
        assert answer["part"]["junction_degc"] == part["junction_degc"]


def test_a_near_miss_fails_what_the_list_says_it_fails(greenhouse: Call, chosen: dict[str, Any]) -> None:
    """Status 1, and the verdict is a word that needs no colour."""
    for miss in chosen["near_misses"][:3]:
        words = ("explain", "transistor", *_named(miss), *_NEED)
        result = greenhouse(*words)
        assert result.exit_code == 1
        assert "does not fit" in result.stdout
        line = next(line for line in result.stdout.splitlines() if line.split()[1:2] == [miss["criterion"]])
        assert line.startswith("fail ")


def test_the_text_has_rules_sources_arithmetic_and_cautions(greenhouse: Call, chosen: dict[str, Any]) -> None:
    """Everything that JSON says stands in the text, in 80 columns."""
    words = ("explain", "transistor", *_named(chosen["ranked"][0]), *_NEED)
    answer = json.loads(greenhouse(*words, "--format", "json").stdout)
    shown = greenhouse(*words).stdout
    text = " ".join(shown.split())
    for line in answer["criteria"]:
        assert " ".join(line["rule"].split()) in text
        assert " ".join(line["source"].split()) in text
    for line in answer["formulas"]:
        assert " ".join(line["worked"].split()) in text
    assert all(remark in text for remark in (*answer["assumed"], *answer["cautions"]))
    assert max(map(cell_len, shown.splitlines())) <= 80


def test_csv_has_one_row_a_criterion_with_numbers(greenhouse: Call, chosen: dict[str, Any]) -> None:
    """Value, limit and margin in SI, so that value − limit is the margin (where at least is asked)."""
    words = ("explain", "transistor", *_named(chosen["ranked"][0]), *_NEED, "--format", "csv")
    rows = list(csv.DictReader(io.StringIO(greenhouse(*words).stdout)))
    (voltage,) = [row for row in rows if row["name"] == "voltage"]
    assert float(voltage["limit"]) == 18.0
    assert float(voltage["value"]) - 18.0 == pytest.approx(float(voltage["margin"]))


def test_markdown_is_a_table_of_the_criteria(greenhouse: Call, chosen: dict[str, Any]) -> None:
    """A line each, under a heading and a rule."""
    words = ("explain", "transistor", *_named(chosen["ranked"][0]), *_NEED)
    count = len(json.loads(greenhouse(*words, "--format", "json").stdout)["criteria"])
    assert len(greenhouse(*words, "--format", "markdown").stdout.splitlines()) == count + 2


def test_an_unknown_part_brings_up_near_numbers(greenhouse: Call, chosen: dict[str, Any]) -> None:
    """Status 2: a number with a slip in it brings up the one that was meant."""
    number = chosen["ranked"][0]["part_number"]
    result = greenhouse("explain", "transistor", number[:-1] + "?", *_NEED)
    assert result.exit_code == 2
    assert number in result.stderr
