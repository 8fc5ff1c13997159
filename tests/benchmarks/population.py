"""A seeded population of invented power MOSFETs whose figures hang together as those of real ones do.

The relations are the trade's; the constants are rounded common practice, chosen so that the figures fall
where data sheets put them. Voltages and currents of P channels are magnitudes. A figure that nobody
specified is NaN.

- on-resistance: drift region k·VDS^2.2 over the die area, plus the outline's own leads, times a factor that
  grows as the gate voltage comes down to the threshold;
- power rating: PD = (TJmax − 25 °C)/RθJC, and current rating ID = √((TJmax − 25 °C)/(RθJC·R(TJmax))), capped
  by what the outline's leads carry (the relations by which MIL-PRF-19500/557 sets its ratings);
- charges and capacitances: in proportion to the die area;
- price: log-normal about a sum for the outline and one for the die area.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, TypeAlias

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc
from numpy.typing import NDArray

__all__ = ["GATE_LEVELS", "LIFE_CYCLES", "MAKERS", "PACKAGES", "blocks", "make_catalog", "significant"]

Floats: TypeAlias = NDArray[np.float64]
Codes: TypeAlias = NDArray[np.uint8]
Block: TypeAlias = dict[str, NDArray[Any]]

BLOCK_ROWS = 1_000_000

# Maker and the letters that its part numbers start with: all invented.
MAKERS = {
    "Brackmere Semiconductor": "BRQ",
    "Ostrelin Halbleiter": "OJL",
    "Quillfen Devices": "QWF",
    "Tarnfeld Power": "TXF",
    "Vessary Microelectronics": "VYZ",
    "Ludmoor Components": "LUQ",
    "Ilsenau Leistungshalbleiter": "IJH",
    "Hollinfell Silicon": "HQL",
}
LIFE_CYCLES = ("in production", "not for new designs", "last orders", "discontinued")

# Gate voltages at which an on-resistance may be specified, and the names of the columns that hold it.
GATE_LEVELS = {1.8: "1v8", 2.5: "2v5", 4.5: "4v5", 5.0: "5v0", 6.0: "6v0", 10.0: "10v0"}


@dataclass(frozen=True, kw_only=True)
class _Outline:
    weight: float  # share of the population
    die_mm2: tuple[float, float]  # least and greatest die
    lead_ohm: float
    rthjc: float  # K/W added to the die's own
    rthja: float  # K/W, typical
    rthja_spread: float  # natural logarithm
    amperes: float  # what the leads carry
    rated_at_case: bool  # rated at the case, else at the ambient
    hot_share: float  # share of parts with TJmax 175 °C
    price: float


_OUTLINES = {
    "PQFN 5x6": _Outline(
        weight=14, die_mm2=(1, 11), lead_ohm=0.35e-3, rthjc=0.5, rthja=50, rthja_spread=0.25, amperes=100,
        rated_at_case=True, hot_share=0.3, price=0.20,
    ),
    "SO-8": _Outline(
        weight=14, die_mm2=(0.8, 7), lead_ohm=1.5e-3, rthjc=14, rthja=75, rthja_spread=0.2, amperes=20,
        rated_at_case=False, hot_share=0.05, price=0.16,
    ),
    "SOT-223": _Outline(
        weight=4, die_mm2=(0.5, 4), lead_ohm=2.5e-3, rthjc=8, rthja=75, rthja_spread=0.25, amperes=8,
        rated_at_case=False, hot_share=0.1, price=0.14,
    ),
    "SOT-23": _Outline(
        weight=8, die_mm2=(0.15, 1), lead_ohm=5e-3, rthjc=60, rthja=220, rthja_spread=0.3, amperes=6,
        rated_at_case=False, hot_share=0.05, price=0.05,
    ),
    "TO-220": _Outline(
        weight=18, die_mm2=(2, 22), lead_ohm=0.7e-3, rthjc=0.25, rthja=62, rthja_spread=0.02, amperes=120,
        rated_at_case=True, hot_share=0.65, price=0.28,
    ),
    "TO-220 full-pack": _Outline(
        weight=6, die_mm2=(2, 18), lead_ohm=0.8e-3, rthjc=2.8, rthja=65, rthja_spread=0.02, amperes=60,
        rated_at_case=True, hot_share=0.4, price=0.33,
    ),
    "TO-247": _Outline(
        weight=5, die_mm2=(6, 60), lead_ohm=0.5e-3, rthjc=0.12, rthja=40, rthja_spread=0.03, amperes=200,
        rated_at_case=True, hot_share=0.65, price=0.80,
    ),
    "TO-251": _Outline(
        weight=4, die_mm2=(1, 9), lead_ohm=1.0e-3, rthjc=0.5, rthja=100, rthja_spread=0.05, amperes=50,
        rated_at_case=True, hot_share=0.5, price=0.20,
    ),
    "TO-252": _Outline(
        weight=14, die_mm2=(1, 10), lead_ohm=0.7e-3, rthjc=0.5, rthja=60, rthja_spread=0.3, amperes=80,
        rated_at_case=True, hot_share=0.5, price=0.18,
    ),
    "TO-263": _Outline(
        weight=11, die_mm2=(3, 25), lead_ohm=0.5e-3, rthjc=0.25, rthja=45, rthja_spread=0.15, amperes=160,
        rated_at_case=True, hot_share=0.6, price=0.45,
    ),
    "TO-92": _Outline(
        weight=2, die_mm2=(0.3, 1.5), lead_ohm=10e-3, rthjc=70, rthja=320, rthja_spread=0.06, amperes=1.5,
        rated_at_case=False, hot_share=0.0, price=0.06,
    ),
}  # fmt: skip
PACKAGES = tuple(sorted(_OUTLINES))  # a code sorts as its name does

_VDS = np.array([12, 15, 16, 20, 24, 25, 30, 40, 55, 60, 75, 80, 100, 120, 150, 200, 250], dtype=np.float64)
_VDS_WEIGHTS = {
    "n": [1, 1, 0.7, 7, 1.5, 4, 20, 17, 5, 17, 3, 5, 12, 1.5, 5, 4, 2],
    "p": [4, 1, 0.7, 16, 1.5, 2, 28, 13, 3, 18, 0, 1, 8, 0, 3, 2, 0],
}
_P_SHARE = 0.17

# Gate classes: the levels specified, typical threshold, gate ratings (V) and how often each is met with.
_CLASSES = ("standard", "six", "logic", "logic at 5 V", "super-logic", "ultra-logic")
_CLASS_LETTERS = ("N", "M", "L", "G", "S", "U")
_CLASS_LEVELS = ((10.0,), (6.0, 10.0), (4.5, 10.0), (5.0, 10.0), (2.5, 4.5, 10.0), (1.8, 2.5, 4.5))
_CLASS_THRESHOLD_V = np.array([3.0, 2.8, 1.75, 1.6, 0.95, 0.65])
_CLASS_GATE_V = np.array([[20, 20, 30], [20, 20, 20], [20, 16, 20], [16, 20, 15], [12, 12, 16], [8, 8, 6]])
_GATE_V_WEIGHTS = np.array([0.55, 0.35, 0.10])
_CLASS_SHARE = np.array(  # by voltage band: to 30 V, to 60 V, to 120 V, above
    [
        [0.08, 0.02, 0.45, 0.08, 0.27, 0.10],
        [0.30, 0.08, 0.42, 0.12, 0.08, 0.00],
        [0.62, 0.15, 0.18, 0.05, 0.00, 0.00],
        [0.88, 0.06, 0.06, 0.00, 0.00, 0.00],
    ]
)
_BAND_TOPS_V = np.array([30.0, 60.0, 120.0])
_POWERS = 10.0 ** np.arange(23)


def significant(values: Floats, digits: int) -> Floats:
    """Round to significant digits; each result is the double nearest to its decimal.

    >>> significant(np.array([0.0081649, 12345.0]), 3)
    array([8.16e-03, 1.23e+04])
    """
    with np.errstate(divide="ignore", invalid="ignore"):
        exponent = np.floor(np.log10(np.abs(values))) - (digits - 1)
    exponent = np.where(np.isfinite(exponent), exponent, 0.0).astype(np.int8)
    up, down = _POWERS[np.maximum(exponent, 0)], _POWERS[np.maximum(-exponent, 0)]
    # Powers of ten to 10^22 are exact, and one of the two is 1: so the last step rounds once only.
    rounded: Floats = np.rint(values / up * down) * up / down
    return rounded


def _pick(rng: np.random.Generator, rows: int, weights: list[float] | NDArray[np.float64]) -> Codes:
    """Draw codes 0, 1, … with the given weights."""
    edges = np.cumsum(np.asarray(weights, dtype=np.float64))
    return np.searchsorted(edges / edges[-1], rng.random(rows), side="right").astype(np.uint8)


def _spread(rng: np.random.Generator, rows: int, log_sigma: float | Floats) -> Floats:
    """Draw log-normal factors about one."""
    return np.exp(log_sigma * rng.standard_normal(rows))


def _keys(rng: np.random.Generator, rows: int) -> tuple[Codes, Codes, Codes]:
    """Draw channel, package and voltage class of every part, sorted by them in that order."""
    is_p = rng.random(rows) < _P_SHARE
    package = _pick(rng, rows, [_OUTLINES[name].weight for name in PACKAGES])
    vds = np.where(is_p, _pick(rng, rows, _VDS_WEIGHTS["p"]), _pick(rng, rows, _VDS_WEIGHTS["n"]))
    joined = (is_p.astype(np.uint16) << 12) | (package.astype(np.uint16) << 6) | vds.astype(np.uint16)
    joined.sort(kind="stable")
    parts = (joined >> 12, (joined >> 6) & 63, joined & 63)
    channel, package, vds_code = (part.astype(np.uint8) for part in parts)
    return channel, package, vds_code


def _of_outline(package: Codes, name: str) -> Floats:
    return np.array([float(getattr(_OUTLINES[outline], name)) for outline in PACKAGES])[package]


def _gate(rng: np.random.Generator, vds: Floats) -> Block:
    """Draw gate class, threshold and gate rating."""
    rows = len(vds)
    shares = np.cumsum(_CLASS_SHARE, axis=1)[np.searchsorted(_BAND_TOPS_V, vds, side="left")]
    gate_class = (rng.random(rows)[:, None] > shares[:, :-1]).sum(axis=1).astype(np.uint8)
    nominal = _CLASS_THRESHOLD_V[gate_class]
    # Some parts have a low threshold and yet no on-resistance below 10 V: it promises nothing at 5 V.
    tempting = (gate_class == 0) & (vds <= 60) & (rng.random(rows) < 0.08)
    nominal = np.where(tempting, 1.9, nominal)
    typical = significant(nominal * np.clip(_spread(rng, rows, 0.08), 0.82, 1.2), 2)
    return {
        "gate_class": gate_class,
        "vgs_th_min_v": significant(typical * 0.65, 2),
        "vgs_th_typ_v": typical,
        "vgs_th_max_v": significant(typical * 1.35, 2),
        "vgs_max_v": _CLASS_GATE_V[gate_class, _pick(rng, rows, _GATE_V_WEIGHTS)].astype(np.float64),
    }


def _resistances(rng: np.random.Generator, keys: Block, gate: Block, die_mm2: Floats) -> Block:
    """Work out typical and maximum on-resistance at each specified level; NaN at the others.

    ``best_ohm`` is the maximum at the highest level, also of a part that only tells typical figures.
    """
    vds, rows = keys["vds_v"], len(die_mm2)
    threshold, gate_class = gate["vgs_th_typ_v"], gate["gate_class"]
    hole = np.where(keys["channel_code"] == 1, 2.6, 1.0)  # holes are slower
    at_10v = 10e-3 * (vds / 30) ** 2.2 * hole * _spread(rng, rows, 0.3) / die_mm2
    at_10v += _of_outline(keys["package_code"], "lead_ohm")
    channel_share = np.clip(0.35 * (vds / 20) ** -0.6, 0.03, 0.45)
    to_maximum = 1.15 + 0.15 * rng.random(rows)
    figures: Block = {"typical_only": rng.random(rows) < 0.02, "best_ohm": np.empty(rows)}
    for level, name in GATE_LEVELS.items():
        here = np.array([level in levels for levels in _CLASS_LEVELS])[gate_class]
        overdrive = np.where(here, level - threshold, 1.0)
        factor = 1 + channel_share * ((10 - threshold) / overdrive - 1)
        typical = np.where(here, at_10v * np.maximum(factor, 0.8), np.nan)
        figures[f"rds_typ_{name}_ohm"] = significant(typical, 2)
        maximum = significant(figures[f"rds_typ_{name}_ohm"] * to_maximum, 3)
        figures["best_ohm"] = np.where(here, maximum, figures["best_ohm"])
        figures[f"rds_{name}_ohm"] = np.where(figures["typical_only"], np.nan, maximum)
    return figures


def _ratings(rng: np.random.Generator, keys: Block, best_ohm: Floats, die_mm2: Floats) -> Block:
    """Work out thermal resistances, hot exponent, power and current ratings."""
    package, vds, rows = keys["package_code"], keys["vds_v"], len(die_mm2)
    limit = np.where(rng.random(rows) < _of_outline(package, "hot_share"), 175.0, 150.0)
    rthjc = (7 / die_mm2**0.85) * _spread(rng, rows, 0.08) + _of_outline(package, "rthjc")
    rthjc = significant(rthjc, 3)
    rthja = np.rint(_of_outline(package, "rthja") * _spread(rng, rows, _of_outline(package, "rthja_spread")))
    exponent = np.interp(vds, [60, 150], [1.65, 2.4]) + 0.08 * rng.standard_normal(rows)
    hot_ohm = best_ohm * ((limit + 273.15) / 298.15) ** exponent
    leads, at_case = _of_outline(package, "amperes"), _of_outline(package, "rated_at_case") == 1.0

    def current(case_degc: float, rth: Floats, *, told: NDArray[np.bool_]) -> Floats:
        amperes = np.minimum(np.sqrt((limit - case_degc) / (rth * hot_ohm)), leads)
        return np.where(told, significant(amperes, 2), np.nan)

    id_case = current(25, rthjc, told=at_case)
    return {
        "junction_max_degc": limit,
        "rthjc_k_per_w": np.where(at_case, rthjc, np.nan),
        "rthja_k_per_w": np.where(rng.random(rows) < 0.4, np.nan, rthja),
        "hot_exponent": significant(exponent, 3),
        "hot_told": rng.random(rows) < 0.25,
        "id_case_a": id_case,
        "id_case_hot_a": current(100, rthjc, told=at_case),
        "id_ambient_a": current(25, rthja, told=~at_case),
        "id_pulse_a": significant(4 * np.where(at_case, id_case, current(25, rthja, told=~at_case)), 2),
        "pd_case_w": np.where(at_case, significant((limit - 25) / rthjc, 3), np.nan),
        "pd_ambient_w": np.where(at_case, np.nan, significant((limit - 25) / rthja, 2)),
    }


def _dynamic(rng: np.random.Generator, keys: Block, gate_class: Codes, die_mm2: Floats) -> Block:
    """Work out charges, capacitance and switching times; all typical figures."""
    rows = len(die_mm2)
    at_10v = 4e-9 * die_mm2 * (keys["vds_v"] / 30) ** -0.15 * _spread(rng, rows, 0.15)
    qgd = significant(at_10v * 0.22 * _spread(rng, rows, 0.2), 2)
    return {
        "qg_c": significant(at_10v * np.where(gate_class >= 2, 0.52, 1.0), 2),
        "qgd_c": qgd,
        "ciss_f": significant(180e-12 * die_mm2 * _spread(rng, rows, 0.15), 3),
        "rise_s": significant(4e-9 + 2.0 * qgd, 2),
        "fall_s": significant(3e-9 + 1.3 * qgd, 2),
    }


def _offer(rng: np.random.Generator, package: Codes, die_mm2: Floats) -> Block:
    rows = len(die_mm2)
    price = (_of_outline(package, "price") + 0.045 * die_mm2**0.9) * _spread(rng, rows, 0.35)
    weeks = np.array([2, 4, 6, 8, 12, 16, 20, 26, 40], dtype=np.float64)[rng.integers(0, 9, rows)]
    pieces = np.rint(np.exp(5.5 + 2.2 * rng.standard_normal(rows)))
    return {
        "unit_price": np.maximum(significant(price, 3), 0.01),
        "stock": np.where(rng.random(rows) < 0.22, 0.0, pieces).astype(np.int64),
        "life_cycle_code": _pick(rng, rows, [80, 10, 4, 6]),
        "lead_time_weeks": np.where(rng.random(rows) < 0.2, np.nan, weeks),
        "claims": 1 + _pick(rng, rows, [70, 20, 8, 2]),
    }


def _block(rng: np.random.Generator, first: int, channel: Codes, package: Codes, vds_code: Codes) -> Block:
    rows = len(channel)
    keys: Block = {"channel_code": channel, "package_code": package, "vds_v": _VDS[vds_code]}
    least, most = (np.array([_OUTLINES[name].die_mm2[end] for name in PACKAGES])[package] for end in (0, 1))
    die_mm2 = least * (most / least) ** rng.random(rows)
    gate = _gate(rng, _VDS[vds_code])
    resistances = _resistances(rng, keys, gate, die_mm2)
    best_ohm = resistances.pop("best_ohm")
    return {
        "serial": np.arange(first, first + rows, dtype=np.int64),
        "maker_code": rng.integers(0, len(MAKERS), rows).astype(np.uint8),
        **keys,
        **gate,
        **resistances,
        **_ratings(rng, keys, best_ohm, die_mm2),
        **_dynamic(rng, keys, gate["gate_class"], die_mm2),
        **_offer(rng, package, die_mm2),
    }


def _words(codes: NDArray[np.generic], names: tuple[str, ...]) -> pa.DictionaryArray:
    return pa.DictionaryArray.from_arrays(pa.array(codes.astype(np.int32)), pa.array(names))


def _as_arrow(block: Block) -> pa.Table:
    """Give codes their names and NaN its null."""
    serial = pc.cast(pa.array(10_000 + block.pop("serial")), pa.string())
    maker = block.pop("maker_code")
    vds = pc.cast(pa.array(block["vds_v"].astype(np.int32)), pa.string())
    gate_class = block.pop("gate_class")
    start = _words(maker, tuple(MAKERS.values())).dictionary_decode()
    letter = _words(gate_class, _CLASS_LETTERS).dictionary_decode()
    tail = pc.binary_join_element_wise(vds, letter, "")
    columns = {
        "maker": _words(maker, tuple(MAKERS)),
        "part_number": pc.binary_join_element_wise(pc.binary_join_element_wise(start, serial, ""), tail, "-"),
        "channel": _words(block.pop("channel_code"), ("n", "p")),
        "package": _words(block.pop("package_code"), PACKAGES),
        "gate_class": _words(gate_class, _CLASSES),
        "life_cycle": _words(block.pop("life_cycle_code"), LIFE_CYCLES),
    }
    columns |= {name: pa.array(values, from_pandas=True) for name, values in block.items()}
    return pa.table(columns)


def blocks(rows: int, seed: int) -> Iterator[pa.Table]:
    """Yield the population in tables of at most a million rows, sorted by channel, package and VDS.

    Parameters
    ----------
    rows : int
        How many parts; each has a part number of its own.
    seed : int
        The same seed and number of rows give the same parts.

    Yields
    ------
    pyarrow.Table
        SI units, null where nothing is specified: ``maker``, ``part_number``, ``channel`` ('n' or 'p'),
        ``package``, ``gate_class``, ``vds_v``, ``vgs_th_min_v``, ``vgs_th_typ_v``, ``vgs_th_max_v``,
        ``vgs_max_v``, ``typical_only``, ``rds_LEVEL_ohm`` and ``rds_typ_LEVEL_ohm`` (exactly the levels of
        GATE_LEVELS),
        ``junction_max_degc``, ``rthjc_k_per_w``, ``rthja_k_per_w``, ``hot_exponent`` (``hot_told``: whether
        the maker says it), ``id_case_a``, ``id_case_hot_a`` (100 °C), ``id_ambient_a``, ``id_pulse_a``,
        ``pd_case_w``, ``pd_ambient_w``, ``qg_c``, ``qgd_c``, ``ciss_f``, ``rise_s``, ``fall_s``,
        ``unit_price``, ``stock``, ``life_cycle``, ``lead_time_weeks``, ``claims``.
    """
    for_keys, *for_blocks = np.random.SeedSequence(seed).spawn(2 + rows // BLOCK_ROWS)
    channel, package, vds_code = _keys(np.random.default_rng(for_keys), rows)
    for number, first in enumerate(range(0, rows, BLOCK_ROWS)):
        here = slice(first, min(first + BLOCK_ROWS, rows))
        rng = np.random.default_rng(for_blocks[number])
        yield _as_arrow(_block(rng, first, channel[here], package[here], vds_code[here]))


def make_catalog(rows: int, seed: int, *, columns: list[str] | None = None) -> pa.Table:
    """Return the whole population, or some columns of it, as one table; see :func:`blocks`."""
    return pa.concat_tables([table.select(columns) if columns else table for table in blocks(rows, seed)])
