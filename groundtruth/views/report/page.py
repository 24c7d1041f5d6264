"""The report of a run: one HTML page that prints on one sheet and asks the network for nothing.

A long table of passes goes on on a second sheet.
"""

from __future__ import annotations

from xml.etree.ElementTree import Element

from ...core.display import day_text
from ...core.language import said, say
from ...core.result import Result, Share
from ...core.safe_text import visible
from ..html import Child, html_page, node, resource, style, unbroken
from ..sentences.amounts import probability
from ..sentences.answer import Answer, answer_of
from ..sentences.cautions import cautions, field_checks
from ..sentences.measurement import (
    fact_sentences,
    repair_sentences,
    sure_sentence,
    surer_sentences,
    use_sentence,
    warning_sentences,
    watch_sentences,
)
from ..sentences.sources import BARE_SOURCE_NAMES
from ..sentences.with_fleet import with_fleet_sentences
from ..tables.result import passes_by_unit_table, row_units_table
from ..tables.targets import targets_table
from .html_table import titled_table
from .plot import MARKS, mark, narrow_plots, passes_plot, unit_names

__all__ = ["report_html"]

MOST_NOTICES = 6
"""More repairs or remarks than this are only counted; the JSON has them all."""
SMALL_SHARE = 0.005
"""Smaller shares of the uncertainty are named, but get no bar."""
_SHORT_HASH = 12
_MOST_BESIDE = 8
"""A table of more columns than this does not fit beside another."""
_SHORT_TABLE = 16
"""A table of so many rows goes onto the next sheet whole, where it does not fit on the first."""


def report_html(result: Result) -> str:
    """The report as one HTML page: the answer, the verdict, the targets, what they rest on, and
    the cautions. It holds no script and runs no text of any file."""
    date = day_text(result.date)
    name = visible(result.run_name, 80) or say("Run")
    budget = _budget(result)
    units = titled_table(row_units_table(result)) if len(result.row_units) > 1 else None
    passes = passes_by_unit_table(result)
    short = len(passes.rows) <= _SHORT_TABLE
    middle = _pair("pair even", units, budget)
    below: Element | None = titled_table(passes)
    if units is None and short and len(passes.columns) <= _MOST_BESIDE:
        middle, below = _pair("pair", below, budget), None
    return html_page(
        title=say("{name}, {day}: ground per gear turn", name=name, day=date),
        styles=[style(resource("report", "report.css"))],
        body=[
            node(
                "main",
                node("header", node("h1", name), node("p", date)),
                _answer(answer_of(result)),
                _verdict(result),
                titled_table(targets_table(result.targets, result.units), "targets")
                if result.targets and result.is_credible
                else None,
                _plot(result),
                middle,
                _notices(result),
                _cautions(result),
                node("div", below, class_="whole-table" if short else None)
                if below is not None
                else None,
                _inputs(result),
            )
        ],
    )


def _answer(found: Answer) -> Element:
    cells = [
        (say("One gear turn covers"), found.ground, _sure(found.ground_sure)),
        (say("Slip"), found.slip, _sure(found.slip_sure) if found.slip_sure else ""),
        (
            say("Against the figure in use"),
            found.change,
            say(
                "± {reach}; in use {old}",
                reach=unbroken(found.change_reach),
                old=unbroken(found.in_use),
            ),
        ),
    ]
    shown = [cell for cell in cells if cell[1]]
    return node(
        "dl",
        *(
            node(
                "div",
                node("dt", heading),
                node("dd", unbroken(figure), class_="big"),
                node("dd", note),
            )
            for heading, figure, note in shown
        ),
        class_="answer" + {1: " one", 2: " two"}.get(len(shown), ""),
    )


def _sure(ends: str) -> str:
    return say("95 % sure: {sure}", sure=unbroken(ends))


def _verdict(result: Result) -> Element:
    parts: list[Child] = [node("p", use_sentence(result), class_="use")]
    parts.append(node("p", sure_sentence(result)))
    parts += [node("p", text) for text in with_fleet_sentences(result)]
    parts += [node("p", text, class_="watch") for text in watch_sentences(result)]
    surer = surer_sentences(result)
    if surer:
        parts.append(node("p", say("What would make it surer: "), class_="surer"))
        parts.append(node("ul", *(node("li", text) for text in surer)))
    return node("section", *parts, class_="verdict", aria_label=say("Verdict"))


