"""Plans over small catalogues, from lists as suppliers send them; every sum is done by hand."""

from __future__ import annotations

import datetime
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeAlias

import pytest
from orders import bought, lines

from loadworthy.catalog.store import Catalog
from loadworthy.errors import OrderError, UsageError
from loadworthy.shopping import Plan, plan, read_order_text

Shop: TypeAlias = Callable[..., dict[str, Any]]
_PARCEL = '[terms."*"]\nshipping = "4.90"\n'


class TestBuying:
    """What is bought where."""

    def test_one_parcel_is_worth_a_dearer_part(self, shop: Shop) -> None:
        """0.40 more for the goods, 4.90 less for parcels; and the plan says so."""
        told = shop(
            lines(("P1", 4), ("P2", 4), terms=_PARCEL),
            thistledown={"P1": {"price": "1: 1.00 EUR"}, "P2": {"price": "1: 1.10 EUR"}},
            rabenmoos={"P2": {"price": "1: 1.00 EUR"}},
        )
        assert bought(told) == [("thistledown", "P1", 4, 4.0), ("thistledown", "P2", 4, 4.4)]
        assert (told["verdict"], told["proven"], told["gap"]) == ("planned", True, 0.0)
        assert told["totals"] == {
            "goods": 8.4, "shipping": 4.9, "handling": 0.0, "tax": 0.0, "total": 13.3, "per_board": 13.3, "parcels": 1
        }  # fmt: skip
        rival = told["suppliers"][0]["lines"][1]["beat"][0]
        assert (rival["supplier"], rival["parcels"]) == ("rabenmoos", 1)
        assert (rival["goods"], rival["charges"], rival["total"]) == pytest.approx((-0.4, 4.9, 4.5))
        by_line, alone = told["compared"]
        assert (by_line["total"], by_line["parcels"], by_line["dearer"]) == (17.8, 2, 4.5)
        assert (alone["plan"], alone["total"]) == ("all from thistledown", 13.3)

    def test_spares_boards_and_the_next_break(self, shop: Shop) -> None:
        """2 a board for 4 boards and 10 % are 9; 10 at 0.80 are 8.00, 9 at 1.00 are 9.00."""
        told = shop(
            lines(("P1", 2), top='boards = 4\nspares = "10%"'),
            thistledown={"P1": {"price": "1: 1.00 EUR; 10: 0.80 EUR"}},
        )
        assert bought(told) == [("thistledown", "P1", 10, 8.0)]
        (line,) = told["suppliers"][0]["lines"]
        assert (line["needed"], line["over"]) == (9, {"pieces": 1, "why": "break"})
        assert told["totals"]["per_board"] == 2.0

    @pytest.mark.parametrize(
        ("said", "pieces", "why"),
        [
            ({"least": "10"}, 10, "least"),
            ({"multiple": "4"}, 8, "multiple"),
            ({"least": "6", "multiple": "4"}, 8, "multiple"),
        ],
    )
    def test_least_quantities_and_multiples(self, shop: Shop, said: dict[str, str], pieces: int, why: str) -> None:
        """7 are needed; what is bought beyond says why."""
        told = shop(lines(("P1", 7)), thistledown={"P1": said})
        (line,) = told["suppliers"][0]["lines"]
        assert (line["pieces"], line["over"]) == (pieces, {"pieces": pieces - 7, "why": why})

    def test_up_to_free_shipping(self, shop: Shop) -> None:
        """9.00 and a parcel of 4.90, or 10.00 and none."""
        told = shop(
            lines(("P1", 9), terms='[terms.thistledown]\nshipping = [["0", "4.90"], ["10", "0"]]\n'),
            thistledown={"P1": {}},
        )
        (line,) = told["suppliers"][0]["lines"]
        assert (line["pieces"], line["over"]["why"], told["totals"]["total"]) == (10, "charges", 10.0)

    def test_handling_and_tax_are_shown(self, shop: Shop) -> None:
        """(10.00 + 4.90 + 2.50) × 19 % = 3.306; tax only where it is asked for."""
        terms = '[terms.thistledown]\nshipping = "4.90"\nhandling = "2.50"\ntax = "19%"\n'
        one = shop(lines(("P1", 10), terms=terms), thistledown={"P1": {}})
        assert one["totals"]["total"] == 17.4
        other = shop(lines(("P1", 10), top="tax = true", terms=terms), thistledown={"P1": {}})
        assert (other["totals"]["tax"], other["totals"]["total"]) == (3.31, 20.71)

    def test_a_reel_has_its_fee(self, shop: Shop) -> None:
        """90 on tape at 0.15 are 13.50; a reel of 100 at 0.10 with 3.00 for it is 13.00."""
        told = shop(
            lines(("P1", 90), terms='[terms."*"]\npackaging = { reel = "3" }\n'),
            thistledown={"P1": {"price": "1: 0.15 EUR", "packaging": "cut tape"}},
            rabenmoos={"P1": {"price": "100: 0.10 EUR", "packaging": "Reel", "multiple": "100", "least": "100"}},
        )
        assert bought(told) == [("rabenmoos", "P1", 100, 13.0)]
        assert told["suppliers"][0]["lines"][0]["fee"] == 3.0

    def test_shown_sums_add_up(self, shop: Shop) -> None:
        """Lines are rounded to cents, sums are of what is shown: 7 × 0.0345 GBP at 1.17 are 0.28 EUR."""
        told = shop(
            lines(("P1", 7), ("P2", 3), top="rates = { GBP = 1.17 }"),
            thistledown={"P1": {"price": "1: 0.0345 GBP"}, "P2": {"price": "1: 0.335 GBP"}},
        )
        amounts = [amount for *_, amount in bought(told)]
        assert amounts == [0.28, 1.18]
        assert told["totals"]["total"] == 1.46

    def test_cents_rounded_away_do_not_spoil_free_shipping(self, shop: Shop) -> None:
        """Three of 3.3349 come to 10.0047, but are shown, and charged, as 9.99: one more is bought to reach 10.00."""
        parts = ("P1", "P2", "P3")
        terms = '[terms.thistledown]\nshipping = [["0", "4.90"], ["10", "0"]]\n'
        shelf = {part: {"price": "1: 3.3349 EUR"} for part in parts}
        told = shop(lines(*((part, 1) for part in parts), terms=terms), thistledown=shelf)
        assert sum(pieces for _, _, pieces, _ in bought(told)) == 4
        assert (told["totals"]["shipping"], told["totals"]["total"]) == (0.0, 13.33)

    def test_two_lines_share_a_stock(self, shop: Shop) -> None:
        """8 in stock serve 4 and 4, not 5 and 4."""
        shelf = {"P1": {"stock": "8"}}
        told = shop(lines(("P1", 4), ("p1", 4)), thistledown=shelf)
        assert bought(told) == [("thistledown", "P1", 8, 8.0)]
        assert [each["pieces"] for each in told["suppliers"][0]["lines"][0]["lines"]] == [4, 4]
        short = shop(lines(("P1", 5), ("P1", 4)), thistledown=shelf)
        assert short["verdict"] == "impossible"
        why = " ".join(reason for line in short["lines"] for reason in line["why"])
        assert "wanted by line" in why


