"""The columns of five invented suppliers' lists: the trade's words, each list in another habit.

A column says what it tells and how its cell is written, so that what a list states can be read off the same
columns that write it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from typing import Any

from entries import Column, Entry, plain

__all__ = ["STYLES", "Style", "in_the_words_of"]


@dataclass(frozen=True, kw_only=True)
class Style:
    """A supplier's habit: its columns, and its words for what the population says in English."""

    columns: tuple[Column, ...]
    currency: str
    life_cycle: dict[str, str] = field(default_factory=dict)
    weeks: str = "weeks"


def in_the_words_of(style: Style, entry: Entry) -> Entry:
    """Put life cycle and lead time into the supplier's own words."""
    return replace(
        entry,
        life_cycle=style.life_cycle.get(entry.life_cycle, entry.life_cycle),
        lead_time=entry.lead_time and entry.lead_time.replace("weeks", style.weeks),
    )


def _comma(text: str) -> str:
    return text.replace(".", ",")


def _figure(
    name: str, shift: int = 0, *, unit: str = "", missing: str = "", minus: str = "", comma: bool = False
) -> Callable[[Entry], str]:
    """Return a cell with the figure in the unit 10^−``shift``; P channels get ``minus`` before it."""

    def cell(entry: Entry) -> str:
        if name in entry.slips:
            return entry.slips[name]
        if name not in entry.figures:
            return missing
        text = plain(entry.figures[name], shift)
        sign = minus if entry.channel == "p" else ""
        return sign + (_comma(text) if comma else text) + unit

    return cell


def _milliohm(kind: str, volts: float, missing: str = "") -> Callable[[Entry], str]:
    def cell(entry: Entry) -> str:
        slip = entry.slips.get(f"{kind}:{volts:g}")
        ohm = getattr(entry, kind).get(volts)
        return slip or (missing if ohm is None else plain(ohm, 3))

    return cell


def _number(cell: Callable[[Entry], str]) -> Callable[[Entry], float | str | None]:
    """Let a workbook hold a number where the text is one, and nothing where there is none."""

    def value(entry: Entry) -> float | str | None:
        text = cell(entry)
        try:
            number = float(text)
        except ValueError:
            return text or None
        return int(number) if number.is_integer() else number

    return value


def _price_from(pieces: int) -> Callable[[Entry], str]:
    return lambda entry: next((plain(price) for count, price in entry.breaks if count == pieces), "")


def _choice(words: dict[str, str], name: str) -> Callable[[Entry], str]:
    """Return a cell with the list's own word for what the entry says, or the same word if it has none."""
    return lambda entry: words.get(getattr(entry, name), getattr(entry, name))


def _text(name: str, missing: str = "") -> Callable[[Entry], str]:
    return lambda entry: missing if getattr(entry, name) is None else str(getattr(entry, name))


def _stock(entry: Entry) -> str:
    return entry.stock_text or str(entry.stock)


def _column(heading: str, tells: str, cell: Callable[[Entry], Any], unit: str | None = None) -> Column:
    names = tuple(tells.split())
    return Column(heading=(heading,) if unit is None else (heading, unit), tells=names, cell=cell)


# English, commas; units stand in the headings, P channels are negative ------------------------------------
_ENGLISH = Style(
    currency="GBP",
    columns=(
        _column("Maker", "maker", _text("maker")),
        _column("Part number", "part_number", _text("part_number")),
        _column("Order number", "order_number", _text("order_number")),
        _column("Outline", "package", _choice({"TO-220 full-pack": "TO-220 isolated tab"}, "package")),
        _column("Channel", "channel", _choice({"n": "N", "p": "P"}, "channel")),
        _column("VDS max (V)", "vds_v", _figure("vds_v", minus="-")),
        _column("VGS max (±V)", "vgs_max_v", _figure("vgs_max_v")),
        _column("VGS(th) min (V)", "vgs_th_min_v", _figure("vgs_th_min_v", minus="-")),
        _column("VGS(th) max (V)", "vgs_th_max_v", _figure("vgs_th_max_v", minus="-")),
        *(
            _column(f"RDS(on) max at VGS = {level:g} V (mΩ)", f"rds_max:{level:g}", _milliohm("rds_max", level))
            for level in (10.0, 6.0, 5.0, 4.5, 2.5)
        ),
        _column("ID at Tc = 25 °C (A)", "id_case_a", _figure("id_case_a", minus="-")),
        _column("ID at Ta = 25 °C (A)", "id_ambient_a", _figure("id_ambient_a", minus="-")),
        _column("PD at Tc = 25 °C (W)", "pd_case_w", _figure("pd_case_w")),
        _column("RθJC (K/W)", "rthjc_k_per_w", _figure("rthjc_k_per_w")),
        _column("RθJA (K/W)", "rthja_k_per_w", _figure("rthja_k_per_w")),
        _column("TJ max (°C)", "junction_max_degc", _figure("junction_max_degc")),
        _column("Qg typ (nC)", "qg_c", _figure("qg_c", 9)),
        _column("Qgd typ (nC)", "qgd_c", _figure("qgd_c", 9)),
        _column("Ciss typ (pF)", "ciss_f", _figure("ciss_f", 12)),
        *(_column(f"Price each from {count} (GBP)", "breaks", _price_from(count)) for count in (1, 10, 100)),
        _column("Minimum order quantity", "least_quantity", _text("least_quantity")),
        _column("Stock", "stock", _stock),
        _column("Life cycle", "life_cycle", _text("life_cycle")),
        _column("Lead time", "lead_time", _text("lead_time")),
    ),
)


