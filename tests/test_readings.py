"""What may be said of a measurement: one description for the command line and for the page."""

from __future__ import annotations

import pytest

from loadworthy.bench.samples import read_samples
from loadworthy.quantities import si
from loadworthy.readings import GROUPS, KINDS, READINGS, said_of


@pytest.mark.parametrize("kind", KINDS)
def test_every_thing_is_said_once_and_how(kind: str) -> None:
    """In a known group, with words, and with an example or a choice."""
    every = said_of(kind)
    assert len({one.name for one in every}) == len(every)
    for one in every:
        assert one.group in GROUPS
        assert one.words.endswith(".")
        assert bool(one.example) != bool(one.choices)


@pytest.mark.parametrize("kind", KINDS)
def test_what_a_sample_is_read_for_can_be_said(kind: str) -> None:
    """And a table may be headed by it."""
    assert READINGS[kind] <= {one.name for one in said_of(kind)}
    for name in READINGS[kind]:
        (row,) = read_samples(f"{name.replace('_', ' ')}\n1\n".encode(), READINGS[kind])
        assert row.given == {name: "1"}


@pytest.mark.parametrize(
    ("name", "unit"),
    [("drop", "V"), ("current", "A"), ("reading", "ohm"), ("temp", "degC"), ("pulse", "s"), ("vth", "V")],
)
def test_an_example_is_a_quantity_of_its_kind(name: str, unit: str) -> None:
    """So that what stands in an empty field can be typed there."""
    examples = {one.name: one.example for kind in KINDS for one in said_of(kind)}
    assert si(examples[name], unit) > 0.0
