"""The audit of a whole board, held against Ohm's law worked by hand and against itself under change."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loadworthy.boards import Audit, Board, OutputLine, audit, with_ambient

MakeBoard = Callable[..., Board]

SUPPLY = 'voltage = "12V"\ntolerance = "5%"\nmost_current = "30A"'


def plain(name: str, amperes: float, ohms: float = 0.0) -> str:
    """Write a link that carries its rating."""
    return f'kind = "plain"\nname = "{name}"\nrated_current = "{amperes!r}A"\nresistance = "{ohms!r}ohm"\n'


def output(name: str, load: str, links: list[str], fed_by: str = "") -> str:
    """Write an output."""
    head = f'[[output]]\nname = "{name}"\n' + (f'fed_by = "{fed_by}"\n' if fed_by else "")
    return head + f"[output.load]\n{load}\n" + "".join(f"[[output.link]]\n{link}" for link in links)


def section(name: str, links: list[str], *, fed_by: str = "", diversity: str = "") -> str:
    """Write a section."""
    head = f'[[section]]\nname = "{name}"\n' + (f'fed_by = "{fed_by}"\n' if fed_by else "")
    head += f'diversity = "{diversity}"\n' if diversity else ""
    return head + "".join(f"[[section.link]]\n{link}" for link in links)


def drawing(amperes: float) -> str:
    """Write a load of a current."""
    return f'kind = "resistive"\ncurrent = "{amperes!r}A"'


def of(found: Audit, name: str) -> OutputLine:
    """Return an output's line."""
    return next(line for line in found.outputs if line.output.name == name)


@pytest.fixture(scope="module")
def found(board_of: MakeBoard) -> Audit:
    """Return the audit of one mat, 1.6 Ω ± 5 %, behind a link that may carry 6 A."""
    load = 'kind = "resistive"\nresistance = "1.6ohm"\ntolerance = "5%"\ncold_resistance = "1.4ohm"'
    return audit(board_of(output("mat", load, [plain("wide", 20.0), plain("narrow", 6.0)]), supply=SUPPLY))


class TestOneMat:
    """1.6 Ω ± 5 % on 12 V ± 5 %, through a link that may carry 6 A."""

    def test_the_worst_corner_counts(self, found: Audit) -> None:
        """Ohm's law: 12.6 V over 1.52 Ω; nominally 12 V over 1.6 Ω is 7.5 A."""
        line = of(found, "mat")
        assert line.current_a == pytest.approx(12.6 / (1.6 * 0.95))
        assert line.nominal_a == pytest.approx(7.5)

    def test_the_weakest_link_stands_first(self, found: Audit) -> None:
        """With its margin, and what a new part must carry."""
        first = found.lines[0]
        assert (first.link.name, first.verdict) == ("narrow", "falls short")
        assert first.margin_a == pytest.approx(6.0 - 12.6 / 1.52)
        assert first.needs["least_current_a"] == pytest.approx(12.6 / 1.52)
        assert [line.verdict for line in found.lines] == ["falls short", "carries"]
        assert of(found, "mat").weakest == "mat: narrow"
        assert [line.link.name for line in found.failing] == ["narrow"]

    def test_the_least_resistance_draws_just_what_may_flow(self, found: Audit) -> None:
        """12.6 V/6 A = 2.1 Ω; with 5 % off 2.1/0.95; cold in the ratio 1.4 to 1.6; its power is V²/R."""
        bound = of(found, "mat").alone
        assert bound.current_a == 6.0
        assert bound.stopped_by == "mat: narrow"
        assert bound.least_actual_ohm == pytest.approx(2.1)
        assert bound.least_resistance_ohm == pytest.approx(2.1 / 0.95)
        assert bound.least_cold_ohm == pytest.approx(2.1 / 0.95 * 1.4 / 1.6)
        assert bound.greatest_power_w == pytest.approx(144.0 / (2.1 / 0.95))

    def test_the_cold_load_draws_more_at_first(self, found: Audit) -> None:
        """12.6 V over 1.4 Ω less 5 %."""
        assert of(found, "mat").inrush_a == pytest.approx(12.6 / (1.4 * 0.95))

    def test_what_is_not_given_is_said_to_be_assumed(self, found: Audit) -> None:
        """The coldest air, which counts for fuses."""
        assert any("0 °C" in remark for remark in found.assumed)

    def test_it_goes_into_json_and_back(self, found: Audit) -> None:
        """Plain values with the units in the names."""
        import json

        told = found.as_json()
        assert json.loads(json.dumps(told)) == told
        assert told["links"][0]["needs"] == told["replace"][0]["needs"]


