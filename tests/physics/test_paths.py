"""The coupled path, held against SciPy, a warming up step by step, Ohm's law and the balance of energy."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np
import numpy.typing as npt
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import fsolve, minimize_scalar

from loadworthy.errors import UsageError
from loadworthy.physics import conduction, paths

COPPER = (0.00393, 0.0)
# Second-order laws of transistors with hot exponents of 1.65 and 2.4.
TRANSISTORS = tuple((n / 298.15, n * (n - 1.0) / 2.0 / 298.15**2) for n in (1.65, 2.4))


def none_or(least: float, most: float) -> st.SearchStrategy[float]:
    """Draw zero, or a figure that a part can have."""
    return st.one_of(st.just(0.0), st.floats(least, most))


@st.composite
def some_links(draw: st.DrawFn, most_rth: float = 60.0) -> list[paths.Link]:
    """Draw up to five links: copper, transistors, and contacts that do not change."""
    links = []
    for _ in range(draw(st.integers(1, 5))):
        linear, square = draw(st.sampled_from([COPPER, *TRANSISTORS, (0.0, 0.0)]))
        links.append(
            paths.Link(
                resistance_ohm=draw(none_or(1e-5, 0.05)),
                reference_degc=draw(st.sampled_from([20.0, 25.0])),
                linear_per_k=linear,
                square_per_k2=square,
                rth_k_per_w=draw(none_or(1e-2, most_rth)) if most_rth else 0.0,
                ambient_degc=draw(st.floats(-20.0, 70.0)),
                other_loss_w=draw(st.floats(0.0, 0.5)),
            )
        )
    return links


loads = st.one_of(
    st.builds(lambda ohm: paths.FixedResistance(resistance_ohm=ohm), st.floats(0.8, 50.0)),
    st.builds(lambda a: paths.FixedCurrent(current_a=a), st.floats(0.0, 12.0)),
    st.builds(lambda w: paths.FixedPower(power_w=w), st.floats(0.0, 120.0)),
)


def hot_ohm(link: paths.Link, degc: float) -> float:
    """R(T), written out."""
    delta = degc - link.reference_degc
    return link.resistance_ohm * (1.0 + link.linear_per_k * delta + link.square_per_k2 * delta * delta)


def warmed(link: paths.Link, current_a: float) -> float:
    """Warm a link up step by step from the air's temperature; infinite where it never stops."""
    degc = link.ambient_degc + link.rth_k_per_w * link.other_loss_w
    for _ in range(20_000):
        # A link heats the more the warmer it is, so this climbs to the first balance and never past it.
        after = link.ambient_degc + link.rth_k_per_w * (current_a**2 * hot_ohm(link, degc) + link.other_loss_w)
        if after - degc < 1e-10:
            return after
        degc = after
        if degc > 1e5:
            break
    return math.inf


def load_current(load: paths.Load, load_v: float) -> float:
    """Give the current that a load draws at its voltage."""
    match load:
        case paths.FixedResistance(resistance_ohm=ohm):
            return load_v / ohm
        case paths.FixedCurrent(current_a=a):
            return a
        case paths.FixedPower(power_w=w):
            return w / load_v if w else 0.0


