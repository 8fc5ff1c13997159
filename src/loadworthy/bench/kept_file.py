"""A measurement kept as a JSON file, read again: taken as it is where it is whole, refused where it is not."""

from __future__ import annotations

import json
import math
from collections.abc import Mapping
from dataclasses import fields
from pathlib import Path
from typing import Any, Final, NoReturn

from loadworthy.bench.load import Drawn
from loadworthy.bench.outcome import AsMeasured, RefusedRow, Spread
from loadworthy.bench.verdicts import NOT_DECIDED, OUTSIDE, WITHIN
from loadworthy.errors import UnreadableFile
from loadworthy.readings import KINDS

__all__ = ["read_result"]

_WAY_OUT: Final = "Make one with: loadworthy bench … --format json > FILE.json"
#: No measured figure is so great; what is was not written by this program.
_MOST: Final = 1e18

_NUMBER: Final = (float, None)
_VERDICT: Final = frozenset({WITHIN, OUTSIDE, NOT_DECIDED})
#: How a dataclass says what a field holds → what stands in JSON: a type, [of each], (one of), {a word of}.
_FIELDS: Final[Mapping[str, object]] = {
    "str": str, "int": int, "float": float, "float | None": _NUMBER, "str | None": (str, None),
    "tuple[str, ...]": [str],
}  # fmt: skip
_FINDING: Final = {
    "title": str, "unit": (str, None), "value": _NUMBER, "uncertainty": _NUMBER, "low": _NUMBER, "high": _NUMBER,
    "claimed_least": _NUMBER, "claimed_most": _NUMBER, "claimed_by": (str, None), "claimed_is_limit": (bool, None),
    "verdict": _VERDICT, "assumed": [str], "notes": [str],
}  # fmt: skip


def _of(result: type[Any]) -> dict[str, object]:
    return {field.name: _FIELDS[str(field.type)] for field in fields(result)}


_RESULT: Final = {
    "kind": frozenset(KINDS),
    "part": ({"part_number": (str, None), "maker": (str, None), "notes": [str]}, None),
    "verdict": _VERDICT,
    "counts": {"within": int, "outside": int, "not_decided": int},
    "samples": [{"sample": str, "verdict": _VERDICT, "words": str, "findings": [_FINDING]}],
    "refused": [_of(RefusedRow)],
    "spread": [_of(Spread)],
    "as_measured": (_of(AsMeasured), None),
    "drawn": (_of(Drawn), None),
    "cautions": [str],
}


def read_result(path: Path) -> dict[str, Any]:
    """Read a measurement that was written as JSON.

    Parameters
    ----------
    path
        The file, as :meth:`~loadworthy.bench.BenchResult.as_json` and a JSON writer make it.

    Raises
    ------
    UnreadableFile
        It is no JSON, or none of a measurement.
    """
    try:
        found = json.loads(path.read_text(encoding="utf-8-sig"))
    except json.JSONDecodeError as error:
        raise UnreadableFile(
            f"it is no JSON: {error.msg}.", where=f"{path}, line {error.lineno}", way_out=_WAY_OUT
        ) from error
    except (UnicodeDecodeError, RecursionError) as error:
        raise UnreadableFile("it is no JSON.", where=str(path), way_out=_WAY_OUT) from error
    if not isinstance(found, dict) or not {"kind", "samples"} <= set(found):
        raise UnreadableFile("it is no measurement.", where=str(path), way_out=_WAY_OUT)
    wrong = _wrong(found, _RESULT, "")
    if wrong is not None:
        _refuse(path, wrong)
    for number, sample in enumerate(found["samples"], 1):
        for place, finding in enumerate(sample["findings"], 1):
            if not _sound(finding):
                _refuse(path, f"samples[{number}].findings[{place}]")
    return found


def _refuse(path: Path, key: str) -> NoReturn:
    raise UnreadableFile(
        "what stands there is not what a measurement has.", where=f"{path}, key {key}", way_out=_WAY_OUT
    )


def _sound(finding: Mapping[str, Any]) -> bool:
    """Say whether a figure has a value with its uncertainty, or a bound; what was only looked at has neither."""
    if finding["unit"] is None:
        return True
    if finding["value"] is None:
        return finding["high"] is not None
    return finding["uncertainty"] is not None and bool(finding["uncertainty"] >= 0.0)


def _wrong(value: object, shape: object, key: str) -> str | None:
    """Return the first key that does not hold what it should."""
    if isinstance(shape, tuple):
        if value is None and None in shape:
            return None
        return _wrong(value, shape[0], key)
    if isinstance(shape, dict):
        if not isinstance(value, dict):
            return key
        return _first(
            _wrong(value.get(name, NotImplemented), inner, f"{key}.{name}".lstrip(".")) for name, inner in shape.items()
        )
    if isinstance(shape, list):
        if not isinstance(value, list):
            return key
        return _first(_wrong(one, shape[0], f"{key}[{number}]") for number, one in enumerate(value, 1))
    return None if _is(value, shape) else key


def _is(value: object, shape: object) -> bool:
    if isinstance(shape, frozenset):
        return isinstance(value, str) and value in shape
    if shape in (int, float):
        number = isinstance(value, (int, float) if shape is float else int) and not isinstance(value, bool)
        return number and math.isfinite(value) and abs(value) < _MOST  # type: ignore[arg-type]
    return isinstance(value, shape)  # type: ignore[arg-type]


def _first(found: Any) -> str | None:  # noqa: ANN401 - a generator of keys, of which most are None
    return next((key for key in found if key is not None), None)
