"""The away sheet as one HTML file: for paper first, one page of A4 or US Letter, and for a phone."""

from __future__ import annotations

import math
from datetime import date
from importlib import resources

from backreef.plots.markup import Safe, element
from backreef.plots.words import minutes_words, month_name, plural
from backreef.reports.html import html_document
from backreef.usecases.sheet_page import NOTHING_MORE, Sheet, SheetVisit

_STYLES = ("chart.css", "sheet.css")
_WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
LETTERS_PT2 = 272_000.0
"""Letters on the page times the square of the type's size that fill it; tried with wide letters."""
LARGEST_PT, SMALLEST_PT = 14.0, 9.5
LINE = 48
"""Letters that a line of its own costs, however short it is."""


def sheet_html(sheet: Sheet) -> str:
    """The whole sheet as one HTML document without script, which asks no other host for anything."""
    return html_document(f"Looking after {sheet.tank}", _main(sheet), style=whole_style(sheet))


def whole_style(sheet: Sheet) -> str:
    """The style sheets and the size of type that this very sheet gets on paper."""
    return sheet_style() + f"@media print {{ body {{ font-size: {type_size_pt(sheet):g}pt; }} }}\n"


def sheet_style() -> str:
    """The style sheets of the page in one."""
    folder = resources.files("backreef.reports") / "data"
    return "\n".join((folder / name).read_text(encoding="utf-8") for name in _STYLES)


def type_size_pt(sheet: Sheet) -> float:
    """The largest type, in half points, in which the sheet fits one page on paper. [pt]"""
    letters = sum(max(LINE, len(line)) for line in _lines(sheet))
    fitting = math.floor(2.0 * math.sqrt(LETTERS_PT2 / letters)) / 2.0
    return min(LARGEST_PT, max(SMALLEST_PT, fitting))


def _lines(sheet: Sheet) -> list[str]:
    """Every line of the page."""
    lines = [line for visit in sheet.visits for line in ("", *visit.steps, *visit.only_if)]
    lines += [f"{trouble.sign} {trouble.do}" for trouble in sheet.troubles]
    return [*lines, *_each_time(sheet), *sheet.leave, *sheet.normal, *sheet.cautions]


def _main(sheet: Sheet) -> Safe:
    return element(
        "main",
        _head(sheet),
        element(
            "div",
            _list("Each time" if sheet.visits else "If you look in", _each_time(sheet), class_="ticks"),
            _list("Leave alone", sheet.leave),
            class_="pair",
        ),
        _visits(sheet),
        _list("This is normal", sheet.normal, class_="two"),
        _troubles(sheet),
        _calls(sheet),
        element("div", *(element("p", line) for line in sheet.cautions), class_="cautions"),
        _before(sheet),
    )


def _each_time(sheet: Sheet) -> tuple[str, ...]:
    seen = (f"Fish: {', '.join(sheet.seen)}.",) if sheet.seen else ()
    return (*sheet.looks, *seen, *sheet.each_time)


def _head(sheet: Sheet) -> Safe:
    absence = sheet.absence
    days = sum(len(visit.days) for visit in sheet.visits)
    visits = plural(days, "visit") if days else "nobody needs to come"
    when = f"{_day(absence.first_on)} to {_day(absence.last_on)} {absence.last_on.year}: {visits}. "
    back = f"Back on {_day(absence.until_on)}: {sheet.keeper}."
    return element(
        "header", element("h1", f"Looking after {sheet.tank}"), element("p", when + back, class_="when")
    )


def _visits(sheet: Sheet) -> Safe:
    if not sheet.visits:
        return Safe()
    visits = element("div", *(_visit(each) for each in sheet.visits), class_="visits")
    return element("section", element("h2", "And on these days"), visits)


def _day(on: date) -> str:
    return f"{_WEEKDAYS[on.weekday()]} {on.day} {month_name(on.month)}"


def _visit(visit: SheetVisit) -> Safe:
    days = [element("span", _day(on)) for on in visit.days]
    who = element("span", f"{visit.who}, {minutes_words(visit.minutes)} min", class_="who")
    parts = [element("p", element("span", *days, class_="days"), who)]
    if visit.steps:
        parts.append(element("ul", *(element("li", step) for step in visit.steps), class_="ticks"))
    elif not visit.only_if:
        parts.append(element("p", NOTHING_MORE))
    if visit.only_if:
        parts.append(element("p", "Only if the box has a cross already:", class_="only"))
        parts.append(element("ul", *(element("li", step) for step in visit.only_if), class_="ticks"))
    return element("div", *parts, class_="visit")


def _list(title: str, lines: tuple[str, ...], *, class_: str | None = None) -> Safe:
    return element(
        "section",
        element("h2", title),
        element("ul", *(element("li", line) for line in lines), class_=class_),
    )


def _troubles(sheet: Sheet) -> Safe:
    rows = [
        element("tr", element("th", trouble.sign, scope="row"), element("td", trouble.do))
        for trouble in sheet.troubles
    ]
    body = element("table", element("caption", "What is not normal, and what to do"), element("tbody", *rows))
    return element("section", element("h2", "This is not normal"), body)


def _calls(sheet: Sheet) -> Safe:
    entries = [element("li", call) for call in sheet.calls]
    return element("section", element("h2", "Call, in this order"), element("ol", *entries, class_="calls"))


def _before(sheet: Sheet) -> Safe:
    """What only the keeper reads; it stays on the screen."""
    parts = [
        element("h2", "Before you leave (not printed)"),
        element("ul", *(element("li", line) for line in sheet.before)),
    ]
    if sheet.undone:
        parts.append(element("p", "Nobody can do these while you are away:"))
        parts.append(element("ul", *(element("li", line) for line in sheet.undone)))
    return element("section", *parts, class_="before")
