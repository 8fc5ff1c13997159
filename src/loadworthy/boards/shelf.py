"""A part of the catalogue as a link of a board: its figures by the names that the model gives them."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from typing import Any, Final

from loadworthy import statements
from loadworthy.errors import BoardError
from loadworthy.listed import at_gate, families_held
from loadworthy.physics import conductors, fuses
from loadworthy.statements import Connection, HasConnection

__all__ = ["CatalogShelf", "link_figures"]

#: Kind of link → field of the model → the columns of the catalogue that give it, the first that is known.
_COLUMNS: Final[dict[str, dict[str, tuple[str, ...]]]] = {
    "connector": {
        "rated_current_ul_a": ("rated_ul_a",),
        "rated_current_iec_a": ("rated_iec_a",),
        "rated_current_a": ("rated_a",),
        "limit_degc": ("limit_degc",),
        "contact_resistance_ohm": ("contact_ohm",),
        "pitch_m": ("pitch_m",),
        "mount": ("mount",),
    },
    "fuse": {
        "rating_a": ("rating_a",),
        "rated_voltage_v": ("voltage_dc_v", "voltage_v"),
        "breaking_capacity_a": ("breaking_a", "most_fault_a"),
        "hold_a": ("hold_a",),
        "trip_a": ("trip_a",),
        "resistance_ohm": ("r1_max_ohm", "cold_ohm"),
        "most_current_a": ("most_fault_a", "breaking_a"),
    },
    "wire": {
        "area_m2": ("area_m2",),
        "insulation_limit_degc": ("limit_degc",),
        "outer_diameter_m": ("outer_m",),
    },
    "transistor": {
        "hot_exponent": ("hot_exponent",),
        "vds_v": ("vds_v",),
        "package": ("package",),
        "rthja_k_per_w": ("rthja_k_per_w",),
        "rthjc_k_per_w": ("rthjc_k_per_w",),
        "junction_max_degc": ("junction_max_degc",),
        "current_rating_a": ("id_case_a", "id_case_hot_a"),
        "pulse_rating_a": ("id_pulse_a",),
        "rise_time_s": ("rise_s",),
        "fall_time_s": ("fall_s",),
        "gate_drain_charge_c": ("qgd_c",),
    },
    "diode": {
        "current_a": ("if_av_a",),
        "voltage_v": ("vrrm_v",),
    },
}
#: Field of the model → the curve of the catalogue.
_CURVES: Final[dict[str, dict[str, str]]] = {"connector": {"derating": "derating"}}
#: Kind of link → fields that say one and the same thing: who gives one of them in the file has said it all.
_ALIKE: Final[dict[str, tuple[frozenset[str], ...]]] = {
    "connector": (frozenset({"rated_current_a", "rated_current_ul_a", "rated_current_iec_a", "derating", "unmarked"}),),
    "fuse": (frozenset({"rating_a", "by_temperature"}), frozenset({"hold_a", "hold_by_temperature"})),
    "wire": (frozenset({"area_m2", "gauge"}),),
    "transistor": (frozenset({"on_resistance_ohm", "measured_on_resistance_ohm"}),),
}
_STRANDS: Final = {"solid": "solid", "stranded": "class 2", "fine": "class 5"}
_CLASSES: Final = {"stranded": 2, "fine": 5}
#: American wire gauges of which there are wires: 4/0 to 40.
_GAUGES: Final = range(-3, 41)
_SAME_AREA: Final = 0.01
#: What a list calls room temperature, and where a rating stands that it gives without one; as the fuses' query has it.
_ROOM_FROM_DEGC: Final = 18.0
_ROOM_TO_DEGC: Final = 27.0
_RATED_DEGC: Final = 23.0
#: Sizes that only blade fuses have, as the fuses' query has them.
_BLADES: Final = ("blade", "flachsicherung", "flachstecksicherung")


class CatalogShelf:
    """The parts of a catalogue, by their numbers.

    Parameters
    ----------
    catalog
        The catalogue; only its ``connection`` is used.
    """

    def __init__(self, catalog: HasConnection) -> None:
        self._connection: Connection = catalog.connection

    def figures(self, kind: str, part: str, maker: str | None, known: Mapping[str, Any]) -> dict[str, Any] | None:
        """Return a part's figures by the names that the model gives them, or None where it is not known.

        Parameters
        ----------
        kind
            Kind of link; a freewheel is a ``diode``.
        part, maker
            Its number, and its maker where several use the number.
        known
            What the board says of the link already, such as the drive at a transistor's gate.

        Raises
        ------
        BoardError
            Several makers have a part of that number, or its figures hang on one that the board does not give.
        """
        rows = self._rows(kind, part, maker)
        if len(rows) > 1:
            makers = ", ".join(str(row["maker"] or "a maker without a name") for row in rows)
            raise BoardError(f"{part!r} is made by {makers}.", way_out="Say whose part it is with maker.")
        return link_figures(kind, rows[0], known) if rows else None

    def chosen_figures(self, chosen: Mapping[str, Any], kind: str, known: Mapping[str, Any]) -> dict[str, Any]:
        """Return the figures of a part that was chosen from this very catalogue.

        Parameters
        ----------
        chosen
            Its row of the ranked list.
        kind, known
            As for :meth:`figures`.
        """
        rows = self._rows(kind, chosen["part_number"], chosen["maker"])
        return link_figures(kind, next(row for row in rows if row["part_key"] == chosen["part_key"]), known)

    def _rows(self, kind: str, part: str, maker: str | None) -> list[dict[str, Any]]:
        if kind not in _COLUMNS or not self._holds(kind):
            return []
        text = statements.assemble("numbered", family=kind)
        return statements.bind("numbered", text, {"part": part.strip(), "maker": maker}).rows(self._connection)

    def _holds(self, family: str) -> bool:
        return family in families_held(self._connection)


def link_figures(kind: str, row: Mapping[str, Any], known: Mapping[str, Any]) -> dict[str, Any]:
    """Turn a row of the catalogue into the figures of a link; what the row does not say is left out.

    Parameters
    ----------
    kind
        Kind of link; a freewheel is a ``diode``.
    row
        A row of the family's table of parts.
    known
        What the board says of the link already; where a figure of the part says the same in another way, it is left
        out.

    Raises
    ------
    BoardError
        The part is a transistor, and its drive is not given.
    """
    found = {
        field: next((row[column] for column in columns if row.get(column) is not None), None)
        for field, columns in _COLUMNS[kind].items()
    }
    found |= {field: _curve(row.get(column)) for field, column in _CURVES.get(kind, {}).items()}
    found |= _EXTRA[kind](row, known) if kind in _EXTRA else {}
    given = {field for field, value in known.items() if value is not None and value is not False}
    said = {field for alike in _ALIKE.get(kind, ()) if alike & given for field in alike}
    return {field: value for field, value in found.items() if value is not None and field not in said}


def _curve(points: Any) -> tuple[tuple[float, float], ...] | None:  # noqa: ANN401 - a list of structs as DuckDB gives it
    return tuple((point["degc"], point["value"]) for point in points) if points else None


def _at_room(points: Any) -> float | None:  # noqa: ANN401 - as above
    """Return a curve's value at room temperature, the lesser where it gives several."""
    near = [point["value"] for point in points or () if _ROOM_FROM_DEGC <= point["degc"] <= _ROOM_TO_DEGC]
    return min(near, default=None)


