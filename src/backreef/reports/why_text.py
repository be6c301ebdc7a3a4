"""A working as a page for a terminal: each quantity with its formula and inputs, then the sources."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from backreef.judgement.elasticity import Elasticities
from backreef.judgement.tornado import Tornado
from backreef.reports.text_layout import Style, heading, paragraph, text_table
from backreef.units import unit_words
from backreef.usecases.why import Askable, Working
from backreef.working.steps import InItsUnit
from backreef.working.tree import Node

_INDENT, _DEEPEST = 2, 16
_MOST_MOVED = 20
_MANY_INPUTS, _MOST_INPUTS = 24, 8
"""Of a formula with more inputs than the first, so many are shown."""
_KIND_WORDS = {
    "plan": "plan",
    "assumed": "not said in the plan, assumed",
    "catalogue": "catalogue",
    "constant": "constant",
    "parameter": "parameter of the model",
    "drawn": "drawn for the member",
    "simulated": "simulated",
    "log": "entry of the log",
}


def why_page(working: Working, style: Style) -> str:
    """The whole page, ending with a line break."""
    lines = [style.paint(line, "strong") for line in paragraph(f"{working.figure} = {working.shown}", style)]
    lines += paragraph(f"{working.plan_name}: {working.title}.", style)
    if working.members is not None:
        lines += paragraph(f"Of {working.members} members, seed {working.seed}.", style)
    lines += heading("How it comes about", style)
    seen: set[str] = set()
    lines += _quantity(working, working.tree.root, 0, seen, style)
    lines += _moved(working, style)
    if working.tornado is not None:
        lines += _tornado(working.tornado, style)
    if working.elasticities is not None:
        lines += _elasticities(working.elasticities, style)
    if working.beside:
        lines += heading("Shown beside it", style)
        for one in working.beside:
            lines += paragraph(f"{one.figure} = {one.shown}", style, first="  ", rest="    ")
    if working.sources:
        lines += heading("On whose word", style)
        for key, text in working.sources.items():
            lines += paragraph(f"{key}: {text}", style, first="  ", rest="    ")
    return "\n".join(lines) + "\n"


def _moved(working: Working, style: Style) -> list[str]:
    """By which doors the element behind a state came and left."""
    if not working.moved:
        return []
    lines = heading(f"What came in and left since the first day, g {working.moved[0].element}", style)
    rows = [
        (each.door, f"{each.g_p50:+.3g}", f"{each.g_p05:+.3g} to {each.g_p95:+.3g}")
        for each in sorted(working.moved, key=lambda each: -each.g_p50)
    ]
    return lines + text_table(("door", "median", "5 to 95 %"), rows, style)


def _tornado(found: Tornado, style: Style) -> list[str]:
    """Which inputs move it most, and how much of that may be luck."""
    lines = heading("Which uncertain inputs move it most", style)
    if found.same_in_all:
        return lines + paragraph(same_words(found), style, first="  ", rest="  ")
    rows = [
        (
            bar.what,
            f"{bar.rank_correlation_ratio:+.2f}",
            f"{bar.low:.3g} to {bar.high:.3g} {bar.unit}".strip(),
        )
        for bar in found.bars
    ]
    if rows:
        lines += text_table(("input", "rank corr.", "its lowest to highest third"), rows, style)
    else:
        lines += paragraph("None stands out.", style, first="  ", rest="  ")
    luck = (
        f"{found.inputs} inputs over {found.members} members: by luck alone the strongest of so many reaches "
        f"{found.luck_ratio:.2f} in 5 of 100 cases; what lies below is not shown. More members (--members) "
        "show weaker ones."
    )
    return lines + paragraph(luck, style, first="  ", rest="  ")


def same_words(found: Tornado) -> str:
    """That no input moves a figure."""
    inputs = f"whatever the {found.inputs} uncertain inputs are"
    return f"None: it is the same in all {found.members} members, {inputs}."


def _elasticities(found: Elasticities, style: Style) -> list[str]:
    """What each number does that is moved alone."""
    lines = heading("Each uncertain number moved alone, strongest first", style)
    rows = moved_rows(found)
    lines += text_table(MOVED_COLUMNS, rows, style) if rows else []
    return lines + paragraph(moved_words(found), style, first="  ", rest="  ")


MOVED_COLUMNS = ("number", "% for 1 % more", "at its low and its high end")


def moved_rows(found: Elasticities) -> list[tuple[str, str, str]]:
    """The numbers that move a figure most, as rows of a table."""
    return [
        (
            one.what,
            f"{one.elasticity_ratio:+.2g}",
            f"{_end(one.low)} to {_end(one.high)} {unit_words(one.unit)}",
        )
        for one in found.found[:_MOST_MOVED]
    ]


def _end(value: InItsUnit | None) -> str:
    return "unknown" if value is None else f"{value:.3g}"


def moved_words(found: Elasticities) -> str:
    """How many numbers were moved, and how far the answer carries."""
    shown = len(found.found[:_MOST_MOVED])
    return (
        f"{found.moved} numbers, each by 1 % while all others stay at their middle, where the figure is "
        f"{found.middle:.3g}; {len(found.found)} of them move it, {shown} are shown, and the other "
        f"{found.moved - len(found.found)} do not move it. "
        "The ends are what it would be if it went on like that: far from the middle the answer bends."
    )


def figures_page(figures: Iterable[Askable], style: Style, *, program: str, plan: str) -> str:
    """What can be asked of a plan."""
    lines = paragraph(f"{program} why {plan} FIGURE answers for each of these:", style)
    for one in figures:
        more = [words for words, there in (("@day", one.daily), ("simulates", one.forecast)) if there]
        told = f"  ({', '.join(more)})" if more else ""
        lines += [style.paint(line, "strong") for line in paragraph(f"{one.name}{told}", style, first="  ")]
        lines += paragraph(one.title, style, first="      ", rest="      ")
    return "\n".join(lines) + "\n"


def _quantity(
    working: Working, node: Node, depth: int, seen: set[str], style: Style, called: str = ""
) -> Iterator[str]:
    """A quantity, `called` as the formula above has it, and the first time that it comes what is under it."""
    left = " " * min(_INDENT * (depth + 1), _DEEPEST)
    head = f"{called or node.about.symbol} = {number_words(node.value)} {node.about.unit}".rstrip()
    known = node.id in seen
    seen.add(node.id)
    lines = paragraph(f"{head} (as above)" if known else head, style, first=left, rest=left + "  ")
    yield from (style.paint(line, "strong" if depth == 0 else "sea") for line in lines)
    if known:
        return
    more = left + "  "
    if node.about.what:
        yield from paragraph(f"{node.about.what}{given_words(node)}", style, first=more, rest=more)
    if node.is_leaf:
        lines = paragraph(whence_words(node), style, first=more, rest=more)
        yield from (style.paint(line, "quiet") for line in lines)
        return
    yield from paragraph(f"= {node.formula}", style, first=more, rest=more + "  ")
    if node.about.source:
        lines = paragraph(f"law: {node.about.source}", style, first=more, rest=more + "  ")
        yield from (style.paint(line, "quiet") for line in lines)
    shown = _greatest(working, node)
    for symbol, one in shown.items():
        yield from _quantity(working, working.tree.node(one), depth + 1, seen, style, symbol)
    if smaller := len(node.inputs) - len(shown):
        yield from paragraph(f"and {smaller} smaller ones, which --json has", style, first=more, rest=more)


def _greatest(working: Working, node: Node) -> Mapping[str, str]:
    """The inputs of a formula; of very many those that are largest."""
    if len(node.inputs) <= _MANY_INPUTS:
        return node.inputs
    by_size = sorted(node.inputs.items(), key=lambda each: -abs(working.tree.node(each[1]).value))
    return dict(by_size[:_MOST_INPUTS])


def given_words(node: Node) -> str:
    """The words that a law was called with beside its inputs, in brackets."""
    said = ", ".join(f"{name} {value}" for name, value in node.about.given.items() if name != "written")
    return f" ({said})" if said else ""


def whence_words(node: Node) -> str:
    """Kind, range, place, source and status of a leaf."""
    about = node.about
    written = about.given.get("written", "")
    parts = [_KIND_WORDS.get(about.kind, about.kind)]
    if about.low is not None and about.high is not None and about.low != about.high:
        points = "5 and 95 % of the members" if about.kind == "simulated" else "range"
        parts.append(f"{points}: {number_words(about.low)} to {number_words(about.high)}")
    parts += [f"'{written}'" if written else "", about.place, about.source, about.status]
    return "; ".join(dict.fromkeys(part for part in parts if part))


def number_words(value: InItsUnit) -> str:
    """A number in as many digits as a working shows."""
    return f"{value:.6g}"
