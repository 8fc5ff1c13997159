"""The query and the physics state the same formulas: held equal to 1e-12 over random parts and needs."""

from __future__ import annotations

import math
import random
from collections.abc import Callable
from typing import Any

import pytest

from loadworthy import statements
from loadworthy.judging import judged
from loadworthy.needs import TransistorNeed
from loadworthy.physics import conduction, switching, thermal

Make = Callable[..., Any]


def every_row(catalog: Any, need: TransistorNeed) -> list[dict[str, Any]]:
    """Run the family's own query over every part."""
    text = judged("transistor", offered=False)
    return statements.bind("all", text, {**need.parameters(), "closely": True}).rows(catalog.connection)


def parts(part: Make, dice: random.Random) -> list[dict[str, Any]]:
    """Make parts over the whole range of figures, some of which run away."""
    return [
        part(
            f"P{number}",
            vds_v=dice.uniform(18.0, 250.0),
            rds={4.5: 10 ** dice.uniform(-3.0, -0.3)},
            hot_exponent=dice.choice((None, 0.0, 0.7, 1.0, dice.uniform(1.0, 2.6))),
            rthja_k_per_w=dice.uniform(20.0, 200.0),
            rthjc_k_per_w=dice.uniform(0.3, 6.0),
            junction_max_degc=dice.choice((125.0, 150.0, 175.0)),
            vgs_th_max_v=dice.uniform(1.0, 4.0),
            qgd_c=dice.uniform(1e-9, 60e-9),
            qg_c=dice.uniform(5e-9, 200e-9),
        )
        for number in range(400)
    ]


NEEDS: list[dict[str, Any]] = [
    {"current": "5A"},
    {"current": "7.5A", "ambient": "-20degC"},
    {"current": "3A", "pwm": "1.7kHz", "gate_series": "100ohm", "duty": "37%"},
    {
        "current": "9A",
        "pwm": "300Hz",
        "load": "inductive",
        "heatsink": "7.3K/W",
        "gate_series": "1kohm",
        "gate_pulldown": "22kohm",
    },
]


@pytest.mark.parametrize("asked", NEEDS)
def test_query_and_physics_agree(catalog_of: Make, part: Make, asked: dict[str, Any]) -> None:
    """Losses, thermal resistance, junction temperature, its limit and thermal runaway."""
    need = TransistorNeed(supply="12V", **asked)
    ask: dict[str, Any] = need.parameters()
    made = parts(part, random.Random(281))  # noqa: S311 - test data
    rows = every_row(catalog_of(*made), need)
    given = {one["part_number"]: one for one in made}
    same = {"rel": 1e-12, "abs": 1e-300}
    ran_away = 0
    assert len(rows) == len(made)
    for row in rows:
        own = given[row["part_number"]]
        exponent = own["hot_exponent"]
        if exponent is None:
            exponent = conduction.default_hot_exponent(vds_v=own["vds_v"])
        assert row["hot_exponent"] == pytest.approx(exponent, **same)
        rth = own["rthja_k_per_w"]
        if ask["heatsink_k_per_w"] is not None:
            rth = thermal.chain(
                rthjc_k_per_w=own["rthjc_k_per_w"],
                rthcs_k_per_w=own["package_rthcs_k_per_w"],
                rthsa_k_per_w=ask["heatsink_k_per_w"],
            )
        assert row["rth_k_per_w"] == pytest.approx(rth, **same)
        switched = 0.0
        if ask["pwm_hz"]:
            rise, fall = switching.transition_times(
                qgd_c=own["qgd_c"],
                gate_ohm=ask["gate_ohm"],
                drive_v=ask["drive_v"],
                plateau_v=own["vgs_th_max_v"],
            )
            assert row["edges_s"] == pytest.approx(rise + fall, **same)
            switched = switching.switching_loss(
                supply_v=12.0, current_a=ask["current_a"], rise_s=rise, fall_s=fall, pwm_hz=ask["pwm_hz"],
                inductive=ask["inductive"],
            )  # fmt: skip
            gate = switching.gate_loss(drive_v=ask["drive_v"], qg_c=own["qg_c"], pwm_hz=ask["pwm_hz"])
            assert row["gate_loss_w"] == pytest.approx(gate, **same)
        assert row["switching_loss_w"] == pytest.approx(switched, **same)
        limit = thermal.junction_limit(junction_max_degc=own["junction_max_degc"], derate_k=25.0, cap_degc=125.0)
        assert row["junction_limit_degc"] == pytest.approx(limit, **same)
        load = {
            "current_a": ask["current_a"],
            "duty": ask["duty"],
            "rds25_ohm": own["rds_4v5_ohm"],
            "exponent": exponent,
        }
        junction = conduction.junction_temperature(
            rth_k_per_w=rth, ambient_degc=ask["ambient_degc"], other_loss_w=switched, **load
        )
        assert row["runaway"] == math.isnan(junction)
        if row["runaway"]:
            ran_away += 1
            assert row["junction_degc"] is None
            assert row["conduction_loss_w"] is None
            continue
        assert row["junction_degc"] == pytest.approx(junction, **same)
        hot = conduction.resistance_at(rds25_ohm=own["rds_4v5_ohm"], exponent=exponent, junction_degc=junction)
        lost = conduction.conduction_loss(current_a=ask["current_a"], duty=ask["duty"], resistance_ohm=hot)
        assert row["conduction_loss_w"] == pytest.approx(lost, **same)
    assert 0 < ran_away < len(rows)


def test_drive_behind_a_divider_is_that_of_the_physics() -> None:
    """5 V through 1 kΩ against 22 kΩ."""
    need = TransistorNeed(supply="12V", current="1A", gate_series="1kohm", gate_pulldown="22kohm")
    expected = switching.gate_divider(pin_v=5.0, series_ohm=1e3, pulldown_ohm=22e3)
    assert need.parameters()["drive_v"] == pytest.approx(expected, rel=1e-11)


def test_maximum_counts_at_the_greatest_specified_gate_voltage_not_above_the_drive(
    catalog_of: Make, part: Make
) -> None:
    """Whatever the drive, and never anything in between."""
    given = {2.5: 0.012, 4.5: 0.006, 10.0: 0.004}
    catalog = catalog_of(part("A", rds=given))
    for drive in (2.4, 2.5, 2.6, 4.0, 4.49, 4.5, 5.0, 7.0, 9.99, 10.0, 12.0, 15.0):
        (row,) = every_row(catalog, TransistorNeed(supply="12V", current="1A", drive=f"{drive}V"))
        reached = max((volts for volts in given if volts <= drive), default=None)
        assert row["rds25_ohm"] == (None if reached is None else given[reached])
        assert row["has_drive"] == (2.5 if reached is None else reached)
