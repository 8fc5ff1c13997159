"""What a power MOSFET carries: junction below its limit, heat within what the package takes, rating kept."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from loadworthy import criteria
from loadworthy.boards.laws.base import Body, Check, Conditions, Judgement, greatest, unheated
from loadworthy.boards.model import Transistor
from loadworthy.catalog.packages import Package, packages
from loadworthy.criteria import Margin
from loadworthy.physics import FloatOrArray, conduction, paths, switching, thermal
from loadworthy.quantities import show

__all__ = [
    "Figures",
    "body",
    "conduction_w",
    "figures_of",
    "heat_limit_w",
    "judge",
    "junction_degc",
    "junction_limit_degc",
    "margins",
    "switching_w",
]

_JUNCTION_MAX_DEGC: Final = 150.0
_PROFILE: Final = "workshop"


def margins() -> dict[str, Margin]:
    """Return the margins of the workshop, as the transistor's family gives them."""
    return dict(criteria.load("transistor").profiles[_PROFILE].margin)


@dataclass(frozen=True, kw_only=True)
class Figures:
    """A transistor's figures, with what was assumed for those that nobody gave.

    Attributes
    ----------
    rds25_ohm, exponent
        On-resistance at 25 °C and the drive in question, nan where it is not known, and its hot exponent.
    rth_k_per_w
        Thermal resistance from junction to air as mounted; None where it is not known.
    junction_max_degc
        Rated maximum of the junction.
    leaded
        Whether the package stands on leads; None where that is not known.
    edges_s
        Rise and fall time; None where they are not known, or nothing is switched.
    assumed, notes
        What the figures rest on, and what else is to be said.
    """

    rds25_ohm: float
    exponent: float
    rth_k_per_w: float | None
    junction_max_degc: float
    leaded: bool | None
    edges_s: tuple[float, float] | None
    assumed: tuple[str, ...]
    notes: tuple[str, ...]


def _outline(link: Transistor) -> Package | None:
    return next((package for package in packages() if package.name == link.package), None)


def figures_of(link: Transistor, conditions: Conditions) -> Figures:
    """Return the figures of a transistor where it is."""
    assumed: list[str] = []
    notes: list[str] = []
    rds25 = link.on_resistance_ohm if link.on_resistance_ohm is not None else math.nan
    if link.measured_on_resistance_ohm is not None:
        rds25 = link.measured_on_resistance_ohm
        notes.append("the on-resistance is the measured one, taken as at 25 °C")
    exponent = link.hot_exponent
    if exponent is None:
        vds = link.vds_v if link.vds_v is not None else margins()["voltage_margin"].value * conditions.supply_v
        exponent = float(conduction.default_hot_exponent(vds_v=vds))
        assumed.append(f"hot exponent {exponent:.3g}, usual for {show(vds, 'V')}")
    junction_max = link.junction_max_degc
    if junction_max is None:
        junction_max = _JUNCTION_MAX_DEGC
        assumed.append(f"TJ max {show(junction_max, 'degC')}")
    package = _outline(link)
    rth, said = _thermal(link, package)
    edges = None
    if conditions.pwm_hz > 0.0:
        edges = _edges(link)
        if edges is None:
            notes.append("switching loss is not counted: give rise_time and fall_time, or the gate's charge and drive")
    return Figures(
        rds25_ohm=rds25,
        exponent=exponent,
        rth_k_per_w=rth,
        junction_max_degc=junction_max,
        leaded=None if package is None else package.leaded,
        edges_s=edges,
        assumed=(*assumed, *said),
        notes=tuple(notes),
    )


