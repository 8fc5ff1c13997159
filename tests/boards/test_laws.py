"""What each kind of link carries, held against published rows and independent arithmetic."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest
from scipy.optimize import brentq

from loadworthy.boards import Audit, AuditLine, Board, audit
from loadworthy.boards.laws import Conditions, copper
from loadworthy.boards.model import Trace

MakeBoard = Callable[..., Board]

STILL = Conditions(
    ambient_degc=40.0, coldest_degc=0.0, supply_v=12.0, supply_high_v=12.0, duty=1.0, pwm_hz=0.0, inductive=False,
    clamped=False,
)  # fmt: skip

#: Connector data sheet, base curve, 5 poles, limit 125 °C; and its own derated curve (0.8, IEC 60512-5-2).
BASE_CURVE = {20: 11.1, 40: 9.95, 60: 8.6, 80: 7.05, 100: 5.15, 120: 2.1}
DERATED_CURVE = {20: 8.88, 40: 7.96, 60: 6.88, 80: 5.64, 100: 4.12, 120: 1.68}
#: A maker's table of blade fuses, continuous current in A at °C; its margin is inside.
BLADE_DEGC = (-40, 0, 20, 65, 85, 110, 125)
BLADE = {
    10: (10, 10, 10, 8, 7, 6, 5),
    15: (15, 15, 14, 12, 11, 9, 8),
    20: (20, 19, 18, 15, 14, 12, 10),
    30: (30, 29, 27, 23, 21, 18, 15),
}
#: A maker's data sheet of a resettable 30 V part: hold current in A at °C.
HOLD = {-40: 7.25, -20: 6.50, 0: 5.75, 20: 5.00, 40: 4.15, 50: 3.85, 60: 3.40, 70: 3.05, 85: 2.60}


def curve(points: dict[int, float]) -> str:
    """Write a curve as a board file has it."""
    return "[" + ", ".join(f'["{degc}degC", "{amperes}A"]' for degc, amperes in points.items()) + "]"


def only(board: Board) -> AuditLine:
    """Return the line of a board's only link."""
    (line,) = audit(board).lines
    return line


def air(degc: float) -> str:
    """Write the air round a board."""
    return f'ambient = "{degc}degC"'


class TestConnector:
    """0.8 of the base curve, or the root law in its place."""

    @pytest.mark.parametrize("degc", [degc for degc in BASE_CURVE if degc <= 100])
    def test_the_published_derated_curve(self, single: MakeBoard, degc: int) -> None:
        """Connector data sheet: both of its curves are printed. No board stands in hotter air than 100 °C."""
        line = only(single(f'kind = "connector"\nderating = {curve(BASE_CURVE)}', air=air(degc)))
        assert line.usable_a == pytest.approx(DERATED_CURVE[degc], abs=0.005)
        assert line.ultimate_a == pytest.approx(BASE_CURVE[degc])
        assert not line.assumed

    def test_beyond_its_curve_nothing_is_known(self, single: MakeBoard) -> None:
        """The verdict says so, with the reason."""
        line = only(single(f'kind = "connector"\nderating = {curve({20: 11.1, 60: 8.6})}', air=air(70)))
        assert (line.usable_a, line.verdict) == (None, "not known")
        assert "60 °C" in (line.unknown or "")

    def test_the_root_law_where_there_is_no_curve(self, single: MakeBoard) -> None:
        """0.8·I·√((Tmax − T)/(Tmax − Tref)), from Δt ∝ I²; said to be assumed and optimistic."""
        line = only(
            single('kind = "connector"\nrated_current = "11.1A"\nrated_at = "20degC"\nlimit = "125degC"', air=air(80))
        )
        assert line.usable_a == pytest.approx(0.8 * 11.1 * math.sqrt(45.0 / 105.0))
        assert any("optimistic" in remark for remark in line.assumed)

    def test_of_a_ul_and_an_iec_rating_the_lesser_counts(self, single: MakeBoard) -> None:
        """They are two different tests; the result keeps which it was."""
        line = only(single('kind = "connector"\nrated_current_ul = "10A"\nrated_current_iec = "16A"', air=air(20)))
        assert line.usable_a == pytest.approx(8.0)
        assert "UL" in line.governs
        assert any("two different tests" in note for note in line.notes)

    @pytest.mark.parametrize(("more", "amperes"), [("", 5.0), ('unmarked_current = "8A"', 8.0)])
    def test_unmarked_is_five_amperes_unless_told(self, single: MakeBoard, more: str, amperes: float) -> None:
        """Practice: look-alike terminals are sold from 5 A to 25 A, an unmarked one is likely at the low end."""
        line = only(single(f'kind = "connector"\nunmarked = true\n{more}'))
        assert line.usable_a == pytest.approx(amperes)
        assert any("no marking" in remark and "10 A" in remark for remark in line.assumed)

    def test_unmarked_in_hot_air_carries_less(self, single: MakeBoard) -> None:
        """√ law from 40 to 105 °C."""
        line = only(single('kind = "connector"\nunmarked = true', air=air(80)))
        assert line.usable_a == pytest.approx(5.0 * math.sqrt(25.0 / 65.0))

    def test_the_current_passes_two_contacts(self, single: MakeBoard) -> None:
        """I²·R·2: 10 A through 5 mΩ out and back is 1 W (Joule's law)."""
        load = 'kind = "resistive"\ncurrent = "10A"'
        line = only(single('kind = "connector"\nrated_current = "20A"\ncontact_resistance = "5mohm"', load=load))
        assert (line.loss_w, line.drop_v) == (pytest.approx(1.0), pytest.approx(0.1))

    def test_half_the_rated_current_gives_a_quarter_of_the_rise(self, single: MakeBoard) -> None:
        """Δt ∝ I² (a connector maker's note on UL 1059): 80 K at 10 A is 20 K at 5 A."""
        load = 'kind = "resistive"\ncurrent = "5A"'
        text = 'kind = "connector"\nrated_current = "10A"\nrated_at = "20degC"\nlimit = "100degC"'
        assert only(single(text, load=load, air=air(30))).temperature_degc == pytest.approx(50.0)


