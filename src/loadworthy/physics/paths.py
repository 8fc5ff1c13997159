"""A whole power path: one current through many links, each of which warms itself and so changes the current."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt

from loadworthy.errors import UsageError
from loadworthy.physics._heating import runaway_current, settled_delta
from loadworthy.physics._values import not_negative, positive

__all__ = [
    "FixedCurrent",
    "FixedPower",
    "FixedResistance",
    "Link",
    "Load",
    "SettledPath",
    "runaway_current",
    "settle",
]

_Array = npt.NDArray[np.float64]


@dataclass(frozen=True, kw_only=True)
class FixedResistance:
    """A load that keeps its resistance: a heater.

    Parameters
    ----------
    resistance_ohm
        Resistance while it works [Ω].
    """

    resistance_ohm: float


@dataclass(frozen=True, kw_only=True)
class FixedCurrent:
    """A load that draws the same current whatever the path leaves of the voltage.

    Parameters
    ----------
    current_a
        Current [A].
    """

    current_a: float


@dataclass(frozen=True, kw_only=True)
class FixedPower:
    """A load that takes the same power, and so more current at less voltage: a converter, a regulated motor.

    Parameters
    ----------
    power_w
        Power [W].
    """

    power_w: float


Load = FixedResistance | FixedCurrent | FixedPower


@dataclass(frozen=True, kw_only=True)
class Link:
    """One resistance in the path: a contact, a fuse, a length of copper, a transistor.

    R(T) = R·(1 + a·Δ + b·Δ²) with Δ = T − the reference temperature.

    Parameters
    ----------
    resistance_ohm
        Resistance at the reference temperature, R [Ω].
    reference_degc
        Temperature at which the resistance is stated [°C].
    linear_per_k
        Temperature coefficient, a [1/K]; not negative.
    square_per_k2
        Coefficient of second order, b [1/K²]; not negative, zero for copper.
    rth_k_per_w
        Thermal resistance to the air round the link [K/W]; zero where it does not warm itself.
    ambient_degc
        Temperature of that air [°C].
    other_loss_w
        Heat in the link besides that of the current, such as switching loss [W].
    """

    resistance_ohm: float
    reference_degc: float
    linear_per_k: float
    square_per_k2: float
    rth_k_per_w: float
    ambient_degc: float
    other_loss_w: float


@dataclass(frozen=True, kw_only=True)
class SettledPath:
    """Where a path settles, or why it does not.

    Parameters
    ----------
    state
        ``settled``; ``runaway`` where the links of `runaway` get hotter without end; ``starved`` where the
        supply cannot bring the load what it asks for through this path, as warm as it gets.
    runaway
        Indices of the links that run away, from 0; empty unless the state says so.
    current_a, load_v, load_w
        Current, and the load's voltage and power; nan unless settled.
    resistance_ohm, temperature_degc, loss_w, drop_v
        Of each link in the order given; the loss is the current's alone. nan unless settled.
    """

    state: Literal["settled", "runaway", "starved"]
    runaway: tuple[int, ...]
    current_a: float
    load_v: float
    load_w: float
    resistance_ohm: _Array
    temperature_degc: _Array
    loss_w: _Array
    drop_v: _Array


def settle(*, supply_v: float, load: Load, links: Sequence[Link]) -> SettledPath:
    """Find the current and the temperatures at which a whole path comes to rest.

    Parameters
    ----------
    supply_v
        Voltage of the source, V [V].
    load
        What the path feeds: a fixed resistance, current or power [1].
    links
        The links in series, in any order [1]; a link without other links is its own path.

    Returns
    -------
    SettledPath
        Current [A], the load's share, and each link's resistance, temperature, loss and drop; or the links that
        run away, or that the supply does not do.

    Raises
    ------
    UsageError
        If an input is unknown or impossible.

    Notes
    -----
    V = U + I·ΣR(T) and T = TA + Rth·(I²·R(T) + P) for every link, U the load's voltage. At a given current each
    link's temperature is the smaller root of a quadratic, as for
    :func:`~loadworthy.physics.conduction.junction_temperature`; what remains is one equation for the current,
    which is closed in on by halving. Of the two currents at which a load of fixed power can be fed it is the
    smaller.

    Valid in the steady state as each link's law is. A path that could only settle beyond the brink of
    :func:`runaway_current`, hotter than any law here holds, counts as running away. A path that is switched with
    duty D: give each link Rth·D in place of Rth and P/D in place of P.

    References
    ----------
    Kirchhoff's voltage law and the balance of heat.

    Examples
    --------
    12 V, a mat of 1.6 Ω, 2 m of flexible 0.75 mm² and a transistor of 13 mΩ in still air of 40 °C:

    >>> wire = Link(
    ...     resistance_ohm=0.052, reference_degc=20.0, linear_per_k=0.00393, square_per_k2=0.0,
    ...     rth_k_per_w=7.0, ambient_degc=40.0, other_loss_w=0.0,
    ... )
    >>> transistor = Link(
    ...     resistance_ohm=0.013, reference_degc=25.0, linear_per_k=5.534e-3, square_per_k2=6.032e-6,
    ...     rth_k_per_w=62.0, ambient_degc=40.0, other_loss_w=0.0,
    ... )
    >>> path = settle(supply_v=12.0, load=FixedResistance(resistance_ohm=1.6), links=[wire, transistor])
    >>> path.state, round(path.current_a, 2), [round(float(at)) for at in path.temperature_degc]
    ('settled', 7.15, [62, 100])
    """
    supply = _known("supply_v", supply_v, not_negative("supply_v", supply_v))
    path = _Path(links)
    match load:
        case FixedCurrent(current_a=given):
            current = _known("current_a", given, not_negative("current_a", given))
            return path.at(current, supply)
        case FixedResistance(resistance_ohm=given):
            current = _resistive_current(
                path, supply, _known("resistance_ohm", given, positive("resistance_ohm", given))
            )
            return path.at(current, supply)
        case FixedPower(power_w=given):
            found = _power_current(path, supply, _known("power_w", given, not_negative("power_w", given)))
            return path.unsettled("starved", ()) if found is None else path.at(found, supply)


class _Path:
    """The links' figures as rows of numbers, and what they do at a current."""

    def __init__(self, links: Sequence[Link]) -> None:
        def row(name: str) -> _Array:
            numbers = np.array([getattr(link, name) for link in links], dtype=np.float64)
            if np.any(np.isnan(numbers)):
                _refuse_unknown(f"{name} of link {int(np.flatnonzero(np.isnan(numbers))[0]) + 1}")
            return numbers

        figures = {name: row(name) for name in Link.__dataclass_fields__}
        self.brink_a = np.asarray(runaway_current(**figures))
        self.rth = figures["rth_k_per_w"]
        self.resistance_ohm = figures["resistance_ohm"]
        self.reference_degc = figures["reference_degc"]
        self.linear, self.square = figures["linear_per_k"], figures["square_per_k2"]
        self.start_k = figures["ambient_degc"] - self.reference_degc + self.rth * figures["other_loss_w"]
        self.least_brink_a = float(np.min(self.brink_a, initial=np.inf))

    def delta_k(self, current_a: float) -> _Array:
        """Each link's temperature less its reference; nan where it runs away."""
        return settled_delta(
            start_k=self.start_k,
            heating_k=current_a**2 * self.resistance_ohm * self.rth,
            linear_per_k=self.linear,
            square_per_k2=self.square,
        )

    def total_ohm(self, current_a: float) -> float:
        """Resistance of all links together at a current; nan where a link runs away."""
        return float(np.sum(self._hot_ohm(self.delta_k(current_a))))

    def _hot_ohm(self, delta_k: _Array) -> _Array:
        return np.asarray(self.resistance_ohm * (1.0 + self.linear * delta_k + self.square * delta_k**2))

    def at(self, current_a: float, supply_v: float) -> SettledPath:
        """Everything at a current, or what stands against it."""
        delta = self.delta_k(current_a)
        gone = tuple(int(index) for index in np.flatnonzero(np.isnan(delta)))
        if gone:
            return self.unsettled("runaway", gone)
        hot_ohm = self._hot_ohm(delta)
        drop = current_a * hot_ohm
        load_v = supply_v - float(np.sum(drop))
        if load_v < 0.0:
            return self.unsettled("starved", ())
        return SettledPath(
            state="settled",
            runaway=(),
            current_a=current_a,
            load_v=load_v,
            load_w=load_v * current_a,
            resistance_ohm=hot_ohm,
            temperature_degc=self.reference_degc + delta,
            loss_w=current_a * drop,
            drop_v=drop,
        )

    def unsettled(self, state: Literal["runaway", "starved"], gone: tuple[int, ...]) -> SettledPath:
        """Give a result without figures, which says why."""
        nan, nans = float("nan"), np.full(self.rth.shape, np.nan)
        return SettledPath(
            state=state,
            runaway=gone,
            current_a=nan,
            load_v=nan,
            load_w=nan,
            resistance_ohm=nans,
            temperature_degc=nans,
            loss_w=nans,
            drop_v=nans,
        )


