"""Connectors spelled out by a test, and a part-by-part judgement of them in plain Python on the physics package."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

import duckdb
import pyarrow as pa
from laid_offers import lay_offers

from loadworthy.catalog import families
from loadworthy.catalog.schema import CURVE, part_columns
from loadworthy.needs import ConnectorNeed
from loadworthy.physics import contacts

Part = dict[str, Any]

#: Base curve of a 5-pole connector with a limit of 125 °C (a connector data sheet).
PUBLISHED: tuple[tuple[float, float], ...] = (
    (20.0, 11.1), (40.0, 9.95), (60.0, 8.6), (80.0, 7.05), (100.0, 5.15), (120.0, 2.1),
)  # fmt: skip
_ARROW = {
    "VARCHAR": pa.string(), "DOUBLE": pa.float64(), "BOOLEAN": pa.bool_(), "INTEGER": pa.int32(),
    CURVE: pa.list_(pa.struct([("degc", pa.float64()), ("value", pa.float64())])),
}  # fmt: skip


@dataclass
class SmallCatalog:
    """What choosing needs of a catalogue: its connection."""

    connection: duckdb.DuckDBPyConnection


def terminal(part_number: str, **other: Any) -> Part:
    """Return a two-pole terminal that fits 12 V, 8 A at 40 °C; ``derating`` is pairs of temperature and current."""
    part: Part = {
        "part_key": f"HOLM|{part_number}",
        "maker": "Holm",
        "part_number": part_number,
        "series": "HX5",
        "poles": 2.0,
        "pitch_m": 5.08e-3,
        "mount": "board",
        "construction": "fixed",
        "rated_ul_a": 15.0,
        "rated_iec_a": 16.0,
        "voltage_ul_v": 300.0,
        "limit_degc": 105.0,
        "contact_ohm": 1e-3,
        "wire_min_m2": 0.2e-6,
        "wire_max_m2": 2.5e-6,
        "claims": 1,
        **other,
    }
    points = part.get("derating")
    part["derating"] = None if points is None else [{"degc": degc, "value": amperes} for degc, amperes in points]
    return part


@contextmanager
def catalog_of(*parts: Part, offers: Sequence[Mapping[str, Any]] = ()) -> Iterator[SmallCatalog]:
    """Give a catalogue of these parts and offers."""
    columns = [(column.name, column.kind) for column in part_columns(families.load("connector"))]
    columns = [("part_key", "VARCHAR"), *columns, ("claims", "INTEGER"), ("differs", "VARCHAR")]
    unknown = {name for part in parts for name in part} - {name for name, _ in columns}
    assert not unknown, unknown
    with duckdb.connect(":memory:") as connection:
        named = ", ".join(f"{name} {kind}" for name, kind in columns)
        connection.execute(f"CREATE TABLE parts_connector ({named})")
        if parts:
            arrays = {name: pa.array([part.get(name) for part in parts], type=_ARROW[kind]) for name, kind in columns}
            connection.register("given", pa.table(arrays))
            connection.execute("INSERT INTO parts_connector SELECT * FROM given")
        lay_offers(connection, "connector", offers)
        yield SmallCatalog(connection)


def least(*values: float | None) -> float | None:
    """Return the least of the values that are known."""
    return min((value for value in values if value is not None), default=None)


def rating(part: Part, stem: str, unit: str, basis: str | None) -> float | None:
    """Return the rating that counts: of the basis asked for, else the least of all."""
    ul, iec, plain = (part.get(f"{stem}_{each}") for each in (f"ul_{unit}", f"iec_{unit}", unit))
    return {"UL": ul, "IEC": iec, None: least(ul, iec, plain)}[basis]


def base(part: Part, ask: Mapping[str, Any]) -> float | None:
    """Return the base current at the ambient: off the curve, from its end by the root law, or by the root law alone."""
    at, limit = ask["ambient_degc"], part.get("limit_degc")
    points = part["derating"]
    if points and not (ask["basis"] == "UL" and part.get("rated_ul_a") is None):
        degc, amperes = [one["degc"] for one in points], [one["value"] for one in points]
        if at <= degc[-1]:
            return float(contacts.curve_current(degc=at, curve_degc=degc, curve_a=amperes))
        if limit is None:
            return None
        if limit <= at:
            return 0.0
        law = {"rated_a": amperes[-1], "rated_degc": degc[-1], "limit_degc": limit, "ambient_degc": at}
        return float(contacts.root_law_current(**law))
    rated = rating(part, "rated", "a", ask["basis"])
    if rated is None:
        return None
    law = {"rated_a": rated, "rated_degc": 20.0, "limit_degc": 105.0 if limit is None else limit, "ambient_degc": at}
    return float(contacts.root_law_current(**law))


def carried(part: Part, ask: Mapping[str, Any]) -> dict[str, float | None]:
    """Work out what a part carries, how warm its contacts get, and what they lose."""
    at, amperes = ask["ambient_degc"], ask["current_a"]
    found, rated = base(part, ask), rating(part, "rated", "a", ask["basis"])
    usable = None if found is None else least(float(contacts.usable_current(base_a=found)), rated)
    points = part["derating"] if not (ask["basis"] == "UL" and part.get("rated_ul_a") is None) else None
    last = points[-1]["degc"] if points else 105.0
    limit = part["limit_degc"] if part.get("limit_degc") is not None else max(105.0, last)
    if points:
        rise, at_current = max(limit - at, 0.0), found
    else:
        plug = part.get("construction") == "pluggable" or (
            part.get("construction") is None and part.get("gender") is not None
        )
        rise, at_current = 30.0 if plug else 45.0, rated
    warm = None
    if at_current:
        warm = float(
            contacts.contact_temperature(current_a=amperes, rated_a=at_current, rated_rise_k=rise, ambient_degc=at)
        )
    ohm = part.get("contact_ohm")
    loss = None
    if ohm is not None:
        loss = float(contacts.contact_loss(current_a=amperes, contact_ohm=ohm, contacts=ask["contacts"]))
    return {
        "base_a": found,
        "usable_a": usable,
        "strain": amperes / usable if usable else None,
        "contact_degc": warm,
        "contact_limit_degc": least(limit, ask["temperature_limit_degc"]),
        "conduction_loss_w": loss,
    }


def takes_wire(part: Part, ask: Mapping[str, Any]) -> bool | None:
    """Say whether the wire asked for lies in the range of its kind, or else in the one that holds for all kinds."""
    wire = ask["wire_m2"]
    kind = {"solid": "solid_", "stranded": "stranded_", "ferruled": "ferrule_", None: ""}[ask["wire_kind"]]
    low, high = part.get(f"wire_{kind}min_m2"), part.get(f"wire_{kind}max_m2")
    if low is None and high is None:
        low, high = part.get("wire_min_m2"), part.get("wire_max_m2")
    if high is not None and abs(wire / high - 1.0) <= 1e-6:
        return True
    if (low is not None and wire < low * (1.0 - 1e-6)) or (high is not None and wire > high):
        return False
    return None if low is None or high is None else True


def verdicts(part: Part, need: ConnectorNeed) -> dict[str, bool | None]:
    """Judge one part: a verdict for each criterion that the need asks about."""
    ask: dict[str, Any] = need.parameters()
    found = carried(part, ask)

    def same(given: Any, wanted: Any) -> bool | None:
        return None if given is None else given == wanted

    def ordered(small: float | None, great: float | None) -> bool | None:
        return None if small is None or great is None else small <= great

    series, pitch = part.get("series"), part.get("pitch_m")
    every = {
        "series": lambda: same(series and series.lower(), ask["series"].lower()),
        "mount": lambda: same(part.get("mount"), ask["mount"]),
        "gender": lambda: same(part.get("gender"), ask["gender"]),
        "construction": lambda: same(part.get("construction"), ask["construction"]),
        "poles": lambda: same(part.get("poles"), ask["poles_asked"]),
        "pitch": lambda: None if pitch is None else round(abs(pitch - ask["pitch_asked_m"]) * 1e3, 6) <= 0.01,
        "voltage": lambda: ordered(ask["supply_v"], rating(part, "voltage", "v", ask["basis"])),
        "current": lambda: ordered(ask["current_least_a"], found["usable_a"]),
        "wire": lambda: takes_wire(part, ask),
        "temperature": lambda: ordered(found["contact_degc"], found["contact_limit_degc"]),
    }
    return {name: every[name]() for name in need.asked()}
