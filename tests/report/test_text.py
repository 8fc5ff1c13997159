"""What suppliers typed cannot steer a terminal."""

from __future__ import annotations

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loadworthy.report.text import clean, paragraph


@given(st.text())
def test_no_control_or_direction_mark_survives(text: str) -> None:
    """Unicode's own classes say what steers: Cc, Cs, Zl, Zp, and the bidirectional overrides (UAX #9)."""
    turning = {"LRE", "RLE", "LRO", "RLO", "PDF", "LRI", "RLI", "FSI", "PDI"}
    cleaned = clean(text)
    assert not {unicodedata.category(letter) for letter in cleaned} & {"Cc", "Cs", "Zl", "Zp"}
    assert not {unicodedata.bidirectional(letter) for letter in cleaned} & turning


@given(st.text(alphabet=st.characters(categories=["L", "N", "P", "S"])))
def test_ordinary_letters_stay_as_they_are(text: str) -> None:
    """Cleaning touches nothing that is safe."""
    assert clean(text) == text


@pytest.mark.parametrize(
    "attack", ["\x1b[2J", "\x1b]0;title\x07", "\x9b31m", "\r overwrites", "\x08\x08", "\u202e reversed"]
)
def test_escape_sequences_lose_their_effect(attack: str) -> None:
    """Clear the screen, set a title, C1 colour, carriage return, backspace, right-to-left override."""
    assert not set(clean("A1" + attack + "B2")) & set("\x1b\x07\x9b\r\x08\u202e")


def test_a_long_word_is_never_broken() -> None:
    """A part number longer than the line keeps its whole length, hyphens and all."""
    number = "GH-" + "X" * 60 + "-TR"
    assert number in paragraph(f"see {number} there", width=40).split("\n")


def test_a_long_cell_is_cut_where_people_read_it() -> None:
    """With how long it is; the formats for programs have it whole."""
    from loadworthy.report.intakes import refusal_line

    told = refusal_line(record=7, heading="ID", text="A" * 4000, reason="it is no number", width=80)
    assert len(told) < 600
    assert "4000 letters" in " ".join(told.split())
    assert "AAA" in refusal_line(record=7, heading="ID", text="AAA", reason="it is no number", width=80)