def _pointed(points: Any, room_a: float | None) -> tuple[tuple[float, float], ...] | None:  # noqa: ANN401 - as above
    """Return a curve with the rating as its point at room temperature, where it has none near."""
    curve = _curve(points)
    if curve is None or room_a is None or _at_room(points) is not None:
        return curve
    return tuple(sorted((*curve, (_RATED_DEGC, room_a))))


def _fuse(row: Mapping[str, Any], known: Mapping[str, Any]) -> dict[str, Any]:
    """Read a fuse as its query does; what is no fuse is refused.

    Raises
    ------
    BoardError
        It is a breaker, a thermal cut-off, a holder.
    """
    del known
    if row["type"] == "other":
        raise BoardError(
            f"{row['part_number']!r} is listed as something else than a fuse.",
            way_out="Look at its list; describe it as plain if it is a switch or a cut-off.",
        )
    resettable = row["type"] == "resettable" or (
        row["type"] is None and any(row[name] is not None for name in ("hold_a", "hold_curve", "trip_a"))
    )
    if resettable:
        hold = row["hold_a"] if row["hold_a"] is not None else _at_room(row["hold_curve"])
        curve = _pointed(row["hold_curve"], row["hold_a"])
        return {"type": "resettable", "hold_a": hold, "hold_by_temperature": curve, "standard": row["standard"]}
    blade = any(word in (row["package"] or "").lower() for word in _BLADES)
    standard = row["standard"] or ("blade" if blade else None)
    return {
        "type": "one-shot",
        "rating_a": row["rating_a"] if row["rating_a"] is not None else _at_room(row["rating_curve"]),
        "standard": standard,
        "by_temperature": _continuous(row, standard),
        # What a list does not mark as direct is not taken for it: the audit then says that it was not checked.
        "rated_voltage_v": row["voltage_dc_v"] or _direct(row, "voltage_v", "voltage_unmarked", blade=blade),
        "breaking_capacity_a": _direct(row, "breaking_a", "breaking_unmarked", blade=blade) or row["most_fault_a"],
    }


