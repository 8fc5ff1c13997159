"""Make the two pictures of the README anew: ``python tests/browser/pictures.py``, where Chromium and playwright are."""

from __future__ import annotations

import io
import sys
import tempfile
from pathlib import Path
from typing import Any, Final

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "benchmarks"))

from browsing import GREENHOUSE, address, executable, launched, stocked
from serving import served

_INTO: Final = Path(__file__).resolve().parents[2] / ".github" / "images"
_WIDTH_PX: Final = 1100
#: A large mat on a pin of 3.3 V: few parts fit, so that the list and its picture can be seen together.
_NEED: Final = {"supply": "12V", "resistance": "1ohm", "drive": "3V3", "ambient": "40degC", "package": "TO-220"}


def main() -> None:
    """Write both."""
    from playwright.sync_api import sync_playwright

    path = executable()
    if path is None:
        raise SystemExit("There is no browser here: install chromium, or name one with LOADWORTHY_BROWSER.")
    _INTO.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as play:
        catalog = stocked(Path(folder) / "greenhouse.duckdb")
        browser = launched(play, path)
        _report(browser, _written(catalog, Path(folder)))
        with served(catalog) as port:
            _need(browser, f"http://127.0.0.1:{port}")
        browser.close()


def _written(catalog: Path, folder: Path) -> Path:
    """Write the report as the command does."""
    from click.testing import CliRunner

    from loadworthy.cli import main as command

    place = folder / "report.html"
    words = ["report", str(GREENHOUSE / "board.toml"), "-o", str(place), "--catalog", str(catalog)]
    CliRunner().invoke(command, words, catch_exceptions=False)
    return place


def _report(browser: Any, place: Path) -> None:
    """Take the first path of the report, with its heading and what its bars mean."""
    page = browser.new_page(viewport={"width": 800, "height": 900}, device_scale_factor=_WIDTH_PX / 800)
    page.goto(place.as_uri())
    path = page.locator(".path").first
    path.locator(".weakest").wait_for()
    _shot(page, "report.png", page.locator(".key").first, path)


def _need(browser: Any, start: str) -> None:
    """Take the list of a need, and the picture of its first parts."""
    page = browser.new_page(viewport={"width": _WIDTH_PX, "height": 900})
    page.goto(start + address("/need/transistor", **_NEED))
    page.locator("#answer svg.picture").first.wait_for()
    _shot(page, "need.png", page.locator("#parts"), page.locator("#answer figure svg").first)


def _shot(page: Any, name: str, first: Any, last: Any) -> None:
    """Take what stands from one thing of a page to another, over its whole width; 256 colours are plenty."""
    from PIL import Image

    above, below = first.bounding_box(), last.bounding_box()
    top, bottom = max(above["y"] - 8, 0), below["y"] + below["height"] + 8
    clip = {"x": 0, "y": top, "width": page.viewport_size["width"], "height": bottom - top}
    taken = Image.open(io.BytesIO(page.screenshot(full_page=True, clip=clip))).convert("RGB")
    taken.quantize(256, dither=Image.Dither.NONE).save(_INTO / name, optimize=True)
    print(f"{_INTO / name}: {taken.width} × {taken.height} px, {(_INTO / name).stat().st_size / 1000:.0f} kB")


if __name__ == "__main__":
    main()