class TestNeeds:
    """A line that any part that fits will do for."""

    NEED = (
        'currency = "EUR"\n[[line]]\nquantity = 10\n{}[line.need]\nfamily = "transistor"\nsupply = "12V"\n'
        'current = "5A"\n'
    )
    SHELF = {  # noqa: RUF012 - read only
        "BEST": {"rds": "5.0", "price": "1: 2.00 EUR"},
        "NEAR": {"rds": "5.3", "price": "1: 1.50 EUR"},
        "FAR": {"rds": "6.0", "price": "1: 1.00 EUR"},
        "WRONG": {"rds": "900", "rds10": "800", "price": "1: 0.01 EUR"},
    }

    @pytest.mark.parametrize(("more_loss", "part"), [(None, "FAR"), ("10%", "NEAR"), ("0%", "BEST")])
    def test_the_cheapest_within_the_loss_allowed(self, shop: Shop, more_loss: str | None, part: str) -> None:
        """Loss goes with the on-resistance: 5.3 mΩ lose some 6 % more than 5.0, 6.0 some 20 %; WRONG does not fit."""
        order = self.NEED.format("") + (f'more_loss = "{more_loss}"\n' if more_loss else "")
        told = shop(order, thistledown=self.SHELF)
        assert [number for _, number, *_ in bought(told)] == [part]
        (line,) = told["suppliers"][0]["lines"]
        assert line["loss_w"] >= line["least_loss_w"]

    def test_the_best_is_among_what_can_be_bought(self, shop: Shop) -> None:
        """A part that is out of stock sets no mark."""
        shelf = {**self.SHELF, "BEST": {**self.SHELF["BEST"], "stock": "0"}}
        told = shop(self.NEED.format("") + 'more_loss = "0%"\n', thistledown=shelf)
        assert [number for _, number, *_ in bought(told)] == ["NEAR"]

    def test_a_second_source_is_another_part(self, shop: Shop) -> None:
        """Named, not bought."""
        told = shop(self.NEED.format("second_source = true\n"), thistledown=self.SHELF)
        assert len(bought(told)) == 1
        assert told["lines"][0]["second_source"]["part_number"] == "NEAR"

    def test_a_second_source_of_a_part_is_another_supplier(self, shop: Shop) -> None:
        """Or none."""
        order = lines(("P1", 1), ("P2", 1), top="second_source = true")
        told = shop(order, thistledown={"P1": {}, "P2": {}}, rabenmoos={"P1": {"price": "1: 3.00 EUR"}})
        assert [line["second_source"]["supplier"] for line in told["lines"]] == ["rabenmoos", None]

    def test_each_need_has_its_own_loss(self, shop: Shop) -> None:
        """Heat goes with the current squared: four times as much at least where one part meets 5 and 10 A."""
        need = '[[line]]\nquantity = 1\n[line.need]\nfamily = "transistor"\nsupply = "12V"\ncurrent = "{}A"\n'
        shelf = {"P1": {"stock": "1"}, "P2": {"rds": "6.0", "price": "1: 5.00 EUR"}}
        told = {
            amperes: shop('currency = "EUR"\n' + need.format(amperes), thistledown={"P1": {}})["suppliers"][0]["lines"][
                0
            ]
            for amperes in (5, 10)
        }
        assert told[10]["loss_w"] >= 4.0 * told[5]["loss_w"]
        both = shop('currency = "EUR"\n' + need.format(5) + need.format(10), thistledown=shelf)
        rows = {row["lines"][0]["line"]: row for row in both["suppliers"][0]["lines"]}
        assert len(rows) == 2
        for line, amperes in (("line 1", 5), ("line 2", 10)):
            assert rows[line]["least_loss_w"] == told[amperes]["loss_w"]
            assert rows[line]["loss_w"] >= rows[line]["least_loss_w"]
        shared = shop(lines(("P1", 1)) + need.format(5), thistledown={"P1": {}})["suppliers"][0]["lines"][0]
        assert shared["loss_w"] == told[5]["loss_w"]

    def test_what_a_need_bars_stays_barred_beside_a_line_that_does_not(self, shop: Shop) -> None:
        """The part may be bought anywhere, what meets the need from rabenmoos alone."""
        need = self.NEED.removeprefix('currency = "EUR"\n').format("") + 'supplier = "rabenmoos"\n'
        told = shop(
            lines(("P1", 1)) + need,
            rabenmoos={"P1": {"price": "1: 3.00 EUR"}},
            aldermoor={"P1": {"price": "1: 1.00 EUR"}},
        )
        assert bought(told) == [("aldermoor", "P1", 1, 1.0), ("rabenmoos", "P1", 10, 30.0)]

    def test_what_the_need_asks_of_offers_counts(self, shop: Shop) -> None:
        """A supplier named in the need, and the most that one may cost."""
        order = self.NEED.format("") + 'supplier = "rabenmoos"\nmax_price = "3 EUR"\n'
        dear = {"FAR": {"price": "1: 9.00 EUR"}, "NEAR": {"price": "1: 2.50 EUR"}}
        told = shop(order, thistledown=self.SHELF, rabenmoos=dear)
        assert [(supplier, number) for supplier, number, *_ in bought(told)] == [("rabenmoos", "NEAR")]

    def test_nothing_fits(self, shop: Shop) -> None:
        """The error names the line and where to look."""
        with pytest.raises(OrderError, match=r"line 2.*no part fits its need.*loadworthy choose transistor"):
            shop(self.NEED.format("").replace("5A", "500A"), thistledown=self.SHELF)


