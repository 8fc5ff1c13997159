"""Contacts, fuses and loads on the bench."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from loadworthy.bench import NOT_DECIDED, OUTSIDE, WITHIN, BenchResult, Finding, measure
from loadworthy.errors import LoadworthyError
from loadworthy.physics import conductors

GOOD = {"volt_meter": "0.1%+1", "ammeter": "0.1%+1", "ohm_meter": "0.1%+1"}


def _one(kind: str, part: str, catalog: Any, *, kelvin: bool = True, **given: str) -> Finding:
    return measure(kind, {**GOOD, **given}, part=part, catalog=catalog, kelvin=kelvin).samples[0].findings[0]


class TestConnector:
    """Contact resistance, 3 mΩ listed."""

    @pytest.mark.parametrize(("drop", "said"), [("12.00mV", WITHIN), ("15.00mV", NOT_DECIDED), ("20.00mV", OUTSIDE)])
    def test_against_what_is_listed(self, catalog: Any, drop: str, said: str) -> None:
        """At 5 A: 2.4, 3 and 4 mΩ."""
        assert _one("connector", "SM-508-2", catalog, drop=drop, current="5.000A").verdict == said

    def test_contacts_in_series_share_the_drop(self, catalog: Any) -> None:
        """Out and back: half of it each."""
        found = _one("connector", "SM-508-2", catalog, drop="24.00mV", current="5.000A", contacts="2")
        assert found.value == pytest.approx(2.4e-3)

    def test_two_wires_are_called_so(self, catalog: Any) -> None:
        """An ohm-meter on milliohms reads its leads."""
        found = _one("connector", "SM-508-2", catalog, kelvin=False, reading="0.21ohm")
        assert (found.value, found.verdict) == (None, NOT_DECIDED)
        assert any("two-wire" in note for note in found.notes)


@pytest.mark.parametrize(
    ("family", "part", "changes"),
    [
        ("connector", "SM-508-2", {"typical": "Rc"}),
        ("fuse", "QR-5", {"r_min_ohm": None, "r1_max_ohm": None, "cold_ohm": 0.003, "typical": "Rcold"}),
    ],
)
def test_a_typical_figure_decides_nothing(
    catalog_with: Callable[..., Any], family: str, part: str, changes: dict[str, Any]
) -> None:
    """3 mΩ typical, 40 mΩ measured: shown beside it, and no verdict."""
    found = _one(family, part, catalog_with(family, **changes), drop="20.00mV", current="0.500A")
    assert (found.verdict, found.band.most if found.band else None) == (NOT_DECIDED, 0.003)


class TestFuse:
    """Cold resistance of a resettable fuse: Rmin 10 mΩ, R1max 50 mΩ listed."""

    @pytest.mark.parametrize(("drop", "said"), [("3.00mV", OUTSIDE), ("15.00mV", WITHIN), ("40.00mV", OUTSIDE)])
    def test_against_both_bounds(self, catalog: Any, drop: str, said: str) -> None:
        """At 0.5 A: 6, 30 and 80 mΩ. Figures of the 30 V part of a maker's data sheet: 0.010 and 0.050 Ω."""
        assert _one("fuse", "QR-5", catalog, drop=drop, current="0.500A").verdict == said

    def test_a_current_that_warms_it_is_said(self, catalog: Any) -> None:
        """More than a tenth of the hold current (common practice)."""
        warm = _one("fuse", "QR-5", catalog, drop="90.0mV", current="3.000A")
        cold = _one("fuse", "QR-5", catalog, drop="12.0mV", current="0.400A")
        assert any("warmed" in note for note in warm.notes)
        assert not any("warmed" in note for note in cold.notes)

    def test_one_that_melts_is_not_held_against_a_span(self, catalog_with: Callable[..., Any]) -> None:
        """A list that gives a greatest resistance alone claims that and no more."""
        found = _one("fuse", "QR-5", catalog_with("fuse", r_min_ohm=None), drop="12.0mV", current="0.500A")
        assert found.band is not None
        assert found.band.said == "R1max, as listed"

    def test_it_does_not_say_when_it_opens(self, catalog: Any) -> None:
        """However well it fits."""
        assert any("opens" in note for note in _one("fuse", "QR-5", catalog, drop="15.0mV", current="0.500A").notes)


def _load(**given: str) -> BenchResult:
    return measure("load", {**GOOD, **given}, kelvin=True)


