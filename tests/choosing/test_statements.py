"""Statements are put together from files, and a user's words are only ever bound."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import pytest

from loadworthy import criteria, shipped
from loadworthy.catalog import families
from loadworthy.judging import statement
from loadworthy.needs import TransistorNeed
from loadworthy.statements import assemble, bind


def test_lists_are_spread_over_placeholders_and_empty_ones_equal_nothing() -> None:
    """As many placeholders as values; NULL for none."""
    text = "SELECT x IN ($words), $word"
    full = bind("some", text, {"words": ("a", "b"), "word": None})
    assert full.sql == "SELECT x IN ($words_1, $words_2), $word"
    assert full.parameters == {"words_1": "a", "words_2": "b", "word": None}
    assert bind("some", text, {"words": (), "word": 1}).sql == "SELECT x IN (NULL), $word"


def test_only_what_a_text_uses_is_bound() -> None:
    """DuckDB refuses a parameter too many; a comment uses none."""
    assert bind("some", "-- $b\nSELECT $a", {"a": 1, "b": 2}).parameters == {"a": 1}


def test_a_missing_parameter_or_slot_is_an_error() -> None:
    """It is a mistake in the program, found at once."""
    with pytest.raises(KeyError):
        bind("some", "SELECT $a", {})
    with pytest.raises(KeyError):
        assemble("parts")


def test_every_criterion_and_assumption_stands_in_the_query_and_the_other_way_round() -> None:
    """The family's description and its query name the same things."""
    text = shipped.query("transistor")
    rules = criteria.load("transistor")
    names = {criterion.name for criterion in rules.criteria}
    assert {word.removeprefix("ok_") for word in _columns(text, "ok_")} == names
    numeric = {criterion.name for criterion in rules.criteria if criterion.numeric}
    assert {word.removeprefix("has_") for word in _columns(text, "has_")} == numeric
    assert {word.removeprefix("needs_") for word in _columns(text, "needs_")} == numeric
    assumptions = {assumption.name for assumption in rules.assumptions}
    assert {word.removeprefix("assumed_") for word in _columns(text, "assumed_")} == assumptions


def test_every_ladder_of_the_query_has_the_levels_of_the_family_in_order() -> None:
    """The levels stand in the family, and once a ladder in the query, where the planner wants them plain."""
    levels = families.load("transistor").figure("rds_on").levels
    assert levels is not None
    text = shipped.query("transistor")

    def ladder(sign: str, column: str) -> list[float]:
        rungs = re.findall(rf"WHEN \$drive_v {sign} (\S+)e0 THEN {column}\b", text)
        assert all(levels.label(float(value)) == label for value, label in rungs)
        return [float(value) for value, _ in rungs]

    rising = list(levels.values)
    for column in (r"rds_(\d+v\d)_ohm", r"rds_(\d+v\d)_at_v"):
        assert ladder(">=", column) == rising[::-1]
        assert ladder("<", column) == rising
    assert ladder(">=", r"rds_typ_(\d+v\d)_ohm") == rising[::-1]
    lists = re.findall(r"\$drive_v NOT IN \(([^)]*)\)", text)
    assert [[float(value.removesuffix("e0")) for value in one.split(", ")] for one in lists] == [rising, rising]


def _columns(text: str, stem: str) -> set[str]:
    words = {word.strip(",") for line in text.splitlines() if "--" not in line for word in line.split()}
    return {word for word in words if word.startswith(stem)}


@pytest.mark.parametrize(
    ("drive", "read"), [("5V", {"rds_5v0_ohm"}), ("4.7V", {"rds_4v5_ohm", "rds_5v0_ohm", "rds_5v0_at_v"})]
)
def test_judging_reads_the_on_resistance_of_its_drive_alone(
    catalog_of: Callable[..., Any], part: Callable[..., Any], drive: str, read: set[str]
) -> None:
    """Bound numbers are folded as the plan is made: one column of many, plain filters in the scan, no offers."""
    given = [part(f"A{number}", vds_v=float(number), rds={4.5 + number % 2 / 2: 0.005}) for number in range(10, 60)]
    connection = catalog_of(*given).connection
    need = TransistorNeed(supply="12V", current="2A", drive=drive, package=("TO-220",))
    asked = statement("floor", need, closely=False, values={"top": 10})
    connection.execute("SET late_materialization_max_rows = 0")
    plan = str(connection.execute("EXPLAIN (FORMAT json) " + asked.sql, dict(asked.parameters)).fetchall())
    assert set(re.findall(r"rds_\w*\d\w*", plan)) == read
    assert "vds_v>=18.0" in plan.replace(" ", "")
    assert "offers" not in plan
    assert all(column not in plan for column in ("qgd_c", "rise_s", "rthjc_k_per_w", "id_pulse_a"))
