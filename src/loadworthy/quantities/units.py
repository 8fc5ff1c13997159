"""Unit spellings of the trade → a factor to SI. The one place where a unit is understood.

Suppliers' cells and typed options meet a small table, because it must be fast and must not start a units
registry; what is not on it goes to pint (:func:`loadworthy.quantities.si`), and a test holds every
spelling of the table equal to pint's.
"""

from __future__ import annotations

import math
import re
from decimal import Decimal
from functools import cache
from typing import Final, NamedTuple

__all__ = ["DIMENSIONS", "GAUGES", "SPELLINGS", "Gauge", "Scale", "dimension_of", "gauges_as_areas", "scale"]


#: Factors that only move the decimal point.
_POWERS: Final = {float(f"1e{power}"): power for power in range(-15, 13) if power}


class Scale(NamedTuple):
    """How a written value becomes SI: ``value * factor + offset``."""

    factor: float
    offset: float = 0.0

    def apply(self, value: float) -> float:
        """Return the SI value, rounded as the decimal text would be.

        A power of ten moves the decimal point instead of multiplying: 8.2 mΩ is 0.0082, which neither
        8.2 × 0.001 nor 8.2 / 1000 gives.
        """
        power = _POWERS.get(self.factor)
        if power is not None:
            return float(Decimal(repr(value)).scaleb(power)) + self.offset
        return value * self.factor + self.offset


class Gauge(Scale):
    """How a wire gauge becomes a cross-section: no factor, but a power of 92 (ASTM B258)."""

    def apply(self, value: float) -> float:
        """Return the cross-section in m² of a gauge number; 1/0 is 0, 2/0 is −1, and so on."""
        diameter_m: float = 0.127e-3 * 92.0 ** ((36.0 - value) / 39.0)
        return math.pi / 4.0 * diameter_m**2


class _Dimension(NamedTuple):
    spellings: dict[str, float]
    prefixed: bool


_PREFIXES: Final = {
    "p": 1e-12, "n": 1e-9, "u": 1e-6, "µ": 1e-6, "m": 1e-3, "k": 1e3, "K": 1e3, "M": 1e6, "G": 1e9,
    "pico": 1e-12, "nano": 1e-9, "micro": 1e-6, "milli": 1e-3, "Milli": 1e-3, "kilo": 1e3, "mega": 1e6,
}  # fmt: skip

_OHMS = ("Ω", "ohm", "ohms", "Ohm", "Ohms", "OHM", "OHMS", "R")
_VOLTS = ("V", "Volt", "volt", "Volts", "volts", "VDC", "Vdc", "V DC", "V dc", "VOLT", "VOLTS")
_AMPS = (
    "A",
    "Amp",
    "amp",
    "Amps",
    "amps",
    "ampere",
    "Ampere",
    "amperes",
    "ADC",
    "Adc",
    "A DC",
    "AMP",
    "AMPS",
)
_WATTS = ("W", "Watt", "watt", "Watts", "watts", "WATT", "WATTS")
_KELVINS = ("K", "kelvin", "Kelvin")
_CELSIUS = (
    "°C", "° C", "degC", "deg C", "deg. C", "C", "celsius", "Celsius", "degree C", "degrees C", "Grad C", "°",
)  # fmt: skip
_PER_WATT = (
    "K/W",
    "K / W",
    "°C/W",
    "°C / W",
    "C/W",
    "degC/W",
    "deg C/W",
    "K/Watt",
    "°C/Watt",
    "°K/W",
    "K W-1",
)

