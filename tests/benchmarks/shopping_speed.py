"""How a plan compares with buying each line where its goods are cheapest: seconds, and what it saves.

    python tests/benchmarks/shopping_speed.py [--lines N …] [--suppliers N] [--seeds N] [--limit SECONDS]

The orders are invented: prices fall at 10, 100 and 1000 pieces, some offers are short of stock or sold in multiples,
each supplier charges a parcel up to an order value of its own. Both sides run on the same programme in one run.
"""

from __future__ import annotations

import argparse
import math
import random
import time

from loadworthy.errors import OrderError
from loadworthy.shopping.programme import AIMS, Charges, Demand, Programme, Way, charged, sums
from loadworthy.shopping.rivals import line_by_line
from loadworthy.shopping.solving import solve

__all__ = ["invented"]


def invented(lines: int, suppliers: int, seed: int) -> Programme:
    """Make up an order and what suppliers ask."""
    dice = random.Random(seed)  # noqa: S311 - prices, not secrets
    names = [f"supplier {number}" for number in range(suppliers)]
    ways: list[Way] = []
    demands: list[Demand] = []
    for _ in range(lines):
        usual = math.exp(dice.uniform(math.log(0.05), math.log(4.0)))
        pieces = dice.choice([4, 8, 10, 12, 20, 44, 60, 100, 220])
        own = []
        for name in names:
            if dice.random() < 0.2:
                continue
            price = usual * dice.uniform(0.8, 1.3)
            least = dice.choice([1, 1, 1, 10, 50])
            falls = {
                max(quantity, least): round(price * share, 4)
                for quantity, share in ((1, 1.0), (10, 0.85), (100, 0.7), (1000, 0.6))
            }
            own.append(len(ways))
            ways.append(
                Way(
                    offer=len(ways),
                    supplier=name,
                    breaks=tuple(sorted(falls.items())),
                    multiple=dice.choice([1, 1, 1, 1, 5, 10]),
                    most=None if dice.random() > 0.3 else dice.randint(0, 2 * pieces),
                )
            )
        demands.append(Demand(pieces=pieces, ways=tuple(own)))
    charges = {
        name: Charges(steps=((0.0, round(dice.uniform(3.0, 12.0), 2)), (dice.choice([30.0, 50.0, 100.0]), 0.0)))
        for name in names
    }
    return Programme(ways=tuple(ways), demands=tuple(demands), charges=charges)


def _measured(programme: Programme, aim: str, limit: float) -> str:
    begin = time.perf_counter()
    greedy = line_by_line(programme)
    simple_s = time.perf_counter() - begin
    simple = None if greedy is None else charged(programme, greedy)
    begin, work = time.perf_counter(), time.process_time()
    try:
        found = solve(programme, aim=aim, time_limit_s=limit)
    except OrderError as error:
        return f"{error} |"
    took, cpu = time.perf_counter() - begin, time.process_time() - work
    if found is None:
        return "no plan |"
    proof = "proven" if found.proven else f"gap {found.gap:.2%}" if found.gap is not None else "gap not known"
    parcels = len(sums(programme, found.bought))
    against = "–" if simple is None else f"{found.cost / simple:.4f} | {took / max(simple_s, 1e-6):.0f}"
    return f"{took:.2f} / {cpu:.2f} | {proof} | {parcels} | {against} |"


def _main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--lines", type=int, nargs="+", default=[20, 50, 200], metavar="N")
    parser.add_argument("--suppliers", type=int, default=10, metavar="N")
    parser.add_argument("--seeds", type=int, default=2, metavar="N")
    parser.add_argument("--limit", type=float, default=10.0, metavar="SECONDS")
    told = parser.parse_args()
    print(
        "| lines × suppliers | aim | clock / CPU (s) | proof | parcels | cost against line by line | time against it |"
    )
    print("|---|---|---:|---|---:|---:|---:|")
    for lines in told.lines:
        for seed in range(told.seeds):
            programme = invented(lines, told.suppliers, seed)
            for aim in AIMS:
                row = _measured(programme, aim, told.limit)
                print(f"| {lines} × {told.suppliers}, {seed} | {aim} | {row}", flush=True)


if __name__ == "__main__":
    _main()
