"""A TOML text changed in one place, the rest of it left as its owner wrote it, comments and all.

Every change is made twice: on the plain tables, which says what must come out, and in the text, table by table. A text
that does not say just what must come out is not taken. Where a file is written in a way that no change of its blocks
does (tables on one line, keys with dots), it is written anew from its tables, and its comments are lost.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from loadworthy.toml_positions import Path, positions, written

__all__ = ["added", "edited", "in_document", "put_inline", "swapped", "taken_out", "values_put", "written_table"]

_MARK: Final = "\ufeff"
_WORD: Final = r"""(?:[A-Za-z0-9_-]+|"(?:\\.|[^"\\])*"|'[^']*')"""
_WORDS: Final = rf"{_WORD}(?:[ \t]*\.[ \t]*{_WORD})*"
_HEADER: Final = re.compile(rf"[ \t]*\[\[?[ \t]*{_WORDS}[ \t]*\]\]?[ \t]*(?:#.*)?\r?")


@dataclass
class _Block:
    """One table as it stands in the text: what stands above it, its header, its keys."""

    path: Path
    lead: str
    head: str
    body: str


def edited(text: str, change: Callable[[dict[str, Any]], None], *edits: Callable[[str], str]) -> str:
    """Change a text so that it says what the change of its tables says, by the first edit that does.

    Parameters
    ----------
    text
        A sound TOML text.
    change
        Changes its tables as they are to come out.
    edits
        Each makes of the text a new one; it is taken if it says the same.

    Raises
    ------
    ValueError
        What is to come out cannot be written.
    """
    import tomlkit  # noqa: PLC0415 - slow to start, and few write into a file
    from tomlkit.exceptions import TOMLKitError  # noqa: PLC0415 - as above

    mark = _MARK if text.startswith(_MARK) else ""
    plain = text.removeprefix(_MARK)
    expected = tomllib.loads(plain)
    change(expected)
    for edit in edits:
        try:
            new = edit(plain)
            if tomllib.loads(new) == expected:
                return mark + new
        except (TOMLKitError, LookupError, TypeError, ValueError):
            continue  # it is written in another way: the next edit may know it
    flat = [key for key, value in expected.items() if not _below(value)]
    whole = tomlkit.dumps({key: expected[key] for key in [*flat, *(key for key in expected if key not in flat)]})
    if "\r\n" in plain:
        whole = re.sub(r"\r?\n", "\r\n", whole)
    if tomllib.loads(whole) != expected:
        raise ValueError("that cannot be written as TOML")
    return mark + whole


def _blocks(text: str) -> list[_Block]:
    """Take a text apart, table by table."""
    lines = re.findall(r"[^\n]*\n|[^\n]+\Z", text)
    named: dict[int, Path] = {}
    for path, line in positions(text).items():
        if len(path) >= len(named.get(line, ())):
            named[line] = path
    heads = [place for place, line in enumerate(lines) if _HEADER.fullmatch(line.rstrip("\n"))]
    if any(place + 1 not in named for place in heads):
        raise ValueError("a table is headed in an unusual way")
    blocks, lead = [], ""
    for head, end in zip([-1, *heads], [*heads, len(lines)], strict=True):
        cut = _cut(lines, head + 1, end) if end < len(lines) else end
        body = "".join(lines[head + 1 : cut])
        blocks.append(_Block(named[head + 1], lead, lines[head], body) if head >= 0 else _Block((), lead, "", body))
        lead = "".join(lines[cut:end])
    return blocks


def _cut(lines: Sequence[str], begin: int, end: int) -> int:
    """Return where what belongs to the next header begins: behind the first blank line after the last key."""
    first = end
    while first > begin and _bare(lines[first - 1]):
        first -= 1
    blank = next((place for place in range(first, end) if not lines[place].strip()), None)
    return first if blank is None else blank


def _bare(line: str) -> bool:
    return not line.strip() or line.strip().startswith("#")


def _joined(blocks: Sequence[_Block]) -> str:
    text = ""
    for block in blocks:
        if text and not text.endswith("\n"):
            text += "\n"
        text += block.lead + block.head + block.body
    return text


def _span(blocks: Sequence[_Block], path: Path) -> tuple[int, int]:
    """Return where the blocks of a table and of all below it begin and end."""
    within = [place for place, block in enumerate(blocks) if block.path[: len(path)] == path]
    if not within or within != list(range(within[0], within[-1] + 1)):
        raise LookupError(written(path))
    return within[0], within[-1] + 1


def values_put(
    text: str, path: Path, values: Mapping[str, Any], *, comment: str = "", order: Sequence[str] = ()
) -> str:
    """Set keys of a table, or take away those that are to be None; the table is made where there is none."""
    import tomlkit  # noqa: PLC0415 - as above

    blocks = _blocks(text)
    block = next((one for one in blocks if one.path == path), None)
    if block is None:
        made = {key: value for key, value in values.items() if value is not None}
        return _joined(_inserted(blocks, path, _new(path, made, blocks), order))
    document = tomlkit.parse(block.body)
    for key, value in values.items():
        if value is None:
            document.pop(key, None)
        elif key in document:
            document[key] = value
    block.body = tomlkit.dumps(document)
    new = {key: value for key, value in values.items() if value is not None and key not in document}
    if new:
        block.body = _with_lines(block, _keys(new), comment)
    return _joined(blocks)


