"""The page of a board: begun, opened, edited, mended, printed and saved, all of it in the address."""

from __future__ import annotations

import io
import re
import tomllib
from collections.abc import Mapping
from html import unescape
from typing import Any, TypeAlias
from urllib.parse import parse_qs, urlencode, urlsplit

import pytest

from loadworthy import shipped
from loadworthy.web.state import MOST_LETTERS, pack, unpack

GREENHOUSE = (shipped.catalog_dir() / "greenhouse" / "board.toml").read_text("utf-8")
HOSTILE = "<script>alert(1)</script>"
BEGUN = 'title = "b"\n\n[supply]\nvoltage = "12V"\n\n[surroundings]\nambient = "40degC"\n'
HEATER = '\n[[output]]\nname = "heater"\n\n[output.load]\nkind = "resistive"\npower = "60W"\n'
#: A trace that two outputs share, of which one is without a fuse: names no part.
FUSED = (
    BEGUN + HEATER + '\n[[output.link]]\nkind = "fuse"\nname = "F1"\ntype = "one-shot"\nrating = "10A"\n'
    '\n[[output.link]]\nkind = "plain"\nname = "K1"\nrated_current = "10A"\n'
)

Client: TypeAlias = Any


def _see(client: Client, text: str, path: str = "/board", *, status: int = 200, **more: str) -> str:
    reply = client.get(f"{path}?{urlencode({'board': pack(text), **more})}")
    assert reply.status_code == status, reply.text
    return str(reply.text)


def _send(client: Client, path: str, text: str | None, **fields: Any) -> Any:
    held = {} if text is None else {"board": pack(text)}
    return client.post(path, data={**held, **fields})


def _after(reply: Any) -> str:
    """Return the board's text in the address that a change leads to."""
    assert reply.status_code == 303, reply.text
    return unpack(parse_qs(urlsplit(reply.location).query)["board"][0])


def _tables(reply: Any) -> dict[str, Any]:
    return tomllib.loads(_after(reply))


def _filled(page: str) -> dict[str, str]:
    """Return what stands in the fields of a form, as a browser would send it."""
    found = dict(re.findall(r'<input type="(?:text|hidden)" name="([^"]+)"[^>]* value="([^"]*)"', page))
    found |= dict(re.findall(r'<input type="checkbox" name="([^"]+)"[^>]* value="([^"]*)"[^>]* checked', page))
    for name, inner in re.findall(r'<select name="([^"]+)"[^>]*>(.*?)</select>', page, re.DOTALL):
        chosen = re.search(r"<option[^>]* selected[^>]*>([^<]*)", inner)
        found[name] = chosen.group(1) if chosen else ""
    return {name: unescape(value) for name, value in found.items()}


class TestBeginning:
    """A board begun, opened or looked at."""

    def test_a_board_is_begun(self, client: Client) -> None:
        """Title, supply and air make its first text."""
        fields = {"title": "Bench", "supply.voltage": "12V", "supply.tolerance": "5%", "surroundings.ambient": "40degC"}
        text = _after(_send(client, "/board/edit", None, where="", **fields))
        assert tomllib.loads(text) == {
            "title": "Bench",
            "supply": {"voltage": "12V", "tolerance": "5%"},
            "surroundings": {"ambient": "40degC"},
        }
        assert "It has no output yet" in _see(client, text)

    def test_what_cannot_be_stands_at_its_field_and_nothing_is_lost(self, client: Client) -> None:
        """A voltage without a unit, an air that no board sees, a title left out."""
        fields = {"supply.voltage": "12", "surroundings.ambient": "900degC", "supply.most_current": "25A"}
        reply = _send(client, "/board/edit", None, where="", **fields)
        assert reply.status_code == 400
        for name in ("title", "supply.voltage", "surroundings.ambient"):
            assert f'id="w-{name}"' in reply.text
        assert 'id="w-supply.most_current"' not in reply.text
        assert {name: _filled(reply.text)[name] for name in fields} == fields

    @pytest.mark.parametrize("sent", ["file", "text"])
    def test_a_board_file_is_opened(self, client: Client, sent: str) -> None:
        """Chosen, or written; it goes on as it was."""
        fields = {"file": (io.BytesIO(GREENHOUSE.encode()), "board.toml")} if sent == "file" else {"text": GREENHOUSE}
        assert _after(client.post("/board/open", data=fields)) == GREENHOUSE

    @pytest.mark.parametrize(
        ("data", "said"),
        [
            (b"title = ", "no TOML"),
            (b"title = '\xff'", "UTF-8"),
            (b"  \n", "nothing stands in it"),
            (b"# " + b"x" * MOST_LETTERS, "letters"),
        ],
    )
    def test_what_is_no_board_file_is_said(self, client: Client, data: bytes, said: str) -> None:
        """With the file's name; what is text can be mended there."""
        reply = client.post("/board/open", data={"file": (io.BytesIO(data), f"{HOSTILE}.toml")})
        assert reply.status_code == 400
        assert said in reply.text.lower() or said in reply.text
        assert HOSTILE not in reply.text
        assert ("<textarea" in reply.text) == (said == "no TOML")

    def test_the_greenhouse_can_be_looked_at(self, client: Client) -> None:
        """As it is shipped; an order that is being written goes along."""
        reply = client.get("/board/greenhouse?order=abc")
        assert _after(reply) == GREENHOUSE
        assert "order=abc" in reply.location

    @pytest.mark.parametrize("path", ["/board/edit", "/board/do", "/board/place", "/board/mend", "/board/open"])
    def test_another_page_can_change_nothing(self, client: Client, path: str) -> None:
        """Nor can a link."""
        reply = client.post(path, data={"board": pack(GREENHOUSE)}, headers={"Origin": "http://elsewhere.example"})
        assert reply.status_code == 403
        if path in ("/board/do", "/board/place", "/board/open"):
            assert client.get(path).status_code == 405

    def test_an_address_that_was_cut_short_is_said(self, client: Client) -> None:
        """On a page, with the way out."""
        reply = client.get(f"/board?board={pack(GREENHOUSE)[:-20]}")
        assert reply.status_code == 400
        assert "cut short" in reply.text


