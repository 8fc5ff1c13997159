"""The demo lists: transistors that five invented suppliers offer to a community greenhouse.

The greenhouse looks for a transistor that switches a heat mat (12 V, 1.6 Ω, so 7.5 A) from a 5 V pin in a
40 °C box, in a TO-220 without a heat sink if it can be. The lists hold parts that do it, parts that nearly
do, and parts that seem to and do not.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any, TypeAlias

import numpy as np
import pyarrow as pa
from entries import Entry, entries, stated
from numpy.typing import NDArray
from population import make_catalog
from styles import STYLES, in_the_words_of
from writers import WRITERS

__all__ = ["LISTS", "greenhouse_lists", "greenhouse_truth", "write_greenhouse"]

Mask: TypeAlias = NDArray[np.bool_]

_SEED = 20261102
_DRAWN = 60_000  # parts from which the demo's are picked

# File, supplier (invented), style, and of a hundred offers how many are this supplier's.
LISTS = {
    "thistledown.csv": ("Thistledown Parts Post", "english", 23),
    "rabenmoos.csv": ("Bauteilestube Rabenmoos", "german", 17),
    "ninefold.tsv": ("Ninefold Lakeside Electronics", "two-rows", 27),
    "sparrowgate.txt": ("Sparrowgate Surplus", "pipes", 14),
    "tidemill.xlsx": ("Tidemill Trade Counter", "workbook", 19),
}
_SECOND_OFFER, _THIRD_OFFER = 0.65, 0.25
_TELLS_TYPICAL = ("german", "two-rows", "pipes")

# Part numbers that a careless reader takes for numbers, resistances or days.
_ODD_PART_NUMBERS = ("22E1", "0R10", "004711", "1E05", "00815", "4R7", "10-12", "0603", "MAR07", "7E3")


def _quotas(table: pa.Table) -> list[tuple[Mask, int]]:
    """Say which parts the demo wants and how many of each; a part counts in the first that fits."""

    def numbers(name: str) -> NDArray[np.float64]:
        column: NDArray[np.float64] = table.column(name).to_numpy()
        return column

    def words(name: str) -> NDArray[np.object_]:
        column: NDArray[np.object_] = table.column(name).to_numpy()
        return column

    vds, gate, package = numbers("vds_v"), words("gate_class"), words("package")
    typical = table.column("typical_only").to_numpy()
    n = words("channel") == "n"
    at_4v5, at_5v = numbers("rds_4v5_ohm"), numbers("rds_5v0_ohm")
    at_pin = np.nan_to_num(np.where(np.isnan(at_5v), at_4v5, at_5v), nan=np.inf)  # what a 5 V pin can count on
    at_10v = np.nan_to_num(numbers("rds_10v0_ohm"), nan=np.inf)
    to220 = n & (package == "TO-220")
    ample = (vds >= 25) & (vds <= 60)
    return [
        (to220 & ample & (at_pin > 3e-3) & (at_pin <= 11.5e-3), 26),
        (to220 & ample & (at_pin > 11.5e-3) & (at_pin <= 16e-3), 10),
        (to220 & ample & (at_pin > 16e-3) & (at_pin <= 60e-3), 12),
        (to220 & (gate == "standard") & (numbers("vgs_th_typ_v") < 2.3) & (at_10v < 8e-3), 6),
        (to220 & (gate == "six") & (at_10v < 16e-3), 8),
        (
            to220 & ample & typical & np.isin(gate, ["logic", "super-logic"]) & (numbers("rds_typ_4v5_ohm") < 0.012),
            5,
        ),
        (n & (package == "TO-220 full-pack") & ample & (at_pin <= 13e-3), 12),
        (~n & np.isin(package, ["TO-220", "TO-220 full-pack"]) & (vds >= 20), 12),
        (to220 & np.isin(vds, [15, 16]) & (at_pin <= 10e-3), 4),
        (to220 & (vds == 20) & (at_pin <= 10e-3), 4),
        (to220 & (numbers("vgs_max_v") == 6) & (vds >= 20) & (at_pin <= 10e-3), 3),
        (to220 & (numbers("vgs_max_v") == 8) & (vds >= 20) & (at_pin <= 10e-3), 3),
        (to220 & (gate == "standard") & (vds >= 55) & (vds <= 120), 30),
        (to220 & (vds >= 150), 15),
        (~np.isin(package, ["TO-220", "TO-220 full-pack"]), 120),
    ]


def _picked() -> pa.Table:
    """Pick the demo's parts from the population, and give some of them odd part numbers."""
    drawn = make_catalog(_DRAWN, _SEED)
    drawn = drawn.take(np.random.default_rng(_SEED).permutation(drawn.num_rows))
    free = np.ones(drawn.num_rows, dtype=np.bool_)
    picked: list[int] = []
    for mask, count in _quotas(drawn):
        found = np.flatnonzero(mask & free)[:count]
        free[found] = False
        picked += found.tolist()
    table = drawn.take(picked)
    part_numbers = table.column("part_number").to_pylist()
    for number, odd in enumerate(_ODD_PART_NUMBERS):
        part_numbers[number * 19 + 4] = odd
    return table.set_column(table.column_names.index("part_number"), "part_number", [part_numbers])


