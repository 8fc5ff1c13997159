"""Parts for what falls short, and the audit again with them in place: held against the board's own figures."""

from __future__ import annotations

import copy
import math
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from board_parts import blade, catalog_of, diode, lead, mosfet, resettable, terminal
from hypothesis import given
from hypothesis import strategies as st
from path_catalogs import SmallCatalog

from loadworthy import shipped
from loadworthy.boards import AuditLine, Board, audit, read_board
from loadworthy.boards.asking import typed
from loadworthy.boards.choosing import Mended, Replacement, mend, mend_one
from loadworthy.catalog.store import Catalog
from loadworthy.errors import BoardError
from loadworthy.needs import NEEDS
from loadworthy.quantities import si
from loadworthy.selection import choose

MakeBoard = Callable[..., Board]

SUPPLY = 'voltage = "12V"\ntolerance = "5%"\nmost_current = "40A"'
AIR = 'ambient = "45degC"\ncoldest = "-10degC"'
MAT = 'kind = "resistive"\nresistance = "1.6ohm"\ntolerance = "5%"'
#: Ohm's law at the worst corner: 12 V and 5 % more over 1.6 Ω and 5 % less.
MAT_A = 12.0 * 1.05 / (1.6 * 0.95)
PUMP = 'kind = "inductive"\ncurrent = "3A"'

WEAK_TERMINAL = 'kind = "connector"\nname = "X1"\nunmarked = true\npoles = 2\npitch = "5.08mm"\nwire = "2.5mm2"'
WEAK_SWITCH = (
    'kind = "transistor"\nname = "Q1"\non_resistance = "60mohm"\npackage = "TO-220"\ndrive = "4.7V"\nvds = "40V"'
)
SOUND_SWITCH = (
    'kind = "transistor"\nname = "Q1"\non_resistance = "4mohm"\npackage = "TO-220"\ndrive = "5V"\n'
    'vds = "{vds}"\nhot_exponent = "1.65"\njunction_max = "175degC"\ncurrent_rating = "80A"'
)
SMALL_FUSE = 'kind = "fuse"\nname = "F1"\ntype = "one-shot"\nrating = "2A"\nstandard = "UL"'


def stout(name: str, amperes: float) -> str:
    """Write a link that carries its rating, and no more."""
    return f'kind = "plain"\nname = "{name}"\nrated_current = "{amperes!r}A"\nresistance = "1mohm"'


def melting(rating: float, name: str = "F1") -> str:
    """Write a UL-type fuse, which carries 75 % of its rating."""
    return (
        f'kind = "fuse"\nname = "{name}"\ntype = "one-shot"\nrating = "{rating!r}A"\nstandard = "UL"\n'
        'rated_voltage = "32V"\nbreaking_capacity = "1kA"\nresistance = "5mohm"'
    )


def output(load: str, *links: str, name: str = "mat", more: str = "") -> str:
    """Write an output."""
    return f'[[output]]\nname = "{name}"\n[output.load]\n{load}\n{more}\n' + "".join(
        f"[[output.link]]\n{link}\n" for link in links
    )


@pytest.fixture(scope="module")
def shop() -> Iterator[SmallCatalog]:
    """Return a catalogue with something of everything."""
    catalog = catalog_of(
        connector=[terminal(f"T-{amperes}", amperes) for amperes in (8.0, 16.0, 24.0, 32.0)]
        + [terminal("T-3P", 32.0, poles=3.0), terminal("T-762", 32.0, pitch_m=7.62e-3)],
        fuse=[blade(f"B-{rating:g}", rating) for rating in (2.0, 3.0, 4.0, 5.0, 7.5, 10.0, 15.0, 20.0)]
        + [resettable(f"R-{hold:g}", hold) for hold in (5.0, 9.0, 14.0)],
        wire=[lead(f"W-{mm2:g}", mm2) for mm2 in (0.5, 0.75, 1.0, 1.5, 2.5, 4.0, 6.0)],
        transistor=[
            mosfet("M-A", {4.5: 0.009}),
            mosfet("M-B", {4.5: 0.004, 10.0: 0.003}),
            mosfet("M-10V", {10.0: 0.001}),
            mosfet("M-D", {4.5: 0.003}, package="TO-252"),
            mosfet("M-20", {4.5: 0.002}, vds_v=20.0),
        ],
        diode=[diode(f"D-{amperes:g}", amperes) for amperes in (1.0, 5.0, 10.0)],
    )  # fmt: skip
    yield catalog
    catalog.connection.close()