@pytest.mark.parametrize(
    ("load", "amperes"),
    [
        ('kind = "resistive"\nresistance = "1.6ohm"', 12.6 / 1.6),
        ('kind = "resistive"\npower = "90W"', 12.6 / 1.6),
        ('kind = "lamp"\npower = "90W"\ntolerance = "10%"', 12.6 / 1.6 / 0.9),
        ('kind = "inductive"\npower = "90W"', 90.0 / 11.4),
        ('kind = "resistive"\ncurrent = "7.5A"', 7.5),
    ],
)
def test_each_way_to_give_a_load(board_of: MakeBoard, load: str, amperes: float) -> None:
    """A resistance draws most at the high end of the supply, a motor that keeps its power at the low end."""
    diode = '[output.freewheel]\ncurrent = "9A"\nvoltage = "40V"\n'
    found = audit(board_of(output("a", load, []) + diode + "[[output.link]]\n" + plain("x", 20.0), supply=SUPPLY))
    assert found.outputs[0].current_a == pytest.approx(amperes)
    assert found.verdict == "carries"


class TestSharing:
    """Sections carry the sum, as far as it flows at once."""

    def board(self, board_of: MakeBoard, diversity: str, loads: tuple[float, ...] = (6.0, 3.0)) -> Board:
        """Make a board whose outputs share an inlet behind a main switch."""
        text = section("main", [plain("switch", 20.0)]) + section(
            "inlet", [plain("terminal", 8.0)], fed_by="main", diversity=diversity
        )
        for place, amperes in enumerate(loads):
            text += output(f"out {place + 1}", drawing(amperes), [plain(f"own {place + 1}", 7.0)], "inlet")
        return board_of(text)

    @pytest.mark.parametrize(("diversity", "amperes"), [("100%", 9.0), ("80%", 7.2), ("50%", 6.0)])
    def test_a_section_carries_its_share_of_the_sum(self, board_of: MakeBoard, diversity: str, amperes: float) -> None:
        """Never less than the greatest load alone: 50 % of 9 A is 4.5 A, but one of them draws 6 A."""
        lines = {line.link.name: line for line in audit(self.board(board_of, diversity)).lines}
        assert lines["terminal"].current_a == pytest.approx(amperes)
        assert lines["switch"].current_a == pytest.approx(amperes)
        assert lines["terminal"].serves == ("out 1", "out 2")

    def test_alone_and_together(self, board_of: MakeBoard) -> None:
        """Alone its own link stops it at 7 A; with the other's 3 A the terminal leaves 8 − 3 = 5 A."""
        line = of(audit(self.board(board_of, "100%")), "out 1")
        assert (line.alone.current_a, line.alone.stopped_by) == (7.0, "out 1: own 1")
        assert (line.together.current_a, line.together.stopped_by) == (5.0, "inlet: terminal")

    def test_with_diversity_there_is_more_room(self, board_of: MakeBoard) -> None:
        """0.8·(I + 3 A) = 8 A at 7 A."""
        line = of(audit(self.board(board_of, "80%")), "out 1")
        assert line.together.current_a == pytest.approx(7.0)

    def test_no_room_is_left_where_the_others_take_it_all(self, board_of: MakeBoard) -> None:
        """9 A of another load are more than the terminal's 8 A."""
        line = of(audit(self.board(board_of, "50%", (9.0, 1.0))), "out 2")
        assert (line.together.current_a, line.together.stopped_by) == (0.0, "inlet: terminal")

    def test_all_at_once(self, board_of: MakeBoard) -> None:
        """9 A through 8 A: all loads may be 8/9 of what they are."""
        found = audit(self.board(board_of, "100%"))
        assert (found.factor, found.factor_stopped_by) == (pytest.approx(8.0 / 9.0), "inlet: terminal")
        together = found.as_json()["together"]
        assert (together["current_a"], together["greatest_current_a"]) == (pytest.approx(9.0), pytest.approx(8.0))
        volts = found.board.supply.voltage_v
        assert together["power_w"] == pytest.approx(9.0 * volts)
        assert together["greatest_power_w"] == pytest.approx(8.0 * volts)

    def test_a_shared_link_stands_once(self, board_of: MakeBoard) -> None:
        """However many outputs it serves."""
        names = [line.link.name for line in audit(self.board(board_of, "100%")).lines]
        assert sorted(names) == ["own 1", "own 2", "switch", "terminal"]


