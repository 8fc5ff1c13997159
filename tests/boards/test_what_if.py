"""The same board on another supply."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from loadworthy.boards import Board, WhatIf, what_if

MakeBoard = Callable[..., Board]


@pytest.fixture(scope="module")
def doubled(board_of: MakeBoard) -> WhatIf:
    """Return a board of three loads, held against twice its supply."""
    text = ""
    for name, load in (("mat", 'resistance = "1.6ohm"'), ("rod", 'power = "60W"'), ("reel", 'current = "2A"')):
        text += f'[[output]]\nname = "{name}"\n[output.load]\nkind = "resistive"\n{load}\n[[output.link]]\n'
        text += 'kind = "plain"\nrated_current = "10A"\n'
    return what_if(board_of(text), 24.0)


def _row(doubled: WhatIf, name: str) -> dict[str, dict[str, float]]:
    return next(row for row in doubled.as_json()["outputs"] if row["output"] == name)


def test_a_resistance_draws_twice_the_current_and_makes_four_times_the_heat(doubled: WhatIf) -> None:
    """Ohm's law: 7.5 A and 90 W become 15 A and 360 W; that is said loudly."""
    row = _row(doubled, "mat")
    assert (row["now"]["current_a"], row["now"]["power_w"]) == (pytest.approx(7.5), pytest.approx(90.0))
    assert (row["then"]["current_a"], row["then"]["power_w"]) == (pytest.approx(15.0), pytest.approx(360.0))
    assert (row["now"]["verdict"], row["then"]["verdict"]) == ("carries", "falls short")
    assert any("mat" in warning and "4 times the heat" in warning for warning in doubled.warnings)


def test_the_same_watts_from_a_load_made_for_the_other_supply(doubled: WhatIf) -> None:
    """90 W on 24 V draw 3.75 A."""
    remade = _row(doubled, "mat")["remade"]
    assert (remade["current_a"], remade["power_w"]) == (pytest.approx(3.75), pytest.approx(90.0))
    assert remade["verdict"] == "carries"


def test_a_power_keeps_its_watts_and_a_current_itself(doubled: WhatIf) -> None:
    """60 W on 24 V draw 2.5 A; 2 A stay 2 A."""
    assert _row(doubled, "rod")["then"]["current_a"] == pytest.approx(2.5)
    assert _row(doubled, "reel")["then"]["current_a"] == pytest.approx(2.0)
    assert _row(doubled, "rod")["remade"] is None


def test_what_the_other_rows_stand_for_is_said(doubled: WhatIf) -> None:
    """A rod for 12 V must not be put on 24 V because a row of the table says that one of as many watts is carried."""
    assert any("rod" in said and "made for 12 V" in said and "24 V" in said for said in doubled.warnings)
    assert any("reel" in said and "keeps its current" in said for said in doubled.warnings)


def test_the_same_supply_changes_nothing(doubled: WhatIf) -> None:
    """And needs no warning."""
    same = what_if(doubled.now.board, 12.0)
    assert same.now == same.then
    assert same.warnings == ()