class TestFuse:
    """What it carries for good."""

    @pytest.mark.parametrize(("standard", "amperes"), [("UL", 7.5), ("IEC", 10.0)])
    def test_the_share_of_its_standard(self, single: MakeBoard, standard: str, amperes: float) -> None:
        """Fuse maker's comparison: UL 75 %, IEC 100 %."""
        line = only(single(f'kind = "fuse"\ntype = "one-shot"\nrating = "10A"\nstandard = "{standard}"', air=air(20)))
        assert line.usable_a == pytest.approx(amperes)

    def test_without_standard_or_table_the_lesser_share_is_assumed(self, single: MakeBoard) -> None:
        """75 %, and said."""
        for more in ("", 'standard = "blade"'):
            line = only(single(f'kind = "fuse"\ntype = "one-shot"\nrating = "10A"\n{more}', air=air(20)))
            assert line.usable_a == pytest.approx(7.5)
            assert any("75 %" in remark for remark in line.assumed)

    @pytest.mark.parametrize("rating", BLADE)
    @pytest.mark.parametrize("place", range(5))
    def test_a_blade_table_has_its_margin_inside(self, single: MakeBoard, rating: int, place: int) -> None:
        """Maker's table, rounded to whole amperes; 75 % is not taken again."""
        table = curve(dict(zip(BLADE_DEGC, BLADE[rating], strict=True)))
        text = f'kind = "fuse"\ntype = "one-shot"\nrating = "{rating}A"\nstandard = "blade"\nby_temperature = {table}'
        assert only(single(text, air=air(BLADE_DEGC[place]))).usable_a == pytest.approx(BLADE[rating][place])

    def test_warm_air_does_not_change_what_it_stands(self, single: MakeBoard) -> None:
        """Without margins it is still the fuse of its rating."""
        text = f'kind = "fuse"\ntype = "one-shot"\nrating = "10A"\nby_temperature = {curve({20: 10.0, 65: 8.0})}'
        assert only(single(text, air=air(65))).ultimate_a == pytest.approx(10.0)

    @pytest.mark.parametrize("degc", HOLD)
    def test_a_resettable_fuse_holds_what_its_table_says(self, single: MakeBoard, degc: int) -> None:
        """Maker's data sheet of a 30 V part."""
        table = f'kind = "fuse"\ntype = "resettable"\nhold = "5A"\ntrip = "10A"\nhold_by_temperature = {curve(HOLD)}'
        line = only(single(table, air=air(degc)))
        assert line.usable_a == pytest.approx(HOLD[degc])
        assert any("not isolated" in note for note in line.notes)

    @pytest.mark.parametrize(("degc", "amperes"), [(20, 5.0), (25, 5.0), (26, None), (40, None)])
    def test_without_a_table_nothing_is_said_in_warm_air(
        self, single: MakeBoard, degc: int, amperes: float | None
    ) -> None:
        """The fall is the maker's to give: it is not made up."""
        line = only(single('kind = "fuse"\ntype = "resettable"\nhold = "5A"', air=air(degc)))
        assert line.usable_a == amperes
        assert line.verdict == ("carries" if amperes else "not known")


