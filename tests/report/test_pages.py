"""A report as a page: whole in itself, true to what the layers below say, and safe from every text that it shows."""

from __future__ import annotations

import copy
import itertools
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from html.parser import HTMLParser
from typing import Any

import pytest
from board_parts import blade, catalog_of, mosfet, terminal
from hypothesis import given, settings
from hypothesis import strategies as st
from path_catalogs import SmallCatalog
from report_shop import DAY, ORDER, report_shop

from loadworthy import shipped
from loadworthy.bench import measure
from loadworthy.boards import audit, read_board, read_text
from loadworthy.dossier import study_board, study_choice, study_order
from loadworthy.needs import ConnectorNeed, FuseNeed, TransistorNeed
from loadworthy.quantities import show
from loadworthy.report.pages import report_page
from loadworthy.report.text import STEERING, clean
from loadworthy.shopping import read_order_text

VOID = frozenset({"meta", "link", "br", "hr", "input", "img", "source", "col", "base"})
#: What tries to become part of the page: markup, a template's own signs, controls, a turn of the direction of writing.
SCRIPT, IMAGE, BRACES = "<script>alert(1)</script>", '"><img src=x onerror=alert(1)>', "{{7*7}}{% raw %}"
HOSTILE = f"{SCRIPT} {IMAGE} {BRACES} '\x00\x1b[2J\u202eend &lt;b&gt; </style></title></textarea>--><!--"


@dataclass
class Node:
    """An element of a page."""

    tag: str
    attrs: dict[str, str] = field(default_factory=dict)
    inside: list[Node | str] = field(default_factory=list)

    def walk(self) -> Iterator[Node]:
        """Return this and every element inside, in the order in which they stand."""
        yield self
        for one in self.inside:
            if isinstance(one, Node):
                yield from one.walk()

    def all(self, tag: str, **attrs: str) -> list[Node]:
        """Return the elements inside with this tag, these words in their class, and these attributes."""
        words = attrs.pop("of", None)
        return [
            one
            for one in self.walk()
            if one.tag == tag
            and (words is None or words in one.attrs.get("class", "").split())
            and all(one.attrs.get(name) == value for name, value in attrs.items())
        ]

    def one(self, tag: str, **attrs: str) -> Node:
        """Return the only such element."""
        (found,) = self.all(tag, **attrs)
        return found

    @property
    def text(self) -> str:
        """Return all text inside; a blank stands between elements, and one for any number of blanks."""
        return " ".join(" ".join(self._texts()).split())

    def _texts(self) -> Iterator[str]:
        for one in self.inside:
            if isinstance(one, Node):
                yield from one._texts()
            else:
                yield one


class _Reader(HTMLParser):
    """Reads a page and refuses one whose elements are not closed in their order."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.top = Node("page")
        self.open = [self.top]

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        names = [name for name, _ in attrs]
        assert len(names) == len(set(names)), f"<{tag}> has an attribute twice: {names}"
        node = Node(tag, {name: value or "" for name, value in attrs})
        self.open[-1].inside.append(node)
        if tag not in VOID:
            self.open.append(node)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.handle_starttag(tag, attrs)
        if tag not in VOID:
            self.open.pop()

    def handle_endtag(self, tag: str) -> None:
        assert self.open[-1].tag == tag, f"</{tag}> closes <{self.open[-1].tag}>"
        self.open.pop()

    def handle_data(self, data: str) -> None:
        self.open[-1].inside.append(data)


def parsed(page: str) -> Node:
    """Read a page."""
    reader = _Reader()
    reader.feed(page)
    reader.close()
    assert reader.open == [reader.top], [one.tag for one in reader.open]
    return reader.top


def made(*sections: tuple[str, Any]) -> str:
    """Make a page of studies as they are."""
    told = [(kind, one if isinstance(one, dict) else one.as_json()) for kind, one in sections]
    return report_page(told, title="All of it", made_on=DAY)


def place_of(page: Node, text: str) -> list[int]:
    """Return at which elements' own text something stands, as places in the order of the page."""
    return [
        number
        for number, one in enumerate(page.walk())
        if text in " ".join(" ".join(word for word in one.inside if isinstance(word, str)).split())
    ]


def number_of(page: Node, wanted: Node) -> int:
    """Return the place of an element in the order of the page."""
    return next(number for number, one in enumerate(page.walk()) if one is wanted)


def cells(table: Node) -> list[list[str]]:
    """Return the texts of a table's body, row by row; cells that reach over rows stand once."""
    return [[one.text for one in row.inside if isinstance(one, Node)] for row in table.one("tbody").all("tr")]


