"""A rehearsal as one HTML file: the verdict, every mishap, the gravest with their hours, what helps."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from typing import TYPE_CHECKING

from backreef.judgement.findings import sentence
from backreef.judgement.rehearsal import Mishap, Rehearsal
from backreef.plots.hours import hour_chart
from backreef.plots.markup import Safe, element, joined
from backreef.plots.mishaps import asked_away, asked_of, at_risk, mishap_chart, mishap_table
from backreef.plots.rehearsal_words import (
    ADVICE_ORDER,
    HONESTY,
    advice_words,
    away_words,
    chance_ends,
    chance_words,
    first_words,
    hours_words,
    mitigation_words,
    verdict_words,
    water_words,
    without_help_words,
)
from backreef.plots.words import plural, short_date
from backreef.reports.html import html_page
from backreef.reports.html_parts import asked, bullets, definition, figure, line_glyph, section, table
from backreef.reports.why_html import asked_in, why_section
from backreef.reports.words import HUMILITY

if TYPE_CHECKING:
    from backreef.usecases.why import Working

_CONTENTS = (
    ("mishaps-all", "What may go wrong"),
    ("told", "The gravest, hour by hour"),
    ("advised", "What helps most"),
    ("harmless", "What harms nobody"),
    ("cautions", "Cautions"),
    ("sure", "How sure"),
)
CAUTIONS = (
    "Water on the floor: switch off the mains at the box before touching anything; then call an electrician.",
    "A heater that has stood dry may crack when water comes back: off, and cool, first.",
    "Gasping, bloated or wounded animals are for a vet; local rules come first.",
)


def rehearsal_html(rehearsal: Rehearsal, workings: Mapping[str, Working] | None = None) -> str:
    """The whole rehearsal as one HTML document; hours whose working is given lead to it."""
    told_why = workings or {}
    title = f"{rehearsal.plan_name}: {away_words(rehearsal)}, rehearsed"
    told = [_told(mishap, rehearsal) for mishap in at_risk(rehearsal)]
    links = [
        element("li", element("a", words, href=f"#{ident}"))
        for ident, words in _CONTENTS
        if (ident != "told" or told) and (ident != "advised" or rehearsal.advice)
    ]
    main = [
        _head(rehearsal),
        element("nav", element("ul", *links), aria_label="Contents"),
    ]
    calm = hour_chart(rehearsal, None, ident="calm")
    if calm is not None:
        main.append(section("nothing-wrong", "With nothing going wrong", figure(calm)))
    main.append(_all(rehearsal, told_why))
    if told:
        lead = "Only mishaps that bring an animal to risk before the return; the soonest first."
        listed = element("ol", *told, class_="findings")
        main.append(section("told", "The gravest, hour by hour", listed, lead=lead))
    main += [
        *_advised(rehearsal),
        _harmless(rehearsal),
        section("cautions", "Cautions", bullets(*CAUTIONS, HUMILITY)),
        _sure(rehearsal),
        *([why_section(told_why)] if told_why else []),
    ]
    return html_page(title, element("main", joined(main)), skip_to="mishaps-all")


def figures_of(rehearsal: Rehearsal) -> tuple[str, ...]:
    """The figures that hours of the page can be asked as."""
    return asked_in([mishap_table(rehearsal)])


def _head(rehearsal: Rehearsal) -> Safe:
    kind = "holds" if rehearsal.holds else "breaks"
    last_on = short_date(rehearsal.until_on)
    over = f" · {away_words(rehearsal)}, from {short_date(rehearsal.first_on)}, back on {last_on}"
    parts = [
        element("p", element("b", rehearsal.plan_name), over, class_="over"),
        element("h1", "This absence holds" if rehearsal.holds else "This absence does not hold", class_=kind),
        element("p", verdict_words(rehearsal), class_="reason"),
    ]
    if rehearsal.nobody_there_for:
        parts.append(bullets(*rehearsal.nobody_there_for))
    parts.append(element("p", _likeliest(rehearsal), class_="certainty"))
    return element("header", *parts)


def _likeliest(rehearsal: Rehearsal) -> str:
    """How likely it is that any mishap comes that brings somebody to risk, if each came by itself."""
    risky = at_risk(rehearsal)
    if not risky:
        return "No mishap that was tried brings an animal to risk before the return."
    first = risky[0]
    words = f"{len(risky)} of {plural(len(rehearsal.mishaps), 'mishap')} would bring an animal to risk. "
    words += f"The soonest: {first.what}, after {hours_words(first.outcome.hours_to_risk)}; "
    return f"{words}chance over these days {chance_words(first.chance)}."


def _all(rehearsal: Rehearsal, told: Collection[str] = ()) -> Safe:
    chart = mishap_chart(rehearsal)
    parts = [] if chart is None else [figure(chart, folded=False)]
    lead = "Each alone, and the plausible pairs; the hours count from the beginning of the mishap."
    parts.append(table(mishap_table(rehearsal), stacked=True, told=told))
    return section("mishaps-all", "What may go wrong", *parts, lead=lead)


def _told(mishap: Mishap, rehearsal: Rehearsal, why: Collection[str] = ()) -> Safe:
    outcome = mishap.outcome

    def leading(words: str, what: str) -> str:
        return asked(words, asked_of(mishap, rehearsal, what), why)

    hours = leading(hours_words(outcome.hours_to_risk), "hours_to_risk")
    likely = f"chance {chance_words(mishap.chance)}, {chance_ends(mishap.chance)}"
    aside = element(
        "div",
        element("p", line_glyph("breaks"), element("strong", hours, class_="breaks")),
        element("p", likely if mishap.chance.value is None else leading(likely, "chance")),
        element("p", f"begins {short_date(mishap.begins_at.date())}, {mishap.begins_at:%H:%M}"),
        class_="aside",
    )
    first = f"{hours_words(outcome.hours_to_risk)}: {first_words(outcome)}."
    body = [
        element("h3", sentence(mishap.what)),
        element("p", leading(first, "share_at_risk")),
        element("p", leading(f"Water: {water_words(outcome)}.", "oxygen_mg_per_l.low")),
    ]
    if outcome.found:
        said = f"On return: {'; '.join(outcome.found)}."
        body.append(element("p", asked(said, _first_found(mishap, rehearsal), why)))
    chart = hour_chart(rehearsal, mishap, ident=f"line-{mishap.id.replace('.', '-').replace('_', '-')}")
    if chart is not None:
        body.append(figure(chart))
    if mishap.mitigations:
        body.append(element("h4", "What helps, the most for the work first"))
        body.append(
            element(
                "ul",
                *(
                    _helps(what, leading(effect, f"with.{each.id}.spared_heads"))
                    for each in mishap.mitigations
                    for what, effect in (mitigation_words(each),)
                ),
                class_="remedies",
            )
        )
    if without := without_help_words(mishap):
        body.append(element("p", without))
    body.append(element("p", f"On whose word: {mishap.chance_from}", class_="source"))
    return element("li", aside, element("div", *body), class_="breaks")


def _first_found(mishap: Mishap, rehearsal: Rehearsal) -> str:
    """What the first thing that is found on return is asked as; the others stand beside it."""
    names = mishap.outcome.found_as
    return asked_of(mishap, rehearsal, f"on_return.{names[0]}.now") if names else ""


def _helps(what: str, effect: str) -> Safe:
    said = [": ", effect, "."] if isinstance(effect, Safe) else [f": {effect}."]
    words = element("span", element("b", what), element("span", *said, class_="effect"))
    return element("li", line_glyph("holds"), words)


def _advised(rehearsal: Rehearsal, why: Collection[str] = ()) -> list[Safe]:
    """What helps most over all mishaps; nothing where nothing does."""
    if not rehearsal.advice:
        return []
    said = [
        _helps(what, asked(effect, asked_away(f"advice.{each.id}.spared_heads", rehearsal), why))
        for each in rehearsal.advice
        for what, effect in (advice_words(each),)
    ]
    listed = element("ul", *said, class_="remedies")
    return [section("advised", "What helps most", listed, lead=ADVICE_ORDER)]


def _harmless(rehearsal: Rehearsal, why: Collection[str] = ()) -> Safe:
    """The mishaps that bring nobody to risk, with what they leave behind."""
    calm = [mishap for mishap in rehearsal.mishaps if mishap.outcome.hours_to_risk is None]
    if not calm:
        return section(
            "harmless", "What harms nobody", element("p", "Every mishap brings an animal to risk.")
        )
    said = [
        asked(
            f"{sentence(each.what)}: {'; '.join(each.outcome.found) or 'nothing to see'}.",
            _first_found(each, rehearsal),
            why,
        )
        for each in calm
    ]
    lead = "Nobody comes to risk by these. What is found on return, against an absence with nothing wrong:"
    return section("harmless", "What harms nobody", bullets(*said), lead=lead)


def _sure(rehearsal: Rehearsal) -> Safe:
    pairs = [
        ("Members", f"{rehearsal.members}, seed {rehearsal.seed}."),
        ("Chances", HONESTY),
        ("Plan", rehearsal.plan_file or "without a file"),
    ]
    return section("sure", "How sure", definition(pairs, "sure"))


def rehearsal_content(rehearsal: Rehearsal, why: Collection[str] = ()) -> Safe:
    """What an absence does, as sections of a larger page; its hours lead on where they can be asked."""
    kind = "holds" if rehearsal.holds else "breaks"
    verdict = element("p", line_glyph(kind), " ", element("strong", verdict_words(rehearsal), class_=kind))
    runs = plural(rehearsal.members, "member")
    lead = f"{away_words(rehearsal)}, from {short_date(rehearsal.first_on)}; {runs}."
    parts = [
        section("rehearsal", "Rehearsed", verdict, bullets(*rehearsal.nobody_there_for), lead=lead),
        _all(rehearsal, why),
    ]
    told = [_told(mishap, rehearsal, why) for mishap in at_risk(rehearsal)]
    if told:
        parts.append(section("told", "The gravest, hour by hour", element("ol", *told, class_="findings")))
    return joined(
        [*parts, *_advised(rehearsal, why), _harmless(rehearsal, why), element("p", HONESTY, class_="note")]
    )
