"""The page of an order: the list grows, every change is an address, and the plan is what the command line plans."""

from __future__ import annotations

import csv
import datetime
import io
import json
import re
import tomllib
from typing import Any
from urllib.parse import parse_qs, urlsplit

import openpyxl
import pytest

from loadworthy import shipped
from loadworthy.catalog.store import Catalog
from loadworthy.shopping import plan, read_order_text
from loadworthy.web.state import pack, unpack

_PART = {"family": "transistor", "part": "BRQ33324-40L", "maker": "Brackmere Semiconductor"}
_TERMS = '[terms."*"]\nshipping = [["0", "4.90"], ["50", "0"]]\ntax = "19%"\n'
_SOUND = (
    '# mine\ntitle = "Bench"\ncurrency = "EUR"\nboards = 3\n[rates]\nGBP = 1.17\nUSD = 0.92\n'
    '[[line]]\npart = "BRQ33324-40L"\nquantity = 2  # one a mat\n'
    '[[line]]\nname = "any"\nquantity = 1\n[line.need]\nfamily = "transistor"\nsupply = "12V"\nresistance = "1.6ohm"\n'
    f"{_TERMS}"
)
_BOARD = pack('title = "b"')
_HOSTILE = '<script>alert("x")</script>'


def _greenhouse() -> str:
    return (shipped.catalog_dir() / "greenhouse" / "order.toml").read_text("utf-8")


def _shown(client: Any, text: str, **more: str) -> str:
    reply = client.get("/order", query_string={"order": pack(text), **more})
    assert reply.status_code == 200
    return str(reply.text)


def _state(reply: Any) -> dict[str, str]:
    """Return what the address holds to which an answer leads."""
    assert reply.status_code == 303, reply.text
    return {name: values[0] for name, values in parse_qs(urlsplit(reply.headers["Location"]).query).items()}


def _order(reply: Any) -> dict[str, Any]:
    return tomllib.loads(unpack(_state(reply)["order"]))


def _post(client: Any, what: str, text: str, **form: Any) -> Any:
    return client.post(f"/order/{what}", data={"order": pack(text), "board": _BOARD, **form})


class TestGrowing:
    """What is chosen is added."""

    def test_without_an_order_the_page_says_how_one_grows(self, client: Any) -> None:
        """And offers to open a file; there is no plan."""
        page = client.get("/order").text
        assert "An order grows from what is chosen" in page
        assert 'href="/need"' in page
        assert 'action="/order/open"' in page
        assert "data-follow" not in page

    def test_a_chosen_part_begins_an_order(self, client: Any) -> None:
        """The board goes along; the address shows the line."""
        reply = client.post("/order/add", data={**_PART, "board": _BOARD})
        assert _state(reply)["board"] == _BOARD
        assert reply.headers["Location"].endswith("#line-1")
        assert _order(reply)["line"] == [
            {"part": "BRQ33324-40L", "maker": "Brackmere Semiconductor", "family": "transistor", "quantity": 1}
        ]
        assert "BRQ33324-40L" in client.get(reply.headers["Location"]).text

    def test_the_same_part_again_raises_its_quantity(self, client: Any) -> None:
        """Comments stay, for the order is somebody's file."""
        reply = _post(client, "add", _SOUND, **_PART, quantity="2")
        assert _order(reply)["line"][0]["quantity"] == 4
        text = unpack(_state(reply)["order"])
        assert text.startswith("# mine")
        assert "quantity = 4  # one a mat" in text

    def test_several_parts_at_once(self, client: Any) -> None:
        """As a board's replacements are ordered."""
        form = {"part": ["A", "B"], "family": ["fuse", "connector"], "maker": ["", "M"], "quantity": ["1", "3"]}
        lines = _order(client.post("/order/add", data=form))["line"]
        assert [(line["part"], line.get("maker"), line["quantity"]) for line in lines] == [
            ("A", None, 1),
            ("B", "M", 3),
        ]

    @pytest.mark.parametrize(
        ("part", "quantity"), [("", "1"), ("X", "0"), ("X", "two"), ("X", "99999999"), ("X", "-1")]
    )
    def test_what_is_no_part_or_no_quantity_changes_nothing(self, client: Any, part: str, quantity: str) -> None:
        """The list stands there as it was, below what is wrong."""
        reply = _post(client, "add", _SOUND, part=part, quantity=quantity)
        assert reply.status_code == 400
        assert "Nothing was changed" in reply.text
        assert "BRQ33324-40L" in reply.text

    def test_only_our_own_page_may_change_it(self, client: Any) -> None:
        """A form of another site names that site."""
        for headers in ({"Origin": "http://evil.example"}, {"Origin": None}):
            assert client.post("/order/add", data=_PART, headers=headers).status_code == 403
        assert client.get("/order/add").status_code == 405