class TestWaiting:
    """Stock, lead times, and what is not known."""

    def test_out_of_stock_is_not_bought_unless_one_waits(self, shop: Shop) -> None:
        """Neither without a wait, nor with one that is too short."""
        shelf = {"P1": {"stock": "2", "lead": "8 weeks"}}
        for wait, verdict in (
            (None, "impossible"),
            ("7 weeks", "impossible"),
            ("8 weeks", "planned"),
            ("any", "planned"),
        ):
            told = shop(lines(("P1", 3), top=f'wait = "{wait}"' if wait else ""), thistledown=shelf)
            assert told["verdict"] == verdict
        (line,) = told["suppliers"][0]["lines"]
        assert (line["to_order"], line["wait_days"]) == (True, 56.0)
        assert "only 2 in stock; lead time 8 weeks" in line["notes"]
        told = shop(lines(("P1", 3), top='wait = "any"'), thistledown={"P1": {"stock": "0", "lead": "8 weeks"}})
        assert "not in stock; lead time 8 weeks" in told["suppliers"][0]["lines"][0]["notes"]

    def test_a_lead_time_that_nobody_states_needs_any(self, shop: Shop) -> None:
        """However long one waits."""
        for wait, verdict in (("52 weeks", "impossible"), ("any", "planned")):
            told = shop(lines(("P1", 3), top=f'wait = "{wait}"'), thistledown={"P1": {"stock": "0"}})
            assert told["verdict"] == verdict
        assert told["suppliers"][0]["lines"][0]["wait_days"] is None

    def test_soonest(self, shop: Shop) -> None:
        """In stock goes before a wait, a known wait before an unknown, and of equals the cheaper."""
        order = lines(("P1", 3), top='aim = "soonest"')
        dear, cheap = {"P1": {"price": "1: 3.00 EUR"}}, {"P1": {"stock": "0", "lead": "2 weeks"}}
        unknown = {"P1": {"stock": "0", "price": "1: 0.10 EUR"}}
        assert bought(shop(order, a=dear, b=cheap, c=unknown))[0][0] == "a"

    def test_soonest_waits_only_where_it_must(self, shop: Shop) -> None:
        """The shorter known wait."""
        late, later = (
            {"P1": {"stock": "0", "lead": "2 weeks"}},
            {"P1": {"stock": "0", "lead": "3 weeks", "price": "1: 0.10 EUR"}},
        )
        unknown = {"P1": {"stock": "0", "price": "1: 0.01 EUR"}}
        told = shop(lines(("P1", 3), top='aim = "soonest"'), a=late, b=later, c=unknown)
        assert bought(told) == [("a", "P1", 3, 3.0)]

    def test_stock_that_is_not_stated_is_said(self, shop: Shop) -> None:
        """It is bought, and marked."""
        told = shop(lines(("P1", 3)), thistledown={"P1": {"stock": "on request"}})
        assert any("stock not stated, assumed" in note for note in told["suppliers"][0]["lines"][0]["notes"])

    @pytest.mark.parametrize("aim", ["cheapest", "fewest parcels", "soonest"])
    def test_what_is_in_stock_is_not_ordered_for_later(self, shop: Shop, aim: str) -> None:
        """Seven are there and five are wanted, however long another line waits."""
        told = shop(
            lines(("P1", 5), ("P2", 1), ("P3", 5), top=f'aim = "{aim}"\nwait = "any"'),
            thistledown={
                "P1": {"stock": "7", "multiple": "5", "lead": "2 weeks"},
                "P2": {"stock": "0"},
                "P3": {"stock": "7", "lead": "2 weeks"},
            },
        )
        assert [line["to_order"] for line in told["suppliers"][0]["lines"]] == [False, True, False]
        assert [line["wait_days"] for line in told["suppliers"][0]["lines"]] == [0.0, None, 0.0]

    def test_too_few_in_stock_are_not_called_none(self, shop: Shop) -> None:
        """Ten are wanted of which seven are there."""
        told = shop(lines(("P1", 10), top='wait = "any"'), thistledown={"P1": {"stock": "7", "lead": "2 weeks"}})
        assert told["suppliers"][0]["lines"][0]["notes"] == ["only 7 in stock; lead time 2 weeks"]

    def test_fewest_parcels(self, shop: Shop) -> None:
        """Even where two would be cheaper."""
        told = shop(
            lines(("P1", 4), ("P2", 4), top='aim = "fewest parcels"'),
            thistledown={"P1": {}, "P2": {"price": "1: 9.00 EUR"}},
            rabenmoos={"P2": {}},
        )
        assert (told["totals"]["parcels"], told["totals"]["total"]) == (1, 40.0)

    def test_prices_older_than_thirty_days_are_said(self, shop: Shop) -> None:
        """From the list's own date; a list without one says when it was taken in."""
        old = shop(lines(("P1", 1)), dated="2026-10-25", thistledown={"P1": {}})
        (line,) = old["suppliers"][0]["lines"]
        assert (line["dated"], line["age_days"]) == ("2026-10-25", 31)
        assert any("31 days old" in note for note in line["notes"])
        new = shop(lines(("P1", 1)), dated="2026-10-26", thistledown={"P1": {}})
        assert not any("days old" in note for note in new["suppliers"][0]["lines"][0]["notes"])

    def test_a_life_cycle_that_ends_is_said(self, shop: Shop) -> None:
        """In the list's own words; the usual is not."""
        told = shop(
            lines(("P1", 1), ("P2", 1)), thistledown={"P1": {"life": "last orders"}, "P2": {"life": "in Serie"}}
        )
        first, second = told["suppliers"][0]["lines"]
        assert "life cycle as listed: last orders" in first["notes"]
        assert not any("life cycle" in note for note in second["notes"])


