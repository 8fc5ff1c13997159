"""What many needs ask of the tiers, as arrays: which cells they can use, and which rows of them are worth judging.

These are necessary conditions only, made of the need's own numbers: a part that fails one here fails the family's
query too, and a part that passes here is judged there.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from loadworthy.many.tiers import Floats, Tiers
from loadworthy.needs.transistor import TransistorNeed
from loadworthy.physics import conduction

__all__ = ["Bounds", "bounds_of"]

#: Beyond what single precision and the order of operations can do to a figure.
_GUARD: Final = 1.0 + 1e-6
#: Criterion → the figure of the tiers that it looks at, and the parameter that it is held against.
_AT_LEAST: Final = {
    "gate": ("vgs_max_v", "vgs_least_v"),
    "voltage": ("vds_v", "vds_least_v"),
    "current": ("id_a", "id_least_a"),
}


@dataclass(frozen=True, kw_only=True)
class Bounds:
    """What needs ask, one of them a place in every array; nan where a need does not ask for something."""

    asked: dict[str, Floats]
    let: dict[str, NDArray[np.bool_]]
    coldest_degc: Floats
    slope_ohm_per_w: Floats
    channel: NDArray[np.bool_]
    package: NDArray[np.bool_]

    def cells(self, tiers: Tiers) -> tuple[NDArray[np.bool_], Floats]:
        """Return which cells each need can use at all, and up to which on-resistance in each of them."""
        usable = (self.channel[:, tiers.channel] | ((tiers.channel == -1) & self.let["channel"][:, None])) & (
            self.package[:, tiers.package] | ((tiers.package == -1) & self.let["package"][:, None])
        )
        for criterion, (figure, limit) in _AT_LEAST.items():
            enough = tiers.most[figure] >= _single(self.asked[limit])[:, None]
            usable &= enough | (tiers.unknown[figure] & self.let[criterion][:, None]) | self._lets_ratings(criterion)
        low = tiers.least["vgs_th_max_v"] <= _single(self.asked["drive_v"])[:, None]
        usable &= low | tiers.unknown["vgs_th_max_v"]
        with np.errstate(invalid="ignore"):
            limit_ohm = self.slope_ohm_per_w[:, None] * self._most_loss(tiers)
        # A part of which no resistance is known has no loss either: all of that may be accepted.
        blind = self.let["drive"] & self.let["loss"] & self.let["heat"]
        limit_ohm = np.where(np.isnan(limit_ohm) | blind[:, None], np.inf, limit_ohm)  # 0 × infinity bounds nothing
        return usable & (tiers.least_floor_ohm() <= limit_ohm), limit_ohm

    def _lets_ratings(self, criterion: str) -> NDArray[np.bool_]:
        """A current that is only rated in still air is not known where it is too small: it may be accepted."""
        return (self.let["current"] & (criterion == "current"))[:, None]

    def _most_loss(self, tiers: Tiers) -> Floats:
        """Return the greatest conduction loss that may pass in each cell."""
        asked = self.asked
        most = np.where(np.isnan(asked["max_loss_w"]), np.inf, asked["max_loss_w"])
        bare = np.isnan(asked["heatsink_k_per_w"])
        on_leads = np.where(bare, np.minimum(most, asked["leaded_loss_w"]), most)
        perhaps = np.where(self.let["loss"], most, on_leads)
        by_leads = np.stack([most, on_leads, perhaps], axis=1)  # -1 is the last
        rth = np.where(
            bare[:, None],
            tiers.least["still_air_k_per_w"],
            tiers.least["to_sink_k_per_w"] + np.nan_to_num(asked["heatsink_k_per_w"])[:, None],
        )
        with np.errstate(divide="ignore", invalid="ignore"):
            heat = (asked["junction_cap_degc"] - asked["ambient_degc"])[:, None] / rth
        heat = np.where(np.isnan(heat) | self.let["heat"][:, None], np.inf, heat)
        most_loss: Floats = np.minimum(by_leads[:, tiers.leaded], heat)
        return most_loss

    def rows(self, tiers: Tiers, rows: NDArray[np.int64], need: NDArray[np.int64], most_w: Floats) -> NDArray[np.bool_]:
        """Say which rows are worth judging.

        Parameters
        ----------
        tiers
            The tiers.
        rows, need
            Each row, and the need that it may be good for.
        most_w
            For each need, the conduction loss above which no part matters any more.
        """
        keep = np.ones(len(rows), dtype=bool)
        for criterion, (name, limit) in _AT_LEAST.items():
            figure = tiers.figure(name, rows)
            let = self.let[criterion][need]
            unknown = let if criterion == "current" else let & np.isnan(figure)
            keep &= (figure >= _single(self.asked[limit])[need]) | unknown
        keep &= ~(tiers.figure("vgs_th_max_v", rows) > _single(self.asked["drive_v"])[need])
        rows, need, left = rows[keep], need[keep], np.flatnonzero(keep)
        fits = self._inrush(tiers, rows, need) & self._heat(tiers, rows, need, most_w)
        keep[left] = fits
        return keep

    def _inrush(self, tiers: Tiers, rows: NDArray[np.int64], need: NDArray[np.int64]) -> NDArray[np.bool_]:
        asked = self.asked["inrush_a"]
        if np.isnan(asked).all():
            return np.ones(len(rows), dtype=bool)
        greatest = np.fmax(tiers.figure("id_a", rows), tiers.figure("id_pulse_a", rows))
        unknown = np.isnan(tiers.figure("id_pulse_a", rows)) & self.let["inrush"][need]
        return (greatest >= _single(asked)[need]) | np.isnan(asked[need]) | unknown

    def _heat(
        self, tiers: Tiers, rows: NDArray[np.int64], need: NDArray[np.int64], most_w: Floats
    ) -> NDArray[np.bool_]:
        """The least that a part can lose: within what matters, and within what its way to the air takes."""
        asked = self.asked
        growth = conduction.least_growth(
            exponent=tiers.figure("hot_exponent", rows).astype(np.float64), coldest_degc=self.coldest_degc[need]
        )
        heating = (asked["duty"] * asked["current_a"] ** 2)[need]
        floor = tiers.floor_ohm(rows)
        with np.errstate(invalid="ignore"):
            least_w = heating * floor * growth / _GUARD
        sink = asked["heatsink_k_per_w"][need]
        rth = np.where(
            np.isnan(sink), tiers.figure("still_air_k_per_w", rows), tiers.figure("to_sink_k_per_w", rows) + sink
        )
        room_k = (asked["junction_cap_degc"] - asked["ambient_degc"])[need]
        with np.errstate(invalid="ignore"):
            cool = (least_w * rth <= room_k * _GUARD) | self.let["heat"][need]
            # Where a figure is missing there is no loss to compare: only what is accepted lets such a part pass.
            small = (least_w <= most_w[need]) | (np.isinf(floor) & np.isinf(most_w[need]))
        return np.asarray(cool & small)


def _single(values: Floats) -> NDArray[np.float32]:
    """Round limits as the tiers round figures: what meets a limit still does."""
    return values.astype(np.float32)


def bounds_of(needs: Sequence[TransistorNeed], tiers: Tiers) -> Bounds:
    """Put needs into arrays, as the tiers have to know them."""
    parameters = [need.parameters() for need in needs]
    names = (
        "vgs_least_v", "vds_least_v", "id_least_a", "drive_v", "max_loss_w", "leaded_loss_w", "heatsink_k_per_w",
        "junction_cap_degc", "ambient_degc", "duty", "current_a", "inrush_a",
    )  # fmt: skip
    channels, packages = tiers.shelf.channels, tiers.shelf.packages
    asked = {name: np.array([_number(one[name]) for one in parameters]) for name in names}
    coldest_degc = np.array([need.coldest_degc for need in needs])
    return Bounds(
        asked=asked,
        let={
            criterion.name: np.array([bool(one[f"let_{criterion.name}"]) for one in parameters])
            for criterion in needs[0].rules.criteria
        },
        coldest_degc=coldest_degc,
        slope_ohm_per_w=_slope(asked, coldest_degc, tiers.exponents),
        channel=_among([(str(one["channel"]),) for one in parameters], channels),
        package=_among([tuple(one["package"]) or (*packages, None) for one in parameters], packages),  # type: ignore[arg-type]
    )


def _slope(asked: dict[str, Floats], coldest_degc: Floats, exponents: tuple[float, float]) -> Floats:
    """Return the on-resistance at 25 °C that makes at least a watt, whatever the part's exponent."""
    low, high = (conduction.least_growth(exponent=exponent, coldest_degc=coldest_degc) for exponent in exponents)
    growth = np.minimum(low, high)
    with np.errstate(divide="ignore"):
        return np.asarray(_GUARD / (asked["duty"] * asked["current_a"] ** 2 * growth))


def _number(value: Any) -> float:  # noqa: ANN401 - a parameter
    return np.nan if value is None else float(value)


def _among(wanted: Sequence[Sequence[str | None]], there: Sequence[str]) -> NDArray[np.bool_]:
    """Return which of those there are each need wants; the last column is for what is not known."""
    of = {name: place for place, name in enumerate(there)}
    found = np.zeros((len(wanted), len(there) + 1), dtype=bool)
    for row, names in enumerate(wanted):
        for name in names:
            place = -1 if name is None else of.get(name)
            if place is not None:
                found[row, place] = True
    return found