class TestSettled:
    """What holds wherever a path settles."""

    @given(st.floats(9.0, 28.0), loads, some_links())
    def test_every_law_holds_at_once(self, supply: float, load: paths.Load, links: list[paths.Link]) -> None:
        """Kirchhoff, Ohm, the load's own law, heat and energy; what does not settle says why."""
        path = paths.settle(supply_v=supply, load=load, links=links)
        if path.state != "settled":
            assert math.isnan(path.current_a)
            assert (path.state == "runaway") == bool(path.runaway)
            return
        assert path.runaway == ()
        assert path.load_v + np.sum(path.drop_v) == pytest.approx(supply)
        assert load_current(load, path.load_v) == pytest.approx(path.current_a, rel=1e-6)
        assert supply * path.current_a == pytest.approx(path.load_w + np.sum(path.loss_w))
        for i, link in enumerate(links):
            degc = path.temperature_degc[i]
            assert path.resistance_ohm[i] == pytest.approx(hot_ohm(link, degc))
            assert path.drop_v[i] == pytest.approx(path.current_a * path.resistance_ohm[i])
            heat = path.current_a**2 * path.resistance_ohm[i] + link.other_loss_w
            assert degc == pytest.approx(link.ambient_degc + link.rth_k_per_w * heat, abs=1e-6, rel=1e-6)

    @given(st.floats(9.0, 28.0), st.floats(0.8, 50.0), some_links(most_rth=15.0))
    def test_scipy_finds_the_same_current_and_temperatures(
        self, supply: float, ohm: float, links: list[paths.Link]
    ) -> None:
        """SciPy's fsolve on current and all temperatures together, from the cold."""

        def residual(unknowns: npt.NDArray[np.float64]) -> list[float]:
            current, *degc = unknowns
            ohms = [hot_ohm(link, at) for link, at in zip(links, degc, strict=True)]
            return [
                current * (ohm + sum(ohms)) / supply - 1.0,
                *(
                    (at - link.ambient_degc - link.rth_k_per_w * (current**2 * r + link.other_loss_w)) / 100.0
                    for link, at, r in zip(links, degc, ohms, strict=True)
                ),
            ]

        start = [supply / (ohm + sum(link.resistance_ohm for link in links)), *(link.ambient_degc for link in links)]
        found, *_ = fsolve(residual, start, xtol=1e-12, full_output=True)
        path = paths.settle(supply_v=supply, load=paths.FixedResistance(resistance_ohm=ohm), links=links)
        if path.state == "runaway":
            # No current short of the brink takes up the supply's voltage.
            brink = min(brink_of(link) for link in links)
            for current in brink * np.linspace(0.0, 0.999999, 40):
                ends = [balance(link, float(current)) for link in links]
                ohms = [hot_ohm(link, end) for link, end in zip(links, ends, strict=True)]
                assert current * (ohm + sum(ohms)) < supply
            return
        # How it ended matters less than whether it balances.
        assert max(map(abs, residual(found))) < 1e-9
        if np.any(found[1:] > 400.0):
            return  # beyond every law here, and near the second root
        assert path.current_a == pytest.approx(found[0], rel=1e-7)
        np.testing.assert_allclose(path.temperature_degc, found[1:], rtol=1e-6, atol=1e-4)

    @given(st.floats(0.0, 30.0), some_links())
    def test_at_a_given_current_each_link_is_where_warming_up_ends(
        self, current: float, links: list[paths.Link]
    ) -> None:
        """Step by step from the air's temperature, and the links that never stop are named."""
        path = paths.settle(supply_v=100.0, load=paths.FixedCurrent(current_a=current), links=links)
        ends = [warmed(link, current) for link in links]
        for i, (link, end) in enumerate(zip(links, ends, strict=True)):
            share = current / brink_of(link)
            if share > 1.01:
                assert math.isinf(end)
                assert i in path.runaway
            elif share < 0.99:
                assert i not in path.runaway
                if path.state == "settled":
                    assert path.temperature_degc[i] == pytest.approx(end, rel=1e-5, abs=1e-5)