class TestWhatCannotBeHad:
    """Explained, never dropped."""

    def test_every_reason_is_given(self, shop: Shop) -> None:
        """Stock, least quantity, price, who may be bought from; nothing is planned."""
        told = shop(
            lines(("P1", 50), ("P2", 1), top='suppliers = ["a", "b", "c"]'),
            a={"P1": {"stock": "12"}},
            b={"P1": {"stock": "30", "least": "40"}},
            c={"P1": {"price": "on request"}},
            d={"P1": {}, "P2": {}},
        )
        assert (told["verdict"], told["suppliers"], told["totals"]["total"]) == ("impossible", [], 0.0)
        first, second = told["lines"]
        assert first["missing"] == 38
        said = " ".join(first["why"])
        for words in ("a: 12 in stock", "b: 30 in stock, and no fewer than 40", "c: no price", "d: not among"):
            assert words in said
        assert (second["missing"], second["why"]) == (1, ["d: not among the suppliers allowed"])

    @pytest.mark.parametrize(("shortfall", "pieces"), [("pieces", [4, 3]), ("lines", [3])])
    def test_a_shortfall_that_is_allowed(self, shop: Shop, shortfall: str, pieces: list[int]) -> None:
        """As many as there are, or the line left out whole."""
        order = lines(("P1", 5), ("P2", 3), top=f'shortfall = "{shortfall}"')
        told = shop(order, thistledown={"P1": {"stock": "4"}, "P2": {}})
        assert (told["verdict"], [number for *_, number, _ in bought(told)]) == ("short", pieces)
        assert told["lines"][0]["missing"] == 5 - sum(pieces[:-1])
        assert told["lines"][0]["why"] == ["thistledown: 4 in stock; when there will be more is not stated"]

    def test_a_least_order_that_stock_cannot_reach(self, shop: Shop) -> None:
        """Said with the amount."""
        told = shop(
            lines(("P1", 2), terms='[terms.thistledown]\nleast_order = "10"\n'), thistledown={"P1": {"stock": "5"}}
        )
        assert told["verdict"] == "impossible"
        assert "thistledown: takes no order below 10.00" in told["lines"][0]["why"]

    def test_what_is_in_stock_is_said_once(self, shop: Shop) -> None:
        """With how long more of it takes."""
        told = shop(lines(("P1", 9)), thistledown={"P1": {"stock": "4", "lead": "2 weeks"}})
        assert told["lines"][0]["why"] == ["thistledown: 4 in stock; 2 weeks for more"]

    @pytest.mark.parametrize("shortfall", ["none", "lines"])
    def test_a_line_without_a_first_source_has_no_second(self, shop: Shop, shortfall: str) -> None:
        """The only supplier is no second one."""
        told = shop(
            lines(("P1", 9), top=f'shortfall = "{shortfall}"\nsecond_source = true'), thistledown={"P1": {"stock": "4"}}
        )
        assert told["lines"][0]["second_source"] is None

    def test_nobody_offers_it(self, shop: Shop) -> None:
        """A part that only a supplier without price knows."""
        told = shop(lines(("P1", 2)), thistledown={"P1": {"price": ""}})
        assert told["lines"][0]["why"] == ["thistledown: no price is given"]


