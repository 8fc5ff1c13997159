"""The bench: what was measured of a part that arrived, against what is claimed of it, with uncertainties."""

from __future__ import annotations

from loadworthy.bench.board_file import measured_of, put_measured, with_measured
from loadworthy.bench.outcome import AsMeasured, BenchResult, RefusedRow, Sample, Spread
from loadworthy.bench.recipes import How, hows
from loadworthy.bench.session import measure
from loadworthy.bench.verdicts import NOT_DECIDED, OUTSIDE, WITHIN, Band, Finding
from loadworthy.readings import KINDS, READINGS

__all__ = [
    "KINDS",
    "NOT_DECIDED",
    "OUTSIDE",
    "READINGS",
    "WITHIN",
    "AsMeasured",
    "Band",
    "BenchResult",
    "Finding",
    "How",
    "RefusedRow",
    "Sample",
    "Spread",
    "hows",
    "measure",
    "measured_of",
    "put_measured",
    "with_measured",
]