def _who_offers(typical_only: list[bool]) -> list[list[str]]:
    """Deal the parts out: for each part the files that offer it, one to three."""
    rng = np.random.default_rng(_SEED + 1)
    files = list(LISTS)
    dealt = []
    for typical in typical_only:
        shares = np.array(
            [0 if typical and style not in _TELLS_TYPICAL else share for _, style, share in LISTS.values()],
            dtype=np.float64,
        )
        order = np.argsort(-np.log1p(-rng.random(len(files))) / np.maximum(shares, 1e-9))
        count = 1 + (rng.random() < _SECOND_OFFER) + (rng.random() < _THIRD_OFFER)
        dealt.append([files[place] for place in order[: min(count, int((shares > 0).sum()))]])
    return dealt


def _worse(entry: Entry, figure: str, factor: float) -> Entry:
    """Let a list print a figure that differs from the other lists'."""
    if figure == "rds_max":
        return replace(entry, rds_max={at: float(f"{ohm * factor:.3g}") for at, ohm in entry.rds_max.items()})
    return replace(entry, figures=entry.figures | {figure: float(f"{entry.figures[figure] * factor:.3g}")})


# Which figures lists disagree about, in turn: a few of the parts that several of them offer.
_DISAGREEMENTS: tuple[tuple[str, float], ...] = (
    ("rds_max", 1.12), ("vds_v", 55 / 60), ("id_case_a", 0.8), ("vgs_max_v", 0.8), ("rds_max", 1.3),
    ("junction_max_degc", 150 / 175), ("pd_case_w", 0.85), ("id_case_a", 0.7),
)  # fmt: skip


def _disagree(offers: dict[str, list[Entry]]) -> None:
    """Change one figure of some parts in the last of the lists that offer them."""
    places: dict[str, list[tuple[str, int]]] = {}
    for file, rows in offers.items():
        for number, entry in enumerate(rows):
            places.setdefault(entry.part_number, []).append((file, number))
    waiting = list(_DISAGREEMENTS)
    for part_number in sorted(places):
        if not waiting or len(places[part_number]) < 2:
            continue
        file, number = places[part_number][-1]
        entry, (figure, factor) = offers[file][number], waiting[0]
        needed = {"vds_v": 60.0, "vgs_max_v": 20.0, "junction_max_degc": 175.0}.get(figure)
        suits = bool(entry.rds_max) if figure == "rds_max" else entry.figures.get(figure, 0.0) == needed
        if suits or (needed is None and figure in entry.figures):
            offers[file][number] = _worse(entry, figure, factor)
            waiting.pop(0)


def _own_price_and_stock(rows: list[Entry], rng: np.random.Generator) -> list[Entry]:
    """Let each supplier have a price and a stock of its own."""
    return [
        replace(
            entry,
            breaks=tuple((pieces, max(round(price * factor, 2), 0.01)) for pieces, price in entry.breaks),
            stock=int(entry.stock * share),
        )
        for entry, factor, share in zip(
            rows,
            (0.85 + 0.4 * rng.random(len(rows))).tolist(),
            (2 * rng.random(len(rows))).tolist(),
            strict=True,
        )
    ]


def _one_price(entry: Entry) -> Entry:
    return replace(entry, breaks=entry.breaks[:1])


def _in_bundles(rows: list[Entry], every: int, pieces: int) -> list[Entry]:
    return [replace(entry, least_quantity=pieces) if n % every == 1 else entry for n, entry in enumerate(rows)]


def _ask_for_price(rows: list[Entry], every: int) -> list[Entry]:
    return [replace(entry, breaks=()) if n % every == every - 2 else entry for n, entry in enumerate(rows)]


