"""For each link that falls short a part of the catalogue, and the audit again with these in place.

A board is mended as one would mend it: a missing freewheel diode comes first, for what the transistor must stand hangs
on it; then what falls short is replaced, the weakest first; then the fuses are chosen for what is behind them by then;
then the board is audited again, so that the next weak link shows.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Any, Final

from loadworthy.boards.asking import diode_asked, fuse_asked, link_asked, typed
from loadworthy.boards.audit import audit
from loadworthy.boards.laws import Conditions, copper
from loadworthy.boards.model import Board, Freewheel, Fuse, Link, Output, Section, Trace, Transistor
from loadworthy.boards.outcome import Audit, AuditLine, OutputLine
from loadworthy.boards.protection import Protection
from loadworthy.boards.schema import STAYS
from loadworthy.boards.shelf import CatalogShelf
from loadworthy.errors import BoardError, LoadworthyError
from loadworthy.needs import NEEDS, Need
from loadworthy.quantities import show
from loadworthy.selection import Selection, choose
from loadworthy.statements import HasConnection

__all__ = ["Mended", "Replacement", "mend", "mend_one"]

#: A board is mended at most so often; each round touches every failing link once at most.
_ROUNDS: Final = 6
#: What a pin of common logic puts on a gate (common practice); the replacement says where it is assumed.
_USUAL_DRIVE_V: Final = 5.0


@dataclass(frozen=True, kw_only=True)
class Replacement:
    """What is done about one link.

    Attributes
    ----------
    label, kind, where
        The link, and the family that a part for it is of.
    why
        Why something has to be done about it.
    asked
        The need, as ``loadworthy choose KIND`` takes it; empty where nothing is chosen from the catalogue.
    selection
        What the catalogue gave; None where it was not asked or has nothing of the kind.
    advice
        What else is to be done, or to be known: a wire along a trace, why nothing fits, what would help.
    """

    label: str
    kind: str
    where: str
    why: str
    asked: Mapping[str, Any]
    selection: Selection | None
    advice: tuple[str, ...]

    @property
    def chosen(self) -> Mapping[str, Any] | None:
        """The first of the parts that fit; None where none does."""
        return self.selection.ranked[0] if self.selection is not None and self.selection.ranked else None

    def as_json(self) -> dict[str, Any]:
        """Return it as plain values."""
        counts = None if self.selection is None else self.selection.counts
        ranked = () if self.selection is None else self.selection.ranked
        misses = () if self.selection is None or self.chosen is not None else self.selection.near_misses
        return {
            "link": self.label,
            "kind": self.kind,
            "where": self.where,
            "why": self.why,
            "asked": {name: list(value) if isinstance(value, tuple) else value for name, value in self.asked.items()},
            "fit": None if counts is None else counts.fit,
            "considered": None if counts is None else counts.considered,
            "chosen": None if self.chosen is None else dict(self.chosen),
            "next": [_named(row) for row in ranked[1:3]],
            "near_misses": [dict(row) for row in misses],
            "advice": list(self.advice),
        }


@dataclass(frozen=True, kw_only=True)
class Mended:
    """A board as it is, what is done about it, and the board with that done.

    Attributes
    ----------
    before
        The audit of the board as it is.
    replacements
        What is done, in the order in which it is done.
    after
        The audit with the first choices in place.
    """

    before: Audit
    replacements: tuple[Replacement, ...]
    after: Audit

    def as_json(self) -> dict[str, Any]:
        """Return the audit as it is, and under ``mended`` what is done and the audit after it."""
        done = [one.as_json() for one in self.replacements]
        return {**self.before.as_json(), "mended": {"replacements": done, "audit": self.after.as_json()}}


def mend(board: Board, catalog: HasConnection) -> Mended:
    """Choose a part for every link that falls short, and audit the board with the first choices in place.

    Parameters
    ----------
    board
        The board.
    catalog
        The catalogue to choose from; only its ``connection`` is used.

    Returns
    -------
    Mended
        Where the catalogue holds nothing of a kind, or nothing fits, the replacement says so and the link stays.
    """
    return _Mender(board, catalog).mended()


def mend_one(board: Board, catalog: HasConnection, where: str, *, top: int = 3, near: int = 2) -> Mended:
    """Choose a part for one link, whether it falls short or not, and audit the board with the first choice in place.

    Parameters
    ----------
    board, catalog
        As for :func:`mend`.
    where
        The link, or the freewheel diode of an output, such as ``output[2].freewheel``.
    top, near
        How many parts that fit, and how many near misses.

    Raises
    ------
    BoardError
        There is no such link.
    """
    return _Mender(board, catalog, top=top, near=near).mended_one(where)


class _Mender:
    """One board on its way."""

    def __init__(self, board: Board, catalog: HasConnection, *, top: int = 3, near: int = 2) -> None:
        self.board = board
        self.catalog = catalog
        self.top, self.near = top, near
        self.shelf = CatalogShelf(catalog)
        self.done: list[Replacement] = []
        self.tried: set[str] = set()

    def mended(self) -> Mended:
        before = audit(self.board)
        for output_line in before.outputs:
            self._freewheel(output_line)
        now = audit(self.board)
        for _ in range(_ROUNDS):
            waiting = [line for line in now.failing if line.where not in self.tried]
            # A fuse is chosen for what stands behind it when all else is mended.
            for line in [one for one in waiting if one.link.kind != "fuse"] or waiting:
                self.tried.add(line.where)
                self._mend(line, now)
            if not waiting:
                break
            now = audit(self.board)
        for protection in now.protection:
            self._own_fuse(protection, now)
        return Mended(before=before, replacements=tuple(self.done), after=audit(self.board))

    def mended_one(self, where: str) -> Mended:
        before = audit(self.board)
        line = next((one for one in before.lines if one.where == where), None)
        diodes = {f"output[{number}].freewheel": one for number, one in enumerate(before.outputs, 1)}
        if line is not None:
            self._mend(line, before)
        elif where in diodes:
            self._diode(diodes[where], "a freewheel diode lies across an inductive load")
        else:
            raise BoardError(f"the board has no link {where or 'there'}.", way_out="Say which with its place.")
        return Mended(before=before, replacements=tuple(self.done), after=audit(self.board))

    def _mend(self, line: AuditLine, now: Audit) -> None:
        link = line.link
        if isinstance(link, Trace):
            self._say(line, {}, None, self._along(line, link))
        elif isinstance(link, Fuse):
            self._fuse(line, link, now)
        else:
            output = next((one for one in self.board.outputs if one.name == line.group and not line.shared), None)
            asked = link_asked(
                link,
                self.board,
                line.current_a,
                None if output is None else output.load,
                clamped=output is None or output.freewheel is not None,
            )
            if asked is None:
                self._say(line, {}, None, ("Choose it by hand: no family of the catalogue holds such a part.",))
                return
            selection, advice = self._selected(link.kind, asked)
            if isinstance(link, Transistor) and link.drive_v is None:
                drive = show(_USUAL_DRIVE_V, "V")
                advice = (*advice, f"Assumed: {drive} at its gate, the board's file does not say.")
                asked, link = {**asked, "drive": typed(_USUAL_DRIVE_V, "V")}, replace(link, drive_v=_USUAL_DRIVE_V)
            self._say(line, asked, selection, advice)
            self._put(link)

    def _selected(self, family: str, asked: Mapping[str, Any]) -> tuple[Selection | None, tuple[str, ...]]:
        """Ask the catalogue; say why where nothing comes of it."""
        needed: Callable[..., Need] = NEEDS[family]
        try:
            selection = choose(self.catalog, needed(**asked), top=self.top, near=self.near)
        except LoadworthyError as error:
            return None, (f"Nothing could be chosen: {error}",)
        return selection, () if selection.ranked else _why_none(selection)

    def _fuse(self, line: AuditLine, link: Fuse, now: Audit) -> None:
        behind = _weakest(now.lines, _behind(self.board, link))
        fault = _fault(now, self.board, link.where)
        advice: tuple[str, ...] = ()
        if behind is not None:
            weakest, amperes = behind
            asked = fuse_asked(self.board, line.current_a, kind=link.type, weakest_a=amperes, fault_a=fault)
            selection, _ = self._selected("fuse", asked)
            if selection is not None and selection.ranked:
                self._say(line, asked, selection, ())
                self._put(link)
                return
            carried, stands = show(line.current_a, "A"), show(amperes, "A")
            advice = (
                f"No fuse of the catalogue carries {carried} and opens for the weakest link behind it, {weakest} at "
                f"{stands}: this one protects what is stronger, and what is not needs a fuse of its own.",
            )
        asked = fuse_asked(self.board, line.current_a, kind=link.type, fault_a=fault)
        selection, none = self._selected("fuse", asked)
        self._say(line, asked, selection, none or advice)
        self._put(link)

    def _along(self, line: AuditLine, link: Trace) -> tuple[str, ...]:
        """Solder a wire along a trace: the thinnest of IEC 60228 with which both carry the current."""
        air, supply = self.board.surroundings.ambient_degc, self.board.supply
        conditions = Conditions(
            ambient_degc=air, coldest_degc=air, supply_v=supply.voltage_v, supply_high_v=supply.high_v, duty=1.0,
            pwm_hz=0.0, inductive=False, clamped=False,
        )  # fmt: skip
        beside = copper.wire_beside(link, conditions, line.current_a)
        width = line.needs.get("least_width_m")
        wider = f"; a new board needs {show(float(width), 'm')} of width there" if width else ""
        if beside is None:
            return (f"No wire along it will do{wider}: lead the current through a wire of its own.",)
        self._replace(link, replace(link, parallel_wire_m2=beside))
        if link.layer == "inner":  # nobody can solder along it
            return (
                f"It lies inside the board: lead a wire of {1e6 * beside:g} mm² from its one end to its other{wider}.",
            )
        return (f"Solder a wire of {1e6 * beside:g} mm² along it, end to end{wider}.",)

    def _freewheel(self, line: OutputLine) -> None:
        bad = [check.rule for check in line.checks if check.ok is not True]
        if bad and line.output.load.kind == "inductive":
            self._diode(line, f"not so: {'; '.join(bad)}")

    def _diode(self, line: OutputLine, why: str) -> None:
        output = line.output
        asked = diode_asked(self.board, line.current_a, output.load)
        selection, advice = self._selected("diode", asked)
        done = Replacement(
            label=f"{output.name}: freewheel diode",
            kind="diode",
            where=f"{output.name}, freewheel",
            why=why,
            asked=asked,
            selection=selection,
            advice=advice,
        )
        self.done.append(done)
        if done.chosen is not None:
            self._output(replace(output, freewheel=Freewheel(**self._figures("diode", done.chosen, {}))))

    def _own_fuse(self, protection: Protection, now: Audit) -> None:
        """Give an output a fuse of its own where those it has do not protect its links; a lesser one if it has one."""
        output = next(one for one in self.board.outputs if one.name == protection.output)
        own = next((link for link in output.links if isinstance(link, Fuse)), None)
        behind = {link.where for link in output.links} if own is None else _behind(self.board, own)
        bare = [link.name for link in output.links if link.where in behind and link.name in protection.bare]
        if not bare or (own is not None and own.where in self.tried):
            return
        place = f"{output.name}, its own fuse" if own is None else own.where
        weak = _weakest(now.lines, behind)
        current = next(line.current_a for line in now.outputs if line.output.name == output.name)
        asked: Mapping[str, Any] = {}
        selection: Selection | None = None
        advice: tuple[str, ...] = ("What its links stand is not known: give their figures, then a fuse can be chosen.",)
        if weak is not None:
            weakest, amperes = weak
            asked = fuse_asked(
                self.board,
                current,
                kind=None if own is None else own.type,
                weakest_a=amperes,
                fault_a=protection.fault_a,
            )
            selection, advice = self._selected("fuse", asked)
            if selection is not None and not selection.ranked:
                carried, least = show(current, "A"), show(amperes, "A")
                advice = (
                    f"No fuse of the catalogue that is fit otherwise carries {carried} and opens for {weakest} at "
                    f"{least}: take in more lists of fuses, or make that link stronger.",
                )
        done = Replacement(
            label=f"{output.name}: {'a fuse of its own' if own is None else own.name}",
            kind="fuse",
            where=place,
            why=f"no fuse protects {', '.join(bare)}",
            asked=asked,
            selection=selection,
            advice=advice,
        )
        self.done.append(done)
        if own is not None:
            self._put(own)
        elif done.chosen is not None:
            named = {"name": f"{output.name} fuse", "where": place}
            self._output(replace(output, links=(Fuse(**self._figures("fuse", done.chosen, named)), *output.links)))

    # -- what becomes of the board ---------------------------------------------------------------------
    def _put(self, link: Link) -> None:
        """Put the part chosen last in a link's place; where it stands and what it is for stay."""
        chosen = self.done[-1].chosen
        if chosen is not None:
            kept = {name: getattr(link, name) for name in STAYS[link.kind]}
            self._replace(link, type(link)(**self._figures(link.kind, chosen, kept)))

    def _figures(self, kind: str, chosen: Mapping[str, Any], kept: Mapping[str, Any]) -> dict[str, Any]:
        found = self.shelf.chosen_figures(chosen, kind, kept)
        return {**kept, **found, "part": chosen["part_number"], "maker": chosen["maker"]}

    def _replace(self, old: Link, new: Link) -> None:
        def links(group: Section | Output) -> tuple[Link, ...]:
            return tuple(new if link.where == old.where else link for link in group.links)

        self.board = replace(
            self.board,
            sections=tuple(replace(section, links=links(section)) for section in self.board.sections),
            outputs=tuple(replace(output, links=links(output)) for output in self.board.outputs),
        )

    def _output(self, mended: Output) -> None:
        outputs = tuple(mended if output.name == mended.name else output for output in self.board.outputs)
        self.board = replace(self.board, outputs=outputs)

    # -- what is said of it ----------------------------------------------------------------------------
    def _say(
        self, line: AuditLine, asked: Mapping[str, Any], selection: Selection | None, advice: tuple[str, ...]
    ) -> None:
        may = "what it may carry is not known" if line.usable_a is None else f"it may carry {show(line.usable_a, 'A')}"
        failed = "; ".join(check.rule for check in line.checks if check.ok is not True)
        self.done.append(
            Replacement(
                label=line.label,
                kind=line.link.kind,
                where=line.where,
                why=f"it must carry {show(line.current_a, 'A')}; {may}{f'; not so: {failed}' if failed else ''}",
                asked=asked,
                selection=selection,
                advice=advice,
            )
        )