_amperes = st.floats(0.1, 20.0)


@st.composite
def _boards(draw: st.DrawFn, make: MakeBoard) -> Board:
    """Draw a board of two sections and one to three outputs, each with links of all kinds."""
    share = st.sampled_from(["100%", "80%", "35%"])
    kinds = st.one_of(
        _amperes.map(lambda amperes: f'kind = "plain"\nrated_current = "{amperes!r}A"\n'),
        _amperes.map(lambda amperes: f'kind = "connector"\nrated_current = "{amperes!r}A"\n'),
        _amperes.map(lambda amperes: f'kind = "fuse"\ntype = "one-shot"\nrating = "{amperes!r}A"\n'),
        st.floats(0.5, 10.0).map(
            lambda mm: f'kind = "trace"\nwidth = "{mm!r}mm"\ncopper = "1oz"\nlength = "5cm"\nlayer = "outer"\n'
        ),
        st.integers(10, 24).map(lambda gauge: f'kind = "wire"\ngauge = "{gauge}AWG"\nlength = "1m"\n'),
        st.floats(0.5, 40.0).map(
            lambda mohm: f'kind = "transistor"\non_resistance = "{mohm!r}mohm"\npackage = "TO-220"\n'
        ),
    )
    links = st.lists(kinds, min_size=1, max_size=3)
    text = section("main", draw(links), diversity=draw(share))
    text += section("rail", draw(links), fed_by="main", diversity=draw(share))
    for place in range(draw(st.integers(1, 3))):
        fed_by = draw(st.sampled_from(["", "main", "rail"]))
        text += output(f"out {place}", drawing(draw(_amperes)), draw(links), fed_by)
    return make(text, supply='voltage = "12V"\ntolerance = "10%"')


def _with_load(board: Board, place: int, amperes: float) -> Board:
    outputs = list(board.outputs)
    outputs[place] = replace(outputs[place], load=replace(outputs[place].load, current_a=amperes))
    return replace(board, outputs=tuple(outputs))


def _margins(found: Audit) -> list[float]:
    return [line.margin_a for line in found.lines if line.margin_a is not None]