def _thermal(link: Transistor, package: Package | None) -> tuple[float | None, tuple[str, ...]]:
    if link.heatsink_k_per_w is None:
        if link.rthja_k_per_w is not None:
            return link.rthja_k_per_w, ()
        if package is None:
            return None, ()
        return package.rthja, (f"RθJA {show(package.rthja, 'K/W')} of {package.name}, {package.condition}",)
    assumed = []
    rthjc, rthcs = link.rthjc_k_per_w, link.rthcs_k_per_w
    if rthjc is None and package is not None:
        rthjc = package.rthjc
        assumed.append(f"RθJC {show(rthjc, 'K/W')} of {package.name}")
    if rthcs is None and package is not None:
        rthcs = package.rthcs
        assumed.append(f"RθCS {show(rthcs, 'K/W')} of {package.name}, with compound")
    if rthjc is None or rthcs is None:
        return None, ()
    chain = thermal.chain(
        rthjc_k_per_w=rthjc, rthcs_k_per_w=rthcs + (link.pad_k_per_w or 0.0), rthsa_k_per_w=link.heatsink_k_per_w
    )
    return float(chain), tuple(assumed)


def _edges(link: Transistor) -> tuple[float, float] | None:
    if link.rise_time_s is not None and link.fall_time_s is not None:
        return link.rise_time_s, link.fall_time_s
    given = (link.gate_drain_charge_c, link.gate_resistance_ohm, link.drive_v, link.plateau_v)
    if any(value is None for value in given):
        return None
    charge, gate, drive, plateau = (float(value or 0.0) for value in given)
    rise, fall = switching.transition_times(qgd_c=charge, gate_ohm=gate, drive_v=drive, plateau_v=plateau)
    return (float(rise), float(fall)) if math.isfinite(float(rise)) else None


def switching_w(figures: Figures, conditions: Conditions, current_a: FloatOrArray) -> FloatOrArray:
    """Return the switching loss at a current; none where the edges are not known."""
    if figures.edges_s is None or conditions.pwm_hz == 0.0:
        return 0.0 * current_a
    rise, fall = figures.edges_s
    return switching.switching_loss(
        supply_v=conditions.supply_high_v,
        current_a=current_a,
        rise_s=rise,
        fall_s=fall,
        pwm_hz=conditions.pwm_hz,
        inductive=conditions.inductive,
    )


def junction_degc(figures: Figures, conditions: Conditions, current_a: FloatOrArray) -> FloatOrArray:
    """Return the junction's temperature at a current, nan where it runs away."""
    return conduction.junction_temperature(
        current_a=current_a,
        duty=conditions.duty,
        rds25_ohm=figures.rds25_ohm,
        exponent=figures.exponent,
        rth_k_per_w=figures.rth_k_per_w or 0.0,
        ambient_degc=conditions.ambient_degc,
        other_loss_w=switching_w(figures, conditions, current_a),
    )


def conduction_w(
    figures: Figures, conditions: Conditions, current_a: FloatOrArray, at_degc: FloatOrArray
) -> FloatOrArray:
    """Return the conduction loss at a current, with the junction at a temperature."""
    hot = conduction.resistance_at(rds25_ohm=figures.rds25_ohm, exponent=figures.exponent, junction_degc=at_degc)
    return conduction.conduction_loss(current_a=current_a, duty=conditions.duty, resistance_ohm=hot)


def _loss(figures: Figures, conditions: Conditions, current_a: float) -> FloatOrArray:
    at_degc = junction_degc(figures, conditions, current_a)
    return conduction_w(figures, conditions, current_a, at_degc) + switching_w(figures, conditions, current_a)


def junction_limit_degc(figures: Figures) -> float:
    """Return the temperature that the junction is kept below."""
    margin = margins()
    return float(
        thermal.junction_limit(
            junction_max_degc=figures.junction_max_degc,
            derate_k=margin["junction_derating"].value,
            cap_degc=margin["junction_cap"].value,
        )
    )


def heat_limit_w(figures: Figures, link: Transistor) -> float | None:
    """Return the most heat that leads may take without a sink; None where that is no limit."""
    return margins()["leaded_loss"].value if figures.leaded and link.heatsink_k_per_w is None else None