def mended(board_of: MakeBoard, catalog: SmallCatalog, text: str, **rest: str) -> Mended:
    """Mend a board of these outputs."""
    return mend(board_of(text, **{"supply": SUPPLY, "air": AIR, **rest}), catalog)


def done(found: Mended, label: str) -> Replacement:
    """Return what is done about one link."""
    (one,) = [replacement for replacement in found.replacements if replacement.label == label]
    return one


def after(found: Mended, name: str) -> AuditLine:
    """Return a link's line in the audit after it."""
    (line,) = [line for line in found.after.lines if line.link.name == name]
    return line


def need_of(one: Replacement) -> dict[str, Any]:
    """Return what a replacement asked for: what it says of itself, and what the query is bound to."""
    need = NEEDS[one.kind](**one.asked)
    return {**need.as_json(), **need.parameters()}


class TestNeed:
    """What is asked of a part is what the board says of its place."""

    @pytest.mark.parametrize(
        ("link", "label", "figures"),
        [
            (WEAK_TERMINAL, "mat: X1", {"poles": 2.0, "pitch_m": 5.08e-3, "wire_m2": 2.5e-6, "contacts": 2.0}),
            (WEAK_SWITCH, "mat: Q1", {"drive_v": 4.7, "package": ("TO-220",)}),
            (
                'kind = "wire"\nname = "W1"\ngauge = "28AWG"\nlength = "1m"\nstrand = "class 5"',
                "mat: W1",
                {"length_m": 0.5, "strand": "stranded"},
            ),
            (SMALL_FUSE, "mat: F1", {"coldest_degc": -10.0, "fault_a": 40.0, "type": "one-shot"}),
        ],
    )
    def test_each_kind(
        self, board_of: MakeBoard, shop: SmallCatalog, link: str, label: str, figures: dict[str, Any]
    ) -> None:
        """The worst corner of load and supply (Ohm's law), the hottest air, and what the link's place asks."""
        one = done(mended(board_of, shop, output(MAT, link)), label)
        asked = need_of(one)
        assert asked["supply_v"] == pytest.approx(12.6)
        assert asked["current_a"] == pytest.approx(MAT_A, rel=1e-5)
        assert asked["ambient_degc"] == 45.0
        for name, value in figures.items():
            expected = pytest.approx(value) if isinstance(value, float) else value
            assert asked[name] == expected, name

    def test_a_switched_inductive_load(self, board_of: MakeBoard, shop: SmallCatalog) -> None:
        """Frequency, duty, kind of load, and the gate's resistance."""
        load = 'kind = "inductive"\ncurrent = "9A"\npwm = "500Hz"\nduty = "60%"'
        diode = '[output.freewheel]\ncurrent = "10A"\nvoltage = "40V"'
        link = WEAK_SWITCH + '\ngate_resistance = "100ohm"\nheatsink = "15K/W"\npad = "1K/W"'
        one = done(mended(board_of, shop, output(load, link, more=diode)), "mat: Q1")
        asked = need_of(one)
        assert (asked["pwm_hz"], asked["duty"], asked["inductive"]) == (500.0, 0.6, True)
        assert one.asked["pin_resistance"] == "100ohm"
        assert asked["heatsink_k_per_w"] == 16.0

    def test_what_several_share_carries_their_sum(self, board_of: MakeBoard, shop: SmallCatalog) -> None:
        """80 % of twice the load's current."""
        text = f'[[section]]\nname = "inlet"\ndiversity = "80%"\n[[section.link]]\n{WEAK_TERMINAL}\n'
        text += "".join(
            output(MAT, stout("lead", 30.0), name=name).replace("[output.load]", 'fed_by = "inlet"\n[output.load]')
            for name in ("A", "B")
        )
        one = done(mended(board_of, shop, text), "inlet: X1")
        assert need_of(one)["current_a"] == pytest.approx(0.8 * 2.0 * MAT_A, rel=1e-5)

    def test_a_cold_lamp_asks_for_the_pulse(self, board_of: MakeBoard, shop: SmallCatalog) -> None:
        """Common practice: a tenth of the hot resistance, so that ten times the current flows at 12 V."""
        link = WEAK_SWITCH + '\npulse_rating = "20A"'
        one = done(mended(board_of, shop, output('kind = "lamp"\nresistance = "3ohm"', link)), "mat: Q1")
        assert need_of(one)["inrush_a"] == pytest.approx(12.6 / 0.3, rel=1e-5)

    @given(st.floats(1e-3, 1e5))
    def test_no_need_asks_for_less_than_the_board(self, value: float) -> None:
        """Six digits, rounded to the careful side; what is a round number but for its last bits stays one."""
        up, down = (si(typed(value, "A", careful=side), "A") for side in ("up", "down"))
        assert value * (1.0 - 1e-9) <= up <= value * (1.0 + 2e-5)
        assert value * (1.0 - 2e-5) <= down <= value * (1.0 + 1e-9)

    def test_without_a_drive_the_usual_one_is_assumed_and_said(self, board_of: MakeBoard, shop: SmallCatalog) -> None:
        """5 V (common practice): never silently."""
        found = mended(board_of, shop, output(MAT, WEAK_SWITCH.replace('drive = "4.7V"\n', "")))
        one = done(found, "mat: Q1")
        assert need_of(one)["drive_v"] == 5.0
        assert any("Assumed: 5 V" in text for text in one.advice)


