"""Transistors over current: the curve meets the chosen row, the limits, and thermal runaway where an oracle has it."""

from __future__ import annotations

import json
import math
import random
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq, minimize_scalar

from loadworthy import shipped, statements
from loadworthy.boards import Board, laws, read_board
from loadworthy.boards.audit import conditions_at
from loadworthy.boards.laws.transistor import Figures
from loadworthy.boards.model import Transistor
from loadworthy.errors import UsageError
from loadworthy.judging import figures, judged
from loadworthy.needs import TransistorNeed
from loadworthy.operating import Candidate, candidate_of, fitted_on, operating_curve, operating_curves
from loadworthy.selection import choose

Make = Callable[..., Any]

NEEDS: list[dict[str, Any]] = [
    {"current": "5A"},
    {"current": "7.5A", "ambient": "-20degC", "max_loss": "3W"},
    {"current": "3A", "pwm": "1.7kHz", "gate_series": "100ohm", "duty": "37%"},
    {"current": "9A", "pwm": "300Hz", "load": "inductive", "heatsink": "7.3K/W", "gate_series": "1kohm"},
]


def parts(part: Make, dice: random.Random) -> list[dict[str, Any]]:
    """Make parts over the whole range of figures, some of which run away."""
    return [
        part(
            f"P{number}",
            vds_v=dice.uniform(18.0, 250.0),
            package=dice.choice(("TO-220", "TO-252")),
            rds={4.5: 10 ** dice.uniform(-3.0, -0.3)},
            hot_exponent=dice.choice((None, 0.0, 0.7, 1.0, dice.uniform(1.0, 2.6))),
            rthja_k_per_w=dice.uniform(20.0, 200.0),
            rthjc_k_per_w=dice.uniform(0.3, 6.0),
            junction_max_degc=dice.choice((None, 125.0, 150.0, 175.0)),
            vgs_th_max_v=dice.uniform(1.0, 4.0),
            qgd_c=dice.uniform(1e-9, 60e-9),
        )
        for number in range(120)
    ]


@pytest.mark.parametrize("asked", NEEDS)
def test_the_curve_at_the_target_is_what_the_query_says_of_the_part(
    catalog_of: Make, part: Make, asked: dict[str, Any]
) -> None:
    """Loss, all heat, junction, runaway and limits of 120 random parts, to 1e-9."""
    need = TransistorNeed(supply="12V", **asked)
    text = judged("transistor", offered=False)
    catalog = catalog_of(*parts(part, random.Random(47)))  # noqa: S311 - test data
    rows = statements.bind("all", text, {**need.parameters(), "closely": True}).rows(catalog.connection)
    ran_away = 0
    assert len(rows) == 120
    for row in rows:
        target = need.as_json()["current_a"]
        candidate = candidate_of(need, {**figures(row), "assumed": []})
        curve = operating_curve(candidate, target_a=target)
        at, place = curve.at_target, int(np.flatnonzero(curve.current_a == target)[0])
        ran_away += row["runaway"]
        assert curve.runs_away(target) == row["runaway"]
        for got, drawn, want in (
            (at.conduction_loss_w, curve.conduction_loss_w, row["conduction_loss_w"]),
            (at.heat_w, curve.heat_w, row["part_loss_w"]),
            (at.junction_degc, curve.junction_degc, row["junction_degc"]),
        ):
            assert got == (None if want is None else pytest.approx(want, rel=1e-9, abs=1e-9))
            assert drawn[place] == pytest.approx(math.nan if want is None else want, rel=1e-9, abs=1e-9, nan_ok=True)
        assert candidate.junction_limit_degc == row["needs_heat"]
        assert candidate.heat_limit_w == row["needs_loss"]
        if curve.limit is not None and row["junction_degc"] is not None:
            assert (curve.limit.current_a >= target) == row["ok_heat"]
    assert 0 < ran_away < 120


def made(figures_given: dict[str, Any], conditions_given: dict[str, Any]) -> Candidate:
    """Make a candidate from what hypothesis draws."""
    conditions = laws.Conditions(
        coldest_degc=0.0, supply_v=12.0, supply_high_v=12.0, inductive=True, clamped=True, **conditions_given
    )
    known = Figures(junction_max_degc=150.0, leaded=True, assumed=(), notes=(), **figures_given)
    return Candidate(
        name="P", maker=None, fitted=True, figures=known, conditions=conditions, junction_limit_degc=125.0,
        heat_limit_w=1.0, assumed=(),
    )  # fmt: skip


FIGURES = st.fixed_dictionaries(
    {
        "rds25_ohm": st.floats(1e-3, 0.5),
        "exponent": st.floats(1.2, 2.6),
        "rth_k_per_w": st.floats(2.0, 200.0),
        "edges_s": st.sampled_from([None, (2e-7, 3e-7), (5e-6, 1e-6)]),
    }
)
CONDITIONS = st.fixed_dictionaries(
    {
        "ambient_degc": st.floats(-20.0, 80.0),
        "duty": st.floats(0.1, 1.0),
        "pwm_hz": st.sampled_from([0.0, 500.0, 20e3]),
    }
)