class TestLimitCases:
    """Where the answer is known beforehand."""

    @given(st.floats(0.0, 28.0), st.floats(0.1, 50.0), some_links(most_rth=0.0))
    def test_without_heating_it_is_ohm_s_law(self, supply: float, ohm: float, links: list[paths.Link]) -> None:
        """Each link as warm as its air."""
        path = paths.settle(supply_v=supply, load=paths.FixedResistance(resistance_ohm=ohm), links=links)
        total = ohm + sum(hot_ohm(link, link.ambient_degc) for link in links)
        assert path.current_a == pytest.approx(supply / total)
        np.testing.assert_allclose(path.temperature_degc, [link.ambient_degc for link in links], atol=1e-9)

    def test_without_links_the_load_has_the_supply_to_itself(self) -> None:
        """An empty path."""
        path = paths.settle(supply_v=12.0, load=paths.FixedPower(power_w=60.0), links=[])
        assert (path.current_a, path.load_v) == (pytest.approx(5.0), 12.0)
        assert path.temperature_degc.shape == (0,)

    @given(st.floats(0.1, 12.0), st.sampled_from([1.65, 2.4]), st.floats(0.0, 70.0), st.floats(1.0, 62.0))
    def test_a_lone_transistor_is_as_hot_as_the_transistor_s_own_formula_says(
        self, current: float, exponent: float, ambient: float, rth: float
    ) -> None:
        """conduction.junction_temperature, its runaway too."""
        linear, square = (float(c) for c in conduction.hot_coefficients(exponent=exponent))
        link = paths.Link(
            resistance_ohm=0.013,
            reference_degc=25.0,
            linear_per_k=linear,
            square_per_k2=square,
            rth_k_per_w=rth,
            ambient_degc=ambient,
            other_loss_w=0.2,
        )
        path = paths.settle(supply_v=100.0, load=paths.FixedCurrent(current_a=current), links=[link])
        junction = conduction.junction_temperature(
            current_a=current,
            duty=1.0,
            rds25_ohm=0.013,
            exponent=exponent,
            rth_k_per_w=rth,
            ambient_degc=ambient,
            other_loss_w=0.2,
        )
        assert path.temperature_degc[0] == pytest.approx(junction, nan_ok=True)
        assert (path.state == "runaway") == math.isnan(junction)

    @given(st.floats(9.0, 28.0), loads, some_links(), st.floats(1.0, 15.0))
    def test_warmer_air_makes_a_link_hotter_and_leaves_the_load_no_more(
        self, supply: float, load: paths.Load, links: list[paths.Link], more: float
    ) -> None:
        """The link itself, that is: a heater takes less current then, and other links cool. The load gets no more."""
        path = paths.settle(supply_v=supply, load=load, links=links)
        warm = [replace(links[0], ambient_degc=links[0].ambient_degc + more), *links[1:]]
        warmer = paths.settle(supply_v=supply, load=load, links=warm)
        if path.state != "settled":
            assert warmer.state != "settled"
        elif warmer.state == "settled":
            assert warmer.temperature_degc[0] > path.temperature_degc[0]
            # To within a rounding error of the supply.
            assert warmer.load_v <= path.load_v * (1.0 + 1e-9)


def brink_of(link: paths.Link) -> float:
    """Give the current of runaway, by the function that is held against SciPy below."""
    return float(paths.runaway_current(**{name: getattr(link, name) for name in paths.Link.__dataclass_fields__}))


