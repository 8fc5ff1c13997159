"""Many needs at once against joining them with the parts and sorting, and against numpy with early exit.

All three answer the same needs: a pin of 3.3, 5 or 10 V, no sink, no switching losses, some of one package. The
other two know no more than these needs ask, and give the losses of the best parts only; ours gives every figure that
a single choice gives, with offers.
"""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence
from functools import partial
from pathlib import Path
from typing import Any

import duckdb
import numpy as np
import pyarrow as pa
from layout import make_catalog_file
from timing import Cost, Line, compared, costs_of_call, in_turn

from loadworthy.catalog.store import Catalog
from loadworthy.many.answering import Answering
from loadworthy.needs import TransistorNeed

__all__ = ["measure_many"]

_TOP = 5
_DRIVES = {"3.3V": "3v3", "5V": "5v0", "10V": "10v0"}
_FIGURES = (
    "vds_v", "vgs_max_v", "vgs_th_max_v", "id_case_a", "id_case_hot_a", "id_ambient_a", "hot_exponent",
    "rthja_k_per_w", "package_rthja_k_per_w", "junction_max_degc",
)  # fmt: skip
_ASKED = (
    "channel", "vds_least_v", "vgs_least_v", "drive_v", "id_least_a", "current_a", "ambient_degc", "leaded_loss_w",
    "junction_cap_degc",
)  # fmt: skip
_OURS, _LAID = "many needs, tiers laid", "laying the tiers"
_JOIN, _NUMPY = "joined with the parts, sorted", "numpy, sorted, early exit"

# Rated current, hot resistance and junction temperature as the family's query has them, cut down to these needs.
_JOINED = """
WITH pairs AS (
    SELECT
        n.need, n.ambient_degc, n.leaded_loss_w, n.junction_cap_degc, p.leaded, p.junction_max_degc,
        n.current_a * n.current_a * {ohm} AS heating,
        coalesce(p.rthja_k_per_w, p.package_rthja_k_per_w) AS rth,
        coalesce(p.hot_exponent, least(greatest(1.65 + (p.vds_v - 60) * (0.75 / 90), 1.65), 2.4)) AS exponent
    FROM needs AS n
    INNER JOIN stored_transistor AS p
        ON p.channel = n.channel AND p.vds_v >= n.vds_least_v AND p.vgs_max_v >= n.vgs_least_v
    WHERE {ohm} IS NOT NULL AND (n.package IS NULL OR p.package = n.package)
        AND coalesce(p.vgs_th_max_v < n.drive_v, TRUE)
        AND coalesce(p.id_case_a, p.id_case_hot_a, p.id_ambient_a) >= n.id_least_a
),
settled AS (
    SELECT *, exponent / 298.15 AS a, exponent * (exponent - 1) / (2 * 298.15 * 298.15) AS b,
        heating * rth * exponent / 298.15 - 1 AS qb, ambient_degc - 25 + heating * rth AS qc
    FROM pairs
),
rooted AS (SELECT *, qb * qb - 4 * heating * rth * b * qc AS d FROM settled),
hot AS (SELECT *, 2 * qc / (sqrt(d) - qb) AS delta FROM rooted WHERE qb < 0 AND d >= 0),
lost AS (SELECT *, heating * (1 + delta * (a + b * delta)) AS loss FROM hot)
SELECT need, loss FROM lost
WHERE delta + 25 <= least(coalesce(junction_max_degc, 150) - 25, junction_cap_degc)
    AND NOT (leaded AND loss > leaded_loss_w)
QUALIFY row_number() OVER (PARTITION BY need ORDER BY loss) <= {top}
"""


def _needs(count: int) -> list[TransistorNeed]:
    dice = random.Random(count)  # noqa: S311 - needs, no secret
    return [
        TransistorNeed(
            supply=dice.choice(("5V", "12V", "24V")),
            current=f"{dice.uniform(0.2, 6.0):.4g}A",
            drive=dice.choice(tuple(_DRIVES)),
            ambient=f"{dice.randint(25, 55)}degC",
            package=dice.choice(((), (), ("TO-220",), ("TO-252",), ("SO-8",))),
        )
        for _ in range(count)
    ]


