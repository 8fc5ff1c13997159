"""Intake against reading the same file as bare text, each in a process of its own; and how much memory it takes.

A list goes into a catalogue that is empty, and into one that holds its parts from another supplier already: the
same list, or one that says some of it otherwise, and one of new parts; its supplier's next list takes its place; and a
short list goes into the catalogue of two.
"""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
from collections.abc import Callable
from functools import partial
from itertools import islice
from pathlib import Path
from statistics import median

import psutil
from timing import Cost, Line, compared, costs_of_call, in_turn, with_sources
from variants import VARIANTS, write_variant

__all__ = ["measure_intake"]

_LOOK_EVERY_S = 0.02
_BARE, _OURS = "bare text into DuckDB", "intake"
_AGAIN, _SHORT = "intake, the same parts from a second supplier", "intake of 2,000 rows into that"
_NEXT = "intake, the supplier's next list in its place"
_SHORT_ROWS = 2_000


def _bare(file: str, made: str) -> None:
    import duckdb

    with duckdb.connect(made) as connection:
        connection.execute("CREATE TABLE t AS SELECT * FROM read_csv(?, all_varchar = true)", [file])
        connection.execute("CHECKPOINT")


def _taken(file: str, made: str, supplier: str) -> None:
    from loadworthy.catalog.intake import intake

    (report,) = intake(made, [file], supplier=supplier)
    if report.rows_parts != report.rows_read:
        raise SystemExit(f"only {report.rows_parts} of {report.rows_read} rows were taken in")


def _ours(file: str, made: str) -> None:
    _taken(file, made, "Measured Parts")


def _more(file: str, made: str) -> None:
    _taken(file, made, f"{Path(file).stem} again")


_JOBS: dict[str, Callable[[str, str], None]] = {"bare": _bare, "ours": _ours, "more": _more}
_SECOND = {kind: f"intake, from a second supplier {kind}" for kind in VARIANTS}


def _run(job: str, file: Path, peaks: list[float], *, into: Path | None = None) -> Cost:
    """Run a job in a fresh process that times itself, its imports left out; note the most memory it had, in MB.

    It works on a copy of the catalogue that it is to go ``into``.
    """
    made = file.with_suffix(f".{job}.duckdb")
    made.unlink(missing_ok=True)
    if into:
        shutil.copyfile(into, made)
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
    held, both, short = (folder / f"list-{rows}.{name}" for name in ("held.duckdb", "both.duckdb", "short.csv"))
    held.unlink(missing_ok=True)
    _ours(str(file), str(held))
    shutil.copyfile(held, both)
    _more(str(file), str(both))
    with file.open("rb") as lines, short.open("wb") as first:
        first.writelines(islice(lines, _SHORT_ROWS + 1))
    others = {kind: folder / f"list-{rows}.other-{place}.csv" for place, kind in enumerate(VARIANTS)}
    for kind, other in others.items():
        write_variant(kind, file, other)
    # The supplier of a list that has been in before; its next one has other bytes at the end, and says the same.
    following = folder / f"list-{rows}.next.csv"
    shutil.copyfile(file, following)
    with following.open("a", encoding="utf-8") as last:
        last.write("\n")
    names = (_BARE, _OURS, _AGAIN, *_SECOND.values(), _NEXT, _SHORT)
    peaks: dict[str, list[float]] = {name: [] for name in names}
    costs = in_turn(
        {
            _BARE: lambda: _run("bare", file, peaks[_BARE]),
            _OURS: lambda: _run("ours", file, peaks[_OURS]),
            _AGAIN: lambda: _run("more", file, peaks[_AGAIN], into=held),
            **{name: partial(_run, "more", others[kind], peaks[name], into=held) for kind, name in _SECOND.items()},
            _NEXT: lambda: _run("ours", following, peaks[_NEXT], into=both),
            _SHORT: lambda: _run("more", short, peaks[_SHORT], into=both),
        },
        rounds=rounds,
    )
    for one in (held, both, short, following, *others.values()):
        one.unlink()
    title = f"{rows:,} rows ({file.stat().st_size / 1e6:.0f} MB): "
    memory = ", ".join(f"{name} {median(mb):.0f} MB" for name, mb in peaks.items())
    against = [(name, _BARE) for name in names if name != _BARE]
    return compared(costs, against, title=title), [f"{rows:,} rows, most memory: {memory}."]


if __name__ == "__main__":
    # Modules are loaded before the clock starts, on both sides.
    import duckdb  # noqa: F401

    import loadworthy.catalog.intake  # noqa: F401

    _, asked, csv_file, made_file = sys.argv
    cost = costs_of_call(lambda: _JOBS[asked](csv_file, made_file))
    sys.stdout.write(json.dumps({"wall_s": cost.wall_s, "cpu_s": cost.cpu_s}))
