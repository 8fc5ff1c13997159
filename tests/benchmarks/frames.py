"""The same ranked list worked out in data frames in memory, as somebody would who has no catalogue.

Written for speed: no texts but coded ones in the frames, plain comparisons first, physics for what they leave.
The question is the greenhouse's: a drive of exactly 5 V, no sink, no switching losses.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, TypeAlias

import numpy as np
import pandas as pd
import polars as pl
import pyarrow as pa

__all__ = ["CODED", "FIGURES", "Ranked", "as_pandas", "as_polars", "rank_in_pandas", "rank_in_polars"]

CODED = ("channel", "package")
#: Every figure that the question needs of a part.
FIGURES = (
    "vds_v", "vgs_max_v", "vgs_th_max_v", "id_case_a", "id_case_hot_a", "id_ambient_a", "rds_5v0_ohm",
    "hot_exponent", "rthja_k_per_w", "package_rthja_k_per_w", "junction_max_degc", "leaded",
)  # fmt: skip
#: Conduction loss in W and place in the table, the best first.
Ranked: TypeAlias = list[tuple[float, int]]
_Asked: TypeAlias = Mapping[str, Any]


def _coded(table: pa.Table) -> pa.Table:
    for name in CODED:
        column = table.column(name).dictionary_encode().unify_dictionaries()
        table = table.set_column(table.column_names.index(name), name, column)
    return table


def as_pandas(table: pa.Table) -> pd.DataFrame:
    """Make a frame of plain numpy columns, channel and package coded."""
    frame: pd.DataFrame = _coded(table).to_pandas()
    return frame


def as_polars(table: pa.Table) -> pl.DataFrame:
    """Make a frame in one piece, channel and package coded."""
    return pl.DataFrame(_coded(table)).with_row_index("place").rechunk()


def rank_in_pandas(frame: pd.DataFrame, asked: _Asked, top: int) -> Ranked:
    """Rank in pandas and numpy."""
    meets = (
        (frame["vds_v"].to_numpy() >= asked["vds_least_v"])
        & (frame["vgs_max_v"].to_numpy() >= asked["vgs_least_v"])
        & ~(frame["vgs_th_max_v"].to_numpy() >= asked["drive_v"])
        & ~np.isnan(frame["rds_5v0_ohm"].to_numpy())
        & (frame["channel"] == asked["channel"]).to_numpy()
    )
    if asked["package"]:
        meets &= frame["package"].isin(asked["package"]).to_numpy()
    left = frame[meets]
    still_air = left["id_ambient_a"].where(left["id_ambient_a"] >= asked["id_least_a"])
    rated = left["id_case_a"].fillna(left["id_case_hot_a"]).fillna(still_air)
    left = left[rated >= asked["id_least_a"]]
    vds = left["vds_v"].to_numpy()
    own = left["hot_exponent"].to_numpy()
    exponent = np.where(np.isnan(own), np.clip(1.65 + (vds - 60.0) * (0.75 / 90.0), 1.65, 2.4), own)
    a, b = exponent / 298.15, exponent * (exponent - 1.0) / (2.0 * 298.15**2)
    heating = asked["duty"] * asked["current_a"] ** 2 * left["rds_5v0_ohm"].to_numpy()
    k = heating * left["rthja_k_per_w"].fillna(left["package_rthja_k_per_w"]).to_numpy()
    qb, qc = k * a - 1.0, asked["ambient_degc"] - 25.0 + k
    with np.errstate(invalid="ignore"):
        delta = np.where(qb < 0.0, 2.0 * qc / (np.sqrt(qb * qb - 4.0 * k * b * qc) - qb), np.nan)
    loss = heating * (1.0 + delta * (a + b * delta))
    highest = left["junction_max_degc"].fillna(asked["junction_assumed_degc"]).to_numpy()
    limit = np.minimum(highest - asked["junction_derate_k"], asked["junction_cap_degc"])
    fits = (delta + 25.0 <= limit) & ~(left["leaded"].to_numpy(dtype=bool) & (loss > asked["leaded_loss_w"]))
    best = pd.Series(loss[fits], index=left.index[fits]).nsmallest(top)
    return list(zip(best.tolist(), best.index.tolist(), strict=True))


def rank_in_polars(frame: pl.DataFrame, asked: _Asked, top: int) -> Ranked:
    """Rank in polars, by one lazy query."""
    column = pl.col
    meets = (
        (column("channel") == asked["channel"])
        & (column("vds_v") >= asked["vds_least_v"])
        & (column("vgs_max_v") >= asked["vgs_least_v"])
        & (column("vgs_th_max_v") < asked["drive_v"]).fill_null(value=True)
        & column("rds_5v0_ohm").is_not_null()
    )
    if asked["package"]:
        meets &= column("package").is_in(list(asked["package"]))
    still_air = pl.when(column("id_ambient_a") >= asked["id_least_a"]).then(column("id_ambient_a"))
    meets &= pl.coalesce("id_case_a", "id_case_hot_a", still_air) >= asked["id_least_a"]
    assumed = (1.65 + (column("vds_v") - 60.0) * (0.75 / 90.0)).clip(1.65, 2.4)
    n, k, a, b = column("n"), column("k"), column("a"), column("b")
    qb, qc, delta = column("qb"), column("qc"), column("delta")
    highest = column("junction_max_degc").fill_null(asked["junction_assumed_degc"])
    limit = pl.min_horizontal(highest - asked["junction_derate_k"], pl.lit(asked["junction_cap_degc"]))
    root = qb * qb - 4.0 * k * b * qc
    best = (
        frame.lazy()
        .filter(meets)
        .with_columns(
            n=pl.coalesce("hot_exponent", assumed),
            heating=asked["duty"] * asked["current_a"] ** 2 * column("rds_5v0_ohm"),
        )
        .with_columns(
            a=n / 298.15,
            b=n * (n - 1.0) / (2.0 * 298.15**2),
            k=column("heating") * pl.coalesce("rthja_k_per_w", "package_rthja_k_per_w"),
        )
        .with_columns(qb=k * a - 1.0, qc=asked["ambient_degc"] - 25.0 + k)
        .with_columns(delta=pl.when((qb < 0.0) & (root >= 0.0)).then(2.0 * qc / (root.sqrt() - qb)))
        .with_columns(loss=column("heating") * (1.0 + delta * (a + b * delta)))
        .filter((delta + 25.0 <= limit) & ~(column("leaded") & (column("loss") > asked["leaded_loss_w"])))
        .select("loss", "place")
        .bottom_k(top, by="loss")
        .sort("loss")
        .collect()
    )
    return [(float(watts), int(place)) for watts, place in best.rows()]