class TestRunaway:
    """Where there is no balance."""

    PART: dict[str, Any] = {  # noqa: RUF012
        "resistance_ohm": 0.013,
        "reference_degc": 25.0,
        "linear_per_k": TRANSISTORS[0][0],
        "square_per_k2": TRANSISTORS[0][1],
        "rth_k_per_w": 62.0,
        "ambient_degc": 40.0,
        "other_loss_w": 0.0,
    }

    @given(st.sampled_from(TRANSISTORS), st.floats(-20.0, 85.0), st.floats(0.0, 1.0))
    def test_the_brink_is_the_most_current_that_any_temperature_balances(
        self, law: tuple[float, float], ambient: float, other: float
    ) -> None:
        """SciPy seeks the temperature at which the heat carried off allows the greatest I²."""
        link = paths.Link(
            **self.PART
            | {"linear_per_k": law[0], "square_per_k2": law[1], "ambient_degc": ambient, "other_loss_w": other}
        )

        def allowed(degc: float) -> float:
            return ((degc - link.ambient_degc) / link.rth_k_per_w - link.other_loss_w) / hot_ohm(link, degc)

        best = minimize_scalar(lambda degc: -allowed(degc), bounds=(ambient, 3000.0), method="bounded")
        assert brink_of(link) == pytest.approx(math.sqrt(-best.fun), rel=1e-6)

    def test_copper_s_brink_is_where_its_own_coefficient_feeds_it(self) -> None:
        """I²·R·Rth·α = 1, whatever the air; what does not warm, or does not rise, has none."""
        copper = self.PART | {"linear_per_k": 0.00393, "square_per_k2": 0.0}
        for ambient in (20.0, 60.0):
            brink = paths.runaway_current(**copper | {"ambient_degc": ambient})
            assert brink == pytest.approx(1.0 / math.sqrt(0.013 * 62.0 * 0.00393))
        assert math.isinf(paths.runaway_current(**self.PART | {"rth_k_per_w": 0.0}))
        assert math.isinf(paths.runaway_current(**copper | {"linear_per_k": 0.0}))

    @pytest.mark.parametrize(
        "load",
        [
            paths.FixedResistance(resistance_ohm=0.8),
            paths.FixedCurrent(current_a=14.0),
            paths.FixedPower(power_w=170.0),
        ],
        ids=lambda load: type(load).__name__,
    )
    def test_the_links_that_run_away_are_named(self, load: paths.Load) -> None:
        """One of three, the transistor in the middle; no figure is given."""
        cool = paths.Link(**self.PART | {"rth_k_per_w": 1.0})
        path = paths.settle(supply_v=12.0, load=load, links=[cool, paths.Link(**self.PART), cool])
        assert path.state == "runaway"
        assert path.runaway == (1,)
        assert all(math.isnan(value) for value in (path.current_a, path.load_v, path.load_w))
        assert np.all(np.isnan(path.temperature_degc))
        assert path.drop_v.shape == (3,)

    def test_a_law_that_gives_no_resistance_is_refused(self) -> None:
        """Copper in air of −260 °C."""
        with pytest.raises(UsageError, match="gives no resistance"):
            paths.runaway_current(**self.PART | {"ambient_degc": -260.0, "linear_per_k": 0.00393, "square_per_k2": 0.0})


class TestStarved:
    """Where the supply cannot do it."""

    def test_power_that_no_current_can_bring(self) -> None:
        """12 V through 1 Ω brings 36 W at most (maximum power transfer): 35.9 W at near half the voltage."""
        link = paths.Link(**TestRunaway.PART | {"resistance_ohm": 1.0, "linear_per_k": 0.0, "square_per_k2": 0.0})
        path = paths.settle(supply_v=12.0, load=paths.FixedPower(power_w=36.1), links=[link])
        assert (path.state, path.runaway) == ("starved", ())
        near = paths.settle(supply_v=12.0, load=paths.FixedPower(power_w=35.9), links=[link])
        assert near.state == "settled"
        assert 6.0 < near.load_v < 6.5

    @given(st.floats(9.0, 28.0), st.floats(1.0, 200.0), some_links())
    def test_a_fixed_power_is_fed_at_the_least_current_that_brings_it(
        self, supply: float, power: float, links: list[paths.Link]
    ) -> None:
        """A sweep of the currents, each link by its own quadratic of numpy's."""
        path = paths.settle(supply_v=supply, load=paths.FixedPower(power_w=power), links=links)
        least = power / supply
        most = path.current_a * (1.0 - 1e-6) if path.state == "settled" else 20.0 * least
        for current in np.linspace(least, max(most, least), 60):
            ends = [balance(link, float(current)) for link in links]
            if any(math.isinf(end) for end in ends):
                break
            drop = current * sum(hot_ohm(link, end) for link, end in zip(links, ends, strict=True))
            assert current * (supply - drop) <= power * (1.0 + 1e-6)

    @given(st.floats(0.1, 1.0), st.floats(0.5, 40.0), st.floats(0.3, 0.98))
    def test_a_power_close_to_the_most_that_a_hot_path_passes_is_still_found(
        self, ohm: float, rth: float, share: float
    ) -> None:
        """SciPy finds the current of most power; what a smaller one brings, that one is found for."""
        link = paths.Link(
            **TestRunaway.PART
            | {"resistance_ohm": ohm, "linear_per_k": 0.00393, "square_per_k2": 0.0, "rth_k_per_w": rth}
        )
        brink = brink_of(link)

        def brought(current: float) -> float:
            return current * (12.0 - current * hot_ohm(link, balance(link, current)))

        peak = minimize_scalar(
            lambda current: -brought(current), bounds=(0.0, min(0.999 * brink, 6.0 / ohm)), method="bounded"
        ).x
        path = paths.settle(supply_v=12.0, load=paths.FixedPower(power_w=brought(share * peak)), links=[link])
        assert path.current_a == pytest.approx(share * peak, rel=1e-6)
        more = paths.settle(supply_v=12.0, load=paths.FixedPower(power_w=1.001 * brought(peak)), links=[link])
        assert more.state != "settled"

    def test_a_current_that_takes_more_than_the_supply_has(self) -> None:
        """The load's voltage would be below zero."""
        link = paths.Link(**TestRunaway.PART | {"resistance_ohm": 2.0, "rth_k_per_w": 0.0})
        path = paths.settle(supply_v=12.0, load=paths.FixedCurrent(current_a=7.0), links=[link])
        assert path.state == "starved"


