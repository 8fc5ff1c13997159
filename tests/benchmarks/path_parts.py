"""The demo lists of everything else on the path: terminals, fuses, heat sinks, wire, diodes.

Makers, suppliers, series and prices are invented. The figures hang together as such parts' figures do: a terminal's
derating curve falls a little faster than the square-root law, a resettable fuse holds less in warm air, a bigger
sink has the lower thermal resistance and is no better than still air allows.
"""

from __future__ import annotations

import csv
import io
import math
import random
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path
from typing import Any, TypeAlias

import openpyxl
from writers import WRITTEN, timeless

__all__ = ["PATH_LISTS", "path_lists", "write_path_lists"]

Row: TypeAlias = dict[str, Any]

_SEED = 20261125
_TERMINAL_MAKERS = ("Holmfast Terminals", "Greywether Connect", "Anschlusswerk Dornau", "Pellbridge Interconnect")
_FUSE_MAKERS = ("Emberline Protection", "Sicherungswerk Auental", "Quenchford")
_SINK_MAKERS = ("Finmoor Thermal", "Kaltrippe", "Airlees Extrusions")
_WIRE_MAKERS = ("Larkspun Cable", "Drahtzug Elmsruh")
_DIODE_MAKERS = ("Brackmere Semiconductor", "Tarnfeld Power", "Ilsenau Leistungshalbleiter")

#: Series → maker, pitch in mm, amperes at 20 °C by UL and IEC, volts, contact mΩ, thickest wire in mm², pluggable.
_SERIES: tuple[tuple[str, int, float, float | None, float | None, int, float, float, bool], ...] = (
    ("HF350", 0, 3.5, 8, 10, 125, 2.2, 1.5, False),
    ("HF500", 0, 5.0, 15, 16, 250, 1.4, 2.5, False),
    ("HF508", 0, 5.08, 15, 16, 250, 1.4, 2.5, False),
    ("HF508S", 0, 5.08, 24, 28, 300, 0.8, 4.0, False),
    ("HF762", 0, 7.62, 30, 32, 300, 0.6, 4.0, False),
    ("HF1016", 0, 10.16, 50, 57, 600, 0.35, 10.0, False),
    ("GWP35", 1, 3.5, 8, 8, 160, 3.0, 1.5, True),
    ("GWP508", 1, 5.08, 15, 12, 320, 2.0, 2.5, True),
    ("GWP762", 1, 7.62, 20, 24, 400, 1.2, 4.0, True),
    ("AD5", 2, 5.0, None, 17.5, 250, 1.5, 2.5, False),
    ("AD508H", 2, 5.08, None, 32, 400, 0.7, 6.0, False),
    ("AD75", 2, 7.5, None, 41, 630, 0.5, 6.0, False),
    ("PB254", 3, 2.54, 3, None, 50, 12.0, 0.5, True),
    ("PB508", 3, 5.08, 10, None, 150, 2.5, 2.5, False),
)
_AWG_OF = {0.5: "26-20", 1.5: "26-16", 2.5: "26-12", 4.0: "24-12", 6.0: "22-10", 10.0: "20-6"}


def _round(value: float, digits: int) -> float:
    return float(f"{value:.{digits}g}")


def _derated(amperes: float, degc: float) -> float:
    """A measured curve: the square-root law to 105 °C, a little lower the warmer it is."""
    return _round(amperes * math.sqrt((105 - degc) / 85) * (1 - 0.0006 * (degc - 20)), 3)


