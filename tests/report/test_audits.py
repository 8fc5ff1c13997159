"""An audit told from its JSON alone."""

from __future__ import annotations

import json

import pytest
from rich.cells import cell_len

from loadworthy import shipped
from loadworthy.boards import audit, read_board, read_text, what_if
from loadworthy.report.audits import audit_text, link_rows, warnings


@pytest.fixture(scope="module")
def told() -> dict[str, object]:
    """Return the demo board's audit, as somebody who has only its JSON gets it."""
    board = read_board(shipped.catalog_dir() / "greenhouse" / "board.toml")
    both = what_if(board, 24.0)
    result: dict[str, object] = json.loads(json.dumps({**audit(board).as_json(), "what_if": both.as_json()}))
    return result


@pytest.mark.parametrize("width", [80, 100, 160])
def test_lines_keep_to_the_width(told: dict[str, object], width: int) -> None:
    """Whatever it is."""
    assert max(map(cell_len, audit_text(told, width=width).splitlines())) <= width


def test_the_links_stand_in_the_order_of_the_json(told: dict[str, object]) -> None:
    """Weakest first: a face puts nothing in order itself."""
    names = [row["link"] for row in link_rows(told["links"])]  # type: ignore[arg-type]
    body = audit_text(told, width=160).partition("Every link")[2].partition("Every output")[0]
    places = [body.index(f" {name} ") for name in names]
    assert places == sorted(places)


def test_no_text_of_a_board_file_steers_the_terminal(told: dict[str, object]) -> None:
    """A title may hold anything."""
    assert "\x1b" not in audit_text({**told, "title": "x\x1b[2J"}, width=80)


def test_warnings_hold_what_protects_nothing(told: dict[str, object]) -> None:
    """For formats that show the links alone."""
    said = " ".join(warnings(told))
    assert "4 times the heat" in said
    assert "Transistors fail on" in said


VALVE = """
title = "valve"
[supply]
voltage = "12V"
[surroundings]
ambient = "40degC"
[[output]]
name = "valve"
[output.load]
kind = "inductive"
resistance = "6ohm"
inductance = "0.2H"
%s
[[output.link]]
kind = "plain"
rated_current = "10A"
"""


@pytest.mark.parametrize(
    ("diode", "said"),
    [
        ('[output.freewheel]\ncurrent = "5A"\nvoltage = "40V"', "gives 400 mJ back, which the freewheel diode takes."),
        ("", "gives 400 mJ back, and no freewheel diode takes it."),
    ],
)
def test_a_diode_that_is_missing_takes_nothing(diode: str, said: str) -> None:
    """½·0.2 H·(2 A)² are 0.4 J: a line that says they are taken care of must not stand above one that denies it."""
    told = audit(read_text(VALVE % diode, name="valve.toml")).as_json()
    assert said in " ".join(audit_text(told, width=100).split())


def test_the_table_says_for_what_its_figures_hold(told: dict[str, object]) -> None:
    """A temperature at rest on the nominal supply is not that of the worst case beside it."""
    text = " ".join(audit_text(told, width=100).split())
    assert "at rest on the nominal supply" in text
