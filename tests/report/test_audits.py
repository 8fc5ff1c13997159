"""An audit told from its JSON alone."""

from __future__ import annotations

import json

import pytest
from rich.cells import cell_len

from loadworthy import shipped
from loadworthy.boards import audit, read_board, what_if
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
