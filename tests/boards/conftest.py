"""Boards made from a few lines of TOML."""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeAlias

import pytest

from loadworthy.boards import Board, read_text

MakeBoard: TypeAlias = Callable[..., Board]


def board_text(body: str, *, supply: str = 'voltage = "12V"', air: str = 'ambient = "40degC"') -> str:
    """Write a board file round its sections and outputs."""
    return f'title = "bench"\n[supply]\n{supply}\n[surroundings]\n{air}\n{body}\n'


def _board(body: str, **more: str) -> Board:
    return read_text(board_text(body, **more), name="bench.toml")


def _single(link: str, *, load: str = 'kind = "resistive"\ncurrent = "1A"', more: str = "", **rest: str) -> Board:
    return _board(f'[[output]]\nname = "mat"\n[output.load]\n{load}\n{more}\n[[output.link]]\n{link}', **rest)


@pytest.fixture(scope="session")
def text_of() -> Callable[..., str]:
    """Return the maker of a board's text."""
    return board_text


@pytest.fixture(scope="session")
def board_of() -> MakeBoard:
    """Return the maker of boards from their sections and outputs."""
    return _board


@pytest.fixture(scope="session")
def single() -> MakeBoard:
    """Return the maker of boards with one output and one link."""
    return _single