class TestChanging:
    """Every form answers with the address of the changed order."""

    @pytest.mark.parametrize(
        ("form", "quantity"),
        [
            ({"do": "more", "quantity": "2"}, 3),
            ({"do": "less", "quantity": "2"}, 1),
            ({"do": "less", "quantity": "1"}, 1),
            ({"quantity": "12"}, 12),
            ({"do": "more", "quantity": "7"}, 8),
        ],
    )
    def test_the_quantity_of_a_line(self, client: Any, form: dict[str, str], quantity: int) -> None:
        """One more, one less, never below one; what was typed counts."""
        assert _order(_post(client, "line", _SOUND, number="1", **form))["line"][0]["quantity"] == quantity

    def test_a_line_is_removed(self, client: Any) -> None:
        """The last one too; what else was said of the order stays."""
        reply = _post(client, "line", _SOUND, number="2", do="remove")
        text = unpack(_state(reply)["order"])
        reply = _post(client, "line", text, number="1", do="remove")
        assert "line" not in _order(reply)
        page = client.get(reply.headers["Location"]).text
        assert "An order grows" in page
        assert "Bench" in page

    @pytest.mark.parametrize("number", ["0", "3", "x", "", "99999999999"])
    def test_a_line_that_is_not_there(self, client: Any, number: str) -> None:
        """Said."""
        reply = _post(client, "line", _SOUND, number=number, quantity="2")
        assert reply.status_code == 400
        assert "has no line" in reply.text

    def test_what_else_is_said_of_a_line(self, client: Any) -> None:
        """Empty fields take keys away."""
        form = {"number": "1", "do": "keep", "name": "Q1", "maker": "", "spares": "10%",
                "suppliers": "tidemill, ninefold", "second_source": "yes"}  # fmt: skip
        line = _order(_post(client, "line", _SOUND, **form))["line"][0]
        assert line == {
            "part": "BRQ33324-40L", "quantity": 2, "name": "Q1", "spares": "10%", "suppliers": ["tidemill", "ninefold"],
            "second_source": True,
        }  # fmt: skip

    def test_the_boards(self, client: Any) -> None:
        """And what all lines come to."""
        reply = _post(client, "boards", _SOUND, boards="3", do="more")
        assert _order(reply)["boards"] == 4
        assert "8 in all" in client.get(reply.headers["Location"]).text

    def test_what_holds_for_the_whole_order(self, client: Any) -> None:
        """Usual words that nobody wrote stay unwritten."""
        form = {"title": "Spring", "currency": "eur", "aim": "soonest", "shortfall": "none", "wait": "6 weeks",
                "spares": "2", "tax": "yes"}  # fmt: skip
        order = _order(_post(client, "whole", _SOUND, **form))
        assert {key: order[key] for key in ("title", "aim", "wait", "spares", "tax")} == {
            "title": "Spring", "aim": "soonest", "wait": "6 weeks", "spares": 2, "tax": True
        }  # fmt: skip
        assert "shortfall" not in order
        assert order["boards"] == 3

    @pytest.mark.parametrize(
        ("key", "value"),
        [("currency", "euros"), ("wait", "soon"), ("spares", "many"), ("aim", "best"), ("spares", "200%")],
    )
    def test_a_value_that_cannot_be_is_said_with_its_field(self, client: Any, key: str, value: str) -> None:
        """And with how it is written."""
        reply = _post(client, "whole", _SOUND, **{key: value})
        assert reply.status_code == 400
        assert f"<b>{'longest wait' if key == 'wait' else key}:</b>" in reply.text

    def test_rates(self, client: Any) -> None:
        """A row that is emptied goes; a comma is a point."""
        form = {"code": ["usd", "GBP", "CHF"], "rate": ["0,93", "", "1.05"]}
        assert _order(_post(client, "rates", _SOUND, **form))["rates"] == {"USD": 0.93, "CHF": 1.05}
        wrong = _post(client, "rates", _SOUND, code=["USD"], rate=["cheap"])
        assert (wrong.status_code, "no rate" in wrong.text) == (400, True)

    def test_terms_of_a_supplier(self, client: Any) -> None:
        """New ones, changed ones, and none any more."""
        form = {"supplier": "Tidemill", "from": ["0", "50", ""], "costs": ["4.20", "0", ""], "handling": "1.00",
                "least_order": "", "tax": "19%", "currency": "", "word": ["reel", ""], "fee": ["7.00", ""]}  # fmt: skip
        reply = _post(client, "terms", _SOUND, **form)
        assert _order(reply)["terms"]["Tidemill"] == {
            "shipping": [["0", "4.20"], ["50", "0"]], "handling": "1.00", "tax": "19%", "packaging": {"reel": "7.00"}
        }  # fmt: skip
        text = unpack(_state(reply)["order"])
        changed = _post(client, "terms", text, supplier="tidemill", **{"from": ["0"], "costs": ["3"]})
        assert _order(changed)["terms"]["Tidemill"] == {"shipping": "3"}
        assert set(_order(_post(client, "terms", text, supplier="TIDEMILL", do="remove"))["terms"]) == {"*"}

    def test_terms_that_cannot_be_are_all_said(self, client: Any) -> None:
        """Whose, and which."""
        reply = _post(client, "terms", _SOUND, supplier="A", **{"from": ["5"], "costs": ["1"]}, handling="-3")
        assert reply.status_code == 400
        assert "A, shipping" in reply.text
        assert "A, handling" in reply.text
        assert _post(client, "terms", _SOUND, supplier=" ").status_code == 400

    def test_an_order_that_grows_too_long_for_an_address_is_refused(self, client: Any) -> None:
        """With what it may have."""
        reply = client.post("/order/text", data={"text": "# x\n" * 20_000})
        assert reply.status_code == 400
        assert "more than an address can carry" in reply.text