# German, semicolons, decimal commas; all on-resistances in one cell ---------------------------------------
def _german_resistances(entry: Entry) -> str:
    minus = "-" if entry.channel == "p" else ""

    def listed(values: dict[float, float], before: str) -> list[str]:
        falling = sorted(values.items(), reverse=True)
        return [f"{before}{_comma(plain(ohm, 3))} mOhm bei {minus}{_comma(plain(volts))} V" for volts, ohm in falling]

    return "; ".join(listed(entry.rds_max, "") or listed(entry.rds_typ, "typ. ")) or "k. A."


def _german_prices(entry: Entry) -> str:
    return " / ".join(f"{pieces}: {_comma(f'{price:.2f}')} €" for pieces, price in entry.breaks) or "auf Anfrage"


def _german_threshold(entry: Entry) -> str:
    least, most = (_comma(plain(entry.figures[f"vgs_th_{end}_v"])) for end in ("min", "max"))
    return f"{least} … {most} V"


_GERMAN = Style(
    currency="EUR",
    weeks="Wochen",
    life_cycle={
        "in production": "in Serie",
        "not for new designs": "nicht für Neuentwicklungen",
        "last orders": "letzte Bestellung",
        "discontinued": "abgekündigt",
    },
    columns=(
        _column("Hersteller", "maker", _text("maker")),
        _column("Typ", "part_number", _text("part_number")),
        _column("Artikel-Nr.", "order_number", _text("order_number")),
        _column("Gehäuse", "package", _choice({"TO-220 full-pack": "TO-220 isoliert"}, "package")),
        _column("Kanal", "channel", _choice({"n": "n-Kanal", "p": "p-Kanal"}, "channel")),
        _column("Drain-Source-Spannung UDS max.", "vds_v", _figure("vds_v", unit=" V", minus="-")),
        _column("Gate-Source-Spannung UGS max.", "vgs_max_v",
                lambda entry: "±" + _comma(plain(entry.figures["vgs_max_v"])) + " V"),
        _column("Gate-Schwellenspannung UGS(th)", "vgs_th_min_v vgs_th_max_v", _german_threshold),
        _column("Einschaltwiderstand RDS(on) max.", "rds_max rds_typ", _german_resistances),
        _column("Dauer-Drainstrom ID bei TC = 25 °C", "id_case_a",
                _figure("id_case_a", unit=" A", missing="k. A.", minus="-", comma=True)),
        _column("Verlustleistung bei TC = 25 °C", "pd_case_w",
                _figure("pd_case_w", unit=" W", missing="k. A.", comma=True)),
        _column("Wärmewiderstand RthJC", "rthjc_k_per_w",
                _figure("rthjc_k_per_w", unit=" K/W", missing="k. A.", comma=True)),
        _column("Wärmewiderstand RthJA", "rthja_k_per_w",
                _figure("rthja_k_per_w", unit=" K/W", missing="k. A.", comma=True)),
        _column("Sperrschichttemperatur max.", "junction_max_degc", _figure("junction_max_degc", unit=" °C")),
        _column("Gateladung Qg typ.", "qg_c", _figure("qg_c", 9, unit=" nC", comma=True)),
        _column("Eingangskapazität Ciss typ.", "ciss_f", _figure("ciss_f", 9, unit=" nF", comma=True)),
        _column("Staffelpreise", "breaks", _german_prices),
        _column("Mindestmenge", "least_quantity", _text("least_quantity")),
        _column("Lagerbestand", "stock", lambda entry: f"{entry.stock:,}".replace(",", ".")),
        _column("Status", "life_cycle", _text("life_cycle")),
        _column("Lieferzeit", "lead_time", _text("lead_time", "auf Anfrage")),
    ),
)  # fmt: skip