class TestChosen:
    """The first of what fits is put in place."""

    @pytest.mark.parametrize(
        "link",
        [WEAK_TERMINAL, WEAK_SWITCH, 'kind = "wire"\nname = "W1"\ngauge = "28AWG"\nlength = "1m"', SMALL_FUSE],
    )
    def test_it_is_the_first_that_choose_gives_alone(self, board_of: MakeBoard, shop: SmallCatalog, link: str) -> None:
        """For the need that it was asked with; the next two are named."""
        found = mended(board_of, shop, output(MAT, link))
        one = found.replacements[0]
        alone = choose(shop, NEEDS[one.kind](**one.asked), top=3)
        assert one.chosen is not None
        assert one.chosen["part_number"] == alone.ranked[0]["part_number"]
        named = [f"{row['maker']} {row['part_number']}" for row in alone.ranked]
        assert one.as_json()["next"] == named[1:]
        (line,) = [line for line in found.after.lines if line.where == one.where]
        assert (line.link.part, line.link.maker) == (one.chosen["part_number"], one.chosen["maker"])
        assert line.verdict == "carries"

    def test_the_terminal_is_judged_by_its_own_figures(self, board_of: MakeBoard, shop: SmallCatalog) -> None:
        """0.8·I·√((105 − 45)/(105 − 20)) (IEC 60512-5-2, Δt ∝ I²), and its own contacts' drop."""
        line = after(mended(board_of, shop, output(MAT, WEAK_TERMINAL)), "X1")
        rated = float((line.link.part or "").removeprefix("T-"))
        assert line.usable_a == pytest.approx(0.8 * rated * math.sqrt(60.0 / 85.0))
        assert line.resistance_ohm == pytest.approx(2e-3)
        assert not any("no marking" in remark for remark in line.assumed)

    def test_the_transistor_has_its_on_resistance_at_the_drive(self, board_of: MakeBoard, shop: SmallCatalog) -> None:
        """4.7 V at the gate: what is specified at 4.5 V, and never the part that is specified at 10 V alone."""
        line = after(mended(board_of, shop, output(MAT, WEAK_SWITCH)), "Q1")
        assert (line.link.part, getattr(line.link, "on_resistance_ohm", None)) == ("M-20", 0.002)

    def test_the_lead_keeps_its_length(self, board_of: MakeBoard, shop: SmallCatalog) -> None:
        """IEC 60228, class 5: its resistance by the metre over the length that the file gives, in air of 20 °C."""
        text = output(
            'kind = "resistive"\ncurrent = "3A"', 'kind = "wire"\nname = "W1"\ngauge = "30AWG"\nlength = "2m"'
        )
        line = after(mended(board_of, shop, text, air='ambient = "20degC"'), "W1")
        ohm_per_km = {0.5: 39.0, 0.75: 26.0, 1.0: 19.5, 1.5: 13.3, 2.5: 7.98, 4.0: 4.95, 6.0: 3.30}
        cold = 2e-3 * ohm_per_km[float((line.link.part or "").removeprefix("W-"))]
        assert line.temperature_degc is not None
        assert line.resistance_ohm == pytest.approx(cold * (1.0 + 0.00393 * (line.temperature_degc - 20.0)))

    def test_every_kind_at_once(self, board_of: MakeBoard, shop: SmallCatalog) -> None:
        """A whole path that falls short carries afterwards, and the next weak link shows."""
        trace = 'kind = "trace"\nname = "copper"\nwidth = "2mm"\ncopper = "1oz"\nlength = "60mm"\nlayer = "outer"'
        found = mended(board_of, shop, output(MAT, SMALL_FUSE, trace, WEAK_SWITCH, WEAK_TERMINAL))
        assert found.before.verdict == "falls short"
        assert found.after.carries
        assert {one.kind for one in found.replacements} == {"trace", "transistor", "connector", "fuse"}
        most = max(found.after.lines, key=lambda line: line.used or 0.0)
        assert found.after.lines[0].label == most.label

    def test_a_trace_gets_the_thinnest_wire_that_does(self, board_of: MakeBoard, shop: SmallCatalog) -> None:
        """It is said with its numbers and is in place afterwards."""
        trace = 'kind = "trace"\nname = "copper"\nwidth = "2mm"\ncopper = "1oz"\nlength = "60mm"\nlayer = "outer"'
        found = mended(board_of, shop, output(MAT, melting(15.0), trace))
        one, line = done(found, "mat: copper"), after(found, "copper")
        wire_m2 = getattr(line.link, "parallel_wire_m2", None)
        assert wire_m2 is not None
        assert any(f"{1e6 * wire_m2:g} mm²" in text for text in one.advice)
        assert "8.29 A" in one.why
        assert line.verdict == "carries"
        assert (one.selection, one.asked) == (None, {})

    def test_the_same_number_of_a_maker_without_a_name(self, board_of: MakeBoard) -> None:
        """The part that was chosen is put in place, not another of its number."""
        nameless = mosfet("M-A", {4.5: 0.004}, maker=None, part_key="|M-A")
        catalog = catalog_of(transistor=[mosfet("M-A", {4.5: 0.006}), nameless])
        line = after(mended(board_of, catalog, output(MAT, melting(15.0), WEAK_SWITCH)), "Q1")
        assert getattr(line.link, "on_resistance_ohm", None) == 0.004

    def test_the_board_given_is_not_changed(self, board_of: MakeBoard, shop: SmallCatalog) -> None:
        """It is mended as a copy."""
        board = board_of(output(PUMP, SMALL_FUSE, WEAK_SWITCH), supply=SUPPLY, air=AIR)
        kept = copy.deepcopy(board)
        found = mend(board, shop)
        assert board == kept
        assert found.before.board == kept
        assert found.after.board != kept