def ipc_2221(width_mm: float, thickness_um: float, rise_k: float, k: float) -> float:
    """I = k·ΔT^0.44·A^0.725, A in mil² (IPC-2221)."""
    return k * rise_k**0.44 * (width_mm / 0.0254 * thickness_um / 25.4) ** 0.725


class TestTrace:
    """IPC-2221, and nothing outside its charts."""

    def text(self, width: str, layer: str = "outer", thickness: str = "35um") -> str:
        """Write a trace."""
        return f'kind = "trace"\nwidth = "{width}"\nthickness = "{thickness}"\nlength = "100mm"\nlayer = "{layer}"'

    @pytest.mark.parametrize(
        ("width", "layer", "amperes"), [(1.816, "outer", 5.0), (4.724, "inner", 5.0), (4.724, "outer", 10.0)]
    )
    def test_the_widths_that_the_formula_gives(
        self, single: MakeBoard, width: float, layer: str, amperes: float
    ) -> None:
        """IPC-2221, 1 oz (1.378 mil), 20 K: computed rows, and the formula written out."""
        line = only(single(self.text(f"{width}mm", layer)))
        assert line.usable_a == pytest.approx(amperes, rel=1e-3)
        assert line.usable_a == pytest.approx(ipc_2221(width, 35.0, 20.0, 0.024 if layer == "inner" else 0.048))
        assert any("20 K" in remark for remark in line.assumed)

    def test_its_limit_is_the_board_s(self, single: MakeBoard) -> None:
        """65 K above 40 °C make the assumed 105 °C."""
        assert only(single(self.text("2mm"))).ultimate_a == pytest.approx(ipc_2221(2.0, 35.0, 65.0, 0.048))

    def test_twenty_amperes_on_an_inner_layer_are_not_judged(self, single: MakeBoard) -> None:
        """The charts end at 17.5 A: IPC-2221 must be refused there."""
        load = 'kind = "resistive"\ncurrent = "20A"'
        line = only(single(self.text("10mm", "inner", "210um"), load=load))
        assert line.verdict == "not known"
        assert "17.5 A" in (line.unknown or "")

    def test_wider_than_the_charts_is_not_known(self, single: MakeBoard) -> None:
        """400 mil are 10.16 mm."""
        line = only(single(self.text("10.2mm")))
        assert (line.usable_a, line.verdict) == (None, "not known")
        assert "10.16 mm" in (line.unknown or "")

    def test_a_trace_that_falls_short_gets_a_wire_that_shares_the_current(self, single: MakeBoard) -> None:
        """With the wire beside it the trace carries no more than it may: currents divide as copper areas do."""
        load = 'kind = "resistive"\ncurrent = "8A"'
        line = only(single(self.text("1.816mm"), load=load))
        assert line.verdict == "falls short"
        wire_m2, trace_m2 = line.needs["parallel_copper_m2"], 1.816e-3 * 35e-6
        assert isinstance(wire_m2, float)
        assert 8.0 * trace_m2 / (trace_m2 + wire_m2) == pytest.approx(line.usable_a)
        width = line.needs["least_width_m"]
        assert isinstance(width, float)
        assert ipc_2221(1e3 * width, 35.0, 20.0, 0.048) == pytest.approx(8.0)


