"""Left to right through a cell's tokens: which numbers are values, which are conditions, what belongs to what."""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from loadworthy.catalog.families import Figure
from loadworthy.catalog.scanning import Token
from loadworthy.quantities.units import dimension_of, scale

__all__ = ["CellRefusal", "Grammar", "Value", "applied"]

_BREAKS = frozenset(";,/|")
#: A thermal resistance or a current given for a shorter time than this is no steady figure.
_STEADY_S = 100.0
_BOARD_WORDS = frozenset({"pad", "footprint", "copper", "board", "pads", "land"})


class CellRefusal(Exception):  # noqa: N818 - it carries a Refused to the top of the reader
    """Why a cell is refused; the cell reader turns it into a value of its own."""


@dataclass(slots=True)
class Value:
    """One value on its way: its unit may still be missing."""

    number: float
    sign: str
    unit: str
    known: bool
    statistic: str | None = None
    gate_v: float | None = None
    degc: float | None = None
    place: str | None = None
    amps: float | None = None
    board: str | None = None
    flow: float | None = None
    #: The lower end of the range that this value is the upper end of.
    ends: Value | None = None

    def put(self, place: str) -> None:
        """Say where it holds; a range holds there with both its ends."""
        self.place = place
        if self.ends is not None and self.ends.place is None:
            self.ends.place = place


