"""How a measurement is told: what was found against what is claimed, what it weighs, what the part carries as it is."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from typing import Any, Final

from loadworthy.bench.verdicts import NOT_DECIDED, OUTSIDE, WITHIN, Band, band_words
from loadworthy.quantities import show
from loadworthy.report.choices import told
from loadworthy.report.columns import Column
from loadworthy.report.tables import lettered, table
from loadworthy.report.text import clean, paragraph

__all__ = [
    "FINDING_COLUMNS", "LETTERS", "SAMPLE", "SPREAD_COLUMNS", "bench_text", "finding_rows", "flat_rows", "how_lines",
    "how_text", "opening", "sections", "short_verdict", "spread_rows",
]  # fmt: skip

FINDING_COLUMNS: Final = (
    Column(name="title", heading="figure"),
    Column(name="shown", heading="measured", right=True),
    Column(name="claimed", heading="claimed", right=True),
    Column(name="verdict", heading="verdict"),
)
#: In a table the verdict stands beside what is claimed.
_SHORT: Final = {WITHIN: "within", OUTSIDE: "outside", NOT_DECIDED: "not decided"}
SAMPLE: Final = Column(name="sample", heading="sample")
LETTERS: Final = Column(name="letters", heading="notes")
SPREAD_COLUMNS: Final = (
    Column(name="title", heading="figure"),
    Column(name="count", heading="samples", right=True),
    Column(name="mean", heading="mean", right=True),
    Column(name="deviation", heading="deviation", right=True),
)


def bench_text(result: Mapping[str, Any], *, width: int) -> str:
    """Tell a measurement to a person.

    Parameters
    ----------
    result
        It as JSON says it.
    width
        Characters a line.
    """
    rows, remarks = lettered(finding_rows(result), "letters")
    several = len(result["samples"]) > 1 or bool(result["refused"])
    columns = (*((SAMPLE,) if several else ()), *FINDING_COLUMNS, LETTERS)
    notes = "".join(paragraph(f"{letter}  {remark}", width=width, hanging="   ") + "\n" for letter, remark in remarks)
    parts = [
        paragraph(opening(result), width=width) + "\n",
        table(rows, columns, width=width) + (f"\n{notes}" if notes else ""),
        *(told(f"{heading}:", lines, width=width) for heading, lines in sections(result)[:2]),
        _spread(result["spread"], width),
        *(told(f"{heading}:", lines, width=width) for heading, lines in sections(result)[2:]),
        told("Mind:", result["cautions"], width=width),
    ]
    return "\n".join(part for part in parts if part)


def sections(result: Mapping[str, Any]) -> list[tuple[str, list[str]]]:
    """Return what else there is to say of a measurement, under its headings; a heading may have no lines."""
    return [
        ("Taken together", list(_together(result))),
        ("Rows that were not taken", [f"row {one['row']}: {one['reason']}" for one in result["refused"]]),
        ("A part outside what is claimed may still serve. As measured", _as_measured(result["as_measured"])),
        ("What it draws as it is", _drawn(result["drawn"])),
    ]


def opening(result: Mapping[str, Any]) -> str:
    """Say in one sentence what a measurement comes to."""
    part = result["part"]
    left = len(result["refused"])
    open_rows = f" {left} {'row was' if left == 1 else 'rows were'} not taken." if left else ""
    if part is None:
        return f"The load: {result['verdict']}.{open_rows}"
    called = " ".join(clean(word) for word in (part["maker"], part["part_number"]) if word)
    said = "".join(f" {note[0].upper()}{note[1:]}." for note in part["notes"])
    return f"{called}: {result['verdict']}.{open_rows}{said}"


def finding_rows(result: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Make one row a finding, its figures written with their units, its remarks as letters."""
    return [
        {
            "sample": sample["sample"],
            "title": finding["title"],
            "shown": _shown(finding),
            "claimed": _claimed(finding),
            "verdict": _SHORT[finding["verdict"]],
            "letters": [*(f"assumed: {text}" for text in finding["assumed"]), *_claim_said(finding), *finding["notes"]],
        }
        for sample in result["samples"]
        for finding in sample["findings"]
    ]


def short_verdict(verdict: str) -> str:
    """Return the one or two words that stand for a verdict in a table."""
    return _SHORT[verdict]


