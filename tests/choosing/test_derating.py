"""Derating over the air: what a connector or a fuse may carry, as the query that chose it and an oracle have it."""

from __future__ import annotations

import json
from typing import Any

import pytest
from connector_oracle import PUBLISHED, carried, catalog_of, terminal
from fuse_oracle import carried as fuse_carried
from fuse_oracle import kind_of
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from path_catalogs import Part, catalog_with, points

from loadworthy.derating import DeratingCurve, derating_curve
from loadworthy.needs import ConnectorNeed, FuseNeed
from loadworthy.selection import choose

LOAD: dict[str, Any] = {"supply": "12V", "current": "4A", "accept": ("current", "temperature", "voltage")}


def of_terminal(asked: dict[str, Any] | None = None, **other: Any) -> DeratingCurve:
    """Derate one terminal that is chosen for 4 A at 40 °C."""
    need = ConnectorNeed(**{**LOAD, **(asked or {})})
    with catalog_of(terminal("A", **other)) as catalog:
        (row,) = choose(catalog, need).ranked
        curve = derating_curve(catalog, need, row)
    assert curve is not None
    return curve


def at(curve: DeratingCurve, degc: float) -> float:
    """Return what the curve says of one air."""
    return curve.usable_a[curve.ambient_degc.index(degc)]


@pytest.mark.parametrize(("degc", "amperes"), PUBLISHED)
def test_a_connector_may_carry_four_fifths_of_its_published_curve(degc: float, amperes: float) -> None:
    """At each point of the data sheet's base curve (IEC 60512-5-2: 0.8)."""
    curve = of_terminal(derating=PUBLISHED, limit_degc=125.0)
    assert at(curve, degc) == pytest.approx(0.8 * amperes, rel=1e-12)


def test_it_begins_below_freezing_and_ends_where_nothing_is_carried() -> None:
    """In the cold no more than at its first point; at its limit nothing; what goes on beyond the points is said."""
    curve = of_terminal(derating=PUBLISHED, limit_degc=125.0)
    assert curve.ambient_degc[0] < 0.0
    assert curve.usable_a[0] == pytest.approx(0.8 * 11.1)
    assert (curve.ambient_degc[-1], curve.usable_a[-1], curve.ends) == (125.0, 0.0, "nothing carried")
    assert list(curve.usable_a) == sorted(curve.usable_a, reverse=True)
    assert any("beyond the last point" in word for word in curve.assumed)


def test_without_a_curve_the_fall_back_is_used_and_said() -> None:
    """The root law to the limit: √((105 − 40)/(105 − 20)) of 0.8 × 15 A at 40 °C."""
    curve = of_terminal()
    assert at(curve, 40.0) == pytest.approx(0.8 * 15.0 * (65.0 / 85.0) ** 0.5, rel=1e-12)
    assert curve.ambient_degc[-1] == 105.0
    assert any("in place of a derating curve" in word for word in curve.assumed)


def test_a_curve_without_a_limit_ends_where_nothing_is_known() -> None:
    """Beyond its last point at 120 °C nobody says what it carries."""
    curve = of_terminal(derating=PUBLISHED, limit_degc=None)
    assert (curve.ambient_degc[-1], curve.ends) == (120.0, "nothing known")
    assert curve.usable_a[-1] == pytest.approx(0.8 * 2.1)
    assert not any("√" in word for word in curve.assumed)


def test_a_limit_between_whole_degrees_is_the_end_of_it() -> None:
    """The last temperature is the limit itself, and in air colder than usual the curve begins there."""
    curve = of_terminal({"ambient": "-33.5degC"}, limit_degc=97.5)
    assert curve.ambient_degc[-1] == 97.5
    assert curve.ambient_degc[0] <= -33.5
    assert -33.5 in curve.ambient_degc


def test_the_operating_point_is_the_needs_and_the_rows() -> None:
    """Its air, its current, what the row says may be carried there, and what is needed with the margin."""
    need = ConnectorNeed(**LOAD, ambient="47.3degC", current_margin="1.5")
    with catalog_of(terminal("A", derating=PUBLISHED)) as catalog:
        (row,) = choose(catalog, need).ranked
        curve = derating_curve(catalog, need, row)
    assert curve is not None
    assert (curve.at_ambient_degc, curve.at_current_a, curve.needed_a) == (47.3, 4.0, 6.0)
    assert curve.at_usable_a == row["usable_a"] == at(curve, 47.3)
    assert json.loads(json.dumps(curve.as_json(), allow_nan=False))["operating"]["needed_a"] == 6.0


def test_a_part_of_which_nothing_is_known_has_no_curve() -> None:
    """Accepted unknown, it may be chosen; there is nothing to draw."""
    need = ConnectorNeed(**LOAD)
    with catalog_of(terminal("A", rated_ul_a=None, rated_iec_a=None)) as catalog:
        (row,) = choose(catalog, need).ranked
        assert derating_curve(catalog, need, row) is None


curves = st.lists(
    st.tuples(st.sampled_from([20.0, 35.0, 40.0, 62.5, 80.0, 110.0]), st.floats(0.5, 40.0)),
    max_size=5, unique_by=lambda point: point[0],
).map(sorted)  # fmt: skip