def tables(part: Node, caption: str) -> list[Node]:
    """Return the tables of that caption."""
    return [one for one in part.all("table") if any(said.text == caption for said in one.all("caption"))]


@pytest.fixture(scope="module")
def shop() -> SmallCatalog:
    """Return a catalogue with something of everything, offers, and a measurement of its best transistor kept."""
    return report_shop()


@pytest.fixture(scope="module")
def board(shop: SmallCatalog) -> dict[str, Any]:
    """Return the study of the greenhouse's board."""
    return study_board(read_board(shipped.catalog_dir() / "greenhouse" / "board.toml"), shop).as_json()


@pytest.fixture(scope="module")
def order(shop: SmallCatalog) -> dict[str, Any]:
    """Return the study of a small order."""
    return study_order(read_order_text(ORDER), shop, today=DAY).as_json()


@pytest.fixture(scope="module")
def bench(shop: SmallCatalog) -> dict[str, Any]:
    """Return a measurement, as its JSON file holds it."""
    given = {
        "drop": "96.0mV",
        "current": "6.00A",
        "gate": "4.5V",
        "temp": "25degC",
        "pulse": "300us",
        "marking": "differs",
    }
    return measure("transistor", given, part="M-best", catalog=shop, kelvin=True).as_json()


@pytest.fixture(scope="module")
def text(board: dict[str, Any], order: dict[str, Any], bench: dict[str, Any]) -> str:
    """Return the page of a board, an order, a measurement, and the same board once more."""
    return made(("board", board), ("order", order), ("bench", bench), ("board", board))


@pytest.fixture(scope="module")
def page(text: str) -> Node:
    """Return that page read."""
    return parsed(text)


def section(page: Node, number: int) -> Node:
    """Return one of a page's sections."""
    return page.one("section", id=f"s{number}")


class TestThePage:
    """What any page of HTML has to be, and what this one promises."""

    def test_nothing_is_fetched(self, page: Node) -> None:
        """Every reference leads inside the page."""
        for one in page.walk():
            assert one.tag not in {
                "script",
                "link",
                "iframe",
                "object",
                "embed",
                "img",
                "base",
                "form",
                "video",
                "audio",
            }
            for name, value in one.attrs.items():
                assert not name.startswith("on"), one
                if name in {"href", "src", "xlink:href", "action", "srcset", "poster", "data", "background"}:
                    assert value.startswith("#"), one
                assert all(target.startswith("#") for target in re.findall(r"url\(\s*['\"]?([^)]*)", value)), one

    def test_the_style_fetches_nothing(self, page: Node) -> None:
        """One style, inside, with no address in it."""
        style = page.one("style").text
        assert "@import" not in style
        assert "url(" not in style
        assert "//" not in style

    def test_ids_are_unique_and_every_reference_has_its_id(self, page: Node) -> None:
        """Also with one board twice on the page."""
        ids = [one.attrs["id"] for one in page.walk() if "id" in one.attrs]
        assert len(ids) == len(set(ids))
        for one in page.walk():
            wanted = one.attrs.get("aria-labelledby", "").split()
            wanted += [one.attrs["href"].removeprefix("#")] if "href" in one.attrs else []
            wanted += re.findall(r"url\(#([^)]+)\)", " ".join(one.attrs.values()))
            assert set(wanted) <= set(ids), one

    def test_headings_stand_in_order(self, page: Node) -> None:
        """One of the first level, and no level is skipped on the way down."""
        levels = [int(one.tag[1]) for one in page.walk() if re.fullmatch("h[1-6]", one.tag)]
        assert levels[0] == 1
        assert levels.count(1) == 1
        assert all(after <= before + 1 for before, after in itertools.pairwise(levels))

    def test_it_says_its_language_its_letters_and_its_width(self, page: Node) -> None:
        """What a browser and a reader that speaks need first."""
        assert page.one("html").attrs["lang"] == "en"
        assert page.one("head").all("meta")[0].attrs["charset"] == "utf-8"
        assert "width=device-width" in page.one("meta", name="viewport").attrs["content"]
        assert page.one("head").one("title").text.startswith("All of it")

    def test_every_heading_of_a_table_is_one_and_rows_are_as_long(self, page: Node) -> None:
        """Each cell stands under a heading."""
        assert page.all("table")
        for table in page.all("table"):
            heads = table.one("thead").all("th")
            assert all(one.attrs["scope"] == "col" for one in heads)
            over = 0  # cells of the row before that reach into this one
            for row in table.one("tbody").all("tr"):
                found = [one for one in row.inside if isinstance(one, Node)]
                assert len(found) + over == len(heads), table.text
                over = sum(one.attrs.get("rowspan") == "2" for one in found)

    def test_a_way_to_every_section_stands_at_the_top(self, page: Node) -> None:
        """Also to the card for the lid."""
        ways = [one.attrs["href"] for one in page.one("nav").all("a")]
        assert {"#s1", "#s2", "#s3", "#s4", "#s1-card", "#s4-card"} <= set(ways)