def _why_none(selection: Selection) -> tuple[str, ...]:
    """Say why no part fits, and what would help."""
    said = "No part of the catalogue fits."
    for miss in selection.near_misses[:1]:
        helps = [name for name in miss if name.endswith("_needed_k_per_w")]
        sink = f"; with a heat sink of {show(miss[helps[0]], 'K/W')} or better it does" if helps else ""
        figures = [show(miss[name], miss["unit"]) for name in ("has", "needs") if miss[name] is not None]
        numbers = f": {' for '.join(figures)}" if len(figures) > 1 else ""
        said += f" Nearest is {_named(miss)}, one step short in {miss['criterion']}{numbers}{sink}."
    counts = selection.counts
    if counts is not None and not selection.near_misses:
        stopped = {**counts.stopped, **{f"{name} (not known)": count for name, count in counts.unknown.items()}}
        most = sorted((name for name in stopped if stopped[name]), key=lambda name: -stopped[name])
        said += f" What stops most of them: {', '.join(most[:2])}." if most else ""
    return (f"{said} Take in another list, or lessen the load.",)


def _named(row: Mapping[str, Any]) -> str:
    return " ".join(str(row[name]) for name in ("maker", "part_number") if row.get(name))


def _behind(board: Board, fuse: Fuse) -> set[str]:
    """Say where the links are that the current passes after a fuse."""
    behind: set[str] = set()
    for output in board.outputs:
        path = [link.where for link in board.path(output)]
        if fuse.where in path:
            behind |= set(path[path.index(fuse.where) + 1 :])
    return behind


def _fault(now: Audit, board: Board, where: str) -> float | None:
    """Return the greatest current that a short circuit drives through a link, as far as it is known."""
    through = {output.name for output in board.outputs if any(link.where == where for link in board.path(output))}
    known = [one.fault_a for one in now.protection if one.output in through and one.fault_a is not None]
    return max(known, default=None)


def _weakest(lines: Iterable[AuditLine], places: set[str]) -> tuple[str, float] | None:
    """Name the weakest of some links, by what it stands without margins; fuses protect and are not counted."""
    known = [
        (line.ultimate_a, line.label)
        for line in lines
        if line.where in places and line.ultimate_a is not None and line.link.kind != "fuse"
    ]
    if not known:
        return None
    amperes, label = min(known)
    return label, amperes
