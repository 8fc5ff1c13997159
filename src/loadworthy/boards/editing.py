"""The text of a board file changed in one place: keys set, links and outputs added, moved, taken away or replaced."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from typing import Any, Final

from loadworthy import toml_blocks as blocks
from loadworthy.boards.asking import typed
from loadworthy.boards.model import Board, Link
from loadworthy.boards.schema import STAYS, TABLES, field_of
from loadworthy.errors import BoardError
from loadworthy.toml_files import read_toml
from loadworthy.toml_positions import Path, path_of, written

__all__ = ["add", "as_mended", "begun", "move", "put", "remove", "tables_of", "with_part"]

_NAME: Final = "the board"
#: What the top of a file holds, in the order in which one reads it.
_ORDER: Final = ("supply", "surroundings", "section", "output")

_Tables = dict[str, Any]


def tables_of(text: str) -> _Tables:
    """Read the tables of a board's text, whatever they hold.

    Raises
    ------
    BoardError
        It is no TOML.
    """
    return dict(read_toml(text.removeprefix("\ufeff"), fault=BoardError, name=_NAME).raw)


def begun(*, title: str, supply: Mapping[str, Any], surroundings: Mapping[str, Any]) -> str:
    r"""Begin a board: its title, what feeds it, and its air.

    Examples
    --------
    >>> print(begun(title="Bench", supply={"voltage": "12V"}, surroundings={"ambient": "40degC"}), end="")
    title = "Bench"
    <BLANKLINE>
    [supply]
    voltage = "12V"
    <BLANKLINE>
    [surroundings]
    ambient = "40degC"
    """
    return blocks.written_table((), {"title": title, "supply": supply, "surroundings": surroundings})


def put(text: str, where: str, values: Mapping[str, Any], *, comment: str = "") -> str:
    r"""Set keys of a table, or take them away; the table is made where there is none.

    Parameters
    ----------
    text
        The board's text.
    where
        The table, such as ``output[2].link[1]``, ``supply`` or, for the top, nothing.
    values
        Key → what it is to be; None takes it away. What feeds from a section that is renamed goes on to do so.
    comment
        What is said behind a key that is new.

    Raises
    ------
    BoardError
        It is no TOML, or has no such table.

    Examples
    --------
    >>> put('[supply]\nvoltage = "12V"  # a brick\n', "supply", {"voltage": "24V", "tolerance": "5%"})
    '[supply]\nvoltage = "24V"  # a brick\ntolerance = "5%"\n'
    """
    path = path_of(where)
    before = _reached(tables_of(text), path, make=True)

    def change(raw: _Tables) -> None:
        table = _reached(raw, path, make=True)
        for key, value in values.items():
            table.pop(key, None) if value is None else table.__setitem__(key, value)

    new = _edited(
        text,
        change,
        lambda plain: blocks.values_put(plain, path, values, comment=comment, order=_ORDER),
        lambda plain: blocks.put_inline(plain, path, values),
    )
    old_name = before.get("name") if path[:1] == ("section",) and len(path) == 2 else None
    if old_name is not None and values.get("name", old_name) != old_name:
        for group in _fed_from(new, old_name):
            new = put(new, group, {"fed_by": values["name"]})
    return new


def add(text: str, where: str, values: Mapping[str, Any], *, at: int | None = None) -> str:
    """Add a table to a list of tables.

    Parameters
    ----------
    text
        The board's text.
    where
        The list, such as ``output[2].link`` or ``section``.
    values
        Its keys; a table or a list of tables among them stands below it.
    at
        Before which one it comes, counted from 0; at the end if not given.

    Raises
    ------
    BoardError
        It is no TOML, or there is no such place.
    """
    path = path_of(where)
    if not path or not isinstance(path[-1], str):
        raise _nowhere(where)

    def change(raw: _Tables) -> None:
        listed = _reached(raw, path[:-1]).setdefault(path[-1], [])
        if not isinstance(listed, list):
            raise _nowhere(where)
        listed.insert(len(listed) if at is None else at, dict(values))

    return _edited(text, change, lambda plain: blocks.added(plain, path, values, at=at, order=_ORDER))


def remove(text: str, where: str) -> str:
    """Take a table away, and what stands below it; what a section fed is fed by what fed the section.

    Raises
    ------
    BoardError
        It is no TOML, or there is no such table.
    """
    path = path_of(where)
    gone = _reached(tables_of(text), path)
    if not path:
        raise _nowhere(where)
    if path[0] == "section" and len(path) == 2 and gone.get("name") is not None:
        for group in _fed_from(text, gone["name"]):
            text = put(text, group, {"fed_by": gone.get("fed_by")})

    def change(raw: _Tables) -> None:
        holder, last = _holder(raw, path), path[-1]
        del holder[last]
        if isinstance(holder, list) and not holder:  # a list without tables is not written
            del _reached(raw, path[:-2])[path[-2]]

    return _edited(text, change, lambda plain: blocks.taken_out(plain, path))


def move(text: str, where: str, by: int) -> str:
    """Let a table of a list change places with the one before (-1) or after (+1).

    Raises
    ------
    BoardError
        It is no TOML, or there is nothing to change places with.
    """
    path = path_of(where)
    _reached(tables_of(text), path)
    if not path or not isinstance(path[-1], int):
        raise _nowhere(where)
    upper = (*path[:-1], min(path[-1], path[-1] + by))
    lower = (*path[:-1], max(path[-1], path[-1] + by))

    def change(raw: _Tables) -> None:
        listed = _holder(raw, path)
        first, second = upper[-1], lower[-1]
        if not isinstance(first, int) or not isinstance(second, int) or first < 0 or second >= len(listed):
            raise BoardError(f"{where} cannot go further.", where=_NAME, way_out="It stands at the end already.")
        listed[first], listed[second] = listed[second], listed[first]

    return _edited(text, change, lambda plain: blocks.swapped(plain, upper, lower))


def with_part(text: str, where: str, part: str, maker: str | None = None) -> str:
    """Put a part of the catalogue in the place of what stands there: what it is for stays, its figures go.

    Parameters
    ----------
    text
        The board's text.
    where
        A link, or the ``freewheel`` of an output; a freewheel is made where there is none.
    part, maker
        The part; its figures are read from the catalogue.

    Raises
    ------
    BoardError
        It is no TOML, or there is no such place, or a thing of that kind has no catalogue number.
    """
    path = path_of(where)
    if not path:
        raise _nowhere(where)
    table = _reached(tables_of(text), path, make=path[-1] == "freewheel")
    kind = "freewheel" if path[-1] == "freewheel" else table.get("kind")
    known = TABLES.get(str(kind))
    if known is None or known.key("part") is None:
        raise BoardError(f"{where} is nothing that a part of the catalogue can replace.", way_out="Edit its figures.")
    stays = STAYS.get(str(kind), ())
    values: _Tables = {
        key.name: None for key in known.keys if key.name in table and not key.required and field_of(key) not in stays
    }
    return put(text, where, {**values, "part": part, "maker": maker})


def as_mended(text: str, before: Board, after: Board) -> str:
    """Write into a board's text what :func:`~loadworthy.boards.choosing.mend` did to the board.

    Parameters
    ----------
    text
        The text of `before`.
    before, after
        The board as it was read, and as it was mended.

    Raises
    ------
    BoardError
        It is no TOML, or not that of `before`.
    """
    old = {link.where: link for link in before.links()}
    own: list[tuple[int, Link]] = []
    for number, output in enumerate(after.outputs):
        diode = output.freewheel
        if diode is not None and diode.part is not None and diode != before.outputs[number].freewheel:
            text = with_part(text, f"output[{number + 1}].freewheel", diode.part, diode.maker)
        own += [(number, link) for link in output.links if link.where not in old]
    for link in after.links():
        if link.where in old and link != old[link.where]:
            text = _replaced(text, link)
    for number, link in own:
        given = {"kind": link.kind, "name": link.name, "type": getattr(link, "type", None)}
        values = {**given, "part": link.part, "maker": link.maker}
        said = {key: value for key, value in values.items() if value is not None}
        text = add(text, f"output[{number + 1}].link", said, at=0)
    return text


def _replaced(text: str, link: Link) -> str:
    beside = getattr(link, "parallel_wire_m2", None)
    if beside is not None:
        return put(text, link.where, {"parallel_wire": typed(beside, "m2")})
    if link.part is None:
        return text
    text = with_part(text, link.where, link.part, link.maker)
    there = _reached(tables_of(text), path_of(link.where))
    missing = {
        key.name: typed(value, key.unit)
        for key in TABLES[link.kind].keys
        if key.unit and field_of(key) in STAYS[link.kind] and key.name not in there
        and (value := getattr(link, field_of(key))) is not None
    }  # fmt: skip
    return put(text, link.where, missing) if missing else text


def _edited(text: str, change: Callable[[_Tables], None], *edits: Callable[[str], str]) -> str:
    tables_of(text)  # what is no TOML is said as such
    try:
        return blocks.edited(text, change, *edits)
    except ValueError as error:
        raise BoardError("that cannot be written into this file.", where=_NAME, way_out="Change its text.") from error


# -- the tables ----------------------------------------------------------------------------------------
def _nowhere(where: str) -> BoardError:
    return BoardError(f"the board has no {where or 'such place'}.", where=_NAME, way_out="Open its page anew.")


def _reached(raw: Any, path: Path, *, make: bool = False) -> Any:  # noqa: ANN401 - a table or a list of them
    """Return what stands at a path; with `make`, a table that is not there yet."""
    found = raw
    for place, step in enumerate(path):
        last = place == len(path) - 1
        if make and last and isinstance(found, dict) and isinstance(step, str):
            found = found.setdefault(step, {})
            continue
        try:
            found = found[step]
        except (LookupError, TypeError):
            raise _nowhere(written(path)) from None
    if not isinstance(found, dict):
        raise _nowhere(written(path))
    return found


def _holder(raw: _Tables, path: Path) -> Any:  # noqa: ANN401 - as above
    """Return what holds the last step of a path; it is known to be there."""
    found: Any = raw
    for step in path[:-1]:
        found = found[step]
    return found


def _fed_from(text: str, name: str) -> Iterator[str]:
    """Say which sections and outputs a section feeds."""
    raw = tables_of(text)
    for kind in ("section", "output"):
        groups = raw.get(kind)
        for place, group in enumerate(groups if isinstance(groups, list) else ()):
            if isinstance(group, dict) and group.get("fed_by") == name:
                yield written((kind, place))