class TestSeeing:
    """What the page says of a board."""

    def test_every_path_is_drawn_with_what_can_be_done(self, client: Client) -> None:
        """Each link of each output, and its controls."""
        page = _see(client, GREENHOUSE)
        assert page.count('class="path"') == 4
        assert "must carry 17.5 A and may carry 5 A" in page
        for do in ("up", "down", "remove"):
            assert f'value="{do} output[1].link[2]"' in page
        assert 'aria-label="Choose a part for Q1"' in page
        assert "another diode" in page

    def test_an_output_without_a_fuse_is_loud(self, client: Client) -> None:
        """Named, above all else."""
        assert "No fuse in the path of" not in _see(client, FUSED)
        bare = FUSED.replace(
            'kind = "fuse"\nname = "F1"\ntype = "one-shot"\nrating = "10A"', 'kind = "plain"\nrated_current = "9A"'
        )
        assert "No fuse in the path of heater" in _see(client, bare)

    def test_another_supply_and_other_air_can_be_looked_at(self, client: Client) -> None:
        """As one types: the answer alone, without the page round it."""
        query = urlencode({"board": pack(GREENHOUSE), "supply": "24V", "air": "60degC"})
        reply = client.get(f"/board?{query}", headers={"Loadworthy-Part": "answer"})
        assert "<html" not in reply.text
        assert "On 24V" in reply.text
        assert "air 60\N{NO-BREAK SPACE}°C" in reply.text or "air 60 °C" in reply.text
        assert "has no unit" in _see(client, GREENHOUSE, supply="24")

    def test_names_of_a_board_file_do_not_steer_the_page(self, client: Client) -> None:
        """Title, output, section, link and part."""
        text = GREENHOUSE
        for name in ("Propagation bench controller", "mat A", "inlet terminal", "Q1"):
            text = text.replace(f'"{name}"', f'"{name} {HOSTILE}"')
        for page in (_see(client, text), _see(client, text, "/board/mend"), _see(client, text, "/board/card")):
            assert HOSTILE not in page
            assert "&lt;script&gt;" in page
        assert HOSTILE not in _see(client, text, "/board/edit", where="output[1].link[2]")

    @pytest.mark.parametrize(
        ("more", "says"),
        [
            (HEATER, "heater"),
            ('\n[[output]]\nname = "heater"\n', "the table load is missing"),
            (HEATER + '\n[[output.link]]\nkind = "fuse"\ntype = "one-shot"\n', "None of rating, hold is given"),
            (HEATER + '\n[[output.link]]\nkind = "wire"\nlength = "4m"\n', "None of gauge, area is given"),
            (HEATER + '\n[[output.link]]\nkind = "trace"\n', "width is missing"),
            (HEATER + '\n[[output.link]]\nname = "x"\n', "kind is missing"),
            ("\noutput = 7\n", "is no list of tables"),
        ],
    )
    def test_a_board_that_is_half_finished_is_shown(self, client: Client, more: str, says: str) -> None:
        """With what is missing, and the way to say it."""
        page = _see(
            client, BEGUN.replace("\n\n[supply]", more + "\n[supply]", 1) if "output = 7" in more else BEGUN + more
        )
        assert says.lower() in unescape(page).lower()

    def test_a_board_that_names_parts_is_shown_without_a_catalogue(self, empty: Client) -> None:
        """It says why their figures are not at hand; a board without parts needs none."""
        page = _see(empty, FUSED + '\n[[output.link]]\nkind = "wire"\nlength = "2m"\npart = "DZ-16S"\n')
        assert "The figures of its parts are not at hand" in page
        assert "every link carries" in _see(empty, FUSED)
        assert _see(empty, FUSED, "/board/choose", status=503, where="output[1].link[1]")