def wire_degc(current_a: float, ohm_per_m: float, outer_m: float, ambient_degc: float) -> float:
    """Find where I²·R'(T) = 10 W/(m²K)·π·D·(T − TA) balances, by halving."""

    def unbalanced(degc: float) -> float:
        heat = current_a**2 * ohm_per_m * (1.0 + 0.00393 * (degc - 20.0))
        return heat - 10.0 * math.pi * outer_m * (degc - ambient_degc)

    return float(brentq(unbalanced, ambient_degc - 1.0, 400.0))


class TestWire:
    """The balance of heat in still air."""

    def test_usable_is_ten_kelvin_below_the_insulation_and_ultimate_at_it(self, single: MakeBoard) -> None:
        """Flexible 1 mm² has 19.5 Ω/km (IEC 60228), not 17.24; SciPy closes the balance."""
        line = only(single('kind = "wire"\narea = "1mm2"\nstrand = "class 5"\nlength = "2m"\nouter_diameter = "2.4mm"'))
        assert line.usable_a is not None
        assert line.ultimate_a is not None
        assert wire_degc(line.usable_a, 0.0195, 2.4e-3, 40.0) == pytest.approx(60.0)
        assert wire_degc(line.ultimate_a, 0.0195, 2.4e-3, 40.0) == pytest.approx(70.0)
        assert any("local codes" in note for note in line.notes)

    @pytest.mark.parametrize(("gauge", "ohm_per_km"), [(10, 3.28), (14, 8.28), (18, 20.94), (24, 84.20)])
    def test_the_resistance_of_a_gauge(self, single: MakeBoard, gauge: int, ohm_per_km: float) -> None:
        """Published AWG table at 20 °C, within 0.1 %."""
        load = 'kind = "resistive"\ncurrent = "1mA"'
        line = only(single(f'kind = "wire"\ngauge = "{gauge}AWG"\nlength = "1000m"', load=load, air=air(20)))
        assert line.resistance_ohm == pytest.approx(ohm_per_km, rel=1e-3)

    @pytest.mark.parametrize(
        ("strand", "ohm_per_km"), [("class 2", 7.41), ("class 5", 7.98), ("solid", 1e3 / 58 / 2.5)]
    )
    def test_the_resistance_of_an_area(self, single: MakeBoard, strand: str, ohm_per_km: float) -> None:
        """IEC 60228, 2.5 mm² plain copper; solid by IEC 60028."""
        load = 'kind = "resistive"\ncurrent = "1mA"'
        text = f'kind = "wire"\narea = "2.5mm2"\nstrand = "{strand}"\nlength = "1000m"'
        assert only(single(text, load=load, air=air(20))).resistance_ohm == pytest.approx(ohm_per_km, rel=1e-6)

    def test_an_area_outside_the_table_is_not_known(self, single: MakeBoard) -> None:
        """Resistances of IEC 60228 are a table: none is made up."""
        line = only(single('kind = "wire"\narea = "1.1mm2"\nstrand = "class 5"\nlength = "1m"'))
        assert (line.usable_a, line.verdict) == (None, "not known")
        assert "1.1" in (line.unknown or "")

    def test_a_long_drop_is_worth_a_word(self, single: MakeBoard) -> None:
        """More than 3 % of the supply: a note, no verdict."""
        load = 'kind = "resistive"\ncurrent = "5A"'
        line = only(single('kind = "wire"\narea = "2.5mm2"\nlength = "12m"', load=load))
        assert line.verdict == "carries"
        assert any("3 %" in note for note in line.notes)


#: IEC 60228, class 5, plain copper, greatest Ω/km at 20 °C.
FLEXIBLE = {0.5: 39.0, 0.75: 26.0, 1.0: 19.5, 1.5: 13.3, 2.5: 7.98, 4.0: 4.95, 6.0: 3.30}


def wire_a(mm2: float, ohm_per_km: float, degc: float, ambient_degc: float) -> float:
    """Return what warms a wire with 0.8 mm of insulation to a temperature, by SciPy on the balance of heat."""
    outer_m = 1e-3 * (2.0 * math.sqrt(mm2 / math.pi) + 1.6)
    hot_ohm_per_m = 1e-3 * ohm_per_km * (1.0 + 0.00393 * (degc - 20.0))
    given_off = 10.0 * math.pi * outer_m * (degc - ambient_degc)
    return float(brentq(lambda amperes: amperes**2 * hot_ohm_per_m - given_off, 0.0, 1000.0))


