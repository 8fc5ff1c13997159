"""Order files: what they may say, and how each slip is told."""

from __future__ import annotations

import math
import stat
import tomllib
from contextlib import suppress
from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loadworthy.errors import LoadworthyError, OrderError
from loadworthy.shopping import appended, read_order, read_order_text
from loadworthy.shopping.order_keys import KEYS, READERS, Spares, described
from loadworthy.shopping.terms import KEYS as TERM_KEYS

_LINE = '[[line]]\npart = "X1"\nquantity = 2\n'
_NEED = '[[line]]\nquantity = 1\n[line.need]\nfamily = "transistor"\nsupply = "12V"\nresistance = "1.6ohm"\n'


class TestReading:
    """A sound file, read."""

    def test_everything_in_one_file(self) -> None:
        """Quantities are for one board, spares come on top, a line's own words count before the order's."""
        order = read_order_text(
            'title = "Bench"\ncurrency = "eur"\nboards = 4\nspares = "10%"\nsecond_source = true\nwait = "6 weeks"\n'
            'suppliers = ["Tidemill"]\naim = "soonest"\nshortfall = "pieces"\ntax = true\n[rates]\nUSD = 0.92\n'
            + '[[line]]\nname = "Q1"\npart = "X1"\nmaker = "Fernhill"\nquantity = 3\nspares = 2\n'
            + 'suppliers = ["Rabenmoos"]\n'
            + _NEED
            + 'more_loss = "10%"\npackage = "TO-220"\n'
            + '[terms."Tidemill"]\nshipping = [["0", "4.90"], ["50", "0"]]\nhandling = "2,50 USD"\nleast_order = 10\n'
            + 'tax = "19%"\npackaging = { reel = "7" }\n'
        )
        first, second = order.lines
        assert (order.title, order.currency, order.boards, order.wait_days) == ("Bench", "EUR", 4, 42.0)
        assert (first.name, first.needed, first.pieces, first.suppliers) == ("Q1", 12, 14, ("rabenmoos",))
        assert (second.name, second.needed, second.pieces, second.suppliers) == ("line 2", 4, 5, ("tidemill",))
        assert second.need is not None
        assert (second.more_loss, second.second_source) == (Decimal("0.1"), True)
        assert second.need.parameters()["package"] == ("TO-220",)
        terms = order.terms_of("TIDEMILL")
        assert terms is not None
        assert (terms.handling.value, terms.handling.currency, terms.tax) == (Decimal("2.50"), "USD", Decimal("0.19"))
        assert order.terms_of("Rabenmoos") is None
        assert order.rates == {"USD": Decimal("0.92")}

    def test_terms_in_a_file_of_their_own(self, tmp_path: Path) -> None:
        """Beside the order; "*" stands for who is not named; its slips name that file."""
        (tmp_path / "order.toml").write_text(f'terms = "terms.toml"\n{_LINE}')
        (tmp_path / "terms.toml").write_text('["*"]\nshipping = "4.90"\n')
        terms = read_order(tmp_path / "order.toml").terms_of("anybody")
        assert terms is not None
        assert terms.shipping[0][1].value == Decimal("4.90")
        (tmp_path / "terms.toml").write_text('["*"]\nshiping = "4.90"\n')
        with pytest.raises(OrderError, match=r"terms\.toml, line 2.*Did you mean shipping"):
            read_order(tmp_path / "order.toml")

    def test_options_count_before_the_file(self) -> None:
        """Also before what single lines say of suppliers; None is no option."""
        text = f'aim = "soonest"\ntax = true\n{_LINE}suppliers = ["Rabenmoos"]\n'
        order = read_order_text(text, aim="cheapest", tax=None, suppliers=["Tidemill"])
        assert (order.aim, order.tax, order.lines[0].suppliers) == ("cheapest", True, ("tidemill",))

    @pytest.mark.parametrize(
        ("said", "days"), [("any", math.inf), ("0 days", 0.0), ("ab Lager", 0.0), ("2-3 weeks", 21.0)]
    )
    def test_waits(self, said: str, days: float) -> None:
        """As lists write them, or any."""
        assert read_order_text(f'wait = "{said}"\n{_LINE}').wait_days == days

    @given(needed=st.integers(1, 10**6), percent=st.integers(0, 100))
    def test_a_share_of_spares_is_rounded_up_exactly(self, needed: int, percent: int) -> None:
        """Whole-number arithmetic says how many: 10 % of 30 are 3, not 4 for a hair."""
        assert Spares(share=Decimal(percent) / 100).with_them(needed) == needed - (-needed * percent // 100)


class TestSlips:
    """Each with file, line, key and the way out."""

    @pytest.mark.parametrize(
        ("text", "place", "words"),
        [
            ("", "line 1, key line", "no line"),
            (_LINE + "quantitty = 3\n", "line 4, key line[1].quantitty", "Did you mean quantity"),
            (_LINE.replace("quantity = 2", ""), "line 1, key line[1].quantity", "quantity is missing"),
            (_LINE.replace("= 2", "= 0"), "line 3, key line[1].quantity", "whole number"),
            (_LINE.replace("= 2", "= 2.5"), "line 3, key line[1].quantity", "whole number"),
            (_LINE.replace("= 2", "= true"), "line 3, key line[1].quantity", "whole number"),
            (f"boards = 999999\n{_LINE}", "line 4, key line[1].quantity", "1999998 pieces"),
            ("[[line]]\nquantity = 1\n", "line 1, key line[1]", "neither part nor need"),
            (_NEED.replace("quantity = 1", 'quantity = 1\npart = "X"'), "line 4, key line[1].need", "exclude"),
            (_NEED.replace("transistor", "transistr"), "line 4, key line[1].need.family", "there is no family"),
            (_NEED.replace("supply", "suply"), "line 5, key line[1].need.suply", "Did you mean supply"),
            (_NEED.replace("12V", "12A"), "line 5, key line[1].need.supply", "12A"),
            (_NEED.replace('"12V"', "12"), "line 5, key line[1].need.supply", 'supply = "12V"'),
            (_NEED.replace('supply = "12V"\n', ""), "line 3, key line[1].need", "supply is missing"),
            (_NEED + 'duty = "50%"\n', "line 7, key line[1].need.duty", "Give pwm as well"),
            (_NEED + 'more_loss = "x"\n', "line 7, key line[1].need.more_loss", '"10%"'),
            (f'currency = "euro"\n{_LINE}', "line 1, key currency", "three letters"),
            (f'spares = "200%"\n{_LINE}', "line 1, key spares", "at most 100 %"),
            (f'aim = "best"\n{_LINE}', "line 1, key aim", "cheapest"),
            (f'wait = "soon"\n{_LINE}', "line 1, key wait", "6 weeks"),
            (f"suppliers = []\n{_LINE}", "line 1, key suppliers", "no list"),
            (f"rates = {{ USD = 0 }}\n{_LINE}", "line 1, key rates.USD", "USD = 0.92"),
            (f"rates = {{ USD = nan }}\n{_LINE}", "line 1, key rates.USD", "no rate"),
            (f"rates = {{ USD = 0.9, usd = 0.8 }}\n{_LINE}", "line 1, key rates.usd", "twice"),
            (f'currency = "EUR"\nrates = {{ EUR = 0.9 }}\n{_LINE}', "line 2, key rates.EUR", "in which sums are"),
            (f'{_LINE}[terms.A]\nshipping = [["5", "1"]]\n', "line 5, key terms.A.shipping", "rise from 0"),
            (f'{_LINE}[terms.A]\nhandling = "-3"\n', "line 5, key terms.A.handling", "no amount"),
            (f"{_LINE}terms = 3\n", "line 4, key line[1].terms", "no key"),
            (f"terms = 3\n{_LINE}", "line 1, key terms", "neither"),
            ("line = 3\n", "line 1, key line", "[[line]]"),
        ],
    )
    def test_where_and_what(self, text: str, place: str, words: str) -> None:
        """One slip, one error."""
        with pytest.raises(OrderError) as caught:
            read_order_text(text, name="order.toml")
        said = str(caught.value)
        assert said.startswith(f"order.toml, {place}: ")
        assert words in said
        assert caught.value.way_out

    def test_all_at_once_in_the_order_of_the_lines(self) -> None:
        """Nobody mends a file one error at a time."""
        with pytest.raises(OrderError) as caught:
            read_order_text(f'aim = "x"\n{_LINE}color = 1\n[[line]]\nquantity = 1\n', name="o")
        assert [problem.where for problem in caught.value.problems] == [
            "o, line 1, key aim",
            "o, line 5, key line[1].color",
            "o, line 6, key line[2]",
        ]

    @pytest.mark.parametrize("data", [b"title = ", b'title = "\xff"', None])
    def test_what_cannot_be_read_at_all(self, tmp_path: Path, data: bytes | None) -> None:
        """No TOML, not UTF-8, not there."""
        path = tmp_path / "order.toml"
        if data is not None:
            path.write_bytes(data)
        with pytest.raises(OrderError, match=r"order\.toml"):
            read_order(path)

    @given(text=st.text(max_size=200))
    def test_whatever_stands_there_no_other_error_comes_out(self, text: str) -> None:
        """Open-ended input ends in an order or in an error with a way out."""
        with suppress(LoadworthyError):
            read_order_text(text)


class TestDescription:
    """The keys explain themselves."""

    @pytest.mark.parametrize(("table", "key", "example"), [row[:3] for row in described() if row[1] in READERS])
    def test_every_example_is_read(self, table: str, key: str, example: str) -> None:
        """What the description shows can be written."""
        assert key in KEYS[table]
        if table != "terms":
            READERS[key](tomllib.loads(f"value = {example}")["value"])

    @pytest.mark.parametrize(("key", "example"), [(key, example) for key, (example, _) in TERM_KEYS.items()])
    def test_every_example_of_terms_is_read(self, key: str, example: str) -> None:
        """The same for terms."""
        order = read_order_text(f"{_LINE}[terms.A]\n{key} = {example}\n")
        assert order.terms_of("a")


class TestAppending:
    """Lines added to a file."""

    def test_what_stands_there_stays(self, tmp_path: Path) -> None:
        """Comments, order of keys and odd blanks too; the new line can be read."""
        path = tmp_path / "order.toml"
        before = f'# mine\ncurrency="EUR"   # as always\n\n{_LINE}# the end\n'
        path.write_text(before)
        path.chmod(0o640)
        appended(path, [{"part": 'Y"2', "maker": None, "quantity": 1}])
        after = path.read_text()
        assert after.startswith(before)
        assert [line.part for line in read_order(path).lines] == ["X1", 'Y"2']
        assert stat.S_IMODE(path.stat().st_mode) == 0o640
        assert [one.name for one in tmp_path.iterdir()] == ["order.toml"]

    def test_line_endings_stay_as_they_are(self, tmp_path: Path) -> None:
        """A file from an editor that ends lines with carriage return and line feed keeps them, in what is added too."""
        path = tmp_path / "order.toml"
        path.write_bytes(b'# mine\r\n[[line]]\r\npart = "X1" # spare\r\nquantity = 2\r\n')
        appended(path, [{"part": "X2", "quantity": 1}])
        data = path.read_bytes()
        assert data.startswith(b'# mine\r\n[[line]]\r\npart = "X1" # spare\r\n')
        assert data.count(b"\n") == data.count(b"\r\n")
        assert [line.part for line in read_order(path).lines] == ["X1", "X2"]

    def test_lines_written_as_a_list_are_kept(self, tmp_path: Path) -> None:
        """They are then written one below another."""
        path = tmp_path / "order.toml"
        path.write_text('line = [{ part = "X1", quantity = 2 }]\ntitle = "T"\n')
        appended(path, [{"part": "Y2", "quantity": 1}])
        order = read_order(path)
        assert ([line.part for line in order.lines], order.title) == (["X1", "Y2"], "T")

    def test_lines_before_tables(self, tmp_path: Path) -> None:
        """Terms and rates that stand above or below the lines stay what they are."""
        path = tmp_path / "order.toml"
        path.write_text(f'{_LINE}[terms.A]\nhandling = "1"\n[rates]\nUSD = 0.9\n')
        appended(path, [{"part": "Y2", "quantity": 1}, {"part": "Z3", "quantity": 4}])
        order = read_order(path)
        assert [line.part for line in order.lines] == ["X1", "Y2", "Z3"]
        assert order.terms_of("A")
        assert order.rates == {"USD": Decimal("0.9")}

    def test_a_need_is_added_as_a_table(self, tmp_path: Path) -> None:
        """And a file is made where there is none."""
        path = tmp_path / "spring_bench.toml"
        need = {"family": "transistor", "supply": "12V", "current": "5A"}
        appended(path, [{"name": "Q1", "quantity": 2, "need": need}], currency="EUR")
        order = read_order(path)
        assert (order.title, order.currency, order.lines[0].name) == ("Spring bench", "EUR", "Q1")
        assert order.lines[0].need is not None

    def test_a_file_that_is_none_is_left_alone(self, tmp_path: Path) -> None:
        """The error says where; not a byte changes."""
        path = tmp_path / "order.toml"
        path.write_text("title = \n")
        with pytest.raises(OrderError, match="no TOML"):
            appended(path, [{"part": "X", "quantity": 1}])
        assert path.read_text() == "title = \n"
