"""Outlines and the many ways to spell them."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loadworthy.catalog.packages import canonical, near_names, packages


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("to220", "TO-220"),
        ("TO-220AB", "TO-220"),
        ("TO 220 AB (3 leads)", "TO-220"),
        ("TO-220 (isolated)", "TO-220 full-pack"),
        ("TO-220AB, insulated", "TO-220 full-pack"),
        ("Insulated TO-220", "TO-220 full-pack"),
        ("TO-220-3 Full Pack", "TO-220 full-pack"),
        ("TO-220 Gehäuse, isoliert", "TO-220 full-pack"),
        ("TO-220 (non-isolated)", "TO-220"),
        ("TO-263-3, D²Pak (2 Leads + Tab)", "TO-263"),
        ("DPAK (TO-252)", "TO-252"),
        ("TO-252-3, DPak (2 Leads + Tab), SC-63", "TO-252"),
        ("DFN8 (5×6)", "PQFN 5x6"),
        ("DFN 5 x 6 mm", "PQFN 5x6"),
        ("8-SOIC", "SO-8"),
        ("SOT‑23", "SOT-23"),
    ],
)
def test_spellings_of_an_outline(text: str, name: str) -> None:
    """Punctuation, blanks, case and remarks do not count; an insulated tab does."""
    assert canonical(text) == name


@pytest.mark.parametrize("text", ["", "-", "ceramic", "TO-220 / TO-247", "SOT-23-6", "TO-247-4", "220"])
def test_texts_that_mean_no_outline_or_two(text: str) -> None:
    """Another number of leads is another outline, and two outlines are none."""
    assert canonical(text) is None


def test_every_spelling_of_the_table_leads_to_its_own_outline() -> None:
    """No alias is caught by another outline."""
    for package in packages():
        for spelling in (package.name, *package.aliases):
            assert canonical(spelling) == package.name, spelling


@given(st.text(max_size=40))
def test_any_text_is_taken(text: str) -> None:
    """A list may hold anything in its package column."""
    assert canonical(text) in {None, *(package.name for package in packages())}


def test_near_names_help_after_a_slip() -> None:
    """The nearest outline comes first."""
    assert near_names("TO-2200")[0] == "TO-220"
    assert near_names("%%%") == ()


def test_every_outline_says_where_its_figures_come_from() -> None:
    """Figures are careful, positive and sourced; the case is nearer to the junction than the air."""
    for package in packages():
        assert 0 < package.rthjc < package.rthja
        assert package.rthcs > 0
        assert package.source
        assert package.condition