def side_by_side(trace_a: float, trace_ohm: float, wire_most_a: float, wire_ohm: float) -> float:
    """Raise the current until one of two resistances side by side is at its limit; each takes the same voltage."""

    def room(total: float) -> float:
        volts = total / (1.0 / trace_ohm + 1.0 / wire_ohm)
        return min(trace_a - volts / trace_ohm, wire_most_a - volts / wire_ohm)

    return float(brentq(room, 0.0, 1e6))


class TestWireAlongATrace:
    """A wire soldered along printed copper: the same voltage lies across both (Ohm's law)."""

    def text(self, wire: str = "", width: str = "2mm") -> str:
        """Write a trace of 1 oz (35 µm), 100 mm long, with or without a wire along it."""
        more = f'parallel_wire = "{wire}"' if wire else ""
        return f'kind = "trace"\nwidth = "{width}"\nthickness = "35um"\nlength = "100mm"\nlayer = "outer"\n{more}'

    @pytest.mark.parametrize("mm2", FLEXIBLE)
    @pytest.mark.parametrize("width_mm", [0.5, 2.0, 9.0])
    def test_the_current_divides(self, single: MakeBoard, mm2: float, width_mm: float) -> None:
        """IEC 60028 for the trace, IEC 60228 for the wire, IPC-2221 and the balance of heat for what each may carry."""
        line = only(single(self.text(f"{mm2}mm2", f"{width_mm}mm")))
        trace_ohm, wire_ohm = 0.1 / 58.0 / (width_mm * 0.035), 1e-4 * FLEXIBLE[mm2]
        usable = side_by_side(
            ipc_2221(width_mm, 35.0, 20.0, 0.048), trace_ohm, wire_a(mm2, FLEXIBLE[mm2], 60.0, 40.0), wire_ohm
        )
        ultimate = side_by_side(
            ipc_2221(width_mm, 35.0, 65.0, 0.048), trace_ohm, wire_a(mm2, FLEXIBLE[mm2], 70.0, 40.0), wire_ohm
        )
        assert line.usable_a == pytest.approx(usable, rel=1e-6)
        assert line.ultimate_a == pytest.approx(ultimate, rel=1e-6)
        assert f"{mm2:g} mm²" in line.governs
        assert any("local codes" in note for note in line.notes)

    def test_at_the_usable_current_one_of_the_two_is_at_its_limit(self, single: MakeBoard) -> None:
        """The wire is warm first, unless next to no rise is allowed to the copper."""
        limits = []
        for rise_k in (20.0, 0.5):
            usable = only(single(self.text("0.5mm2", "9mm") + f'\nrise = "{rise_k}K"')).usable_a or 0.0
            trace_ohm, wire_ohm = 0.1 / 58.0 / (9.0 * 0.035), 1e-4 * FLEXIBLE[0.5]
            through_trace = usable * wire_ohm / (trace_ohm + wire_ohm)
            trace_used = through_trace / ipc_2221(9.0, 35.0, rise_k, 0.048)
            wire_used = (usable - through_trace) / wire_a(0.5, FLEXIBLE[0.5], 60.0, 40.0)
            assert max(trace_used, wire_used) == pytest.approx(1.0, rel=1e-6)
            limits.append("trace" if trace_used > wire_used else "wire")
        assert limits == ["wire", "trace"]

    def test_a_vanishing_wire_leaves_the_trace_alone(self, single: MakeBoard) -> None:
        """A hair of copper takes no current, and its own limit never comes first."""
        alone, hair = (only(single(self.text(wire))) for wire in ("", "0.00001mm2"))
        assert hair.usable_a == pytest.approx(alone.usable_a, rel=1e-3)
        assert hair.ultimate_a == pytest.approx(alone.ultimate_a, rel=1e-3)
        assert hair.drop_v == pytest.approx(alone.drop_v, rel=1e-3)

    def test_both_drop_the_same_voltage(self, single: MakeBoard) -> None:
        """Next to no current in air of 20 °C: two resistances side by side."""
        load = 'kind = "resistive"\ncurrent = "1mA"'
        line = only(single(self.text("2.5mm2"), load=load, air=air(20)))
        trace_ohm, wire_ohm = 0.1 / 58.0 / (2.0 * 0.035), 1e-4 * 7.98
        assert line.resistance_ohm == pytest.approx(trace_ohm * wire_ohm / (trace_ohm + wire_ohm), rel=1e-6)

    @pytest.mark.parametrize("amperes", [6.0, 9.0, 14.0, 20.0, 28.0, 60.0])
    def test_the_wire_chosen_is_the_thinnest_that_does(self, single: MakeBoard, amperes: float) -> None:
        """Brute force over the areas of IEC 60228 that are at hand here; beyond them only a thicker one does."""
        link = single(self.text()).outputs[0].links[0]
        assert isinstance(link, Trace)
        found = copper.wire_beside(link, STILL, amperes)
        trace_ohm, trace_a = 0.1 / 58.0 / (2.0 * 0.035), ipc_2221(2.0, 35.0, 20.0, 0.048)
        fit = [
            mm2
            for mm2, ohm_per_km in FLEXIBLE.items()
            if side_by_side(trace_a, trace_ohm, wire_a(mm2, ohm_per_km, 60.0, 40.0), 1e-4 * ohm_per_km) >= amperes
        ]
        if fit:
            assert found == pytest.approx(1e-6 * min(fit))
        else:
            assert found is None or found > 6.0e-6 * 1.001

    def test_beyond_the_thickest_wire_there_is_none(self, single: MakeBoard) -> None:
        """Nothing of the table carries a thousand amperes beside a trace."""
        link = single(self.text()).outputs[0].links[0]
        assert isinstance(link, Trace)
        assert copper.wire_beside(link, STILL, 1000.0) is None

    def test_what_falls_short_with_a_wire_needs_more_copper_than_it_has(self, single: MakeBoard) -> None:
        """The need is for a wire in place of the one that is, by the trace's own share of the current."""
        load = 'kind = "resistive"\ncurrent = "30A"'
        line = only(single(self.text("0.5mm2"), load=load))
        bare = only(single(self.text(), load=load))
        assert line.verdict == "falls short"
        assert line.needs["parallel_copper_m2"] == pytest.approx(bare.needs["parallel_copper_m2"])
        trace_m2, wire_m2 = 2e-3 * 35e-6, line.needs["parallel_copper_m2"]
        assert isinstance(wire_m2, float)
        assert 30.0 * trace_m2 / (trace_m2 + wire_m2) == pytest.approx(ipc_2221(2.0, 35.0, 20.0, 0.048))

    def test_where_the_wire_is_at_its_limit_the_end_of_the_charts_is_no_excuse(self, single: MakeBoard) -> None:
        """An inner layer is charted to 17.5 A; a thin wire that is too warm falls short, and that is known."""
        wide = 'kind = "trace"\nwidth = "10mm"\nthickness = "210um"\nlength = "100mm"\nlayer = "inner"\nrise = "60K"\n'
        load = 'kind = "resistive"\ncurrent = "200A"'
        (line, hot) = (
            only(single(wide + f'parallel_wire = "{wire}"', load=load, air=air(degc)))
            for wire, degc in (("0.5mm2", 40), ("0.5mm2", 59.9))
        )
        assert (line.verdict, hot.verdict) == ("not known", "falls short")


