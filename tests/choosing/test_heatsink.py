"""Heat sinks for a part's heat: each criterion, the arithmetic, and the box that no figure can beat."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

import pytest
from ht.conv_free_immersed import Nu_vertical_plate_Churchill
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from path_catalogs import Part, assert_judged, catalog_with, every_row, the_row

from loadworthy import HeatsinkNeed, choose, explain
from loadworthy.catalog.packages import packages
from loadworthy.errors import QuantityError, UsageError
from loadworthy.needs import cautions
from loadworthy.physics import convection, thermal

#: 85 K for 3 W are 28.33 K/W in all, of which the sink may have 26.33.
HEAT: dict[str, Any] = {"loss": "3W", "rthjc": "1.5K/W", "rthcs": "0.5K/W"}


def sink(part_number: str = "A", **other: Any) -> Part:
    """Return a clip-on sink of a common size and figure, and what a test changes of it."""
    return {
        "part_key": f"Alder|{part_number}", "maker": "Alder", "part_number": part_number, "claims": 1,
        "package": "TO-220", "fixing": "clip", "theta_natural_k_per_w": 21.0,
        "width_m": 0.019, "height_m": 0.019, "depth_m": 0.010, "mass_kg": 0.005,
    } | other  # fmt: skip


def needed(**asked: Any) -> float:
    """Return what the need allows the sink, in K/W."""
    value = HeatsinkNeed(**asked).parameters()["needed_k_per_w"]
    assert isinstance(value, float)
    return value


OFFERS: list[dict[str, Any]] = [
    {"part_key": "Alder|A", "supplier": "Rowan Parts", "currency": "EUR", "unit_price": 1.0, "stock": 0},
    {"part_key": "Alder|A", "supplier": "Hazel & Co", "currency": "EUR", "unit_price": 3.0, "stock": 50},
]
CASES: list[tuple[str, dict[str, Any], dict[str, Any], str]] = [
    ("offer", {}, {"in_stock": True}, "pass"),
    ("offer", {}, {"max_price": "1.50 EUR", "in_stock": True}, "fail"),
    ("offer", {}, {"max_price": "1.50 USD"}, "unknown"),
    ("package", {}, {"package": ("to220ab",)}, "pass"),
    ("package", {"package": "TO-247"}, {"package": ("TO-220",)}, "fail"),
    ("package", {"package": None}, {"package": ("TO-220",)}, "unknown"),
    ("package", {"package": "TO-220/TO-247"}, {"package": ("TO-220",)}, "pass"),
    ("package", {"package": "TO-218, TO 247 AC"}, {"package": ("TO-247",)}, "pass"),
    ("package", {"package": "TO-126 und TO-220AB"}, {"package": ("TO-220",)}, "pass"),
    ("package", {"package": "TO-218, TO-3P"}, {"package": ("TO-247",)}, "fail"),
    # A name inside another is not that name.
    ("package", {"package": "TO-2200 / TO-247-4"}, {"package": ("TO-220", "TO-247")}, "fail"),
    # Moulded in, or with two leads, it lies on its sink alike; a plain part does not fit a sink for the moulded one.
    ("package", {}, {"package": ("TO-220 full-pack",)}, "pass"),
    ("package", {}, {"package": ("TO-220AC",)}, "pass"),
    ("package", {"package": "TO-220 full-pack"}, {"package": ("TO-220",)}, "fail"),
    ("fixing", {}, {"fixing": ("clip",)}, "pass"),
    ("fixing", {}, {"fixing": ("screw", "clip")}, "pass"),
    ("fixing", {}, {"fixing": ("screw",)}, "fail"),
    ("fixing", {"fixing": None}, {"fixing": ("screw",)}, "unknown"),
    ("height", {}, {"max_height": "19mm"}, "pass"),
    ("height", {}, {"max_height": "18.9mm"}, "fail"),
    ("height", {"height_m": None}, {"max_height": "19mm"}, "unknown"),
    ("width", {}, {"max_width": "1.9cm"}, "pass"),
    ("width", {}, {"max_width": "18mm"}, "fail"),
    ("depth", {}, {"max_depth": "10mm"}, "pass"),
    ("depth", {}, {"max_depth": "9mm"}, "fail"),
    ("depth", {"depth_m": None}, {"max_depth": "9mm"}, "unknown"),
    ("mass", {}, {"max_mass": "5g"}, "pass"),
    ("mass", {}, {"max_mass": "4g"}, "fail"),
    ("mass", {"mass_kg": None}, {"max_mass": "4g"}, "unknown"),
    ("theta", {}, {}, "pass"),
    ("theta", {"theta_natural_k_per_w": 26.3}, {}, "pass"),
    ("theta", {"theta_natural_k_per_w": 26.4}, {}, "fail"),
    ("theta", {"theta_natural_k_per_w": None}, {}, "unknown"),
    # What moving air does is no help to still air.
    ("theta", {"theta_natural_k_per_w": None, "theta_forced_k_per_w": 9.0, "forced_flow_m_per_s": 1.0}, {}, "unknown"),
    ("theta", {"theta_natural_k_per_w": 40.0, "theta_forced_k_per_w": 9.0, "forced_flow_m_per_s": 1.0}, {}, "fail"),
    # Moving air counts where the list's is no faster; else the figure of still air does.
    *(
        ("theta", {"theta_natural_k_per_w": 40.0, "theta_forced_k_per_w": 9.0, "forced_flow_m_per_s": 2.0},
         {"flow": flow}, verdict)
        for flow, verdict in (("2m/s", "pass"), ("3m/s", "pass"), ("1.9m/s", "fail"))
    ),
    ("theta", {"theta_natural_k_per_w": 40.0, "theta_forced_k_per_w": 9.0}, {"flow": "5m/s"}, "fail"),
    ("theta", {"theta_forced_k_per_w": 30.0, "forced_flow_m_per_s": 1.0}, {"flow": "1m/s"}, "fail"),
    ("plausible", {}, {}, "pass"),
    ("plausible", {"theta_natural_k_per_w": 4.5}, {}, "fail"),
    ("plausible", {"theta_natural_k_per_w": 4.5}, {"trust_figures": True}, "pass"),
    ("plausible", {"theta_natural_k_per_w": 4.5, "height_m": None}, {}, "pass"),
    # The figure for moving air has no such bound, but that of still air beside it is not believed either.
    ("plausible", {"theta_natural_k_per_w": None, "theta_forced_k_per_w": 2.0, "forced_flow_m_per_s": 1.0},
     {"flow": "1m/s"}, "pass"),
    ("plausible", {"theta_natural_k_per_w": 4.5, "theta_forced_k_per_w": 2.0, "forced_flow_m_per_s": 1.0},
     {"flow": "1m/s"}, "fail"),
]  # fmt: skip


@pytest.mark.parametrize(("criterion", "other", "asked", "verdict"), CASES)
def test_verdict_of_one_criterion(criterion: str, other: dict[str, Any], asked: dict[str, Any], verdict: str) -> None:
    """A criterion passes, fails or is unknown, and the ranked list and the counts say the same as explain."""
    catalog = catalog_with("heatsink", [sink(**other)], offers=OFFERS)
    assert_judged(catalog, HeatsinkNeed(**HEAT | asked), criterion, verdict)


class TestWhatTheSinkMayHave:
    """(TJ − TA)/P less what lies between junction and sink."""

    def test_the_textbooks_example(self) -> None:
        """5 W, 150 °C in air of 50 °C, 3 and 1 K/W: 16 K/W (textbook example)."""
        asked = {"loss": "5W", "junction_limit": "150degC", "ambient": "50degC", "rthjc": "3K/W", "rthcs": "1K/W"}
        assert needed(**asked) == 16.0

    def test_the_tutorials_example(self) -> None:
        """2.78 W in air of 50 °C, 0.5 and 0.45 K/W, 27 K/W in all: 26.05 K/W (a heat-sink maker's tutorial)."""
        limit = 50.0 + 27.0 * 2.78
        asked = {"loss": "2.78W", "ambient": "50degC", "rthjc": "0.5K/W", "rthcs": "0.45K/W"}
        assert needed(**asked, junction_limit=f"{limit}degC") == pytest.approx(26.05, abs=0.005)

    def test_the_tutorials_sink(self) -> None:
        """With one of 19.1 K/W the junction reaches 105.7 °C (the same tutorial)."""
        asked = {"loss": "2.78W", "ambient": "50degC", "rthjc": "0.5K/W", "rthcs": "0.45K/W"}
        row = the_row(sink(theta_natural_k_per_w=19.1), HeatsinkNeed(**asked))
        assert row["junction_degc"] == pytest.approx(105.7, abs=0.05)
        assert row["sink_degc"] == pytest.approx(50.0 + 2.78 * 19.1, rel=1e-12)

    def test_the_package_fills_in_what_is_not_told(self) -> None:
        """Its careful figures from the table of outlines, and that is said."""
        need = HeatsinkNeed(loss="3W", package=("TO-220",))
        outline = next(one for one in packages() if one.name == "TO-220")
        assert need.as_json()["rthjc_k_per_w"] == outline.rthjc
        assert need.as_json()["rthcs_k_per_w"] == outline.rthcs
        (row,) = choose(catalog_with("heatsink", [sink()]), need).ranked
        assert {words.split()[0] for words in row["assumed"]} == {"RθJC", "RθCS"}

    def test_of_several_packages_the_worst_counts(self) -> None:
        """Whichever of them it will be."""
        both = HeatsinkNeed(loss="3W", package=("TO-220", "TO-126")).as_json()["rthjc_k_per_w"]
        assert both == max(one.rthjc for one in packages() if one.name in ("TO-220", "TO-126"))

    def test_a_pad_takes_the_place_of_the_compound(self) -> None:
        """1 K/W under a TO-220 (common practice), assumed; its own figure where one is given."""
        told = {"loss": "3W", "rthjc": "1.5K/W"}
        assert needed(**told, pad=True) == pytest.approx(85.0 / 3.0 - 2.5)
        assert needed(**told, pad_resistance="0.4K/W") == pytest.approx(85.0 / 3.0 - 1.9)
        assert any("pad" in words for words in HeatsinkNeed(**told, pad=True).assumptions())
        assert not HeatsinkNeed(**told, pad_resistance="0.4K/W").assumptions()

    def test_nothing_is_said_to_be_assumed_where_all_is_told(self) -> None:
        """Both resistances, the size and the figure."""
        (row,) = choose(catalog_with("heatsink", [sink()]), HeatsinkNeed(**HEAT)).ranked
        assert row["assumed"] == []


class TestSlips:
    """What cannot be is refused where it is asked, with the way out."""

    @pytest.mark.parametrize(
        ("asked", "where"),
        [
            ({"loss": "3W"}, "--rthjc"),
            ({"loss": "3W", "rthjc": "1K/W"}, "--rthcs"),
            (HEAT | {"pad": True}, "--rthcs"),
            (HEAT | {"loss": "50W"}, "--loss"),
            (HEAT | {"fixing": ("nail",)}, "--fixing"),
            ({"loss": "3W", "package": ("TO-126",), "pad": True}, "--pad"),
        ],
    )
    def test_contradictions(self, asked: dict[str, Any], where: str) -> None:
        """Too little said, too much said, and heat that no sink can carry off."""
        with pytest.raises(UsageError) as caught:
            HeatsinkNeed(**asked)
        assert caught.value.where == where
        assert caught.value.way_out

    @pytest.mark.parametrize(
        "other",
        [
            {"loss": "0W"},
            {"loss": "3V"},
            {"ambient": "130degC"},
            {"max_height": "0mm"},
            {"flow": "2m"},
            {"max_mass": "-1g"},
        ],
    )
    def test_quantities_that_cannot_be(self, other: dict[str, Any]) -> None:
        """Of another kind, or out of range."""
        with pytest.raises(QuantityError) as caught:
            HeatsinkNeed(**HEAT | other)
        assert caught.value.where == "--" + next(iter(other)).replace("_", "-")


class TestTheBox:
    """The least that a box of a size can reach in still air."""

    @given(st.tuples(*[st.floats(0.003, 0.3)] * 3))
    @settings(max_examples=60, deadline=None)
    def test_the_query_and_the_physics_state_the_same_bound(self, box: tuple[float, float, float]) -> None:
        """60 K above air of 40 °C, whatever its shape."""
        width, height, depth = box
        row = the_row(sink(width_m=width, height_m=height, depth_m=depth), HeatsinkNeed(**HEAT))
        bound = convection.natural_convection_bound(
            width_m=width, height_m=height, depth_m=depth, rise_k=60.0, air_degc=40.0
        )
        assert row["bound_k_per_w"] == pytest.approx(bound, rel=1e-9)

    @pytest.mark.parametrize("side_m", [0.01, 0.03, 0.1])
    def test_it_lies_below_what_an_independent_library_gives_for_the_faces_alone(self, side_m: float) -> None:
        """A smooth black cube by the plate's law of ``ht``: fins can only do better, so the bound must too."""
        density, viscosity, conductivity = convection.air_properties(air_degc=70.0)
        prandtl = viscosity * 1006.0 / conductivity
        grashof = 9.80665 / 343.15 * 60.0 * side_m**3 * density**2 / viscosity**2
        film = Nu_vertical_plate_Churchill(prandtl, grashof) * conductivity / side_m
        black = 5.670374e-8 * (373.15**4 - 313.15**4) / 60.0
        faces = 1.0 / (6.0 * side_m**2 * (film + black))
        row = the_row(sink(width_m=side_m, height_m=side_m, depth_m=side_m), HeatsinkNeed(**HEAT))
        assert 0.0 < row["bound_k_per_w"] < faces

    def test_a_common_clip_on_sink_is_believed_and_a_wonder_is_not(self) -> None:
        """19 × 13 × 13 mm sold as 25 to 30 K/W (from memory); one sold as 5 K/W is refused, and why is said."""
        size = {"width_m": 0.019, "height_m": 0.013, "depth_m": 0.013}
        catalog = catalog_with(
            "heatsink",
            [sink("fair", theta_natural_k_per_w=25.0, **size), sink("wonder", theta_natural_k_per_w=5.0, **size)],
        )
        chosen = choose(catalog, HeatsinkNeed(**HEAT))
        assert [row["part_number"] for row in chosen.ranked] == ["fair"]
        (miss,) = chosen.near_misses
        assert (miss["part_number"], miss["criterion"], miss["has"], miss["sense"]) == (
            "wonder",
            "plausible",
            5.0,
            "at least",
        )
        assert any("more than a box of that size can give to still air" in words for words in miss["remarks"])
        trusting = choose(catalog, HeatsinkNeed(**HEAT, trust_figures=True))
        wonder = next(row for row in trusting.ranked if row["part_number"] == "wonder")
        assert any("trusted as asked" in words for words in wonder["assumed"])

    @pytest.mark.parametrize("unknown", ["width_m", "height_m", "depth_m"])
    def test_without_its_size_a_figure_is_taken_and_said_not_to_be_checked(self, unknown: str) -> None:
        """Any side will do to hide it: the other two bound nothing."""
        (row,) = choose(catalog_with("heatsink", [sink(**{unknown: None})]), HeatsinkNeed(**HEAT)).ranked
        assert row["bound_k_per_w"] is None
        assert any("not cross-checked" in words for words in row["assumed"])


class TestTheList:
    """Cheapest first, and what is said of each."""

    def test_the_cheapest_that_will_do_comes_first(self) -> None:
        """The better of two at one price before the other; what has no price comes last."""
        names = {
            "dear": (2.0, 9.0, 0.05),
            "cheap": (0.5, 20.9, 0.019),
            "good": (0.5, 15.0, 0.03),
            "unpriced": (None, 8.0, 0.05),
        }
        parts = [
            sink(name, theta_natural_k_per_w=theta, width_m=side, height_m=side)
            for name, (_, theta, side) in names.items()
        ]
        offers = [
            {"part_key": f"Alder|{name}", "supplier": "Rowan Parts", "currency": "EUR", "unit_price": price, "stock": 5}
            for name, (price, _, _) in names.items()
        ]
        chosen = choose(catalog_with("heatsink", parts, offers=offers), HeatsinkNeed(**HEAT))
        assert [row["part_number"] for row in chosen.ranked] == ["good", "cheap", "dear", "unpriced"]

    def test_a_near_miss_says_by_how_much(self) -> None:
        """Too high by a hair, and a little too warm."""
        parts = [sink("high", height_m=0.0255), sink("warm", theta_natural_k_per_w=27.0)]
        chosen = choose(catalog_with("heatsink", parts), HeatsinkNeed(**HEAT, max_height="25mm"))
        told = {miss["part_number"]: (miss["criterion"], miss["has"], miss["needs"]) for miss in chosen.near_misses}
        assert told["high"] == ("height", 0.0255, 0.025)
        assert told["warm"] == ("theta", 27.0, pytest.approx(85.0 / 3.0 - 2.0))

    def test_a_hot_sink_is_told_with_its_temperature(self) -> None:
        """40 °C + 3 W × 21 K/W is 103 °C; in cooler company, 46 °C, nothing is said."""
        (hot,) = choose(catalog_with("heatsink", [sink()]), HeatsinkNeed(**HEAT)).ranked
        assert any("103 °C" in words for words in hot["remarks"])
        (mild,) = choose(
            catalog_with("heatsink", [sink()]), HeatsinkNeed(loss="0.3W", rthjc="1.5K/W", rthcs="0.5K/W")
        ).ranked
        assert mild["remarks"] == []

    def test_a_still_air_figure_taken_for_moving_air_is_said(self) -> None:
        """And a figure of which the list does not say how it is cooled."""
        (row,) = choose(catalog_with("heatsink", [sink(theta_unmarked=True)]), HeatsinkNeed(**HEAT, flow="1m/s")).ranked
        assert {words.split(",")[0] for words in row["assumed"]} == {"RθSA of still air", "RθSA is for still air"}
        blown = sink(theta_unmarked=True, theta_forced_k_per_w=9.0, forced_flow_m_per_s=1.0)
        (row,) = choose(catalog_with("heatsink", [blown]), HeatsinkNeed(**HEAT, flow="1m/s")).ranked
        assert row["assumed"] == []
        assert row["theta_k_per_w"] == 9.0

    def test_explain_works_the_arithmetic_out(self) -> None:
        """Needed resistance, sink and junction, and what they are less than: 85 K/3 W − 2 K/W = 26.33 K/W."""
        explained = explain(catalog_with("heatsink", [sink()]), "A", HeatsinkNeed(**HEAT))
        worked = {line.title: line.worked for line in explained.formulas}
        assert worked["thermal resistance that the sink may have"].endswith("= 26.33 K/W")
        assert worked["sink temperature"].endswith("= 103 °C")
        assert worked["junction temperature"].endswith("= 109 °C")
        line = next(one for one in explained.criteria if one.name == "theta")
        assert line.margin == pytest.approx(85.0 / 3.0 - 2.0 - 21.0)
        assert "no junction above 125 °C" in line.source

    def test_what_to_mind(self) -> None:
        """A hot surface, upright fins, a pad or a tab, a fan that stops, and less care than usual."""
        still = HeatsinkNeed(**HEAT).cautions()
        assert {cautions.LOW_VOLTAGE_ONLY, cautions.HOT_SINK, cautions.FINS_UPRIGHT, cautions.SINK_ON_A_TAB} <= set(
            still
        )
        blown = HeatsinkNeed(loss="3W", rthjc="1K/W", pad=True, flow="2m/s").cautions()
        assert cautions.FAN_STOPS in blown
        assert cautions.PAD_INSULATES in blown
        assert cautions.FINS_UPRIGHT not in blown
        assert any("--junction-limit" in words for words in HeatsinkNeed(**HEAT, junction_limit="150degC").cautions())
        assert not any(
            "--junction-limit" in words for words in HeatsinkNeed(**HEAT, junction_limit="100degC").cautions()
        )
        cool = HeatsinkNeed(**HEAT, junction_limit="60degC").cautions()
        assert cautions.HOT_SINK not in cool


# -- an oracle in plain Python on the physics package -----------------------------------------------------------


def maybe(known: st.SearchStrategy[Any]) -> st.SearchStrategy[Any]:
    """Let a figure be unknown."""
    return st.none() | known


sides = maybe(st.sampled_from([0.008, 0.013, 0.019, 0.025, 0.035, 0.05, 0.1]))
sinks = st.fixed_dictionaries(
    {
        "package": maybe(st.sampled_from(["TO-220", "TO-247", "TO-220/TO-247", "TO-220AB; TO-126", "universal"])),
        "fixing": maybe(st.sampled_from(["clip", "screw", "solder", "adhesive"])),
        "theta_natural_k_per_w": maybe(st.floats(0.3, 60.0)),
        "theta_forced_k_per_w": maybe(st.floats(0.2, 30.0)),
        "forced_flow_m_per_s": maybe(st.sampled_from([0.5, 1.0, 2.0, 5.0])),
        "theta_unmarked": maybe(st.booleans()),
        "width_m": sides, "height_m": sides, "depth_m": sides,
        "mass_kg": maybe(st.sampled_from([0.004, 0.02, 0.1])),
    }
)  # fmt: skip
needs = st.fixed_dictionaries(
    {
        "loss": st.sampled_from(["0.5W", "2W", "6W"]),
        "ambient": st.sampled_from(["-10degC", "40degC", "61degC"]),
        "package": st.sampled_from([(), ("TO-220",), ("TO-247", "TO-126")]),
        "fixing": st.sampled_from([(), ("clip", "solder")]),
        "flow": maybe(st.sampled_from(["1m/s", "3m/s"])),
        "max_height": maybe(st.sampled_from(["19mm", "35mm"])),
        "max_width": maybe(st.just("25mm")),
        "max_depth": maybe(st.just("25mm")),
        "max_mass": maybe(st.just("20g")),
        "trust_figures": st.booleans(),
    }
)


def at_most(value: float | None, limit: float | None) -> bool | None:
    """Compare where the value is known; no limit stops nothing."""
    return True if limit is None else None if value is None else value <= limit


def made_for(text: str | None, asked: tuple[str, ...]) -> bool | None:
    """Say whether a sink's words name one of the outlines asked for."""
    if not asked:
        return True
    if text is None:
        return None
    names = {"TO-220": {"TO-220"}, "TO-247": {"TO-247"}, "TO-220/TO-247": {"TO-220", "TO-247"},
             "TO-220AB; TO-126": {"TO-220", "TO-126"}, "universal": set()}  # fmt: skip
    return bool(names[text] & set(asked))


def judged(part: Part, asked: Mapping[str, Any], ask: Mapping[str, Any]) -> dict[str, Any]:
    """Judge one sink by the physics package."""
    flow, listed = ask["flow_m_per_s"], part["forced_flow_m_per_s"]
    blown = None not in (flow, listed, part["theta_forced_k_per_w"]) and listed <= flow
    theta = part["theta_forced_k_per_w"] if blown else part["theta_natural_k_per_w"]
    box = {name: part[name] for name in ("width_m", "height_m", "depth_m")}
    bound = None
    if None not in box.values():
        bound = float(convection.natural_convection_bound(**box, rise_k=60.0, air_degc=40.0))
    inside = {"rthjc_k_per_w": ask["rthjc_k_per_w"], "rthcs_k_per_w": ask["rthcs_k_per_w"]}
    junction = None
    if theta is not None:
        junction = ask["ambient_degc"] + ask["loss_w"] * float(thermal.chain(**inside, rthsa_k_per_w=theta))
    most = float(
        thermal.sink_for_loss(
            loss_w=ask["loss_w"], ambient_degc=ask["ambient_degc"], junction_limit_degc=125.0, **inside
        )
    )
    natural = part["theta_natural_k_per_w"]
    doubted = None not in (natural, bound) and natural < bound
    return {
        "theta_k_per_w": theta, "bound_k_per_w": bound, "junction_degc": junction,
        "verdict": {
            "package": made_for(part["package"], asked["package"]),
            "fixing": True if not asked["fixing"] else part["fixing"] and part["fixing"] in asked["fixing"],
            "height": at_most(part["height_m"], ask["max_height_m"]),
            "width": at_most(part["width_m"], ask["max_width_m"]),
            "depth": at_most(part["depth_m"], ask["max_depth_m"]),
            "mass": at_most(part["mass_kg"], ask["max_mass_kg"]),
            "theta": at_most(theta, float(f"{most:.12g}")),
            "plausible": asked["trust_figures"] or not doubted,
        },
    }  # fmt: skip


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.lists(sinks, min_size=1, max_size=25), needs)
def test_query_and_oracle_agree(made: list[Part], asked: dict[str, Any]) -> None:
    """Figures to 1e-9 and verdicts, over sinks that lack whatever a list may lack; the list has those that fit."""
    need = HeatsinkNeed(rthjc="2K/W", rthcs="0.5K/W", **asked)
    parts = [{"part_key": f"{n:03}", "part_number": f"{n:03}", "claims": 1, **part} for n, part in enumerate(made)]
    catalog = catalog_with("heatsink", parts)
    fitting: list[tuple[float, str]] = []
    for part, row in zip(parts, every_row_priced(catalog, need), strict=True):
        expected = judged(part, asked, need.parameters())
        for name in ("theta_k_per_w", "bound_k_per_w", "junction_degc"):
            want = expected[name]
            assert row[name] == (None if want is None else pytest.approx(want, rel=1e-9)), (name, part)
        assert {name: row[f"ok_{name}"] for name in expected["verdict"]} == expected["verdict"], part
        if all(expected["verdict"].values()):
            fitting.append((expected["theta_k_per_w"], part["part_number"]))
    ranked = choose(catalog, need, top=50, near=0).ranked
    assert [row["part_number"] for row in ranked] == [number for _, number in sorted(fitting)]


def every_row_priced(catalog: Any, need: HeatsinkNeed) -> list[dict[str, Any]]:
    """Run the query closely and loosely: what surely passes is the same."""
    close, loose = every_row(catalog, need), every_row(catalog, need, closely=False)
    assert [[row[f"ok_{name}"] is True for name in need.asked()] for row in close] == [
        [row[f"ok_{name}"] is True for name in need.asked()] for row in loose
    ]
    assert all(row["theta_k_per_w"] is None or math.isfinite(row["theta_k_per_w"]) for row in close)
    return close
