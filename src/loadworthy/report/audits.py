"""How an audit is told: every link weakest first, what each output can feed, what protects it, and what to mind."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any, Final

from loadworthy.quantities import show
from loadworthy.report.choices import told
from loadworthy.report.columns import Column, stem_of, unit_of
from loadworthy.report.explanations import formulas_text
from loadworthy.report.tables import lettered, table
from loadworthy.report.text import clean, paragraph

__all__ = [
    "HOLDS_FOR", "LETTERS", "LIMITS_COLUMNS", "LINK_COLUMNS", "WHAT_IF_COLUMNS", "audit_text", "bare_outputs",
    "covered_text", "limits_rows", "limits_text", "link_rows", "link_why", "links_text", "loud_text", "needs_text",
    "opening_text", "opens_text", "output_lines", "outputs_text", "protection_text", "together_text", "wanted_lines",
    "warnings", "what_if_rows",
]  # fmt: skip

LINK_COLUMNS: Final = (
    Column(name="verdict", heading="verdict"),
    Column(name="of", heading="of"),
    Column(name="link", heading="link"),
    Column(name="current_a", heading="must\ncarry", unit="A", right=True),
    Column(name="usable_a", heading="may\ncarry", unit="A", right=True),
    Column(name="temperature_degc", heading="gets\nto", unit="degC", right=True, weight=10),
    Column(name="loss_w", heading="heat", unit="W", right=True, weight=20),
    Column(name="drop_v", heading="drop", unit="V", right=True, weight=30),
    Column(name="ultimate_a", heading="at its\nlimit", unit="A", right=True, weight=40),
)
#: For what the columns of the links hold: two of them for the worst corner, the others for what is usual.
HOLDS_FOR: Final = (
    "What a link must carry is the worst that tolerances allow; what it gets to, its heat and its drop are those at "
    "rest on the nominal supply."
)
LETTERS: Final = Column(name="letters", heading="notes")
_SHOWN: Final = (*LINK_COLUMNS, LETTERS)
WHAT_IF_COLUMNS: Final = (
    Column(name="output", heading="output"),
    Column(name="reading", heading=" "),
    Column(name="current_a", heading="current", unit="A", right=True),
    Column(name="power_w", heading="power", unit="W", right=True),
    Column(name="verdict", heading="verdict"),
    Column(name="weakest", heading="weakest link", weight=10),
)
LIMITS_COLUMNS: Final = (
    Column(name="title", heading="what"),
    Column(name="shown", heading="comes to", right=True),
    Column(name="text", heading="law", weight=10),
    Column(name="worked", heading="with the numbers", weight=20),
)


def audit_text(audit: Mapping[str, Any], *, width: int) -> str:
    """Tell an audit to a person.

    Parameters
    ----------
    audit
        The audit as JSON says it.
    width
        Characters a line.
    """
    parts = [
        paragraph(opening_text(audit), width=width) + "\n",
        loud_text(audit, width),
        "Every link, the weakest first:\n\n" + links_text(audit["links"], width),
        outputs_text(audit, width),
        told("What has to be replaced, and what the new part must do:", wanted_lines(audit["replace"]), width=width),
        told("Why each may carry what it may:", [link_why(line) for line in audit["links"]], width=width),
        protection_text(audit["protection"], width),
        told("Assumed of the board:", audit["assumed"], width=width),
        told("Mind:", audit["cautions"], width=width),
    ]
    if "what_if" in audit:
        parts.insert(2, _what_if(audit["what_if"], width))
    return "\n".join(part for part in parts if part)


def warnings(audit: Mapping[str, Any]) -> list[str]:
    """Return everything that must not be missed where only the links are written."""
    said = [warning for one in audit["protection"] for warning in _of_output(one)]
    return [*audit.get("what_if", {}).get("warnings", ()), *dict.fromkeys(said), *audit["cautions"]]


def _of_output(one: Mapping[str, Any]) -> Iterator[str]:
    for warning in one["warnings"]:
        yield f"{one['output']}: {warning}"


def bare_outputs(audit: Mapping[str, Any]) -> list[str]:
    """Name the outputs that have no fuse in their path."""
    return [one["output"] for one in audit["protection"] if not one["fuses"]]


def loud_text(audit: Mapping[str, Any], width: int) -> str:
    """Say first of all which outputs have no fuse."""
    bare = bare_outputs(audit)
    return paragraph(f"NO FUSE in the path of {', '.join(bare)}.", width=width) + "\n" if bare else ""


def opening_text(audit: Mapping[str, Any]) -> str:
    """Say in one sentence how the whole board stands."""
    supply, air = audit["supply"], audit["surroundings"]
    verdict = {
        "carries": "every link carries its load",
        "falls short": "something falls short",
        "not known": "not everything is known",
    }[audit["verdict"]]
    if audit["verdict"] == "carries" and any(one["bare"] for one in audit["protection"]):
        verdict += ", but not every link is protected in a fault"
    span = ""
    if supply["tolerance"]:
        span = f" ({show(supply['low_v'], 'V')} to {show(supply['high_v'], 'V')})"
    return (
        f"{audit['title']}: {verdict}. Supply {show(supply['voltage_v'], 'V')}{span}, air {_degc(air['ambient_degc'])}."
    )


def _degc(value: float) -> str:
    return show(value, "degC")


def link_rows(links: Sequence[Mapping[str, Any]]) -> list[dict[str, Any]]:
    """Make one row a link; its remarks are what was assumed, what is not known, and what else is to be said."""
    return [{**line, "remarks": _remarks(line)} for line in links]


def _remarks(line: Mapping[str, Any]) -> list[str]:
    said = [f"not known: {line['unknown']}"] if line["unknown"] else []
    said += [_failed(check) for check in line["checks"] if check["ok"] is not True]
    said += [f"assumed: {remark}" for remark in line["assumed"]]
    return said + list(line["notes"])


def _failed(check: Mapping[str, Any]) -> str:
    if check["unit"] == "1":
        return f"missing: {check['rule']}"
    has = "not known" if check["has"] is None else show(check["has"], check["unit"])
    word = "not known" if check["ok"] is None else "fails"
    return f"{word}: {check['rule']}; has {has}, needs {show(check['needs'], check['unit'])}"


def links_text(links: Sequence[Mapping[str, Any]], width: int) -> str:
    """Write every link as a table, its remarks below."""
    rows, remarks = lettered([{**row, "letters": row["remarks"]} for row in link_rows(links)], "letters")
    notes = "".join(paragraph(f"{letter}  {remark}", width=width, hanging="   ") + "\n" for letter, remark in remarks)
    said = paragraph(HOLDS_FOR, width=width)
    return f"{table(rows, _SHOWN, width=width)}\n{said}\n" + (f"\n{notes}" if notes else "")


def link_why(line: Mapping[str, Any]) -> str:
    """Say which law and limit set what a link may carry, and where that is from."""
    return f"{line['of']}: {line['link']} – {line['governs']}. Source: {line['source']}."


def outputs_text(audit: Mapping[str, Any], width: int) -> str:
    """Say of every output what reaches its load, and what load it could have."""
    lines = ["Every output:"]
    for output in audit["outputs"]:
        lines.append(paragraph(f"{output['output']}: {output['verdict']}.", width=width, indent="- "))
        lines += [paragraph(text, width=width, indent="    ") for text in output_lines(output)]
    together = together_text(audit)
    if together is not None:
        lines.append(paragraph(together, width=width, indent="- "))
    return "\n".join(lines) + "\n"


def together_text(audit: Mapping[str, Any]) -> str | None:
    """Say by how much all loads at once may grow; None where no limit is known."""
    together = audit["together"]
    if together["factor"] is None:
        return None
    text = (
        f"All loads at once may be {show(together['factor'], '1')} times what they are, set by "
        f"{together['stopped_by']}: {show(together['greatest_current_a'], 'A')} at worst and "
        f"{show(together['greatest_power_w'], 'W')} in place of {show(together['current_a'], 'A')} and "
        f"{show(together['power_w'], 'W')}."
    )
    if together["unknown"]:
        text += f" Not known, and so not counted: {', '.join(together['unknown'])}."
    return text


def output_lines(output: Mapping[str, Any]) -> Iterator[str]:
    """Say what one output's load does, and what it could be."""
    yield (
        f"Its load draws {show(output['nominal_a'], 'A')} by itself, and at worst {show(output['current_a'], 'A')}. "
        + _at_rest(output)
    )
    if output["weakest"]:
        yield f"Weakest link: {output['weakest']}."
    if output["unknown"]:
        yield f"Not known, and so not counted below: {', '.join(output['unknown'])}."
    yield "With all others off: " + bound_text(output["alone"])
    yield "With the others on: " + bound_text(output["together"])
    if output["inrush_a"] is not None:
        yield f"At switching on, cold, {show(output['inrush_a'], 'A')}: fuse and transistor must stand that."
    if output["energy_j"] is not None:
        bare = any(check["name"] == "freewheel" for check in output["checks"])
        taken = ", and no freewheel diode takes it." if bare else ", which the freewheel diode takes."
        yield f"Each switch-off gives {show(output['energy_j'], 'J')} back{taken}"
    for check in output["checks"]:
        if check["ok"] is not True:
            yield _sentence(_failed(check))
    for note in output["notes"]:
        yield _sentence(note)


