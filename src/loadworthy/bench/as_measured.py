"""What a transistor carries as it was measured: the audit's own law, with the measured on-resistance in it."""

from __future__ import annotations

from collections.abc import Sequence

from loadworthy.bench.claims import Claims
from loadworthy.bench.outcome import AsMeasured, Sample
from loadworthy.bench.transistor import outline
from loadworthy.boards import laws
from loadworthy.boards.laws import Conditions
from loadworthy.boards.model import Transistor
from loadworthy.boards.shelf import link_figures
from loadworthy.needs.base import maybe, measured
from loadworthy.needs.loads import MOST_SUPPLY_V
from loadworthy.physics import conduction, paths

__all__ = ["as_measured"]

_AMBIENT = "40degC"
_USUAL_VDS_V = 30.0
#: A source that never runs short of voltage: what is asked for is a current.
_STIFF_V = 1e6


def _worst(samples: Sequence[Sample]) -> tuple[Sample, float] | None:
    """Return the sample with the greatest upper end of its on-resistance, and that; None where none was measured."""
    found = [
        (finding.high, number)
        for number, sample in enumerate(samples)
        for finding in sample.findings
        if finding.name == "on_resistance" and finding.high is not None
    ]
    if not found:
        return None
    ohms, number = max(found)
    return samples[number], ohms


def as_measured(claimed: Claims, samples: Sequence[Sample]) -> AsMeasured | None:
    """Say what the part carries as it is; None where its on-resistance was not measured.

    Parameters
    ----------
    claimed
        What is claimed of the part: its voltage, package and thermal figures still count.
    samples
        What was found, with what was typed: gate, ambient, heatsink, supply, package, hot_exponent.

    Raises
    ------
    LoadworthyError
        Something given is no such quantity.
    """
    worst = _worst(samples)
    if worst is None:
        return None
    given, ohms = worst[0].given, worst[1]
    drive = measured("gate", given.get("gate"), "V", above=0.0, most=30.0)
    ambient = measured("ambient", given.get("ambient") or _AMBIENT, "degC", least=-55.0, most=100.0)
    sink = maybe("heatsink", given.get("heatsink"), "K/W", above=0.0)
    supply = maybe("supply", given.get("supply"), "V", above=0.0, most=MOST_SUPPLY_V)
    figures = link_figures("transistor", claimed.row, {"drive_v": drive}) if claimed.row else {}
    figures |= {"drive_v": drive, "heatsink_k_per_w": sink, "package": outline(given, claimed)}
    exponent = maybe("hot_exponent", given.get("hot_exponent"), "1", least=0.0, most=4.0)
    figures |= {"hot_exponent": exponent} if exponent is not None else {}
    assumed = []
    if figures.get("hot_exponent") is None and figures.get("vds_v") is None:
        figures["hot_exponent"] = float(conduction.default_hot_exponent(vds_v=_USUAL_VDS_V))
        assumed.append(f"hot exponent {figures['hot_exponent']:.3g}, usual up to 60 V")
    link = Transistor(name=claimed.part, where="bench", measured_on_resistance_ohm=ohms, **figures)
    conditions = Conditions(
        ambient_degc=ambient,
        coldest_degc=ambient,
        supply_v=supply or 0.0,
        supply_high_v=supply or 0.0,
        duty=1.0,
        pwm_hz=0.0,
        inductive=False,
        clamped=True,
    )
    judged = laws.judge(link, conditions)
    loss, junction = _at_rest(link, conditions, judged.usable_a)
    notes = list(judged.notes)
    notes += [
        f"{check.rule}: has {check.has:g} V, needs {check.needs:g} V" for check in judged.checks if check.ok is not True
    ]
    if link.current_rating_a is not None:
        notes.append("its current rating is the one that its marking claims, and was not measured")
    assumed += judged.assumed
    if given.get("ambient") is None:
        assumed.append("air of 40 °C round it")
    return AsMeasured(
        sample=worst[0].name,
        resistance_ohm=ohms,
        drive_v=drive,
        ambient_degc=ambient,
        heatsink_k_per_w=sink,
        supply_v=supply,
        usable_a=judged.usable_a,
        ultimate_a=judged.ultimate_a,
        loss_w=loss,
        junction_degc=junction,
        least_load_ohm=supply / judged.usable_a if supply and judged.usable_a else None,
        governs=judged.governs,
        source=judged.source,
        unknown=judged.unknown,
        assumed=tuple(assumed),
        notes=tuple(notes),
    )


def _at_rest(link: Transistor, conditions: Conditions, current_a: float | None) -> tuple[float | None, float | None]:
    """Return heat and junction at a steady current; none where they are not known."""
    if not current_a:
        return None, None
    body = laws.body(link, conditions, current_a, current_a)
    found = paths.settle(supply_v=_STIFF_V, load=paths.FixedCurrent(current_a=current_a), links=[body.link])
    if found.state != "settled":
        return None, None
    return float(found.loss_w[0]), float(found.temperature_degc[0])