def balance(link: paths.Link, current_a: float) -> float:
    """Give a link's temperature as the least root that numpy finds above the air; infinite where there is none."""
    k = current_a**2 * link.resistance_ohm * link.rth_k_per_w
    start = link.ambient_degc - link.reference_degc + link.rth_k_per_w * link.other_loss_w
    roots = np.roots([k * link.square_per_k2, k * link.linear_per_k - 1.0, start + k])
    real = [float(root.real) for root in roots if abs(root.imag) < 1e-9 and root.real > start - 1e-9]
    return link.reference_degc + min(real, default=math.inf)


class TestRefusals:
    """What cannot be worked out."""

    GOOD = paths.Link(**TestRunaway.PART)
    LOAD = paths.FixedResistance(resistance_ohm=1.6)

    @pytest.mark.parametrize("name", list(paths.Link.__dataclass_fields__))
    def test_an_unknown_figure_of_a_link_is_named(self, name: str) -> None:
        """With the number of the link."""
        links = [self.GOOD, replace(self.GOOD, **{name: math.nan})]
        with pytest.raises(UsageError) as caught:
            paths.settle(supply_v=12.0, load=self.LOAD, links=links)
        assert caught.value.where == f"{name} of link 2"
        assert caught.value.way_out

    @pytest.mark.parametrize(
        ("supply", "load"),
        [
            (math.nan, LOAD),
            (-1.0, LOAD),
            (12.0, paths.FixedResistance(resistance_ohm=0.0)),
            (12.0, paths.FixedResistance(resistance_ohm=math.nan)),
            (12.0, paths.FixedCurrent(current_a=-1.0)),
            (12.0, paths.FixedPower(power_w=math.inf)),
        ],
    )
    def test_an_impossible_supply_or_load_is_refused(self, supply: float, load: paths.Load) -> None:
        """Before anything is solved."""
        with pytest.raises(UsageError) as caught:
            paths.settle(supply_v=supply, load=load, links=[self.GOOD])
        assert caught.value.way_out

    def test_a_negative_figure_of_a_link_is_refused(self) -> None:
        """By name."""
        with pytest.raises(UsageError, match="resistance_ohm"):
            paths.settle(supply_v=12.0, load=self.LOAD, links=[replace(self.GOOD, resistance_ohm=-0.01)])