class TestErrors:
    """What the order asks and the catalogue cannot answer: with file, line, key."""

    def test_all_unknown_parts_at_once(self, shop: Shop) -> None:
        """With what comes close."""
        with pytest.raises(OrderError) as caught:
            shop(lines(("FP12X", 1), ("ZZ-9", 1)), thistledown={"FP12Y": {}})
        first, second = caught.value.problems
        assert (first.where, first.way_out) == ("order, line 3, key line[1]", "Close to it: FP12Y.")
        assert "no part 'ZZ-9'" in str(second)

    def test_one_number_of_two_makers(self, shop: Shop) -> None:
        """Which they are; naming one will do."""
        shelves = {"thistledown": {"P1": {}}, "rabenmoos": {"P1": {"maker": "Mossbank"}}}
        with pytest.raises(OrderError, match="Say maker: it is one of Fernhill Power, Mossbank"):
            shop(lines(("P1", 1)), **shelves)
        told = shop(lines(("P1", 1)).replace("quantity", 'maker = "mossbank"\nquantity'), **shelves)
        assert bought(told)[0][0] == "rabenmoos"

    def test_another_maker(self, shop: Shop) -> None:
        """Who does make it."""
        with pytest.raises(OrderError, match=r"Fernhill Power \(transistor\)"):
            shop(lines(("P1", 1)).replace("quantity", 'maker = "Mossbank"\nquantity'), thistledown={"P1": {}})

    def test_an_unknown_supplier(self, shop: Shop) -> None:
        """A slip of the pen; once, however many lines have it."""
        with pytest.raises(OrderError, match="Did you mean thistledown"):
            shop(lines(("P1", 1), ("P1", 1), top='suppliers = ["thisteldown"]'), thistledown={"P1": {}})

    def test_a_missing_rate_names_the_lines(self, shop: Shop) -> None:
        """And nothing is dropped silently; leaving the supplier out is a way out."""
        shelves = {"thistledown": {"P1": {"price": "1: 1.00 GBP"}, "P2": {}}, "rabenmoos": {"P1": {}}}
        with pytest.raises(OrderError, match=r"thistledown ask GBP for line 1 \(order, line 3, key line\[1\]\)"):
            shop(lines(("P1", 1), ("P2", 1)), **shelves)
        with pytest.raises(OrderError, match="no rate"):
            shop(lines(("P2", 1), terms='[terms.thistledown]\nshipping = "4 CHF"\n'), **shelves)
        assert bought(shop(lines(("P1", 1), top='suppliers = ["rabenmoos"]'), **shelves))

    def test_no_currency(self, shop: Shop) -> None:
        """The only one there is, said; of several none is picked."""
        order = lines(("P1", 1)).replace('currency = "EUR"\n', "")
        told = shop(order, thistledown={"P1": {"price": "1: 1.00 GBP"}})
        assert told["currency"] == "GBP"
        assert "sums are in GBP" in told["assumed"][0]
        with pytest.raises(OrderError, match="EUR and GBP"):
            shop(order, thistledown={"P1": {"price": "1: 1.00 GBP"}}, rabenmoos={"P1": {}})

    def test_prices_without_a_currency(self, shop: Shop) -> None:
        """They are bought only where the terms say which it is."""
        shelf = {"P1": {"price": "1: 1.00"}}
        told = shop(lines(("P1", 1)), thistledown=shelf)
        assert told["lines"][0]["why"] == ["thistledown: its list names no currency"]
        told = shop(lines(("P1", 1), terms='[terms.thistledown]\ncurrency = "EUR"\n'), thistledown=shelf)
        assert any("currency" in note for note in told["suppliers"][0]["lines"][0]["notes"])

    def test_no_terms_are_said(self, shop: Shop) -> None:
        """Counted as nothing, and assumed aloud."""
        told = shop(lines(("P1", 1)), thistledown={"P1": {}})
        assert any("thistledown are counted as nothing" in said for said in told["assumed"])
        told = shop(lines(("P1", 1), terms=_PARCEL), thistledown={"P1": {}})
        assert told["assumed"] == []

    def test_terms_of_nobody_are_said(self, shop: Shop) -> None:
        """A supplier written wrongly has no terms of its own; where each has its terms, more of them are no slip."""
        slip = '[terms.thistledwn]\nshipping = "4.90"\n'
        told = shop(lines(("P1", 1), terms=slip), thistledown={"P1": {}})
        assert any("the terms of thistledwn" in text for text in told["assumed"])
        more = shop(lines(("P1", 1), terms=f'{slip}[terms.thistledown]\nshipping = "1"\n'), thistledown={"P1": {}})
        assert more["assumed"] == []

    def test_offers_left_out_for_want_of_a_currency_are_said(self, shop: Shop) -> None:
        """Cheaper or not, it is never dropped in silence."""
        told = shop(lines(("P1", 1)), thistledown={"P1": {}}, rabenmoos={"P1": {"price": "1: 0.10"}})
        assert bought(told) == [("thistledown", "P1", 1, 1.0)]
        assert any("rabenmoos" in text and "no currency" in text for text in told["assumed"])

    def test_an_impossible_time_limit(self, shelves: Callable[..., Path]) -> None:
        """Nothing is solved."""
        with Catalog.open(shelves(thistledown={"P1": {}})) as catalog, pytest.raises(UsageError, match="--time-limit"):
            plan(catalog, read_order_text(lines(("P1", 1))), today=datetime.date(2026, 11, 25), time_limit_s=0.0)