class TestNothing:
    """Nothing to be done, or nothing that can be."""

    def test_one_link_is_replaced_alone_though_it_carries(self, board_of: MakeBoard, shop: SmallCatalog) -> None:
        """As many parts as are asked for; what falls short beside it stays."""
        fuse = melting(15.0, "F1")
        board = board_of(output(MAT, fuse, stout("bar", 30.0), stout("thin", 1.0)), supply=SUPPLY, air=AIR)
        found = mend_one(board, shop, "output[1].link[1]", top=1)
        (one,) = found.replacements
        assert one.selection is not None
        assert len(one.selection.ranked) == 1
        assert one.chosen is not None
        assert after(found, "F1").link.part == one.chosen["part_number"]
        assert after(found, "thin").verdict == "falls short"
        with pytest.raises(BoardError, match="no link"):
            mend_one(board, shop, "output[1].link[7]")

    def test_nothing_failing_nothing_replaced(self, board_of: MakeBoard, shop: SmallCatalog) -> None:
        """Both audits are the same."""
        found = mended(board_of, shop, output(MAT, melting(15.0), stout("bar", 30.0)))
        assert found.before.carries
        assert found.replacements == ()
        assert found.before == found.after == audit(found.before.board)

    def test_nothing_fits_and_the_link_stays(self, board_of: MakeBoard) -> None:
        """The nearest miss is said with its numbers, and the way out: 0.8 · 8 A · √(60/85) is 5.38 A of 8.29 A."""
        catalog = catalog_of(connector=[terminal("T-8", 8.0)])
        found = mended(board_of, catalog, output(MAT, melting(15.0), WEAK_TERMINAL))
        one, line = done(found, "mat: X1"), after(found, "X1")
        assert one.chosen is None
        (said,) = one.advice
        assert "T-8" in said
        assert "current: 5.38 A for 8.29 A" in said
        assert "list" in said.rpartition(".")[0]
        assert (line.link.part, line.verdict) == (None, "falls short")
        assert not found.after.carries
        assert one.as_json()["near_misses"][0]["part_number"] == "T-8"

    def test_what_stops_them_is_said_where_nothing_is_near(self, board_of: MakeBoard) -> None:
        """Another package does not go into its holes."""
        catalog = catalog_of(transistor=[mosfet("M-D", {4.5: 0.003}, package="TO-252")])
        (said,) = done(mended(board_of, catalog, output(MAT, melting(15.0), WEAK_SWITCH)), "mat: Q1").advice
        assert "stops most of them: package" in said

    def test_a_family_that_the_catalogue_lacks(self, board_of: MakeBoard) -> None:
        """It is said, with the way out; the other links are still chosen."""
        catalog = catalog_of(transistor=[mosfet("M-B", {4.5: 0.004})])
        found = mended(board_of, catalog, output(MAT, melting(15.0), WEAK_TERMINAL, WEAK_SWITCH))
        (said,) = done(found, "mat: X1").advice
        assert "connector" in said
        assert "intake" in said
        assert after(found, "Q1").link.part == "M-B"
        assert after(found, "X1").link.part is None

    def test_a_plain_link_is_for_the_hand(self, board_of: MakeBoard, shop: SmallCatalog) -> None:
        """No family holds relays."""
        one = done(mended(board_of, shop, output(MAT, melting(15.0), stout("relay", 5.0))), "mat: relay")
        assert (one.chosen, one.asked) == (None, {})
        assert "by hand" in one.advice[0]