def terminals() -> list[Row]:
    """Make terminals and plugs, two to twelve poles of each series."""
    rng = random.Random(_SEED)  # noqa: S311 - invented figures, not secrets
    rows = []
    for series, maker, pitch, ul, iec, volts, milliohm, thickest, pluggable in _SERIES:
        for poles in (2, 3, 4, 6, 8, 12):
            best = max(x for x in (ul, iec) if x is not None)
            rows.append(
                {
                    "maker": _TERMINAL_MAKERS[maker],
                    "part": f"{series}-{poles:02d}",
                    "series": series,
                    "poles": poles,
                    "pitch": pitch,
                    "ul": ul,
                    "iec": iec,
                    "volts": volts,
                    "mohm": milliohm if maker != 2 else None,
                    "curve": {t: _derated(best, t) for t in (20, 40, 60, 80, 100)} if maker in (0, 2) else {},
                    "thickest": thickest,
                    "torque": {1.5: 0.25, 2.5: 0.5, 0.5: None}.get(thickest, 0.6) if not pluggable else None,
                    "pluggable": pluggable,
                    "mates": f"{series}H-{poles:02d}" if pluggable else None,
                    "price": round((0.12 + 0.006 * best) * poles * (0.8 + 0.5 * rng.random()), 2),
                    "stock": int(rng.random() ** 3 * 4000),
                }
            )
    return rows


def fuses() -> list[Row]:
    """Make resettable fuses and blade fuses."""
    rng = random.Random(_SEED + 1)  # noqa: S311 - invented figures, not secrets
    rows: list[Row] = []
    share = {-40: 1.45, -20: 1.30, 0: 1.15, 20: 1.00, 40: 0.83, 60: 0.68, 85: 0.52}
    for maker, prefix, volts, most in ((0, "ER", 30, 40), (1, "SWR", 16, 40), (1, "SWX", 60, 20)):
        for hold in (1.1, 1.6, 2.5, 3.0, 4.0, 5.0, 6.0, 7.0, 9.0, 11.0, 14.0):
            if volts == 60 and hold > 4:
                continue
            rows.append(
                {
                    "maker": _FUSE_MAKERS[maker],
                    "part": f"{prefix}{volts}-{round(hold * 100):04d}",
                    "type": "resettable",
                    "hold": {t: _round(hold * s, 3) for t, s in share.items()},
                    "trip": _round(hold * (2.0 if volts < 60 else 1.9), 3),
                    "volts": volts,
                    "most": most if hold < 10 else 100,
                    "rmin": _round(0.05 / hold, 2),
                    "r1": _round(0.25 / hold / (1 if volts < 60 else 0.6), 2),
                    "time": (_round(3 + 1.2 * hold, 2), _round(5 * hold, 3)),
                    "size": "radial leaded",
                    "price": round(0.18 + 0.05 * hold * (0.8 + 0.5 * rng.random()), 2),
                    "stock": int(rng.random() ** 2 * 3000),
                }
            )
    table = {-40: 1.0, 0: 1.0, 20: 1.0, 65: 0.8, 85: 0.7}
    for rating in (2, 3, 4, 5, 7.5, 10, 15, 20, 25, 30):
        rows.append(
            {
                "maker": _FUSE_MAKERS[2],
                "part": f"QBL-{rating:g}",
                "type": "blade",
                "rating": {t: _round(rating * s, 3) for t, s in table.items()},
                "volts": 32,
                "most": 1000,
                "r1": _round(0.075 / rating, 2),
                "size": "blade, regular",
                "price": round(0.14 + 0.004 * rating, 2),
                "stock": int(rng.random() * 900),
            }
        )
    return rows


def sinks() -> list[Row]:
    """Make heat sinks; the last claims more than still air can give to its size."""
    rng = random.Random(_SEED + 2)  # noqa: S311 - invented figures, not secrets
    rows = []
    for number, (width, depth, height, fixing) in enumerate(
        (
            (13, 9, 19, "clip"), (19, 10, 19, "clip"), (25, 13, 25, "clip"), (25, 25, 30, "screw"),
            (30, 16, 38, "screw"), (35, 12, 50, "screw"), (42, 25, 50, "screw"), (50, 25, 50, "screw"),
            (65, 30, 50, "screw"), (100, 33, 75, "screw"),
        )
    ):  # fmt: skip
        volume = width * depth * height / 1000
        theta = _round(40 / volume**0.52, 3)
        rows.append(
            {
                "maker": _SINK_MAKERS[number % 3],
                "part": f"{'FKA'[number % 3]}S{width}{height}-{depth}",
                "package": "TO-220" if number < 9 else "TO-247",
                "box": (width, depth, height),
                "fixing": fixing,
                "theta": theta,
                "forced": _round(theta * 0.38, 3) if number > 2 else None,
                "grams": _round(volume * 0.9, 2),
                "price": round(0.25 + 0.05 * volume**0.8 * (0.8 + 0.4 * rng.random()), 2),
                "stock": int(rng.random() * 600),
            }
        )
    rows.append(rows[1] | {"part": "KS-WONDER-19", "theta": 4.5, "forced": None, "price": 0.31, "stock": 900})
    return rows


