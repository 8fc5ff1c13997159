"""The audit of a board: every link held against what it must carry, and what that leaves for the loads."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace
from typing import Final

from loadworthy.boards import draws, flows, laws
from loadworthy.boards.laws import Check, Conditions, Judgement, copper
from loadworthy.boards.laws.transistor import margins
from loadworthy.boards.model import Board, Connector, Fuse, Link, Load, Output, Section, Supply, Trace, Transistor, Wire
from loadworthy.boards.outcome import CARRIES, FALLS_SHORT, NOT_KNOWN, Audit, AuditLine, Bound, OutputLine, worst
from loadworthy.boards.protection import Protection, fault_a, fuse_checks, protection
from loadworthy.boards.settling import settled
from loadworthy.needs import cautions
from loadworthy.quantities import show

__all__ = ["COLDEST_DEGC", "audit", "conditions_at", "with_ambient"]

#: The coldest air where nobody says how cold it gets.
COLDEST_DEGC: Final = 0.0
#: Above this share of the supply a wire's drop is worth a word (common practice).
_WIRE_DROP_SHARE = 0.03


def with_ambient(board: Board, ambient_degc: float) -> Board:
    """Return the same board in other air."""
    return replace(board, surroundings=replace(board.surroundings, ambient_degc=ambient_degc))


def conditions_at(board: Board, group: Section | Output) -> Conditions:
    """Return what the links of a section or an output meet on a board."""
    load = group.load if isinstance(group, Output) else None
    return Conditions(
        ambient_degc=board.surroundings.ambient_degc,
        coldest_degc=board.surroundings.coldest(COLDEST_DEGC),
        supply_v=board.supply.voltage_v,
        supply_high_v=board.supply.high_v,
        duty=1.0 if load is None else load.on_share,
        pwm_hz=0.0 if load is None or load.pwm_hz is None else load.pwm_hz,
        inductive=load is not None and load.kind == "inductive",
        clamped=not isinstance(group, Output) or group.freewheel is not None,
    )


def audit(board: Board) -> Audit:
    """Hold every link of a board against what it must carry.

    Parameters
    ----------
    board
        The board.

    Returns
    -------
    Audit
        Lines weakest first, outputs with what they can carry, protection, and what to mind.
    """
    return _Auditor(board).audit()


class _Auditor:
    """One board, and what follows from it, worked out once."""

    def __init__(self, board: Board) -> None:
        self.board = board
        self.loads = {output.name: draws.worst_a(output.load, board.supply) for output in board.outputs}
        self.currents = flows.flows(board, self.loads)
        self.coldest_degc = board.surroundings.coldest(COLDEST_DEGC)
        self.conditions = {f"section:{section.name}": conditions_at(board, section) for section in board.sections}
        self.conditions |= {f"output:{output.name}": conditions_at(board, output) for output in board.outputs}
        self.groups: list[tuple[str, Section | Output, float]] = [
            (f"section:{section.name}", section, self.currents[section.name]) for section in board.sections
        ]
        self.groups += [(f"output:{output.name}", output, self.loads[output.name]) for output in board.outputs]
        self.judged = {
            link.where: laws.judge(link, self.conditions[key]) for key, group, _ in self.groups for link in group.links
        }
        self.usable = {where: judgement.usable_a for where, judgement in self.judged.items()}
        self.rest = settled(board, self.conditions, board.supply.voltage_v)
        low = board.supply.low_v
        self.rest_low = self.rest if low == board.supply.voltage_v else settled(board, self.conditions, low)
        # A short circuit starts in a cold path, which lets most through.
        bodies = {
            link.where: laws.body(link, self.conditions[key], 0.0, 0.0)
            for key, group, _ in self.groups
            for link in group.links
        }
        self.cold_ohm = {
            where: body.link.resistance_ohm if body.resistance_known else None for where, body in bodies.items()
        }
        self.ultimate = {where: judgement.ultimate_a for where, judgement in self.judged.items()}
        self.protections = [self._protection(output) for output in board.outputs]

    def audit(self) -> Audit:
        """Put everything together."""
        lines = self._lines()
        by_place = {line.where: line for line in lines}
        outputs = tuple(self._output(output, by_place) for output in self.board.outputs)
        factor, stopped_by = flows.factor(self.board, self.usable, self.loads)
        supply_v = self.board.supply.voltage_v
        return Audit(
            board=self.board,
            verdict=worst([line.verdict for line in lines] + [output.verdict for output in outputs]),
            lines=tuple(sorted(lines, key=_weakest_first)),
            outputs=outputs,
            all_current_a=sum(self.loads.values()),
            all_power_w=supply_v * sum(draws.nominal_a(output.load, supply_v) for output in self.board.outputs),
            factor=factor,
            factor_stopped_by=by_place[stopped_by].label if stopped_by else None,
            protection=tuple(self.protections),
            assumed=self._assumed(),
            cautions=self._cautions(),
        )

    def _lines(self) -> list[AuditLine]:
        return [self._line(group, link, current) for _, group, current in self.groups for link in group.links]

    def _serves(self, group: Section | Output) -> tuple[str, ...]:
        if isinstance(group, Output):
            return (group.name,)
        return tuple(
            output.name
            for output in self.board.outputs
            if any(section is group for section in self.board.feeding(output.fed_by))
        )

    def _line(self, group: Section | Output, link: Link, current: float) -> AuditLine:
        judgement, rest = self.judged[link.where], self.rest.links[link.where]
        checks, notes = list(judgement.checks), list(judgement.notes)
        if isinstance(link, Fuse):
            more, said = fuse_checks(link, self.board, self._fault(link))
            checks, notes = [*checks, *more], [*notes, *said]
        assumed = list(judgement.assumed)
        if isinstance(link, Transistor) and isinstance(group, Output):
            extra, words = self._switched_on(link, group.load)
            checks, notes = [*checks, *extra], [*notes, *words]
        if rest.runs_away:
            notes.append("it runs away: at this load its heat grows faster than the air takes it")
        notes += self._drop_notes(link, rest.drop_v)
        notes += laws.said(link)
        verdict, unknown = _verdict(judgement, checks, current, runs_away=rest.runs_away)
        usable = judgement.usable_a
        return AuditLine(
            link=link,
            group=group.name,
            shared=isinstance(group, Section),
            serves=self._serves(group),
            verdict=verdict,
            current_a=current,
            usable_a=usable,
            ultimate_a=judgement.ultimate_a,
            margin_a=None if usable is None else usable - current,
            used=None if usable is None else (current / usable if usable > 0.0 else math.inf),
            governs=judgement.governs,
            source=judgement.source,
            unknown=unknown,
            limit_degc=judgement.limit_degc,
            settled_a=rest.current_a,
            resistance_ohm=rest.resistance_ohm,
            drop_v=rest.drop_v,
            loss_w=rest.loss_w,
            temperature_degc=rest.temperature_degc,
            checks=tuple(checks),
            assumed=tuple(assumed),
            notes=tuple(notes),
            needs=self._needs(link, judgement, current, group) if verdict != CARRIES else {},
        )

    def _needs(
        self, link: Link, judgement: Judgement, current: float, group: Section | Output
    ) -> dict[str, float | int | str]:
        """Say what a part in a link's place has to do, with the units in the names."""
        found: dict[str, float | int | str] = {
            "least_current_a": current,
            "supply_v": self.board.supply.voltage_v,
            "supply_high_v": self.board.supply.high_v,
            "ambient_degc": self.board.surroundings.ambient_degc,
            **judgement.needs,
        }
        if isinstance(group, Output) and isinstance(link, Transistor):
            found["load"] = "inductive" if group.load.kind == "inductive" else "resistive"
            found |= {} if group.load.pwm_hz is None else {"pwm_hz": group.load.pwm_hz, "duty": group.load.on_share}
        if isinstance(link, Fuse):
            fault = self._fault(link)
            found |= {"type": link.type, "coldest_degc": self.coldest_degc}
            found |= {} if fault is None else {"fault_a": fault}
        if isinstance(link, Trace) and judgement.usable_a and judgement.limit_degc is not None:
            rise = judgement.limit_degc - self.board.surroundings.ambient_degc
            found |= copper.trace_needs(link, current, rise, judgement.usable_a)
        return found

    def _drop_notes(self, link: Link, drop_v: float | None) -> list[str]:
        supply = self.board.supply.voltage_v
        if not isinstance(link, Wire) or drop_v is None or drop_v <= _WIRE_DROP_SHARE * supply:
            return []
        share = f"{100.0 * drop_v / supply:.2g} %"
        return [f"it takes {show(drop_v, 'V')}, {share} of the supply; up to 3 % is usual (common practice)"]

    def _switched_on(self, link: Transistor, load: Load) -> tuple[list[Check], list[str]]:
        """Hold a transistor against the instants of switching on and off."""
        checks: list[Check] = []
        notes: list[str] = []
        inrush = draws.inrush_a(load, self.board.supply)
        if inrush is not None:
            amperes, assumed = inrush
            if link.pulse_rating_a is None:
                notes.append(f"{show(amperes, 'A')} at switching on; its pulse rating is not given, and so not checked")
            else:
                checks.append(
                    Check(
                        name="inrush",
                        rule="its pulse rating covers the current into the cold load",
                        has=link.pulse_rating_a,
                        needs=amperes,
                        unit="A",
                        ok=link.pulse_rating_a >= amperes,
                        source="common practice; the safe operating area decides for pulses that last",
                    )
                )
            notes += [assumed] if assumed else []
        if load.inductance_h is not None and link.avalanche_j is not None:
            energy = draws.inductive_energy_j(load, self.board.supply) or 0.0
            words = "covers" if link.avalanche_j >= energy else "does not cover"
            notes.append(
                f"should the freewheel diode fail, one switch-off gives {show(energy, 'J')}; its avalanche rating of "
                f"{show(link.avalanche_j, 'J')} {words} that"
            )
        return checks, notes

    def _fault(self, link: Fuse) -> float | None:
        """Return the greatest fault current of all paths through a fuse."""
        found = [
            line.fault_a
            for line, output in zip(self.protections, self.board.outputs, strict=True)
            if any(other.where == link.where for other in self.board.path(output))
        ]
        known = [amperes for amperes in found if amperes is not None]
        return max(known, default=None)

    def _protection(self, output: Output) -> Protection:
        amperes, assumed = fault_a(self.board, self.cold_ohm, self.board.path(output))
        return protection(
            self.board,
            output,
            ultimate_a=self.ultimate,
            fault_current_a=amperes,
            fault_assumed=assumed,
            coldest_degc=self.coldest_degc,
        )

    def _output(self, output: Output, by_place: Mapping[str, AuditLine]) -> OutputLine:
        path = [by_place[link.where] for link in self.board.path(output)]
        checks, notes = self._freewheel(output)
        known = [line for line in path if line.used is not None]
        weakest = max(known, key=lambda line: line.used or 0.0, default=None)
        alone = flows.alone(self.board, output, self.usable)
        together = flows.together(self.board, output, self.usable, self.loads)
        rest, low = self.rest.outputs[output.name], self.rest_low.outputs[output.name]
        verdicts = [line.verdict for line in path]
        verdicts += [CARRIES if check.ok else NOT_KNOWN if check.ok is None else FALLS_SHORT for check in checks]
        verdicts += [] if rest.state == "settled" else [FALLS_SHORT]
        inrush = draws.inrush_a(output.load, self.board.supply)
        notes += [inrush[1]] if inrush and inrush[1] else []
        if output.load.on_share < 1.0:
            notes.append("the transistor is judged with its duty, all other links by the current while on")
        if rest.state == "starved":
            notes.append("the supply cannot bring this load what it asks for through this path")
        return OutputLine(
            output=output,
            verdict=worst(verdicts),
            current_a=self.loads[output.name],
            nominal_a=draws.nominal_a(output.load, self.board.supply.voltage_v),
            weakest=None if weakest is None else weakest.label,
            unknown=tuple(line.label for line in path if line.usable_a is None),
            alone=_bound(alone, output.load, self.board.supply, by_place),
            together=_bound(together, output.load, self.board.supply, by_place),
            state=rest.state,
            settled_a=rest.current_a,
            load_v=rest.load_v,
            load_w=rest.load_w,
            low_load_v=low.load_v,
            low_load_w=low.load_w,
            inrush_a=None if inrush is None else inrush[0],
            energy_j=draws.inductive_energy_j(output.load, self.board.supply),
            checks=tuple(checks),
            notes=tuple(notes),
        )

    def _freewheel(self, output: Output) -> tuple[list[Check], list[str]]:
        if output.load.kind != "inductive":
            return [], []
        current, supply = self.loads[output.name], self.board.supply
        margin = margins()["voltage_margin"].value
        diode = output.freewheel
        needed_a = current * (1.0 - output.load.on_share) if output.load.on_share < 1.0 else current
        wanted = (
            ("freewheel voltage", "V", None if diode is None else diode.voltage_v, margin * supply.voltage_v),
            ("freewheel current", "A", None if diode is None else diode.current_a, needed_a),
        )
        if diode is None:
            check = Check(
                name="freewheel", rule="a freewheel diode lies across an inductive load", has=0.0, needs=1.0, unit="1",
                ok=False, source="common practice",
            )  # fmt: skip
            return [check], [cautions.FREEWHEEL]
        rules = {
            "V": f"the diode's reverse voltage is at least {margin:g} × the supply",
            "A": "the diode carries the load's current, switched its mean I·(1 − D)",
        }
        return [
            Check(
                name=name, rule=rules[unit], has=math.nan if has is None else has, needs=needs, unit=unit,
                ok=None if has is None else has >= needs * (1.0 - 1e-12), source="common practice",
            )
            for name, unit, has, needs in wanted
        ], []  # fmt: skip

    def _assumed(self) -> tuple[str, ...]:
        board, said = self.board, []
        if board.supply.tolerance is None:
            said.append("the supply holds its voltage exactly: no tolerance is given")
        if board.surroundings.coldest_degc is None:
            said.append(f"the coldest air is {show(self.coldest_degc, 'degC')}, which counts for the fuses")
        exact = [output.name for output in board.outputs if output.load.tolerance is None and not output.load.current_a]
        if exact:
            said.append(f"no tolerance is given of the load of {', '.join(exact)}")
        if any(section.diversity is None for section in board.sections):
            said.append("all loads are on at once in sections that give no diversity")
        return tuple(said)

    def _cautions(self) -> tuple[str, ...]:
        said = [cautions.LOW_VOLTAGE_ONLY]
        said += [cautions.ABOVE_60_V] if self.board.supply.high_v > 60.0 else []
        links = tuple(self.board.links())
        said += [cautions.FAILS_ON, cautions.PAPER_FIGURES, cautions.FIRST_HEAT_UP, cautions.NOT_UNDER_LOAD]
        said += [cautions.TIGHTEN_AGAIN] if any(isinstance(link, Connector) for link in links) else []
        said += [cautions.FUSE_PROTECTS_WIRING]
        said += [cautions.CHANGE_WHEN_OFF] if any(isinstance(link, Fuse) for link in links) else []
        said += [cautions.AMPACITY_IS_LOCAL] if any(isinstance(link, Wire) for link in links) else []
        transistors = [link for link in links if isinstance(link, Transistor)]
        said += [cautions.FLOATING_PIN] if transistors else []
        said += [cautions.SINK_ON_A_TAB] if any(link.heatsink_k_per_w is not None for link in transistors) else []
        return tuple(said)


