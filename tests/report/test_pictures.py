"""Pictures for a page: well-formed, text as text, the page's colours alone, and everything where its number says."""

from __future__ import annotations

import copy
import itertools
import math
import re
import threading
from typing import Any
from xml.etree import ElementTree as ET

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loadworthy.report.pictures import derating_picture, measured_picture, operating_picture

HOSTILE = '<script>alert("$x_1$")</script>&\' \\frac{1}{2} \x1b[2J\x00'
OUT, IN, OPEN = "outside what is claimed", "within what is claimed", "not decided by this measurement"


def one_curve(
    name: str, *, ohm: float, brink: float | None = None, fitted: bool = False, limit: float = 125.0
) -> dict[str, Any]:
    """Make a curve of a plausible shape; what is right is not the picture's business."""
    currents = np.linspace(0.0, 12.0, 49)
    heat = [None if brink and amperes > brink else ohm * amperes**2 for amperes in currents]
    junction = [None if watts is None else 40.0 + 62.0 * watts for watts in heat]
    away = brink is not None and brink < 8.0
    at = {"current_a": 8.0, "conduction_loss_w": ohm * 64.0, "heat_w": ohm * 64.0, "junction_degc": 40.0 + 3968.0 * ohm}
    return {
        "name": name, "maker": "Alder", "fitted": fitted, "conduction_loss_w": heat, "heat_w": heat,
        "junction_degc": junction, "at_target": dict.fromkeys(at) | {"current_a": 8.0} if away else at,
        "runs_away_at_target": away, "limit": None,
        "runaway": None if brink is None else {**dict.fromkeys(at), "current_a": brink},
        "junction_limit_degc": limit, "heat_limit_w": 1.0, "unknown": None, "assumed": [],
    }  # fmt: skip


def operating(*curves: dict[str, Any]) -> dict[str, Any]:
    """Put curves on their common axis."""
    return {
        "target_a": 8.0, "ambient_degc": 40.0, "current_a": np.linspace(0.0, 12.0, 49).tolist(),
        "curves": list(curves), "left_out": [],
    }  # fmt: skip


TWO = operating(one_curve("LQX-1", ohm=0.002), one_curve("Q1", ohm=0.02, brink=6.08, fitted=True, limit=110.0))
DERATED: dict[str, Any] = {
    "family": "connector", "name": "HX5-02", "maker": "Holm", "ambient_degc": [-20.0, 20.0, 60.0, 105.0],
    "usable_a": [12.0, 12.0, 8.7, 0.0], "ends": "nothing carried", "assumed": ["√ law in place of a derating curve"],
    "operating": {"ambient_degc": 40.0, "current_a": 8.0, "usable_a": 10.5, "needed_a": 8.0},
}  # fmt: skip


def finding(title: str, **other: Any) -> dict[str, Any]:
    """Make a finding as JSON says it."""
    return {
        "name": "x", "title": title, "unit": "ohm", "value": 0.0402, "uncertainty": 0.0011, "low": 0.0391,
        "high": 0.0413, "claimed_least": None, "claimed_most": 0.02, "claimed_by": "its data sheet",
        "claimed_is_limit": True, "verdict": OUT, "shares": {}, "assumed": [], "notes": [], **other,
    }  # fmt: skip


FINDINGS = [
    finding("on-resistance"),
    finding("threshold", unit="V", value=1.9, uncertainty=0.05, low=1.85, high=1.95, claimed_least=1.0,
            claimed_most=2.5, verdict=IN),
    finding("capacitance", unit="F", value=None, uncertainty=None, low=None, high=1.9e-9, claimed_most=2e-9,
            verdict=IN),
    finding("leakage", unit="A", value=0.0, uncertainty=0.0, low=0.0, high=0.0, claimed_most=None, claimed_by=None,
            claimed_is_limit=None, verdict=OPEN),
    finding("marking", unit=None, value=None, uncertainty=None, low=None, high=None, claimed_most=None, verdict=IN),
]  # fmt: skip

