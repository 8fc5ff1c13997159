"""What printed copper and wire carry: a rise of temperature to IPC-2221, and a wire's balance of heat in still air."""

from __future__ import annotations

import math
from contextlib import suppress
from dataclasses import replace
from typing import Final

from loadworthy.boards.laws.base import Body, Conditions, Judgement, greatest, unheated
from loadworthy.boards.model import Trace, Wire
from loadworthy.boards.values import gauge_text
from loadworthy.errors import UsageError
from loadworthy.physics import conductors, paths, traces
from loadworthy.quantities import show

__all__ = ["trace_body", "trace_judge", "trace_needs", "wire_beside", "wire_body", "wire_judge"]

_RISE_K: Final = 20.0
_BOARD_LIMIT_DEGC: Final = 105.0
_INSULATION_LIMIT_DEGC: Final = 70.0
_INSULATION_M: Final = 0.8e-3
_WIRE_MARGIN_K: Final = 10.0
_CLASSES: Final = {"class 2": 2, "class 5": 5}


def _layer_k(link: Trace) -> float:
    return traces.INNER_K if link.layer == "inner" else traces.OUTER_K


def trace_judge(link: Trace, conditions: Conditions) -> Judgement:
    """Say what the trace carries at the rise that is allowed."""
    asked = _RISE_K if link.rise_k is None else link.rise_k
    room = _BOARD_LIMIT_DEGC - conditions.ambient_degc
    rise, most_rise = min(asked, room), min(traces.MAX_RISE_K, room)
    assumed = ["a rise of 20 K is allowed (common practice)"] if link.rise_k is None else []
    assumed.append(f"the board may reach {show(_BOARD_LIMIT_DEGC, 'degC')}")
    words = f"{show(rise, 'K')} of rise on an {link.layer} layer"
    width = traces.trace_problem(current_a=math.nan, rise_k=math.nan, width_m=link.width_m, layer_k=_layer_k(link))
    if width is not None or room <= 0.0:
        return Judgement(
            usable_a=None,
            ultimate_a=None,
            governs=words,
            source="IPC-2221",
            unknown=width or f"the air is as hot as the board may be, {show(_BOARD_LIMIT_DEGC, 'degC')}",
            assumed=tuple(assumed),
        )
    usable, ends = _carried(link, rise)
    ultimate = _carried(link, most_rise)[0]
    source = "IPC-2221"
    notes: tuple[str, ...] = ()
    if link.parallel_wire_m2 is not None:
        wire = _along(link, link.parallel_wire_m2)
        beside = wire_judge(wire, conditions)
        alone = usable
        usable = _shared(link, wire, usable, beside.usable_a or 0.0)
        # Where the wire is at its limit first, the end of the charts ends nothing.
        ends = ends if math.isclose(usable, _shared(link, wire, alone, math.inf)) else None
        ultimate = _shared(link, wire, ultimate, beside.ultimate_a or 0.0)
        words += f", with {1e6 * link.parallel_wire_m2:g} mm² of wire along it"
        source += "; the wire by its balance of heat; the current parts by their resistances at 20 °C"
        assumed += beside.assumed
        notes = beside.notes
    return Judgement(
        usable_a=usable,
        ultimate_a=ultimate,
        governs=words,
        source=source,
        notes=notes,
        ends=ends,
        limit_degc=conditions.ambient_degc + rise,
        assumed=tuple(assumed),
    )


def _carried(link: Trace, rise_k: float) -> tuple[float, str | None]:
    """Return the current at a rise; where the charts end before, their end, with words that say so."""
    figures = {"width_m": link.width_m, "thickness_m": link.thickness_m, "layer_k": _layer_k(link)}
    try:
        return float(traces.trace_current(rise_k=rise_k, **figures)), None
    except UsageError:
        end = float(f"{greatest(lambda current: _inside(link, current)):.6g}")
        return end, f"the charts of IPC-2221 end at {show(end, 'A')} for an {link.layer} layer"


