"""What a measurement comes to: findings of each sample, what they weigh, and what the part carries as it is."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any

from loadworthy.bench.claims import Claims
from loadworthy.bench.load import Drawn
from loadworthy.bench.verdicts import OUTSIDE, WITHIN, Finding, overall

__all__ = ["AsMeasured", "BenchResult", "RefusedRow", "Sample", "Spread"]


@dataclass(frozen=True, kw_only=True)
class Sample:
    """One piece on the bench: what it is called, what was typed of it, and what was found."""

    name: str
    given: Mapping[str, str | None]
    findings: tuple[Finding, ...]
    words: str

    @property
    def verdict(self) -> str:
        """Outside where anything is, within where everything is, else not decided."""
        return overall(finding.verdict for finding in self.findings)


@dataclass(frozen=True, kw_only=True)
class RefusedRow:
    """A row of the samples' file that was not taken: which, and why."""

    row: int
    reason: str


@dataclass(frozen=True, kw_only=True)
class Spread:
    """How several samples lie together: of one figure their count, mean and standard deviation."""

    name: str
    title: str
    unit: str
    count: int
    mean: float
    deviation: float


@dataclass(frozen=True, kw_only=True)
class AsMeasured:
    """What a transistor carries as it was measured, worn by the upper end of its on-resistance.

    Attributes
    ----------
    sample
        The worst sample, which counts.
    resistance_ohm
        On-resistance at 25 °C that counts: the upper end of what was measured.
    drive_v, ambient_degc, heatsink_k_per_w, supply_v
        Under what it is held.
    usable_a, ultimate_a
        Current that it may carry for good, margins taken, and at its own limit; None where that is not known.
    loss_w, junction_degc
        Its heat and its junction at the usable current.
    least_load_ohm
        Least resistance of a load on the supply; None without one.
    governs, source, unknown
        What sets the current, where that is from, and why it is not known where it is not.
    assumed, notes
        What it rests on, and what else is to be said.
    """

    sample: str
    resistance_ohm: float
    drive_v: float
    ambient_degc: float
    heatsink_k_per_w: float | None
    supply_v: float | None
    usable_a: float | None
    ultimate_a: float | None
    loss_w: float | None
    junction_degc: float | None
    least_load_ohm: float | None
    governs: str
    source: str
    unknown: str | None
    assumed: tuple[str, ...]
    notes: tuple[str, ...]

    def as_json(self) -> dict[str, Any]:
        """Return it as plain values."""
        return {name: list(value) if isinstance(value, tuple) else value for name, value in asdict(self).items()}


@dataclass(frozen=True, kw_only=True)
class BenchResult:
    """What was measured of a part.

    Attributes
    ----------
    kind
        ``transistor``, ``connector``, ``fuse`` or ``load``.
    claimed
        What is claimed of it; None for a load.
    samples, refused
        What was found of each sample, and the rows that were not taken.
    spread
        How the samples lie together.
    as_measured
        What a transistor carries as it is.
    drawn
        What a load draws as it is.
    assumed, cautions
        What all of it rests on, and what to mind.
    """

    kind: str
    claimed: Claims | None
    samples: tuple[Sample, ...]
    refused: tuple[RefusedRow, ...]
    spread: tuple[Spread, ...]
    as_measured: AsMeasured | None
    drawn: Drawn | None
    cautions: tuple[str, ...]

    @property
    def verdict(self) -> str:
        """The samples' verdicts summed up."""
        return overall(sample.verdict for sample in self.samples)

    @property
    def counts(self) -> dict[str, int]:
        """How many samples are within, outside and open."""
        verdicts = [sample.verdict for sample in self.samples]
        within, outside = verdicts.count(WITHIN), verdicts.count(OUTSIDE)
        return {"within": within, "outside": outside, "not_decided": len(verdicts) - within - outside}

    def as_json(self) -> dict[str, Any]:
        """Return it as plain values, with the SI units in the names or beside them."""
        return {
            "kind": self.kind,
            "part": _part(self.claimed),
            "verdict": self.verdict,
            "counts": self.counts,
            "samples": [
                {
                    "sample": sample.name,
                    "verdict": sample.verdict,
                    "words": sample.words,
                    "findings": [finding.as_json() for finding in sample.findings],
                }
                for sample in self.samples
            ],
            "refused": [asdict(one) for one in self.refused],
            "spread": [asdict(one) for one in self.spread],
            "as_measured": None if self.as_measured is None else self.as_measured.as_json(),
            "drawn": None if self.drawn is None else _drawn(self.drawn),
            "cautions": list(self.cautions),
        }


def _part(claimed: Claims | None) -> dict[str, Any] | None:
    if claimed is None:
        return None
    return {
        "part_number": claimed.part,
        "maker": claimed.maker,
        "known": bool(claimed.row),
        "notes": list(claimed.notes),
    }


def _drawn(drawn: Drawn) -> Mapping[str, Any]:
    return {name: list(value) if isinstance(value, tuple) else value for name, value in asdict(drawn).items()}