def _sentence(text: str) -> str:
    return text[:1].upper() + text[1:] + ("" if text.endswith(".") else ".")


def _at_rest(output: Mapping[str, Any]) -> str:
    if output["state"] == "runaway":
        return "Its path never comes to rest: a link runs away."
    if output["state"] != "settled":
        return "The supply cannot feed it through this path."
    text = (
        f"At rest, warm, {show(output['load_v'], 'V')} and {show(output['settled_a'], 'A')} reach it: "
        f"{show(output['load_w'], 'W')}"
    )
    if output["low_load_w"] is not None and output["low_load_w"] != output["load_w"]:
        text += f", {show(output['low_load_w'], 'W')} at the low end of the supply"
    return text + "."


def bound_text(bound: Mapping[str, Any]) -> str:
    if bound["current_a"] is None:
        return "not known."
    if bound["current_a"] == 0.0:
        return f"nothing; {bound['stopped_by']} has no room left."
    cold = ""
    if bound["least_cold_ohm"] is not None:
        cold = f" ({show(bound['least_cold_ohm'], 'ohm')} as measured cold at 20 °C)"
    return (
        f"{show(bound['current_a'], 'A')} at most, set by {bound['stopped_by']}: a load of at least "
        f"{show(bound['least_resistance_ohm'], 'ohm')}{cold}, of {show(bound['greatest_power_w'], 'W')} at most."
    )


