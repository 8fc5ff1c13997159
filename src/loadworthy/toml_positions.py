"""On which line of a TOML text each key stands, so that an error can point at it.

The text has been read by the standard library before, which gives no lines: here it is known to be sound, and
only the places are looked for.
"""

from __future__ import annotations

import re
from typing import Final, TypeAlias

from loadworthy.errors import UsageError

__all__ = ["Path", "line_of", "path_of", "positions", "written"]

#: The way from the top of a file to a value: names of tables and keys, and numbers of list entries from 0.
Path: TypeAlias = "tuple[str | int, ...]"

_BETWEEN: Final = re.compile(r"(?:[ \t\r\n]|#[^\n]*)*")
_BLANKS: Final = re.compile(r"[ \t]*")
_STEP: Final = re.compile(r"(?P<name>[A-Za-z0-9_-]+)(?P<numbers>(?:\[[1-9]\d{0,5}\])*)")
_BARE: Final = re.compile(r"[A-Za-z0-9_-]+")
_SCALAR: Final = re.compile(r"[^,\]}\r\n#]+")
_QUOTED: Final = re.compile(
    r'"""(?:\\.|[^\\])*?"""(?:"{0,2})'
    r"|'''.*?'''(?:'{0,2})"
    r'|"(?:\\.|[^"\\\n])*"'
    r"|'[^'\n]*'",
    re.DOTALL,
)
_ESCAPE: Final = re.compile(r"\\(?:u([0-9A-Fa-f]{4})|U([0-9A-Fa-f]{8})|(.))")
_LETTERS: Final = {"b": "\b", "t": "\t", "n": "\n", "f": "\f", "r": "\r"}


def positions(text: str) -> dict[Path, int]:
    r"""Find the line of every table, key and list entry of a sound TOML text.

    Parameters
    ----------
    text
        The text, which the standard library's reader has accepted.

    Returns
    -------
    dict
        Path → line, counted from 1. A table stands where it is first named.

    Examples
    --------
    >>> found = positions('a = 1\n[[b]]\nc = [\n  "x",\n]\n')
    >>> found[("a",)], found[("b", 0)], found[("b", 0, "c")], found[("b", 0, "c", 0)]
    (1, 2, 3, 4)
    """
    return _Scanner(text).found


def line_of(found: dict[Path, int], path: Path) -> int:
    """Return the line of a path, or of the nearest thing round it where it stands nowhere itself."""
    for length in range(len(path), 0, -1):
        if path[:length] in found:
            return found[path[:length]]
    return 1


def written(path: Path) -> str:
    """Write a path for a person, who counts from one.

    Examples
    --------
    >>> written(("output", 1, "link", 0, "width"))
    'output[2].link[1].width'
    """
    text = ""
    for step in path:
        text += f"[{step + 1}]" if isinstance(step, int) else f".{step}" if text else step
    return text


def path_of(text: str) -> Path:
    """Read what :func:`written` wrote.

    Raises
    ------
    UsageError
        It is no such path.

    Examples
    --------
    >>> path_of("output[2].link[1].width"), path_of("")
    (('output', 1, 'link', 0, 'width'), ())
    """
    path: Path = ()
    for step in text.split(".") if text else ():
        found = _STEP.fullmatch(step)
        if found is None:
            raise UsageError(f"{text!r} is no place in a file.", way_out="Write it like output[2].link[1].")
        path = (*path, found["name"], *(int(number) - 1 for number in re.findall(r"\d+", found["numbers"])))
    return path


class _Scanner:
    """One pass over the text."""

    def __init__(self, text: str) -> None:
        # Readers of TOML take both for one line break; a byte order mark is no part of the first key.
        self.text = text.replace("\r\n", "\n").removeprefix("\ufeff")
        self.at = 0
        self.found: dict[Path, int] = {}
        self.entries: dict[Path, int] = {}
        self.counted = (0, 1)
        self._file()

    def _line(self) -> int:
        start, line = self.counted
        line += self.text.count("\n", start, self.at)
        self.counted = (self.at, line)
        return line

    def _skip(self, pattern: re.Pattern[str] = _BETWEEN) -> None:
        found = pattern.match(self.text, self.at)
        self.at = found.end() if found else self.at

    def _next(self, mark: str) -> bool:
        """Step over a mark where it comes next."""
        if self.text.startswith(mark, self.at):
            self.at += len(mark)
            return True
        return False

    def _take(self, pattern: re.Pattern[str]) -> str:
        found = pattern.match(self.text, self.at)
        # A text that is not sound after all must not hold the scanner for ever.
        self.at = found.end() if found else len(self.text)
        return found.group() if found else ""

    def _file(self) -> None:
        table: Path = ()
        self._skip()
        while self.at < len(self.text):
            line = self._line()
            if self._next("[["):
                table = self._table(self._key(), line, listed=True)
                self._next("]]")
            elif self._next("["):
                table = self._table(self._key(), line, listed=False)
                self._next("]")
            else:
                self._pair(table)
            self._skip()

    def _table(self, names: list[str], line: int, *, listed: bool) -> Path:
        path: Path = ()
        for place, name in enumerate(names, start=1):
            path = (*path, name)
            self.found.setdefault(path, line)
            if listed and place == len(names):
                self.entries[path] = self.entries.get(path, 0) + 1
            if path in self.entries:
                path = (*path, self.entries[path] - 1)
                self.found.setdefault(path, line)
        return path

    def _key(self) -> list[str]:
        names = []
        while True:
            self._skip(_BLANKS)
            quoted = self.text[self.at : self.at + 1] in ("'", '"')
            names.append(_unquoted(self._take(_QUOTED)) if quoted else self._take(_BARE))
            self._skip(_BLANKS)
            if not self._next("."):
                return names

    def _pair(self, table: Path) -> None:
        line = self._line()
        path = table
        for name in self._key():
            path = (*path, name)
            self.found.setdefault(path, line)
        self._next("=")
        self._skip(_BLANKS)
        self._value(path)

    def _value(self, path: Path) -> None:
        if self._next("["):
            self._list(path)
        elif self._next("{"):
            self._inline(path)
        elif self.text[self.at : self.at + 1] in ("'", '"'):
            self._take(_QUOTED)
        else:
            self._take(_SCALAR)

    def _list(self, path: Path) -> None:
        entry = 0
        self._skip()
        while self.at < len(self.text) and not self._next("]"):
            self.found.setdefault((*path, entry), self._line())
            self._value((*path, entry))
            self._skip()
            self._next(",")
            self._skip()
            entry += 1

    def _inline(self, path: Path) -> None:
        self._skip()
        while self.at < len(self.text) and not self._next("}"):
            self._pair(path)
            self._skip()
            self._next(",")
            self._skip()


def _unquoted(text: str) -> str:
    if text[:1] == "'":
        return text[1:-1]
    return _ESCAPE.sub(_unescaped, text[1:-1])


def _unescaped(match: re.Match[str]) -> str:
    code = match.group(1) or match.group(2)
    return chr(int(code, 16)) if code else _LETTERS.get(match.group(3), match.group(3))
