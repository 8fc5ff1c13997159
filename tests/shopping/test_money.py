"""Money, waits and simple plans."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loadworthy.errors import OrderError
from loadworthy.shopping.money import Amount, changed, read_amount
from loadworthy.shopping.programme import Charges, Demand, Programme, Way, charged
from loadworthy.shopping.rivals import alone, cheapest_pieces, line_by_line
from loadworthy.shopping.waits import read_wait


class TestAmounts:
    """Amounts as people write them."""

    @pytest.mark.parametrize(
        ("said", "value", "currency"),
        [
            ("4.90", "4.90", None), ("4,90 EUR", "4.90", "EUR"), ("1.234,50 €", "1234.50", "EUR"), ("£3", "3", "GBP"),
            ("1,234.50 USD", "1234.50", "USD"), (5, "5", None), (2.5, "2.5", None), ("0", "0", None),
        ],
    )  # fmt: skip
    def test_read(self, said: object, value: str, currency: str | None) -> None:
        """With either decimal mark, with a sign or a code, or bare."""
        assert read_amount(said) == Amount(value=Decimal(value), currency=currency)

    @pytest.mark.parametrize(
        "said", ["", "free", "-3", "4.90 XYZ", "4 or 5", "3 € or $", True, None, "1e400", [], "9" * 12]
    )
    def test_refused(self, said: object) -> None:
        """What is no single amount, or of no known currency."""
        with pytest.raises(OrderError, match="no amount"):
            read_amount(said)

    @given(whole=st.integers(0, 10**6), part=st.integers(0, 99))
    def test_no_digit_is_lost(self, whole: int, part: int) -> None:
        """What is written is what counts, exactly."""
        assert read_amount(f"{whole}.{part:02d} EUR").value == Decimal(whole) + Decimal(part) / 100

    def test_a_rate_that_is_not_given_is_not_guessed(self) -> None:
        """Nor turned round from another."""
        pounds = Amount(value=Decimal(10), currency="GBP")
        assert changed(pounds, to="EUR", rates={"USD": Decimal("0.9")}) is None
        assert changed(pounds, to="EUR", rates={"GBP": Decimal("1.17")}) == Decimal("11.70")


@pytest.mark.parametrize(
    ("text", "days"),
    [
        ("12 weeks", 84), ("1 week", 7), ("8 Wochen", 56), ("2-3 Wochen", 21), ("ca. 10 Tage", 10),
        ("5 working days", 7),
        ("3 Werktage", 5), ("2 months", 61), ("in stock", 0), ("26 wks ARO", 182), ("6", None), ("on request", None),
        ("12 parsecs", None), ("", None), (None, None),
    ],
)  # fmt: skip
def test_waits_of_lists(text: str | None, days: float | None) -> None:
    """English and German; what states no time is not known; a month is a twelfth of a year."""
    assert read_wait(text) == days


class TestRivals:
    """Plans that a plan is held against."""

    def test_pieces_by_one_way(self) -> None:
        """Up to a break where that is cheaper, in multiples, within stock."""
        way = Way(offer=0, supplier="A", breaks=((1, 1.0), (10, 0.7)), multiple=4, most=11)
        assert cheapest_pieces(way, 3) == (4.0, 4)
        assert cheapest_pieces(way, 7) == (8.0, 8)  # 12 would be 8.40, and there are 11
        assert cheapest_pieces(way, 9) is None

    def test_line_by_line_and_alone(self) -> None:
        """Cheapest goods each, whatever the parcels; one supplier only where it has everything."""
        ways = (
            Way(offer=0, supplier="A", breaks=((1, 1.0),)),
            Way(offer=1, supplier="A", breaks=((1, 1.0),)),
            Way(offer=2, supplier="B", breaks=((1, 0.9),)),
        )
        demands = (Demand(pieces=1, ways=(0,)), Demand(pieces=1, ways=(1, 2)))
        programme = Programme(ways=ways, demands=demands, charges=dict.fromkeys("AB", Charges(steps=((0.0, 5.0),))))
        greedy = line_by_line(programme)
        assert greedy == {0: 1, 2: 1}
        assert charged(programme, greedy) == pytest.approx(11.9)
        assert [(supplier, cost) for supplier, cost, _ in alone(programme)] == [("A", pytest.approx(7.0))]

    def test_two_demands_of_one_offer_add_up(self) -> None:
        """The second makes the first's break; stock is not counted twice."""
        way = Way(offer=0, supplier="A", breaks=((1, 1.0), (8, 0.5)), most=9)
        assert line_by_line(Programme(ways=(way,), demands=(Demand(pieces=4, ways=(0,)),) * 2)) == {0: 8}
        assert line_by_line(Programme(ways=(way,), demands=(Demand(pieces=5, ways=(0,)),) * 2)) is None
