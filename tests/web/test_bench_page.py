"""The page of the bench: what was measured against what is claimed, as the command line has it."""

from __future__ import annotations

import io
import re
import tomllib
from html import unescape
from typing import Any
from urllib.parse import parse_qs, urlsplit

import pytest

from loadworthy import shipped
from loadworthy.bench import measure
from loadworthy.catalog.store import Catalog
from loadworthy.readings import KINDS, said_of
from loadworthy.web.state import pack, unpack

_GIVEN = {"drop": "48.35mV", "current": "6.001A", "gate": "4.503V", "pulse": "300us", "supply": "12V"}
_ASKED = {"part": "BRQ33324-40L", "kelvin": "yes", **_GIVEN}
_PART = {"headers": {"Loadworthy-Part": "answer"}}
_HOSTILE = '<script>alert("x")</script>'


def _board() -> str:
    return (shipped.catalog_dir() / "greenhouse" / "board.toml").read_text("utf-8")


def _samples() -> bytes:
    return (shipped.catalog_dir() / "greenhouse" / "received" / "samples.csv").read_bytes()


def _asked(client: Any, kind: str = "transistor", *, bare: bool = False, **words: str) -> str:
    reply = client.get(f"/bench/{kind}", query_string=words, **(_PART if bare else {}))
    assert reply.status_code == 200
    return unescape(reply.text)


def _address(reply: Any) -> dict[str, str]:
    assert reply.status_code == 303, reply.text
    return {name: values[0] for name, values in parse_qs(urlsplit(reply.headers["Location"]).query).items()}


def _kept(place: Any) -> list[tuple[Any, ...]]:
    with Catalog.open(place) as catalog:
        return list(catalog.connection.execute("SELECT supplier, figure, sample FROM measured ORDER BY ALL").fetchall())


class TestForm:
    """What is asked, and how one measures."""

    @pytest.mark.parametrize("kind", KINDS)
    def test_every_kind_asks_for_all_that_the_command_takes(self, client: Any, kind: str) -> None:
        """And says how it is measured, with what to mind."""
        page = _asked(client, kind)
        for one in said_of(kind):
            assert f'name="{one.name}"' in page
            assert f'for="f-{one.name}"' in page
        assert "How to measure it" in page
        assert "Mind before you measure" in page
        assert "--" not in re.sub(r"<[^>]*>", "", page)
        assert ('name="part"' in page) == (kind != "load")

    def test_what_was_filled_in_stands_there_again(self, client: Any) -> None:
        """So that the address can be kept."""
        page = _asked(client, **_ASKED, marking="differs")
        assert 'value="48.35mV"' in page
        assert "<option selected>differs</option>" in page
        assert re.search(r'name="kelvin"[^>]*checked', page)

    def test_the_work_goes_along(self, client: Any) -> None:
        """Board and order."""
        page = _asked(client, board=pack("a = 1"), order=pack("b = 1"))
        assert page.count(f'value="{pack("a = 1")}"') >= 1
        assert f"order={pack('b = 1')}" in page

    def test_another_kind_is_refused(self, client: Any) -> None:
        """With those that there are."""
        reply = client.get("/bench/lamp")
        assert reply.status_code == 400
        assert "transistor" in reply.text
        assert client.get("/bench?part=X").location == "/bench/transistor?part=X"


