"""A need as a form: its fields from the need's own, what was filled in, and the need that it makes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import MISSING, Field, dataclass, fields
from typing import Any, Final

from werkzeug.datastructures import MultiDict

from loadworthy.errors import UsageError
from loadworthy.needs import NEEDS, Need
from loadworthy.needs.base import Need as AnyNeed

__all__ = ["FieldView", "field_views", "given_of", "need_class", "need_of"]

#: Fields that say the same load in several ways: the one filled in last counts.
_LOADS: Final = frozenset({"current", "resistance", "power"})
#: Fields that stand open, in this order; all others wait behind a word.
_FIRST: Final = (
    "supply", "resistance", "power", "current", "loss", "inductance", "tolerance", "drive", "ambient", "package",
    "heatsink", "load", "channel", "poles", "pitch", "wire", "type", "coldest", "fault", "weakest", "length", "strand",
    "rthjc",
)  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class FieldView:
    """One field of the form: how it is called, what stands in it, and how one fills it in.

    With `blank`, a choice can be taken back.
    """

    name: str
    label: str
    help: str
    kind: str
    value: str
    example: str
    choices: tuple[str, ...]
    required: bool
    first: bool
    one_of: str
    blank: bool = False


def need_class(family: str) -> type[Need]:
    """Return the need of a family.

    Raises
    ------
    UsageError
        There is no such family.
    """
    if family not in NEEDS:
        raise UsageError(f"there is no family {family!r}.", way_out=f"It is one of {', '.join(NEEDS)}.")
    return NEEDS[family]


def field_views(need: type[Need], filled: MultiDict[str, str]) -> list[FieldView]:
    """Make the fields of the form: those that matter first, then those that all families are asked alike."""
    shared = {one.name for one in fields(AnyNeed)}
    order = {name: place for place, name in enumerate(_FIRST)}
    known = [_view(one, filled, first=_required(one) or one.name in order) for one in fields(need)]
    return sorted(known, key=lambda one: (not one.first, one.name in shared, order.get(one.name, len(order))))


def _required(one: Field[Any]) -> bool:
    return one.default is MISSING and one.default_factory is MISSING


def _view(one: Field[Any], filled: MultiDict[str, str], *, first: bool) -> FieldView:
    choices = tuple(one.metadata.get("choices") or ())
    several = isinstance(one.default, tuple)
    kind = "tick" if one.default is False else "choice" if choices and not several else "several" if several else "text"
    usual = one.default if isinstance(one.default, str) else ""
    return FieldView(
        name=one.name,
        label=one.name.replace("_", " "),
        help=str(one.metadata.get("help", "")),
        kind=kind,
        value=", ".join(filled.getlist(one.name))
        if several
        else filled.get(one.name, usual if kind == "choice" else ""),
        example=usual or str(one.metadata.get("example") or ""),
        choices=choices,
        required=_required(one),
        first=first,
        one_of="load" if one.name in _LOADS else "",
    )


def given_of(need: type[Need], filled: MultiDict[str, str]) -> dict[str, Any]:
    """Return what was filled in, as the need takes it; a field left empty is not given."""
    given: dict[str, Any] = {}
    for one in fields(need):
        texts = [text.strip() for text in filled.getlist(one.name) if text.strip()]
        if not texts:
            continue
        if isinstance(one.default, tuple):
            given[one.name] = tuple(word.strip() for text in texts for word in text.split(",") if word.strip())
        elif one.default is False:
            given[one.name] = texts[-1] not in ("no", "0")
        else:
            given[one.name] = texts[-1]
    return given


def need_of(need: type[Need], given: Mapping[str, Any]) -> Need:
    """Make the need.

    Raises
    ------
    LoadworthyError
        Something is missing or cannot be; ``where`` names the field as the command line does.
    """
    missing = [one.name for one in fields(need) if _required(one) and one.name not in given]
    if missing:
        named = " and ".join(name.replace("_", " ") for name in missing)
        raise UsageError(
            f"{named} {'is' if len(missing) == 1 else 'are'} not given.",
            where=f"--{missing[0].replace('_', '-')}",
            way_out="Fill it in.",
        )
    return need(**given)
