"""What a connector is needed for: a current through each pole, the air round it, a board, a wire."""

# ruff: noqa: RUF009 - option() makes a dataclass field, as field() does

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any, ClassVar, Final

from loadworthy.criteria import Margin
from loadworthy.errors import QuantityError, UsageError
from loadworthy.needs import cautions, margins
from loadworthy.needs.base import maybe, measured, option, twelve
from loadworthy.needs.loads import LoadNeed
from loadworthy.quantities import Measure
from loadworthy.statements import Parameter

__all__ = ["ConnectorNeed"]

_PROFILE: Final = "workshop"
#: Air in which a rating without a temperature is taken to hold.
_RATED_DEGC: Final = 20.0
#: The limit of a connector whose list gives none (common practice).
_ASSUMED_LIMIT_DEGC: Final = 105.0
#: How much warmer than the air a contact may be at its rated current: plug connectors (IEC 60512-5-1), terminals
#: (IEC 60998-1).
_PLUG_RISE_K: Final = 30.0
_TERMINAL_RISE_K: Final = 45.0
#: Lists round 3.81 mm to 3.8 mm; the hair more is for the arithmetic.
_PITCH_WITHIN_M: Final = 1.0000001e-5
_SAME_WITHIN: Final = 1e-6
_MOST_POLES: Final = 100
_WIRE_KINDS: Final = ("solid", "stranded", "ferruled")
_MOUNTS: Final = ("board", "wire", "panel", "rail")
_GENDERS: Final = ("plug", "header", "socket")
_BASES: Final = ("UL", "IEC")
_ALWAYS_ASKED: Final = ("voltage", "current", "temperature")


