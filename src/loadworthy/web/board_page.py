"""The page of a board: its path as a picture to be edited, its limits, and parts for what falls short."""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import date
from typing import Any, Final, TypeAlias
from urllib.parse import urlencode

from flask import Blueprint, Response, redirect, request
from werkzeug.datastructures import MultiDict

from loadworthy import shipped
from loadworthy.boards import Board, audit, editing
from loadworthy.boards.choosing import mend, mend_one
from loadworthy.errors import BoardError, LoadworthyError, UsageError
from loadworthy.report.pages import card_view
from loadworthy.toml_files import read_toml, toml_text
from loadworthy.toml_positions import path_of
from loadworthy.web.app import Desk, carried
from loadworthy.web.board_form import Form, applied, form_at, given_in, grouped
from loadworthy.web.board_view import KIND_WORDS, choice_shown, mended_shown, shown
from loadworthy.web.board_work import Work, group_of, links_of, read_work, rows_of, work_on
from loadworthy.web.files import attached
from loadworthy.web.state import MOST_LETTERS, pack, unpack

__all__ = ["make_pages"]

#: Parts that are listed for one link, and those that fall short in one thing.
_TOP: Final = 10
_NEAR: Final = 5
#: What a new output's path may begin with, its name, and what is said of it until more is.
_BEGINNINGS: Final = {
    "fuse": ("a fuse of its own", {"type": "one-shot"}),
    "transistor": ("the transistor that switches it", {"drive": "5V"}),
    "connector": ("the terminal that its load is on", {}),
}
#: What is wrong with the fields of a form, by their names, and what else is.
_Found: TypeAlias = tuple[Mapping[str, str], tuple[str, ...]]
_NAMES: Final = {"fuse": "fuse", "transistor": "switch", "connector": "terminal", "wire": "lead"}


def make_pages(desk: Desk) -> Blueprint:
    """Make the pages."""
    made = Blueprint("board", __name__)

    @made.get("/board")
    def front() -> Response:
        if not carried().get("board"):
            form = form_at(_nothing(), "")
            return desk.page("board_start", groups=grouped(form, _nothing(), None, {}), problems=(), text="")
        work = work_on(desk, _text())
        return desk.page("board", at=_at(), **shown(work, request.args, _at()))

    @made.get("/board/greenhouse")
    def greenhouse() -> Any:  # noqa: ANN401 - what Flask takes
        text = (shipped.catalog_dir() / "greenhouse" / "board.toml").read_text("utf-8")
        return _on(text)

    @made.post("/board/open")
    def take() -> Any:  # noqa: ANN401 - as above
        return _opened(desk)

    _editing(desk, made)
    _choosing(desk, made)

    @made.get("/board/file")
    def file() -> Response:
        text = _text()
        return attached(text.encode("utf-8"), title=work_on(desk, text).title, usual="board", ending=".toml")

    @made.get("/board/card")
    def card() -> Response:
        board = _judged(work_on(desk, _text()))
        return desk.page("board_card", card=card_view(audit(board).as_json()), made_on=date.today().isoformat())

    return made


def _editing(desk: Desk, made: Blueprint) -> None:
    """Add what changes the board's text: forms, and what a button does at once."""

    @made.get("/board/edit")
    def edit() -> Response:
        work = work_on(desk, _text()) if carried().get("board") else _nothing()
        form = form_at(work, request.args.get("where", ""), kind=request.args.get("kind", ""))
        return _form_page(desk, work, form)

    @made.post("/board/edit")
    def put() -> Any:  # noqa: ANN401 - what Flask takes
        text = _text() if carried().get("board") else ""
        work = work_on(desk, text) if text else _nothing()
        form = form_at(work, request.form.get("where", ""), kind=request.form.get("kind_of_link", ""))
        given = given_in(form, request.form)
        new, place = applied(text, form, given, at=_number("at_place"))
        new = _begun_output(new, place, given) if form.adding and form.where == "output" else new
        new = _fed(new, given) if form.adding and form.where == "section" else new
        found = _wrong(work_on(desk, new), form, place)
        if any(found):
            return _form_page(desk, work, form, request.form, found)
        return _on(new, place)

    @made.get("/board/add")
    def add() -> Response:
        work, where = work_on(desk, _text()), request.args.get("where", "")
        group = where.partition(".")[0]
        links = links_of(group_of(work.raw, group), group)
        path = path_of(where)
        behind = int(path[-1]) + 1 if path[-2:-1] == ("link",) else len(links)
        called = str(group_of(work.raw, group).get("name") or group)
        return desk.page("board_add", called=called, group=group, place=behind, links=links, kinds=KIND_WORDS)

    @made.post("/board/do")
    def do() -> Any:  # noqa: ANN401 - as above
        what, _, where = request.form.get("do", "").partition(" ")
        deeds = {
            "remove": lambda: editing.remove(_text(), where),
            "up": lambda: editing.move(_text(), where, -1),
            "down": lambda: editing.move(_text(), where, +1),
        }
        if what not in deeds:
            raise UsageError(
                f"{what!r} is nothing that can be done here.", way_out="Use the buttons of the board's page."
            )
        return _on(deeds[what](), where)


