"""Every public function of the physics says its arguments, units, source and a worked example."""

from __future__ import annotations

import doctest
import inspect
import pkgutil
import re
from collections.abc import Callable
from importlib import import_module
from types import ModuleType
from typing import Any

import pytest

from loadworthy import physics

MODULES = tuple(getattr(physics, name) for name in physics.__all__ if isinstance(getattr(physics, name), ModuleType))
FUNCTIONS = tuple(
    getattr(module, name) for module in MODULES for name in module.__all__ if inspect.isfunction(getattr(module, name))
)

# The unit that the end of a name promises; the first that fits counts.
UNITS = {
    "layer_k": "1",
    "_w_per_m2_k": "W/(m²·K)",
    "_k_per_w": "K/W",
    "_per_k2": "1/K²",
    "_per_k": "1/K",
    "ohm_per_m_20": "Ω/m",
    "_m2": "m²",
    "degc": "°C",
    "_ohm": "Ω",
    "_hz": "Hz",
    "_v": "V",
    "_a": "A",
    "_w": "W",
    "_s": "s",
    "_c": "C",
    "_k": "K",
    "_m": "m",
    "_h": "H",
}

# A formula that several modules share; what users call are the functions made of it.
SHARED_INSIDE = {"settled_delta"}


def sections(function: Callable[..., Any]) -> dict[str, str]:
    """Split a docstring at its underlined headings."""
    pieces = re.split(r"^(\w+)\n-+$", inspect.getdoc(function) or "", flags=re.MULTILINE)
    return dict(zip(pieces[1::2], pieces[2::2], strict=True))


def described(parameters: str) -> dict[str, str]:
    """Split the section of parameters into names and what is said of each."""
    pieces = re.split(r"^(\w+)$", parameters, flags=re.MULTILINE)
    return dict(zip(pieces[1::2], pieces[2::2], strict=True))


@pytest.mark.parametrize("function", FUNCTIONS, ids=lambda function: function.__name__)
class TestDocstring:
    """One public function's docstring."""

    def test_names_exactly_the_arguments_of_the_signature(self, function: Callable[..., Any]) -> None:
        """In the same order."""
        assert list(described(sections(function)["Parameters"])) == list(inspect.signature(function).parameters)

    def test_says_the_unit_that_each_name_promises(self, function: Callable[..., Any]) -> None:
        """In square brackets; 1 for a bare number."""
        for name, text in described(sections(function)["Parameters"]).items():
            unit = next((unit for end, unit in UNITS.items() if name.endswith(end)), "1")
            assert f"[{unit}]" in text, name

    def test_gives_the_unit_of_the_result(self, function: Callable[..., Any]) -> None:
        """In square brackets."""
        assert re.search(r"\[(1|K/W|°C|Ω|V|A|W|s|1/K|K|J|m|m²|Ω/m|W/\(m²·K\)|Pa·s)\]", sections(function)["Returns"])

    def test_says_where_the_equation_holds_and_where_it_is_from(self, function: Callable[..., Any]) -> None:
        """Notes have the validity, References the source."""
        assert "Valid" in sections(function)["Notes"]
        assert sections(function)["References"].strip()

    def test_says_what_is_refused(self, function: Callable[..., Any]) -> None:
        """Under the error's own name."""
        assert sections(function)["Raises"].strip().startswith("UsageError")

    def test_works_an_example_that_calls_the_function(self, function: Callable[..., Any]) -> None:
        """One that prints a result, which the doctest run compares."""
        examples = doctest.DocTestParser().get_examples(sections(function)["Examples"])
        assert any(f"{function.__name__}(" in example.source for example in examples)
        assert any(example.want for example in examples)

    def test_the_arguments_are_by_keyword_and_without_default(self, function: Callable[..., Any]) -> None:
        """A physical input is never silent."""
        for parameter in inspect.signature(function).parameters.values():
            assert parameter.kind is inspect.Parameter.KEYWORD_ONLY
            assert parameter.default is inspect.Parameter.empty


def test_every_function_written_in_the_package_is_public_somewhere_or_private_by_name() -> None:
    """What the helpers for inputs offer stays inside; all else that has a public name is exported."""
    public = set(FUNCTIONS)
    for info in pkgutil.iter_modules(physics.__path__, f"{physics.__name__}."):
        if info.name.endswith(("._numbers", "._values")):
            continue
        module = import_module(info.name)
        for name, member in inspect.getmembers(module, inspect.isfunction):
            if member.__module__ == info.name and not name.startswith("_") and name not in SHARED_INSIDE:
                assert member in public, f"{info.name}.{name}"


@pytest.mark.parametrize("module", [physics, *MODULES], ids=lambda module: module.__name__)
def test_the_list_of_public_names_is_sorted_and_exists(module: ModuleType) -> None:
    """Constants first, then the rest."""
    assert sorted(module.__all__, key=lambda name: (not name.isupper(), name)) == list(module.__all__)
    assert all(hasattr(module, name) for name in module.__all__)