class TestPaths:
    """Every output's way, link by link."""

    def audits(self, board: dict[str, Any]) -> list[dict[str, Any]]:
        """Return the board as it is, and with everything in place."""
        return [board["board"], board["board"]["mended"]["audit"]]

    def drawn(self, page: Node, board: dict[str, Any]) -> list[tuple[dict[str, Any], dict[str, Any], Node]]:
        """Return audit, output and picture, in order."""
        outputs = [(told, output) for told in self.audits(board) for output in told["outputs"]]
        paths = section(page, 1).all("ol", of="path")
        assert len(paths) == len(outputs)
        return [(told, output, path) for (told, output), path in zip(outputs, paths, strict=True)]

    def test_every_link_stands_in_order(self, page: Node, board: dict[str, Any]) -> None:
        """From the supply to the load, by the path of the audit."""
        for told, output, path in self.drawn(page, board):
            names = {line["where"]: line["link"] for line in told["links"]}
            wanted = ["supply", *(names[where] for where in output["path"]), output["output"]]
            items = [one for one in path.inside if isinstance(one, Node)]
            assert len(items) == len(wanted)
            assert all(one.text.startswith(name) for one, name in zip(items, wanted, strict=True))
            assert output["output"] in path.attrs["aria-label"]

    def test_every_link_says_what_it_may_and_must(self, page: Node, board: dict[str, Any]) -> None:
        """In words beside the bar, and its verdict with them."""
        for told, output, path in self.drawn(page, board):
            lines = {line["where"]: line for line in told["links"]}
            items = [one for one in path.inside if isinstance(one, Node)][1:-1]
            for item, where in zip(items, output["path"], strict=True):
                line = lines[where]
                assert f"it may carry {show(line['usable_a'], 'A')}" in item.text
                assert f"must carry {show(line['current_a'], 'A')}" in item.text
                assert line["verdict"] in item.text

    def test_bars_are_as_long_as_the_share_that_they_show(self, page: Node, board: dict[str, Any]) -> None:
        """The upright line is what must be carried; the bar ends before it just where the link falls short."""
        for told, output, path in self.drawn(page, board):
            lines = {line["where"]: line for line in told["links"]}
            items = [one for one in path.inside if isinstance(one, Node)][1:-1]
            for item, where in zip(items, output["path"], strict=True):
                bar = item.one("svg", of="bar")
                width = float(bar.all("rect")[1].attrs["width"])
                line = lines[where]
                assert bar.one("path", of="must").attrs["d"].startswith("M100 ")
                assert width == pytest.approx(min(100.0 * line["usable_a"] / line["current_a"], 200.0), abs=0.01)
                assert (width < 100.0) == (line["verdict"] == "falls short")

    def test_just_one_is_marked_as_the_weakest_and_in_words(self, page: Node, board: dict[str, Any]) -> None:
        """It is the one that the audit names."""
        for told, output, path in self.drawn(page, board):
            marked = [one for one in path.all("li") if "gives in first" in one.text]
            assert len(marked) == 1
            weakest = {f"{line['of']}: {line['link']}": line for line in told["links"]}[output["weakest"]]
            assert marked[0].text.startswith(weakest["link"])
            assert path.all("li", of="weakest") == marked

    def test_a_link_of_which_nothing_is_known_has_no_bar_that_says_else(self) -> None:
        """It is drawn dashed, and says so; where nothing is known of any, none is marked."""
        told = audit(
            read_text(
                'title = "b"\n[supply]\nvoltage = "12V"\n[surroundings]\nambient = "30degC"\n[[output]]\nname = "mat"\n'
                '[output.load]\nkind = "resistive"\ncurrent = "1A"\n[[output.link]]\nkind = "transistor"\n'
                'name = "Q1"\non_resistance = "4mohm"\nheatsink = "10K/W"\n',  # of what is under it nothing is said
                name="b.toml",
            )
        ).as_json()
        (line,) = told["links"]
        assert line["usable_a"] is None
        path = parsed(made(("board", {"board": told, "choices": []}))).one("ol", of="path")
        assert "not known" in path.text
        assert path.all("rect", of="unsure")
        assert not path.all("rect", of="may")
        assert "gives in first" not in path.text

    def test_links_of_one_name_are_not_marked_both(self) -> None:
        """A section and an output of one name, each with a relay of one name: one of them gives in first."""
        relay = 'kind = "plain"\nname = "K1"\nrated_current = "{}A"\n'
        told = audit(
            read_text(
                'title = "b"\n[supply]\nvoltage = "12V"\n[surroundings]\nambient = "30degC"\n[[section]]\n'
                f'name = "mat"\n[[section.link]]\n{relay.format(3)}[[output]]\nname = "mat"\nfed_by = "mat"\n'
                f'[output.load]\nkind = "resistive"\ncurrent = "1A"\n[[output.link]]\n{relay.format(2)}',
                name="b.toml",
            )
        ).as_json()
        path = parsed(made(("board", {"board": told, "choices": []}))).one("ol", of="path")
        assert [one.text.count("gives in first") for one in path.all("li")] == [0, 0, 1, 0]


