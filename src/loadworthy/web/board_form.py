"""What stands in a board's file as forms: fields from the tables of what may stand there, and what was filled in."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from werkzeug.datastructures import MultiDict

from loadworthy.boards.editing import tables_of
from loadworthy.boards.schema import KINDS, TABLES, Key
from loadworthy.errors import BoardError
from loadworthy.toml_positions import path_of
from loadworthy.web.asking import FieldView
from loadworthy.web.board_work import Work, rows_of

__all__ = ["Form", "Group", "applied", "form_at", "given_in", "grouped"]

#: Trade symbols that letters alone do not show.
_LABELS: Final = {"rthja": "RθJA", "rthjc": "RθJC", "rthcs": "RθCS", "vds": "VDS", "pwm": "PWM"}
#: What one looks for first besides what must be there.
_SOON: Final = frozenset(
    {"name", "fed_by", "part", "maker", "drive", "rated_voltage", "standard", "strand", "poles", "pitch"}
)
#: Kind of a new link → what the form says of it to begin with: what is usual, to be seen and to be changed.
_USUAL: Final[dict[str, dict[str, str]]] = {
    "fuse": {"type": "one-shot"},
    "trace": {"copper": "1oz", "layer": "outer"},
    "transistor": {"drive": "5V"},
}
#: Tables of which all keys stand open.
_OPEN: Final = frozenset({"board", "supply", "surroundings", "section", "output", "load"})


@dataclass(frozen=True, kw_only=True)
class Form:
    """What one form asks for.

    Attributes
    ----------
    where
        The table that is worked on, or the list that one is added to.
    title
        What stands above it.
    tables
        What comes before the names of its fields → the table that says which there are.
    values
        What stands in the file now, by prefix.
    adding
        Whether a table is added.
    kind
        The kind of link, where it is one.
    """

    where: str
    title: str
    tables: Mapping[str, str]
    values: Mapping[str, Mapping[str, Any]]
    adding: bool
    kind: str = ""


@dataclass(frozen=True, kw_only=True)
class Group:
    """Fields that belong together; those that can wait stand behind a word."""

    legend: str
    first: tuple[FieldView, ...]
    more: tuple[FieldView, ...]
    open: bool


_LEGENDS: Final = {
    "supply": "Supply",
    "surroundings": "Air round the board",
    "load": "Load",
    "freewheel": "Freewheel diode",
}


def form_at(work: Work, where: str, *, kind: str = "") -> Form:
    """Return the form of a place in the board's file.

    Parameters
    ----------
    work
        The board.
    where
        Nothing for the board itself; a section, an output or a link; or a list of them that one is to be added to.
    kind
        Of a link that is to be added.

    Raises
    ------
    LoadworthyError
        There is no such place, or no such kind of link.
    """
    path = path_of(where)
    if not path:
        tables = {"": "board", "supply": "supply", "surroundings": "surroundings"}
        title = "Title, supply and air" if work.raw else "A new board"
        return Form(where=where, title=title, tables=tables, values=_values(work.raw, tables), adding=False)
    last = path[-1]
    if last in ("section", "output"):
        tables = {"": "section"} if last == "section" else {"": "output", "load": "load", "freewheel": "freewheel"}
        return Form(where=where, title=f"A new {last}", tables=tables, values=_values({}, tables), adding=True)
    if last == "link":
        _reached(work, path[:-1])
        if kind not in KINDS:
            raise BoardError(f"there is no kind of link {kind!r}.", way_out=f"It is one of {', '.join(KINDS)}.")
        title = "A new link" if kind == "plain" else f"A new {kind}"
        usual: dict[str, Mapping[str, Any]] = {"": _USUAL.get(kind, {})}
        return Form(where=where, title=title, tables={"": kind}, values=usual, adding=True, kind=kind)
    table = _reached(work, path)
    name = str(table.get("name") or where)
    if len(path) >= 2 and path[-2] == "link":
        kind = table["kind"] if table.get("kind") in KINDS else kind
        if kind not in KINDS:
            raise BoardError(
                "it does not say what kind of link it is.", where=where, way_out="Say it in the board's text."
            )
        return Form(
            where=where, title=name, tables={"": kind}, values=_values(table, {"": kind}), adding=False, kind=kind
        )
    tables = {"": "section"} if path[0] == "section" else {"": "output", "load": "load", "freewheel": "freewheel"}
    if len(path) != 2 or path[0] not in ("section", "output"):
        raise BoardError(f"{where} is not worked on by itself.", way_out="Choose it from the board's page.")
    return Form(where=where, title=name, tables=tables, values=_values(table, tables), adding=False)


def _reached(work: Work, path: Sequence[str | int]) -> Mapping[str, Any]:
    found: Any = work.raw
    for step in path:
        try:
            found = found[step]
        except (LookupError, TypeError):
            found = None
    if not isinstance(found, Mapping):
        raise BoardError("the board has no such place.", way_out="Go back to the board and choose it anew.")
    return found


def _values(table: Mapping[str, Any], tables: Mapping[str, str]) -> dict[str, Mapping[str, Any]]:
    found: dict[str, Mapping[str, Any]] = {}
    for prefix in tables:
        inner = table.get(prefix) if prefix else table
        found[prefix] = inner if isinstance(inner, Mapping) else {}
    return found


def grouped(form: Form, work: Work, typed: MultiDict[str, str] | None, wrong: Mapping[str, str]) -> list[Group]:
    """Make the fields of a form.

    Parameters
    ----------
    form, work
        The form, and the board that it is of.
    typed
        What was filled in, where it was sent and is not sound; else what stands in the file is shown.
    wrong
        Name of a field → what is wrong with it.
    """
    groups = []
    for prefix, name in form.tables.items():
        table, views = TABLES[name], []
        for key in table.keys:
            if key.name == "kind" and form.kind:
                continue
            field = f"{prefix}.{key.name}" if prefix else key.name
            value = _text(form.values[prefix].get(key.name), key) if typed is None else typed.get(field, "")
            views.append(_view(name, key, field=field, value=value, sections=_sections(work, form)))
        first = tuple(one for one in views if one.first)
        more = tuple(one for one in views if not one.first)
        shown = any(one.value or one.name in wrong for one in more)
        groups.append(Group(legend=_LEGENDS.get(prefix, ""), first=first, more=more, open=shown))
    return groups


def _sections(work: Work, form: Form) -> tuple[str, ...]:
    """Name the sections that can feed what the form is of."""
    own = form.values[""].get("name") if form.where.startswith("section") else None
    return tuple(str(row["name"]) for row in rows_of(work.raw, "section") if row.get("name") and row["name"] != own)


def _view(name: str, key: Key, *, field: str, value: str, sections: tuple[str, ...]) -> FieldView:
    table, choices = TABLES[name], key.choices
    if key.name == "fed_by":
        choices = sections if not value or value in sections else (*sections, value)
    asked = {word for group in (*table.one_of, *table.some_of) for word in group}
    kind = "tick" if key.shape == "flag" else "choice" if choices or key.name == "fed_by" else "text"
    return FieldView(
        name=field,
        label=_LABELS.get(key.name, key.name.replace("_", " ")),
        help=key.words + (f" Like {_example(key)}." if key.shape == "curve" else ""),
        kind=kind,
        value=value,
        example=_example(key),
        choices=choices,
        required=key.required,
        first=name in _OPEN or key.required or key.name in asked or key.name in _SOON,
        one_of=next((f"{name}-{group[0]}" for group in table.one_of if key.name in group), ""),
        blank=not key.required,
    )


def _example(key: Key) -> str:
    return "20degC 11.1A; 60degC 8.6A" if key.shape == "curve" else key.example


def _text(value: object, key: Key) -> str:
    """Write what stands in the file as one types it."""
    if value is None or value is False:
        return ""
    if key.shape == "curve" and isinstance(value, list):
        return "; ".join(" ".join(map(str, pair)) if isinstance(pair, list) else str(pair) for pair in value)
    return "yes" if value is True else str(value)


def given_in(form: Form, typed: Mapping[str, str]) -> dict[str, dict[str, Any]]:
    """Return what was filled in as it is to stand in the file, by prefix; what was left empty is None."""
    given: dict[str, dict[str, Any]] = {}
    for prefix, name in form.tables.items():
        given[prefix] = {
            key.name: _read(key, typed.get(f"{prefix}.{key.name}" if prefix else key.name, "").strip())
            for key in TABLES[name].keys
            if not (key.name == "kind" and form.kind)
        }
    if form.kind:
        given[""]["kind"] = form.kind
    return given


def _read(key: Key, text: str) -> Any:  # noqa: ANN401 - what TOML holds
    if not text:
        return None
    if key.shape == "flag":
        return text not in ("no", "0")
    if key.shape == "count":
        return int(text) if text.isascii() and text.isdigit() and len(text) < 10 else text
    if key.shape == "curve":
        pairs = [part.split() for part in text.split(";") if part.strip()]
        # "20 degC 8 A" is two words too many: the unit belongs to its number.
        joined = [[pair[0] + pair[1], pair[2] + pair[3]] if len(pair) == 4 else pair for pair in pairs]
        return joined if all(len(pair) == 2 for pair in joined) else text
    return text


def applied(text: str, form: Form, given: Mapping[str, Mapping[str, Any]], *, at: int | None = None) -> tuple[str, str]:
    """Put what was filled in into the board's text; return it with the place that was worked on."""
    from loadworthy.boards import editing  # noqa: PLC0415 - slow to start

    if not form.where and not text.strip():
        return editing.begun(
            title=given[""]["title"] or "", supply=_filled(given["supply"]), surroundings=_filled(given["surroundings"])
        ), ""
    if form.adding:
        inner = {prefix: _filled(values) for prefix, values in given.items() if prefix}
        new = {**_filled(given[""]), **{prefix: found for prefix, found in inner.items() if found}}
        if form.kind:
            new = {"kind": form.kind, **new}
        count = _count(text, form.where)
        place = count if at is None else min(at, count)
        return editing.add(
            text, form.where, new, at=at if at is None or at < count else None
        ), f"{form.where}[{place + 1}]"
    for prefix, values in given.items():
        place_of = f"{form.where}.{prefix}".strip(".") if prefix else form.where
        if prefix == "freewheel" and not _filled(values):
            text = editing.remove(text, place_of) if form.values[prefix] else text
        elif _filled(values) or form.values[prefix]:
            text = editing.put(text, place_of, _changed(form.values[prefix], values))
    return text, form.where


def _filled(values: Mapping[str, Any]) -> dict[str, Any]:
    return {key: value for key, value in values.items() if value is not None}


def _changed(there: Mapping[str, Any], values: Mapping[str, Any]) -> dict[str, Any]:
    """Leave alone what is as it was, however its owner wrote it."""
    same = {
        key for key, value in values.items() if there.get(key) == value or (value is None and there.get(key) is False)
    }
    return {key: value for key, value in values.items() if key not in same}


def _count(text: str, where: str) -> int:
    found: Any = tables_of(text)
    for step in path_of(where):
        found = found.get(step, []) if isinstance(found, dict) else found[step]
    return len(found)
