"""Several jobs measured in turn, round after round, so that a busy machine slows all of them alike."""

from __future__ import annotations

import importlib.metadata
import os
import platform
import resource
import subprocess
import sys
import time
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from statistics import median
from typing import TypeAlias

import loadworthy

__all__ = ["Cost", "Line", "compared", "costs_of_call", "costs_of_command", "in_turn", "machine", "markdown"]

_LIBRARIES = ("duckdb", "numpy", "pandas", "polars", "pyarrow", "click")
_SOURCES = str(Path(loadworthy.__file__).resolve().parents[1])


@dataclass(frozen=True, slots=True)
class Cost:
    """What one run of a job took: seconds on the clock, and user and system seconds of all its threads."""

    wall_s: float
    cpu_s: float

    def __add__(self, other: Cost) -> Cost:
        return Cost(self.wall_s + other.wall_s, self.cpu_s + other.cpu_s)


Costs: TypeAlias = Mapping[str, Sequence[Cost]]


@dataclass(frozen=True, kw_only=True)
class Line:
    """One line of the table: a job, what it is held against, and how they compare."""

    job: str
    against: str
    wall: float
    cpu: float
    took: Cost
    against_took: Cost


def costs_of_call(job: Callable[[], object]) -> Cost:
    """Run a job in this process."""
    wall, cpu = time.perf_counter(), time.process_time()
    job()
    return Cost(time.perf_counter() - wall, time.process_time() - cpu)


def costs_of_command(command: Sequence[str]) -> Cost:
    """Run a command to its end; what it prints is thrown away.

    Raises
    ------
    subprocess.CalledProcessError
        It failed.
    """
    before, wall = resource.getrusage(resource.RUSAGE_CHILDREN), time.perf_counter()
    subprocess.run(  # noqa: S603
        command, check=True, stdout=subprocess.DEVNULL, env=with_sources()
    )
    took = time.perf_counter() - wall
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return Cost(took, after.ru_utime - before.ru_utime + after.ru_stime - before.ru_stime)


def with_sources() -> dict[str, str]:
    """Return an environment in which a fresh interpreter finds the same program as this one."""
    return {**os.environ, "PYTHONPATH": _SOURCES}


def in_turn(
    jobs: Mapping[str, Callable[[], Cost | Mapping[str, Cost]]], *, rounds: int, warm: bool = True
) -> dict[str, list[Cost]]:
    """Run every job once a round.

    Parameters
    ----------
    jobs
        Name → a job that returns what it took, or what its steps took by their names.
    rounds
        How many rounds count.
    warm
        Whether one round goes before that does not count.
    """
    costs: dict[str, list[Cost]] = {}
    for number in range(-1 if warm else 0, rounds):
        for name, job in jobs.items():
            took = job()
            if number >= 0:
                for step, cost in ({name: took} if isinstance(took, Cost) else took).items():
                    costs.setdefault(step, []).append(cost)
    return costs


def compared(costs: Costs, pairs: Iterable[tuple[str, str]], *, title: str = "") -> list[Line]:
    """Hold jobs against others: medians, and the median of each round's ratio."""
    return [
        Line(
            job=f"{title}{job}",
            against=against,
            wall=median(one.wall_s / other.wall_s for one, other in zip(costs[job], costs[against], strict=True)),
            cpu=median(one.cpu_s / other.cpu_s for one, other in zip(costs[job], costs[against], strict=True)),
            took=_middle(costs[job]),
            against_took=_middle(costs[against]),
        )
        for job, against in pairs
    ]


def _middle(costs: Sequence[Cost]) -> Cost:
    return Cost(median(one.wall_s for one in costs), median(one.cpu_s for one in costs))


def markdown(lines: Iterable[Line]) -> str:
    """Write the lines as a table; times are in milliseconds, on the clock and of the processors."""
    rows = [
        "| job | against | ratio, clock | ratio, CPU | job: clock / CPU (ms) | against: clock / CPU (ms) |",
        "|---|---|---:|---:|---:|---:|",
    ]
    rows += [
        f"| {line.job} | {line.against} | {line.wall:.2f} | {line.cpu:.2f} "
        f"| {_times(line.took)} | {_times(line.against_took)} |"
        for line in lines
    ]
    return "\n".join(rows)


def _times(cost: Cost) -> str:
    return f"{cost.wall_s * 1e3:.0f} / {cost.cpu_s * 1e3:.0f}"


def machine() -> str:
    """Say what the figures were measured on."""
    memory = os.sysconf("SC_PAGE_SIZE") * os.sysconf("SC_PHYS_PAGES") / 2**30
    libraries = ", ".join(f"{name} {importlib.metadata.version(name)}" for name in _LIBRARIES)
    load = os.getloadavg()[0]
    return (
        f"{platform.system()} {platform.machine()}, {os.cpu_count()} cores, {memory:.0f} GB; "
        f"Python {platform.python_version()}, {libraries}; load {load:.1f} ({Path(sys.executable).name})."
    )