def _choosing(desk: Desk, made: Blueprint) -> None:
    """Add what puts parts of the catalogue in the place of links."""

    @made.get("/board/choose")
    def offer() -> Response:
        where = request.args.get("where", "")
        with desk.holder.reading() as catalog:
            work = _read(_text(), catalog)
            mended = mend_one(_judged(work), catalog, where, top=_TOP, near=_NEAR)
        told = choice_shown(mended)
        return desk.page("board_choose", where=where, need_address=_need_address(told["one"]), **told)

    @made.post("/board/place")
    def place() -> Any:  # noqa: ANN401 - what Flask takes
        text, where, part = _text(), request.form.get("where", ""), request.form.get("part", "")
        if not part:  # nothing that a catalogue holds: a wire along a trace
            with desk.holder.reading() as catalog:
                mended = mend_one(_judged(_read(text, catalog)), catalog, where)
            return _on(editing.as_mended(text, mended.before.board, mended.after.board), where)
        text = editing.with_part(text, where, part, request.form.get("maker") or None)
        drive = request.form.get("drive", "")
        link = next(
            (
                link
                for spot, link in links_of(group_of(editing.tables_of(text), where), where.partition(".")[0])
                if spot == where
            ),
            {},
        )
        if drive and link.get("kind") == "transistor" and "drive" not in link:
            text = editing.put(text, where, {"drive": drive})
        return _on(text, where)

    @made.get("/board/mend")
    def propose() -> Response:
        with desk.holder.reading() as catalog:
            mended = mend(_judged(_read(_text(), catalog)), catalog)
        return desk.page("board_mend", **mended_shown(mended))

    @made.post("/board/mend")
    def apply() -> Any:  # noqa: ANN401 - as above
        text = _text()
        with desk.holder.reading() as catalog:
            mended = mend(_judged(_read(text, catalog)), catalog)
        return _on(editing.as_mended(text, mended.before.board, mended.after.board))


# -- the address ---------------------------------------------------------------------------------------
def _text() -> str:
    """Return the board's text from the address.

    Raises
    ------
    UsageError
        There is none in it.
    """
    packed = carried().get("board")
    if not packed:
        raise UsageError("there is no board here.", way_out="Begin one, or open its file, on the page Board.")
    return unpack(packed)


def _on(text: str, where: str = "") -> Any:  # noqa: ANN401 - what Flask takes
    """Go on with a board's new text, where it was worked on."""
    kept = {**carried(), "board": pack(text)}
    found = re.match(r"output\[(\d+)\]", where)
    if found:
        kept["at"] = found.group(1)
    return redirect(f"/board?{urlencode(kept)}" + (f"#output-{found.group(1)}" if found else ""), code=303)


def _need_address(one: Mapping[str, Any]) -> str:
    """Return where the same need can be asked for in one's own words; nothing where no family holds such a part."""
    if not one["asked"]:
        return ""
    asked = {name: "yes" if value is True else value for name, value in one["asked"].items()}
    return f"/need/{one['kind']}?{urlencode({**asked, **carried()}, doseq=True)}"


def _at() -> int:
    return _number("at") or 0


def _number(name: str) -> int | None:
    text = request.values.get(name, "")
    return int(text) if text.isascii() and text.isdigit() and len(text) < 6 else None


def _nothing() -> Work:
    return Work(text="", raw={}, board=None, problems=())


def _read(text: str, catalog: Any) -> Work:  # noqa: ANN401 - a catalogue
    return read_work(text, editing.tables_of(text), catalog)


def _judged(work: Work) -> Board:
    """Return the board.

    Raises
    ------
    BoardError
        It says too little to be judged, or something that cannot be.
    """
    if work.board is None:
        told = tuple(BoardError(one.text, where=one.key or None) for one in work.problems)
        raise BoardError("the board cannot be judged yet.", problems=told, way_out="Say what is missing first.")
    return work.board