def wanted_lines(failing: Sequence[Mapping[str, Any]]) -> list[str]:
    """Say of each link that falls short what a part in its place must do."""
    return [f"{line['of']}: {line['link']} ({line['kind']}) – {needs_text(line['needs'])}." for line in failing]


def needs_text(needs: Mapping[str, Any]) -> str:
    """Write what a part must do.

    Examples
    --------
    >>> needs_text({"least_current_a": 8.25, "supply_v": 12.0, "package": "TO-220", "parallel_copper_m2": 1.5e-6})
    'least current 8.25 A, supply 12 V, package TO-220, parallel copper 1.5 mm²'
    """
    said = []
    for key, value in needs.items():
        unit = unit_of(key)
        words = stem_of(key).replace("_", " ")
        if unit == "m2" and isinstance(value, float):
            said.append(f"{words} {show(1e6 * value, '1')} mm²")
        elif unit and isinstance(value, (int, float)):
            said.append(f"{words} {show(value, unit)}")
        else:
            said.append(f"{words} {show(value, '1') if isinstance(value, float) else clean(value)}")
    return ", ".join(said)


def protection_text(protection: Sequence[Mapping[str, Any]], width: int) -> str:
    """Say what opens, and what nothing protects, when something fails."""
    lines = ["When something fails:"]
    for one in protection:
        lines.append(paragraph(f"{one['output']}: {covered_text(one)}", width=width, indent="- "))
        lines += [
            paragraph(text, width=width, indent="    ") for text in (*map(opens_text, one["fuses"]), *one["warnings"])
        ]
        lines += [paragraph(_sentence(f"assumed: {text}"), width=width, indent="    ") for text in one["assumed"]]
    return "\n".join(lines) + "\n"