def balance_k(part: Candidate, current_a: float, degc: float) -> float:
    """How much warmer the heat at a temperature would make the part than it is, written out anew."""
    known, meets = part.figures, part.conditions
    delta, n = degc - 25.0, known.exponent
    hot = known.rds25_ohm * (1.0 + n / 298.15 * delta + n * (n - 1.0) / (2.0 * 298.15**2) * delta**2)
    edges = sum(known.edges_s or ()) if meets.pwm_hz else 0.0
    heat = meets.duty * current_a**2 * hot + 0.5 * 12.0 * current_a * edges * meets.pwm_hz
    assert known.rth_k_per_w is not None
    return meets.ambient_degc + known.rth_k_per_w * heat - degc


@given(FIGURES, CONDITIONS)
def test_runaway_and_the_limit_are_where_the_balance_of_heat_has_them(
    figures_given: dict[str, Any], conditions_given: dict[str, Any]
) -> None:
    """By SciPy: the current at which the heat's best temperature just balances, and the one that balances at 125 °C."""
    part = made(figures_given, conditions_given)
    curve = operating_curve(part, target_a=1.0)
    assert curve.runaway is not None
    assert curve.limit is not None

    def best_k(current_a: float) -> float:
        found = minimize_scalar(
            lambda degc: balance_k(part, current_a, degc), bounds=(-50.0, 10_000.0), method="bounded",
            options={"xatol": 1e-7},
        )  # fmt: skip
        return float(found.fun)

    brink = brentq(best_k, 1e-6, 1e5, xtol=1e-9)
    assert curve.runaway.current_a == pytest.approx(brink, rel=1e-6)
    at_limit = brentq(lambda current_a: balance_k(part, current_a, 125.0), 0.0, 1e5, xtol=1e-12)
    assert curve.limit.current_a == pytest.approx(at_limit, rel=1e-9)
    assert curve.limit.junction_degc == pytest.approx(125.0, abs=1e-6)


def test_beyond_runaway_nothing_is_said_and_up_to_it_everything() -> None:
    """The curve rises to its last current, which is on the axis, and no figure stands behind it."""
    part = made(
        {"rds25_ohm": 0.013, "exponent": 1.65, "rth_k_per_w": 62.0, "edges_s": None},
        {"ambient_degc": 40.0, "duty": 1.0, "pwm_hz": 0.0},
    )
    curve = operating_curve(part, target_a=7.5)
    assert curve.runaway is not None
    # The doctest of physics.paths.runaway_current gives 10.7 A for this part.
    assert round(curve.runaway.current_a, 1) == 10.7
    assert {7.5, curve.runaway.current_a} <= set(curve.current_a)
    settled = curve.current_a <= curve.runaway.current_a
    assert np.all(np.isfinite(curve.junction_degc[settled]))
    assert np.all(np.diff(curve.junction_degc[settled]) > 0.0)
    assert np.sum(~settled) > 0
    assert np.all(np.isnan(curve.junction_degc[~settled]))
    assert np.all(np.isnan(curve.conduction_loss_w[~settled]))
    told = curve.as_json()
    assert told["junction_degc"][-1] is None
    assert told["runs_away_at_target"] is False


def test_a_resistance_that_does_not_rise_never_runs_away() -> None:
    """Exponent 0: the junction passes its limit all the same."""
    part = made(
        {"rds25_ohm": 0.02, "exponent": 0.0, "rth_k_per_w": 50.0, "edges_s": None},
        {"ambient_degc": 25.0, "duty": 1.0, "pwm_hz": 0.0},
    )
    curve = operating_curve(part, target_a=5.0)
    assert curve.runaway is None
    assert curve.limit is not None
    assert curve.limit.current_a == pytest.approx(10.0)  # 100 K = 50 K/W · I² · 20 mΩ


def test_air_hotter_than_the_limit_leaves_no_current() -> None:
    """The limit is reached before anything flows."""
    part = made(
        {"rds25_ohm": 0.02, "exponent": 1.65, "rth_k_per_w": 50.0, "edges_s": None},
        {"ambient_degc": 130.0, "duty": 1.0, "pwm_hz": 0.0},
    )
    limit = operating_curve(part, target_a=5.0).limit
    assert limit is not None
    assert limit.current_a == 0.0


def test_several_share_one_axis_with_the_target_and_what_is_near_on_it(catalog_of: Make, part: Make) -> None:
    """Runaway up to twice the target is shown; what lies far beyond stretches nothing."""
    good = part("GOOD", rds={4.5: 0.002}, hot_exponent=1.65, rthja_k_per_w=62.0)
    near = part("NEAR", rds={4.5: 0.013}, hot_exponent=1.65, rthja_k_per_w=62.0)
    need = TransistorNeed(supply="12V", current="7.5A", leaded_loss="10W")
    ranked = choose(catalog_of(good, near), need).ranked
    assert [row["part_number"] for row in ranked] == ["GOOD", "NEAR"]
    both, one = operating_curves(need, ranked), operating_curves(need, ranked, first=1)
    assert [curve.candidate.name for curve in both.curves] == ["GOOD", "NEAR"]
    far, close = both.curves
    assert far.runaway is not None
    assert close.runaway is not None
    assert far.current_a is close.current_a
    assert 7.5 in close.current_a
    assert close.runaway.current_a < close.current_a[-1] < far.runaway.current_a
    assert one.curves[0].current_a[-1] == pytest.approx(1.5 * 7.5)
    told = json.loads(json.dumps(both.as_json(), allow_nan=False))
    assert len(told["current_a"]) == len(told["curves"][0]["heat_w"])
    assert "current_a" not in told["curves"][0]
    assert told["curves"][1]["at_target"]["junction_degc"] == pytest.approx(ranked[1]["junction_degc"])


