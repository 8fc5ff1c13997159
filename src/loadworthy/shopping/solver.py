"""The solver: SciPy's, with a narrowing that makes great programmes small."""

from __future__ import annotations

import math
import time
from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from typing import Any, Final

from loadworthy.errors import OrderError

__all__ = ["Clock", "Found", "Problem"]

_OPTIMAL, _INFEASIBLE = 0, 2
#: Within this share of its bound a plan counts as proven: far below a cent in any order.
_CLOSE: Final = 1e-6


class Clock:
    """The time that is left."""

    def __init__(self, seconds: float) -> None:
        self._end = time.monotonic() + seconds
        self.seconds = seconds

    @property
    def left(self) -> float:
        """Seconds, a few hundredths at the least."""
        return max(self._end - time.monotonic(), 0.05)

    @property
    def over(self) -> bool:
        """Whether the time is up."""
        return time.monotonic() >= self._end


@dataclass(frozen=True)
class Found:
    """Values of the variables (a numpy array), and how good they are; ``gap`` as of a solution."""

    values: Any
    proven: bool
    gap: float | None
    cost: float = 0.0


class Problem:
    """One programme in the form in which the solver takes it: variables from 0 up, rows between limits."""

    def __init__(
        self,
        costs: Sequence[float],
        highs: Sequence[float],
        whole: Sequence[int],
        rows: Sequence[tuple[Mapping[int, float], float, float]],
    ) -> None:
        import numpy as np  # noqa: PLC0415 - only who plans an order pays for loading these
        from scipy.sparse import csr_array  # noqa: PLC0415

        starts, columns, factors = [0], list[int](), list[float]()
        for terms, _, _ in rows:
            columns += terms.keys()
            factors += terms.values()
            starts.append(len(columns))
        self.costs, self.highs, self.whole = np.array(costs), np.array(highs), np.array(whole)
        self.matrix = csr_array((factors, columns, starts), shape=(len(rows), len(costs)))
        self.least = np.array([low for _, low, _ in rows])
        self.most = np.array([high for _, _, high in rows])

    def solved(self, clock: Clock, highs: Any = None) -> Found | None:  # noqa: ANN401 - a numpy array
        """Solve it; None where it cannot be done."""
        from scipy.optimize import Bounds, LinearConstraint, milp  # noqa: PLC0415 - as above

        result = milp(
            c=self.costs,
            integrality=self.whole,
            bounds=Bounds(0.0 * self.highs, self.highs if highs is None else highs),
            constraints=LinearConstraint(self.matrix, self.least, self.most),
            options={"time_limit": clock.left, "mip_rel_gap": _CLOSE},
        )
        if result.status == _INFEASIBLE:
            return None
        if result.x is None:
            raise OrderError(
                f"no plan was found in {clock.seconds:g} s.",
                way_out="Give it longer with --time-limit, or fewer lines.",
            )
        gap = float(result.mip_gap) if result.mip_gap is not None and math.isfinite(result.mip_gap) else None
        return Found(result.x, proven=result.status == _OPTIMAL, gap=gap, cost=float(result.fun))

    def narrowed(
        self,
        clock: Clock,
        highs: Any = None,  # noqa: ANN401 - numpy arrays
        bound: tuple[float, Any] | None = None,
        *,
        below: float = math.inf,
    ) -> Found | None:
        """Solve it among few variables first, which as a rule is the whole of it.

        Without whole numbers the least cost is a bound, and each variable that is 0 there has a reduced cost: what
        every plan costs beyond the bound at the least for each 1 of it. Once a plan is known, a variable whose
        reduced cost is above the plan's distance from the bound is in no better one.

        Parameters
        ----------
        clock
            The time that is left.
        highs
            Upper bounds of the variables, where they are not the problem's own.
        bound
            What :meth:`relaxed` returned for these.
        below
            What costs as much or more is of no interest: None may then stand for it.
        """
        highs = self.highs if highs is None else highs
        bound = bound or self.relaxed(highs)
        if bound is None:
            return None
        least, reduced = bound
        if not math.isfinite(least):
            return self.solved(clock, highs)
        if math.isfinite(below):
            return self.solved(clock, self._within(highs, reduced, below - least))
        reach = 0.004 * abs(least) + 1.0
        best: Found | None = None
        while True:
            few = self._within(highs, reduced, reach)
            everything = bool((few >= highs).all())
            try:
                found = self.solved(clock, few)
            except OrderError:
                if best is None:
                    raise
                found = replace(best, proven=False)
            if found is None and everything:
                return None
            if found is not None and (best is None or found.cost < best.cost or not found.proven):
                best = found
            if best is not None and (everything or best.cost - least <= reach):
                return best
            if best is not None and not best.proven:
                return replace(best, gap=(best.cost - least) / best.cost)
            reach = 16.0 * reach if best is None else (best.cost - least) * (1.0 + 1e-9) + 1e-6

    def relaxed(self, highs: Any = None) -> tuple[float, Any] | None:  # noqa: ANN401 - numpy arrays
        """Return the least cost without whole numbers, and the reduced costs.

        None where it cannot be done; minus infinity, and no reduced costs, where that is not known.
        """
        import numpy as np  # noqa: PLC0415 - as above
        from scipy.optimize import linprog  # noqa: PLC0415
        from scipy.sparse import vstack  # noqa: PLC0415

        upper, lower = np.isfinite(self.most), np.isfinite(self.least)
        result = linprog(
            self.costs,
            A_ub=vstack([self.matrix[upper], -self.matrix[lower]]),
            b_ub=np.concatenate([self.most[upper], -self.least[lower]]),
            bounds=np.column_stack([0.0 * self.highs, self.highs if highs is None else highs]),
            method="highs",
        )
        if result.status == _INFEASIBLE:
            return None
        if result.status != _OPTIMAL:
            return -math.inf, 0.0 * self.highs
        return float(result.fun), result.lower.marginals

    def among(self, sets: Sequence[Sequence[int]], clock: Clock) -> Found | None:
        """Find the best solution in which all of a set of variables are 0, for any of some sets.

        Sets are taken in the order of their bounds, so that those whose bound is above the best plan are never
        solved.
        """
        bounds: list[tuple[float, int, Any, Any]] = []
        for place, dropped in enumerate(sets):
            if bounds and clock.over:
                break
            highs = self.highs.copy()
            highs[list(dropped)] = 0.0
            bound = self.relaxed(highs)
            if bound is not None:
                bounds.append((bound[0], place, highs, bound))
        looked = not clock.over
        best: Found | None = None
        left_open: list[float] = []
        for least, _, highs, bound in sorted(bounds, key=lambda one: one[:2]):
            if best is not None and least >= best.cost * (1.0 - _CLOSE):
                break
            found = None
            if best is None or not clock.over:
                with suppress(OrderError):
                    found = self.narrowed(clock, highs, bound, below=math.inf if best is None else best.cost)
            if clock.over or (found is not None and not found.proven):
                left_open.append(least)
            if found is not None and (best is None or found.cost < best.cost):
                best = found
        if best is None:
            return self.solved(clock) if left_open else None
        if looked and not left_open:
            return replace(best, proven=True, gap=0.0)
        gap = (best.cost - min(left_open)) / best.cost if looked else None
        return replace(best, proven=False, gap=gap)

    def _within(self, highs: Any, reduced: Any, reach: float) -> Any:  # noqa: ANN401 - numpy arrays
        """Return upper bounds that leave out what would cost more than `reach` beyond the bound."""
        import numpy as np  # noqa: PLC0415 - as above

        steps = np.floor(reach / np.maximum(reduced, 1e-12) + 1e-6)
        return np.where(self.whole > 0, np.minimum(highs, steps), highs)