class TestFiles:
    """Opened, mended, kept."""

    def _open(self, client: Any, data: bytes, name: str = "spring.toml") -> Any:
        return client.post("/order/open", data={"file": (io.BytesIO(data), name)})

    def test_an_order_file_is_opened_and_comes_back_as_it_was(self, client: Any) -> None:
        """To the byte."""
        reply = self._open(client, _greenhouse().encode())
        packed = _state(reply)["order"]
        kept = client.get("/order/order.toml", query_string={"order": packed})
        assert kept.data == _greenhouse().encode()
        assert kept.headers["Content-Disposition"] == 'attachment; filename="propagation-bench-controllers.toml"'
        page = client.get(reply.headers["Location"]).text
        assert "any transistor that fits: supply 12V, current 3.2A" in page
        assert "/need/transistor?supply=12V&amp;current=3.2A" in page

    @pytest.mark.parametrize(
        ("data", "words"),
        [(b"title = \n", "spring.toml"), (b"\xff\xfe\x00", "UTF-8"), (b"\x00\x01", "no TOML")],
    )
    def test_what_is_no_order_file_is_refused_with_its_name(self, client: Any, data: bytes, words: str) -> None:
        """And what stood there stays."""
        reply = self._open(client, data)
        assert reply.status_code == 400
        assert words in reply.text

    def test_no_file(self, client: Any) -> None:
        """Said."""
        assert "No file was chosen" in client.post("/order/open", data={}).text

    def test_a_text_that_is_no_toml_stays_to_be_mended(self, client: Any) -> None:
        """What was typed is not lost, nor is the order before it."""
        reply = client.post("/order/text", data={"text": "title = nothing\r\n", "order": pack(_SOUND)})
        assert reply.status_code == 400
        assert "title = nothing" in reply.text
        assert "BRQ33324-40L" in reply.text

    def test_a_text_is_taken(self, client: Any) -> None:
        """Its lines end as those of a file."""
        reply = client.post("/order/text", data={"text": _SOUND.replace("\n", "\r\n")})
        assert unpack(_state(reply)["order"]) == _SOUND

    def test_an_address_that_was_cut_short(self, client: Any) -> None:
        """Ends on a page that says so."""
        reply = client.get("/order", query_string={"order": pack(_SOUND)[:-9]})
        assert reply.status_code == 400
        assert "cut short" in reply.text


