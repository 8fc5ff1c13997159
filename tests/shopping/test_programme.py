"""The programme against brute force, and what every plan of it must keep."""

from __future__ import annotations

import math

import pytest
from brute_force import best, shortage
from hypothesis import given, settings
from hypothesis import strategies as st

from loadworthy.errors import OrderError
from loadworthy.shopping.programme import (
    AIMS,
    SHORTFALLS,
    Charges,
    Demand,
    Programme,
    Way,
    charged,
    goods,
    price_at,
    sums,
)
from loadworthy.shopping.solving import solve

_SUPPLIERS = ("Thistledown", "Rabenmoos")


@st.composite
def _ways(draw: st.DrawFn, offer: int) -> Way:
    least = draw(st.integers(1, 3))
    prices = draw(st.lists(st.integers(20, 300), min_size=1, max_size=2))
    breaks = tuple((least + 3 * place, price / 100) for place, price in enumerate(sorted(prices, reverse=True)))
    return Way(
        offer=offer,
        supplier=draw(st.sampled_from(_SUPPLIERS)),
        breaks=breaks,
        multiple=draw(st.integers(1, 3)),
        most=draw(st.none() | st.integers(0, 7)),
        fee=draw(st.sampled_from([0.0, 0.0, 0.5])),
        wait_days=draw(st.sampled_from([0.0, 7.0, math.inf])),
    )


@st.composite
def _charges(draw: st.DrawFn) -> Charges:
    least = draw(st.sampled_from([0.0, 0.0, 2.0]))
    first = draw(st.integers(0, 400)) / 100
    if draw(st.booleans()):
        return Charges(steps=((least, first),))
    return Charges(steps=((least, first), (least + draw(st.integers(1, 3)), draw(st.integers(0, 400)) / 100)))


@st.composite
def _programmes(draw: st.DrawFn) -> Programme:
    count = draw(st.integers(1, 4))
    ways = [draw(_ways(offer=place)) for place in range(count)]
    if count > 1 and draw(st.booleans()):  # one offer from stock or to order
        ways[1] = Way(
            offer=0, supplier=ways[0].supplier, breaks=ways[0].breaks, multiple=ways[0].multiple, wait_days=30.0
        )
    demands = draw(
        st.lists(
            st.builds(
                Demand,
                pieces=st.integers(1, 5),
                ways=st.lists(st.integers(0, count - 1), min_size=1, max_size=count, unique=True).map(tuple),
            ),
            min_size=1,
            max_size=3,
        )
    )
    charges = {supplier: draw(_charges()) for supplier in _SUPPLIERS}
    return Programme(ways=tuple(ways), demands=tuple(demands), charges=charges)


class TestAgainstBruteForce:
    """Every small instance has the optimum that trying everything finds."""

    @settings(max_examples=120)
    @given(programme=_programmes(), aim=st.sampled_from(AIMS), shortfall=st.sampled_from(SHORTFALLS))
    def test_the_same_optimum(self, programme: Programme, aim: str, shortfall: str) -> None:
        """The same shortfall, the same parcels or wait, the same cost; and no plan where there is none."""
        found, told = solve(programme, aim=aim, shortfall=shortfall), best(programme, aim=aim, shortfall=shortfall)
        if told is None:
            assert found is None
            return
        assert found is not None
        assert found.proven
        short = sum(found.missing) if shortfall == "pieces" else sum(map(bool, found.missing))
        second = {
            "cheapest": 0.0,
            "fewest parcels": len({programme.ways[place].supplier for place in found.bought}),
            "soonest": max((programme.ways[place].wait_days for place in found.bought), default=-1.0),
        }[aim]
        if aim == "soonest" and not found.bought:
            second = told[1]  # nothing is bought: there is no wait to compare
        assert (short, second) == told[:2]
        assert found.cost == pytest.approx(told[2], abs=1e-5)