class TestAnswer:
    """As one types."""

    def test_the_verdict_is_that_of_the_command(self, client: Any, stocked: Any) -> None:
        """With band, uncertainty, what it weighs, and what the part carries."""
        with Catalog.open(stocked) as catalog:
            found = measure("transistor", dict(_GIVEN), part="BRQ33324-40L", catalog=catalog, kelvin=True)
        page = _asked(client, bare=True, **_ASKED)
        assert "<html" not in page
        assert found.verdict in page
        assert f'verdict-outside">{"outside"}' in page
        assert "8.145 mΩ ± 0.27 mΩ" in page
        assert "at most 7.79 mΩ" in page
        assert found.samples[0].words in page
        assert "It carries" in page
        assert "data-follow" in page

    def test_the_picture_follows(self, client: Any) -> None:
        """Of what was measured."""
        reply = client.get("/bench/transistor/picture", query_string=_ASKED, **_PART)
        assert "<svg" in reply.text
        assert "style=" not in reply.text
        assert client.get("/bench/transistor/picture", query_string={"part": "X"}).status_code == 200

    def test_a_load_says_what_it_draws(self, client: Any) -> None:
        """Marked 1.6 Ω, reads 1.4 Ω: 8.6 A and not 7.5, by Ohm's law."""
        page = _asked(client, "load", marked="1.6ohm", reading="1.60ohm", leads="0.20ohm", supply="12V")
        assert "it draws 8.57 A" in page
        assert "not 7.5 A as its marking says" in page
        assert "Keep it in the catalogue" not in page

    def test_nothing_typed_yet_is_no_error(self, client: Any) -> None:
        """A word on what to do."""
        page = _asked(client, bare=True, **{"part": "BRQ33324-40L"} | {"kelvin": "yes"})
        assert "the verdict follows at once" in page
        assert 'role="alert"' not in page

    @pytest.mark.parametrize(
        ("words", "said"),
        [
            ({"drop": "abc"}, "drop"),
            ({"leads": "3mohm"}, "four wires, leads"),
            ({"part": ""}, "which part?"),
            ({"volt_meter": "good"}, "no accuracy of a meter"),
            ({"gate": ""}, "gate"),
        ],
    )
    def test_what_is_wrong_is_said_in_the_answer(self, client: Any, words: dict[str, str], said: str) -> None:
        """In words of the page, for it is still being typed."""
        page = _asked(client, bare=True, **{**_ASKED, **words})
        assert 'role="alert"' in page
        assert said in page.lower()
        assert "--" not in re.sub(r"<[^>]*>", "", page)

    def test_a_field_that_is_wrong_is_marked(self, client: Any) -> None:
        """For those who do not see the answer."""
        page = _asked(client, **_ASKED | {"drop": "abc"})
        assert re.search(r'name="drop"[^>]*aria-invalid="true"', page)

    def test_a_number_that_the_catalogue_lacks_has_some_near_it(self, client: Any) -> None:
        """Each a link that keeps what was typed."""
        page = _asked(client, bare=True, **_ASKED | {"part": "BRQ33324-40X"})
        link = re.search(r'href="(/bench/transistor\?[^"]+)">BRQ33324-40L<', page)
        assert link is not None
        assert parse_qs(urlsplit(link.group(1)).query)["drop"] == ["48.35mV"]

    def test_without_a_catalogue_what_one_says_is_claimed(self, empty: Any) -> None:
        """From the data sheet in hand."""
        page = _asked(empty, bare=True, **_ASKED, claimed_on_resistance="8mohm")
        assert "there is no catalogue" in page.lower()
        assert "at most 8 mΩ" in page

    @pytest.mark.parametrize("where", ["part", "maker", "drop", "supplier", "kept", "put"])
    def test_what_is_typed_is_text_and_nothing_else(self, client: Any, where: str) -> None:
        """Whatever it is."""
        reply = client.get("/bench/transistor", query_string={**_ASKED, where: _HOSTILE, "board": pack(_board())})
        assert "<script>alert" not in reply.text

    def test_no_notice_can_be_made_up_by_an_address(self, client: Any) -> None:
        """What is said to have been done is looked up."""
        page = _asked(client, put="mat B: Q2", board=pack(_board()))
        assert "The board now says" not in page
        assert "kept in the catalogue" not in _asked(client, kept="many")


class TestSamples:
    """Several at once, from a file."""

    def _sent(self, client: Any, data: bytes | None, **words: str) -> Any:
        form: dict[str, Any] = {"part": "BRQ33324-40L", "kelvin": "yes", **words}
        return client.post(
            "/bench/transistor/samples", data=form | ({"samples": (io.BytesIO(data), "s.csv")} if data else {})
        )

    def test_every_sample_is_measured(self, client: Any) -> None:
        """Each with its verdict, and how they lie together; the page says that its address does not hold the file."""
        page = unescape(self._sent(client, _samples(), pulse="300us").text)
        assert "first" in page
        assert "second" in page
        assert "How the samples lie together" in page
        assert "<svg" in page
        assert "The address of this page does not hold it" in page

    @pytest.mark.parametrize("data", [None, b"\x00\x01\x02", b"a,b\n1,2\n", b"drop;current\nx;y\n"])
    def test_what_is_no_table_of_samples_is_refused(self, client: Any, data: bytes | None) -> None:
        """With what it should be."""
        reply = self._sent(client, data)
        assert reply.status_code == 400
        assert 'role="alert"' in reply.text

    def test_the_result_can_be_kept_without_sending_it_again(self, own: Any, tmp_path: Any) -> None:
        """What was sent goes along with the form."""
        page = self._sent(own, _samples(), pulse="300us").text
        packed = re.search(r'name="packed" value="([^"]+)"', page)
        assert packed is not None
        form = {
            "part": "BRQ33324-40L",
            "kelvin": "yes",
            "pulse": "300us",
            "packed": packed.group(1),
            "supplier": "tidemill",
        }
        assert _address(own.post("/bench/transistor/keep", data=form))["kept"] == "4"
        assert {row[2] for row in _kept(tmp_path / "own.duckdb")} == {"first", "second"}


