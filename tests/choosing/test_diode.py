"""Freewheel diodes: each criterion, the heat of a switched load, and what is said of them."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from path_catalogs import Part, assert_judged, catalog_with, every_row, the_row

from loadworthy import DiodeNeed, choose, explain
from loadworthy.catalog.packages import packages
from loadworthy.errors import QuantityError, UsageError
from loadworthy.needs import cautions
from loadworthy.physics import switching, thermal

SELDOM: dict[str, Any] = {"supply": "12V", "current": "3A"}
#: 3 A × (1 − 0.6) are 1.2 A in the mean.
FAST: dict[str, Any] = SELDOM | {"pwm": "5kHz", "duty": "60%"}


def diode(part_number: str = "A", **other: Any) -> Part:
    """Return a Schottky diode that fits both loads, and what a test changes of it."""
    package = other.get("package", "DO-201")
    outline = next((one for one in packages() if one.name == package), None)
    return {
        "part_key": f"Alder|{part_number}", "maker": "Alder", "part_number": part_number, "claims": 1,
        "kind": "schottky", "package": package, "package_rthja_k_per_w": outline.rthja if outline else None,
        "vrrm_v": 40.0, "if_av_a": 5.0, "ifsm_a": 150.0, "vf_v": 0.55, "vf_at_a": 5.0, "rthja_k_per_w": 40.0,
        "junction_max_degc": 150.0,
    } | other  # fmt: skip


OFFERS: list[dict[str, Any]] = [
    {"part_key": "Alder|A", "supplier": "Rowan Parts", "currency": "EUR", "unit_price": 1.0, "stock": 0},
    {"part_key": "Alder|A", "supplier": "Hazel & Co", "currency": "EUR", "unit_price": 3.0, "stock": 50},
]
CASES: list[tuple[dict[str, Any], str, dict[str, Any], dict[str, Any], str]] = [
    (SELDOM, "offer", {}, {"in_stock": True}, "pass"),
    (SELDOM, "offer", {}, {"max_price": "1.50 EUR", "in_stock": True}, "fail"),
    (SELDOM, "package", {}, {"package": ("DO-27",)}, "pass"),
    (SELDOM, "package", {}, {"package": ("SMC", "DO-41")}, "fail"),
    (SELDOM, "package", {"package": None}, {"package": ("SMC",)}, "unknown"),
    (SELDOM, "kind", {}, {"kind": ("fast", "schottky")}, "pass"),
    (SELDOM, "kind", {"kind": "standard"}, {"kind": ("fast", "schottky")}, "fail"),
    (SELDOM, "kind", {"kind": None}, {"kind": ("fast",)}, "unknown"),
    # Not asked for, it may be unknown; what conducts backwards never passes.
    (SELDOM, "kind", {"kind": None}, {}, "pass"),
    (SELDOM, "kind", {"kind": "other"}, {}, "fail"),
    (SELDOM, "kind", {"kind": "other"}, {"kind": ("standard",)}, "fail"),
    (SELDOM, "voltage", {"vrrm_v": 18.0}, {}, "pass"),
    (SELDOM, "voltage", {"vrrm_v": 17.9}, {}, "fail"),
    (SELDOM, "voltage", {"vrrm_v": None}, {}, "unknown"),
    (SELDOM, "voltage", {"vrrm_v": 18.0}, {"voltage_margin": "2"}, "fail"),
    # 1.1 × 30 V is 33 V, although floating point makes it a hair more.
    (SELDOM, "voltage", {"vrrm_v": 33.0}, {"supply": "30V", "voltage_margin": "1.1"}, "pass"),
    # Switched seldom: the load's current, without a margin.
    (SELDOM, "current", {"if_av_a": 3.0}, {}, "pass"),
    (SELDOM, "current", {"if_av_a": 2.9}, {}, "fail"),
    (SELDOM, "current", {"if_av_a": None}, {}, "unknown"),
    (SELDOM, "current", {"if_av_a": 3.0}, {"current_margin": "1.25"}, "fail"),
    # Switched fast: 1.25 × 1.2 A.
    (FAST, "current", {"if_av_a": 1.5}, {}, "pass"),
    (FAST, "current", {"if_av_a": 1.49}, {}, "fail"),
    (FAST, "current", {"if_av_a": 1.2}, {"current_margin": "1"}, "pass"),
    # No duty: the diode may conduct nearly all the time.
    (SELDOM, "current", {"if_av_a": 3.7}, {"pwm": "5kHz"}, "fail"),
    (SELDOM, "current", {"if_av_a": 3.75}, {"pwm": "5kHz"}, "pass"),
    (FAST, "surge", {"if_av_a": 2.0, "ifsm_a": 3.0}, {}, "pass"),
    (FAST, "surge", {"if_av_a": 2.0, "ifsm_a": 2.9}, {}, "fail"),
    (FAST, "surge", {"if_av_a": 2.0, "ifsm_a": None}, {}, "unknown"),
    (FAST, "surge", {"if_av_a": 3.0, "ifsm_a": None}, {}, "pass"),
    (FAST, "recovery", {}, {}, "pass"),
    (FAST, "recovery", {"kind": "standard"}, {}, "fail"),
    (FAST, "recovery", {"kind": "fast"}, {}, "pass"),
    (FAST, "recovery", {"kind": "ultrafast"}, {}, "pass"),
    (FAST, "recovery", {"kind": None}, {}, "unknown"),
    (FAST, "recovery", {"kind": None, "trr_s": 500e-9}, {}, "pass"),
    (FAST, "recovery", {"kind": "standard", "trr_s": 500e-9}, {}, "pass"),
    # What calls itself fast and is not, is not.
    (FAST, "recovery", {"kind": "fast", "trr_s": 501e-9}, {}, "fail"),
    (FAST, "heat", {}, {}, "pass"),
    (FAST, "heat", {"vf_v": None}, {}, "unknown"),
    (FAST, "heat", {"rthja_k_per_w": None, "package": None}, {}, "unknown"),
    (FAST, "heat", {"rthja_k_per_w": None}, {}, "pass"),
    # 40 °C + 0.55 V × 1.2 A × 90 K/W is 99.4 °C; 100 °C is the limit of a part rated 125 °C.
    (FAST, "heat", {"rthja_k_per_w": 90.0, "junction_max_degc": 125.0}, {}, "pass"),
    (FAST, "heat", {"rthja_k_per_w": 92.0, "junction_max_degc": 125.0}, {}, "fail"),
    (FAST, "heat", {"rthja_k_per_w": 92.0, "junction_max_degc": None}, {}, "fail"),
    (FAST, "heat", {"rthja_k_per_w": 92.0, "junction_max_degc": 126.0}, {}, "pass"),
    (FAST, "heat", {"rthja_k_per_w": 130.0, "junction_max_degc": 175.0}, {}, "fail"),
    (FAST, "heat", {"rthja_k_per_w": 130.0, "junction_max_degc": 175.0}, {"junction_cap": "130degC"}, "pass"),
    # Its forward voltage at 1 A says too little of 3 A; at 5 A it is an upper bound.
    (FAST, "heat", {"vf_at_a": 1.0}, {}, "unknown"),
    (FAST, "heat", {"vf_at_a": 3.0}, {}, "pass"),
    # Where the list does not say at which current, it is the rated one.
    (FAST, "heat", {"vf_at_a": None}, {}, "pass"),
    (FAST, "heat", {"vf_at_a": None, "if_av_a": 2.9}, {}, "unknown"),
    (FAST, "heat", {"vf_at_a": None, "if_av_a": 2.9, "vf_current_a": 3.0}, {}, "pass"),
    # Switched seldom there is no mean heat, so nothing of it need be known.
    (SELDOM, "heat", {"vf_v": None, "rthja_k_per_w": None, "package": None}, {}, "pass"),
    (SELDOM, "heat", {"junction_max_degc": 90.0}, {"ambient": "70degC"}, "fail"),
]  # fmt: skip


@pytest.mark.parametrize(("load", "criterion", "other", "asked", "verdict"), CASES)
def test_verdict_of_one_criterion(
    load: dict[str, Any], criterion: str, other: dict[str, Any], asked: dict[str, Any], verdict: str
) -> None:
    """A criterion passes, fails or is unknown, and the ranked list and the counts say the same as explain."""
    catalog = catalog_with("diode", [diode(**other)], offers=OFFERS)
    assert_judged(catalog, DiodeNeed(**load | asked), criterion, verdict)


class TestTheHeat:
    """VF·I·(1 − D), and the junction that follows."""

    def test_by_hand(self) -> None:
        """0.55 V × 3 A × 0.4 = 0.66 W; × 40 K/W above 40 °C are 66.4 °C (textbook arithmetic)."""
        row = the_row(diode(), DiodeNeed(**FAST))
        assert row["conduction_loss_w"] == pytest.approx(0.66, rel=1e-12)
        assert row["junction_degc"] == pytest.approx(66.4, rel=1e-12)

    def test_the_limit_of_always_on_and_of_next_to_never(self) -> None:
        """At a duty of 100 % the diode never conducts; without a duty it may conduct all the time."""
        never = the_row(diode(), DiodeNeed(**SELDOM, pwm="1kHz", duty="100%"))
        assert (never["conduction_loss_w"], never["junction_degc"]) == (0.0, 40.0)
        always = the_row(diode(), DiodeNeed(**SELDOM, pwm="1kHz"))
        assert always["conduction_loss_w"] == pytest.approx(0.55 * 3.0)

    def test_switched_seldom_it_has_no_mean_and_that_is_said(self) -> None:
        """Ranked by the forward voltage then, the unknown last."""
        parts = [
            diode("high", vf_v=0.9),
            diode("unknown", vf_v=None),
            diode("low", vf_v=0.4),
            diode("vague", vf_v=0.3, vf_at_a=1.0),
        ]
        chosen = choose(catalog_with("diode", parts), DiodeNeed(**SELDOM))
        assert [row["part_number"] for row in chosen.ranked] == ["low", "high", "unknown", "vague"]
        assert {row["conduction_loss_w"] for row in chosen.ranked} == {0.0}
        assert all(any("switched so seldom" in words for words in row["assumed"]) for row in chosen.ranked)

    def test_the_coolest_comes_first_then_the_cheapest(self) -> None:
        """Price breaks a tie only."""
        parts = [diode("dear"), diode("cheap"), diode("cool", vf_v=0.45)]
        offers = [
            {"part_key": f"Alder|{name}", "supplier": "Rowan Parts", "currency": "EUR", "unit_price": price, "stock": 5}
            for name, price in (("dear", 0.4), ("cheap", 0.1), ("cool", 2.0))
        ]
        chosen = choose(catalog_with("diode", parts, offers=offers), DiodeNeed(**FAST))
        assert [row["part_number"] for row in chosen.ranked] == ["cool", "cheap", "dear"]

    def test_a_figure_at_a_lower_current_passes_only_where_heat_is_accepted(self) -> None:
        """And then says so."""
        catalog = catalog_with("diode", [diode(vf_at_a=1.0)])
        strict = choose(catalog, DiodeNeed(**FAST))
        assert not strict.ranked
        assert strict.counts is not None
        assert strict.counts.unknown == {"heat": 1}
        (row,) = choose(catalog, DiodeNeed(**FAST, accept=("heat",))).ranked
        assert row["forward_v"] == 0.55
        assert any("less than the load's current" in words for words in row["assumed"])

    def test_accepting_never_lets_a_failure_pass(self) -> None:
        """What is too hot, too low or too small stays out."""
        parts = [
            diode("hot", rthja_k_per_w=200.0), diode("low", vrrm_v=15.0), diode("small", if_av_a=1.0, vf_at_a=3.0),
            diode("slow", kind="standard"),
        ]  # fmt: skip
        every = ("voltage", "current", "surge", "recovery", "heat", "package", "kind", "offer")
        assert not choose(catalog_with("diode", parts), DiodeNeed(**FAST, accept=every)).ranked

    def test_what_is_assumed_is_said(self) -> None:
        """The package's still-air figure, the rating, the current of the forward voltage, the kind's recovery."""
        bare = diode(rthja_k_per_w=None, junction_max_degc=None, vf_at_a=None, ifsm_a=None, package="DO-201")
        (row,) = choose(catalog_with("diode", [bare]), DiodeNeed(**FAST)).ranked
        for words in ("RθJA of the package", "TJ max 125 °C", "VF is given at IF(AV)", "no IFSM given", "no trr given"):
            assert any(words in said for said in row["assumed"]), words
        (told,) = choose(catalog_with("diode", [diode(kind="fast", trr_s=100e-9)]), DiodeNeed(**FAST)).ranked
        assert told["assumed"] == ["the load's whole current flows on through each off time"]

    def test_a_hot_schottky_diode_leaks(self) -> None:
        """That is said of it, and of no other kind."""
        parts = [diode("S"), diode("F", kind="fast", trr_s=1e-7, vf_v=0.9)]
        ranked = {row["part_number"]: row for row in choose(catalog_with("diode", parts), DiodeNeed(**FAST)).ranked}
        assert any("leaks when hot" in words for words in ranked["S"]["remarks"])
        assert not ranked["F"]["remarks"]


class TestTheNeed:
    """What is asked, what is refused, what is to be minded."""

    @pytest.mark.parametrize(("pwm", "asked"), [("999Hz", False), ("1kHz", False), ("1.001kHz", True)])
    def test_recovery_counts_above_1_khz(self, pwm: str, asked: bool) -> None:
        """Common practice; below it a slow diode will do."""
        need = DiodeNeed(**SELDOM, pwm=pwm, duty="60%")
        assert ("recovery" in need.asked()) == asked
        assert bool(choose(catalog_with("diode", [diode(kind="standard")]), need).ranked) != asked

    def test_the_energy_of_a_switch_off(self) -> None:
        """½ × 0.5 H × (0.4 A)² = 40 mJ (textbook arithmetic)."""
        need = DiodeNeed(supply="12V", current="0.4A", inductance="0.5H")
        assert need.as_json()["energy_j"] == pytest.approx(0.04)
        assert any("40 mJ" in words for words in need.cautions())
        explained = explain(catalog_with("diode", [diode()]), "A", need)
        assert any(line.title == "energy of each switch-off" for line in explained.formulas)

    def test_the_tolerance_of_the_load_raises_its_current(self) -> None:
        """24 V over 48 Ω less 20 % is 0.625 A."""
        asked = DiodeNeed(supply="24V", resistance="48ohm", tolerance="20%").parameters()
        assert asked["current_a"] == pytest.approx(0.625)

    @pytest.mark.parametrize(
        ("asked", "where"),
        [
            (SELDOM | {"duty": "60%"}, "--duty"),
            (SELDOM | {"kind": ("zener",)}, "--kind"),
            (SELDOM | {"power": "3W"}, "--current, --resistance, --power"),
            (SELDOM | {"package": ("DO-9999",)}, "--package"),
        ],
    )
    def test_contradictions(self, asked: dict[str, Any], where: str) -> None:
        """Refused where they are asked, with the way out."""
        with pytest.raises(UsageError) as caught:
            DiodeNeed(**asked)
        assert caught.value.where == where
        assert caught.value.way_out

    @pytest.mark.parametrize(
        "other",
        [{"pwm": "3Hz"}, {"inductance": "5mm"}, {"ambient": "126degC"}, {"voltage_margin": "0.9"}, {"supply": "230V"}],
    )
    def test_quantities_that_cannot_be(self, other: dict[str, Any]) -> None:
        """Of another kind, or out of range."""
        with pytest.raises(QuantityError) as caught:
            DiodeNeed(**SELDOM | other)
        assert caught.value.where == "--" + next(iter(other)).replace("_", "-")

    def test_what_to_mind(self) -> None:
        """Cathode to plus, a short, a slow release; less care than usual is said."""
        said = DiodeNeed(**SELDOM).cautions()
        assert {
            cautions.LOW_VOLTAGE_ONLY,
            cautions.CATHODE_TO_PLUS,
            cautions.SHORTED_DIODE,
            cautions.SLOW_RELEASE,
        } <= set(said)
        assert cautions.SLOW_RELEASE not in DiodeNeed(**FAST).cautions()
        assert any("--voltage-margin" in words for words in DiodeNeed(**SELDOM, voltage_margin="1.2").cautions())
        assert any("--current-margin" in words for words in DiodeNeed(**FAST, current_margin="1.1").cautions())
        # Switched seldom no margin is usual: 1.1 is more care, not less.
        assert not any("--current-margin" in words for words in DiodeNeed(**SELDOM, current_margin="1.1").cautions())

    def test_a_near_miss_says_by_how_much(self) -> None:
        """One step short in voltage, in current, in recovery."""
        parts = [diode("low", vrrm_v=15.0), diode("slow", kind="standard", trr_s=2e-6), diode("small", if_av_a=1.2)]
        told = {
            miss["part_number"]: (miss["criterion"], miss["has"], miss["needs"])
            for miss in choose(catalog_with("diode", parts), DiodeNeed(**FAST)).near_misses
        }
        assert told == {
            "low": ("voltage", 15.0, 18.0), "slow": ("recovery", 2e-6, 500e-9), "small": ("current", 1.2, 1.5),
        }  # fmt: skip

    def test_explain_works_the_arithmetic_out(self) -> None:
        """Mean current, loss, junction; no mean current, and so no heat, where the load is switched seldom."""
        explained = explain(catalog_with("diode", [diode()]), "A", DiodeNeed(**FAST))
        worked = {line.title: line.worked for line in explained.formulas}
        assert worked["mean current"].endswith("= 1.2 A")
        assert worked["conduction loss"].endswith("= 660 mW")
        assert worked["junction temperature"].endswith("= 66.4 °C")
        seldom = explain(catalog_with("diode", [diode()]), "A", DiodeNeed(**SELDOM)).formulas
        told = {line.title.removesuffix(", switched seldom"): line.worked for line in seldom}
        assert told["mean current"].startswith("0 A")
        assert told["conduction loss"].startswith("0 W")
        assert told["junction temperature"] == "40 °C in air of 40 °C"


# -- an oracle in plain Python on the physics package -----------------------------------------------------------


def maybe(known: st.SearchStrategy[Any]) -> st.SearchStrategy[Any]:
    """Let a figure be unknown."""
    return st.none() | known


amperes = maybe(st.sampled_from([0.5, 1.0, 2.0, 3.0, 5.0, 10.0]))
diodes = st.fixed_dictionaries(
    {
        "kind": maybe(st.sampled_from(["schottky", "ultrafast", "fast", "standard", "other"])),
        "package": maybe(st.sampled_from(["DO-41", "SMC", "TO-220"])),
        "vrrm_v": maybe(st.sampled_from([15.0, 18.0, 40.0, 200.0])),
        "if_av_a": amperes, "vf_at_a": amperes, "vf_current_a": amperes,
        "ifsm_a": maybe(st.sampled_from([2.0, 30.0])),
        "vf_v": maybe(st.floats(0.2, 1.5)),
        "trr_s": maybe(st.sampled_from([35e-9, 500e-9, 2e-6])),
        "rthja_k_per_w": maybe(st.floats(20.0, 200.0)),
        "package_rthja_k_per_w": maybe(st.sampled_from([60.0, 120.0])),
        "junction_max_degc": maybe(st.sampled_from([100.0, 125.0, 175.0])),
    }
)  # fmt: skip
needs = st.fixed_dictionaries(
    {
        "current": st.sampled_from(["0.7A", "2A", "3A"]),
        "ambient": st.sampled_from(["-20degC", "40degC", "85degC"]),
        "package": st.sampled_from([(), ("DO-41", "SMC")]),
        "kind": st.sampled_from([(), ("schottky", "fast")]),
    }
)
switched = st.sampled_from([{}, {"pwm": "500Hz"}, {"pwm": "20kHz", "duty": "37%"}, {"pwm": "1kHz", "duty": "90%"}])


def at_least(value: float | None, limit: float) -> bool | None:
    """Compare where the value is known."""
    return None if value is None else value >= limit


def either(one: bool | None, other: bool | None) -> bool | None:
    """Say whether one of two holds, as far as they are known."""
    return True if one or other else None if None in (one, other) else False


def among(value: str | None, wanted: tuple[str, ...]) -> bool | None:
    """Say whether a word is one of those asked for."""
    return True if not wanted else None if value is None else value in wanted


def recovers(part: Part, pwm_hz: float) -> bool | None:
    """Say whether a diode is fast enough."""
    if pwm_hz <= 1000.0 or part["kind"] == "schottky":
        return True
    if part["trr_s"] is not None:
        return bool(part["trr_s"] <= 500e-9)
    return None if part["kind"] is None else part["kind"] in ("fast", "ultrafast")


def judged(part: Part, asked: Mapping[str, Any], ask: Mapping[str, Any]) -> dict[str, Any]:
    """Judge one diode by the physics package."""
    current, pwm_hz = ask["current_a"], ask["pwm_hz"]
    stated = next((part[name] for name in ("vf_at_a", "vf_current_a", "if_av_a") if part[name] is not None), None)
    forward = part["vf_v"] if stated is not None and stated >= current else None
    loss: float | None = None
    junction: float | None = None
    least_a = current
    if not pwm_hz:
        loss, junction = 0.0, ask["ambient_degc"]
    else:
        least_a = 1.25 * float(switching.freewheel_current(current_a=current, duty=ask["duty"]))
        if forward is not None:
            loss = float(switching.freewheel_loss(forward_v=forward, current_a=current, duty=ask["duty"]))
        own = part["rthja_k_per_w"] if part["rthja_k_per_w"] is not None else part["package_rthja_k_per_w"]
        if None not in (loss, own):
            junction = ask["ambient_degc"] + loss * own
    rated = 125.0 if part["junction_max_degc"] is None else part["junction_max_degc"]
    limit = float(thermal.junction_limit(junction_max_degc=rated, derate_k=25.0, cap_degc=125.0))
    return {
        "forward_v": forward, "conduction_loss_w": loss, "junction_degc": junction, "junction_limit_degc": limit,
        "verdict": {
            "package": among(part["package"], asked["package"]),
            "kind": part["kind"] != "other" and among(part["kind"], asked["kind"]),
            "voltage": at_least(part["vrrm_v"], 18.0),
            "current": at_least(part["if_av_a"], float(f"{least_a:.12g}")),
            "surge": either(at_least(part["if_av_a"], current), at_least(part["ifsm_a"], current)),
            "recovery": recovers(part, pwm_hz),
            "heat": None if junction is None else junction <= limit,
        },
    }  # fmt: skip


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.lists(diodes, min_size=1, max_size=25), needs, switched)
def test_query_and_oracle_agree(made: list[Part], asked: dict[str, Any], how: dict[str, Any]) -> None:
    """Figures to 1e-9 and verdicts, over diodes that lack whatever a list may lack; the list has those that fit."""
    need = DiodeNeed(supply="12V", **asked, **how)
    parts = [{"part_key": f"{n:03}", "part_number": f"{n:03}", "claims": 1, **part} for n, part in enumerate(made)]
    catalog = catalog_with("diode", parts)
    fitting: list[tuple[float, float, str]] = []
    for part, row in zip(parts, every_row(catalog, need), strict=True):
        expected = judged(part, asked, need.parameters())
        for name in ("forward_v", "conduction_loss_w", "junction_degc", "junction_limit_degc"):
            want = expected[name]
            assert row[name] == (None if want is None else pytest.approx(want, rel=1e-9)), (name, part)
        assert {name: row[f"ok_{name}"] for name in expected["verdict"]} == expected["verdict"], part
        if all(expected["verdict"].values()):
            forward = float("inf") if expected["forward_v"] is None else expected["forward_v"]
            fitting.append((expected["conduction_loss_w"], forward, part["part_number"]))
    ranked = choose(catalog, need, top=50, near=0).ranked
    assert sorted(row["part_number"] for row in ranked) == sorted(number for *_, number in fitting)
    assert [row["conduction_loss_w"] for row in ranked] == pytest.approx(
        [loss for loss, *_ in sorted(fitting)], rel=1e-9
    )
