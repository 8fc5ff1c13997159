"""Readings with their uncertainties made into a result with its own, to first order, as the GUM has it."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from loadworthy.errors import UsageError

__all__ = ["Combined", "Reading", "combine"]


@dataclass(frozen=True, kw_only=True)
class Reading:
    """A value that was read or estimated, and its standard uncertainty, in one and the same SI unit."""

    value: float
    standard: float


@dataclass(frozen=True, kw_only=True)
class Combined:
    """What readings come to.

    Attributes
    ----------
    value
        The result.
    standard
        Its combined standard uncertainty.
    shares
        Which share of the variance each reading brings; empty where readings are correlated, whose shares have
        no meaning one by one.
    """

    value: float
    standard: float
    shares: Mapping[str, float] = field(default_factory=dict)


def combine(
    law: Callable[..., float],
    readings: Mapping[str, Reading],
    *,
    correlations: Mapping[tuple[str, str], float] | None = None,
) -> Combined:
    """Put readings through a law, and their uncertainties with them.

    Parameters
    ----------
    law
        A function of numbers, called with the readings by their names.
    readings
        Name → reading.
    correlations
        Two names → correlation coefficient of those readings; none where nothing is said.

    Raises
    ------
    UsageError
        The correlations are such that no readings can have them.

    Notes
    -----
    u² = Σᵢ Σⱼ cᵢ·cⱼ·uᵢ·uⱼ·rᵢⱼ with cᵢ = ∂f/∂xᵢ (GUM 5.2.2, equation (16)). The derivatives are taken numerically.

    Examples
    --------
    >>> found = combine(lambda volts, amperes: volts / amperes,
    ...                 {"volts": Reading(value=12.0, standard=0.12), "amperes": Reading(value=6.0, standard=0.0)})
    >>> found.value, round(found.standard, 6)
    (2.0, 0.02)
    """
    from uncertainties import correlated_values_norm, ufloat, wrap  # noqa: PLC0415 - slow to start, and few need it

    names = list(readings)
    wrapped = wrap(lambda *values: float(law(**dict(zip(names, values, strict=True)))))
    if correlations:
        pairs = [(reading.value, reading.standard) for reading in readings.values()]
        result = wrapped(*correlated_values_norm(pairs, _matrix(names, correlations)))
        return Combined(value=float(result.nominal_value), standard=float(result.std_dev))
    # What is known exactly goes in as the number that it is.
    variables = {name: ufloat(one.value, one.standard) for name, one in readings.items() if one.standard > 0.0}
    if not variables:
        return Combined(value=float(law(**{name: one.value for name, one in readings.items()})), standard=0.0)
    result = wrapped(*(variables.get(name, one.value) for name, one in readings.items()))
    parts = {name: result.derivatives.get(one, 0.0) * readings[name].standard for name, one in variables.items()}
    standard = math.hypot(*parts.values())
    shares = {name: (part / standard) ** 2 if standard > 0.0 else 0.0 for name, part in parts.items()}
    return Combined(value=float(result.nominal_value), standard=standard, shares=shares)


def _matrix(names: list[str], correlations: Mapping[tuple[str, str], float]) -> list[list[float]]:
    import numpy as np  # noqa: PLC0415 - as above

    matrix = np.eye(len(names))
    for (one, other), coefficient in correlations.items():
        matrix[names.index(one), names.index(other)] = matrix[names.index(other), names.index(one)] = coefficient
    if np.any(np.abs(matrix) > 1.0) or np.min(np.linalg.eigvalsh(matrix)) < -1e-9:
        raise UsageError(
            "no readings can have such correlations.",
            where="correlations",
            way_out="Each lies from −1 to 1, and all together must make a matrix without negative eigenvalues.",
        )
    found: list[list[float]] = matrix.tolist()
    return found