@dataclass(slots=True)
class Grammar:
    """The state while a cell's tokens are read from left to right."""

    figure: Figure
    tokens: list[Token]
    at: int = 0
    values: list[Value] = field(default_factory=list)
    run: list[Value] = field(default_factory=list)
    gates: list[float] = field(default_factory=list)
    temperatures: list[float] = field(default_factory=list)
    currents: list[float] = field(default_factory=list)
    leads: bool = False
    segment_has_value: bool = False
    statistic: str | None = None
    place: str | None = None
    symbol: str | None = None
    at_mode: bool = False
    in_range: bool = False
    depth: int = 0
    remark: list[str] = field(default_factory=list)

    def read(self) -> list[Value]:
        """Read all tokens; raise CellRefusal where one is not understood."""
        bad = next((token for token in self.tokens if token.kind == "bad"), None)
        if bad:
            raise CellRefusal(bad.meaning)
        first = next((token for token in self.tokens if token.kind == "number"), None)
        self.leads = first is not None and not self._is_value(first) and self._own_ahead()
        while self.at < len(self.tokens):
            token = self.tokens[self.at]
            getattr(self, f"_{token.kind}")(token)
            self.at += 1
        self._flush()
        if not self.values:
            raise CellRefusal("there is no number in it")
        return self.values

    def _is_value(self, token: Token) -> bool:
        return token.dimension in (None, self.figure.unit)

    def _own_ahead(self, *, in_segment: bool = False) -> bool:
        """Is there a value still to come (in this segment)?"""
        for token in self.tokens[self.at + 1 :]:
            if in_segment and token.kind == "mark" and token.text in _BREAKS:
                return False
            if token.kind == "number":
                if self._is_value(token):
                    return True
                if in_segment and not self.leads:
                    return False
        return False

    # -- tokens ------------------------------------------------------------------------------------
    def _number(self, token: Token) -> None:
        symbol, self.symbol = self.symbol, None
        if symbol and symbol != self.figure.own_condition:
            self._condition(token, symbol)
        elif token.dimension is None and self._is_footnote(token):
            return
        elif token.dimension is None and self.at_mode and self.figure.unit in ("ohm", "C"):
            self._condition(token, "gate")
        elif not self._is_value(token) or (self.at_mode and self.figure.unit == "V"):
            self._condition(token, self._meaning(token.dimension))
        else:
            self._value(token)

    def _meaning(self, dimension: str | None) -> str:
        """What a condition of that dimension is, where no symbol names it."""
        if dimension == "V":  # beside a current or a capacitance it is the drain's voltage
            return "gate" if self.figure.unit in ("ohm", "C") else "drain"
        return {"A": "amps", "degC": "degc", "m/s": "flow"}.get(dimension or "", "remark")

    def _is_footnote(self, token: Token) -> bool:
        """A small bare number in brackets behind a complete value points to a note."""
        if not self.depth or not self.values:
            return False
        if self.values[-1].known and token.text.isdigit() and len(token.text) == 1:
            return True
        if self._opens_range():
            return False
        raise CellRefusal(f"{token.text!r} in brackets has no unit: it may be another value or a note")

    def _opens_range(self) -> bool:
        """Is this the lower end of a range whose upper end has the unit: "(4.4-5.3 lbf·in)"?"""
        after = self.tokens[self.at + 1 : self.at + 3]
        return (
            len(after) == 2
            and (after[0].kind, after[0].meaning) == ("mark", "range")
            and (after[1].kind, after[1].dimension) == ("number", self.figure.unit)
        )

    def _value(self, token: Token) -> None:
        if not self.leads and (self.gates or self.temperatures or self.currents):
            self._flush()
        previous = self.tokens[self.at - 1] if self.at else None
        if previous and previous.kind == "number" and self.values and self._is_value(previous):
            between = "±" if token.sign == "±" else "nothing"
            raise CellRefusal(f"{previous.text!r} and {token.text!r} stand with {between} between them")
        value = Value(token.value, token.sign, token.meaning, token.dimension is not None)
        if self.in_range and self.values and token.dimension in (None, self.figure.unit):
            before = self.values[-1]
            before.statistic = before.statistic or "min"
            value.statistic = "max"
            value.place, value.ends = before.place, before
            self.in_range = False
        value.statistic, self.statistic = self.statistic or value.statistic, None
        value.place, self.place = self.place or value.place, None
        self.values.append(value)
        self.run.append(value)
        self.segment_has_value = True

    def _condition(self, token: Token, meaning: str) -> None:
        if self.leads and self.run and not self.depth:
            self._flush()
        if meaning == "gate":
            self._gate(token.value)
        elif meaning == "degc":
            if self.depth and self.run and not self.leads:
                self.run[-1].degc = token.value
            else:
                self.temperatures.append(token.value)
        elif meaning == "amps":
            self.currents.append(token.value)
        elif meaning == "flow":
            if self.run:
                self.run[-1].flow = token.value
        elif meaning == "remark":
            self.remark.append(token.text)
            if (
                token.dimension == "s"
                and token.value < _STEADY_S
                and self.run
                and self.figure.unit in ("K/W", "A", "W")
            ):
                self.run[-1].place = "pulse"

    def _gate(self, volts: float) -> None:
        if self.in_range and self.gates:
            self.gates[-1] = max(self.gates[-1], volts)  # 4.5–10 V: sure to hold only at the upper end
            self.in_range = False
        elif self.depth and self.run and not self.leads and self.run[-1].gate_v is None and not self._one_figure():
            self.run[-1].gate_v = volts
        else:
            self.gates.append(volts)

    def _one_figure(self) -> bool:
        """Are the values of this run one figure's min, typ and max, so that a condition holds for all of them?"""
        statistics = [value.statistic for value in self.run]
        return len(statistics) > 1 and None not in statistics and len(set(statistics)) == len(statistics)

    def _statistic(self, token: Token) -> None:
        after = self.tokens[self.at + 1] if self.at + 1 < len(self.tokens) else None
        if self.figure.unit == "K/W" and after and after.kind == "word" and after.text.lower() in _BOARD_WORDS:
            self.remark.append(token.text)
            return
        last = self.values[-1] if self.values else None
        if last and self.segment_has_value and last.statistic is None:
            last.statistic = token.meaning
        elif self._own_ahead(in_segment=True):
            self.statistic = token.meaning
        elif last and last.statistic is None:
            last.statistic = token.meaning
        elif last is None or last.statistic != token.meaning:
            raise CellRefusal(f"{token.text!r} belongs to no value")

    def _place(self, token: Token) -> None:
        if self.figure.unit == "K/W" and not self.figure.places:
            self.remark.append(token.text)
            return
        last = self.values[-1] if self.values else None
        if last and self.segment_has_value and last.place is None:
            last.put(token.meaning)
        elif self._own_ahead(in_segment=True):
            self.place = token.meaning
        elif last and last.place is None:
            last.put(token.meaning)

    def _at(self, token: Token) -> None:
        del token
        self.at_mode = True

    def _symbol(self, token: Token) -> None:
        self.symbol = token.meaning

    def _unit(self, token: Token) -> None:
        if token.dimension != self.figure.unit:
            raise CellRefusal(f"{token.text!r} stands without a number")
        waiting = [value for value in self.values if not value.known]
        if not waiting:
            raise CellRefusal(f"{token.text!r} stands without a number")
        for value in waiting:
            value.unit, value.known = token.text, True
            value.number = applied(value.number, token.text, self.figure.unit)

    def _mark(self, token: Token) -> None:
        if token.meaning == "range":
            self.in_range = True
        elif token.meaning in ("min", "max"):
            if self._bounds_value():
                self.statistic = token.meaning
        elif token.text in "([{":
            self.depth += 1
        elif token.text in ")]}":
            self.depth = max(self.depth - 1, 0)
            self.at_mode = False
        elif token.text in _BREAKS:
            self.segment_has_value = False
            self.in_range = False
            self._remark()
            self.at_mode = self.at_mode and token.text == "/"
        elif token.text == "@":
            self.at_mode = True
        elif token.text not in ":=*+.'\"":
            raise CellRefusal(f"{token.text!r} is not understood")

    def _bounds_value(self) -> bool:
        """Does the number after a ≤ belong to the figure, and not to a condition (t ≤ 10 s)?"""
        after = self.tokens[self.at + 1] if self.at + 1 < len(self.tokens) else None
        return after is not None and after.kind == "number" and self._is_value(after)

    def _word(self, token: Token) -> None:
        if self.figure.unit == "K/W" and not self._is_foreign_unit(token):
            self.remark.append(token.text)
            return
        before = self.tokens[self.at - 1] if self.at else None
        if before and before.kind == "number" and before.dimension is None:
            dimension = dimension_of(token.text)
            kind = f"a unit of another kind ({_sign(dimension)})" if dimension else "no unit known here"
            raise CellRefusal(f"{token.text!r} is {kind}; {self.figure.title} is given in {_sign(self.figure.unit)}")
        if not self.depth:
            raise CellRefusal(f"{token.text!r} is not understood")

    def _is_foreign_unit(self, token: Token) -> bool:
        before = self.tokens[self.at - 1] if self.at else None
        bare = before is not None and before.kind == "number" and before.dimension is None
        return bare and dimension_of(token.text) is not None

    # -- putting together --------------------------------------------------------------------------
    def _flush(self) -> None:
        """Give the conditions gathered to the values they belong to."""
        for name, given in (("gate_v", self.gates), ("degc", self.temperatures), ("amps", self.currents)):
            if given and self.run:
                self._share(name, given)
        self._remark()
        self.run, self.gates, self.temperatures, self.currents = [], [], [], []

    def _remark(self) -> None:
        """What is said of the board belongs to the value before it."""
        if self.remark and self.run:
            said = re.sub(r"^(?:on|auf|at) ", "", " ".join(self.remark))
            self.run[-1].board = f"{self.run[-1].board}, {said}" if self.run[-1].board else said
            self.remark = []

    def _share(self, name: str, given: list[float]) -> None:
        waiting = [value for value in self.run if getattr(value, name) is None]
        if len(given) == 1:
            for value in waiting[-1:] if name == "degc" else waiting:
                setattr(value, name, given[0])
        elif len(given) == len(waiting):
            for value, one in zip(waiting, given, strict=True):
                setattr(value, name, one)
        elif name == "gate_v":
            raise CellRefusal(f"{len(waiting)} values and {len(given)} gate voltages do not pair")


def _sign(dimension: str | None) -> str:
    return {"ohm": "Ω", "degC": "°C", "m2": "m²", None: "?"}.get(dimension, str(dimension))


def applied(number: float, unit: str, dimension: str) -> float:
    """Return a number in a written unit as SI; refuse a unit of another kind."""
    known = scale(unit, dimension)
    if known is None:
        raise CellRefusal(f"{unit!r} is no unit of {_sign(dimension)}")
    return known.apply(number)
