"""The application: its pages, its safety, and what becomes of an error."""

from __future__ import annotations

import logging
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from flask import Flask, Response, abort, redirect, request
from jinja2 import Environment, PackageLoader
from werkzeug.datastructures import MultiDict
from werkzeug.exceptions import HTTPException

from loadworthy.errors import BoardError, LoadworthyError, OrderError, fault_words
from loadworthy.report import html
from loadworthy.web import safety
from loadworthy.web.wording import as_fields

if TYPE_CHECKING:
    from loadworthy.catalog.holder import CatalogHolder

__all__ = ["PAGES", "Desk", "make_app"]

#: Page → what stands on its tab.
PAGES: Final = {
    "need": "Need",
    "board": "Board",
    "order": "Order",
    "bench": "Bench",
    "catalog": "Catalogue",
}
#: Bytes of a supplier's file that is dropped on the page.
MOST_UPLOAD: Final = 256 * 1024 * 1024
#: What of the work goes along from page to page in the address.
CARRIED: Final = ("board", "order")

#: What is handed out as it is.
_STATIC: Final = {"desk.css": "text/css", "desk.js": "text/javascript", "mark.svg": "image/svg+xml"}

_LOG: Final = logging.getLogger(__name__)


def _templates() -> Environment:
    made = html.environment(PackageLoader("loadworthy.web", "templates"))
    made.filters["as_fields"] = as_fields
    return made


@dataclass(frozen=True, kw_only=True)
class Desk:
    """What the pages work with.

    Attributes
    ----------
    holder
        The catalogue, open for reading in whichever version is the last.
    templates
        The environment that pages are written in.
    """

    holder: CatalogHolder
    templates: Environment = field(default_factory=_templates)

    def page(self, name: str, *, status: int = 200, **shown: Any) -> Response:  # noqa: ANN401 - what templates take
        """Write a page, or where the script asks for one part of it, that part.

        Parameters
        ----------
        name
            The template ``{name}.html.jinja``; a part is its block ``answer``.
        status
            The HTTP status.
        shown
            What the template shows.
        """
        template = self.templates.get_template(f"{name}.html.jinja")
        known = {"pages": PAGES, "carried": carried(), "here": name.partition("_")[0], **shown}
        if wants_part():
            text = "".join(template.blocks["answer"](template.new_context(known)))
        else:
            text = template.render(known)
        return Response(text, status=status, mimetype="text/html")


def carried() -> dict[str, str]:
    """Return what of the work the address carries: it goes along to the other pages."""
    try:
        values: MultiDict[str, str] = request.values
    except HTTPException:  # the form is what is wrong: too large, or cut short
        values = request.args
    return {name: values[name] for name in CARRIED if values.get(name)}


def wants_part() -> bool:
    """Whether the page's script asks for the answer alone."""
    return request.headers.get("Loadworthy-Part") == "answer"


def make_app(*, catalog: Path | str, port: int, names: tuple[str, ...] = ()) -> Flask:
    """Make the application.

    Parameters
    ----------
    catalog
        The catalogue's file, or a set of Parquet files; there need not be one yet.
    port
        Where it will listen: requests must name it.
    names
        Other names of this computer by which it may be asked for.
    """
    from loadworthy.catalog.holder import CatalogHolder  # noqa: PLC0415 - brings DuckDB in
    from loadworthy.web import bench_page, board_page, catalog_page, need_page, order_page  # noqa: PLC0415

    app = Flask("loadworthy.web", static_folder=None, template_folder=None)
    app.config.update(MAX_CONTENT_LENGTH=MOST_UPLOAD, MAX_FORM_MEMORY_SIZE=4_000_000, MAX_FORM_PARTS=2_000)
    desk = Desk(holder=CatalogHolder(catalog))
    safety.guard(app, safety.own_hosts(port, names))
    for module in (need_page, board_page, order_page, bench_page, catalog_page):
        app.register_blueprint(module.make_pages(desk))

    @app.get("/")
    def front() -> Any:  # noqa: ANN401 - what Flask takes
        return redirect("/need")

    @app.get("/page.css")
    def page_style() -> Response:
        return Response(html.style(), mimetype="text/css", headers={"Cache-Control": "max-age=60"})

    @app.get("/static/<name>")
    def static(name: str) -> Response:
        if name not in _STATIC:
            abort(404)
        # Whole, not as an open file: a reader that goes away in between would leave it open.
        answer = Response(_static(name), mimetype=_STATIC[name], headers={"Cache-Control": "no-cache"})
        answer.add_etag()
        answer.make_conditional(request)
        return answer

    _tell_errors(app, desk)
    return app


@cache
def _static(name: str) -> bytes:
    return (Path(__file__).parent / "static" / name).read_bytes()


def _tell_errors(app: Flask, desk: Desk) -> None:
    """Let every error end on a page that says what is wrong and the way out."""

    @app.errorhandler(LoadworthyError)
    def ours(error: LoadworthyError) -> Response:
        problems = error.problems if isinstance(error, (BoardError, OrderError)) else ()
        return desk.page("error", status=safety.status_of(error), error=error, problems=problems)

    @app.errorhandler(HTTPException)
    def theirs(error: HTTPException) -> Response:
        words = {
            404: ("there is no such page.", "Go on from one of the tabs above."),
            405: ("that cannot be done by following a link.", "Go back, and use the button there."),
            413: (
                f"that is more than this page takes in at once ({MOST_UPLOAD // 1_048_576} MiB).",
                "Take it in from the command line: loadworthy intake FILE.",
            ),
        }
        message, way_out = words.get(
            error.code or 500, (f"{error.name}: {error.description}", "Go back and try again.")
        )
        return desk.page(
            "error", status=error.code or 500, error=LoadworthyError(message, way_out=way_out), problems=()
        )

    @app.errorhandler(Exception)
    def fault(error: Exception) -> Response:
        _LOG.error("a fault of the program", exc_info=error)
        told = LoadworthyError(
            fault_words(error),
            way_out="Please report this line, and what you did before it.",
        )
        return desk.page("error", status=500, error=told, problems=())