class TestBounds:
    """What the bounds promise holds on every board."""

    @settings(max_examples=40)
    @given(st.data())
    def test_at_its_greatest_current_the_link_that_sets_it_has_no_margin_left(
        self, board_of: MakeBoard, data: st.DataObject
    ) -> None:
        """Alone: the output's path has one link at its usable current, and none beyond."""
        board = data.draw(_boards(board_of))
        line = audit(board).outputs[0]
        assert line.alone.current_a is not None
        alone = replace(board, outputs=board.outputs[:1])
        found = audit(_with_load(alone, 0, line.alone.current_a))
        path = {link.where for link in board.path(board.outputs[0])}
        margins = {one.label: one.margin_a for one in found.lines if one.where in path and one.margin_a is not None}
        assert min(margins.values()) == pytest.approx(0.0, abs=1e-9)
        assert margins[line.alone.stopped_by or ""] == pytest.approx(0.0, abs=1e-9)

    @settings(max_examples=40)
    @given(st.data())
    def test_together_nothing_that_carried_is_overloaded(self, board_of: MakeBoard, data: st.DataObject) -> None:
        """With one output at its bound and the others at their loads, its path carries all of it, and no more."""
        board = data.draw(_boards(board_of))
        line = audit(board).outputs[0]
        current = line.together.current_a
        assert current is not None
        if current == 0.0:
            return
        path = {link.where for link in board.path(board.outputs[0])}

        def worst(amperes: float) -> float:
            found = audit(_with_load(board, 0, amperes))
            return min(one.margin_a for one in found.lines if one.where in path and one.margin_a is not None)

        assert worst(current) > -1e-9
        assert worst(current * 1.001) < 1e-9

    @settings(max_examples=40)
    @given(st.data())
    def test_least_resistance_times_greatest_current_is_the_high_supply(
        self, board_of: MakeBoard, data: st.DataObject
    ) -> None:
        """Ohm's law at 13.2 V."""
        for line in audit(data.draw(_boards(board_of))).outputs:
            for bound in (line.alone, line.together):
                if bound.current_a:
                    assert bound.least_actual_ohm is not None
                    assert bound.least_actual_ohm * bound.current_a == pytest.approx(13.2)

    @settings(max_examples=40)
    @given(st.data())
    def test_all_loads_times_the_factor_leave_one_link_without_margin(
        self, board_of: MakeBoard, data: st.DataObject
    ) -> None:
        """And none beyond."""
        board = data.draw(_boards(board_of))
        factor = audit(board).factor
        assert factor is not None
        for place, one in enumerate(board.outputs):
            board = _with_load(board, place, (one.load.current_a or 0.0) * factor)
        assert min(_margins(audit(board))) == pytest.approx(0.0, abs=1e-9)

    @settings(max_examples=40)
    @given(st.data(), _amperes)
    def test_one_more_output_never_leaves_the_others_more_room(
        self, board_of: MakeBoard, data: st.DataObject, amperes: float
    ) -> None:
        """Whatever it draws, wherever it is fed."""
        board = data.draw(_boards(board_of))
        before = audit(board).outputs
        more = replace(
            board.outputs[0],
            name="more",
            links=(),
            fed_by=data.draw(st.sampled_from(["main", "rail"])),
            load=replace(board.outputs[0].load, current_a=amperes),
        )
        after = audit(replace(board, outputs=(*board.outputs, more))).outputs
        for old, new in zip(before, after, strict=False):
            assert old.together.current_a is not None
            assert new.together.current_a is not None
            assert new.together.current_a <= old.together.current_a * (1.0 + 1e-12)
            assert new.alone == old.alone


class TestInductive:
    """An inductive load wants its diode."""

    def board(self, board_of: MakeBoard, more: str, load: str = "") -> Board:
        """Make a board with a pump."""
        text = f'[[output]]\nname = "pump"\n[output.load]\nkind = "inductive"\ncurrent = "4A"\n{load}\n{more}\n'
        return board_of(text + "[[output.link]]\n" + plain("x", 9.0))

    def test_without_a_diode_it_falls_short(self, board_of: MakeBoard) -> None:
        """Practice."""
        line = audit(self.board(board_of, "")).outputs[0]
        assert line.verdict == "falls short"
        assert [check.name for check in line.checks if not check.ok] == ["freewheel"]

    @pytest.mark.parametrize(
        ("amperes", "volts", "load", "verdict"),
        [
            ("4A", "18V", "", "carries"),
            ("3.9A", "18V", "", "falls short"),
            ("4A", "17V", "", "falls short"),
            ("1.6A", "18V", 'pwm = "500Hz"\nduty = "60%"', "carries"),
            ("1.5A", "18V", 'pwm = "500Hz"\nduty = "60%"', "falls short"),
        ],
    )
    def test_the_diode_s_figures(self, board_of: MakeBoard, amperes: str, volts: str, load: str, verdict: str) -> None:
        """1.5 × the supply (practice); the load's current, switched its mean 4 A·(1 − 0.6) = 1.6 A."""
        diode = f'[output.freewheel]\ncurrent = "{amperes}"\nvoltage = "{volts}"'
        assert audit(self.board(board_of, diode, load)).outputs[0].verdict == verdict

    def test_what_it_gives_back(self, board_of: MakeBoard) -> None:
        """½·L·I²: 3 mH at 4 A hold 24 mJ."""
        diode = '[output.freewheel]\ncurrent = "4A"\nvoltage = "18V"'
        line = audit(self.board(board_of, diode, 'inductance = "3mH"')).outputs[0]
        assert line.energy_j == pytest.approx(0.024)


