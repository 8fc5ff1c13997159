"""How soon the page answers as one types: a request to the running server, over the loopback, to the last byte."""

from __future__ import annotations

import http.client
import itertools
from collections.abc import Callable
from pathlib import Path
from urllib.parse import urlencode

from serving import served
from start_speed import list_catalog
from timing import Line, compared, costs_of_call, in_turn

__all__ = ["measure_page"]

_NEED = {"supply": "12V", "resistance": "1.6ohm", "drive": "5V", "ambient": "40degC"}


def _asking(port: int, path: str) -> Callable[[], None]:
    """Ask as the page's script does, each time for another resistance: nothing may be remembered."""
    numbers = itertools.count(1)

    def ask() -> None:
        link = http.client.HTTPConnection("127.0.0.1", port)
        need = {**_NEED, "resistance": f"{1.6 + next(numbers) / 1000:.3f}ohm"}
        link.request("GET", f"{path}?{urlencode(need)}", headers={"Loadworthy-Part": "answer"})
        reply = link.getresponse()
        text = reply.read()
        link.close()
        if reply.status != 200 or (b"</table>" not in text and b"<svg" not in text):
            raise RuntimeError(f"{reply.status}: {text[:300]!r}")

    return ask


def measure_page(parts: int, folder: Path, *, rounds: int) -> list[Line]:
    """Measure one answer of the page over so many parts, against the choice alone in the same process."""
    from loadworthy.catalog.store import Catalog
    from loadworthy.needs import TransistorNeed
    from loadworthy.selection import choose

    catalog_file = list_catalog(parts, folder)
    answer, picture = f"the answer, {parts:,} parts", "its picture, which follows"
    alone = "choose alone, open catalogue"
    need = TransistorNeed(**_NEED)
    with served(catalog_file) as port, Catalog.open(catalog_file) as catalog:
        jobs = {
            answer: _asking(port, "/need/transistor"),
            picture: _asking(port, "/need/transistor/picture"),
            alone: lambda: choose(catalog, need, top=20) and None,
        }
        costs = in_turn({name: lambda job=job: costs_of_call(job) for name, job in jobs.items()}, rounds=rounds)
    return compared(costs, [(answer, alone), (picture, alone)])
