"""Options come from the fields of a need, so that a new family appears by itself."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import MISSING, dataclass, fields
from typing import ClassVar, TypeAlias

import click
import pytest
from click.testing import Result
from hypothesis import given
from hypothesis import strategies as st

from loadworthy import needs
from loadworthy.cli.needs import need_options, typed_words
from loadworthy.needs import NEEDS
from loadworthy.needs.base import option

Call: TypeAlias = Callable[..., Result]


@dataclass(frozen=True, kw_only=True)
class _ToyNeed:
    ranked_by: ClassVar[str] = "how little they sag"
    examples: ClassVar[tuple[str, ...]] = ("--span 2.5m",)

    span: str = option("How far apart the benches stand.", unit="m", example="2.5m")
    colour: tuple[str, ...] = option("Colour of the tape.", default=(), example="green")
    kind: str = option("Kind of knot.", default="reef", choices=("reef", "bowline"))
    wet: bool = option("It will get wet.", default=False)


def test_a_new_family_appears_with_its_options(fresh: Call, monkeypatch: pytest.MonkeyPatch) -> None:
    """Entered among the needs, it is a command of choose and explain, and its fields are options."""
    monkeypatch.setitem(needs.NEEDS, "string", _ToyNeed)  # type: ignore[arg-type]
    for group in ("choose", "explain"):
        assert "string" in fresh(group, "--help").stdout
        text = " ".join(fresh(group, "string", "--help").stdout.split())
        assert "--span 2.5m How far apart the benches stand. [required]" in text
        assert "--colour green Colour of the tape. Repeatable." in text
        assert "--kind [reef|bowline] Kind of knot. [default: reef]" in text
        assert "--wet It will get wet." in text
        assert f"loadworthy {group} string" in text


@pytest.mark.parametrize("family", NEEDS)
def test_every_field_is_an_option_with_its_default(family: str) -> None:
    """Name, whether it must be given, and what it is where it is not given."""
    options = {option.name: option for option in need_options(NEEDS[family])}
    for field in fields(NEEDS[family]):
        made = options[field.name]
        assert made.opts == ["--" + field.name.replace("_", "-")]
        assert made.required == (field.default is MISSING)
        if isinstance(field.default, str):
            assert made.get_default(click.Context(click.Command("x"))) == field.default


_values = st.one_of(
    st.text(alphabet=st.characters(categories=["L", "N"]), min_size=1),
    st.just(True),
    st.lists(st.sampled_from("ab")),
)


@given(st.dictionaries(st.sampled_from(["supply", "in_stock", "package"]), _values))
def test_typed_words_are_what_the_command_reads_back(need: dict[str, object]) -> None:
    """A command made for those very options gets the same values from the words."""
    params = [
        click.Option(["--" + name.replace("_", "-"), name], is_flag=value is True, multiple=isinstance(value, list))
        for name, value in need.items()
    ]
    context = click.Command("x", params=list(params)).make_context("x", typed_words(need))
    assert context.params == {name: tuple(value) if isinstance(value, list) else value for name, value in need.items()}