class TestWhatEveryPlanKeeps:
    """Whatever is asked."""

    @settings(max_examples=100)
    @given(programme=_programmes(), aim=st.sampled_from(AIMS), shortfall=st.sampled_from(SHORTFALLS))
    def test_quantities_and_sums(self, programme: Programme, aim: str, shortfall: str) -> None:
        """Never below need, multiples and least quantities kept, within stock, one way of an offer, the sum right."""
        found = solve(programme, aim=aim, shortfall=shortfall)
        if found is None:
            assert shortfall == "none"
            return
        for place, pieces in found.bought.items():
            way = programme.ways[place]
            assert pieces % way.multiple == 0
            assert pieces >= way.breaks[0][0]
            assert way.most is None or pieces <= way.most
            assert sum(given for (_, of), given in found.allotted.items() if of == place) <= pieces
        offers = [programme.ways[place].offer for place in found.bought]
        assert len(offers) == len(set(offers))
        for user, demand in enumerate(programme.demands):
            got = sum(pieces for (to, _), pieces in found.allotted.items() if to == user)
            assert got + found.missing[user] == demand.pieces
            assert all(place in demand.ways for (to, place) in found.allotted if to == user)
        if shortfall == "none":
            assert not any(found.missing)
            assert not shortage(programme, found.bought)
        assert found.cost == pytest.approx(charged(programme, found.bought))

    @settings(max_examples=60)
    @given(programme=_programmes())
    def test_never_dearer_than_one_supplier_alone(self, programme: Programme) -> None:
        """A plan among all suppliers costs no more than the best of any one of them."""
        found = solve(programme)
        for supplier in _SUPPLIERS:
            own = tuple(place for place, way in enumerate(programme.ways) if way.supplier == supplier)
            demands = tuple(
                Demand(pieces=demand.pieces, ways=tuple(place for place in demand.ways if place in own))
                for demand in programme.demands
            )
            alone = solve(Programme(ways=programme.ways, demands=demands, charges=programme.charges))
            if alone is not None:
                assert found is not None
                assert found.cost <= alone.cost + 1e-6


def _one(pieces: int, *ways: Way, **charges: Charges) -> Programme:
    return Programme(ways=ways, demands=(Demand(pieces=pieces, ways=tuple(range(len(ways)))),), charges=charges)


class TestCases:
    """What a buyer weighs, one thing at a time; the sums are done by hand."""

    def test_up_to_the_next_break(self) -> None:
        """8 at 1.00 are 8.00; 10 at 0.70 are 7.00."""
        found = solve(_one(8, Way(offer=0, supplier="A", breaks=((1, 1.0), (10, 0.7)))))
        assert found is not None
        assert (dict(found.bought), round(found.cost, 6)) == ({0: 10}, 7.0)

    def test_up_to_free_shipping(self) -> None:
        """9 at 1.00 with a parcel of 4.90 are 13.90; 10 at 1.00 and none are 10.00."""
        found = solve(
            _one(9, Way(offer=0, supplier="A", breaks=((1, 1.0),)), A=Charges(steps=((0.0, 4.9), (10.0, 0.0))))
        )
        assert found is not None
        assert (dict(found.bought), round(found.cost, 6)) == ({0: 10}, 10.0)

    def test_up_to_the_least_order(self) -> None:
        """3 at 1.00 are below the least order of 5.00: 5 are bought, or 3 dearer elsewhere."""
        dear = Way(offer=1, supplier="B", breaks=((1, 1.5),))
        cheap = Way(offer=0, supplier="A", breaks=((1, 1.0),))
        found = solve(_one(3, cheap, dear, A=Charges(steps=((5.0, 0.0),))))
        assert found is not None
        assert dict(found.bought) == {1: 3}
        found = solve(_one(4, cheap, dear, A=Charges(steps=((5.0, 0.0),))))
        assert found is not None
        assert dict(found.bought) == {0: 5}

    def test_a_charge_that_rises_with_the_value_is_not_dodged(self) -> None:
        """From 10.00 on the parcel is 8.00, and the order is worth 12.00."""
        found = solve(
            _one(12, Way(offer=0, supplier="A", breaks=((1, 1.0),)), A=Charges(steps=((0.0, 2.0), (10.0, 8.0))))
        )
        assert found is not None
        assert found.cost == pytest.approx(20.0)

    def test_a_reel_and_its_fee(self) -> None:
        """90 pieces: 100 on a reel at 0.10 with 3.00 for it are 13.00; 90 cut at 0.15 are 13.50."""
        cut = Way(offer=0, supplier="A", breaks=((1, 0.15),))
        reel = Way(offer=1, supplier="A", breaks=((100, 0.1),), multiple=100, fee=3.0)
        found = solve(_one(90, cut, reel))
        assert found is not None
        assert dict(found.bought) == {1: 100}
        found = solve(_one(80, cut, reel))
        assert found is not None
        assert dict(found.bought) == {0: 80}

    def test_no_more_than_there_is(self) -> None:
        """Stock of 5 and 4 meets 9, not 10."""
        ways = (
            Way(offer=0, supplier="A", breaks=((1, 1.0),), most=5),
            Way(offer=1, supplier="B", breaks=((1, 1.0),), most=4),
        )
        found = solve(_one(9, *ways))
        assert found is not None
        assert dict(found.bought) == {0: 5, 1: 4}
        assert solve(_one(10, *ways)) is None
        short = solve(_one(10, *ways), shortfall="pieces")
        assert short is not None
        assert short.missing == (1,)
        left_out = solve(_one(10, *ways), shortfall="lines")
        assert left_out is not None
        assert (left_out.missing, dict(left_out.bought)) == ((10,), {})

    def test_soonest_takes_an_unknown_wait_last(self) -> None:
        """A known wait of 90 days goes before one that nobody states."""
        ways = (
            Way(offer=0, supplier="A", breaks=((1, 1.0),), wait_days=math.inf),
            Way(offer=1, supplier="B", breaks=((1, 9.0),), wait_days=90.0),
        )
        found = solve(_one(1, *ways), aim="soonest")
        assert found is not None
        assert dict(found.bought) == {1: 1}

    def test_nothing_is_wanted(self) -> None:
        """Nothing is bought for it."""
        found = solve(Programme(ways=(), demands=()))
        assert found is not None
        assert (dict(found.bought), found.cost) == ({}, 0.0)

    def test_nobody_sells_it(self) -> None:
        """No plan; a shortfall where that is allowed."""
        wanted = Programme(ways=(), demands=(Demand(pieces=2, ways=()),))
        assert solve(wanted) is None
        short = solve(wanted, shortfall="pieces")
        assert short is not None
        assert short.missing == (2,)