def covered_text(one: Mapping[str, Any]) -> str:
    """Say what a short circuit in an output's path meets."""
    if not one["fuses"]:
        return "nothing protects its path."
    fault = "" if one["fault_a"] is None else f"a short circuit draws up to {show(one['fault_a'], 'A')}; "
    if one["bare"]:
        return f"{fault}without protection: {', '.join(one['bare'])}."
    if one["unknown"]:
        return f"{fault}not known to be protected: {', '.join(one['unknown'])}."
    return f"{fault}a fuse opens before any link is past its limit."


def opens_text(fuse: Mapping[str, Any]) -> str:
    """Say when a fuse surely opens, and by which rule."""
    if fuse["opens_a"] is None:
        return f"{fuse['name']}: not known when it opens, {fuse['rule']}."
    within = "" if fuse["within_s"] is None else f" within {time_text(fuse['within_s'])}"
    assumed = f" Assumed: {'; '.join(fuse['assumed'])}." if fuse["assumed"] else ""
    return f"{fuse['name']} opens at {show(fuse['opens_a'], 'A')}{within}: {fuse['rule']}.{assumed}"


def time_text(seconds: float) -> str:
    """Write a time as one says it.

    Examples
    --------
    >>> time_text(3600.0), time_text(600.0), time_text(0.5)
    ('1 h', '10 min', '500 ms')
    """
    if seconds >= 3600.0:
        return f"{show(seconds / 3600.0, '1')} h"
    return f"{show(seconds / 60.0, '1')} min" if seconds >= 60.0 else show(seconds, "s")


def what_if_rows(other: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Make a row of each output now, on another supply, and with its load made anew for that."""
    volts = show(other["supply_v"], "V")
    readings = {"now": "now", "then": volts, "remade": f"{volts}, same watts"}
    return [
        {"output": row["output"] if name == "now" else " ", "reading": words, **row[name]}
        for row in other["outputs"]
        for name, words in readings.items()
        if row[name] is not None
    ]


def _what_if(other: Mapping[str, Any], width: int) -> str:
    volts, rows = show(other["supply_v"], "V"), what_if_rows(other)
    loud = "".join(paragraph(warning, width=width) + "\n" for warning in other["warnings"])
    return f"On a supply of {volts}:\n\n" + table(rows, WHAT_IF_COLUMNS, width=width) + (f"\n{loud}" if loud else "")


def limits_rows(result: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Make one row a step of the small sum, its value written with its unit."""
    return [{**step, "shown": show(step["value"], step["unit"])} for step in result["formulas"]]


def limits_text(result: Mapping[str, Any], *, width: int) -> str:
    """Tell the small sum: what it comes to, then the arithmetic."""
    parts = [
        table(limits_rows(result), LIMITS_COLUMNS[:2], width=width),
        formulas_text(result["formulas"], width=width),
        told("Assumed:", result["assumed"], width=width),
        told("Mind:", result["cautions"], width=width),
    ]
    return "\n".join(part for part in parts if part)