def _plot(result: Result) -> Element:
    units = unit_names(result.passes)
    keys = [
        _key(
            node("rect", x="0", y="1", width="28", height="10", class_="band"),
            node("line", x1="0", x2="28", y1="6", y2="6", class_="pooled"),
            text=say("all passes together"),
        )
    ]
    if result.seeder.ground_per_gear_turn_in_use_m is not None:
        line = node("line", x1="0", x2="28", y1="6", y2="6", class_="in-use")
        keys.append(_key(line, text=say("figure in use")))
    for index, unit in enumerate(units if 1 < len(units) <= MARKS else ("",)):
        shape = node("g", mark(index, 14, 6), class_=f"unit{index}")
        text = say("row unit {unit}", unit=visible(unit, 24)) if unit else say("one pass")
        keys.append(_key(_whisker(), shape, text=text))
    unit = "in" if result.units == "us" else "cm"
    return node(
        "section",
        node("h2", say("Ground per gear turn by pass, {unit}, with 95 % intervals", unit=unit)),
        node("ul", *keys, class_="keys"),
        passes_plot(result),
        node("div", *narrow_plots(result), class_="narrow"),
    )


def _whisker() -> Element:
    return node("line", x1="4", x2="24", y1="6", y2="6", class_="whisker")


def _key(*shapes: Element, text: str) -> Element:
    return node("li", node("svg", *shapes, viewBox="0 0 28 12", aria_hidden="true"), text)


def _budget(result: Result) -> Element | None:
    if not result.budget:
        return None
    largest = max(share.share for share in result.budget) or 1.0
    large = [share for share in result.budget if share.share >= SMALL_SHARE]
    small = ", ".join(_source(s) for s in result.budget if s.share < SMALL_SHARE)
    note = say("Shares of the variance of the pooled figure.")
    if small:
        note += " " + say("Less than 1 % each: {sources}.", sources=small)
    rows = [
        node(
            "tr",
            node("td", _source(share), class_="left"),
            node(
                "td",
                node(
                    "svg",
                    node("rect", width=f"{100 * share.share / largest:.2f}", height="10"),
                    viewBox="0 0 100 10",
                    preserveAspectRatio="none",
                    aria_hidden="true",
                ),
            ),
            node("td", probability(share.share)),
        )
        for share in large
    ]
    return node(
        "section",
        node("h2", say("Where the uncertainty comes from")),
        node("table", node("tbody", *rows), class_="budget"),
        node("p", note, class_="note"),
    )


def _source(share: Share) -> str:
    return said(BARE_SOURCE_NAMES[share.source])


def _pair(class_: str, left: Child, right: Child) -> Element:
    return node("div", left, right, class_=class_)


def _notices(result: Result) -> Element | None:
    found: list[Child] = []
    for title, sentences, class_ in (
        (say("Warnings"), warning_sentences(result), "notices warnings"),
        (say("Repaired in the input"), repair_sentences(result), "notices"),
        (say("Good to know"), fact_sentences(result), "notices"),
    ):
        lines = list(sentences[:MOST_NOTICES])
        if len(sentences) > MOST_NOTICES:
            lines.append(
                say(
                    "and {count} more, all of them in result.json",
                    count=len(sentences) - MOST_NOTICES,
                )
            )
        if lines:
            items = (node("li", line) for line in lines)
            found.append(node("section", node("h2", title), node("ul", *items, class_=class_)))
    return node("div", *found, class_="abreast") if found else None


def _cautions(result: Result) -> Element:
    return node(
        "section",
        node(
            "div",
            node("h2", say("At the machine")),
            node("ul", *(node("li", text) for text in cautions())),
        ),
        node(
            "div",
            node("h2", say("In the field")),
            node("ul", *(node("li", text) for text in field_checks(result.units))),
        ),
        class_="cautions pair",
    )


def _inputs(result: Result) -> Element:
    files: list[Child] = []
    for index, file in enumerate(result.inputs):
        files.append(f"{', ' if index else ''}{visible(file.name, 60)} ")
        files.append(node("code", visible(file.sha256[:_SHORT_HASH])))
    if not result.inputs:
        files.append(say("no file"))
    return node(
        "footer",
        f"groundtruth {result.tool_version}. ",
        say("Measured from "),
        *files,
        say(" (first digits of the SHA-256 of each file)."),
    )
