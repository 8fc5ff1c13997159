"""Intervals against bands, and what findings weigh together."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loadworthy.bench.verdicts import NOT_DECIDED, OUTSIDE, WITHIN, Band, Finding, band_words, verdict, weighed

_FIGURES = st.floats(0.0, 100.0)


def _finding(title: str, said: str) -> Finding:
    return Finding(
        name=title, title=title, unit=None, value=None, uncertainty=None, low=None, high=None, band=None, verdict=said
    )


class TestVerdict:
    """Three states, by the interval."""

    @given(_FIGURES, _FIGURES, _FIGURES, _FIGURES)
    def test_follows_the_intervals_alone(self, low: float, width: float, least: float, span: float) -> None:
        """Within if every point is in the band, outside if none is, else not decided."""
        high, most = low + width, least + span
        said = verdict(low, high, Band(least=least, most=most))
        inside = least <= low and high <= most
        apart = high < least or low > most
        assert said == (WITHIN if inside else OUTSIDE if apart else NOT_DECIDED)

    @given(_FIGURES, _FIGURES, _FIGURES)
    def test_a_wider_interval_never_decides_more(self, low: float, width: float, most: float) -> None:
        """More uncertainty can undo a verdict, never make one."""
        band = Band(most=most)
        wide = verdict(low - 1.0, low + width + 1.0, band)
        assert wide in (NOT_DECIDED, verdict(low, low + width, band))

    def test_a_typical_figure_decides_nothing(self) -> None:
        """It is no limit."""
        assert verdict(9.0, 10.0, Band(most=1.0, limit=False)) == NOT_DECIDED

    def test_nothing_claimed_decides_nothing(self) -> None:
        """An unknown band, or an empty one."""
        assert verdict(1.0, 2.0, None) == verdict(1.0, 2.0, Band()) == NOT_DECIDED

    def test_a_bound_from_above_can_pass_but_not_fail(self) -> None:
        """Leads in the reading: the part has that or less."""
        assert verdict(0.0, 7e-3, Band(most=8e-3)) == WITHIN
        assert verdict(0.0, 9e-3, Band(most=8e-3)) == NOT_DECIDED


class TestWeighed:
    """A tally, no probability."""

    def test_one_contradiction_is_enough(self) -> None:
        """It is named; what agrees does not outweigh it."""
        said = weighed([_finding("on-resistance", WITHIN), _finding("threshold", OUTSIDE)])
        assert said.startswith("Contradicted by threshold:")
        assert "different part" in said

    def test_agreement_proves_little(self) -> None:
        """However much of it there is; no word of genuine."""
        said = weighed([_finding(str(number), WITHIN) for number in range(9)])
        assert "proves little" in said
        assert "genuine" not in said

    def test_nothing_decided_says_nothing(self) -> None:
        """Neither for nor against."""
        assert "for or against" in weighed([_finding("on-resistance", NOT_DECIDED)])


@pytest.mark.parametrize(
    ("band", "words"),
    [
        (Band(least=0.01, most=0.05), "10 mΩ to 50 mΩ"),
        (Band(most=0.05), "at most 50 mΩ"),
        (Band(least=0.01), "at least 10 mΩ"),
        (Band(most=0.05, limit=False), "at most 50 mΩ, typical"),
        (None, "not known"),
    ],
)
def test_a_band_in_words(band: Band | None, words: str) -> None:
    """Both bounds, one, or none."""
    assert band_words(band, "ohm") == words