PICTURES = {
    "operating": lambda ident: operating_picture(TWO, ident=ident),
    "derating": lambda ident: derating_picture(DERATED, ident=ident),
    "measured": lambda ident: measured_picture(FINDINGS, ident=ident),
}


def parsed(drawn: str) -> ET.Element:
    """Read a picture as what it must be, well-formed XML."""
    return ET.fromstring(drawn)  # noqa: S314 - our own


def texts(root: ET.Element) -> list[str]:
    """Return every text that is drawn."""
    return ["".join(element.itertext()) for element in root.iter("text")]


def ids(root: ET.Element) -> set[str]:
    """Return every id."""
    return {element.attrib["id"] for element in root.iter() if "id" in element.attrib}


def numbers(path: str) -> list[float]:
    """Return the numbers of a path."""
    return [float(one) for one in re.findall(r"-?\d+(?:\.\d+)?", path)]


def part(root: ET.Element, ident: str) -> ET.Element:
    """Return the element of an id."""
    return next(element for element in root.iter() if element.get("id") == ident)


def x_of(root: ET.Element, ident: str) -> float:
    """Return where an upright line stands."""
    path = next(part(root, ident).iter("path"))
    left, _, right, _ = numbers(path.attrib["d"])
    assert left == right
    return left


def ticks(root: ET.Element, axis: str) -> list[tuple[float, float]]:
    """Return the number at each tick of the last panel's axis and where it stands."""
    panel = [element for element in root.iter("g") if re.search(r"-axes_\d+$", element.get("id", ""))][-1]
    found = []
    for group in panel.iter("g"):
        if re.search(rf"-{axis}tick_\d+$", group.get("id", "")):
            label = next(group.iter("text"))
            use = list(group.iter("use"))[-1]
            found.append((float((label.text or "").replace("−", "-")), float(use.attrib[axis])))
    return found