# Tabs, UTF-16; quantities in one heading row, units in the next; hot figures ------------------------------
_SHORT_OUTLINES = {
    "TO-220 full-pack": "TO-220F",
    "TO-252": "TO-252 (DPAK)",
    "SO-8": "SOP-8",
    "TO-263": "D2PAK",
}
# OHM SIGN in one unit, Greek capital omega in the other: both are met with, and mean the same.
_MILLIOHMS = {"max": "m\u2126", "typ": "m\u03a9"}
_TWO_ROWS = Style(
    currency="USD",
    columns=(
        _column("Part number", "part_number", _text("part_number"), ""),
        _column("Maker", "maker", _text("maker"), ""),
        _column("Package", "package", _choice(_SHORT_OUTLINES, "package"), ""),
        _column("Polarity", "channel", _choice({"n": "N-channel", "p": "P-channel"}, "channel"), ""),
        _column("VDS", "vds_v", _figure("vds_v", minus="\u2212"), "V"),
        _column("VGS", "vgs_max_v", lambda entry: f"±{plain(entry.figures['vgs_max_v'])} V", "V"),
        _column("VGS(th) min", "vgs_th_min_v", _figure("vgs_th_min_v"), "V"),
        _column("VGS(th) typ", "vgs_th_typ_v", _figure("vgs_th_typ_v"), "V"),
        _column("VGS(th) max", "vgs_th_max_v", _figure("vgs_th_max_v"), "V"),
        *(
            _column(f"RDS(on) {mark} @ VGS={level:g}V", f"rds_{mark}:{level:g}",
                    _milliohm(f"rds_{mark}", level, "-"), _MILLIOHMS[mark])
            for level in (10.0, 6.0, 5.0, 4.5, 2.5, 1.8)
            for mark in ("typ", "max")
        ),
        _column("RDS(on) max @ VGS=10V, TJ=125°C", "rds_hot",
                lambda entry: "-" if entry.rds_hot is None else plain(entry.rds_hot, 3), "m\u2126"),
        _column("ID @ TC=25°C", "id_case_a", _figure("id_case_a", missing="-"), "A"),
        _column("ID @ TC=100°C", "id_case_hot_a", _figure("id_case_hot_a", missing="-"), "A"),
        _column("ID @ TA=25°C", "id_ambient_a", _figure("id_ambient_a", missing="-"), "A"),
        _column("IDM", "id_pulse_a", _figure("id_pulse_a", missing="-"), "A"),
        _column("PD @ TC=25°C", "pd_case_w", _figure("pd_case_w", missing="-"), "W"),
        _column("RθJC", "rthjc_k_per_w", _figure("rthjc_k_per_w", missing="-"), "°C/W"),
        _column("RθJA", "rthja_k_per_w", _figure("rthja_k_per_w", missing="-"), "°C/W"),
        _column("Operating junction temperature", "junction_max_degc",
                lambda entry: f"-55~{plain(entry.figures['junction_max_degc'])}°C", "°C"),
        _column("Qg typ", "qg_c", _figure("qg_c", 9), "nC"),
        _column("Qgd typ", "qgd_c", _figure("qgd_c", 9), "nC"),
        _column("Ciss typ", "ciss_f", _figure("ciss_f", 12), "pF"),
        _column("tr typ", "rise_s", _figure("rise_s", 9), "ns"),
        _column("tf typ", "fall_s", _figure("fall_s", 9), "ns"),
        _column("Unit price", "breaks", _price_from(1), "USD"),
        _column("Stock", "stock", _stock, "pcs"),
        _column("Status", "life_cycle", _text("life_cycle"), ""),
        _column("Delivery", "lead_time", _text("lead_time", "-"), ""),
    ),
)  # fmt: skip


# Pipes, ragged; on-resistances with their test conditions, letter codes -----------------------------------
def _letter_code(ohm: float) -> str:
    """Write a resistance with R for the decimal point, as IEC 60062 has it.

    >>> _letter_code(0.012), _letter_code(1.25)
    ('R012', '1R25')
    """
    return plain(ohm).removeprefix("0").replace(".", "R")


def _resistances_with_conditions(kind: str) -> Callable[[Entry], str]:
    def cell(entry: Entry) -> str:
        written = []
        rated = entry.figures.get("id_case_a") or entry.figures.get("id_ambient_a", 1.0)
        amperes = plain(float(f"{rated / 2:.2g}"))  # makers test at about half the rated current
        for volts, ohm in sorted(getattr(entry, kind).items(), reverse=True):
            value = _letter_code(ohm) if volts == 10 and ohm >= 0.01 else f"{plain(ohm, 3)} mΩ"
            written.append(f"{value} @ VGS={plain(volts)} V, ID={amperes} A")
        return "; ".join(written)

    return cell


