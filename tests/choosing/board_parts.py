"""Parts for a board's links, as a catalogue of several families holds them; makers and numbers are invented."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import duckdb
import pyarrow as pa
from path_catalogs import SmallCatalog, catalog_with, points

from loadworthy.catalog import families
from loadworthy.catalog.packages import packages
from loadworthy.catalog.schema import level_columns, part_columns

__all__ = ["BLADE_SHARES", "blade", "catalog_of", "diode", "lead", "mosfet", "resettable", "terminal"]

Part = dict[str, Any]

#: How a blade fuse's continuous current falls with the air: its maker's table at 10 A, whole amperes.
BLADE_SHARES = {-40.0: 1.0, 0.0: 1.0, 20.0: 1.0, 65.0: 0.8, 85.0: 0.7}


def _part(maker: str, part_number: str, figures: Part, other: Part) -> Part:
    maker = other.pop("maker", maker)
    return {
        "part_key": f"{maker}|{part_number}", "maker": maker, "part_number": part_number, "claims": 1,
    } | figures | other  # fmt: skip


def terminal(part_number: str, amperes: float, **other: Any) -> Part:
    """Return a two-pole terminal for the board, 5.08 mm, rated by UL and IEC alike at 20 °C, good for 105 °C."""
    figures = {
        "poles": 2.0, "pitch_m": 5.08e-3, "mount": "board", "rated_ul_a": amperes, "rated_iec_a": amperes,
        "voltage_ul_v": 300.0, "limit_degc": 105.0, "contact_ohm": 1e-3, "wire_min_m2": 0.2e-6, "wire_max_m2": 6e-6,
    }  # fmt: skip
    return _part("Fennholt", part_number, figures, other)


def blade(part_number: str, amperes: float, **other: Any) -> Part:
    """Return a blade fuse with its maker's table."""
    figures = {
        "package": "blade, regular", "type": "one-shot", "rating_a": amperes,
        "rating_curve": points({degc: share * amperes for degc, share in BLADE_SHARES.items()}),
        "voltage_dc_v": 32.0, "breaking_a": 1000.0, "cold_ohm": 0.075 / amperes,
    }  # fmt: skip
    return _part("Aschbrunn", part_number, figures, other)


def resettable(part_number: str, hold_a: float, **other: Any) -> Part:
    """Return a resettable fuse that trips at twice what it holds."""
    figures = {
        "package": "radial", "type": "resettable", "hold_a": hold_a, "trip_a": 2.0 * hold_a, "voltage_v": 30.0,
        "hold_curve": points({-40.0: 1.45 * hold_a, 20.0: hold_a, 60.0: 0.68 * hold_a}), "most_fault_a": 40.0,
        "r1_max_ohm": 0.25 / hold_a,
    }  # fmt: skip
    return _part("Aschbrunn", part_number, figures, other)


def lead(part_number: str, mm2: float, **other: Any) -> Part:
    """Return flexible copper wire in an insulation for 70 °C."""
    figures = {
        "area_m2": mm2 * 1e-6, "strand": "fine", "material": "copper", "voltage_v": 300.0, "limit_degc": 70.0,
    }  # fmt: skip
    return _part("Weidach", part_number, figures, other)


def mosfet(part_number: str, rds: Mapping[float, float], **other: Any) -> Part:
    """Return an N-channel part; ``rds`` maps gate voltage → greatest on-resistance in ohms at 25 °C."""
    package = next(one for one in packages() if one.name == other.get("package", "TO-220"))
    levels = next(figure.levels for figure in families.load("transistor").figures if figure.levels)
    stored: Part = {}
    for level, stem in level_columns(levels, typical=False):
        reached = max((volts for volts in rds if volts <= level), default=None)
        stored[f"{stem}_ohm"] = None if reached is None else rds[reached]
        stored[f"{stem}_at_v"] = reached
    figures = {
        "channel": "n", "package": package.name, "leaded": package.leaded, "package_rthja_k_per_w": package.rthja,
        "package_rthjc_k_per_w": package.rthjc, "package_rthcs_k_per_w": package.rthcs, "vds_v": 40.0,
        "vgs_max_v": 20.0, "vgs_th_max_v": 2.5, "id_case_a": 80.0, "id_pulse_a": 300.0, "junction_max_degc": 175.0,
        "hot_exponent": 1.65, "rds_from_v": min(rds, default=None),
    }  # fmt: skip
    return _part("Kupferau", part_number, figures | stored, other)


def diode(part_number: str, amperes: float, **other: Any) -> Part:
    """Return a Schottky diode for 40 V."""
    figures = {
        "kind": "schottky", "package": "DO-201", "vrrm_v": 40.0, "if_av_a": amperes, "ifsm_a": 30.0 * amperes,
        "vf_v": 0.5, "vf_at_a": amperes, "rthja_k_per_w": 30.0, "junction_max_degc": 150.0,
    }  # fmt: skip
    return _part("Kupferau", part_number, figures, other)


def _transistors(connection: duckdb.DuckDBPyConnection, parts: Sequence[Part]) -> None:
    family = families.load("transistor")
    levels = next(figure.levels for figure in family.figures if figure.levels)
    columns = {"part_key": "VARCHAR", **{column.name: column.kind for column in part_columns(family)}}
    for typical in (False, True):
        for _, stem in level_columns(levels, typical=typical):
            columns |= {f"{stem}_ohm": "DOUBLE"} | ({} if typical else {f"{stem}_at_v": "DOUBLE"})
    columns |= {"claims": "INTEGER", "differs": "VARCHAR"}
    assert not {name for part in parts for name in part} - set(columns)
    kinds = {"VARCHAR": pa.string(), "DOUBLE": pa.float64(), "BOOLEAN": pa.bool_(), "INTEGER": pa.int32()}
    connection.register(
        "transistors",
        pa.table(
            {name: pa.array([part.get(name) for part in parts], type=kinds[kind]) for name, kind in columns.items()}
        ),
    )
    connection.execute("CREATE TABLE parts_transistor AS SELECT * FROM transistors")


def catalog_of(*, offers: Sequence[Mapping[str, Any]] = (), **parts: Sequence[Part]) -> SmallCatalog:
    """Make a catalogue of several families, each with its parts; a family that is not named is not in it."""
    named = {family: list(listed) for family, listed in parts.items()}
    first = next((family for family in named if family != "transistor"), None)
    catalog = catalog_with(first or "wire", named.get(first or "", []), offers=offers)
    if first is None:
        catalog.connection.execute("DROP TABLE parts_wire")
    for family, listed in named.items():
        if family == "transistor":
            _transistors(catalog.connection, listed)
        elif family != first:
            other = catalog_with(family, listed).connection.sql(f"SELECT * FROM parts_{family}").to_arrow_table()
            catalog.connection.register("other", other)
            catalog.connection.execute(f"CREATE TABLE parts_{family} AS SELECT * FROM other")
            catalog.connection.unregister("other")
    return catalog
