"""A buying plan told from its JSON alone, as text and as files."""

from __future__ import annotations

import csv
import html
import io
import json
from html.parser import HTMLParser
from typing import Any

import openpyxl
import pytest
from rich.cells import cell_len

from loadworthy.report.plan_files import ENDINGS, plan_markdown, plan_page, plan_workbook
from loadworthy.report.plans import charge_rows, file_rows, opening, plan_text, sections

_BAD = '=cmd|"x"!A1<script>\x1b[2J'


def _line(**other: Any) -> dict[str, Any]:
    return {
        "supplier": "Thistledown", "lines": [{"line": "Q1", "pieces": 8}], "part_number": "GH-1", "maker": "Fernhill",
        "family": "transistor", "package": "TO-220", "order_number": "T1-7", "packaging": None, "pieces": 10,
        "needed": 8, "over": {"pieces": 2, "why": "break"}, "unit_price": 0.7, "listed_price": 0.6,
        "listed_currency": "GBP", "fee": 0.0, "amount": 7.0, "stock": 40, "to_order": False, "wait_days": 0.0,
        "lead_time": None, "dated": "2026-10-01", "age_days": 55, "loss_w": 0.2, "least_loss_w": 0.1,
        "notes": ["price of 2026-10-01, 55 days old: ask again"],
        "beat": [
            {"supplier": "Rabenmoos", "part_number": "GH-1", "pieces": 8, "goods": -0.42, "charges": 4.9, "total": 4.48,
             "parcels": 1, "wait_days": 0.0},
            {"supplier": "Tidemill", "part_number": "GH-2", "pieces": 8, "goods": 0.1, "charges": 0.0, "total": 0.1,
             "parcels": 0, "wait_days": 0.0},
        ],
        **other,
    }  # fmt: skip


@pytest.fixture
def told() -> dict[str, Any]:
    """Return a plan with one of everything, as somebody who has only its JSON gets it."""
    return {
        "title": "Bench", "currency": "EUR", "boards": 4, "aim": "cheapest", "verdict": "short", "proven": False,
        "gap": 0.05,
        "suppliers": [
            {"supplier": "Thistledown", "lines": [_line(), _line(part_number="GH-3", over=None, beat=[], notes=[])],
             "goods": 14.0, "shipping": 4.9, "handling": 1.0, "tax": 3.78, "total": 23.68, "tax_rate": 0.19,
             "terms_given": True},
        ],
        "lines": [
            {"line": "Q1", "where": "o, line 2", "asked": "GH-1", "needed": 8, "pieces": 8, "missing": 0, "why": [],
             "considered": 1, "capped": False,
             "second_source": {"supplier": "Tidemill", "part_number": "GH-2", "maker": None, "unit_price": 0.71}},
            {"line": "Q2", "where": "o, line 5", "asked": "GH-9", "needed": 3, "pieces": 3, "missing": 2,
             "why": ["Tidemill: 1 in stock"], "considered": 1, "capped": False, "second_source": None},
        ],
        "totals": {"goods": 14.0, "shipping": 4.9, "handling": 1.0, "tax": 3.78, "total": 23.68, "per_board": 5.92,
                   "parcels": 1},
        "compared": [{"plan": "all from Rabenmoos", "total": 30.0, "parcels": 1, "dearer": 10.1}],
        "forgotten": [
            {"what": "freewheel diode", "pieces": 8, "lines": ["Q1"], "reason": "It saves the part.",
             "when": "where it switches a coil"},
        ],
        "assumed": ["no terms for Thistledown"], "cautions": ["Attend the first heat-up."],
    }  # fmt: skip


class TestText:
    """For people."""

    @pytest.mark.parametrize("width", [80, 100, 160])
    def test_lines_keep_to_the_width(self, told: dict[str, Any], width: int) -> None:
        """Whatever it is."""
        assert max(map(cell_len, plan_text(told, width=width).splitlines())) <= width

    def test_everything_is_said(self, told: dict[str, Any]) -> None:
        """What is bought and why, what it beat, what is missing, what one forgets, what was assumed."""
        text = " ".join(plan_text(told, width=100).split())
        for words in (
            "23.68 EUR in all, in 1 parcel; 5.92 EUR for each of 4 boards",
            "could be up to 5 % cheaper",
            "2 more than needed: cheaper so",
            "listed at 0.60 GBP",
            "100 % more than the best that can be bought",
            "55 days old",
            "0.42 dearer than at Rabenmoos, saves a parcel of 4.90",
            "next best GH-2 at Tidemill, 0.10 more in all",
            "goods 14.00, shipping 4.90, handling 1.00, tax (19 %) 3.78, total 23.68 EUR",
            "Q2: 2 of 3 pieces of GH-9 – Tidemill: 1 in stock",
            "all from Rabenmoos: 30.00 EUR, 1 parcel; 10.10 dearer",
            "Q1: GH-2 at Tidemill, 0.71 EUR each",
            "[ ] 8 × freewheel diode (Q1), where it switches a coil. It saves the part.",
            "no terms for Thistledown",
            "Attend the first heat-up.",
        ):
            assert words in text

    @pytest.mark.parametrize(
        ("change", "words"),
        [
            ({"proven": True}, "Proven: no plan from these offers is cheaper"),
            ({"gap": None}, "the time was up"),
            ({"verdict": "impossible"}, "nothing is planned"),
        ],
    )
    def test_the_opening_says_how_sure_it_is(self, told: dict[str, Any], change: dict[str, Any], words: str) -> None:
        """Proven, the gap, or that there is no plan."""
        assert words in opening({**told, **change})

    def test_what_is_not_there_has_no_heading(self, told: dict[str, Any]) -> None:
        """No empty lists."""
        text = plan_text({**told, "forgotten": [], "assumed": []}, width=80)
        assert "forgotten" not in text
        assert "Assumed" not in text


