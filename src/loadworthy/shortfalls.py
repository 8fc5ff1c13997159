"""What becomes of the parts that do not fit: how many each criterion stopped, and which fell short by one step."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

from loadworthy.asking import Asking, figures_first, leading, names_last
from loadworthy.judging import assumed, passes, plain, remarks
from loadworthy.needs import Need

__all__ = ["Counts", "count_parts", "near_misses_of", "open_questions"]

#: Under this name a part is counted that a kept measurement bars.
MEASURED: Final = "measured"


@dataclass(frozen=True, kw_only=True)
class Counts:
    """How many parts were looked at, and what became of them.

    ``stopped`` counts a part under the first criterion that it fails, ``unknown`` one that fails none under
    the first whose verdict is not known; considered = fit + stopped + unknown.
    """

    considered: int
    fit: int
    stopped: Mapping[str, int]
    unknown: Mapping[str, int]

    def as_json(self) -> dict[str, Any]:
        """Return them as plain values."""
        return {
            "considered": self.considered,
            "fit": self.fit,
            "stopped": dict(self.stopped),
            "unknown": dict(self.unknown),
        }


def count_parts(asking: Asking) -> Counts:
    """Count what each criterion stopped, of which it is not known, and what fits."""
    need = asking.need
    names = [criterion.name for criterion in need.rules.criteria]
    slots = {
        "failed": "\n            ".join(f"WHEN NOT ok_{name} THEN '{name}'" for name in names),
        "unknown": "\n            ".join(f"WHEN ok_{name} IS NULL AND NOT $let_{name} THEN '{name}'" for name in names),
    }
    stopped, unknown, fit = dict.fromkeys(need.asked(), 0), Counter[str](), 0
    asked = asking.statement("stopped", closely=True, slots=slots)
    for row in asking.rows(asked):
        if row["failed"] is not None:
            stopped[row["failed"]] += row["parts"]
        elif row["unknown"] is not None:
            unknown[row["unknown"]] += row["parts"]
        else:
            fit += row["parts"]
    open_ones = {name: unknown[name] for name in need.asked() if unknown[name]}
    if need.bar_measured_outside:
        stopped = {MEASURED: asking.barred_parts(), **stopped}
    considered = fit + sum(stopped.values()) + sum(open_ones.values())
    return Counts(considered=considered, fit=fit, stopped=stopped, unknown=open_ones)


def near_misses_of(asking: Asking, near: int) -> tuple[dict[str, Any], ...]:
    """Return parts that one numeric criterion stopped and nothing else, the nearest first."""
    need, criteria = asking.need, asking.need.rules.criteria
    numeric = [criterion for criterion in criteria if criterion.numeric]
    blocks = [f"CASE WHEN {passes(criterion)} THEN 0 ELSE 1 END AS block_{criterion.name}" for criterion in criteria]
    missed = [
        f"WHEN NOT ok_{one.name} AND "
        + " + ".join(f"block_{other.name}" for other in criteria if other is not one and one.name not in other.rests_on)
        + f" = 0 THEN '{one.name}'"
        for one in numeric
    ]
    slots = {
        "blocks": ",\n        ".join(blocks),
        "missed": "\n        ".join(missed),
        "has": " ".join(f"WHEN '{one.name}' THEN has_{one.name}" for one in numeric),
        "needs": " ".join(f"WHEN '{one.name}' THEN needs_{one.name}" for one in numeric),
    }
    keys = ("shortfall", *need.rules.ranking.by)
    rows = leading(asking, "near", near, keys=keys, late=False, closely=True, slots=slots)
    missing = [row for row in rows if row["criterion"] is not None]
    missing.sort(key=lambda row: (*figures_first(row, keys), *names_last(row)))
    return tuple(_miss(row, need) for row in missing[:near])


def _miss(row: Mapping[str, Any], need: Need) -> dict[str, Any]:
    criterion = need.rules.criterion(row["criterion"])
    shown = ("part_key", "maker", "part_number", "package")
    return {
        **{name: row[name] for name in shown},
        "criterion": criterion.name,
        "has": plain(row["has"]),
        "needs": plain(row["needs"]),
        "unit": criterion.unit,
        "sense": criterion.sense,
        "note": criterion.flag_words if criterion.flag and row[criterion.flag] else None,
        **need.remedy(row),
        "assumed": assumed(row, need),
        "remarks": remarks(row, need.rules),
    }


def open_questions(need: Need, counts: Counts) -> list[str]:
    """Say how many parts fail nothing and are not shown to fit either, and how they may pass."""
    said = []
    for name, number in counts.unknown.items():
        whose = "1 part fails" if number == 1 else f"{number} parts fail"
        title = need.rules.criterion(name).title
        said.append(
            f"{whose} nothing, but the lists do not say enough to judge “{title}”. With --accept {name} "
            "they may pass, marked: look the figure up in the data sheet before buying."
        )
    return said