def flat_rows(result: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Make one flat row a finding, in full precision."""
    part = result["part"] or {}
    return [
        {
            "part_number": part.get("part_number"),
            "sample": sample["sample"],
            **{name: value for name, value in finding.items() if name != "shares"},
        }
        for sample in result["samples"]
        for finding in sample["findings"]
    ]


def _shown(finding: Mapping[str, Any]) -> str:
    unit = finding["unit"]
    if unit is None:
        return " "
    if finding["value"] is None:
        return f"at most {show(finding['high'], unit)}"
    return _plus_minus(finding["value"], finding["uncertainty"], unit)


def _plus_minus(value: float, uncertainty: float, unit: str) -> str:
    """Write a value with its expanded uncertainty, no finer than that deserves.

    Examples
    --------
    >>> _plus_minus(0.0125384, 0.00091, "ohm"), _plus_minus(1.9, 0.0, "V")
    ('12.54 mΩ ± 0.91 mΩ', '1.9 V ± 0 V')
    """
    digits = 3
    if uncertainty > 0.0 and value != 0.0:
        digits = min(max(math.ceil(math.log10(abs(value) / uncertainty)) + 2, 2), 6)
    written = show(value, unit, digits)
    return f"{written} ± {_like(uncertainty, written, value, unit)}"


def _like(uncertainty: float, written: str, value: float, unit: str) -> str:
    """Write an uncertainty with the prefix of its value."""
    number, _, sign = written.partition(" ")
    scale = value / float(number) if float(number) else 1.0
    # The written number is rounded: the scale is the power of ten next to it.
    factor = 10.0 ** round(math.log10(abs(scale)))
    return f"{show(uncertainty / factor, '1', 2)} {sign}".strip() if unit != "1" else show(uncertainty, "1", 2)


def _band(finding: Mapping[str, Any]) -> Band | None:
    if finding["claimed_by"] is None:
        return None
    return Band(least=finding["claimed_least"], most=finding["claimed_most"], limit=bool(finding["claimed_is_limit"]))


def _claimed(finding: Mapping[str, Any]) -> str:
    return " " if finding["unit"] is None else band_words(_band(finding), finding["unit"])


def _claim_said(finding: Mapping[str, Any]) -> Iterator[str]:
    if finding["claimed_by"]:
        yield f"claimed: {finding['claimed_by']}"


def _together(result: Mapping[str, Any]) -> Iterator[str]:
    if result["kind"] == "load":
        return
    samples = result["samples"]
    if len(samples) == 1:
        yield samples[0]["words"]
        return
    counts = result["counts"]
    yield (
        f"{counts['within']} of {len(samples)} samples within, {counts['outside']} outside, "
        f"{counts['not_decided']} not decided."
    )
    for sample in samples:
        yield f"{sample['sample']}: {sample['words']}"


def _spread(spread: Sequence[Mapping[str, Any]], width: int) -> str:
    if not spread:
        return ""
    return "How the samples lie together:\n\n" + table(spread_rows(spread), SPREAD_COLUMNS, width=width)


def spread_rows(spread: Sequence[Mapping[str, Any]]) -> list[dict[str, Any]]:
    """Make one row a figure of which several samples were taken."""
    return [
        {**one, "mean": show(one["mean"], one["unit"]), "deviation": show(one["deviation"], one["unit"], 2)}
        for one in spread
    ]


def _as_measured(found: Mapping[str, Any] | None) -> list[str]:
    if found is None:
        return []
    sink = "no sink" if found["heatsink_k_per_w"] is None else f"a sink of {show(found['heatsink_k_per_w'], 'K/W')}"
    lines = [
        f"Counted with {show(found['resistance_ohm'], 'ohm')}, the upper end of what was measured, at "
        f"{show(found['drive_v'], 'V')} on the gate, in air of {show(found['ambient_degc'], 'degC')}, {sink}."
    ]
    if found["usable_a"] is None:
        lines.append(f"What it carries is not known: {found['unknown']}.")
    else:
        lines.append(
            f"It carries {show(found['usable_a'], 'A')} for good, set by {found['governs']} ({found['source']})."
        )
        if found["loss_w"] is not None:
            lines.append(
                f"It then makes {show(found['loss_w'], 'W')} of heat, and its junction gets to "
                f"{show(found['junction_degc'], 'degC')}."
            )
        if found["least_load_ohm"] is not None:
            lines.append(
                f"On {show(found['supply_v'], 'V')} the load must not have less than "
                f"{show(found['least_load_ohm'], 'ohm')}."
            )
    return [*lines, *(f"assumed: {text}" for text in found["assumed"]), *found["notes"]]


def _drawn(drawn: Mapping[str, Any] | None) -> list[str]:
    if drawn is None:
        return []
    marked = "" if drawn["marked_a"] is None else f", and not {show(drawn['marked_a'], 'A')} as its marking says"
    span = (
        f"from {show(drawn['low_a'], 'A')} to {show(drawn['high_a'], 'A')}"
        if drawn["high_a"] is not None
        else f"at least {show(drawn['low_a'], 'A')}"
    )
    lines = [
        f"On {show(drawn['supply_v'], 'V')} it draws {show(drawn['value_a'], 'A')} ({span}){marked}: "
        f"{show(drawn['value_w'], 'W')}."
    ]
    if drawn["cold_a"] is not None:
        word = "at least" if drawn["high_a"] is None else "up to"
        lines.append(f"At switching on, cold, {word} {show(drawn['cold_a'], 'A')}.")
    return [*lines, *(f"assumed: {text}" for text in drawn["assumed"]), *drawn["notes"]]


def how_lines(how: Mapping[str, Any]) -> list[tuple[str, list[str]]]:
    """Return how a measurement is taken, under its headings; cautions and source stand by themselves."""
    single = {"gate": "Gate", "current": "Current", "pulse": "For how long", "wires": "Wires"}
    return [
        ("Circuit", list(how["circuit"])),
        ("With", [f"{words}: {how[name]}" for name, words in single.items() if how[name]]),
        ("Besides", list(how["more"])),
    ]


def how_text(how: Mapping[str, Any], *, width: int) -> str:
    """Tell how a measurement is taken."""
    parts = [
        f"{how['title']}\n",
        *(told(f"{heading}:", lines, width=width) for heading, lines in how_lines(how)),
        told("Mind:", how["cautions"], width=width),
        paragraph(f"Source: {how['source']}", width=width) + "\n",
    ]
    return "\n".join(part for part in parts if part)