class TestProblems:
    """Each is named with its line."""

    def test_a_line_that_cannot_be_read_says_so_and_can_be_removed(self, client: Any) -> None:
        """The others are shown as ever; there is no plan yet."""
        text = _SOUND.replace("quantity = 2  # one a mat", 'quantity = "two"')
        page = _shown(client, text)
        wrong = page.partition('id="line-1" class="amiss"')[2].partition("</li>")[0]
        assert "no whole number" in wrong
        assert "data-follow" not in page
        assert len(_order(_post(client, "line", text, number="1", do="remove"))["line"]) == 1
        assert _order(_post(client, "line", text, number="1", quantity="2"))["line"][0]["quantity"] == 2

    def test_what_is_wrong_with_the_order_itself_stands_above_the_list(self, client: Any) -> None:
        """With its place in the text."""
        page = _shown(client, f"boards = 0\n{_SOUND.replace('boards = 3', '')}")
        assert "To be mended before there can be a plan" in page
        assert "line 1, key boards" in page

    def test_a_part_that_the_catalogue_lacks_is_named_with_its_line(self, client: Any) -> None:
        """And what comes close to it."""
        text = _SOUND.replace("BRQ33324-40L", "BRQ33324-40X")
        reply = client.get("/order/plan", query_string={"order": pack(text)})
        assert re.search(r'#line-1">BRQ33324-40X</a>: .*no part.*BRQ33324-40L', reply.text)

    def test_a_file_of_this_computer_is_not_read(self, client: Any) -> None:
        """Even where the order names one."""
        page = _shown(client, f'terms = "/etc/passwd"\n{_SOUND.replace(_TERMS, "")}')
        assert "not read here" in page
        assert "root:" not in page

    def test_no_catalogue_is_said_in_place_of_the_plan(self, empty: Any) -> None:
        """The list is there nevertheless."""
        assert "BRQ33324-40L" in _shown(empty, _SOUND)
        assert empty.get("/order/plan", query_string={"order": pack(_SOUND)}).status_code == 503

    @pytest.mark.parametrize("where", ["part", "name", "maker"])
    def test_names_are_texts_and_nothing_else(self, client: Any, where: str) -> None:
        """Whatever stands in the order."""
        line = {"part": "X", "quantity": 1, where: _HOSTILE}
        text = f"title = {json.dumps(_HOSTILE)}\n[[line]]\n" + "".join(
            f"{k} = {json.dumps(v)}\n" for k, v in line.items()
        )
        text += f"[terms.{json.dumps(_HOSTILE)}]\nhandling = {json.dumps(_HOSTILE)}\n"
        for page in (_shown(client, text), client.get("/order/plan", query_string={"order": pack(text)}).text):
            assert "<script>alert" not in page
            assert 'alert("x")' not in page


@pytest.fixture(scope="module")
def told(stocked: Any) -> dict[str, Any]:
    """Return the plan as the program has it."""
    with Catalog.open(stocked) as catalog:
        return plan(catalog, read_order_text(_SOUND), today=datetime.date.today()).as_json()


