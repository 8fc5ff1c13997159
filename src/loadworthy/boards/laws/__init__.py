"""One law a kind of link: what it can carry, with margins and without, and how it drops voltage and warms."""

from __future__ import annotations

from loadworthy.boards import model
from loadworthy.boards.laws import connector, copper, fuse, plain, transistor
from loadworthy.boards.laws.base import Body, Check, Conditions, Judgement
from loadworthy.errors import UsageError

__all__ = ["Body", "Check", "Conditions", "Judgement", "body", "judge", "said"]


def judge(link: model.Link, conditions: Conditions) -> Judgement:
    """Say what a link can carry where it is; a law that does not cover it makes it unknown, not an error."""
    try:
        return _judged(link, conditions)
    except UsageError as error:
        return Judgement(
            usable_a=None,
            ultimate_a=None,
            governs=f"the law of a {link.kind}",
            source="its data sheet",
            unknown=f"{error.message.rstrip('.')}",
        )


def _judged(link: model.Link, conditions: Conditions) -> Judgement:
    match link:
        case model.Connector():
            return connector.judge(link, conditions)
        case model.Fuse():
            return fuse.judge(link, conditions)
        case model.Trace():
            return copper.trace_judge(link, conditions)
        case model.Wire():
            return copper.wire_judge(link, conditions)
        case model.Transistor():
            return transistor.judge(link, conditions)
        case model.Plain():
            return plain.judge(link, conditions)
    raise UsageError(f"there is no law for {link.kind}.", where=link.where, way_out="Describe it as plain.")


def body(link: model.Link, conditions: Conditions, current_a: float, rms_a: float) -> Body:
    """Say how a link drops voltage and warms at a current while on, and its root mean square."""
    match link:
        case model.Connector():
            return connector.body(link, conditions, rms_a)
        case model.Fuse():
            return fuse.body(link, conditions, rms_a)
        case model.Trace():
            return copper.trace_body(link, conditions, rms_a)
        case model.Wire():
            return copper.wire_body(link, conditions, rms_a)
        case model.Transistor():
            return transistor.body(link, conditions, current_a)
        case model.Plain():
            return plain.body(link, conditions, rms_a)
    raise UsageError(f"there is no law for {link.kind}.", where=link.where, way_out="Describe it as plain.")


def said(link: model.Link) -> tuple[str, ...]:
    """Say what a link's drop and heat rest on."""
    if isinstance(link, model.Connector):
        return connector.said(link)
    if isinstance(link, (model.Fuse, model.Plain)) and link.resistance_ohm is None:
        return ("resistance not given: its drop and heat are not counted",)
    return ()