@settings(max_examples=25)
@given(
    curve=curves,
    limit=st.sampled_from([None, 85.0, 105.0, 120.5]),
    ratings=st.tuples(*[st.one_of(st.none(), st.floats(1.0, 40.0))] * 3),
    basis=st.sampled_from([None, "UL", "IEC"]),
    ambient=st.sampled_from([-10.0, 20.0, 41.7, 85.0]),
)
def test_every_air_is_judged_as_a_need_in_that_air(
    curve: Any, limit: float | None, ratings: tuple[Any, Any, Any], basis: str | None, ambient: float
) -> None:
    """Over random connectors, by plain Python on the physics package."""
    ul, iec, plain = ratings
    part = terminal(
        "A", derating=curve or None, limit_degc=limit, rated_ul_a=ul, rated_iec_a=iec, rated_a=plain, voltage_v=300.0,
        voltage_iec_v=300.0,
    )  # fmt: skip
    need = ConnectorNeed(supply="12V", current="1mA", basis=basis, ambient=f"{ambient}degC", accept=LOAD["accept"])
    with catalog_of(part) as catalog:
        ranked = choose(catalog, need).ranked
        found = derating_curve(catalog, need, ranked[0]) if ranked else None
    if found is None:
        return
    asked: dict[str, Any] = need.parameters()
    assert found.at_usable_a == ranked[0]["usable_a"]
    for degc, amperes in zip(found.ambient_degc, found.usable_a, strict=True):
        assert amperes == pytest.approx(carried(part, {**asked, "ambient_degc": degc})["usable_a"], rel=1e-9, abs=1e-9)
    beyond = carried(part, {**asked, "ambient_degc": found.ambient_degc[-1] + 1.0})["usable_a"]
    assert beyond == (None if found.ends == "nothing known" else 0.0)


amperes = st.floats(4.5, 30.0)
tables = st.one_of(
    st.none(),
    st.dictionaries(st.sampled_from([-40.0, 0.0, 20.0, 40.0, 62.5, 85.0]), amperes, min_size=1).map(points),
)
fuse_parts = st.fixed_dictionaries(
    {
        "type": st.sampled_from(["resettable", "one-shot"]),
        "standard": st.sampled_from([None, "UL", "IEC", "blade"]),
        "package": st.sampled_from(["Mini blade", "5 x 20 mm"]),
        "hold_a": st.one_of(st.none(), amperes), "hold_curve": tables,
        "rating_a": st.one_of(st.none(), amperes), "rating_curve": tables,
        "continuous_a": st.one_of(st.none(), amperes), "continuous_curve": tables,
        "limit_degc": st.sampled_from([None, 70.0, 125.0]),
    }
)  # fmt: skip
NO_FIGURES = dict.fromkeys(
    ("trip_a", "most_fault_a", "breaking_a", "voltage_dc_v", "r_min_ohm", "r1_max_ohm", "cold_ohm")
)


@settings(max_examples=25, suppress_health_check=[HealthCheck.too_slow])
@given(fuse_parts, st.sampled_from([-10.0, 23.0, 41.7]))
def test_every_air_of_a_fuse_is_judged_as_a_need_in_that_air(given_part: Part, ambient: float) -> None:
    """Over random fuses, by plain Python on the physics package; above what it may be in, nothing is said."""
    part = {"part_key": "A", "maker": "Reed", "part_number": "A", "claims": 1, **given_part, **NO_FIGURES}
    table = {name: sorted(part[name], key=lambda one: one["degc"]) for name in part if part[name] and "curve" in name}
    part |= {**table, "voltage_v": 32.0}
    need = FuseNeed(supply="12V", current="1A", ambient=f"{ambient}degC", accept=("carries",))
    catalog = catalog_with("fuse", [part])
    ranked = choose(catalog, need).ranked
    found = derating_curve(catalog, need, ranked[0]) if ranked else None
    if found is None:
        return
    asked: dict[str, Any] = need.parameters()
    assert found.at_usable_a == ranked[0]["carries_a"]
    for degc, current in zip(found.ambient_degc, found.usable_a, strict=True):
        want, _ = fuse_carried(part, kind_of(part), {**asked, "ambient_degc": degc})
        assert current == pytest.approx(want, rel=1e-9)
    most = part["limit_degc"] or 85.0
    assert found.ambient_degc[-1] <= most
    after, _ = fuse_carried(part, kind_of(part), {**asked, "ambient_degc": found.ambient_degc[-1] + 1.0})
    assert after is None or found.ambient_degc[-1] + 1.0 > most
    assert found.ends == "nothing known"


def test_a_fuse_without_a_table_says_that_its_fall_in_warm_air_is_not_counted() -> None:
    """One rating is all there is: a straight line, and what it rests on."""
    part = {"part_key": "A", "maker": "Reed", "part_number": "A", "claims": 1, "type": "one-shot", "standard": "UL",
            "rating_a": 10.0, "voltage_dc_v": 32.0, "limit_degc": 100.0}  # fmt: skip
    need = FuseNeed(supply="12V", current="5A")
    catalog = catalog_with("fuse", [part])
    curve = derating_curve(catalog, need, choose(catalog, need).ranked[0])
    assert curve is not None
    assert set(curve.usable_a) == {7.5}  # 75 % of the rating: a fuse maker's comparison
    assert curve.ambient_degc[-1] == 100.0
    assert any("no table against temperature" in word for word in curve.assumed)