class TestCard:
    """The card for the lid."""

    def test_every_figure_is_that_of_the_audit(self, page: Node, board: dict[str, Any]) -> None:
        """Greatest current, least resistance, greatest power; alone and with the others on."""
        cards = section(page, 1).all("section", of="card")
        audits = [board["board"], board["board"]["mended"]["audit"]]
        assert len(cards) == len(audits)
        for card, told in zip(cards, audits, strict=True):
            rows = cells(card.one("table"))
            bounds = [(one["output"], one[name]) for one in told["outputs"] for name in ("alone", "together")]
            assert len(rows) == len(bounds)
            for number, (row, (name, bound)) in enumerate(zip(rows, bounds, strict=True)):
                if number % 2 == 0:
                    assert row.pop(0) == name
                assert row[0] == ("off", "on")[number % 2]
                assert row[-1] == bound["stopped_by"]
                if bound["current_a"] == 0.0:
                    assert row[1:-1] == ["nothing", "–", "–", "0 W"]
                else:
                    assert row[1] == show(bound["current_a"], "A")
                    assert row[2] == show(bound["least_resistance_ohm"], "ohm")
                    assert row[4] == show(bound["greatest_power_w"], "W")

    def test_the_card_says_which_board_and_air_and_fuses_it_is_true_for(
        self, page: Node, board: dict[str, Any]
    ) -> None:
        """Supply, air, fuses, the day; and a board that falls short says so on it."""
        now, then = section(page, 1).all("section", of="card")
        for card in (now, then):
            assert board["board"]["title"] in card.text
            assert "12 V" in card.text
            assert "40 °C" in card.text
            assert DAY.isoformat() in card.text
            assert "Never a larger" in card.text
            assert "main fuse" in card.text
        assert "Not everything here carries its load" in now.text
        assert (
            "Not everything here carries its load" not in then.text
            or board["board"]["mended"]["audit"]["verdict"] != "carries"
        )

    def test_a_board_without_a_fuse_says_so_on_its_card_and_above_its_paths(self) -> None:
        """Not in a footer."""
        told = audit(
            read_text(
                'title = "b"\n[supply]\nvoltage = "12V"\n[surroundings]\nambient = "30degC"\n[[output]]\nname = "mat"\n'
                '[output.load]\nkind = "resistive"\ncurrent = "1A"\n[[output.link]]\nkind = "plain"\nname = "K1"\n'
                'rated_current = "5A"\n',
                name="b.toml",
            )
        ).as_json()
        page = parsed(made(("board", {"board": told, "choices": []})))
        assert "No fuse" in page.one("section", of="card").text
        (warned,) = place_of(page, "No fuse in the path of mat")
        assert warned < number_of(page, page.one("ol", of="path"))

    @pytest.mark.parametrize(
        "load",
        [
            'kind = "inductive"\npower = "24W"\ninductance = "4mH"',
            'kind = "lamp"\npower = "21W"\ncold_resistance = "0.6ohm"',
            'kind = "resistive"\nresistance = "1.6ohm"\ncold_resistance = "1.4ohm"\ntolerance = "5%"',
            'kind = "resistive"\ncurrent = "3A"\npwm = "500Hz"\nduty = "60%"',
        ],
    )
    def test_any_kind_of_load_has_a_card(self, load: str) -> None:
        """What is not known is a dash, what is known is there."""
        told = audit(
            read_text(
                'title = "b"\n[supply]\nvoltage = "12V"\n[surroundings]\nambient = "30degC"\n[[output]]\nname = "it"\n'
                f'[output.load]\n{load}\n[output.freewheel]\ncurrent = "5A"\nvoltage = "40V"\n[[output.link]]\n'
                'kind = "plain"\nname = "K1"\nrated_current = "5A"\n',
                name="b.toml",
            )
        ).as_json()
        rows = cells(parsed(made(("board", {"board": told, "choices": []}))).one("section", of="card").one("table"))
        bound = told["outputs"][0]["alone"]
        assert rows[0][2] == show(bound["current_a"], "A") == "5 A"
        assert rows[0][3] == show(bound["least_resistance_ohm"], "ohm")
        cold = bound["least_cold_ohm"]
        assert rows[0][4] == ("–" if cold is None else show(cold, "ohm"))
        assert rows[0][5] == show(bound["greatest_power_w"], "W")