def junction_degc(current_a: float, r25_ohm: float, n: float, rth_k_per_w: float, ambient_degc: float) -> float:
    """Solve TJ = TA + Rth·I²·R(TJ) by halving, with the second-order law written out."""

    def unbalanced(degc: float) -> float:
        delta = degc - 25.0
        factor = 1.0 + n / 298.15 * delta + n * (n - 1.0) / (2.0 * 298.15**2) * delta**2
        return ambient_degc + rth_k_per_w * current_a**2 * r25_ohm * factor - degc

    return float(brentq(unbalanced, ambient_degc - 1.0, 200.0))


class TestTransistor:
    """The junction, the heat without a sink, the rating."""

    def test_the_junction_settles_at_its_limit(self, single: MakeBoard) -> None:
        """Workshop: 25 K below its maximum, never above 125 °C; SciPy solves for the temperature."""
        text = (
            'kind = "transistor"\non_resistance = "13mohm"\nhot_exponent = "1.65"\nrthja = "62K/W"\n'
            'junction_max = "{}degC"'
        )
        for rated, limit in ((175, 125.0), (140, 115.0)):
            line = only(single(text.format(rated)))
            assert line.usable_a is not None
            assert line.ultimate_a is not None
            assert junction_degc(line.usable_a, 0.013, 1.65, 62.0, 40.0) == pytest.approx(limit, abs=1e-6)
            assert line.limit_degc == limit
            assert junction_degc(line.ultimate_a, 0.013, 1.65, 62.0, 40.0) == pytest.approx(rated, abs=1e-6)

    def test_a_leaded_package_takes_one_watt_without_a_sink(self, single: MakeBoard) -> None:
        """Practice: up to about 1 W; at the usable current the part makes just that."""
        line = only(single('kind = "transistor"\non_resistance = "8mohm"\nhot_exponent = "1.65"\npackage = "TO-220"'))
        assert line.usable_a is not None
        degc = junction_degc(line.usable_a, 0.008, 1.65, 62.5, 40.0)
        assert (degc - 40.0) / 62.5 == pytest.approx(1.0)
        assert "1 W" in line.governs
        assert any("TO-220" in remark for remark in line.assumed)

    @pytest.mark.parametrize(("ohms", "most_w", "least_w"), [("40mohm", 5.0, 4.7), ("7.9mohm", 1.0, 0.9)])
    def test_the_measured_values_of_the_bench(
        self, single: MakeBoard, ohms: str, most_w: float, least_w: float
    ) -> None:
        """Practice: 40 mΩ at 11 A is almost 5 W, under 8 mΩ it is under 1 W."""
        load = 'kind = "resistive"\ncurrent = "11A"'
        text = f'kind = "transistor"\nmeasured_on_resistance = "{ohms}"\nhot_exponent = "0"\nrthja = "1K/W"'
        line = only(single(text, load=load))
        assert line.loss_w is not None
        assert least_w < line.loss_w < most_w

    def test_the_measured_resistance_counts_before_the_specified(self, single: MakeBoard) -> None:
        """And the line says so."""
        text = 'kind = "transistor"\non_resistance = "8mohm"\nmeasured_on_resistance = "40mohm"\nhot_exponent = "0"\n'
        line = only(single(text + 'rthja = "10K/W"'))
        assert line.resistance_ohm == pytest.approx(0.040)
        assert any("measured" in note for note in line.notes)

    def test_the_textbook_chain_of_a_heat_sink(self, single: MakeBoard) -> None:
        """Textbook: 5 W, TJ 150 °C, TA 50 °C, θJC 3, θCS 1 → θSA 16 K/W; 5 W are 10 A in 50 mΩ."""
        text = (
            'kind = "transistor"\non_resistance = "50mohm"\nhot_exponent = "0"\njunction_max = "150degC"\n'
            'rthjc = "3K/W"\nrthcs = "1K/W"\nheatsink = "16K/W"'
        )
        assert only(single(text, air=air(50))).ultimate_a == pytest.approx(10.0)

    def test_the_tutorial_s_junction_on_a_sink(self, single: MakeBoard) -> None:
        """Heat-sink maker's tutorial: θJC 0.5, θCS 0.45, θSA 19.1, 2.78 W in air of 50 °C → 105.7 °C."""
        text = (
            'kind = "transistor"\non_resistance = "27.8mohm"\nhot_exponent = "0"\n'
            'rthjc = "0.5K/W"\nrthcs = "0.45K/W"\nheatsink = "19.1K/W"'
        )
        load = 'kind = "resistive"\ncurrent = "10A"'
        assert only(single(text, load=load, air=air(50))).temperature_degc == pytest.approx(105.7, abs=0.05)

    def test_a_pad_stands_in_the_way_of_the_heat(self, single: MakeBoard) -> None:
        """The textbook's chain with 4 of its 16 K/W in a pad and the rest in the sink is the same chain."""
        text = (
            'kind = "transistor"\non_resistance = "50mohm"\nhot_exponent = "0"\njunction_max = "150degC"\n'
            'rthjc = "3K/W"\nrthcs = "1K/W"\nheatsink = "12K/W"\npad = "4K/W"'
        )
        assert only(single(text, air=air(50))).ultimate_a == pytest.approx(10.0)

    def test_its_rating_keeps_its_margin(self, single: MakeBoard) -> None:
        """Practice: ID at the case at least 1.25 × the load's current."""
        text = 'kind = "transistor"\non_resistance = "1mohm"\nrthja = "1K/W"\ncurrent_rating = "10A"'
        line = only(single(text))
        assert (line.usable_a, line.ultimate_a) == (pytest.approx(8.0), pytest.approx(10.0))

    @pytest.mark.parametrize(("volts", "verdict"), [("18V", "carries"), ("17.9V", "falls short")])
    def test_its_voltage_keeps_its_margin(self, single: MakeBoard, volts: str, verdict: str) -> None:
        """Practice: VDS at least 1.5 × the supply."""
        text = f'kind = "transistor"\non_resistance = "1mohm"\nrthja = "10K/W"\nvds = "{volts}"'
        assert only(single(text)).verdict == verdict

    def test_unclamped_it_needs_twice_the_supply(self, single: MakeBoard) -> None:
        """Practice: VDS at least 2 × the supply where nothing clamps an inductive load."""
        text = 'kind = "transistor"\non_resistance = "1mohm"\nrthja = "10K/W"\nvds = "20V"'
        load = 'kind = "inductive"\ncurrent = "1A"'
        (check,) = [check for check in only(single(text, load=load)).checks if check.name == "voltage"]
        assert (check.needs, check.ok) == (24.0, False)
        diode = '[output.freewheel]\ncurrent = "1A"\nvoltage = "20V"'
        assert only(single(text, load=load, more=diode)).verdict == "carries"

    def test_without_any_thermal_figure_nothing_is_known(self, single: MakeBoard) -> None:
        """A heat sink alone does not tell how the heat gets to it."""
        line = only(single('kind = "transistor"\non_resistance = "8mohm"\nheatsink = "10K/W"'))
        assert (line.usable_a, line.verdict) == (None, "not known")

    def test_switching_counts_where_the_edges_are_known(self, single: MakeBoard) -> None:
        """½·V·I·(tr + tf)·f for an inductive load (ROHM AEK59-D1-0065-2): 12 V, 3 A, 10 ns, 2 MHz → 360 mW."""
        text = (
            'kind = "transistor"\non_resistance = "1uohm"\nhot_exponent = "0"\nrthja = "1K/W"\n'
            'rise_time = "4ns"\nfall_time = "6ns"'
        )
        load = 'kind = "inductive"\ncurrent = "3A"\npwm = "2MHz"\nduty = "50%"'
        line = only(single(text, load=load, more='[output.freewheel]\ncurrent = "3A"\nvoltage = "40V"'))
        assert line.loss_w == pytest.approx(0.360, abs=5e-4)

    def test_switching_counts_the_high_end_of_the_supply(self, single: MakeBoard) -> None:
        """The loss goes with the voltage: 10 % more of it."""
        text = 'kind = "transistor"\non_resistance = "1uohm"\nrthja = "1K/W"\nrise_time = "4us"\nfall_time = "6us"'
        load = 'kind = "resistive"\ncurrent = "3A"\npwm = "1kHz"\nduty = "50%"'
        losses = [
            only(single(text, load=load, supply=f'voltage = "12V"\ntolerance = "{share}"')).loss_w or 0.0
            for share in ("0%", "10%")
        ]
        assert losses[1] / losses[0] == pytest.approx(1.1, rel=1e-3)

    def test_switching_that_cannot_be_counted_is_said(self, single: MakeBoard) -> None:
        """Never silently left out."""
        load = 'kind = "resistive"\ncurrent = "3A"\npwm = "1kHz"\nduty = "50%"'
        line = only(single('kind = "transistor"\non_resistance = "8mohm"\nrthja = "62K/W"', load=load))
        assert any("not counted" in note for note in line.notes)


def test_a_plain_link_carries_its_rating(single: MakeBoard) -> None:
    """As it stands, and said."""
    found: Audit = audit(single('kind = "plain"\nrated_current = "3A"\nresistance = "10mohm"'))
    assert found.lines[0].usable_a == 3.0
    assert any("whatever the air" in note for note in found.lines[0].notes)
