"""The report: one file that needs nothing else, no script, and makes no request."""

from __future__ import annotations

import base64
import hashlib
import re
from collections.abc import Collection, Iterator, Mapping, Sequence
from importlib import resources
from typing import TYPE_CHECKING

from backreef.judgement.verdict import Forecast
from backreef.plots.figure import Reading
from backreef.plots.markup import Safe, element, joined
from backreef.reports import html_sections as sections
from backreef.reports.why_html import why_section
from backreef.reports.words import HUMILITY, headline, plan_title
from backreef.tongue.door import language

if TYPE_CHECKING:
    from backreef.usecases.why import Working

_STYLES = ("chart.css", "report.css")
_CONTENTS = (
    ("findings", "Findings"),
    ("water", "Water"),
    ("mouths", "Mouths"),
    ("hands", "Hands"),
    ("additions", "Additions"),
    ("crew", "Crew"),
    ("doors", "Doors"),
    ("cautions", "Cautions"),
    ("sure", "How sure"),
    ("assumptions", "Assumptions"),
)


_BY_MONTH = re.compile(r"@\d{4}-(\d\d|Q\d)$")
Sections = Mapping[str, Safe]
"""Sections of the report by their name."""


def report_html(
    forecast: Forecast,
    readings: Sequence[Reading] = (),
    workings: Mapping[str, Working] | None = None,
    *,
    drawn: Sections | None = None,
) -> str:
    """The whole report of a forecast as one HTML document, with readings against it if there are any.

    Numbers whose working is given lead to it. What was `drawn` before with the same readings and workings
    is not drawn again.
    """
    title = f"{plan_title(forecast)}: {headline(forecast)}"
    drawn = drawn or drawn_sections(forecast, readings, workings)
    main = element("main", joined(_main(forecast, drawn, workings or {})))
    return html_page(title, main, skip_to="findings")


def drawn_sections(
    forecast: Forecast, readings: Sequence[Reading] = (), workings: Collection[str] | None = None
) -> Sections:
    """All sections but the findings: those stay as they are whatever comes of the remedies."""
    told = workings or {}
    return {
        "head": sections.head(forecast, readings, told),
        "water": sections.water(forecast, readings, told),
        "mouths": sections.mouths(forecast, told),
        "hands": sections.hands(forecast, told),
        "additions": sections.additions(forecast, told),
        "crew": sections.crew(forecast, told),
        "doors": sections.doors(forecast, told),
        "cautions": sections.cautions(forecast, told),
        "sure": sections.sureness(forecast, told),
        "assumptions": sections.assumptions(forecast),
    }


def figures_of(forecast: Forecast) -> tuple[str, ...]:
    """The figures that numbers of the report can be asked as, but those of tables by month and quarter."""
    heard = _Heard()
    drawn_sections(forecast, workings=heard)
    sections.findings(forecast, told=heard)
    return tuple(figure for figure in heard.figures if not _BY_MONTH.search(figure))


class _Heard(Collection[str]):
    """Hears which figures a page asks for, and has none of them."""

    def __init__(self) -> None:
        self.figures: dict[str, None] = {}

    def __contains__(self, figure: object) -> bool:
        self.figures[str(figure)] = None
        return False

    def __iter__(self) -> Iterator[str]:
        return iter(())

    def __len__(self) -> int:
        return 1


def html_page(title: str, *body: Safe, skip_to: str) -> str:
    """A document that needs nothing else, with the style of the house and a foot; `skip_to` is a section."""
    skip = element("a", f"Skip to the {skip_to}", href=f"#{skip_to}", class_="skip")
    foot = element("footer", element("p", f"Forecast by backreef. {HUMILITY}"))
    return html_document(title, skip, *body, foot, style=style_sheet())


def html_document(title: str, *body: Safe, style: str) -> str:
    """A document without script that asks no other host for anything; its style is in it."""
    return "<!doctype html>\n" + element(
        "html",
        element(
            "head",
            element("meta", charset="utf-8"),
            element("meta", http_equiv="Content-Security-Policy", content=policy(style)),
            element("meta", name="viewport", content="width=device-width, initial-scale=1"),
            element("meta", name="color-scheme", content="light dark"),
            element("meta", name="referrer", content="no-referrer"),
            element("title", title),
            element("link", rel="icon", href="data:,"),
            element("style", Safe(style)),
        ),
        element("body", *body),
        lang=language(),
    )


def style_sheet() -> str:
    """The style sheets of pictures and report in one."""
    folder = resources.files("backreef.reports") / "data"
    return "\n".join((folder / name).read_text(encoding="utf-8") for name in _STYLES)


def policy(style: str) -> str:
    """A policy that allows this very style sheet and nothing else."""
    digest = base64.b64encode(hashlib.sha256(style.encode("utf-8")).digest()).decode("ascii")
    return (
        f"default-src 'none'; style-src 'sha256-{digest}'; img-src data:; base-uri 'none'; form-action 'none'"
    )


def _main(forecast: Forecast, drawn: Sections, workings: Mapping[str, Working]) -> list[Safe]:
    contents = (*_CONTENTS, *([("why", "Why")] if workings else []))
    links = [element("li", element("a", words, href=f"#{ident}")) for ident, words in contents]
    every = {**drawn, "findings": sections.findings(forecast, told=workings)}
    return [
        every["head"],
        element("nav", element("ul", *links), aria_label="Contents"),
        *(every[name] for name, _ in _CONTENTS),
        *([why_section(workings)] if workings else []),
    ]