class TestChoices:
    """Ranked parts, what stopped the rest, near misses, pictures, arithmetic."""

    NEED = TransistorNeed(supply="12V", current="8A", drive="5V")

    @pytest.fixture(scope="class")
    @classmethod
    def told(cls, shop: SmallCatalog) -> dict[str, Any]:
        """Return the study of a choice."""
        return study_choice(shop, cls.NEED, title="A transistor").as_json()

    @pytest.fixture(scope="class")
    @classmethod
    def shown(cls, told: dict[str, Any]) -> Node:
        """Return its page."""
        return parsed(made(("choice", told)))

    def test_every_ranked_part_stands_in_its_rank_with_units(self, told: dict[str, Any], shown: Node) -> None:
        """And what a figure is in stands in its heading."""
        (table,) = tables(shown, "Parts that fit, the best first")
        rows = cells(table)
        ranked = told["choice"]["ranked"]
        assert [row[:2] for row in rows] == [[str(one["rank"]), one["part_number"]] for one in ranked]
        heads = [one.text for one in table.one("thead").all("th")]
        assert {"V", "W", "°C", "mΩ"} <= {one.text for one in table.one("thead").all("span", of="unit")}
        loss = next(number for number, head in enumerate(heads) if head.startswith("loss when on"))
        assert [float(row[loss]) for row in rows] == pytest.approx(
            [one["conduction_loss_w"] for one in ranked], rel=5e-3
        )

    def test_counts_of_what_stopped_the_rest(self, told: dict[str, Any], shown: Node) -> None:
        """Criterion by criterion, and how many fit of how many."""
        counts = told["choice"]["counts"]
        rows = cells(tables(shown, "What stopped the rest, each part counted once")[0])
        stopped = {row[0]: int(row[2]) for row in rows if row[2].strip()}
        assert stopped == {name: number for name, number in counts["stopped"].items() if number}
        assert sum(stopped.values()) + counts["fit"] == counts["considered"]
        assert f"{counts['fit']} of {counts['considered']} parts fit." in shown.text

    def test_near_misses(self, told: dict[str, Any], shown: Node) -> None:
        """Which part, by what, what it has and what it would need."""
        misses = told["choice"]["near_misses"]
        assert {one["part_number"] for one in misses} == {"M-10V", "M-low"}
        rows = cells(tables(shown, "One step short")[0])
        assert [row[0] for row in rows] == [one["part_number"] for one in misses]
        low = next(row for row in rows if row[0] == "M-low")
        # Common practice: 1.5 × the supply.
        assert {"voltage", "15 V", "18 V"} <= set(low)

    def test_the_picture_says_load_limits_and_what_the_first_do(self, told: dict[str, Any], shown: Node) -> None:
        """Three parts at the load's current, the limit of the junction, in text that can be read and found."""
        picture = shown.all("svg", of="picture")[0]  # another shows what was measured
        drawn = [one.text for one in picture.all("text")]
        curves = told["curves"]["curves"]
        assert [one["name"] for one in curves] == ["M-best", "M-second", "M-third"]
        assert "the load: 8 A" in drawn
        assert "limit 125 °C" in drawn
        for one in curves:
            at = one["at_target"]
            assert one["name"] in drawn
            assert f"{show(at['heat_w'], 'W')}, {show(at['junction_degc'], 'degC')}" in drawn

    def test_assumptions_and_sources_are_one_step_away(self, told: dict[str, Any], shown: Node) -> None:
        """Every formula of the first part with its numbers and its source, every criterion with its own."""
        opened = shown.one("details").text
        for line in told["explained"]["formulas"]:
            for word in (line["text"], line["worked"], line["source"]):
                assert " ".join(word.split()) in opened
        for line in told["explained"]["criteria"]:
            assert " ".join(line["source"].split()) in opened
        for word in told["explained"]["assumed"]:
            assert word in opened
        for row in told["choice"]["ranked"]:
            assert all(word in shown.text for word in row["assumed"])

    def test_the_fitted_part_stands_in_the_picture_with_where_it_runs_away(
        self, page: Node, board: dict[str, Any]
    ) -> None:
        """The board's Q1 as measured: it comes to no rest at the load's current."""
        study = next(one for one in board["choices"] if one["family"] == "transistor")
        fitted = next(one for one in study["curves"]["curves"] if one["fitted"])
        assert fitted["runs_away_at_target"]
        drawn = [one.text for one in section(page, 1).all("text")]
        assert "fitted now: Q1" in drawn
        assert f"runs away at {show(fitted['runaway']['current_a'], 'A')}" in drawn
        assert f"the load: {show(study['curves']['target_a'], 'A')}" in drawn

    @pytest.mark.parametrize(
        "need",
        [
            ConnectorNeed(supply="12V", current="8A", poles="2", pitch="5.08mm", ambient="40degC"),
            FuseNeed(supply="12V", current="8A", ambient="40degC"),
        ],
    )
    def test_derating_has_its_operating_point(self, shop: SmallCatalog, need: Any) -> None:
        """Load and air, and what the first may carry there."""
        told = study_choice(shop, need, title="It").as_json()
        at = told["derating"]["operating"]
        drawn = [one.text for one in parsed(made(("choice", told))).one("svg", of="picture").all("text")]
        assert told["choice"]["ranked"][0]["part_number"] in drawn
        assert f"● the load: 8 A at 40 °C; may carry {show(at['usable_a'], 'A')}" in drawn

    def test_nothing_fits(self, shop: SmallCatalog) -> None:
        """It says so; no table of nothing, no picture, and the near misses stand."""
        told = study_choice(shop, TransistorNeed(supply="12V", current="8A", drive="3V"), title="It").as_json()
        page = parsed(made(("choice", told)))
        assert f"0 of {told['choice']['counts']['considered']} parts fit." in page.text
        assert not tables(page, "Parts that fit, the best first")
        assert cells(tables(page, "One step short")[0])
        assert not page.all("svg", of="picture")