@dataclass(frozen=True, kw_only=True)
class ConnectorNeed(LoadNeed):
    """A connector or terminal that carries a load's current through each of its poles.

    Quantities are texts with their unit, or pint quantities. Exactly one of current, resistance and power
    says what the load draws; the other wishes may be left out, and are then not judged.

    Examples
    --------
    >>> need = ConnectorNeed(supply="12V", power="90W", poles=2, pitch="5.08mm", wire="14AWG")
    >>> need.as_json()["current_a"], need.as_json()["poles_loaded"], need.asked()
    (7.5, 2, ('poles', 'pitch', 'voltage', 'current', 'wire', 'temperature'))
    """

    family: ClassVar[str] = "connector"
    ranked_by: ClassVar[str] = "the heat their contacts make, then how much of their usable current is used"
    examples: ClassVar[tuple[str, ...]] = (
        "--supply 12V --current 8A --ambient 40degC --poles 2 --pitch 5.08mm --wire 2.5mm2",
        "--supply 12V --resistance 1R6 --pitch 5mm --wire 14AWG --wire-kind ferruled --mount board",
        "--supply 24V --power 60W --poles 12 --poles-loaded 4 --pluggable --basis UL --format json",
    )

    ambient: Measure = option("Air round the connector, in its box.", default="40degC", unit="degC", example="50degC")
    poles: str | int | None = option("Number of poles.", default=None, unit="1", example="2")
    poles_loaded: str | int | None = option(
        "Poles that carry the current at once; all of them, where it is left out.", default=None, unit="1", example="2"
    )
    contacts: str | int = option(
        "Contacts that the current passes one after the other, for the loss: out and back are two.",
        default="2",
        unit="1",
        example="2",
    )
    pitch: Measure | None = option("Distance from pole to pole.", default=None, unit="m", example="5.08mm")
    wire: Measure | None = option("Cross-section of the wire.", default=None, unit="m2", example="2.5mm2")
    wire_kind: str | None = option(
        "Kind of wire; where it is left out, a range that holds for all kinds counts.",
        default=None,
        choices=_WIRE_KINDS,
    )
    mount: str | None = option("What it is mounted on.", default=None, choices=_MOUNTS)
    gender: str | None = option("Which half of a pair.", default=None, choices=_GENDERS)
    pluggable: bool = option("It can be unplugged.", default=False)
    fixed: bool = option("It cannot be unplugged.", default=False)
    series: str | None = option("Series, to match what is on the board.", default=None, example="NAME")
    basis: str | None = option(
        "Whose ratings count; where it is left out, the lesser of UL and IEC.", default=None, choices=_BASES
    )
    temperature_limit: Measure | None = option(
        "Contacts stay below this, whatever the connector's own limit.", default=None, unit="degC", example="85degC"
    )
    current_margin: Measure | None = option(
        "Usable current is at least this × the load's current; 0.8 of the base current is in it already.",
        default=None,
        unit="1",
        example="1.25",
    )

    def __post_init__(self) -> None:
        """Read everything at once, so that a mistake shows where it is made."""
        super().__post_init__()
        if self.pluggable and self.fixed:
            raise UsageError(
                "a connector is either pluggable or fixed.",
                where="--pluggable, --fixed",
                way_out="Give one of them, or neither where both would do.",
            )
        if self.series is not None and not self.series.strip():
            raise UsageError("the series has no name.", where="--series", way_out="Name it, or leave it out.")
        if self.wire_kind is not None and self.wire is None:
            raise UsageError(
                "a kind of wire without its cross-section says nothing.",
                where="--wire-kind",
                way_out="Give --wire as well, or leave it out.",
            )

    @cached_property
    def _read(self) -> dict[str, float | None]:
        """Every quantity in SI units, None where it was not given."""
        ambient = measured("ambient", self.ambient, "degC", least=-55.0, most=150.0)
        return {
            **self._load_json(),
            "ambient_degc": ambient,
            "pitch_m": maybe("pitch", self.pitch, "m", least=2e-4, most=0.2),
            "wire_m2": maybe("wire", self.wire, "m2", least=5e-9, most=4e-4),
            "temperature_limit_degc": maybe(
                "temperature_limit", self.temperature_limit, "degC", above=ambient, most=200.0
            ),
        }

    @cached_property
    def _counts(self) -> dict[str, int | None]:
        """The poles asked for, those loaded, the contacts passed."""
        contacts = _count("contacts", self.contacts, most=_MOST_POLES)
        poles = None if self.poles is None else _count("poles", self.poles, most=_MOST_POLES)
        loaded = None
        if self.poles_loaded is not None:
            loaded = _count("poles_loaded", self.poles_loaded, most=poles or _MOST_POLES)
        return {"poles": poles, "poles_loaded": loaded or poles or contacts, "contacts": contacts}

    @cached_property
    def _margins(self) -> dict[str, Margin]:
        return margins.taken(self, _PROFILE)

    @property
    def construction(self) -> str | None:
        """What was asked of it: ``pluggable``, ``fixed``, or None where both would do."""
        return "pluggable" if self.pluggable else "fixed" if self.fixed else None

    @cached_property
    def _parameters(self) -> dict[str, Parameter]:
        from loadworthy.physics.contacts import USABLE_SHARE  # noqa: PLC0415 - brings numpy in, which help needs not

        counted = {name: None if number is None else float(number) for name, number in self._counts.items()}
        read = dict(self._read)
        return {
            "pitch_asked_m": read.pop("pitch_m"),
            **read,
            **self.shared_parameters,
            "poles_asked": counted["poles"],
            "poles_loaded": counted["poles_loaded"],
            "contacts": counted["contacts"],
            "pitch_within_m": _PITCH_WITHIN_M,
            "same_within": _SAME_WITHIN,
            "wire_kind": self.wire_kind,
            "mount": self.mount,
            "gender": self.gender,
            "construction": self.construction,
            "series": None if self.series is None else self.series.strip(),
            "basis": self.basis,
            "current_least_a": twelve(self._margins["current_margin"].value * self._figure("current_a")),
            "usable_share": USABLE_SHARE,
            "rated_degc": _RATED_DEGC,
            "limit_assumed_degc": _ASSUMED_LIMIT_DEGC,
            "plug_rise_k": _PLUG_RISE_K,
            "terminal_rise_k": _TERMINAL_RISE_K,
        }

    def as_json(self) -> dict[str, Any]:
        """Return the need as plain values, with the SI units in the names."""
        read, counted = self._read, self._counts
        return {
            **self._load_json(),
            "ambient_degc": read["ambient_degc"],
            **counted,
            "pitch_m": read["pitch_m"],
            "wire_m2": read["wire_m2"],
            "wire_kind": self.wire_kind,
            "mount": self.mount,
            "gender": self.gender,
            "construction": self.construction,
            "series": self._parameters["series"],
            "basis": self.basis,
            "temperature_limit_degc": read["temperature_limit_degc"],
            **self.shared_json(),
            **margins.given(self, _PROFILE),
        }

    def asked(self) -> tuple[str, ...]:
        """Return the criteria that this need judges by, in order."""
        wishes = {
            "offer": self.asks_for_offer or None,
            "series": self.series,
            "mount": self.mount,
            "gender": self.gender,
            "construction": self.construction,
            "poles": self.poles,
            "pitch": self.pitch,
            "wire": self.wire,
        }
        names = {*_ALWAYS_ASKED, *(name for name, wish in wishes.items() if wish is not None)}
        return self._in_order(names)

    def limit_sources(self) -> Mapping[str, str]:
        """Return where the limit of a criterion comes from, by its name."""
        sources = {"current": self._margins["current_margin"].source}
        if self.basis is not None:
            sources["voltage"] = f"the need; only a rating by {self.basis} counts, as asked by --basis"
        return sources

    def assumptions(self) -> tuple[str, ...]:
        """Return what was assumed of the need itself."""
        if self.wire is None or self.wire_kind is not None:
            return ()
        return ("kind of wire not said: the range that holds for every kind counts",)

    def symbols(self) -> frozenset[str]:
        """Return the letter symbols of the figures that this need looks at."""
        return frozenset({"Rc"})

    def cautions(self) -> tuple[str, ...]:
        """Return what to mind, for the people who will use the part."""
        said = [cautions.LOW_VOLTAGE_ONLY]
        said += [cautions.ABOVE_60_V] if self._figure("supply_v") > 60.0 else []
        said += [cautions.PAPER_FIGURES, cautions.LOOK_ALIKES]
        said += [] if self.fixed else [cautions.NOT_UNDER_LOAD]
        said.append(cautions.TIGHTEN_AGAIN)
        return tuple(said)


def _count(name: str, given: str | int, *, most: int) -> int:
    """Read a whole number of things."""
    number = measured(name, str(given), "1", least=1.0, most=float(most))
    if number != int(number):
        raise QuantityError(
            f"{given!r} is no whole number.", where="--" + name.replace("_", "-"), way_out="Count them: 1, 2, 3 …"
        )
    return int(number)