class TestFuse:
    """Chosen last, to open before the weakest link."""

    def test_it_comes_after_the_rest_for_what_is_behind_it_then(self, board_of: MakeBoard, shop: SmallCatalog) -> None:
        """The fuse is the weakest of all and yet the last; what counts is the new terminal: I·√(60/85) without 0.8."""
        found = mended(board_of, shop, output(MAT, SMALL_FUSE, WEAK_TERMINAL))
        assert found.before.lines[0].link.name == "F1"
        assert [one.label for one in found.replacements] == ["mat: X1", "mat: F1"]
        terminal_a = float((after(found, "X1").link.part or "").removeprefix("T-")) * math.sqrt(60.0 / 85.0)
        one, line = done(found, "mat: F1"), after(found, "F1")
        assert need_of(one)["weakest_a"] == pytest.approx(terminal_a, rel=1e-5)
        # ISO 8820-3 (from memory): a blade fuse surely opens at 135 %.
        assert 1.35 * (getattr(line.link, "rating_a", None) or math.inf) <= terminal_a
        assert found.after.protection[0].bare == ()

    def test_what_stands_ahead_of_it_does_not_count(self, board_of: MakeBoard, shop: SmallCatalog) -> None:
        """Only what the current passes after it."""
        found = mended(board_of, shop, output(MAT, stout("ahead", 9.0), SMALL_FUSE, stout("behind", 25.0)))
        assert need_of(done(found, "mat: F1"))["weakest_a"] == pytest.approx(25.0)

    def test_when_none_does_that_is_said(self, board_of: MakeBoard) -> None:
        """15 A carries the mat and opens at 20.25 A (135 %), the link behind stands 12 A: said with both numbers."""
        catalog = catalog_of(fuse=[blade("B-15", 15.0)])
        found = mended(board_of, catalog, output(MAT, SMALL_FUSE, stout("bar", 12.0)))
        one = done(found, "mat: F1")
        assert one.chosen is not None
        (said,) = one.advice
        assert "8.29 A" in said
        assert "mat: bar at 12 A" in said
        assert found.after.protection[0].bare == ("bar",)

    def test_what_it_must_break_is_what_the_loop_lets_through(self, board_of: MakeBoard) -> None:
        """Ohm's law, where nobody says what the supply can give: 12.6 V over 5 + 1 mΩ are 2.1 kA."""
        catalog = catalog_of(fuse=[blade("B-10", 10.0), blade("B-10K", 10.0, breaking_a=10e3)])
        text = output(MAT, melting(15.0), stout("bar", 30.0))
        found = mended(board_of, catalog, text, supply='voltage = "12V"\ntolerance = "5%"')
        one = done(found, "mat: F1")
        assert need_of(one)["fault_a"] == pytest.approx(12.6 / 6e-3, rel=1e-5)
        assert after(found, "F1").link.part == "B-10K"