class TestEditing:
    """Forms for what stands in the file."""

    @pytest.mark.parametrize("where", ["", "section[1]", "output[3]", "section[1].link[2]", "output[1].link[2]"])
    def test_a_form_that_is_sent_as_it_stands_changes_nothing(self, client: Client, where: str) -> None:
        """Not a letter of the file."""
        page = _see(client, GREENHOUSE, "/board/edit", where=where)
        fields = _filled(page.partition('<form action="/board/edit"')[2].partition("</form>")[0])
        assert _after(client.post("/board/edit", data=fields)) == GREENHOUSE

    def test_a_value_changes_and_the_rest_stays(self, client: Client) -> None:
        """One line of the file; the page opens at its output."""
        fields = _filled(
            _see(client, GREENHOUSE, "/board/edit", where="output[2].link[2]").partition("<form action")[2]
        )
        reply = client.post("/board/edit", data={**fields, "on_resistance": "3mohm"})
        pairs = zip(GREENHOUSE.splitlines(), _after(reply).splitlines(), strict=True)
        assert [new for old, new in pairs if old != new] == ['on_resistance = "3mohm"']
        assert reply.location.endswith("#output-2")

    @pytest.mark.parametrize(
        ("field", "typed", "said"),
        [
            ("vds", "55", "no unit"),
            ("package", "TO-999", "no package"),
            ("junction_max", "20degC", "at least"),
        ],
    )
    def test_a_wrong_value_is_said_at_its_field(self, client: Client, field: str, typed: str, said: str) -> None:
        """With what was typed still there, and the board as it was."""
        fields = _filled(
            _see(client, GREENHOUSE, "/board/edit", where="output[1].link[2]").partition("<form action")[2]
        )
        reply = client.post("/board/edit", data={**fields, field: typed})
        assert reply.status_code == 400
        reason = re.search(rf'id="w-{field}">([^<]*)', reply.text)
        assert reason is not None
        assert said in unescape(reason.group(1))
        assert _filled(reply.text)[field] == typed
        assert unpack(_filled(reply.text)["board"]) == GREENHOUSE

    @pytest.mark.parametrize(
        ("typed", "written"),
        [
            ("20degC 11.1A; 60degC 8.6A", [["20degC", "11.1A"], ["60degC", "8.6A"]]),
            ("20 degC 11.1 A; 60 degC 8.6 A;", [["20degC", "11.1A"], ["60degC", "8.6A"]]),
            ("20degC 11.1A", None),
            ("60degC 1A; 20degC 2A", None),
            ("about 10 A", None),
        ],
    )
    def test_a_curve_is_typed_in_pairs(self, client: Client, typed: str, written: Any) -> None:
        """Temperature and current; what is no curve is said."""
        given = {"where": "output[1].link", "kind_of_link": "connector", "derating": typed}
        reply = _send(client, "/board/edit", FUSED, **given)
        if written is None:
            assert reply.status_code == 400
            assert 'id="w-derating"' in reply.text
        else:
            assert _tables(reply)["output"][0]["link"][-1] == {"kind": "connector", "derating": written}

    def test_a_link_is_added_where_one_says(self, client: Client) -> None:
        """Its kind is chosen first, then its figures; counts and ticks are what they are."""
        page = _see(client, FUSED, "/board/add", where="output[1].link[1]")
        assert 'value="1" selected' in page
        assert 'name="kind" value="connector"' in page
        given = {
            "where": "output[1].link",
            "kind_of_link": "connector",
            "at_place": "1",
            "poles": "2",
            "unmarked": "yes",
        }
        links = _tables(_send(client, "/board/edit", FUSED, **given))["output"][0]["link"]
        assert links[1] == {"kind": "connector", "poles": 2, "unmarked": True}
        assert len(links) == 3

    def test_an_output_is_added_with_its_path_begun(self, client: Client) -> None:
        """Load, fuse, transistor, terminal and lead; what is still to be said of them is shown."""
        given = {"where": "output", "name": "fan", "load.kind": "inductive", "load.current": "2A", "lead": "4m"}
        text = _after(_send(client, "/board/edit", BEGUN, begin=["fuse", "transistor", "connector"], **given))
        output = tomllib.loads(text)["output"][0]
        assert output["load"] == {"kind": "inductive", "current": "2A"}
        assert [link["kind"] for link in output["link"]] == ["fuse", "transistor", "connector", "wire"]
        page = _see(client, text)
        assert "Still to be said, or chosen" in page
        assert "choose a freewheel diode" in page

    @pytest.mark.parametrize(
        ("given", "at"),
        [
            ({"name": "fan", "load.kind": "lamp", "load.power": "9W", "lead": "long"}, "lead"),
            ({"name": "fan", "load.kind": "lamp", "load.power": "-9W"}, "load.power"),
            ({"load.kind": "lamp", "load.power": "9W"}, "name"),
            ({"name": "heater", "load.kind": "lamp", "load.power": "9W"}, "name"),
            ({"name": "fan", "load.power": "9W", "fed_by": "nothing"}, "load.kind"),
        ],
    )
    def test_an_output_that_cannot_be_is_not_added(self, client: Client, given: Mapping[str, str], at: str) -> None:
        """What is wrong stands at its field."""
        reply = _send(client, "/board/edit", FUSED, where="output", **given)
        assert reply.status_code == 400
        assert f'href="#f-{at}"' in reply.text

    def test_a_load_is_said_in_one_way(self, client: Client) -> None:
        """Two ways exclude one another, none is too few."""
        for load in ({"load.power": "9W", "load.current": "1A"}, {}):
            reply = _send(client, "/board/edit", BEGUN, where="output", name="x", **{"load.kind": "lamp"}, **load)
            assert reply.status_code == 400
            assert "Give exactly one of them" in reply.text

    def test_a_section_is_added_and_feeds_what_is_ticked(self, client: Client) -> None:
        """And taken away again it leaves its outputs at the supply."""
        text = _after(_send(client, "/board/edit", FUSED, where="section", name="inlet", feeds=["heater"]))
        assert tomllib.loads(text)["output"][0]["fed_by"] == "inlet"
        assert _tables(_send(client, "/board/do", text, do="remove section[1]")) == tomllib.loads(FUSED)

    def test_links_move_and_go(self, client: Client) -> None:
        """By one button each."""
        down = _tables(_send(client, "/board/do", FUSED, do="down output[1].link[1]"))["output"][0]["link"]
        assert [link["name"] for link in down] == ["K1", "F1"]
        gone = _tables(_send(client, "/board/do", FUSED, do="remove output[1].link[1]"))["output"][0]["link"]
        assert [link["name"] for link in gone] == ["K1"]

    @pytest.mark.parametrize(
        "do", ["remove output[7]", "up output[1].link[1]", "burn output[1]", "remove", "up ../x", ""]
    )
    def test_what_cannot_be_done_is_said(self, client: Client, do: str) -> None:
        """On a page, never as a fault."""
        reply = _send(client, "/board/do", FUSED, do=do)
        assert reply.status_code == 400
        assert "fault of the program" not in reply.text

    @pytest.mark.parametrize(
        "where", ["output[9]", "section[1].link[9]", "nothing", "output[1].link[1].type", "supply", "x y"]
    )
    def test_there_is_no_form_for_what_is_not_there(self, client: Client, where: str) -> None:
        """It says so."""
        page = _see(client, FUSED, "/board/edit", status=400, where=where)
        assert "fault of the program" not in page


