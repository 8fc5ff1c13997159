"""Spark against DuckDB over the same Parquet files: start-up, a choice, and what a second core brings.

Spark runs in processes of its own, one a master: there can be one Spark in a process.
"""

from __future__ import annotations

import json
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import psutil
from layout import make_catalog_file
from timing import Cost, Line, compared, costs_of_call, with_sources

from loadworthy.catalog.exporting import export
from loadworthy.catalog.store import Catalog
from loadworthy.needs import TransistorNeed
from loadworthy.selection import choose

__all__ = ["measure_spark"]

_NEED = {"supply": "12V", "resistance": "1.6ohm", "drive": "5V", "ambient": "40degC"}
_TOP = 10
_FILE, _SET = "DuckDB, the file", "DuckDB, Parquet"
_LIST, _WHOLE = "ranked list", "with counts and near misses"
_WITHIN = 1e-12


def _ask(catalog: Any, job: str) -> dict[str, Any]:
    whole = job == _WHOLE
    return choose(catalog, TransistorNeed(**_NEED), top=_TOP, near=5 if whole else 0, counting=whole).as_json()


def _of_java() -> float:
    """Return the seconds of processor time that this process and Spark's have taken."""
    here = psutil.Process()
    return sum(sum(one.cpu_times()[:2]) for one in (here, *here.children(recursive=True)))


def _spark(folder: str, master: str, rounds: int) -> dict[str, Any]:
    """Start Spark and choose; say what each took."""
    from loadworthy.engines.spark import SparkCatalog, start

    begun = time.perf_counter()
    session = start(master)
    told: dict[str, Any] = {"start": time.perf_counter() - begun, "took": {}, "found": {}}
    with SparkCatalog.open(folder, session=session) as catalog:
        for job in (_LIST, _WHOLE):
            took = []
            for _ in range(rounds + 1):
                wall, cpu = time.perf_counter(), _of_java()
                told["found"][job] = _ask(catalog, job)
                took.append([time.perf_counter() - wall, _of_java() - cpu])
            told["took"][job] = took  # the first is the one of who asks once
    session.stop()
    return told


def _run(folder: Path, master: str, rounds: int) -> dict[str, Any]:
    command = [sys.executable, str(Path(__file__).resolve()), str(folder), master, str(rounds)]
    done = subprocess.run(command, check=True, stdout=subprocess.PIPE, env=with_sources())  # noqa: S603
    return dict(json.loads(done.stdout))


def _same(one: Any, other: Any) -> bool:
    if isinstance(one, float) and isinstance(other, float):
        return abs(one - other) <= _WITHIN * max(abs(one), abs(other))
    if isinstance(one, dict):
        return list(one) == list(other) and all(_same(one[key], other[key]) for key in one)
    if isinstance(one, list | tuple):
        return len(one) == len(other) and all(_same(mine, yours) for mine, yours in zip(one, other, strict=True))
    return bool(one == other)


def measure_spark(parts: int, folder: Path, *, rounds: int) -> tuple[list[Line], list[str]]:
    """Measure with a catalogue of so many parts; return lines of the table, and notes on start-up and agreement."""
    made = make_catalog_file(folder / f"catalog-{parts}.duckdb", parts, 1)
    exported = folder / f"catalog-{parts}"
    if not exported.exists():
        with Catalog.open(made) as catalog:
            export(catalog, exported)
    by_master = {master: _run(exported, master, rounds) for master in ("local[1]", "local[2]")}
    lines: list[Line] = []
    agree = []
    for job in (_LIST, _WHOLE):
        costs = {
            f"Spark, {master}": [Cost(*took) for took in told["took"][job][1:]] for master, told in by_master.items()
        }
        for name, place in ((_FILE, made), (_SET, exported)):
            with Catalog.open(place) as catalog:
                _ask(catalog, job)
                costs[name] = [costs_of_call(lambda: _ask(catalog, job)) for _ in range(rounds)]  # noqa: B023
                agree += [_same(json.loads(json.dumps(_ask(catalog, job))), by_master["local[2]"]["found"][job])]
        pairs = [("Spark, local[2]", _FILE), ("Spark, local[2]", _SET), ("Spark, local[2]", "Spark, local[1]")]
        lines += compared(costs, pairs, title=f"{parts:,} parts, {job}: ")
    local = by_master["local[2]"]
    return lines, [
        f"{parts:,} parts: Spark starts in {local['start']:.1f} s, and its first choice takes "
        f"{local['took'][_LIST][0][0]:.1f} s, before Java has compiled what it runs; answers "
        f"{'are the same to 1e-12' if all(agree) else 'DIFFER'}."
    ]


if __name__ == "__main__":
    sys.stdout.write(json.dumps(_spark(sys.argv[1], sys.argv[2], int(sys.argv[3]))))