class TestPlan:
    """What to buy."""

    def test_total_sums_and_purchases(self, page: Node, order: dict[str, Any]) -> None:
        """As the plan has them."""
        plan, shown = order["plan"], section(page, 2)
        totals = plan["totals"]
        assert f"{totals['total']:.2f} EUR in all" in shown.text
        assert f"{totals['per_board']:.2f} EUR for each of 3 boards" in shown.text
        for one in plan["suppliers"]:
            (table,) = tables(shown, f"To buy from {one['supplier']}")
            heads = [head.text for head in table.one("thead").all("th")]
            for row, wanted in zip(cells(table), one["lines"], strict=True):
                found = dict(zip(heads, row, strict=True))
                assert found["pieces"] == str(wanted["pieces"])
                assert found["part number"] == wanted["part_number"]
                assert found["comes to"] == f"{wanted['amount']:.2f}"
            assert f"total {one['total']:.2f} EUR" in shown.text

    def test_what_is_easily_forgotten_stands_in_it(self, page: Node, order: dict[str, Any]) -> None:
        """To be ticked on paper."""
        assert order["plan"]["forgotten"]
        for one in order["plan"]["forgotten"]:
            assert one["what"] in section(page, 2).text

    def test_the_choice_behind_a_line_stands_in_it(self, page: Node) -> None:
        """With its table and its picture."""
        assert tables(section(page, 2), "Parts that fit, the best first")
        assert section(page, 2).all("svg", of="picture")