class TestForgotten:
    """What goes with a part."""

    def test_a_bare_part(self, shop: Shop) -> None:
        """Without a need it is said what decides; one for each piece."""
        told = shop(lines(("P1", 3)), thistledown={"P1": {}})
        ticks = {one["what"]: one for one in told["forgotten"]}
        assert ticks["freewheel diode"]["pieces"] == 3
        assert ticks["freewheel diode"]["when"] == "where it switches a coil or a motor"
        assert ticks["heat-conducting compound"]["pieces"] is None
        assert all(one["reason"] for one in told["forgotten"])

    @pytest.mark.parametrize(
        ("more", "what", "there"),
        [
            ("", "freewheel diode", False),
            ('load = "inductive"\n', "freewheel diode", True),
            ("", "insulating pad and bush", False),
            ('heatsink = "10 K/W"\n', "insulating pad and bush", True),
            ("", "resistor from gate to source, 10 kΩ", True),
            ('gate_pulldown = "10kohm"\n', "resistor from gate to source, 10 kΩ", False),
        ],
    )
    def test_a_need_says_what_decides(self, shop: Shop, more: str, what: str, there: bool) -> None:
        """So nothing is told with an if."""
        told = shop(TestNeeds.NEED.format("") + more, thistledown={"P1": {}})
        assert (what in {one["what"] for one in told["forgotten"]}) is there
        assert all(one["when"] is None for one in told["forgotten"])


def test_the_plan_is_plain_json(shop: Shop) -> None:
    """Nothing but texts, numbers, lists and tables."""
    told = shop(lines(("P1", 3), top="second_source = true"), thistledown={"P1": {}})
    assert json.loads(json.dumps(told, allow_nan=False)) == told


def test_a_plan_says_whether_it_is_whole() -> None:
    """For exit statuses."""
    assert Plan(verdict="planned", result={}).complete
    assert not Plan(verdict="short", result={}).complete