class TestOwnFuse:
    """An output whose links no fuse protects."""

    def test_it_gets_one_at_its_head(self, board_of: MakeBoard, shop: SmallCatalog) -> None:
        """It carries the load and opens (135 %) before the weakest link; nothing is bare then."""
        found = mended(board_of, shop, output(MAT, stout("bar", 15.0), stout("lead", 30.0)))
        assert found.before.protection[0].bare == ("bar", "lead")
        (one,) = found.replacements
        assert "bar, lead" in one.why
        assert need_of(one)["weakest_a"] == pytest.approx(15.0)
        (first, *_) = found.after.board.outputs[0].links
        assert one.chosen is not None
        assert first.part == one.chosen["part_number"]
        assert (getattr(first, "rating_a", None) or math.inf) * 1.35 <= 15.0
        assert after(found, first.name).verdict == "carries"
        assert found.after.protection[0].bare == ()

    def test_or_the_reason_why_not(self, board_of: MakeBoard, shop: SmallCatalog) -> None:
        """No fuse carries 8.29 A and opens at 9 A."""
        found = mended(board_of, shop, output(MAT, stout("bar", 9.0)))
        (one,) = found.replacements
        assert one.chosen is None
        assert "8.29 A" in one.advice[0]
        assert "mat: bar at 9 A" in one.advice[0]
        assert found.after.board == found.before.board

    def test_or_that_nothing_is_known_of_its_links(self, board_of: MakeBoard) -> None:
        """Without a limit there is nothing to choose a fuse by."""
        wide = 'kind = "trace"\nname = "pour"\nwidth = "20mm"\ncopper = "1oz"\nlength = "1cm"\nlayer = "outer"'
        found = mended(board_of, catalog_of(fuse=[blade("B-10", 10.0)]), output(MAT, wide))
        assert "not known" in done(found, "mat: a fuse of its own").advice[0]

    def test_one_that_is_too_great_becomes_lesser(self, board_of: MakeBoard, shop: SmallCatalog) -> None:
        """20 A by UL opens at 27 A (135 %), the lead stands 15 A: the fuse carries its load, and protects nothing."""
        found = mended(board_of, shop, output(MAT, melting(20.0), stout("lead", 15.0)))
        assert found.before.carries
        one = done(found, "mat: F1")
        assert one.chosen is not None
        assert need_of(one)["weakest_a"] == pytest.approx(15.0)
        assert found.after.protection[0].bare == ()
        assert len(found.after.board.outputs[0].links) == 2