class TestMeasured:
    """What was measured, with its uncertainty."""

    def test_what_was_kept_stands_beside_the_part(self, page: Node, board: dict[str, Any]) -> None:
        """11.4 mV at 6 A is 1.9 mΩ, with its interval and its verdict; sample and part are named."""
        study = next(one for one in board["choices"] if one["family"] == "transistor")
        (kept,) = study["measured"]
        assert kept["value"] == pytest.approx(0.0114 / 6.0, rel=1e-3)
        drawn = [one.text for one in section(page, 1).all("text")]
        shown = next(one for one in drawn if one.startswith("1.9") and "±" in one)
        assert shown.endswith("mΩ")
        assert "claimed: at most 2 mΩ" in drawn
        assert any(one.startswith("M-best, ") for one in drawn)

    def test_a_measurement_of_its_own(self, page: Node, bench: dict[str, Any]) -> None:
        """96 mV at 6 A is 16 mΩ, far outside 2 mΩ: table, picture, verdict, and what was only looked at."""
        shown = section(page, 3)
        rows = cells(shown.one("table"))
        assert [row[0] for row in rows] == [one["title"] for one in bench["samples"][0]["findings"]]
        resistance = next(row for row in rows if row[0] == "on-resistance")
        assert resistance[1].startswith(("15.9", "16"))
        assert "±" in resistance[1]
        assert "outside" in resistance
        assert any("±" in one.text for one in shown.all("text"))
        for line in bench["as_measured"]["assumed"]:
            assert line in shown.text

    def test_the_bar_is_as_wide_as_its_interval(self, page: Node) -> None:
        """Each has a mark of the value and a line of the uncertainty."""
        picture = section(page, 3).one("svg", of="picture")
        assert [one for one in picture.walk() if one.attrs.get("id", "").endswith("-uncertainty")]
        assert [one for one in picture.walk() if one.attrs.get("id", "").endswith("-measured")]


class TestCautions:
    """Where they matter: above what they are about."""

    def test_those_of_a_board_stand_above_its_paths(self, page: Node, board: dict[str, Any]) -> None:
        """Every one, in a box that says what it is."""
        for number in (1, 4):
            part = section(page, number)
            first = number_of(part, part.all("ol", of="path")[0])
            for caution in board["board"]["cautions"]:
                assert min(place_of(part, caution)) < first

    def test_those_of_a_choice_stand_above_its_parts(self, shop: SmallCatalog) -> None:
        """Before the table that is read first."""
        told = study_choice(shop, FuseNeed(supply="12V", current="8A"), title="It").as_json()
        page = parsed(made(("choice", told)))
        table = number_of(page, tables(page, "Parts that fit, the best first")[0])
        assert told["choice"]["cautions"]
        for caution in told["choice"]["cautions"]:
            assert min(place_of(page, caution)) < table

    def test_those_of_a_plan_stand_above_what_is_bought(self, page: Node, order: dict[str, Any]) -> None:
        """Not below the last table."""
        part = section(page, 2)
        first = number_of(part, part.all("table")[0])
        assert order["plan"]["cautions"]
        for caution in order["plan"]["cautions"]:
            assert min(place_of(part, caution)) < first

    def test_those_of_a_measurement_stand_above_its_figures(self, page: Node, bench: dict[str, Any]) -> None:
        """As the others."""
        part = section(page, 3)
        first = number_of(part, part.all("table")[0])
        for caution in bench["cautions"]:
            assert min(place_of(part, caution)) < first

    def test_what_a_fuse_does_not_protect_stands_with_its_output(self, page: Node, board: dict[str, Any]) -> None:
        """In a box, for each output that has such a warning."""
        boxes = [one.text for one in section(page, 1).all("div", of="caution")]
        for one in board["board"]["protection"]:
            assert all(any(warning in box for box in boxes) for warning in one["warnings"])

    def test_each_stands_once_in_a_section(self, page: Node, board: dict[str, Any]) -> None:
        """What is said too often is not read."""
        part = section(page, 1)
        for caution in board["board"]["cautions"]:
            boxed = [line for box in part.all("div", of="caution") for line in box.all("li") if line.text == caution]
            assert len(boxed) == 1


def safe(text: str) -> Node:
    """Read a page that shows hostile texts; nothing of them may be anything but text."""
    page = parsed(text)
    for one in page.walk():
        assert one.tag not in {"script", "img", "iframe", "textarea"}
        assert not [name for name in one.attrs if name.startswith("on") or not re.fullmatch(r"[a-zA-Z:_-]+", name)]
    assert not (set(STEERING.findall(text)) - {"\n"})
    assert "<!--" not in text
    assert len(page.all("style")) == 1
    assert page.one("head").one("title").text.endswith("Loadworthy")
    return page