def wires() -> list[Row]:
    """Make hook-up wire by the reel, in square millimetres and in gauges."""
    rng = random.Random(_SEED + 3)  # noqa: S311 - invented figures, not secrets
    #: IEC 60228, class 5, plain copper, ohms a kilometre at 20 °C.
    fine = {0.5: 39.0, 0.75: 26.0, 1.0: 19.5, 1.5: 13.3, 2.5: 7.98, 4.0: 4.95, 6.0: 3.30}
    rows = [
        {
            "maker": _WIRE_MAKERS[0],
            "part": f"LK-F{area:g}-{reel}",
            "size": f"{area:g} mm²",
            "strand": "fine stranded",
            "ohm_km": ohms,
            "limit": 70 if reel == 25 else 105,
            "volts": 300 if area < 1 else 500,
            "over": _round(2 * math.sqrt(area / math.pi) * 1.15 + 1.4, 2),
            "reel": reel,
            "price": round(reel * (0.06 + 0.11 * area) * (0.9 + 0.2 * rng.random()), 2),
            "stock": int(rng.random() * 120),
        }
        for area, ohms in fine.items()
        for reel in (25, 100)
    ]
    rows += [
        {
            "maker": _WIRE_MAKERS[1],
            "part": f"DZ-{gauge}S",
            "size": f"{gauge} AWG",
            "strand": "solid",
            "ohm_km": None,
            "limit": 80,
            "volts": 300,
            "over": None,
            "reel": 30,
            "price": round(2 + 90 / gauge, 2),
            "stock": int(rng.random() * 60),
        }
        for gauge in (10, 12, 14, 16, 18, 20, 22, 24)
    ]
    return rows


def diodes() -> list[Row]:
    """Make freewheel diodes: Schottky, fast and slow."""
    rng = random.Random(_SEED + 4)  # noqa: S311 - invented figures, not secrets
    rows = []
    for maker, prefix, kind, forward, recovery, volts in (
        (0, "BSD", "Schottky", 0.52, None, (20, 40, 60, 100)),
        (1, "TFD", "ultrafast", 0.95, 35, (100, 200, 400)),
        (2, "IGD", "standard", 1.05, 2000, (50, 100, 400)),
    ):
        for amperes, package, ja in ((1, "DO-41", 75), (3, "DO-201AD", 35), (5, "DO-201AD", 30), (10, "TO-220", 60)):
            for most in volts:
                rows.append(
                    {
                        "maker": _DIODE_MAKERS[maker],
                        "part": f"{prefix}{amperes}-{most}",
                        "kind": kind,
                        "volts": most,
                        "amperes": amperes,
                        "surge": amperes * 30,
                        "forward": (_round(forward + 0.0012 * most * (kind == "Schottky"), 3), amperes),
                        "recovery": recovery,
                        "ja": ja,
                        "tj": 125 if kind == "Schottky" else 150,
                        "package": package,
                        "price": round((0.04 + 0.05 * amperes) * (0.8 + 0.5 * rng.random()), 2),
                        "stock": int(rng.random() ** 2 * 5000),
                    }
                )
    return rows


# -- how each supplier writes it ---------------------------------------------------------------------------


def _comma(value: float | None, unit: str = "") -> str:
    return "k. A." if value is None else f"{value:g}".replace(".", ",") + (f" {unit}" if unit else "")


def _plain(value: float | None) -> str:
    return "" if value is None else f"{value:g}"