def _joined(connection: duckdb.DuckDBPyConnection, needs: Sequence[TransistorNeed]) -> list[list[float]]:
    """Join the needs of each drive with the parts, and keep the first of each need."""
    found: list[list[float]] = [[] for _ in needs]
    for drive, level in _DRIVES.items():
        rows = []
        for number, need in enumerate(needs):
            if need.drive == drive:
                asked = need.parameters()
                package = next(iter(asked["package"]), None)  # type: ignore[arg-type, call-overload]
                rows.append({"need": number, "package": package, **{name: asked[name] for name in _ASKED}})
        if rows:
            connection.register("needs", pa.Table.from_pylist(rows))
            text = _JOINED.format(ohm=f"p.rds_{level}_ohm", top=_TOP)
            for number, loss in connection.execute(text).fetchall():
                found[number].append(loss)
    return [sorted(losses) for losses in found]


class _Sorted:
    """Every part in memory by rising on-resistance at each drive."""

    def __init__(self, connection: duckdb.DuckDBPyConnection) -> None:
        self.of: dict[str, dict[str, Any]] = {}
        for drive, level in _DRIVES.items():
            columns = ", ".join(_FIGURES)
            text = (
                f"SELECT {columns}, channel = 'n' AS is_n, package, leaded, rds_{level}_ohm AS ohm "
                f"FROM stored_transistor WHERE rds_{level}_ohm IS NOT NULL ORDER BY ohm"
            )
            table = connection.sql(text).to_arrow_table()
            package = table.column("package").combine_chunks().dictionary_encode()
            self.of[drive] = {name: table.column(name).to_numpy() for name in (*_FIGURES, "is_n", "leaded", "ohm")}
            self.of[drive]["package"] = package.indices.to_numpy()
            self.of[drive]["packages"] = package.dictionary.to_pylist()
            rth = table.column("rthja_k_per_w").to_numpy(), table.column("package_rthja_k_per_w").to_numpy()
            self.of[drive]["least_rth"] = np.nanmin(np.fmin(*rth))

    def best(self, need: TransistorNeed) -> list[float]:
        """Walk on while something better may come."""
        columns, asked = self.of[str(need.drive)], need.parameters()
        found, first, step, rows = np.zeros(0), 0, 2048, len(columns["ohm"])
        heating, air = asked["current_a"] ** 2, asked["ambient_degc"]  # type: ignore[operator]
        most = (asked["junction_cap_degc"] - air) / columns["least_rth"]  # type: ignore[operator]
        while first < rows and heating * columns["ohm"][first] <= (found[_TOP - 1] if len(found) >= _TOP else most):
            losses = _losses(columns, slice(first, first + step), asked)
            found = np.sort(np.concatenate([found, losses]))[:_TOP]
            first, step = first + step, step * 2
        return found.tolist()

    def answer(self, needs: Sequence[TransistorNeed]) -> list[list[float]]:
        """Answer one need after the other."""
        return [self.best(need) for need in needs]


def _losses(columns: Mapping[str, Any], here: slice, asked: Mapping[str, Any]) -> Any:
    rated = columns["id_case_a"][here]
    for name in ("id_case_hot_a", "id_ambient_a"):
        rated = np.where(np.isnan(rated), columns[name][here], rated)
    meets = columns["is_n"][here] & (columns["vds_v"][here] >= asked["vds_least_v"])
    meets &= (columns["vgs_max_v"][here] >= asked["vgs_least_v"]) & (rated >= asked["id_least_a"])
    meets &= ~(columns["vgs_th_max_v"][here] >= asked["drive_v"])
    if asked["package"]:
        meets &= columns["package"][here] == columns["packages"].index(asked["package"][0])
    left = np.flatnonzero(meets) + here.start
    vds, own = columns["vds_v"][left], columns["hot_exponent"][left]
    exponent = np.where(np.isnan(own), np.clip(1.65 + (vds - 60.0) * (0.75 / 90.0), 1.65, 2.4), own)
    a, b = exponent / 298.15, exponent * (exponent - 1.0) / (2.0 * 298.15**2)
    heating = asked["current_a"] ** 2 * columns["ohm"][left]
    rth = columns["rthja_k_per_w"][left]
    k = heating * np.where(np.isnan(rth), columns["package_rthja_k_per_w"][left], rth)
    qb, qc = k * a - 1.0, asked["ambient_degc"] - 25.0 + k
    with np.errstate(invalid="ignore"):
        delta = np.where(qb < 0.0, 2.0 * qc / (np.sqrt(qb * qb - 4.0 * k * b * qc) - qb), np.nan)
    loss = heating * (1.0 + delta * (a + b * delta))
    limit = np.minimum(columns["junction_max_degc"][left] - 25.0, asked["junction_cap_degc"])
    return loss[(delta + 25.0 <= limit) & ~(columns["leaded"][left] & (loss > asked["leaded_loss_w"]))]