#: Dimension → the spellings of its units with their SI factor. A dimension is named by its SI unit.
DIMENSIONS: Final[dict[str, _Dimension]] = {
    "ohm": _Dimension(dict.fromkeys(_OHMS, 1.0), prefixed=True),
    "V": _Dimension(dict.fromkeys(_VOLTS, 1.0), prefixed=True),
    "A": _Dimension(dict.fromkeys(_AMPS, 1.0), prefixed=True),
    "W": _Dimension(dict.fromkeys(_WATTS, 1.0), prefixed=True),
    "C": _Dimension(
        {"C": 1.0, "coulomb": 1.0, "Coulomb": 1.0, "As": 1.0, "A·s": 1.0, "A*s": 1.0, "Ah": 3600.0}, prefixed=True
    ),
    "F": _Dimension({"F": 1.0, "farad": 1.0, "Farad": 1.0}, prefixed=True),
    "s": _Dimension({"s": 1.0, "sec": 1.0, "Sek": 1.0, "second": 1.0, "seconds": 1.0}, prefixed=True),
    "Hz": _Dimension({"Hz": 1.0, "hertz": 1.0, "Hertz": 1.0}, prefixed=True),
    "J": _Dimension({"J": 1.0, "joule": 1.0, "Joule": 1.0}, prefixed=True),
    "m": _Dimension(
        {
            "m": 1.0, "mm": 1e-3, "cm": 1e-2, "µm": 1e-6, "um": 1e-6, "in": 0.0254, "inch": 0.0254,
            "inches": 0.0254, '"': 0.0254, "mil": 2.54e-5, "mils": 2.54e-5,
        },
        prefixed=False,
    ),
    "m2": _Dimension(
        {
            "mm2": 1e-6, "sq mm": 1e-6, "qmm": 1e-6, "cm2": 1e-4, "m2": 1.0, "in2": 0.0254**2, "sq in": 0.0254**2,
        },
        prefixed=False,
    ),
    "degC": _Dimension(dict.fromkeys(_CELSIUS, 1.0), prefixed=False),
    "K": _Dimension(dict.fromkeys((*_KELVINS, *_CELSIUS), 1.0), prefixed=False),
    "K/W": _Dimension({**dict.fromkeys(_PER_WATT, 1.0), "K/mW": 1e3, "mK/W": 1e-3, "K/kW": 1e-3}, prefixed=False),
    "H": _Dimension({"H": 1.0, "henry": 1.0, "Henry": 1.0}, prefixed=True),
    "kg": _Dimension({"kg": 1.0, "g": 1e-3, "gram": 1e-3, "grams": 1e-3, "oz": 0.028349523125}, prefixed=False),
    "N·m": _Dimension(
        {
            "N·m": 1.0, "Nm": 1.0, "N m": 1.0, "N*m": 1.0, "N.m": 1.0, "Ncm": 0.01, "N·cm": 0.01,
            "lbf·in": 0.1129848290276167, "lbf-in": 0.1129848290276167, "lb-in": 0.1129848290276167,
            "lb·in": 0.1129848290276167, "in-lb": 0.1129848290276167, "lbin": 0.1129848290276167,
        },
        prefixed=False,
    ),
    "ohm/m": _Dimension(
        {
            "Ω/m": 1.0, "ohm/m": 1.0, "Ohm/m": 1.0, "mΩ/m": 1e-3, "mohm/m": 1e-3, "Ω/km": 1e-3, "ohm/km": 1e-3,
            "Ohm/km": 1e-3, "ohms/km": 1e-3, "Ω / km": 1e-3, "Ω/kft": 1e-3 / 0.3048, "ohm/kft": 1e-3 / 0.3048,
        },
        prefixed=False,
    ),
    "m/s": _Dimension({"m/s": 1.0, "ft/min": 0.00508, "fpm": 0.00508, "LFM": 0.00508, "lfm": 0.00508}, prefixed=False),
    "1": _Dimension({"": 1.0, "%": 0.01, "percent": 0.01, "Prozent": 0.01}, prefixed=False),
}  # fmt: skip

#: Prefixes that stand for the whole unit where nothing else can be meant: an on-resistance of "12m".
_BARE_PREFIXES: Final = {"ohm": ("m", "µ", "u"), "F": ("p", "n", "u", "µ"), "C": ("p", "n"), "s": ("n", "u", "µ")}

#: Wire gauges: the greater the number, the thinner the wire.
GAUGES: Final = ("AWG", "awg", "ga", "gauge")

#: Dimension → its spellings, for those who check them against another library.
SPELLINGS: Final = {name: tuple(dimension.spellings) for name, dimension in DIMENSIONS.items()}


@cache
def _last_letters(dimension: str) -> frozenset[str]:
    return frozenset(spelling[-1:] for spelling in DIMENSIONS[dimension].spellings)