def _thistledown(rows: list[Entry]) -> list[Entry]:
    return _in_bundles(sorted(rows, key=lambda entry: entry.part_number), 9, 10)


def _rabenmoos(rows: list[Entry]) -> list[Entry]:
    """Print typical on-resistances only where there is no maximum."""
    rows = [replace(entry, rds_typ={}) if entry.rds_max else entry for entry in rows]
    return _in_bundles(_ask_for_price(sorted(rows, key=lambda entry: entry.package), 31), 8, 5)


def _ninefold(rows: list[Entry]) -> list[Entry]:
    return [_one_price(entry) for entry in rows]


def _sparrowgate(rows: list[Entry]) -> list[Entry]:
    """Print an ample stock as one text, and keep some prices back."""
    capped = [replace(entry, stock=10_000, stock_text=">10000") if entry.stock > 1_000 else entry for entry in rows]
    return _ask_for_price(capped, 18)


def _without(entry: Entry, *figures: str) -> Entry:
    return replace(entry, figures={name: value for name, value in entry.figures.items() if name not in figures})


def _tidemill(rows: list[Entry]) -> list[Entry]:
    """Leave cells empty here and there, and misprint two units."""
    kept = _in_bundles([_one_price(entry) for entry in rows], 11, 25)
    kept = [_without(entry, "rthjc_k_per_w", "pd_case_w") if n % 13 == 5 else entry for n, entry in enumerate(kept)]
    fitting = [
        n for n, entry in enumerate(kept)
        if entry.package == "TO-220" and entry.channel == "n" and entry.rds_max.get(4.5, 1.0) < 11.5e-3
    ]  # fmt: skip
    no_gate_rating, farads, megohms, no_limit = fitting[:4]
    kept[no_gate_rating] = _without(kept[no_gate_rating], "vgs_max_v")
    kept[farads] = replace(kept[farads], slips={"ciss_f": "345 nF"})
    kept[megohms] = replace(kept[megohms], slips={"rds_max:4.5": "12 MΩ"})
    kept[no_limit] = _without(kept[no_limit], "junction_max_degc", "rthja_k_per_w")
    return kept


_HABITS: dict[str, Callable[[list[Entry]], list[Entry]]] = {
    "thistledown.csv": _thistledown,
    "rabenmoos.csv": _rabenmoos,
    "ninefold.tsv": _ninefold,
    "sparrowgate.txt": _sparrowgate,
    "tidemill.xlsx": _tidemill,
}


def greenhouse_lists() -> dict[str, list[Entry]]:
    """Return what each supplier says, by the name of its file, in the order of its lines."""
    table = _picked()
    shuffled = table.take(np.random.default_rng(_SEED + 2).permutation(table.num_rows))
    dealt = _who_offers(shuffled.column("typical_only").to_pylist())
    offers = {}
    for number, file in enumerate(LISTS):
        rows = shuffled.take([place for place, files in enumerate(dealt) if file in files])
        rng = np.random.default_rng(_SEED + 3 + number)
        offers[file] = _own_price_and_stock(entries(rows, order_prefix=f"{'TRNST'[number]}{number + 1}-"), rng)
    _disagree(offers)
    return {
        file: [in_the_words_of(STYLES[LISTS[file][1]], entry) for entry in habit(offers[file])]
        for file, habit in _HABITS.items()
    }


def greenhouse_truth() -> dict[str, dict[str, Any]]:
    """Return what each list states, to hold an intake against.

    Returns
    -------
    dict
        File name to ``supplier``, ``style``, ``currency``, ``kinds`` (what its columns can tell) and
        ``parts``: part number to what the file states of it in SI, as :func:`entries.stated` says. Where a
        figure is misprinted it is absent, and its text stands in ``slips``.
    """
    truth = {}
    for file, rows in greenhouse_lists().items():
        supplier, name, _ = LISTS[file]
        style = STYLES[name]
        truth[file] = {
            "supplier": supplier,
            "style": name,
            "currency": style.currency,
            "kinds": {kind for column in style.columns for kind in column.tells},
            "parts": {entry.part_number: stated(entry, style.columns) for entry in rows},
        }
    return truth


def write_greenhouse(folder: Path) -> None:
    """Write the demo lists into ``folder``."""
    folder.mkdir(parents=True, exist_ok=True)
    for file, rows in greenhouse_lists().items():
        WRITERS[LISTS[file][1]](rows, folder / file)