def _agree(table: pa.Table, needs: int, theirs: Mapping[str, Sequence[Sequence[float]]]) -> str:
    """Say whether others find parts that lose the same."""
    ours: list[list[float]] = [[] for _ in range(needs)]
    for number, loss in zip(*(table.column(name).to_pylist() for name in ("need", "conduction_loss_w")), strict=True):
        ours[number].append(loss)
    told = []
    for name, losses in theirs.items():
        same = sum(
            len(one) == len(other) and np.allclose(one, other, rtol=1e-9)
            for one, other in zip(ours, losses, strict=True)
        )
        told.append(f"{name}: equal for {same:,} of {needs:,} needs")
    return "; ".join(told)


def measure_many(parts: int, folder: Path, *, rounds: int) -> tuple[list[Line], list[str]]:
    """Measure with a catalogue of so many parts; return lines of the table, and notes on agreement."""
    lines: list[Line] = []
    notes: list[str] = []
    with Catalog.open(make_catalog_file(folder / f"catalog-{parts}.duckdb", parts, 1)) as catalog:
        connection = catalog.connection.cursor()
        few, many = _needs(1_000), _needs(10_000)
        answering: list[Answering] = []

        def lay() -> None:
            answering[:] = [Answering(catalog, "transistor", _TOP)]
            answering[0].answer(many[:100])

        laid = costs_of_call(lay)
        memory = _Sorted(connection)
        for needs, others in ((few, (_JOIN, _NUMPY)), (many, (_NUMPY,))):
            jobs: dict[str, Any] = {_OURS: partial(costs_of_call, partial(answering[0].answer, needs))}
            if _JOIN in others and parts <= 1_000_000:
                jobs[_JOIN] = partial(costs_of_call, partial(_joined, connection, needs))
            jobs[_NUMPY] = partial(costs_of_call, partial(memory.answer, needs))
            title = f"{parts:,} parts, {len(needs):,} needs: "
            costs = in_turn(jobs, rounds=rounds)
            costs[_LAID] = [laid] * rounds
            against = [name for name in others if name in jobs]
            lines += compared(costs, [(_OURS, name) for name in against], title=title)
            if needs is many:
                lines += compared(costs, [(_LAID, _OURS)], title=title)
                single: list[Cost] = [_cost_of_singles(catalog, many[:20], len(many)) for _ in range(rounds)]
                costs["choose, one need after the other"] = single
                lines += compared(costs, [(_OURS, "choose, one need after the other")], title=title)
            table = answering[0].answer(needs)
            theirs = {_NUMPY: memory.answer(needs)}
            if needs is few and _JOIN in jobs:
                theirs[_JOIN] = _joined(connection, needs)
            notes.append(f"{title}{_agree(table, len(needs), theirs)}.")
    return lines, notes


def _cost_of_singles(catalog: Catalog, some: Sequence[TransistorNeed], count: int) -> Cost:
    """What so many needs would take asked alone, by a few of them."""
    from loadworthy.selection import choose

    def ask() -> None:
        for need in some:
            choose(catalog, need, top=_TOP, near=0, counting=False)

    took = costs_of_call(ask)
    return Cost(took.wall_s * count / len(some), took.cpu_s * count / len(some))