class TestFreewheel:
    """An inductive load without a sound diode across it."""

    def test_one_is_chosen(self, board_of: MakeBoard, shop: SmallCatalog) -> None:
        """Reverse voltage of 1.5 × the supply's high end, and the load's current (common practice)."""
        found = mended(board_of, shop, output(PUMP, melting(5.0), stout("lead", 9.0)))
        one = done(found, "mat: freewheel diode")
        asked = need_of(one)
        assert (asked["supply_v"], asked["current_a"]) == (pytest.approx(12.6), 3.0)
        diode = found.after.board.outputs[0].freewheel
        assert diode is not None
        assert one.chosen is not None
        assert diode.part == one.chosen["part_number"] != "D-1"
        assert (diode.current_a, diode.voltage_v) == (float(diode.part.removeprefix("D-")), 40.0)
        assert found.after.carries

    def test_it_comes_first_so_that_a_sound_transistor_stays(self, board_of: MakeBoard, shop: SmallCatalog) -> None:
        """Practice: 20 V are short of 2 × 12 V unclamped, and enough for 1.5 × 12 V clamped."""
        found = mended(board_of, shop, output(PUMP, melting(5.0), SOUND_SWITCH.format(vds="20V")))
        assert [line.link.name for line in found.before.failing] == ["Q1"]
        assert [one.kind for one in found.replacements] == ["diode"]
        assert found.after.carries

    def test_without_any_the_transistor_must_stand_twice_the_supply(self, board_of: MakeBoard) -> None:
        """Practice: nothing clamps; 20 V are not chosen again, and the missing diode is still said."""
        parts = [mosfet("M-20", {4.5: 0.002}, vds_v=20.0), mosfet("M-40", {4.5: 0.004})]
        found = mended(
            board_of, catalog_of(transistor=parts), output(PUMP, melting(5.0), SOUND_SWITCH.format(vds="20V"))
        )
        assert need_of(done(found, "mat: Q1"))["vds_least_v"] == pytest.approx(2.0 * 12.6)
        assert after(found, "Q1").link.part == "M-40"
        assert done(found, "mat: freewheel diode").advice
        assert not found.after.carries

    @pytest.mark.parametrize(("duty", "mean_a"), [('duty = "60%"', 3.0 * 0.4), ("", 3.0), ('duty = "100%"', 3.0)])
    def test_switched_its_mean_counts(self, board_of: MakeBoard, shop: SmallCatalog, duty: str, mean_a: float) -> None:
        """I·(1 − D); where nobody says for how long the load is on, the diode may carry all of it."""
        load = PUMP + f'\npwm = "500Hz"\n{duty}'
        one = done(mended(board_of, shop, output(load, melting(5.0), stout("lead", 9.0))), "mat: freewheel diode")
        assert need_of(one)["mean_a"] == pytest.approx(mean_a)

    def test_one_that_is_too_weak_is_replaced(self, board_of: MakeBoard, shop: SmallCatalog) -> None:
        """A diode for 1 A does not take 3 A."""
        weak = '[output.freewheel]\ncurrent = "1A"\nvoltage = "40V"'
        found = mended(board_of, shop, output(PUMP, melting(5.0), stout("lead", 9.0), more=weak))
        assert "carries the load's current" in done(found, "mat: freewheel diode").why
        assert found.after.carries


@pytest.fixture(scope="module")
def found(stocked: Path) -> Mended:
    """Mend the demo's board with parts of its lists."""
    with Catalog.open(stocked) as catalog:
        return mend(read_board(shipped.catalog_dir() / "greenhouse" / "board.toml"), catalog)


class TestGreenhouse:
    """The demo's board on the demo's lists."""

    def test_it_carries_afterwards(self, found: Mended) -> None:
        """Every link, with the demo's own parts."""
        assert not found.before.carries
        assert found.after.carries
        failing = {line.where for line in found.before.failing}
        assert failing <= {one.where for one in found.replacements}

    def test_each_replaced_link_is_the_part_chosen(self, found: Mended) -> None:
        """And carries what it must, by its own figures."""
        lines = {line.where: line for line in found.after.lines}
        chosen = [one for one in found.replacements if one.chosen is not None and one.kind != "diode"]
        assert len({one.kind for one in chosen}) >= 3
        for one in chosen:
            assert one.chosen is not None
            assert lines[one.where].link.part == one.chosen["part_number"]
            assert lines[one.where].verdict == "carries"

    def test_every_output_has_a_fuse_that_opens_in_time_or_is_told_why_not(self, found: Mended) -> None:
        """The links of its own."""
        told = {one.label.partition(":")[0] for one in found.replacements if one.kind == "fuse" and one.chosen is None}
        for protection, output_line in zip(found.after.protection, found.after.outputs, strict=True):
            bare = {link.name for link in output_line.output.links} & set(protection.bare)
            assert not bare or protection.output in told