def test_a_lamp_draws_ten_times_at_first(single: MakeBoard) -> None:
    """Common practice: cold tungsten has a tenth; 20 W on 12 V are 1.67 A hot, 16.7 A cold, held against IDM."""
    text = 'kind = "transistor"\non_resistance = "8mohm"\nrthja = "62K/W"\npulse_rating = "{}"'
    for rating, verdict in (("20A", "carries"), ("16A", "falls short")):
        found = audit(single(text.format(rating), load='kind = "lamp"\npower = "20W"'))
        assert found.outputs[0].inrush_a == pytest.approx(10.0 * 20.0 / 12.0)
        assert found.lines[0].verdict == verdict


def test_hotter_air_leaves_less(board_of: MakeBoard) -> None:
    """The same board in other air."""
    board = board_of(output("a", drawing(1.0), ['kind = "connector"\nrated_current = "10A"\n']))
    usable = [audit(with_ambient(board, degc)).lines[0].usable_a or 0.0 for degc in (20.0, 50.0, 90.0)]
    assert usable == sorted(usable, reverse=True)
    assert len(set(usable)) == len(usable)


@pytest.mark.parametrize(("degc", "coldest"), [(40.0, "0 °C"), (-10.0, "-10 °C")])
def test_the_coldest_air_is_never_assumed_warmer_than_the_hottest(
    board_of: MakeBoard, degc: float, coldest: str
) -> None:
    """0 °C where nothing is given, less where even the hottest air is colder."""
    board = board_of(output("a", drawing(1.0), [plain("x", 2.0)]), air=f'ambient = "{degc}degC"')
    assert any(f"the coldest air is {coldest}," in remark for remark in audit(board).assumed)


def test_what_runs_away_falls_short(single: MakeBoard) -> None:
    """40 mΩ at 22 A without a sink: no temperature balances the heat."""
    load = 'kind = "resistive"\ncurrent = "22A"'
    found = audit(single('kind = "transistor"\non_resistance = "40mohm"\npackage = "TO-220"', load=load))
    assert found.outputs[0].state == "runaway"
    assert found.lines[0].verdict == "falls short"
    assert any("runs away" in note for note in found.lines[0].notes)


def test_what_the_supply_cannot_feed_falls_short(single: MakeBoard) -> None:
    """A link of 10 Ω leaves nothing for a load that wants 5 A."""
    load = 'kind = "resistive"\ncurrent = "5A"'
    found = audit(single('kind = "plain"\nrated_current = "9A"\nresistance = "10ohm"', load=load))
    assert (found.outputs[0].state, found.outputs[0].verdict) == ("starved", "falls short")


def test_sections_may_be_nested_as_deep_as_one_likes(board_of: MakeBoard) -> None:
    """Each of many sections feeds the next: the current of the one load passes them all."""
    deep = 1500  # more than Python stacks up
    body = "".join(
        section(f"s{place}", [plain("x", 10.0)] if place == 0 else [], fed_by=f"s{place - 1}" if place else "")
        for place in range(deep)
    )
    found = audit(board_of(body + output("mat", drawing(3.0), [plain("y", 10.0)], fed_by=f"s{deep - 1}")))
    assert {line.link.name: line.current_a for line in found.lines} == {"x": 3.0, "y": 3.0}


def test_the_order_of_the_sections_in_the_file_says_nothing(board_of: MakeBoard) -> None:
    """Half of 4 A and 2 A through the inner section, and all of that with 5 A through the outer one."""
    inner = section("inner", [plain("i", 50.0)], fed_by="outer", diversity="50%")
    outer = section("outer", [plain("o", 50.0)])
    loads = "".join(
        output(name, drawing(amperes), [plain("l", 50.0)], fed_by=fed_by)
        for name, amperes, fed_by in (("a", 4.0, "inner"), ("b", 2.0, "inner"), ("c", 5.0, "outer"))
    )
    for body in (inner + outer, outer + inner):
        lines = audit(board_of(body + loads)).lines
        assert {line.link.name: line.current_a for line in lines if line.shared} == {"i": 4.0, "o": 9.0}