class TestPlan:
    """What to buy where, as the command line plans it."""

    def test_the_list_is_there_at_once_and_the_plan_follows(self, client: Any) -> None:
        """Without a script there is a button to it."""
        page = _shown(client, _SOUND, board=_BOARD)
        follow = re.search(r'data-follow="(/order/plan\?[^"]+)"', page)
        assert follow is not None
        assert f'<a class="button first" href="{follow.group(1)}">Plan it</a>' in page
        assert "6 in all" in page

    def test_the_plan_says_everything(self, client: Any, told: dict[str, Any]) -> None:
        """By supplier, with sums, what it beats, what is easily forgotten, and what to mind."""
        address = {"order": pack(_SOUND)}
        page = client.get("/order/plan", query_string=address).text
        assert f"{told['totals']['total']:.2f} EUR in all" in page
        for one in told["suppliers"]:
            assert f"From {one['supplier']}" in page
            assert f"total {one['total']:.2f} EUR" in page
            assert all(row["part_number"] in page for row in one["lines"])
        assert '<label class="tick"><input type="checkbox"' in page
        assert "fails on" in page or "fail on" in page
        part = client.get("/order/plan", query_string=address, headers={"Loadworthy-Part": "answer"}).text
        assert "<html" not in part
        assert f"{told['totals']['total']:.2f} EUR in all" in part

    def test_rates_that_are_missing_are_asked_for_where_the_plan_would_stand(self, client: Any) -> None:
        """One form for all of them; what was known stays."""
        text = (
            _SOUND.replace('currency = "EUR"\n', "").replace("USD = 0.92\n", "").replace("GBP = 1.17\n", "CHF = 1.05\n")
        )
        page = client.get("/order/plan", query_string={"order": pack(text)}).text
        codes = re.findall(r'name="code" value="([A-Z]{3})"', page)
        assert {"EUR", "GBP", "USD"} <= set(codes)
        assert "never guessed" in page
        rates = {"GBP": "1,17", "USD": "0.92"}
        reply = _post(client, "money", text, currency="EUR", code=codes, rate=[rates.get(code, "") for code in codes])
        assert _order(reply)["currency"] == "EUR"
        assert _order(reply)["rates"] == {"CHF": 1.05, "GBP": 1.17, "USD": 0.92}
        new = unpack(_state(reply)["order"])
        assert "in all, in" in client.get("/order/plan", query_string={"order": pack(new)}).text
        named = _SOUND.replace("USD = 0.92\n", "")
        page = client.get("/order/plan", query_string={"order": pack(named)}).text
        assert re.findall(r'name="code" value="([A-Z]{3})"', page) == ["USD"]
        assert 'name="currency"' not in page
        assert _post(client, "money", named, code="USD", rate="x").status_code == 400

    def test_what_arrives_can_be_measured_from_here(self, client: Any) -> None:
        """The bench knows the part, its maker and who sold it; the order goes along."""
        page = client.get("/order/plan", query_string={"order": pack(_SOUND)}).text
        link = re.search(r'href="(/bench/transistor\?part=BRQ33324-40L[^"]+)"', page)
        assert link is not None
        assert {"part", "maker", "supplier", "order"} <= set(
            parse_qs(urlsplit(link.group(1).replace("&amp;", "&")).query)
        )

    @pytest.mark.parametrize("ending", ["csv", "xlsx", "html", "md", "json"])
    def test_every_file_holds_the_plan(self, client: Any, told: dict[str, Any], ending: str) -> None:
        """Named after the order, whatever it is called."""
        text = _SOUND.replace('"Bench"', '"../Mats & Söhne"')
        reply = client.get(f"/order/plan.{ending}", query_string={"order": pack(text)})
        assert reply.headers["Content-Disposition"] == f'attachment; filename="mats-sohne.{ending}"'
        total = told["totals"]["total"]
        if ending == "csv":
            rows = list(csv.DictReader(io.StringIO(reply.data.decode())))
            assert sum(float(row["amount"]) for row in rows if row["amount"]) == pytest.approx(total)
        elif ending == "xlsx":
            book = openpyxl.load_workbook(io.BytesIO(reply.data))
            assert book["sums"].cell(book["sums"].max_row, 1).value == "total"
        elif ending == "json":
            assert json.loads(reply.data)["totals"] == told["totals"]
        else:
            assert f"{total:.2f} EUR in all" in reply.data.decode()

    def test_another_ending_is_refused(self, client: Any) -> None:
        """With those that there are."""
        reply = client.get("/order/plan.doc", query_string={"order": pack(_SOUND)})
        assert reply.status_code == 400
        assert ".xlsx" in reply.text

    def test_a_plan_that_is_not_proven_says_so_and_offers_more_time(
        self, client: Any, told: dict[str, Any], monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """In words of the page."""
        from loadworthy.web import order_page

        seconds = []

        class _Unproven:
            def as_json(self) -> dict[str, Any]:
                return {**told, "proven": False, "gap": 0.05}

        def planned(*_: Any, time_limit_s: float, **__: Any) -> _Unproven:
            seconds.append(time_limit_s)
            return _Unproven()

        monkeypatch.setattr(order_page, "plan", planned)
        page = client.get("/order/plan", query_string={"order": pack(_SOUND)}).text
        assert "could be up to 5 % cheaper" in page
        assert "--time-limit" not in page
        again = re.search(r'href="(/order/plan\?[^"]*longer=yes[^"]*)"', page)
        assert again is not None
        assert "longer=yes" not in client.get(again.group(1).replace("&amp;", "&")).text.partition("Take it along")[0]
        assert seconds[0] < seconds[1]