def _verdict(judgement: Judgement, checks: list[Check], current: float, *, runs_away: bool) -> tuple[str, str | None]:
    """Return the verdict on a link, and why it is not known where it is not."""
    if runs_away or any(check.ok is False for check in checks):
        return FALLS_SHORT, judgement.unknown
    if judgement.usable_a is None:
        return NOT_KNOWN, judgement.unknown
    # What is worked out from the usable current itself may come back a rounding error above it.
    if current <= judgement.usable_a * (1.0 + 1e-12):
        return CARRIES, None
    return (NOT_KNOWN, judgement.ends) if judgement.ends else (FALLS_SHORT, None)


def _weakest_first(line: AuditLine) -> tuple[int, float]:
    return (FALLS_SHORT, NOT_KNOWN, CARRIES).index(line.verdict), -(line.used or 0.0)


def _bound(room: flows.Room, load: Load, supply: Supply, by_place: Mapping[str, AuditLine]) -> Bound:
    """Turn the greatest current into the load that draws it."""
    current = room.current_a
    if current is None or current <= 0.0:
        return Bound(
            current_a=current,
            stopped_by=by_place[room.stopped_by].label if room.stopped_by else None,
            least_actual_ohm=None,
            least_resistance_ohm=None,
            least_cold_ohm=None,
            greatest_power_w=0.0 if current is not None else None,
        )
    actual = supply.high_v / current
    nominal = actual / (1.0 - load.share)
    cold = None
    warm = draws.resistance_ohm(load, supply.voltage_v)
    if load.cold_resistance_ohm is not None and warm is not None:
        cold = nominal * load.cold_resistance_ohm / warm
    return Bound(
        current_a=current,
        stopped_by=by_place[room.stopped_by].label if room.stopped_by else None,
        least_actual_ohm=actual,
        least_resistance_ohm=nominal,
        least_cold_ohm=cold,
        greatest_power_w=supply.voltage_v**2 / nominal,
    )
