"""The state in the address: packed, read back, bounded."""

from __future__ import annotations

import base64
import zlib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loadworthy.errors import UsageError
from loadworthy.web.state import MOST_LETTERS, pack, unpack

_TEXTS = st.text(st.characters(blacklist_categories=("Cs",)), max_size=400)


@given(_TEXTS)
def test_what_is_packed_is_read_back(text: str) -> None:
    """What is packed is read back."""
    assert unpack(pack(text)) == text


@given(_TEXTS)
def test_it_stands_in_an_address_as_it_is(text: str) -> None:
    """It stands in an address as it is."""
    assert all(letter.isascii() and (letter.isalnum() or letter in "-_") for letter in pack(text))


@given(st.text(max_size=200))
def test_what_was_not_packed_is_refused_and_never_a_traceback(text: str) -> None:
    """What was not packed is refused and never a traceback."""
    try:
        found = unpack(text)
    except UsageError:
        return
    assert unpack(pack(found)) == found  # by chance it was something that is packed so


def test_an_address_that_was_cut_short_is_refused() -> None:
    """An address that was cut short is refused."""
    whole = pack("[supply]\nvoltage = '12V'\n" * 40)
    with pytest.raises(UsageError, match="cut short"):
        unpack(whole[:-6])


def test_a_text_that_unpacks_to_more_than_it_may_is_refused() -> None:
    """A text that unpacks to more than it may is refused."""
    bomb = base64.urlsafe_b64encode(zlib.compress(b" " * (40 * MOST_LETTERS))).decode().rstrip("=")
    with pytest.raises(UsageError, match="cut short"):
        unpack(bomb)


def test_a_text_too_long_for_an_address_is_refused_with_the_way_out() -> None:
    """A text too long for an address is refused with the way out."""
    with pytest.raises(UsageError) as caught:
        pack("x" * (MOST_LETTERS + 1))
    assert "command line" in (caught.value.way_out or "")