class TestKeeping:
    """In the catalogue, on the word of our own page."""

    def test_what_was_found_is_kept(self, own: Any, tmp_path: Any) -> None:
        """And the page says so, once."""
        reply = own.post("/bench/transistor/keep", data={**_ASKED, "supplier": "tidemill", "date": "2025-03-14"})
        assert _address(reply)["kept"] == "1"
        assert _kept(tmp_path / "own.duckdb") == [("tidemill", "on_resistance", None)]
        page = own.get(reply.headers["Location"]).text
        assert "1 figure is kept in the catalogue" in page
        assert "The catalogue has no list of" not in page

    def test_a_supplier_without_a_list_is_said(self, own: Any) -> None:
        """For a name written wrongly keeps apart what belongs together."""
        reply = own.post("/bench/transistor/keep", data={**_ASKED, "supplier": "Tidemil"})
        assert "The catalogue has no list of Tidemil" in own.get(reply.headers["Location"]).text

    @pytest.mark.parametrize("words", [{"supplier": " "}, {"date": "14.3.25"}, {"date": "2999-01-01"}, {"drop": "x"}])
    def test_nothing_is_kept_of_what_cannot_be(self, own: Any, tmp_path: Any, words: dict[str, str]) -> None:
        """Said in words of the page."""
        before = (tmp_path / "own.duckdb").stat().st_mtime_ns
        reply = own.post("/bench/transistor/keep", data={**_ASKED, "supplier": "tidemill", **words})
        assert reply.status_code == 400
        assert 'role="alert"' in reply.text
        assert (tmp_path / "own.duckdb").stat().st_mtime_ns == before

    def test_another_page_cannot_keep(self, own: Any, tmp_path: Any) -> None:
        """Nor can a link."""
        form = {**_ASKED, "supplier": "tidemill"}
        assert (
            own.post("/bench/transistor/keep", data=form, headers={"Origin": "http://evil.example"}).status_code == 403
        )
        assert own.get("/bench/transistor/keep", query_string=form).status_code == 405
        assert _kept(tmp_path / "own.duckdb") == []


class TestBoard:
    """What was measured, put into the board that the address carries."""

    def test_the_transistors_of_the_board_are_offered(self, client: Any) -> None:
        """And nothing where there is no board."""
        page = _asked(client, bare=True, **_ASKED, board=pack(_board()))
        assert "<option>mat A: Q1</option>" in page
        assert "Into the board" not in _asked(client, bare=True, **_ASKED)

    def test_the_upper_end_of_what_was_measured_is_put_there(self, client: Any, stocked: Any) -> None:
        """One line of the board's text changes; the page says so and leads there."""
        with Catalog.open(stocked) as catalog:
            found = measure("transistor", dict(_GIVEN), part="BRQ33324-40L", catalog=catalog, kelvin=True).as_measured
        assert found is not None
        value = f"{1e3 * found.resistance_ohm:.4g}mohm"
        form = {**_ASKED, "board": pack(_board()), "link": "mat B: Q2"}
        reply = client.post("/bench/transistor/board", data=form)
        text = unpack(_address(reply)["board"])
        link = tomllib.loads(text)["output"][1]["link"][1]
        assert link["measured_on_resistance"] == value
        assert len(set(text.splitlines()) ^ set(_board().splitlines())) == 1
        page = unescape(client.get(reply.headers["Location"]).text)
        assert f"The board now says that mat B: Q2 measures {value}" in page
        assert f'href="/board?board={_address(reply)["board"]}' in page

    @pytest.mark.parametrize(
        "words", [{"link": "Q99"}, {"link": ""}, {"drop": "", "current": "", "gate": "", "vth": "1.62V"}, {"board": ""}]
    )
    def test_what_cannot_be_put_changes_nothing(self, client: Any, words: dict[str, str]) -> None:
        """Said."""
        form = {**_ASKED, "board": pack(_board()), "link": "mat B: Q2", **words}
        reply = client.post("/bench/transistor/board", data=form)
        assert reply.status_code == 400
        assert 'role="alert"' in reply.text