class TestFiles:
    """For what comes next."""

    def test_csv_and_workbook_hold_texts_that_look_like_formulas_as_texts(self, told: dict[str, Any]) -> None:
        """The raw text stays inside; nothing is a formula."""
        told["suppliers"][0]["lines"][0] |= {"part_number": _BAD, "order_number": "+1", "maker": "@x"}
        (row, *_) = csv.DictReader(io.StringIO(ENDINGS[".csv"](told).decode()))
        assert row["part_number"].startswith("'=cmd")
        assert (row["order_number"], row["maker"]) == ("'+1", "'@x")
        book = openpyxl.load_workbook(io.BytesIO(plan_workbook(told)))
        cells = [cell for sheet in book for line in sheet.iter_rows() for cell in line]
        assert not [cell for cell in cells if cell.data_type == "f"]
        assert any(str(cell.value).startswith("=cmd") for cell in cells)
        numbers = {cell.value for cell in cells if cell.data_type == "n" and cell.value is not None}
        assert {10, 0.7, 7.0, 23.68} <= numbers

    def test_csv_numbers_are_whole(self, told: dict[str, Any]) -> None:
        """Read back they are the same; a line that is short has a row as well."""
        rows = list(csv.DictReader(io.StringIO(ENDINGS[".csv"](told).decode())))
        assert [float(row["amount"]) for row in rows[:2]] == [7.0, 7.0]
        assert (rows[2]["for"], rows[2]["missing"], rows[2]["pieces"]) == ("Q2", "2", "")
        assert len(file_rows(told)) == 3

    def test_csv_amounts_add_up_to_the_total(self, told: dict[str, Any]) -> None:
        """Shipping, handling and tax are rows as well."""
        rows = list(csv.DictReader(io.StringIO(ENDINGS[".csv"](told).decode())))
        assert {"shipping", "handling", "tax"} <= {row["for"] for row in rows}
        amounts = [float(row["amount"]) for row in rows if row["amount"]]
        assert sum(amounts) == pytest.approx(told["totals"]["total"])

    def test_sums_have_a_total(self, told: dict[str, Any]) -> None:
        """The last row."""
        assert charge_rows(told)[-1] == {
            "supplier": "total", "goods": 14.0, "shipping": 4.9, "handling": 1.0, "tax": 3.78, "total": 23.68,
            "currency": "EUR",
        }  # fmt: skip

    def test_the_page_shows_everything_and_runs_nothing(self, told: dict[str, Any]) -> None:
        """Whole tags, no script, nothing from elsewhere, every line told."""
        told |= {"title": _BAD}
        told["suppliers"][0]["supplier"] = _BAD
        page = plan_page(told)
        found: list[str] = []
        open_tags: list[str] = []

        class Parser(HTMLParser):
            def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
                found.append(tag)
                if tag != "meta":
                    open_tags.append(tag)
                assert not {"src", "href"} & {name for name, _ in attrs}

            def handle_endtag(self, tag: str) -> None:
                assert open_tags.pop() == tag

        Parser().feed(page)
        assert open_tags == []
        assert "script" not in found
        assert "\x1b" not in page
        shown = html.unescape(page)
        for _, said in sections(told):
            for line in said:
                assert line.removeprefix("[ ] ") in shown

    def test_markdown_has_boxes_to_tick(self, told: dict[str, Any]) -> None:
        """And no mark of a name counts."""
        told["suppliers"][0]["supplier"] = "A|B <b>"
        text = plan_markdown(told)
        assert "- [ ] 8 × freewheel diode" in text
        assert "## From A\\|B \\<b\\>" in text

    def test_json_is_the_plan(self, told: dict[str, Any]) -> None:
        """Nothing lost."""
        assert json.loads(ENDINGS[".json"](told)) == told
