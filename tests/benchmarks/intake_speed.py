"""Intake against reading the same file as bare text, each in a process of its own; and how much memory it takes."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from statistics import median

import psutil
from timing import Cost, Line, compared, costs_of_call, in_turn, with_sources

__all__ = ["measure_intake"]

_LOOK_EVERY_S = 0.02
_BARE, _OURS = "bare text into DuckDB", "intake"


def _bare(file: str, made: str) -> None:
    import duckdb

    with duckdb.connect(made) as connection:
        connection.execute("CREATE TABLE t AS SELECT * FROM read_csv(?, all_varchar = true)", [file])
        connection.execute("CHECKPOINT")


def _ours(file: str, made: str) -> None:
    from loadworthy.catalog.intake import intake

    (report,) = intake(made, [file], supplier="Measured Parts")
    if report.rows_parts != report.rows_read:
        raise SystemExit(f"only {report.rows_parts} of {report.rows_read} rows were taken in")


_JOBS: dict[str, Callable[[str, str], None]] = {"bare": _bare, "ours": _ours}


def _run(job: str, file: Path, peaks: list[float]) -> Cost:
    """Run a job in a fresh process that times itself, its imports left out; note the most memory it had, in MB."""
    made = file.with_suffix(f".{job}.duckdb")
    command = [sys.executable, str(Path(__file__).resolve()), job, str(file), str(made)]
    peak = 0
    with subprocess.Popen(command, stdout=subprocess.PIPE, env=with_sources()) as process:  # noqa: S603
        seen = psutil.Process(process.pid)
        while process.poll() is None:
            try:
                peak = max(peak, seen.memory_info().rss)
                process.wait(_LOOK_EVERY_S)
            except (subprocess.TimeoutExpired, psutil.NoSuchProcess):
                continue
        told = process.stdout.read() if process.stdout else b""
    made.unlink(missing_ok=True)
    if process.returncode:
        raise SystemExit(f"{job} failed on {file}")
    peaks.append(peak / 1e6)
    return Cost(**json.loads(told))


def measure_intake(rows: int, folder: Path, *, rounds: int) -> tuple[list[Line], list[str]]:
    """Measure with a list of so many rows; return lines of the table, and notes on memory."""
    from writers import write_bulk

    file = folder / f"list-{rows}.csv"
    if not file.exists():
        write_bulk(rows, 1, file)
    peaks: dict[str, list[float]] = {_BARE: [], _OURS: []}
    costs = in_turn(
        {
            _BARE: lambda: _run("bare", file, peaks[_BARE]),
            _OURS: lambda: _run("ours", file, peaks[_OURS]),
        },
        rounds=rounds,
    )
    title = f"{rows:,} rows ({file.stat().st_size / 1e6:.0f} MB): "
    memory = ", ".join(f"{name} {median(mb):.0f} MB" for name, mb in peaks.items())
    return compared(costs, [(_OURS, _BARE)], title=title), [f"{rows:,} rows, most memory: {memory}."]


if __name__ == "__main__":
    # Modules are loaded before the clock starts, on both sides.
    import duckdb  # noqa: F401

    import loadworthy.catalog.intake  # noqa: F401

    _, asked, csv_file, made_file = sys.argv
    Path(made_file).unlink(missing_ok=True)
    cost = costs_of_call(lambda: _JOBS[asked](csv_file, made_file))
    sys.stdout.write(json.dumps({"wall_s": cost.wall_s, "cpu_s": cost.cpu_s}))
