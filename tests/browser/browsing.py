"""What the tests in a browser and the README's pictures share: the browser, what is looked at, and where."""

from __future__ import annotations

import base64
import os
import shutil
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any, Final
from urllib.parse import urlencode

from loadworthy import shipped
from loadworthy.web.state import pack

__all__ = [
    "BOARD",
    "GREENHOUSE",
    "NAMES",
    "NEED",
    "ORDER",
    "STATES",
    "address",
    "dropped",
    "executable",
    "launched",
    "stocked",
]

#: Under what names Chromium is found, the first that is there; LOADWORTHY_BROWSER names another.
NAMES: Final = ("chromium", "chromium-browser", "google-chrome")
#: It fetches nothing by itself, and runs where there is no screen and no space of its own.
ARGUMENTS: Final = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-first-run",
    "--disable-quic",
)

#: The greenhouse's files and its board, and an order of two of the parts that its lists hold.
GREENHOUSE: Final = shipped.catalog_dir() / "greenhouse"
BOARD: Final = (GREENHOUSE / "board.toml").read_text("utf-8")
ORDER: Final = """title = "For the bench"
currency = "EUR"
boards = 3

[rates]
USD = 0.92
GBP = 1.17

[[line]]
part = "VYZ30564-20U"
family = "transistor"
quantity = 1

[[line]]
part = "AD508H-02"
family = "connector"
quantity = 2
"""
NEED: Final = {"supply": "12V", "resistance": "1.6ohm", "drive": "5V", "ambient": "40degC", "package": "TO-220"}
#: A part that measures more than its list claims.
_READ: Final = {
    "part": "BRQ33324-40L",
    "kelvin": "yes",
    "drop": "48.35mV",
    "current": "6.001A",
    "gate": "4.503V",
    "pulse": "300us",
    "supply": "12V",
}
_PINNED: Final = ["VYZ30564-20U | Vessary Microelectronics", "BRQ30402-20G | Brackmere Semiconductor"]


def address(path: str, *, board: str | None = None, order: str | None = None, **asked: Any) -> str:
    """Return where a page is, with the work that it is about."""
    held = {name: pack(text) for name, text in (("board", board), ("order", order)) if text is not None}
    words = urlencode({**held, **asked}, doseq=True)
    return f"{path}?{words}" if words else path


def _states() -> Mapping[str, str]:
    mat_a = {"board": BOARD, "where": "output[1].link[2]"}
    need = "/need/transistor"
    return {
        "a need that is asked": address(need),
        "a need with its parts": address(need, **NEED),
        "parts side by side": address(need, **NEED, pin=_PINNED),
        "a need that nothing meets": address("/need/connector", supply="12V", current="200A"),
        "a need that is wrong": address(need, supply="12", resistance="1.6ohm"),
        "a part with its arithmetic": address(f"{need}/part", **NEED, part="VYZ30564-20U", figure="conduction_loss_w"),
        "which board": address("/board"),
        "a board": address("/board", board=BOARD),
        "a board on another supply": address("/board", board=BOARD, supply="24V"),
        "a link that is edited": address("/board/edit", **mat_a),
        "a link that is added": address("/board/add", **mat_a),
        "a part for a link": address("/board/choose", **mat_a),
        "parts for what falls short": address("/board/mend", board=BOARD),
        "the card for the lid": address("/board/card", board=BOARD),
        "an empty order": address("/order"),
        "an order with its plan": address("/order", order=ORDER),
        "a plan": address("/order/plan", order=ORDER),
        "a measurement that is asked": address("/bench"),
        "a measurement with its verdict": address("/bench/transistor", **_READ),
        "a load that is measured": address("/bench/load"),
        "the catalogue": address("/catalog"),
        "what was refused": address("/catalog/refused"),
    }


#: The main states of all pages on the greenhouse's catalogue: what is seen → where.
STATES: Final = _states()


def stocked(place: Path) -> Path:
    """Take the greenhouse's lists into a catalogue, and return it."""
    from loadworthy.catalog.intake import intake

    intake(place, sorted(path for path in GREENHOUSE.iterdir() if path.suffix in {".csv", ".tsv", ".txt", ".xlsx"}))
    return place


def executable() -> str | None:
    """Return where the browser is, if there is one."""
    named = os.environ.get("LOADWORTHY_BROWSER")
    if named:
        return named if Path(named).is_file() else shutil.which(named)
    return next((found for name in NAMES if (found := shutil.which(name))), None)


def launched(play: Any, path: str) -> Any:
    """Start the browser."""
    return play.chromium.launch(executable_path=path, args=list(ARGUMENTS))


_DROP: Final = """(place, files) => {
    const carried = new DataTransfer();
    for (const [name, text] of files)
        carried.items.add(new File([Uint8Array.from(atob(text), one => one.charCodeAt(0))], name));
    for (const kind of ["dragenter", "dragover", "drop"])
        place.dispatchEvent(new DragEvent(kind, { bubbles: true, cancelable: true, dataTransfer: carried }));
}"""


def dropped(page: Any, place: str, files: Iterable[Path]) -> None:
    """Drop files on a place of a page, as one does from a folder's window."""
    carried = [(one.name, base64.b64encode(one.read_bytes()).decode()) for one in files]
    page.locator(place).evaluate(_DROP, carried)


def seen(page: Any, where: str) -> None:
    """Open a page, and wait until all that follows is there."""
    from playwright.sync_api import expect

    page.goto(where)
    expect(page.locator("[aria-busy=true]")).to_have_count(0)