def _thistledown(path: Path) -> None:
    """Terminals in English, a column a temperature."""
    degrees = (20, 40, 60, 80, 100)
    head = [
        "Maker", "Part number", "Order number", "Series", "Poles", "Pitch (mm)", "Rated current UL (A)",
        "Rated current IEC (A)", *(f"Current at {t} °C (A)" for t in degrees), "Rated voltage (V)",
        "Contact resistance max (mΩ)", "Wire range (AWG)", "Tightening torque (N·m)", "Pluggable", "Mates with",
        "Temperature range (°C)", "Unit price (EUR)", "Stock",
    ]  # fmt: skip
    rows = [
        [
            row["maker"], row["part"], f"T9-{number:04d}", row["series"], row["poles"], f"{row['pitch']:.2f}",
            _plain(row["ul"]), _plain(row["iec"]), *(_plain(row["curve"].get(t)) for t in degrees), row["volts"],
            _plain(row["mohm"]), _AWG_OF[row["thickest"]], _plain(row["torque"]),
            "pluggable" if row["pluggable"] else "fixed", row["mates"] or "", "-40 to 105", f"{row['price']:.2f}",
            row["stock"],
        ]
        for number, row in enumerate(terminals()) if row["maker"] != _TERMINAL_MAKERS[2]
    ]  # fmt: skip
    _delimited(path, [head, *rows], ",", "utf-8")


def _rabenmoos(path: Path) -> None:
    """Terminals in German, the curve in one cell, marked CP1252."""
    head = [
        "Hersteller", "Typ", "Artikel-Nr.", "Baureihe", "Polzahl", "Rastermaß", "Bemessungsstrom IEC",
        "Strombelastbarkeit", "Bemessungsspannung IEC", "Leiterquerschnitt eindrähtig", "Leiterquerschnitt feindrähtig",
        "Anzugsdrehmoment", "Grenztemperatur max.", "Preis", "Lager",
    ]  # fmt: skip
    rows: list[Sequence[Any]] = [
        ["Bauteilestube Rabenmoos – Preisliste Leiterplattenklemmen"],
        ["Stand: 02.11.2026", "", "Preise netto"],
        [],
        head,
    ]
    for number, row in enumerate(terminals()):
        if row["iec"] is None or row["pluggable"]:
            continue
        curve = "; ".join(f"{_comma(a)} A bei {t} °C" for t, a in row["curve"].items())
        rows.append(
            [
                row["maker"], row["part"], f"R7-{number:04d}", row["series"], f"{row['poles']}-polig",
                _comma(row["pitch"], "mm"), _comma(row["iec"], "A"), curve, f"{row['volts']} V",
                f"0,2 … {_comma(row['thickest'], 'mm²')}", f"0,2 … {_comma(row['thickest'] * 0.8, 'mm²')}",
                _comma(row["torque"], "Nm"), "105 °C", f"{_comma(row['price'] * 1.1, '€')}", row["stock"] // 2,
            ]
        )  # fmt: skip
    _delimited(path, rows, ";", "cp1252")


def _sparrowgate(path: Path) -> None:
    """Fuses of all kinds, bars between the columns, conditions in the cells."""
    rows: list[Sequence[Any]] = [
        ["Type", "Made by", "Kind of fuse", "Hold current", "Trip current", "Rated current", "Rated voltage DC",
         "Max fault current", "R min", "R1 max", "Time to trip", "Case", "Price each (EUR)", "Stock"]
    ]  # fmt: skip
    for row in fuses():
        hold = "; ".join(f"{a:g} A @ {t} °C" for t, a in row.get("hold", {}).items())
        rating = "; ".join(f"{a:g} A @ {t} °C" for t, a in row.get("rating", {}).items())
        seconds = "{:g} s @ {:g} A".format(*row["time"]) if "time" in row else ""
        rows.append(
            [
                row["part"], row["maker"], row["type"], hold, f"{row['trip']:g} A" if "trip" in row else "", rating,
                f"{row['volts']} V", f"{row['most']} A", f"{row['rmin']:g} Ω" if "rmin" in row else "",
                f"{row['r1'] * 1000:g} mΩ", seconds, row["size"], f"{row['price']:.2f}", row["stock"],
            ]
        )  # fmt: skip
    path.write_text("".join(" | ".join(map(str, row)) + "\n" for row in rows), encoding="utf-8")