def test_what_is_accepted_unknown_is_drawn_as_far_as_it_is_known(catalog_of: Make, part: Make) -> None:
    """Without a thermal resistance conduction is that at the limit, as in the row; without on-resistance no curve."""
    nowhere = part("NOWHERE", package=None, leaded=False)
    unsaid = part("UNSAID", rds={}, rds_from_v=None)
    need = TransistorNeed(supply="12V", current="7.5A", accept=("heat", "drive", "loss", "threshold"))
    ranked = choose(catalog_of(nowhere, unsaid), need).ranked
    assert {row["part_number"] for row in ranked} == {"NOWHERE", "UNSAID"}
    curves = operating_curves(need, ranked)
    (curve,) = curves.curves
    row = next(row for row in ranked if row["part_number"] == "NOWHERE")
    assert curve.unknown == "its thermal resistance is not known"
    assert curve.at_target.conduction_loss_w == pytest.approx(row["conduction_loss_w"], rel=1e-12)
    assert (curve.at_target.heat_w, curve.at_target.junction_degc, curve.runaway, curve.limit) == (None,) * 4
    assert curves.left_out == (("UNSAID", "its on-resistance at this drive is not known"),)
    json.dumps(curves.as_json(), allow_nan=False)


def test_switching_that_is_not_known_is_said_and_not_left_out(catalog_of: Make, part: Make) -> None:
    """Without charge and edges a switched part's junction is unknown, as the query has it."""
    need = TransistorNeed(supply="12V", current="7.5A", pwm="1kHz", accept=("heat", "loss"))
    (row,) = choose(catalog_of(part("A")), need).ranked
    assert row["junction_degc"] is None
    curve = operating_curves(need, [row]).curves[0]
    assert curve.unknown == "its switching loss is not known"
    assert curve.at_target.conduction_loss_w == pytest.approx(row["conduction_loss_w"], rel=1e-12)


@pytest.fixture(scope="module")
def board() -> Board:
    """Return the demo's board."""
    return read_board(shipped.catalog_dir() / "greenhouse" / "board.toml")


def test_a_fitted_transistor_has_the_limits_of_the_audit(board: Board) -> None:
    """What the audit lets it carry is the least of: its junction's limit, its leads' heat, its rating."""
    seen = 0
    for output in board.outputs:
        for link in output.links:
            if not isinstance(link, Transistor):
                continue
            seen += 1
            conditions = conditions_at(board, output)
            judged = laws.judge(link, conditions)
            curve = operating_curve(fitted_on(board, link.where), target_a=5.0)
            assert judged.usable_a is not None
            assert link.current_rating_a is not None
            assert curve.limit is not None
            assert curve.candidate.junction_limit_degc == judged.limit_degc
            bounds = [curve.limit.current_a, link.current_rating_a / 1.25]
            if curve.candidate.heat_limit_w is not None:
                at_usable = operating_curve(curve.candidate, target_a=judged.usable_a).at_target
                assert at_usable.heat_w is not None
                assert at_usable.heat_w <= curve.candidate.heat_limit_w * (1.0 + 1e-9)
                if judged.usable_a < min(bounds):
                    assert at_usable.heat_w == pytest.approx(curve.candidate.heat_limit_w, rel=1e-9)
            else:
                assert judged.usable_a == pytest.approx(min(bounds), rel=1e-12)
    assert seen == 4


def test_the_fitted_part_stands_last_and_says_what_it_rests_on(board: Board, catalog_of: Make, part: Make) -> None:
    """Measured at 40 mΩ, the demo's Q1 runs away below its load's current."""
    where = next(link.where for link in board.links() if link.name == "Q1")
    need = TransistorNeed(supply="12V", current="7.9A")
    ranked = choose(catalog_of(part("A")), need).ranked
    curves = operating_curves(need, ranked, fitted=fitted_on(board, where))
    assert [curve.candidate.fitted for curve in curves.curves] == [False, True]
    fitted = curves.curves[-1]
    assert fitted.runs_away(7.9)
    assert fitted.at_target.heat_w is None
    assert any("measured" in word for word in fitted.candidate.assumed)


def test_a_place_without_a_transistor_is_a_clear_error(board: Board) -> None:
    """A slip in the place says so."""
    with pytest.raises(UsageError, match="no transistor"):
        fitted_on(board, "output[9].link[1]")
