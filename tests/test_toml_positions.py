"""Every key of a sound TOML text is found on its own line."""

from __future__ import annotations

import json
import tomllib
from collections.abc import Iterator
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loadworthy import shipped
from loadworthy.toml_positions import line_of, positions, written

SAMPLE = '''\
# a comment with [brackets] and "quotes
title = "a # is no comment here" # this is one
"quoted key" = 1
dotted.inner.key = 'x'

[table]
list = [
  "one", # comment, with a comma
  ["nested", [1, 2]],
  { a = 1, b = { c = "}" } },
]
many = """
[not.a.table]
nor = "a key"
"""
raw = \'\'\'
[[nor.this]]
\'\'\'
after = true

[[rows]]
name = "first"
[rows.sub]
deep = 1
[[rows.inner]]
x = 1
[[rows.inner]]
x = 2
[[rows]]
name = "second"
[[rows.inner]]
x = 3
'''

EXPECTED = {
    ("title",): 2,
    ("quoted key",): 3,
    ("dotted", "inner", "key"): 4,
    ("table",): 6,
    ("table", "list"): 7,
    ("table", "list", 0): 8,
    ("table", "list", 1, 1, 1): 9,
    ("table", "list", 2, "b", "c"): 10,
    ("table", "many"): 12,
    ("table", "raw"): 16,
    ("table", "after"): 19,
    ("rows", 0): 21,
    ("rows", 0, "name"): 22,
    ("rows", 0, "sub", "deep"): 24,
    ("rows", 0, "inner", 0, "x"): 26,
    ("rows", 0, "inner", 1, "x"): 28,
    ("rows", 1, "name"): 30,
    ("rows", 1, "inner", 0, "x"): 32,
}


def every_path(value: Any, path: tuple[str | int, ...] = ()) -> Iterator[tuple[str | int, ...]]:
    """Walk what the standard library's reader makes of a text."""
    if path:
        yield path
    entries = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, inner in entries:
        yield from every_path(inner, (*path, key))


@pytest.mark.parametrize("path", EXPECTED)
def test_a_key_is_found_on_its_line(path: tuple[str | int, ...]) -> None:
    """Strings and comments that look like tables or keys lead nobody astray."""
    assert positions(SAMPLE)[path] == EXPECTED[path]


def test_the_walk_finds_what_the_standard_library_reads() -> None:
    """Neither more nor less."""
    assert set(positions(SAMPLE)) == set(every_path(tomllib.loads(SAMPLE)))


def test_the_shipped_board_is_walked_whole() -> None:
    """The demo's board, with all that it uses of TOML."""
    text = (shipped.catalog_dir() / "greenhouse" / "board.toml").read_text(encoding="utf-8")
    assert set(positions(text)) == set(every_path(tomllib.loads(text)))


def test_line_breaks_of_every_kind_count_once() -> None:
    """Files from elsewhere have two characters a line break, and perhaps a byte order mark."""
    assert positions("\ufeffa = 1\r\nb = 2\r\n") == {("a",): 1, ("b",): 2}


def test_what_stands_nowhere_is_shown_at_the_nearest_thing_round_it() -> None:
    """A missing key is reported at its table."""
    assert line_of(positions(SAMPLE), ("rows", 1, "sub", "missing")) == 29
    assert line_of(positions(SAMPLE), ("missing",)) == 1


def test_people_count_from_one() -> None:
    """The second output's first link."""
    assert written(("output", 1, "link", 0, "width")) == "output[2].link[1].width"


_words = st.text(alphabet="abcxyz_-09", min_size=1, max_size=5)
_texts = st.text(alphabet=st.sampled_from("ab ]}[{#=,.'\"\\\nΩ"), max_size=8)
_scalars = st.one_of(
    st.integers(-99, 99).map(str),
    st.booleans().map(lambda flag: str(flag).lower()),
    _texts.map(lambda text: json.dumps(text, ensure_ascii=False)),
    _texts.filter(lambda text: "'" not in text and "\n" not in text).map(lambda text: f"'{text}'"),
    _texts.filter(lambda text: "'" not in text).map(lambda text: f"'''{text}'''"),
)
_gaps = st.sampled_from(["", " ", "\n", " # c, ] }\n", "\n\n  "])


@st.composite
def _lists(draw: st.DrawFn, inner: st.SearchStrategy[str]) -> str:
    parts = [draw(_gaps) + draw(inner) + draw(_gaps) for _ in range(draw(st.integers(0, 3)))]
    return "[" + ",".join(parts) + (draw(_gaps) if not parts else "") + "]"


@st.composite
def _inline(draw: st.DrawFn, inner: st.SearchStrategy[str]) -> str:
    names = draw(st.lists(_words, max_size=3, unique=True))
    return "{" + ", ".join(f"{name} = {draw(inner)}" for name in names) + "}"


_values = st.recursive(_scalars, lambda inner: st.one_of(_lists(inner), _inline(inner)), max_leaves=8)


@st.composite
def _documents(draw: st.DrawFn) -> str:
    lines: list[str] = []
    for header in draw(st.lists(st.sampled_from(["[[a]]", "[[a.b]]", "[[c]]", ""]), max_size=6)):
        lines += [draw(st.sampled_from(["", "# [x]", " "])), header]
        lines += [f"{name} = {draw(_values)}" for name in draw(st.lists(_words, max_size=3, unique=True))]
    return "\n".join(lines)


@given(_documents())
def test_every_key_of_any_text_is_found_on_a_line_that_names_it(text: str) -> None:
    """Whatever the standard library's reader accepts."""
    try:
        read = tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        return
    found, lines = positions(text), text.split("\n")
    assert set(found) == set(every_path(read))
    for path, line in found.items():
        if isinstance(path[-1], str):
            assert path[-1] in lines[line - 1]