class TestMending:
    """Parts of the catalogue in the place of links."""

    def test_a_part_is_chosen_for_a_link_and_the_next_weakest_shows(self, client: Client) -> None:
        """The first that fits is put in; what it is for stays."""
        page = _see(client, GREENHOUSE, "/board/choose", where="output[1].link[2]")
        assert "With the first of these in place." in page
        assert "/need/transistor?" in page
        form = page.partition('<form method="post" action="/board/place">')[2].partition("</form>")[0]
        text = _after(client.post("/board/place", data=_filled(form)))
        link = tomllib.loads(text)["output"][0]["link"][1]
        assert link["name"] == "Q1"
        assert link["drive"] == "5V"
        assert "measured_on_resistance" not in link
        seen = _see(client, text)
        assert f'name="part" value="{link["part"]}"' in seen  # it can be ordered from the path
        short = 'first" form="go" formaction="/board/choose" name="where" value="{}"'
        assert short.format("output[1].link[2]") not in seen  # it is fit now
        assert short.format("section[1].link[1]") in seen

    def test_a_link_without_figures_is_chosen_for(self, client: Client) -> None:
        """A transistor of which nothing is said: the drive that is assumed is written down."""
        text = FUSED + '\n[[output.link]]\nkind = "transistor"\nname = "Q1"\n'
        form = _see(client, text, "/board/choose", where="output[1].link[3]").partition('action="/board/place">')[2]
        link = _tables(client.post("/board/place", data=_filled(form.partition("</form>")[0])))["output"][0]["link"][2]
        assert link["drive"] == "5V"
        assert link["part"]

    def test_a_freewheel_diode_is_chosen(self, client: Client) -> None:
        """For a pump that has none."""
        text = FUSED.replace('"resistive"', '"inductive"')
        form = _see(client, text, "/board/choose", where="output[1].freewheel").partition('action="/board/place">')[2]
        output = _tables(client.post("/board/place", data=_filled(form.partition("</form>")[0])))["output"][0]
        assert set(output["freewheel"]) >= {"part"}

    def test_a_wire_is_soldered_along_a_trace(self, client: Client) -> None:
        """No catalogue holds traces: what helps is done."""
        assert "Solder a wire of 4 mm²" in _see(client, GREENHOUSE, "/board/choose", where="section[1].link[3]")
        tables = _tables(_send(client, "/board/place", GREENHOUSE, where="section[1].link[3]"))
        assert tables["section"][0]["link"][2]["parallel_wire"] == "4mm2"

    def test_all_that_falls_short_is_mended_in_one_go(self, client: Client) -> None:
        """First it is shown, then it is done; the board carries then."""
        page = _see(client, GREENHOUSE, "/board/mend")
        assert "Nothing is changed until you say so" in page
        assert 'action="/order/add"' in page
        text = _after(_send(client, "/board/mend", GREENHOUSE))
        assert "# The heat mats" in text
        assert "every link carries its load" in _see(client, text)

    def test_where_nothing_falls_short_nothing_is_done(self, client: Client) -> None:
        """It says so, and has nothing to put in."""
        page = _see(client, FUSED.replace('rated_current = "10A"', 'rated_current = "30A"'), "/board/mend")
        assert "Nothing falls short" in page
        assert 'method="post" action="/board/mend"' not in page

    @pytest.mark.parametrize("where", ["output[9].link[1]", "nothing", "", "output[9].freewheel"])
    def test_nothing_is_chosen_for_what_is_not_there(self, client: Client, where: str) -> None:
        """It says so."""
        assert "the board has no link" in _see(client, FUSED, "/board/choose", status=400, where=where).lower()

    def test_a_board_that_cannot_be_judged_says_what_is_missing(self, client: Client) -> None:
        """Before anything is chosen for it."""
        text = BEGUN + HEATER + '\n[[output.link]]\nkind = "trace"\n'
        assert "width is missing" in _see(client, text, "/board/mend", status=400).lower()


class TestTaking:
    """What one takes away from the page."""

    def test_the_file_is_saved_as_it_is(self, client: Client) -> None:
        """Under the title's name."""
        reply = client.get(f"/board/file?{urlencode({'board': pack(GREENHOUSE)})}")
        assert reply.text == GREENHOUSE
        assert reply.headers["Content-Disposition"] == 'attachment; filename="propagation-bench-controller.toml"'
        odd = client.get(f"/board/file?{urlencode({'board': pack('title = ' + repr(HOSTILE + '/../ü'))})}")
        assert re.fullmatch(r'attachment; filename="[a-z0-9-]+\.toml"', odd.headers["Content-Disposition"])

    def test_the_card_for_the_lid_names_limits_and_fuses(self, client: Client) -> None:
        """And that never a larger one goes in."""
        page = _see(client, FUSED, "/board/card")
        assert "heater: F1" in page
        assert "Never a larger one" in page
        assert "data-print" in page