# -- opening -------------------------------------------------------------------------------------------
def _opened(desk: Desk) -> Any:  # noqa: ANN401 - what Flask takes
    """Open a board file that was chosen or dropped, or a text that was written; what is no TOML can be mended here."""
    sent = request.files.get("file")
    name = (sent.filename if sent else "") or "the text"
    text = ""
    try:
        text = (
            toml_text(sent.read(), fault=BoardError, name=name)
            if sent and sent.filename
            else request.form.get("text", "")
        )
        text = text.replace("\r\n", "\n")
        _check(text, name)
    except BoardError as error:
        return _start(desk, error, text)
    return _on(text)


def _check(text: str, name: str) -> None:
    """Check that a text can be worked on as a board.

    Raises
    ------
    BoardError
        Nothing stands in it, it is too long, or no TOML.
    """
    if not text.strip():
        raise BoardError("nothing stands in it.", where=name, way_out="Choose a board file, or write its text.")
    if len(text) > MOST_LETTERS:
        way_out = f"This page takes {MOST_LETTERS}; use the command line: loadworthy audit."
        raise BoardError(f"it has {len(text)} letters.", where=name, way_out=way_out)
    read_toml(text, fault=BoardError, name=name)


def _start(desk: Desk, error: LoadworthyError, text: str) -> Response:
    groups = grouped(form_at(_nothing(), ""), _nothing(), None, {})
    shown_text = text if len(text) <= MOST_LETTERS else ""
    return desk.page("board_start", status=400, groups=groups, problems=(error,), text=shown_text)


# -- forms ---------------------------------------------------------------------------------------------
def _form_page(
    desk: Desk, work: Work, form: Form, typed: MultiDict[str, str] | None = None, found: _Found = ({}, ())
) -> Response:
    wrong, other = found
    beginnings = (
        {kind: words for kind, (words, _) in _BEGINNINGS.items()} if form.adding and form.where == "output" else {}
    )
    bare = not any(link.get("kind") == "fuse" for row in rows_of(work.raw, "section") for link in rows_of(row, "link"))
    ticked = (
        {"transistor", "connector"} | ({"fuse"} if bare else set()) if typed is None else set(typed.getlist("begin"))
    )
    fed = typed.getlist("feeds") if typed is not None else []
    outputs = [str(row.get("name")) for row in rows_of(work.raw, "output") if row.get("name")]
    return desk.page(
        "board_edit",
        status=200 if typed is None else 400,
        form=form,
        groups=grouped(form, work, typed, wrong),
        wrong=wrong,
        other=other,
        at_place=request.values.get("at_place", ""),
        beginnings=beginnings,
        ticked=ticked,
        lead="" if typed is None else typed.get("lead", ""),
        feeds=outputs if form.adding and form.where == "section" else [],
        fed=fed,
    )


def _wrong(work: Work, form: Form, place: str) -> _Found:
    """Say what of a form's fields cannot be, and what else of it; what is only still to be said may wait."""
    if work.board is not None:
        return {}, ()
    wrong: dict[str, str] = {}
    other: list[str] = []
    for problem in work.unsound:
        if place and not re.match(re.escape(place) + r"(\.|$)", problem.key):
            continue
        field = problem.key.removeprefix(place).removeprefix(".") if place else problem.key
        prefix, _, name = field.rpartition(".")
        if re.fullmatch(r"link\[\d+\]\.length", field):
            wrong["lead"] = problem.text
        if re.match(r"section|output|link\[", field):
            continue  # it stands in another form
        if prefix in form.tables and name:
            wrong.setdefault(field, problem.text)
        else:
            other.append(problem.text)
    return wrong, tuple(other)


def _begun_output(text: str, place: str, given: Mapping[str, Mapping[str, Any]]) -> str:
    """Begin the path of a new output with what was ticked."""
    name = given[""].get("name") or "output"
    for kind, (_, said) in _BEGINNINGS.items():
        if kind in request.form.getlist("begin"):
            text = editing.add(text, f"{place}.link", {"kind": kind, "name": f"{name} {_NAMES[kind]}", **said})
    lead = request.form.get("lead", "").strip()
    if lead:
        text = editing.add(text, f"{place}.link", {"kind": "wire", "name": f"{name} {_NAMES['wire']}", "length": lead})
    return text


def _fed(text: str, given: Mapping[str, Mapping[str, Any]]) -> str:
    """Let a new section feed the outputs that were ticked."""
    feeds = set(request.form.getlist("feeds"))
    for number, row in enumerate(rows_of(editing.tables_of(text), "output"), 1):
        if row.get("name") in feeds and given[""].get("name"):
            text = editing.put(text, f"output[{number}]", {"fed_by": given[""]["name"]})
    return text