@cache
def scale(unit: str, dimension: str) -> Scale | None:
    """Say how a value in ``unit`` becomes the SI value of ``dimension``.

    Parameters
    ----------
    unit
        A unit as written, tidied (see :func:`loadworthy.quantities.text.tidy`). Case counts.
    dimension
        The dimension, named by its SI unit: one of :data:`DIMENSIONS`.

    Returns
    -------
    Scale or None
        None where the unit does not belong to the dimension.

    Examples
    --------
    >>> scale("mΩ", "ohm").apply(12.0), scale("kV", "V").apply(0.03)
    (0.012, 30.0)
    >>> scale("nC", "F") is None, scale("K", "degC").apply(298.15)
    (True, 25.0)
    """
    family = DIMENSIONS[dimension]
    if dimension == "m2" and unit in GAUGES:
        return Gauge(1.0)
    if dimension == "degC":
        if unit in _KELVINS:
            return Scale(1.0, -273.15)
        if unit in ("°F", "degF"):
            return Scale(5 / 9, -160 / 9)
    found = family.spellings.get(unit)
    if found is not None:
        return Scale(found)
    if not family.prefixed:
        return None
    if unit in _BARE_PREFIXES.get(dimension, ()):
        return Scale(_PREFIXES[unit])
    if unit[-1:] not in _last_letters(dimension):  # most words in a list are no units
        return None
    for prefix, factor in _PREFIXES.items():
        if unit.startswith(prefix):
            rest = unit[len(prefix) :]
            spaced = len(prefix) > 1 or dimension == "ohm"  # "milli ohm", "m Ohm", but never "m A"
            found = family.spellings.get(rest.lstrip(" -") if spaced else rest)
            if found is not None:
                return Scale(float(f"{found * factor:.12g}"))
    return None


@cache
def dimension_of(unit: str, among: tuple[str, ...] = tuple(DIMENSIONS)) -> str | None:
    """Name the first dimension of ``among`` that a written unit belongs to.

    Examples
    --------
    >>> dimension_of("mOhm"), dimension_of("K/W"), dimension_of("furlong") is None
    ('ohm', 'K/W', True)
    """
    return next((name for name in among if unit and scale(unit, name) is not None), None)


_SIZE = r"[1-4]/0|\d{1,2}"
_BETWEEN = r"\s*(?:-|–|…|\.{2,3}|~|÷|to|bis)\s*"
_WITH_GAUGE = re.compile(
    rf"(?:\bAWG\s?#?\s?(?P<one>{_SIZE})(?:{_BETWEEN}(?P<two>{_SIZE}))?(?:\s?AWG\b)?"
    rf"|(?<![\d.,/])#?(?P<uno>{_SIZE})(?:\s?AWG)?(?:{_BETWEEN}#?(?P<due>{_SIZE}))?\s?(?:AWG|ga|gauge)\b)",
    re.IGNORECASE,
)
_BARE_GAUGE = re.compile(rf"\s*#?(?P<one>{_SIZE})(?:{_BETWEEN}#?(?P<two>{_SIZE}))?\s*")


def _gauge(size: str) -> float:
    """Return the gauge number of a size as written: 4/0 is −3."""
    return 1.0 - float(size[0]) if size.endswith("/0") else float(size)


def gauges_as_areas(text: str, *, decimal: str = ".", bare: bool = False) -> str:
    """Write wire gauges as cross-sections, so that what comes after need not know that they run backwards.

    Parameters
    ----------
    text
        A tidied text, such as ``26-12 AWG``, ``AWG 14``, ``4/0 AWG``.
    decimal
        The decimal mark to write.
    bare
        Whether numbers without a unit are gauges, as under a heading that says AWG.

    Returns
    -------
    str
        The text with each gauge as mm², the thinner wire of a range first; anything else as it was.

    Examples
    --------
    >>> gauges_as_areas("0.2-2.5 mm2 (26-12 AWG)")
    '0.2-2.5 mm2 (0.128756156466 mm2 - 3.30877287611 mm2)'
    >>> gauges_as_areas("14", bare=True), gauges_as_areas("16 A")
    ('2.0809077171 mm2', '16 A')
    """

    def areas(match: re.Match[str]) -> str:
        found = [size for size in match.groups() if size]
        square = sorted(float(f"{Gauge(1.0).apply(_gauge(size)) * 1e6:.12g}") for size in found)
        return " - ".join(f"{area:.12g} mm2".replace(".", decimal) for area in square)

    if bare:
        match = _BARE_GAUGE.fullmatch(text)
        if match:
            return areas(match)
    return _WITH_GAUGE.sub(areas, text)