_PIPES = Style(
    currency="EUR",
    columns=(
        _column("Type", "part_number", _text("part_number")),
        _column("Made by", "maker", _text("maker")),
        _column("Case outline", "package", lambda entry: entry.package.replace("TO-220 full-pack", "TO220F")),
        _column("Channel", "channel", _choice({"n": "N-ch", "p": "P-ch"}, "channel")),
        _column("VDS", "vds_v", _figure("vds_v", unit="V")),
        _column("VGS max", "vgs_max_v", lambda entry: f"+/-{plain(entry.figures['vgs_max_v'])}V"),
        _column("VGS(th) max", "vgs_th_max_v", _figure("vgs_th_max_v", unit="V")),
        _column("RDS(on) max", "rds_max", _resistances_with_conditions("rds_max")),
        _column("ID, TC=25C", "id_case_a", _figure("id_case_a", unit="A")),
        _column("PD", "pd_case_w", _figure("pd_case_w", unit="W")),
        _column("TJ max", "junction_max_degc", _figure("junction_max_degc", unit="°C")),
        _column("Price each (EUR)", "breaks",
                lambda entry: ", ".join(f"{n}+ {price:.2f}" for n, price in entry.breaks) or "POA"),
        _column("Stock", "stock stock_text", _stock),
        _column("RDS(on) typ", "rds_typ", _resistances_with_conditions("rds_typ")),
        _column("RthJC", "rthjc_k_per_w", _figure("rthjc_k_per_w", unit=" K/W")),
        _column("RthJA", "rthja_k_per_w", _figure("rthja_k_per_w", unit=" K/W")),
    ),
)  # fmt: skip

# A workbook; numbers are numbers, units in brackets; on-resistance and current without min, typ, max, case -
_WORKBOOK = Style(
    currency="EUR",
    columns=(
        _column("Device", "part_number", _text("part_number")),
        _column("Manufacturer", "maker", _text("maker")),
        _column("Item number", "order_number", _text("order_number")),
        _column("Body style", "package", _choice({"SO-8": "SOIC-8", "TO-220": "TO-220AB"}, "package")),
        _column("Channel type", "channel", _choice({"n": "N", "p": "P"}, "channel")),
        _column("Drain-source voltage VDS [V]", "vds_v", _number(_figure("vds_v", minus="-"))),
        _column("Gate-source voltage VGS [V]", "vgs_max_v", _number(_figure("vgs_max_v", missing="n.a."))),
        _column("Gate threshold voltage max. [V]", "vgs_th_max_v", _number(_figure("vgs_th_max_v"))),
        *(
            _column(f"On-resistance RDS(on) [mΩ] at VGS = {level:g} V", f"rds_max:{level:g}",
                    _number(_milliohm("rds_max", level, "-")))
            for level in (10.0, 6.0, 5.0, 4.5, 2.5, 1.8)
        ),
        _column("Drain current ID [A]", "id_case_a", _number(_figure("id_case_a", missing="-", minus="-"))),
        _column("Power dissipation [W]", "pd_case_w", _number(_figure("pd_case_w", missing="n.a."))),
        _column("Thermal resistance junction to case [K/W]", "rthjc_k_per_w",
                _number(_figure("rthjc_k_per_w", missing="n.a."))),
        _column("Thermal resistance junction to ambient [K/W]", "rthja_k_per_w",
                _number(_figure("rthja_k_per_w", missing="n.a."))),
        _column("Junction temperature max. [°C]", "junction_max_degc",
                _number(_figure("junction_max_degc", missing="-"))),
        _column("Input capacitance Ciss [pF]", "ciss_f", _number(_figure("ciss_f", 12))),
        _column("Gate charge Qg [nC]", "qg_c", _number(_figure("qg_c", 9))),
        _column("Unit price [EUR]", "breaks", _number(_price_from(1))),
        _column("Minimum order", "least_quantity", _number(_text("least_quantity"))),
        _column("In stock", "stock", _number(_stock)),
        _column("Production status", "life_cycle", _text("life_cycle")),
    ),
)  # fmt: skip

STYLES = {
    "english": _ENGLISH,
    "german": _GERMAN,
    "two-rows": _TWO_ROWS,
    "pipes": _PIPES,
    "workbook": _WORKBOOK,
}
