"""The physics of the power path: pure functions of SI numbers or numpy arrays, each with its source.

Every function takes keyword arguments only and gives a Python float for scalars, an array for arrays. An
input of nan counts as unknown and gives nan. An impossible input raises
:class:`~loadworthy.errors.UsageError`. Where physics has no answer the result is nan too, and the function
says what that means.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from loadworthy.physics import (
        conduction,
        conductors,
        contacts,
        convection,
        curves,
        fuses,
        loads,
        measurement,
        paths,
        switching,
        thermal,
        traces,
    )
    from loadworthy.physics._values import FloatOrArray

__all__ = [
    "FloatOrArray",
    "conduction",
    "conductors",
    "contacts",
    "convection",
    "curves",
    "fuses",
    "loads",
    "measurement",
    "paths",
    "switching",
    "thermal",
    "traces",
]


def __getattr__(name: str) -> Any:  # noqa: ANN401 - a module, or the type
    """Load a part of the physics when it is asked for."""
    if name == "FloatOrArray":
        from loadworthy.physics import _values  # noqa: PLC0415 - brings numpy in, which not every part needs

        return _values.FloatOrArray
    if name in __all__:
        return import_module(f"{__name__}.{name}")
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