@pytest.mark.parametrize("kind", PICTURES)
class TestEveryPicture:
    """What a page's rules and its readers ask of each."""

    def test_is_one_svg_element_without_prolog_or_metadata(self, kind: str) -> None:
        """It stands inside HTML: no declaration, no namespace prefix, and it scales by its box."""
        drawn = PICTURES[kind]("p")
        root = parsed(drawn)
        assert drawn.startswith("<svg ")
        assert root.tag == "svg"
        assert root.get("class") == "picture"
        assert {"width", "height", "style"}.isdisjoint(root.attrib)
        box = [float(one) for one in root.attrib["viewBox"].split()]
        assert box[:2] == [0.0, 0.0]
        assert box[2] == pytest.approx(4.4 * 72)
        assert not [element.tag for element in root.iter() if ":" in element.tag or "}" in element.tag]
        assert not list(root.iter("metadata"))
        assert not list(root.iter("script"))

    def test_has_no_style_but_attributes_in_the_pages_colours(self, kind: str) -> None:
        """A strict policy for contents forbids styles; a fixed colour would not follow the page."""
        root = parsed(PICTURES[kind]("p"))
        assert not list(root.iter("style"))
        names = {"ink", "faint", "paper", "limit", "fitted", *(f"line-{number}" for number in range(1, 6))}
        allowed = {"none", *(f"var(--{name})" for name in names)}
        for element in root.iter():
            assert "style" not in element.attrib
            assert "font-family" not in element.attrib
            assert {element.get(name, "none") for name in ("fill", "stroke", "color", "stop-color")} <= allowed
        assert "#0000" not in PICTURES[kind]("p")

    def test_says_in_words_what_it_shows(self, kind: str) -> None:
        """Role, title and description, each by an id."""
        root = parsed(PICTURES[kind]("p"))
        assert root.get("role") == "img"
        assert root.get("aria-labelledby") == "p-title p-words"
        title, words = list(root)[:2]
        assert (title.tag, title.get("id"), words.tag, words.get("id")) == ("title", "p-title", "desc", "p-words")
        assert title.text
        assert len(words.text or "") > 40

    def test_is_the_same_each_time(self, kind: str) -> None:
        """Also from several threads at once."""
        first, found = PICTURES[kind]("p"), []
        threads = [threading.Thread(target=lambda: found.append(PICTURES[kind]("p"))) for _ in range(3)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        assert found == [first] * 3

    def test_shares_no_id_with_another_on_the_page(self, kind: str) -> None:
        """Nor has it one twice; every reference leads inside its own picture."""
        one, other = (parsed(PICTURES[kind](ident)) for ident in ("p1", "p2"))
        assert len(ids(one)) == sum("id" in element.attrib for element in one.iter())
        assert ids(one).isdisjoint(ids(other))
        for element in one.iter():
            for value in element.attrib.values():
                for target in re.findall(r"(?:^|url\()#([^)]+)", value):
                    assert target in ids(one)

    def test_keeps_every_text_inside(self, kind: str) -> None:
        """No line begins left of the box or below it."""
        root = parsed(PICTURES[kind]("p"))
        _, _, width, height = (float(one) for one in root.attrib["viewBox"].split())
        assert texts(root)
        for text in root.iter("text"):
            assert 0.0 <= float(text.attrib["x"]) <= width
            assert 0.0 <= float(text.attrib["y"]) <= height


def test_a_hostile_name_is_text_and_nothing_else() -> None:
    """Tags, ampersands, dollars, backslashes and controls of a list stand as they are, or visibly."""
    curves, derated = copy.deepcopy(TWO), {**DERATED, "name": HOSTILE, "assumed": [HOSTILE]}
    curves["curves"][0]["name"] = HOSTILE
    for drawn in (
        operating_picture(curves, ident="p"),
        derating_picture(derated, ident="p"),
        measured_picture([finding(HOSTILE, sample=HOSTILE)], ident="p"),
    ):
        root = parsed(drawn)
        assert not list(root.iter("script"))
        assert "<script" not in drawn
        assert "\x1b" not in drawn
        assert any(text.startswith("<script>") for text in texts(root))
        words = list(root)[1].text or ""
        assert '<script>alert("$x_1$")</script>&\' \\frac{1}{2} ␛[2J␀' in words


@settings(max_examples=25)
@given(st.text(max_size=60))
def test_any_name_gives_a_well_formed_picture(name: str) -> None:
    """Whatever letters a list holds, those that no font of ours has among them."""
    parsed(derating_picture({**DERATED, "name": name}, ident="p"))


def test_a_long_name_is_cut_in_the_picture_and_whole_in_its_words() -> None:
    """What a line has no room for is left out visibly."""
    name = "WWWWWWWW-" * 6 + "END"
    root = parsed(derating_picture({**DERATED, "name": name}, ident="p"))
    assert any(text.startswith("WWW") and text.endswith("…") for text in texts(root))
    assert name in (list(root)[1].text or "")


class TestOperating:
    """Heat and junction over current."""

    def test_the_loads_current_stands_where_the_axis_has_it(self) -> None:
        """Reckoned from the ticks of the axis, in both panels."""
        root = parsed(operating_picture(TWO, ident="p"))
        (one, at_one), *_, (last, at_last) = ticks(root, "x")
        want = at_one + (8.0 - one) * (at_last - at_one) / (last - one)
        assert x_of(root, "p-target-0") == pytest.approx(want, abs=0.01)
        assert x_of(root, "p-target-1") == pytest.approx(want, abs=0.01)
        assert "the load: 8 A" in texts(root)

    def test_limits_stand_where_the_axis_has_them(self) -> None:
        """110 and 125 °C across, named once over the upper of them."""
        root = parsed(operating_picture(TWO, ident="p"))
        (one, at_one), *_, (last, at_last) = ticks(root, "y")
        groups = [element for element in root.iter("g") if element.get("id", "").startswith("p-limit-degC")]
        heights = sorted(numbers(next(group.iter("path")).attrib["d"])[1] for group in groups)
        wanted = sorted(at_one + (limit - one) * (at_last - at_one) / (last - one) for limit in (110.0, 125.0))
        assert heights == pytest.approx(wanted, abs=0.01)
        assert "limit 110 °C and 125 °C" in texts(root)
        assert "limit 1 W" in texts(root)

    def test_runaway_is_a_cross_with_its_current(self) -> None:
        """The cross stands at its current, and the fitted part is named as what it is."""
        root = parsed(operating_picture(TWO, ident="p"))
        (one, at_one), *_, (last, at_last) = ticks(root, "x")
        cross = next(part(root, "p-runaway").iter("use"))
        assert float(cross.attrib["x"]) == pytest.approx(
            at_one + (6.08 - one) * (at_last - at_one) / (last - one), abs=0.01
        )
        assert "runs away at 6.08 A" in texts(root)
        assert "fitted now: Q1" in texts(root)
        words = list(root)[1].text or ""
        assert "fitted now: Q1 comes to no rest at 8 A" in words
        assert "LQX-1 at 8 A makes 128 mW and gets to 47.9 °C" in words

    def test_parts_differ_by_dashes_and_markers_besides_colour(self) -> None:
        """Each of five and the fitted one has its own of all three."""
        many = operating(
            *(one_curve(f"P{number}", ohm=0.003) for number in range(5)),
            one_curve("Q1", ohm=0.003, fitted=True),
        )
        root = parsed(operating_picture(many, ident="p"))
        looks = []
        for number in range(6):
            group = part(root, f"p-junction-{number}")
            line = next(path for path in group.iter("path") if path.get("fill") == "none" and path.get("stroke-width"))
            marker = next(group.iter("use")).attrib["href"]
            looks.append((line.attrib["stroke"], line.get("stroke-dasharray"), marker))
        for each in zip(*looks, strict=True):
            assert len(set(each)) == 6

    def test_labels_of_parts_that_run_away_close_to_each_other_do_not_overlap(self) -> None:
        """Four within 0.2 A of each other, at the right, the left, and the middle."""
        for middle in (1.0, 6.0, 11.5):
            curves = operating(
                *(one_curve(f"P{number}", ohm=0.01, brink=middle + 0.05 * number) for number in range(4))
            )
            root = parsed(operating_picture(curves, ident="p"))
            places = [
                (float(text.attrib["x"]), float(text.attrib["y"]))
                for text in root.iter("text")
                if (text.text or "").startswith("runs away at")
            ]
            heights = sorted(height for _, height in places)
            assert len(places) == 4
            assert min(b - a for a, b in itertools.pairwise(heights)) > 9.5

    def test_what_is_not_known_is_said(self) -> None:
        """A part without a thermal resistance has a loss and no junction."""
        curve = one_curve("P", ohm=0.01)
        curve |= {"junction_degc": [None] * 49, "heat_w": [None] * 49, "unknown": "its thermal resistance is not known"}
        curve["at_target"] = {"current_a": 8.0, "conduction_loss_w": 0.64, "heat_w": None, "junction_degc": None}
        root = parsed(operating_picture(operating(curve), ident="p"))
        assert "640 mW, junction not known" in texts(root)
        assert "its thermal resistance is not known" in (list(root)[1].text or "")

    def test_switching_loss_is_drawn_apart_from_conduction(self) -> None:
        """A thin line shows what conduction alone makes, and the heading says so."""
        curve = one_curve("P", ohm=0.01)
        curve["conduction_loss_w"] = [0.5 * watts for watts in curve["heat_w"]]
        curve["at_target"]["conduction_loss_w"] *= 0.5
        plain, switched = (
            parsed(operating_picture(operating(one), ident="p")) for one in (one_curve("P", ohm=0.01), curve)
        )
        assert "heat in the part, W" in texts(plain)
        assert "heat in the part, W (thin: conduction alone)" in texts(switched)

    def test_nothing_to_draw_is_still_a_picture(self) -> None:
        """No part, no curve: the axes with the load's current."""
        root = parsed(operating_picture({**TWO, "curves": [], "current_a": []}, ident="p"))
        assert "the load: 8 A" in texts(root)


class TestDerating:
    """What a part carries over the air."""

    def test_the_operating_point_stands_where_the_axes_have_it(self) -> None:
        """8 A in air of 40 °C, reckoned from the ticks."""
        root = parsed(derating_picture(DERATED, ident="p"))
        mark = next(part(root, "p-operating").iter("use"))
        for axis, value in (("x", 40.0), ("y", 8.0)):
            (one, at_one), *_, (last, at_last) = ticks(root, axis)
            want = at_one + (value - one) * (at_last - at_one) / (last - one)
            assert float(mark.attrib[axis]) == pytest.approx(want, abs=0.01)
        assert "● the load: 8 A at 40 °C; may carry 10.5 A" in texts(root)

    def test_its_words_say_the_ends_and_what_it_rests_on(self) -> None:
        """Nothing carried is not the same as nothing known."""
        said = list(parsed(derating_picture(DERATED, ident="p")))[1].text or ""
        assert "In air of 105 °C it may carry nothing." in said
        assert "Assumed: √ law in place of a derating curve." in said
        open_end = {**DERATED, "ends": "nothing known", "ambient_degc": [-20.0, 85.0], "usable_a": [10.0, 7.0]}
        root = parsed(derating_picture(open_end, ident="p"))
        assert "above that nothing is known" in (list(root)[1].text or "")
        assert "not known above 85 °C" in texts(root)

    def test_a_point_that_is_not_known_is_said(self) -> None:
        """The load's point stands all the same."""
        at = {**DERATED["operating"], "usable_a": None, "ambient_degc": 130.0}
        root = parsed(derating_picture({**DERATED, "operating": at}, ident="p"))
        assert any("not known" in text for text in texts(root))


class TestMeasured:
    """What was measured against what is claimed."""

    def test_each_figure_has_its_words_and_what_was_only_looked_at_is_left_out(self) -> None:
        """Value with uncertainty, claim and verdict, as the bench writes them."""
        found = texts(parsed(measured_picture(FINDINGS, ident="p")))
        assert "on-resistance" in found
        assert "40.2 mΩ ± 1.1 mΩ" in found
        assert "claimed: at most 20 mΩ" in found
        assert "at most 1.9 nF" in found
        assert "marking" not in found
        assert [found.count(word) for word in ("outside", "within", "not decided")] == [1, 2, 1]

    def test_value_uncertainty_and_claim_stand_on_one_scale(self) -> None:
        """Low : value : high and the claimed bound keep their distances."""
        root = parsed(measured_picture(FINDINGS[:1], ident="p"))
        bar = numbers(next(part(root, "p-uncertainty").iter("path")).attrib["d"])
        left, right = bar[0], bar[-2]
        value = float(next(part(root, "p-measured").iter("use")).attrib["x"])
        scale = (right - left) / (0.0413 - 0.0391)
        assert value == pytest.approx(left + (0.0402 - 0.0391) * scale, abs=0.01)
        band = numbers(next(part(root, "p-claimed").iter("path")).attrib["d"])
        assert max(band[0::2]) == pytest.approx(left + (0.02 - 0.0391) * scale, abs=0.05)

    def test_nothing_measured_is_said(self) -> None:
        """An empty picture has words of its own."""
        root = parsed(measured_picture([], ident="p"))
        assert (list(root)[1].text or "") == "Nothing was measured."


def test_drawing_leaves_the_librarys_settings_as_they_were() -> None:
    """Another's figures in the same process look as before."""
    import matplotlib as mpl

    before = dict(mpl.rcParams)
    derating_picture(DERATED, ident="p")
    assert dict(mpl.rcParams) == before
    assert not math.isnan(mpl.rcParams["font.size"])
