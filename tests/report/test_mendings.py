"""A mended board told from its JSON alone."""

from __future__ import annotations

import copy
import json
from typing import Any

import pytest
from board_parts import blade, catalog_of, mosfet, terminal
from rich.cells import cell_len

from loadworthy.boards import read_text
from loadworthy.boards.choosing import mend
from loadworthy.report.mendings import mended_text, replacement_rows

BOARD = """\
title = "one mat"
[supply]
voltage = "12V"
tolerance = "5%"
most_current = "40A"
[surroundings]
ambient = "45degC"
[[output]]
name = "mat"
[output.load]
kind = "resistive"
resistance = "1.6ohm"
[[output.link]]
kind = "trace"
name = "copper"
width = "2mm"
copper = "1oz"
length = "60mm"
layer = "outer"
[[output.link]]
kind = "transistor"
name = "Q1"
on_resistance = "60mohm"
package = "TO-220"
drive = "5V"
vds = "40V"
[[output.link]]
kind = "connector"
name = "X1"
unmarked = true
"""
PRICED = {"part_key": "Kupferau|M-B", "family": "transistor", "supplier": "Rowan Parts", "currency": "EUR",
          "unit_price": 0.84, "stock": 9}  # fmt: skip


@pytest.fixture(scope="module")
def told() -> dict[str, Any]:
    """Return a board of which a trace, a transistor and a terminal fall short, the last without a remedy."""
    catalog = catalog_of(
        transistor=[mosfet("M-B", {4.5: 0.004}), mosfet("M-C", {4.5: 0.005}), mosfet("M-E", {4.5: 0.006})],
        connector=[terminal("T-8", 8.0)],
        fuse=[blade("B-10", 10.0)],
        offers=[PRICED],
    )
    result: dict[str, Any] = json.loads(json.dumps(mend(read_text(BOARD, name="b"), catalog).as_json()))
    catalog.connection.close()
    return result


def words(need: Any) -> list[str]:
    """Write a need as words, as a face does."""
    return [f"--{name}={value}" for name, value in need.items()]


def flat(told: dict[str, Any], width: int = 80) -> str:
    """Return the text without its line breaks."""
    return " ".join(mended_text(told, typed=words, width=width).split())


@pytest.mark.parametrize("width", [80, 100, 160])
def test_lines_keep_to_the_width(told: dict[str, Any], width: int) -> None:
    """Whatever it is."""
    assert max(map(cell_len, mended_text(told, typed=words, width=width).splitlines())) <= width


def test_before_what_is_done_and_after_stand_in_order(told: dict[str, Any]) -> None:
    """As it is, what is done about it, as it is then."""
    text = flat(told)
    places = [text.index(mark) for mark in ("Every link as it is", "What is done about it", "With that in place")]
    assert places == sorted(places)


def test_everything_said_of_a_replacement_is_told(told: dict[str, Any]) -> None:
    """Link, reason, part, price, supplier, the next ones, advice, and the question that was asked."""
    text = flat(told)
    for one in told["mended"]["replacements"]:
        assert f"{one['link']} – {one['why']}." in text
        assert all(" ".join(said.split()) in text for said in one["advice"])
        assert all(word.partition("=")[0] in text for word in words(one["asked"]))
    (switch,) = [one for one in told["mended"]["replacements"] if one["kind"] == "transistor"]
    assert f"→ Kupferau {switch['chosen']['part_number']}, 0.84 EUR from Rowan Parts;" in text
    assert f"the first of {switch['fit']} that fit, of {switch['considered']}." in text
    assert f"Next: {', '.join(switch['next'])}." in text
    assert len(switch["next"]) == 2


def test_the_next_weak_link_is_named_with_its_numbers(told: dict[str, Any]) -> None:
    """Of the audit with everything in place: the terminal, for which nothing was found (12.6 V over 1.6 Ω)."""
    assert "Now the weakest: mat: X1, which must carry 7.88 A and may carry" in flat(told)


def test_a_wire_along_the_copper_is_told_with_its_size(told: dict[str, Any]) -> None:
    """It is no part of the catalogue, so no question is shown for it."""
    place = [one["link"] for one in told["mended"]["replacements"]].index("mat: copper") + 1
    text = mended_text(told, typed=words, width=80)
    said = text.partition(f"\n{place}. mat: copper")[2].partition(f"\n{place + 1}. ")[0]
    assert "mm² along it" in said
    assert "loadworthy choose" not in said


def test_rows_have_the_same_parts(told: dict[str, Any]) -> None:
    """One a replacement, in order; without a part the columns are empty."""
    rows = replacement_rows(told)
    assert [row["link"] for row in rows] == [one["link"] for one in told["mended"]["replacements"]]
    by_link = {row["link"]: row for row in rows}
    assert (by_link["mat: Q1"]["part_number"], by_link["mat: Q1"]["price"]) == ("M-B", "0.84 EUR")
    assert (by_link["mat: X1"]["part_number"], by_link["mat: X1"]["price"]) == (None, None)
    assert "T-8" in (by_link["mat: X1"]["advice"] or "")


def test_a_part_without_a_maker_has_no_gap(told: dict[str, Any]) -> None:
    """The number follows the arrow."""
    nameless = copy.deepcopy(told)
    for one in nameless["mended"]["replacements"]:
        if one["chosen"] is not None:
            one["chosen"]["maker"] = None
    assert "→ M-B, 0.84 EUR" in flat(nameless)


def test_nothing_to_replace_is_said(told: dict[str, Any]) -> None:
    """And no numbered list follows."""
    nothing = copy.deepcopy(told)
    nothing["mended"]["replacements"] = []
    assert "Nothing has to be replaced." in flat(nothing)
    assert "What is done about it" not in flat(nothing)


def test_no_text_of_a_list_steers_the_terminal(told: dict[str, Any]) -> None:
    """A part number may hold anything, and so may what the board's file calls its links."""
    hostile = copy.deepcopy(told)
    for one in hostile["mended"]["replacements"]:
        one["link"] += "\x1b[2J"
        one["advice"] = [text + "\x1b[2J" for text in one["advice"]]
        if one["chosen"] is not None:
            one["chosen"]["part_number"] += "\x1b[2J"
    assert "\x1b" not in mended_text(hostile, typed=words, width=80)
