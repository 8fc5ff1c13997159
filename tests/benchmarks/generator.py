"""Make invented catalogues of power MOSFETs: the demo lists, lists of any size, tables for measuring.

    python tests/benchmarks/generator.py --greenhouse catalog/greenhouse
    python tests/benchmarks/generator.py --rows 2000000 --seed 1 --style bulk -o list.csv

Makers, suppliers, part numbers and prices are invented; the figures hang together as ``population`` says.
"""

from __future__ import annotations

import argparse
from pathlib import Path

import numpy as np
from entries import entries
from greenhouse import greenhouse_truth, write_greenhouse
from layout import to_parts_table
from path_parts import write_path_lists
from population import blocks, make_catalog
from styles import STYLES, in_the_words_of
from writers import WRITERS, write_bulk

__all__ = [
    "blocks",
    "greenhouse_truth",
    "make_catalog",
    "to_parts_table",
    "write_bulk",
    "write_greenhouse",
    "write_list",
    "write_path_lists",
]


def write_list(rows: int, seed: int, style: str, path: Path) -> None:
    """Write a list of ``rows`` parts in no order, in one of the demo suppliers' styles or in ``bulk``."""
    if style == "bulk":
        write_bulk(rows, seed, path)
        return
    table = make_catalog(rows, seed)
    mixed = table.take(np.random.default_rng(seed).permutation(rows))
    lines = entries(mixed, order_prefix="G-")
    WRITERS[style]([in_the_words_of(STYLES[style], line) for line in lines], path)


def _main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--greenhouse", type=Path, metavar="FOLDER", help="write the demo lists there")
    parser.add_argument("--rows", type=int, help="how many parts")
    parser.add_argument("--seed", type=int, default=1, help="the same seed gives the same list (default 1)")
    parser.add_argument("--style", choices=["bulk", *STYLES], default="bulk", help="default: bulk")
    parser.add_argument("-o", "--output", type=Path, metavar="FILE")
    told = parser.parse_args()
    if told.greenhouse:
        write_greenhouse(told.greenhouse)
        write_path_lists(told.greenhouse)
    elif told.rows and told.output:
        write_list(told.rows, told.seed, told.style, told.output)
    else:
        parser.error("say --greenhouse FOLDER, or --rows N and -o FILE")


if __name__ == "__main__":
    _main()