class TestSums:
    """What is charged for a purchase."""

    WAY = Way(offer=0, supplier="A", breaks=((5, 0.5), (10, 0.4)), fee=1.0)

    def test_price_by_breaks(self) -> None:
        """From each quantity up; none below the first."""
        assert [price_at(self.WAY, pieces) for pieces in (4, 5, 9, 10)] == [None, 0.5, 0.5, 0.4]
        with pytest.raises(ValueError, match="4 pieces"):
            goods(self.WAY, 4)

    def test_value_and_charge(self) -> None:
        """The fee is part of the value of the order; below the least order there is no charge to tell."""
        programme = _one(5, self.WAY, A=Charges(steps=((4.0, 2.0),)))
        assert sums(programme, {0: 10}) == {"A": 5.0}
        assert charged(programme, {0: 10}) == 7.0
        assert charged(programme, {0: 5}) is None


def test_the_same_question_has_the_same_answer() -> None:
    """Also where several plans are equally good."""
    ways = tuple(Way(offer=place, supplier=f"S{place}", breaks=((1, 1.0),)) for place in range(5))
    found = [solve(_one(3, *ways)) for _ in range(3)]
    assert len({tuple(sorted(one.bought.items())) for one in found if one}) == 1


def test_time_that_is_up_before_any_plan_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    """With the way out."""
    import scipy.optimize

    monkeypatch.setattr(
        scipy.optimize, "milp", lambda **_: scipy.optimize.OptimizeResult(status=1, x=None, mip_gap=None)
    )
    with pytest.raises(OrderError, match="--time-limit"):
        solve(_one(1, Way(offer=0, supplier="A", breaks=((1, 1.0),))), time_limit_s=1.0)


def test_a_plan_that_is_not_proven_says_its_gap(monkeypatch: pytest.MonkeyPatch) -> None:
    """The solver's own bound, as a share of the cost."""
    import scipy.optimize

    real = scipy.optimize.milp

    def stopped(**asked: object) -> object:
        result = real(**asked)
        result.status, result.mip_gap = 1, 0.07
        return result

    monkeypatch.setattr(scipy.optimize, "milp", stopped)
    found = solve(_one(1, Way(offer=0, supplier="A", breaks=((1, 1.0),))))
    assert found is not None
    assert (found.proven, found.gap) == (False, 0.07)