def _tidemill(path: Path) -> None:
    """A workbook with a sheet each for sinks, wire and diodes."""
    workbook = openpyxl.Workbook()
    workbook.properties.creator = "Tidemill Trade Counter"
    workbook.properties.created = WRITTEN
    first = workbook.active
    first.title = "Heat sinks"
    _sheet(
        first,
        ["Part", "Maker", "For package", "Width (mm)", "Depth (mm)", "Height (mm)", "Fixing",
         "Rth natural convection (K/W)", "Rth at 2 m/s (K/W)", "Mass (g)", "Each (EUR)", "Stock"],
        ([r["part"], r["maker"], r["package"], *r["box"], r["fixing"], r["theta"], r["forced"], r["grams"], r["price"],
          r["stock"]] for r in sinks()),
    )  # fmt: skip
    _sheet(
        workbook.create_sheet("Hook-up wire"),
        ["Part", "Maker", "Conductor size", "Kind of conductor", "Resistance at 20 °C (Ω/km)",
         "Conductor temperature max (°C)", "Rated voltage (V)", "Outer diameter (mm)",
         "Reel length (m)", "Price per reel (EUR)", "Stock"],
        ([r["part"], r["maker"], r["size"], r["strand"], r["ohm_km"], r["limit"], r["volts"], r["over"], r["reel"],
          r["price"], r["stock"]] for r in wires()),
    )  # fmt: skip
    _sheet(
        workbook.create_sheet("Diodes"),
        ["Part", "Maker", "Kind of diode", "VRRM (V)", "IF(AV) (A)", "IFSM (A)", "VF max", "trr (ns)", "RthJA (K/W)",
         "TJ max (°C)", "Package", "Each (EUR)", "Stock"],
        ([r["part"], r["maker"], r["kind"], r["volts"], r["amperes"], r["surge"],
          "{:g} V @ {:g} A".format(*r["forward"]), r["recovery"], r["ja"], r["tj"], r["package"], r["price"],
          r["stock"]] for r in diodes()),
    )  # fmt: skip
    kept = io.BytesIO()
    workbook.save(kept)
    path.write_bytes(timeless(kept.getvalue()))


def _sheet(sheet: Any, head: Sequence[str], rows: Iterable[Sequence[Any]]) -> None:
    sheet.append([sheet.title])
    sheet.append([])
    for row in (head, *rows):
        sheet.append(list(row))


def _delimited(path: Path, rows: Iterable[Sequence[Any]], mark: str, encoding: str) -> None:
    text = io.StringIO(newline="")
    csv.writer(text, delimiter=mark, lineterminator="\n").writerows(rows)
    path.write_bytes(text.getvalue().encode(encoding))


#: File, its supplier (invented), and who writes it.
PATH_LISTS: dict[str, tuple[str, Callable[[Path], None]]] = {
    "thistledown-terminals.csv": ("Thistledown Parts Post", _thistledown),
    "rabenmoos-klemmen.csv": ("Bauteilestube Rabenmoos", _rabenmoos),
    "sparrowgate-fuses.txt": ("Sparrowgate Surplus", _sparrowgate),
    "tidemill-path.xlsx": ("Tidemill Trade Counter", _tidemill),
}


def path_lists() -> dict[str, list[Row]]:
    """Return what the lists are made from, by family."""
    return {"connector": terminals(), "fuse": fuses(), "heatsink": sinks(), "wire": wires(), "diode": diodes()}


def write_path_lists(folder: Path) -> None:
    """Write the demo lists into ``folder``."""
    folder.mkdir(parents=True, exist_ok=True)
    for file, (_, write) in PATH_LISTS.items():
        write(folder / file)
