"""How fast the program is, in ratios: it and what it is held against take turns in one run.

    python tests/benchmarks/measure.py [intake|selection|families|many|start|page|size|spark|all] [--rows N …]
        [--rounds N] [--folder FOLDER]

Prints a table in Markdown. A ratio below 1 says that the job took less than what it is held against. Beside the
clock stands the time of the processors, user and system, which a busy machine disturbs less. Needs the
``bench`` extra, ``spark`` with the ``spark`` extra and Java; for the full sizes some 12 GB of disk and 8 GB of memory.
"""

from __future__ import annotations

import argparse
import contextlib
import tempfile
from collections.abc import Iterator
from pathlib import Path

from catalog_size import measure_size
from family_speed import measure_families
from intake_speed import measure_intake
from many_needs_speed import measure_many
from page_speed import measure_page
from selection_speed import measure_selection
from spark_speed import measure_spark
from start_speed import measure_start
from timing import Line, machine, markdown

#: Spark is not among them: it is an extra.
_ALL = ("start", "page", "selection", "families", "many", "size", "intake")
_INTAKE_ROWS = (2_000_000, 4_000_000)
_SELECTION_PARTS = (1_000_000, 10_000_000)
_FAMILY_PARTS = (1_000_000,)
_MANY_PARTS = (1_000_000, 10_000_000)
_START_PARTS = (100_000,)
_SIZE_PARTS = (1_000_000, 10_000_000)
_SPARK_PARTS = (1_000_000, 10_000_000)


@contextlib.contextmanager
def _room(named: Path | None) -> Iterator[Path]:
    """The folder named, whose files stay for the next run, or one that goes away."""
    if named:
        named.mkdir(parents=True, exist_ok=True)
        yield named
        return
    with tempfile.TemporaryDirectory(prefix="loadworthy-measure-") as folder:
        yield Path(folder)


def _section(title: str, lines: list[Line], notes: list[str]) -> None:
    print(f"## {title}\n\n{machine()}\n", flush=True)
    if lines:
        print(f"{markdown(lines)}\n", flush=True)
    for note in notes:
        print(f"- {note}", flush=True)
    if notes:
        print(flush=True)


def _measure(what: str, rows: list[int] | None, rounds: int | None, folder: Path) -> None:
    lines: list[Line] = []
    notes: list[str] = []
    if what in ("start", "page"):
        measured = measure_start if what == "start" else measure_page
        for parts in rows or _START_PARTS:
            lines += measured(parts, folder, rounds=rounds or 11)
        _section(what.capitalize(), lines, notes)
        return
    job, sizes = {
        "intake": (measure_intake, _INTAKE_ROWS),
        "families": (measure_families, _FAMILY_PARTS),
        "many": (measure_many, _MANY_PARTS),
        "selection": (measure_selection, _SELECTION_PARTS),
        "size": (measure_size, _SIZE_PARTS),
        "spark": (measure_spark, _SPARK_PARTS),
    }[what]
    for size in rows or sizes:
        few = what in ("intake", "many", "spark")
        more, told = job(size, folder, rounds=rounds or (3 if few else 7))
        lines += more
        notes += told
    _section(what.capitalize(), lines, notes)


def _main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("what", nargs="?", choices=[*_ALL, "spark", "all"], default="all")
    parser.add_argument("--rows", type=int, nargs="+", metavar="N", help="rows of the list, parts of the catalogue")
    parser.add_argument("--rounds", type=int, metavar="N", help="rounds that count")
    parser.add_argument("--folder", type=Path, help="where made files stay; default: a folder that goes away")
    told = parser.parse_args()
    with _room(told.folder) as folder:
        for what in _ALL if told.what == "all" else (told.what,):
            _measure(what, told.rows, told.rounds, folder)


if __name__ == "__main__":
    _main()