def judge(link: Transistor, conditions: Conditions) -> Judgement:
    """Say what the transistor carries."""
    figures, margin = figures_of(link, conditions), margins()
    unclamped = conditions.inductive and not conditions.clamped
    checks, notes = _voltage(link, conditions, margin["unclamped_margin" if unclamped else "voltage_margin"])
    needs = {"package": link.package, "drive_v": link.drive_v, "heatsink_k_per_w": link.heatsink_k_per_w}
    common = {
        "assumed": figures.assumed,
        "checks": checks,
        "needs": {name: value for name, value in needs.items() if value is not None},
    }
    unknown = None
    if math.isnan(figures.rds25_ohm):
        unknown = "no on-resistance is given, or none at this drive"
    elif figures.rth_k_per_w is None:
        unknown = "no thermal resistance is given, and none follows from a package"
    if unknown is not None:
        return Judgement(
            usable_a=None,
            ultimate_a=None,
            governs="the junction's temperature",
            source="the balance of heat",
            unknown=unknown,
            notes=(*figures.notes, *notes),
            **common,  # type: ignore[arg-type]
        )
    limit = junction_limit_degc(figures)
    limits = {
        f"the junction at {show(limit, 'degC')}": (
            greatest(lambda current: bool(junction_degc(figures, conditions, current) <= limit)),
            f"{margin['junction_derating'].source}; {margin['junction_cap'].source}",
        )
    }
    most_w = heat_limit_w(figures, link)
    if most_w is not None:
        limits[f"{show(most_w, 'W')} of heat without a sink"] = (
            greatest(lambda current: bool(_loss(figures, conditions, current) <= most_w)),
            margin["leaded_loss"].source,
        )
    if link.current_rating_a is not None:
        share = margin["current_margin"].value
        limits[f"its rating of {show(link.current_rating_a, 'A')} over {share:g}"] = (
            link.current_rating_a / share,
            margin["current_margin"].source,
        )
    else:
        notes = (*notes, "its current rating is not given, and so not checked")
    governs = min(limits, key=lambda name: limits[name][0])
    usable, source = limits[governs]
    hottest = greatest(lambda current: bool(junction_degc(figures, conditions, current) <= figures.junction_max_degc))
    return Judgement(
        usable_a=usable,
        ultimate_a=hottest if link.current_rating_a is None else min(hottest, link.current_rating_a),
        governs=governs,
        source=source,
        limit_degc=limit,
        notes=(*figures.notes, *notes),
        **common,  # type: ignore[arg-type]
    )


def _voltage(link: Transistor, conditions: Conditions, margin: Margin) -> tuple[tuple[Check, ...], tuple[str, ...]]:
    if link.vds_v is None:
        return (), ("its VDS is not given, and so not checked",)
    least = float(f"{margin.value * conditions.supply_v:.12g}")
    check = Check(
        name="voltage",
        rule=f"VDS at least {margin.value:g} × the supply",
        has=link.vds_v,
        needs=least,
        unit="V",
        ok=link.vds_v >= least,
        source=margin.source,
    )
    return (check,), ()


def body(link: Transistor, conditions: Conditions, current_a: float) -> Body:
    """Say how the transistor drops voltage and warms at a current while on."""
    figures = figures_of(link, conditions)
    if math.isnan(figures.rds25_ohm):
        return unheated(None, conditions.ambient_degc, temperature_known=False)
    a, b = conduction.hot_coefficients(exponent=figures.exponent)
    return Body(
        link=paths.Link(
            resistance_ohm=figures.rds25_ohm,
            reference_degc=conduction.REFERENCE_DEGC,
            linear_per_k=float(a),
            # Below an exponent of 1 the second order would lessen the rise; without it the path errs on the hot side.
            square_per_k2=max(float(b), 0.0),
            # Switched, the mean of the heat counts: D·I²·R + P is D·(I²·R + P/D).
            rth_k_per_w=(figures.rth_k_per_w or 0.0) * conditions.duty,
            ambient_degc=conditions.ambient_degc,
            other_loss_w=float(switching_w(figures, conditions, current_a)) / conditions.duty,
        ),
        resistance_known=True,
        temperature_known=figures.rth_k_per_w is not None,
    )