def _along(link: Trace, area_m2: float) -> Wire:
    return Wire(
        name=link.name,
        where=link.where,
        area_m2=area_m2,
        length_m=link.length_m,
        strand=None if _tabled(area_m2) else "solid",
    )


def _tabled(area_m2: float) -> bool:
    return any(math.isclose(area_m2, area, rel_tol=0.01) for area in conductors.IEC_60228_OHM_PER_M[5])


def _shared(link: Trace, wire: Wire, trace_a: float, wire_a: float) -> float:
    """Return what a trace and a wire along it carry together: the one that is at its limit first sets it."""
    trace_ohm = _cold_ohm(link)
    wire_ohm = _wire(wire)[0] * wire.length_m
    both = trace_ohm + wire_ohm
    return min(trace_a * both / wire_ohm, wire_a * both / trace_ohm)


def _cold_ohm(link: Trace) -> float:
    return float(
        traces.trace_resistance(width_m=link.width_m, thickness_m=link.thickness_m, length_m=link.length_m, degc=20.0)
    )


def wire_beside(link: Trace, conditions: Conditions, current_a: float) -> float | None:
    """Return the thinnest flexible wire that carries a current together with a trace, in m²; None where none does."""
    for area_m2 in sorted(conductors.IEC_60228_OHM_PER_M[5]):
        usable = trace_judge(replace(link, parallel_wire_m2=area_m2), conditions).usable_a
        if usable is not None and usable >= current_a:
            return float(area_m2)
    return None


def _inside(link: Trace, current_a: float) -> bool:
    problem = traces.trace_problem(current_a=current_a, rise_k=math.nan, width_m=math.nan, layer_k=_layer_k(link))
    return problem is None


def trace_needs(link: Trace, current_a: float, rise_k: float, usable_a: float) -> dict[str, float]:
    """Say what would make a trace carry a current: its width, or a wire soldered along it in place of any that is."""
    found = {}
    if link.parallel_wire_m2 is not None:
        usable_a = _carried(link, rise_k)[0]
    with suppress(UsageError):  # no width on the charts may do; the wire beside the trace does
        found["least_width_m"] = float(
            traces.trace_width(current_a=current_a, rise_k=rise_k, thickness_m=link.thickness_m, layer_k=_layer_k(link))
        )
    found["parallel_copper_m2"] = float(
        traces.needed_parallel_area(
            total_a=current_a, trace_a=usable_a, trace_ohm=_cold_ohm(link), length_m=link.length_m
        )
    )
    return found


def trace_body(link: Trace, conditions: Conditions, rms_a: float) -> Body:
    """Say how the trace drops voltage and warms: the rise is IPC-2221's, not one of a thermal resistance."""
    if link.parallel_wire_m2 is not None:
        return _body_with_wire(link, _along(link, link.parallel_wire_m2), conditions, rms_a)
    try:
        rise: float | None = float(
            traces.trace_rise(
                current_a=rms_a, width_m=link.width_m, thickness_m=link.thickness_m, layer_k=_layer_k(link)
            )
        )
    except UsageError:
        rise = None
    degc = conditions.ambient_degc + (traces.MAX_RISE_K if rise is None else rise)
    resistance = float(
        traces.trace_resistance(width_m=link.width_m, thickness_m=link.thickness_m, length_m=link.length_m, degc=degc)
    )
    return unheated(resistance, degc, temperature_known=rise is not None)


def _body_with_wire(link: Trace, wire: Wire, conditions: Conditions, rms_a: float) -> Body:
    """Trace and wire side by side: the trace's share warms it, and they drop the same voltage."""
    trace_ohm, wire_ohm = _cold_ohm(link), _wire(wire)[0] * wire.length_m
    alone = trace_body(replace(link, parallel_wire_m2=None), conditions, rms_a * wire_ohm / (trace_ohm + wire_ohm))
    warm_ohm = alone.link.resistance_ohm
    return unheated(
        warm_ohm * wire_ohm / (warm_ohm + wire_ohm),
        alone.link.reference_degc,
        temperature_known=alone.temperature_known,
    )