class TestHostileTexts:
    """Lists, boards and files hold what they hold; on the page it is text."""

    HOSTILE_BOARD = f"""
title = '''{BRACES} {SCRIPT} {IMAGE}'''
[supply]
voltage = "12V"
[surroundings]
ambient = "40degC"
[[section]]
name = '''in {IMAGE}'''
[[section.link]]
kind = "connector"
name = '''{SCRIPT}'''
unmarked = true
poles = 2
pitch = "5.08mm"
[[output]]
name = '''{BRACES} \u202emat'''
fed_by = '''in {IMAGE}'''
[output.load]
kind = "resistive"
resistance = "1.6ohm"
[[output.link]]
kind = "transistor"
name = '''Q {IMAGE}'''
on_resistance = "40mohm"
package = "TO-220"
drive = "5V"
"""

    @pytest.fixture(scope="class")
    @classmethod
    def shelf(cls) -> SmallCatalog:
        """Return a catalogue whose every text is hostile."""
        parts = {
            "connector": [terminal("T-" + HOSTILE, 41.0, maker=HOSTILE, series=HOSTILE)],
            "transistor": [
                mosfet("M-" + HOSTILE, {4.5: 0.002}, maker=HOSTILE, differs=HOSTILE),
                mosfet("M-10V" + HOSTILE, {10.0: 0.002}, maker=HOSTILE),
            ],
            "fuse": [blade("B-" + HOSTILE, 10.0, maker=HOSTILE)],
        }
        offers = [
            {"part_key": f"{part['maker']}|{part['part_number']}", "family": family, "supplier": HOSTILE,
             "order_number": HOSTILE, "currency": "EUR", "unit_price": 0.5, "stock": 50}
            for family, listed in parts.items() for part in listed
        ]  # fmt: skip
        return catalog_of(offers=offers, **parts)

    def test_of_a_board_and_a_catalogue(self, shelf: SmallCatalog) -> None:
        """Names of links, outputs, makers, parts and suppliers."""
        told = study_board(read_text(self.HOSTILE_BOARD, name="b.toml"), shelf)
        page = safe(made(("board", told)))
        text = page.text
        assert SCRIPT in text
        assert IMAGE in text
        assert BRACES in text
        assert "␛[2J�end" in text
        assert "49" not in page.one("h2").text
        assert any(SCRIPT in one.text for one in page.all("text"))

    @pytest.mark.parametrize(
        "need",
        [
            TransistorNeed(supply="12V", current="8A", drive="5V"),
            ConnectorNeed(supply="12V", current="8A"),
            FuseNeed(supply="12V", current="8A"),
        ],
    )
    def test_of_a_choice(self, shelf: SmallCatalog, need: Any) -> None:
        """In its table, its pictures, their words for those who do not see them, and its arithmetic."""
        told = study_choice(shelf, need, title=HOSTILE)
        assert told.selection.ranked
        page = safe(made(("choice", told)))
        (table,) = tables(page, "Parts that fit, the best first")
        assert clean(HOSTILE)[:60] in table.text

    def test_of_an_order(self, shelf: SmallCatalog) -> None:
        """Its title, the names of its lines, who sells."""
        text = f"""
title = '''{SCRIPT}'''
currency = "EUR"
[[line]]
name = '''{IMAGE}'''
quantity = 1
[line.need]
family = "fuse"
supply = "12V"
current = "5A"
"""
        page = safe(made(("order", study_order(read_order_text(text), shelf, today=DAY))))
        assert page.all("h2")[0].text == SCRIPT
        assert IMAGE in page.text

    def test_of_a_measurement(self, bench: dict[str, Any]) -> None:
        """Every text of a file that anyone may have written."""
        found = copy.deepcopy(bench)

        def soiled(value: Any) -> Any:
            if isinstance(value, dict):
                return {
                    name: one if name in {"verdict", "kind", "unit"} else soiled(one) for name, one in value.items()
                }
            if isinstance(value, list):
                return [soiled(one) for one in value]
            return HOSTILE if isinstance(value, str) else value

        page = safe(made(("bench", soiled(found))))
        assert SCRIPT in page.one("h2").text

    @settings(max_examples=15)
    @given(st.text(max_size=40))
    def test_any_title_leaves_the_page_whole(self, title: str) -> None:
        """Whatever letters there are."""
        told = {
            "title": "x", "supply": {"voltage_v": 12.0, "tolerance": 0.0}, "surroundings": {"ambient_degc": 20.0},
            "verdict": "carries", "links": [], "outputs": [], "protection": [], "assumed": [title],
            "cautions": [title], "together": {"current_a": 0.0, "power_w": 0.0, "factor": None, "stopped_by": None,
            "greatest_current_a": None, "greatest_power_w": None, "unknown": []},
        }  # fmt: skip
        text = report_page([("board", {"board": told | {"title": title}, "choices": []})], title=title, made_on=DAY)
        page = parsed(text)
        assert page.one("h1").text == " ".join(clean(title).split())
