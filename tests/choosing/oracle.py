"""A part-by-part judgement in plain Python on the physics package, to hold the queries against."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from typing import Any

from loadworthy.needs import TransistorNeed
from loadworthy.physics import conduction, switching
from loadworthy.selection import Selection

DRIVES = (1.8, 2.5, 2.7, 3.3, 4.0, 4.5, 5.0, 6.0, 8.0, 10.0, 12.0)

Fit = tuple[float, float, str, str]


def as_ranked(chosen: Selection) -> list[Fit]:
    """Return a selection's ranked rows as the oracle writes them."""
    return [
        (round(row["conduction_loss_w"], 12), round(row["total_loss_w"], 12), row["maker"], row["part_number"])
        for row in chosen.ranked
    ]


def sorted_out(
    parts: Iterable[Mapping[str, Any]], need: TransistorNeed
) -> tuple[list[Fit], dict[str, int], dict[str, int]]:
    """Return the parts that fit, the best first, and how many each criterion stopped or left open."""
    letting = need.parameters()
    fitting: list[Fit] = []
    stopped = dict.fromkeys(need.asked(), 0)
    unknown: dict[str, int] = {}
    for row in parts:
        verdict, lost, total = judged(row, need)
        failed = next((name for name in need.asked() if verdict[name] is False), None)
        hidden = next((name for name in need.asked() if verdict[name] is None and not letting[f"let_{name}"]), None)
        if failed:
            stopped[failed] += 1
        elif hidden:
            unknown[hidden] = unknown.get(hidden, 0) + 1
        else:
            assert lost is not None
            assert total is not None
            fitting.append((round(lost, 12), round(total, 12), row["maker"], row["part_number"]))
    return sorted(fitting), stopped, unknown


def at_least(value: float | None, limit: float) -> bool | None:
    """Compare where the value is known."""
    return None if value is None else value >= limit


def judged(row: Mapping[str, Any], need: TransistorNeed) -> tuple[dict[str, bool | None], float | None, float | None]:
    """Judge one part: verdict a criterion, conduction loss, total loss."""
    ask = need.parameters()
    drive, amperes = ask["drive_v"], ask["current_a"]
    reached = [level for level in DRIVES if level <= drive]
    stem = f"{max(reached):.1f}".replace(".", "v")
    maximum, typical = row[f"rds_{stem}_ohm"], row[f"rds_typ_{stem}_ohm"]
    cold = maximum if maximum is not None or not ask["let_drive"] else typical
    threshold = row["vgs_th_max_v"]
    verdict: dict[str, bool | None] = {
        "channel": None if row["channel"] is None else row["channel"] == ask["channel"],
        "package": True if not ask["package"] else None if row["package"] is None else row["package"] in ask["package"],
        "drive": True if maximum is not None else None if typical is not None or row["rds_from_v"] is None else False,
        "gate": at_least(row["vgs_max_v"], ask["vgs_least_v"]),
        "voltage": at_least(row["vds_v"], ask["vds_least_v"]),
    }
    verdict["threshold"] = (
        threshold < drive if threshold is not None else True if row["rds_from_v"] is not None else None
    )
    at_case = row["id_case_a"] if row["id_case_a"] is not None else row["id_case_hot_a"]
    in_air = row["id_ambient_a"] is not None and row["id_ambient_a"] >= ask["id_least_a"]
    verdict["current"] = at_least(at_case, ask["id_least_a"]) if at_case is not None else True if in_air else None
    exponent = row["hot_exponent"]
    if exponent is None:
        exponent = 2.4 if row["vds_v"] is None else conduction.default_hot_exponent(vds_v=row["vds_v"])
    own = [row["rthja_k_per_w"], row["package_rthja_k_per_w"]]
    rth = next((value for value in own if value is not None), None)
    if ask["heatsink_k_per_w"] is not None:
        inner = next((v for v in (row["rthjc_k_per_w"], row["package_rthjc_k_per_w"]) if v is not None), None)
        outer = row["package_rthcs_k_per_w"]
        rth = None if inner is None or outer is None else inner + outer + ask["heatsink_k_per_w"]
    switched = switching_of(row, ask)
    limit = min((row["junction_max_degc"] or 150.0) - ask["junction_derate_k"], ask["junction_cap_degc"])
    lost = total = None
    verdict["heat"] = verdict["loss"] = None
    if cold is not None and rth is not None and switched is None:
        # Conduction alone may heat the part faster than it can cool, whatever switching adds.
        rise = conduction.hot_coefficients(exponent=exponent)[0]
        verdict["heat"] = False if ask["duty"] * amperes**2 * cold * rth * rise >= 1.0 else None
    if cold is not None and rth is not None and switched is not None:
        load = {"current_a": amperes, "duty": ask["duty"]}
        junction = conduction.junction_temperature(
            rds25_ohm=cold,
            exponent=exponent,
            rth_k_per_w=rth,
            ambient_degc=ask["ambient_degc"],
            other_loss_w=switched,
            **load,
        )
        verdict["heat"] = bool(junction <= limit)
        if not math.isnan(junction):
            hot = conduction.resistance_at(rds25_ohm=cold, exponent=exponent, junction_degc=junction)
            lost = conduction.conduction_loss(resistance_ohm=hot, **load)
            gate = switching.gate_loss(drive_v=drive, qg_c=row["qg_c"] or 0.0, pwm_hz=ask["pwm_hz"])
            total = lost + switched + gate
            verdict["loss"] = loss_verdict(lost + switched, row["leaded"], ask)
    # Without a limit nothing can be lost too much; where the loss is not known, heat says so.
    if (
        verdict["loss"] is None
        and ask["max_loss_w"] is None
        and (ask["heatsink_k_per_w"] is not None or row["leaded"] is False)
    ):
        verdict["loss"] = True
    return verdict, lost, total


def loss_verdict(heat_w: float, leaded: bool | None, ask: Mapping[str, Any]) -> bool | None:
    """Hold the heat against what was asked, and against what leads take."""
    if ask["max_loss_w"] is not None and heat_w > ask["max_loss_w"]:
        return False
    if ask["heatsink_k_per_w"] is not None or leaded is False or heat_w <= ask["leaded_loss_w"]:
        return True
    return None if leaded is None else False


def switching_of(row: Mapping[str, Any], ask: Mapping[str, Any]) -> float | None:
    """Work out the switching loss from charge, or else from the listed times."""
    if ask["pwm_hz"] == 0.0:
        return 0.0
    charge = row["qgd_c"] if row["qgd_c"] is not None else row["qg_c"]
    threshold = row["vgs_th_max_v"]
    if charge is not None:
        if threshold is None or threshold >= ask["drive_v"]:
            return None
        rise, fall = switching.transition_times(
            qgd_c=charge, gate_ohm=ask["gate_ohm"], drive_v=ask["drive_v"], plateau_v=threshold
        )
    elif row["rise_s"] is None or row["fall_s"] is None:
        return None
    else:
        rise, fall = row["rise_s"], row["fall_s"]
    return switching.switching_loss(
        supply_v=ask["supply_v"], current_a=ask["current_a"], rise_s=rise, fall_s=fall, pwm_hz=ask["pwm_hz"],
        inductive=ask["inductive"],
    )  # fmt: skip