def _direct(row: Mapping[str, Any], column: str, unmarked: str, *, blade: bool) -> float | None:
    """Return a figure that holds for direct voltage; every figure of a blade fuse does."""
    value: float | None = row[column]
    return None if row[unmarked] and not blade else value


def _continuous(row: Mapping[str, Any], standard: str | None) -> tuple[tuple[float, float], ...] | None:
    """Return what a fuse carries for good against the air; None where only its rating tells."""
    if row["continuous_a"] is not None or row["continuous_curve"] is not None:
        curve = _pointed(row["continuous_curve"], row["continuous_a"])
        return ((_RATED_DEGC, row["continuous_a"]),) if curve is None else curve
    curve = _pointed(row["rating_curve"], row["rating_a"])
    if curve is None or curve[-1][0] <= _ROOM_TO_DEGC:
        return None
    # A table of ratings has no margin inside, but for a blade fuse's.
    share = fuses.IEC_CONTINUOUS_SHARE if standard in ("IEC", "blade") else fuses.UL_CONTINUOUS_SHARE
    return tuple((degc, share * amperes) for degc, amperes in curve)


def _wire(row: Mapping[str, Any], known: Mapping[str, Any]) -> dict[str, Any]:
    """A wire made to an American gauge has no place in the table of IEC 60228, but its gauge tells its resistance."""
    del known
    area, strand = row["area_m2"], row["strand"]
    figures: dict[str, Any] = {"strand": _STRANDS.get(strand or "")}
    if area is None or strand == "solid" or _near(area, conductors.IEC_60228_OHM_PER_M[_CLASSES.get(strand or "", 5)]):
        return figures
    gauge = next((one for one in _GAUGES if _near(area, (float(conductors.awg_area(gauge=float(one))),))), None)
    return figures if gauge is None else {**figures, "gauge": float(gauge), "area_m2": None}


def _near(area_m2: float, areas_m2: Iterable[float]) -> bool:
    return any(math.isclose(area_m2, area, rel_tol=_SAME_AREA) for area in areas_m2)


def _connector(row: Mapping[str, Any], known: Mapping[str, Any]) -> dict[str, Any]:
    del known
    return {"poles": None if row["poles"] is None else int(row["poles"])}


def _transistor(row: Mapping[str, Any], known: Mapping[str, Any]) -> dict[str, Any]:
    """The greatest on-resistance specified at a gate voltage not above the drive."""
    drive_v = known.get("drive_v")
    if drive_v is None:
        if known.get("on_resistance_ohm") is not None or known.get("measured_on_resistance_ohm") is not None:
            return {}
        raise BoardError(
            "which on-resistance of the part counts hangs on the voltage at its gate, which is not given.",
            way_out='Give the drive, such as drive = "5V".',
        )
    given = at_gate(row, drive_v, typical=False)
    return {"on_resistance_ohm": None if given is None else given.ohms}


_EXTRA: Final = {"connector": _connector, "fuse": _fuse, "transistor": _transistor, "wire": _wire}
