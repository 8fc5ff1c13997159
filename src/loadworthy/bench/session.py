"""One session at the bench: a part, one sample or several, and what it all comes to."""

from __future__ import annotations

import statistics
from collections.abc import Callable, Iterator, Mapping, Sequence
from functools import partial
from pathlib import Path
from typing import Final, TypeAlias

from loadworthy.bench import connector, fuse, load, transistor
from loadworthy.bench.as_measured import as_measured
from loadworthy.bench.claims import Claims, claims_of
from loadworthy.bench.outcome import BenchResult, RefusedRow, Sample, Spread
from loadworthy.bench.samples import read_samples
from loadworthy.bench.verdicts import Finding, weighed
from loadworthy.errors import LoadworthyError, UsageError
from loadworthy.needs import cautions
from loadworthy.readings import KINDS, READINGS
from loadworthy.statements import HasConnection

__all__ = ["measure"]

_Look: TypeAlias = "Callable[[Mapping[str, str | None]], tuple[Finding, ...]]"

_FAKES: Final = (
    "Figures that fit do not make a part genuine, and what was not measured stays unknown: avalanche, temperature and "
    "age among it."
)
_EXACTLY: Final = "A verdict is good for about 95 % (k = 2) of what the meters' data sheets and these assumptions say."


def measure(
    kind: str,
    given: Mapping[str, str | None],
    *,
    part: str | None = None,
    maker: str | None = None,
    catalog: HasConnection | None = None,
    kelvin: bool = False,
    samples: Path | bytes | None = None,
) -> BenchResult:
    """Hold what was measured against what is claimed.

    Parameters
    ----------
    kind
        One of :data:`~loadworthy.readings.KINDS`.
    given
        What was typed, by the names of the options with low lines: texts with their units.
    part, maker
        Which part it is said to be; none for a load.
    catalog
        Where what it claims is looked up.
    kelvin
        Whether voltages were read with four wires.
    samples
        A table of several samples, as a file or its bytes; what it does not say of one is taken from `given`.

    Raises
    ------
    LoadworthyError
        Something given is no such quantity or missing, or no row of the table could be taken.

    Examples
    --------
    >>> found = measure("load", {"marked": "1.6ohm", "reading": "1.60ohm", "leads": "0.20ohm", "supply": "12V"})
    >>> found.verdict, round(found.drawn.value_a, 1), found.drawn.marked_a
    ('not decided by this measurement', 8.6, 7.5)
    """
    if kind not in KINDS:
        raise UsageError(f"{kind!r} is not measured here.", way_out=f"It is one of {', '.join(KINDS)}.")
    claimed = None
    if kind != "load":
        if not part or not part.strip():
            raise UsageError("which part?", where="PART", way_out="Give the number that stands on it.")
        claimed = claims_of(catalog, kind, part, maker=maker)
    look: _Look = _looker(kind, claimed, kelvin=kelvin)
    found: list[Sample] = []
    refused: list[RefusedRow] = []
    if samples is None:
        found.append(_sample("", given, look))
    else:
        found, refused = _several(samples, kind, given, look)
    return BenchResult(
        kind=kind,
        claimed=claimed,
        samples=tuple(found),
        refused=tuple(refused),
        spread=tuple(_spread(found)),
        as_measured=as_measured(claimed, found) if kind == "transistor" and claimed is not None else None,
        drawn=load.drawn(given, kelvin=kelvin) if kind == "load" and samples is None else None,
        cautions=_cautions(kind),
    )


def _looker(kind: str, claimed: Claims | None, *, kelvin: bool) -> _Look:
    if kind == "load" or claimed is None:
        return partial(load.findings, kelvin=kelvin)
    looks = {"transistor": transistor.findings, "connector": connector.findings, "fuse": fuse.findings}
    return partial(looks[kind], claimed=claimed, kelvin=kelvin)


def _sample(name: str, given: Mapping[str, str | None], look: _Look) -> Sample:
    findings = look(given)
    return Sample(name=name, given=dict(given), findings=findings, words=weighed(findings))


def _several(
    source: Path | bytes, kind: str, given: Mapping[str, str | None], look: _Look
) -> tuple[list[Sample], list[RefusedRow]]:
    found: list[Sample] = []
    refused: list[RefusedRow] = []
    for row in read_samples(source, READINGS[kind]):
        if row.wrong is not None:
            refused.append(RefusedRow(row=row.number, reason=row.wrong))
            continue
        name = row.given.get("sample", f"row {row.number}")
        try:
            found.append(_sample(name, {**given, **row.given}, look))
        except LoadworthyError as error:
            place = f"{(error.where or '').replace('--', '')}: " if error.where else ""
            refused.append(RefusedRow(row=row.number, reason=f"{place}{error.message}"))
    if not found:
        reasons = "; ".join(f"row {one.row}: {one.reason}" for one in refused[:3]) or "it has no rows"
        where = "the samples" if isinstance(source, bytes) else str(source)
        raise UsageError(f"no sample could be taken: {reasons}", where=where, way_out="Mend the rows.")
    return found, refused


def _spread(samples: Sequence[Sample]) -> Iterator[Spread]:
    """Say how several samples lie together, figure by figure."""
    values: dict[str, list[Finding]] = {}
    for sample in samples:
        for finding in sample.findings:
            if finding.value is not None and finding.unit is not None:
                values.setdefault(finding.name, []).append(finding)
    for name, findings in values.items():
        if len(findings) > 1:
            figures = [finding.value or 0.0 for finding in findings]
            yield Spread(
                name=name,
                title=findings[0].title,
                unit=findings[0].unit or "1",
                count=len(figures),
                mean=statistics.fmean(figures),
                deviation=statistics.stdev(figures),
            )


def _cautions(kind: str) -> tuple[str, ...]:
    said = [_EXACTLY]
    said += [_FAKES] if kind != "load" else []
    said.append(cautions.LOW_VOLTAGE_ONLY)
    if kind in ("transistor", "load"):
        said += [cautions.FAILS_ON, cautions.FIRST_HEAT_UP]
    if kind == "connector":
        said.append(cautions.NOT_UNDER_LOAD)
    if kind == "fuse":
        said += [cautions.CHANGE_WHEN_OFF, cautions.NO_LARGER_FUSE]
    return tuple(said)