def _wire(link: Wire) -> tuple[float, float, tuple[str, ...]]:
    """Return resistance by the metre at 20 °C, outer diameter, and what was assumed.

    Raises
    ------
    UsageError
        Its size is not given, or not in the table of its class.
    """
    assumed: list[str] = []
    strand = link.strand
    if link.area_m2 is None:
        if link.gauge is None:
            raise UsageError("neither its gauge nor its area is given.", where=link.where, way_out="Give one of them.")
        area = float(conductors.awg_area(gauge=link.gauge))
        # Strands of a gauge make up the gauge's own area, so its resistance holds for them too.
        ohm_per_m = float(conductors.solid_resistance_per_m(area_m2=area))
    else:
        area = link.area_m2
        if strand is None:
            strand = "class 5"
            assumed.append("flexible wire, class 5")
        if strand in _CLASSES:
            ohm_per_m = float(conductors.stranded_resistance_per_m(area_m2=area, conductor_class=_CLASSES[strand]))
        else:
            ohm_per_m = float(conductors.solid_resistance_per_m(area_m2=area))
    outer = link.outer_diameter_m
    if outer is None:
        outer = 2.0 * math.sqrt(area / math.pi) + 2.0 * _INSULATION_M
        assumed.append("0.8 mm of insulation")
    return ohm_per_m, outer, tuple(assumed)


def wire_judge(link: Wire, conditions: Conditions) -> Judgement:
    """Say what the wire carries 10 K below the limit of its insulation, and at it.

    Raises
    ------
    UsageError
        Its size is not given, or not in the table of its class.
    """
    ohm_per_m, outer, assumed = _wire(link)
    limit = _INSULATION_LIMIT_DEGC if link.insulation_limit_degc is None else link.insulation_limit_degc
    if link.insulation_limit_degc is None:
        assumed = (*assumed, f"insulation good for {show(limit, 'degC')}")
    film = conductors.STILL_AIR_FILM_W_PER_M2_K

    def carried(degc: float) -> float:
        return float(
            conductors.wire_current(
                limit_degc=degc,
                ohm_per_m_20=ohm_per_m,
                outer_diameter_m=outer,
                ambient_degc=conditions.ambient_degc,
                film_w_per_m2_k=film,
            )
        )

    size = (
        gauge_text(link.gauge) if link.area_m2 is None and link.gauge is not None else show(link.area_m2 or 0.0, "m2")
    )
    if link.area_m2 is not None:
        size = f"{1e6 * link.area_m2:g} mm²"
    return Judgement(
        usable_a=carried(limit - _WIRE_MARGIN_K),
        ultimate_a=carried(limit),
        governs=f"{size} in still air, 10 K below the {show(limit, 'degC')} of its insulation",
        source="the balance of heat on a wire, copper of IEC 60028 and IEC 60228",
        limit_degc=limit - _WIRE_MARGIN_K,
        assumed=(*assumed, "still air takes 10 W/(m²·K) from a single wire (common practice)"),
        notes=("what a wire may carry is a matter of local codes; bundled or covered it carries less",),
    )


def wire_body(link: Wire, conditions: Conditions, rms_a: float) -> Body:
    """Say how the wire drops voltage and warms."""
    try:
        ohm_per_m, outer, _ = _wire(link)
    except UsageError:
        return unheated(None, conditions.ambient_degc, temperature_known=False)
    surface_m2 = math.pi * outer * link.length_m
    return Body(
        link=paths.Link(
            resistance_ohm=ohm_per_m * link.length_m,
            reference_degc=conductors.COPPER_REFERENCE_DEGC,
            linear_per_k=conductors.COPPER_ALPHA_20,
            square_per_k2=0.0,
            rth_k_per_w=conditions.duty / (conductors.STILL_AIR_FILM_W_PER_M2_K * surface_m2),
            ambient_degc=conditions.ambient_degc,
            other_loss_w=0.0,
        ),
        resistance_known=True,
        temperature_known=True,
    )