def _resistive_current(path: _Path, supply_v: float, load_ohm: float) -> float:
    """Give the current of a fixed resistance; one at which a link runs away where there is no balance."""

    def too_much(current_a: float) -> bool:
        # A link that runs away makes the sum nan, which is not below the supply either.
        return not current_a * (load_ohm + path.total_ohm(current_a)) < supply_v

    # No resistance falls as its link warms, so the cool path's current is the most that can flow.
    return _least(too_much, 0.0, supply_v / (load_ohm + path.total_ohm(0.0)))


def _power_current(path: _Path, supply_v: float, power_w: float) -> float | None:
    """Give the least current of a fixed power, one at which a link runs away, or None where it cannot be had."""
    if power_w == 0.0:
        return 0.0
    cool_ohm = path.total_ohm(0.0)
    headroom = supply_v**2 - 4.0 * power_w * cool_ohm
    if supply_v == 0.0 or headroom < 0.0:
        return None
    # No resistance falls as its link warms, so a cool path's current is the least. Where a warm one has not brought
    # the power at twice that, no greater current will: it would need V > I·(4·R − R0), and V was less than that.
    least = 2.0 * power_w / (supply_v + float(np.sqrt(headroom)))
    if cool_ohm == 0.0 or least > path.least_brink_a:
        return least
    most = min(2.0 * least, path.least_brink_a)

    def delivered_w(current_a: float) -> float:
        left_w = current_a * (supply_v - current_a * path.total_ohm(current_a))
        return float("-inf") if np.isnan(left_w) else left_w

    peak = _peak(delivered_w, least, most)
    if delivered_w(peak) < power_w * (1.0 - 1e-12):
        return None
    return _least(lambda current_a: delivered_w(current_a) >= power_w, least, peak)


def _least(reached: Callable[[float], bool], low: float, high: float) -> float:
    """Least number from `low` to `high` at which `reached` holds, which it does at `high` and from there down to it."""
    while low < (middle := low + (high - low) / 2.0) < high:
        if reached(middle):
            high = middle
        else:
            low = middle
    return high


def _peak(value: Callable[[float], float], low: float, high: float) -> float:
    """Where a function that rises and then falls is greatest, by thirds."""
    while high - low > 1e-9 * high:
        third = (high - low) / 3.0
        if value(low + third) < value(high - third):
            low += third
        else:
            high -= third
    return high if value(high) >= value(low) else low


def _known(name: str, given: float, checked: _Array) -> float:
    if np.ndim(checked) != 0 or np.isnan(checked):
        _refuse_unknown(name)
    return float(given)


def _refuse_unknown(where: str) -> None:
    raise UsageError(
        "This figure is not known, and the path cannot be worked out without it.",
        where=where,
        way_out="Give it, measure it, or put in a figure that is marked as assumed.",
    )