class TestLoad:
    """Marked 1.6 Ω, reads 1.4 Ω."""

    def test_draws_more_than_its_marking_says(self) -> None:
        """12 V over 1.4 Ω is 8.6 A, and not 7.5 (Ohm's law)."""
        drawn = _load(marked="1.6ohm", reading="1.400ohm", supply="12V").drawn
        assert drawn is not None
        assert (round(drawn.value_a, 1), drawn.marked_a) == (8.6, 7.5)
        assert drawn.high_a is not None
        assert drawn.low_a < drawn.value_a < drawn.high_a
        assert drawn.value_w == pytest.approx(144.0 / 1.4)

    @pytest.mark.parametrize(("tolerance", "said"), [("5%", OUTSIDE), ("20%", WITHIN)])
    def test_against_the_tolerance_of_its_marking(self, tolerance: str, said: str) -> None:
        """1.52 to 1.68, and 1.28 to 1.92 Ω."""
        assert _load(marked="1.6ohm", reading="1.400ohm", tolerance=tolerance).verdict == said

    def test_a_tolerance_that_nobody_gave_is_said(self) -> None:
        """As common practice, and assumed."""
        found = _load(marked="1.6ohm", reading="1.400ohm").samples[0].findings[0]
        assert any("common practice" in text and "marking" in text for text in found.assumed)

    def test_copper_rises_as_iec_60028_has_it(self) -> None:
        """A pump's winding, 4 Ω at 20 °C, draws less at 70 °C: 1 + 0.00393·50."""
        given = {"reading": "4.000ohm", "supply": "12V", "material": "copper", "temp": "20degC"}
        warm = _load(**given, warm="70degC").drawn
        assert warm is not None
        assert warm.value_a == pytest.approx(3.0 / (1.0 + 50.0 * conductors.COPPER_ALPHA_20))
        assert warm.cold_a is not None
        assert warm.cold_a >= 3.0

    def test_a_lamp_read_cold_is_its_inrush(self) -> None:
        """Some ten times what it draws when lit (common practice), and said to be no more than a hint."""
        lamp = _load(reading="0.240ohm", supply="12V", material="tungsten").drawn
        assert lamp is not None
        assert lamp.value_a == pytest.approx(5.0)
        assert (lamp.cold_a or 0.0) >= 50.0
        assert any("hint" in note for note in lamp.notes)

    def test_leads_that_nobody_took_off_make_it_draw_more(self) -> None:
        """The current is then bounded from below alone."""
        drawn = measure("load", {**GOOD, "reading": "1.600ohm", "supply": "12V"}).drawn
        assert drawn is not None
        assert drawn.high_a is None
        assert drawn.low_a <= 7.5
        assert any("draws more" in note for note in drawn.notes)

    def test_leads_no_longer_matter_on_many_ohms(self) -> None:
        """A relay's coil of 160 Ω through two wires."""
        found = measure("load", {**GOOD, "reading": "160.0ohm", "marked": "160ohm"}).samples[0].findings[0]
        assert found.value == pytest.approx(160.0)
        assert any("left in" in note for note in found.notes)


@pytest.mark.parametrize(
    ("given", "where"),
    [
        ({}, "--reading"),
        ({"reading": "1ohm", "drop": "1V", "current": "1A"}, "--reading"),
        ({"drop": "1V"}, "--reading"),
        ({"reading": "1.0ohm", "leads": "2ohm"}, "--leads"),
        ({"reading": "1.0ohm", "material": "cheese", "supply": "12V"}, "--material"),
        ({"reading": "1.0ohm", "warm": "60degC", "supply": "12V"}, "--warm"),
        ({"reading": "1.0ohm", "supply": "5000V"}, "--supply"),
        ({"drop": "10mV", "current": "1.0A", "leads": "20mohm"}, "--leads"),
    ],
)
def test_what_cannot_be_worked_out_names_the_option(given: dict[str, str], where: str) -> None:
    """And the way out."""
    with pytest.raises(LoadworthyError) as caught:
        measure("load", given)
    assert where in (caught.value.where or "")
    assert caught.value.way_out


@pytest.mark.parametrize("contacts", ["0", "two", "-1", "1.5"])
def test_contacts_are_counted_in_whole_numbers(contacts: str) -> None:
    """From one up."""
    with pytest.raises(LoadworthyError, match="no number of contacts"):
        measure("connector", {"drop": "1.0mV", "current": "1.0A", "contacts": contacts}, part="X")
