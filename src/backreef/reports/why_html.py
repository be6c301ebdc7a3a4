"""A working as a piece of a page: each quantity with its formula, its inputs beneath it, the sources."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from backreef.judgement.tornado import Tornado
from backreef.plots.figure import Table
from backreef.plots.markup import Safe, element, joined
from backreef.plots.words import capital
from backreef.reports.html_parts import definition, section, table, why_ident
from backreef.reports.why_text import (
    MOVED_COLUMNS,
    given_words,
    moved_rows,
    moved_words,
    number_words,
    same_words,
    whence_words,
)
from backreef.units import unit_words
from backreef.usecases.why import Askable, Working
from backreef.working.tree import Node

_OPEN_DEPTH = 2
"""Quantities down to here are unfolded from the beginning."""
_DEEPEST = 24


def why_content(working: Working, of: str = "") -> Safe:
    """What a figure is, how it comes about, what moves it, and on whose word.

    `of` stands before each figure that it leads to.
    """
    parts = [
        element("h1", f"{capital(working.title)}", class_="title"),
        element("p", element("strong", f"{working.figure} = {working.shown}"), class_="verdict"),
    ]
    if working.members is not None:
        words = f"Of {working.members} members, seed {working.seed}, of {working.plan_name}."
        parts.append(element("p", words, class_="quiet"))
    parts.append(element("section", element("h2", "How it comes about"), _tree(working), class_="working"))
    if working.moved:
        parts.append(element("section", element("h2", "What came in and left"), table(_moved(working))))
    if working.tornado is not None:
        parts.append(element("section", element("h2", "What moves it most"), *_tornado(working.tornado)))
    if working.beside:
        parts.append(element("section", element("h2", "Shown beside it"), _beside(working, of)))
    if working.elasticities is not None:
        rows = tuple(moved_rows(working.elasticities))
        moved = table(Table(caption="Each uncertain number moved alone", columns=MOVED_COLUMNS, rows=rows))
        words = element("p", moved_words(working.elasticities))
        parts.append(element("section", element("h2", "What each number does"), moved, words))
    if working.sources:
        pairs = sorted(working.sources.items())
        parts.append(element("section", element("h2", "On whose word"), definition(pairs, "sources")))
    return joined(parts)


def _beside(working: Working, of: str) -> Safe:
    """What is shown beside it, each to be asked in turn."""
    links = [
        element(
            "li", element("a", capital(one.title), href=f"?of={_quoted(of + one.figure)}"), f": {one.shown}"
        )
        for one in working.beside
    ]
    return element("ul", *links, class_="plainly")


def why_section(workings: Mapping[str, Working]) -> Safe:
    """The working of each figure, folded away; whoever follows its number comes upon it unfolded."""
    folded = [
        element(
            "details",
            element("summary", f"{capital(one.title)}: {one.shown}"),
            element(
                "div", element("p", element("code", name), class_="quiet"), _tree(one), id=why_ident(name)
            ),
            class_="working",
        )
        for name, one in workings.items()
    ]
    sources = {key: words for one in workings.values() for key, words in one.sources.items()}
    parts = [*folded]
    if sources:
        parts += [element("h3", "On whose word"), definition(sorted(sources.items()), "sources")]
    lead = (
        "Each number that leads here, with its formula and its inputs, recorded by the code that computed it."
    )
    return section("why", "Why", *parts, lead=lead)


def asked_in(tables: Iterable[Table]) -> tuple[str, ...]:
    """The figures that cells of tables can be asked as, each once."""
    return tuple(dict.fromkeys(ask for one in tables for row in one.asks for ask in row if ask))


def figures_content(figures: Iterable[Askable], address: str, *, day: str) -> Safe:
    """Everything that can be asked, as links; figures of a day are asked of the given one."""
    rows = []
    for one in figures:
        asked = f"{one.name}@{day}" if one.daily else one.name
        note = "simulates" if one.forecast else ""
        link = element("a", capital(one.title), href=f"{address}?of={_quoted(asked)}")
        name = element("span", one.name, translate="no")
        rows.append(element("li", link, element("small", " ", name, f" {note}".rstrip(), class_="quiet")))
    return element("ul", *rows, class_="plainly")


def _quoted(words: str) -> str:
    from urllib.parse import quote

    return quote(words, safe="")


def _tree(working: Working) -> Safe:
    seen: set[str] = set()
    return element("ul", _quantity(working, working.tree.root, 0, seen), class_="tree")


def _quantity(working: Working, node: Node, depth: int, seen: set[str], called: str = "") -> Safe:
    """A quantity, `called` as the formula above has it, and the first time that it comes what is under it."""
    head = joined(
        [
            element("code", called or node.about.symbol),
            f" = {number_words(node.value)} {unit_words(node.about.unit)}".rstrip(),
        ]
    )
    if node.id in seen or depth > _DEEPEST:
        return element("li", head, element("small", " as above", class_="quiet"))
    seen.add(node.id)
    said: list[str] = []
    if node.about.what:
        said.append(element("p", f"{capital(node.about.what)}{given_words(node)}"))
    if node.is_leaf:
        said.append(element("p", whence_words(node), class_="small quiet"))
        return element("li", element("p", head), *said)
    said.append(element("p", element("code", f"= {node.formula}"), class_="formula"))
    if node.about.source:
        said.append(element("p", f"law: {node.about.source}", class_="small quiet"))
    inside = [
        _quantity(working, working.tree.node(one), depth + 1, seen, symbol)
        for symbol, one in node.inputs.items()
    ]
    said.append(element("ul", *inside))
    return element("li", element("details", element("summary", head), *said, open=depth < _OPEN_DEPTH))


def _moved(working: Working) -> Table:
    rows = tuple(
        (each.door, f"{each.g_p50:+.3g}", f"{each.g_p05:+.3g} to {each.g_p95:+.3g}")
        for each in sorted(working.moved, key=lambda each: -each.g_p50)
    )
    caption = f"Since the first day, g {working.moved[0].element}"
    return Table(caption=caption, columns=("door", "median", "5 to 95 %"), rows=rows)


def _tornado(found: Tornado) -> list[Safe]:
    if found.same_in_all:
        return [element("p", same_words(found))]
    luck = (
        f"{found.inputs} uncertain inputs over {found.members} members: by luck alone the strongest of them "
        f"reaches {found.luck_ratio:.2f} in 5 of 100 cases; what lies below is not shown."
    )
    if not found.bars:
        return [element("p", f"None stands out. {luck}")]
    rows = tuple(
        (
            bar.what,
            f"{bar.rank_correlation_ratio:+.2f}",
            f"{bar.low:.3g} to {bar.high:.3g} {unit_words(bar.unit)}".strip(),
        )
        for bar in found.bars
    )
    columns = ("input", "rank correlation", "from its lowest to its highest third")
    return [table(Table(caption="Uncertain inputs", columns=columns, rows=rows)), element("p", luck)]


def answers(workings: Mapping[str, Working], of: str = "") -> dict[str, str]:
    """Each figure with its working as markup; `of` stands before all names."""
    return {f"{of}{name}": str(why_content(working, of)) for name, working in workings.items()}
