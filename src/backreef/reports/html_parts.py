"""Pieces of a page: tables, pictures with what stands behind them, sections."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator
from urllib.parse import quote

from backreef.plots.figure import Figure, Table
from backreef.plots.markup import Safe, element, joined
from backreef.plots.words import short_date

_DIGIT = re.compile(r"\d")
_TAG = re.compile("<[^>]*>")
_NUMBERS = re.compile(
    r"^[−+\-–]?(under |over )?[\d.]+( ?%)?( \([^)]*\))?( !{1,2})?( min| g)?$|^–$|^not known$"
)


class WhyPage(Collection[str]):
    """Every figure, each worked out on a page of its own under an address."""

    def __init__(self, address: str) -> None:
        self.address = address

    def __contains__(self, figure: object) -> bool:
        return bool(figure)

    def __iter__(self) -> Iterator[str]:
        return iter(())

    def __len__(self) -> int:
        return 1


def asked(words: str, figure: str, told: Collection[str]) -> str:
    """Words that lead to the working of their figure, where it is `told`; else as they are."""
    return _leading(words, figure, told) if figure and figure in told else words


def table(
    content: Table, *, stacked: bool = False, row_heads: bool = True, told: Collection[str] = ()
) -> Safe:
    """A table in a region that scrolls by itself; `stacked` turns rows into blocks on a narrow screen.

    Cells whose figure is `told` lead to its working, on the same page or on one of its own.
    """
    heads = element("tr", *(element("th", column, scope="col") for column in content.columns))
    asks = content.asks or (("",) * len(content.columns),) * len(content.rows)
    cells = [
        tuple(
            asked(cell, ask, told) if _DIGIT.search(cell) else cell
            for cell, ask in zip(row, of_row, strict=True)
        )
        for row, of_row in zip(content.rows, asks, strict=True)
    ]
    body = [_row(content, row, row_heads=row_heads) for row in cells]
    class_ = "stacked" if stacked else None
    whole = element(
        "table",
        element("caption", content.caption),
        element("thead", heads),
        element("tbody", *body),
        class_=class_,
    )
    return element("div", whole, class_="scroll", role="region", tabindex="0", aria_label=content.caption)


def _leading(words: str, figure: str, told: Collection[str]) -> Safe:
    if isinstance(told, WhyPage):
        return element("a", words, href=f"{told.address}?of={quote(figure)}", class_="why")
    return element("a", words, href=f"#{why_ident(figure)}", class_="why")


def why_ident(figure: str) -> str:
    """What the working of a figure is called on its page."""
    return f"why-{re.sub(r'[^A-Za-z0-9_.-]', '-', figure)}"


def figure(
    content: Figure, *, heading: str | None = None, folded: bool = True, told: Collection[str] = ()
) -> Safe:
    """A picture under its heading, with caption, key, events and (folded away) the table behind it."""
    title = heading if heading is not None else content.title
    parts = [
        element("div", content.wide, class_="for-wide"),
        element("div", content.narrow, class_="for-narrow"),
    ]
    if content.caption:
        parts.append(element("figcaption", asked(content.caption, content.ask, told)))
    if content.events:
        events = [
            element(
                "li",
                element("b", element("bdi", event.words), " "),
                element("span", short_date(event.on)),
                value=event.number,
            )
            for event in content.events
        ]
        parts.append(element("ol", *events, class_="events"))
    if content.key:
        entries = [element("li", entry.sample, element("span", entry.words)) for entry in content.key]
        parts.append(element("ul", *entries, class_="key", aria_label="What the marks mean"))
    if folded:
        parts.append(behind(content.table, told=told))
    head = element("h3", title) if title else Safe()
    return element("div", head, element("figure", *parts, id=content.id), class_="picture")


def behind(content: Table, *, told: Collection[str] = ()) -> Safe:
    """The numbers of a picture, folded away until they are asked for."""
    return element(
        "details",
        element("summary", f"Numbers: {content.caption}"),
        table(content, told=told),
        *_how_to_ask(content, told),
        class_="behind",
    )


def _how_to_ask(content: Table, told: Collection[str]) -> list[Safe]:
    """Where cells do not lead on, how those of the first row are asked."""
    figures = [figure for figure in (content.asks[0] if content.asks else ()) if figure]
    if not figures or isinstance(told, WhyPage) or figures[0] in told:
        return []
    names = [element("code", name, " ", translate="no") for name in figures]
    return [element("p", "The first row is asked why as: ", *names, class_="note")]


def section(ident: str, title: str, *parts: str, lead: str = "") -> Safe:
    """A section of the page under its heading."""
    said = [element("p", lead, class_="lead")] if lead else []
    return element(
        "section",
        element("h2", title, id=f"{ident}-h"),
        *said,
        *parts,
        id=ident,
        aria_labelledby=f"{ident}-h",
    )


def bullets(*items: str) -> Safe:
    """A list."""
    return element("ul", *(element("li", item) for item in items))


def definition(pairs: list[tuple[str, str]], class_: str) -> Safe:
    """Terms and what they are."""
    rows = [element("div", element("dt", term), element("dd", what)) for term, what in pairs]
    return element("dl", *rows, class_=class_)


def line_glyph(kind: str) -> Safe:
    """The sign of the house: an unbroken line holds, a crossed one breaks, a dotted one is not known."""
    marks = {
        "holds": [element("path", class_="plan-holds", d="M0 6H30")],
        "breaks": [
            element("path", class_="plan-holds", d="M0 6H9"),
            element("path", class_="cross", d="M11 2L19 10M11 10L19 2"),
            element("path", class_="plan-after", d="M21 6H30"),
        ],
        "unknown": [element("path", class_="plan-unknown", d="M0 6H30")],
    }
    drawn = joined(marks[kind])
    return element(
        "svg",
        drawn,
        class_="glyph",
        viewBox="0 0 30 12",
        width=30,
        height=12,
        aria_hidden="true",
        focusable="false",
    )


def _row(content: Table, row: tuple[str, ...], *, row_heads: bool) -> Safe:
    cells = []
    for index, (column, cell) in enumerate(zip(content.columns, row, strict=True)):
        numeric = "num" if index and _NUMBERS.match(_TAG.sub("", cell)) else None
        if index == 0 and row_heads:
            cells.append(element("th", cell, scope="row"))
        else:
            cells.append(element("td", cell, class_=numeric, data_label=column))
    return element("tr", *cells)