def in_document(change: Callable[[Any], None]) -> Callable[[str], str]:
    r"""Return the edit that makes a change in the whole document at once, wherever in it that is.

    Parameters
    ----------
    change
        Changes the tables that it is given, with what dictionaries and lists can do.

    Examples
    --------
    >>> change = lambda tables: tables.update(boards=4)
    >>> edited("boards = 3   # one a bench\n", change, in_document(change))
    'boards = 4   # one a bench\n'
    """

    def edit(text: str) -> str:
        import tomlkit  # noqa: PLC0415 - slow to start, and few write into a file

        document = tomlkit.parse(text)
        change(document)
        new = tomlkit.dumps(document)
        return re.sub(r"\r?\n", "\r\n", new) if "\r\n" in text else new

    return edit


def put_inline(text: str, path: Path, values: Mapping[str, Any]) -> str:
    """Change keys of a table that is written on one line."""
    import tomlkit  # noqa: PLC0415 - as above

    document: Any = tomlkit.parse(text)
    table = document
    for step in path:
        table = table[step]
    for key, value in values.items():
        table.pop(key, None) if value is None else table.__setitem__(key, value)
    return tomlkit.dumps(document)


def _with_lines(block: _Block, keys: str, comment: str) -> str:
    """Add lines behind the last key of a block, indented and ended as its lines are."""
    lines = re.findall(r"[^\n]*\n|[^\n]+\Z", block.body)
    last = max((place for place, line in enumerate(lines) if not _bare(line)), default=-1)
    model = lines[last] if last >= 0 else block.head
    indent = model[: len(model) - len(model.lstrip(" \t"))] if "=" in model or last < 0 else ""
    ending = "\r\n" if "\r\n" in block.head + block.body else "\n"
    said = f"   # {comment}" if comment else ""
    added = [f"{indent}{line}{said}{ending}" for line in keys.splitlines()]
    if last >= 0 and not lines[last].endswith("\n"):
        lines[last] += ending
    return "".join(lines[: last + 1] + added + lines[last + 1 :])


def added(text: str, path: Path, values: Mapping[str, Any], *, at: int | None = None, order: Sequence[str] = ()) -> str:
    """Add a table to a list of tables, before the one counted `at` from 0, or at the end."""
    blocks = _blocks(text)
    there = len({block.path[len(path)] for block in blocks if block.path[: len(path)] == path and block.path != path})
    number = there if at is None else at
    new = _new((*path, number), values, blocks)
    if number < there:
        first, _ = _span(blocks, (*path, number))
        return _joined(blocks[:first] + new + blocks[first:])
    return _joined(_inserted(blocks, (*path, number), new, order))


def taken_out(text: str, path: Path) -> str:
    """Take a table out, with all below it and the comment above it."""
    blocks = _blocks(text)
    first, end = _span(blocks, path)
    return _joined(blocks[:first] + blocks[end:])


def swapped(text: str, upper: Path, lower: Path) -> str:
    """Let two tables that follow one another change places."""
    blocks = _blocks(text)
    (first, middle), (begin, end) = _span(blocks, upper), _span(blocks, lower)
    if middle != begin:
        raise LookupError(written(lower))
    return _joined(blocks[:first] + blocks[begin:end] + blocks[first:middle] + blocks[end:])


def _inserted(blocks: list[_Block], path: Path, new: list[_Block], order: Sequence[str]) -> list[_Block]:
    """Put new blocks where one looks for them: behind their like, else behind what they belong to.

    `order` is that of the tables at the top of the file.
    """
    like = path[:-1] if isinstance(path[-1], int) else path
    group = path[: len(like) - 1]
    if not group:
        before = (
            set(order[: order.index(str(like[0])) + 1])
            if like[0] in order
            else {block.path[0] for block in blocks if block.path}
        )
        known = [place for place, block in enumerate(blocks) if not block.path or block.path[0] in before]
        end = known[-1] + 1
    elif isinstance(path[-1], int):  # a list goes on at the end of its group
        end = _span(blocks, group)[1]
    else:  # a table that stands alone is looked for above the lists
        own = [place for place, block in enumerate(blocks) if block.path[: len(group)] == group]
        alone = [place for place in own if not any(isinstance(step, int) for step in blocks[place].path[len(group) :])]
        end = alone[-1] + 1
    return blocks[:end] + new + blocks[end:]


def _new(path: Path, values: Mapping[str, Any], blocks: Sequence[_Block]) -> list[_Block]:
    """Make the blocks of a new table."""
    text = "\n" + written_table(path, values)
    if any(block.head.endswith("\r\n") for block in blocks):
        text = text.replace("\n", "\r\n")
    return [_Block(path, "", "", text)]


def written_table(path: Path, values: Mapping[str, Any]) -> str:
    r"""Write a table with all below it; the top of a file has an empty path.

    Examples
    --------
    >>> written_table(("output", 0), {"name": "mat", "load": {"power": "90W"}})
    '[[output]]\nname = "mat"\n\n[output.load]\npower = "90W"\n'
    """
    names = ".".join(step for step in path if isinstance(step, str))
    head = "" if not path else f"[[{names}]]\n" if isinstance(path[-1], int) else f"[{names}]\n"
    text = head + _keys({key: value for key, value in values.items() if not _below(value)})
    for key, value in values.items():
        if isinstance(value, Mapping):
            text += "\n" + written_table((*path, key), value)
        elif _below(value):
            text += "".join("\n" + written_table((*path, key, place), row) for place, row in enumerate(value))
    return text


def _below(value: object) -> bool:
    rows = isinstance(value, (list, tuple)) and bool(value) and all(isinstance(row, Mapping) for row in value)
    return isinstance(value, Mapping) or rows


def _keys(values: Mapping[str, Any]) -> str:
    import tomlkit  # noqa: PLC0415 - as above

    return tomlkit.dumps(dict(values))
