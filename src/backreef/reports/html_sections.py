"""The sections of the report."""

from __future__ import annotations

from collections.abc import Collection, Sequence

from backreef.judgement.cautions import asked_as
from backreef.judgement.verdict import Assumption, Finding, Forecast, Remedy, WaterBand
from backreef.plots.absence import length_days, long_absences, usual_days
from backreef.plots.additions import additions_chart
from backreef.plots.crew import crew_chart
from backreef.plots.crew_seasons import seasons_chart
from backreef.plots.figure import Figure, Reading, Table
from backreef.plots.flux import flux_charts
from backreef.plots.markup import Safe, element, joined
from backreef.plots.minutes import minutes_by_chore, minutes_by_week
from backreef.plots.mouths import mouths_chart, mouths_table
from backreef.plots.ribbon import ribbon
from backreef.plots.series import series_chart
from backreef.plots.true_minutes import months_logged, true_minutes
from backreef.plots.words import (
    BALANCE_QUESTIONS,
    BALANCE_TITLES,
    balance_words,
    capital,
    clause,
    members,
    percent,
    plural,
    sentence,
    short_date,
    span_words,
)
from backreef.reports.assumption_groups import grouped
from backreef.reports.feeding import LOSSES, feeding_tables, price_words, told_losses, told_rations
from backreef.reports.html_parts import asked, bullets, definition, figure, line_glyph, section, table
from backreef.reports.tables import meals_table, water_at_the_end, water_by_quarter, water_rows
from backreef.reports.words import (
    HUMILITY,
    asking_words,
    assumption_count,
    certainty,
    finding_kind,
    finding_measure,
    finding_place,
    headline,
    later_breaks,
    plan_title,
    ranked,
    reason,
    remedy_verdict,
    residual_words,
    rule_of_holding,
    split_findings,
    status_words,
    untried_note,
)
from backreef.units import unit_words
from backreef.usecases.told_numbers import finding_asked, remedy_asked, told_name

_MOST_TO_WATCH = 10
_NOT_WATER = ("minutes_",)


def head(forecast: Forecast, readings: Sequence[Reading], told: Collection[str] = ()) -> Safe:
    """The verdict, the ribbon, and the three balances in words."""
    kind = "holds" if forecast.holds else "breaks"
    said = [element("p", reason(forecast), class_="reason")] if reason(forecast) else []
    more = " ".join(part for part in (later_breaks(forecast), certainty(forecast)) if part)
    story = [element("p", forecast.story, class_="story", translate="no")] if forecast.story else []
    return element(
        "header",
        element(
            "p",
            element("b", plan_title(forecast), translate="no"),
            f" · forecast over {span_words(forecast.days)}",
            class_="over",
        ),
        element("h1", headline(forecast), class_=kind),
        *said,
        element("p", asked(more, told_name(forecast, "share_holding"), told), class_="certainty"),
        balances(forecast, told),
        figure(ribbon(forecast, readings), heading="", told=told),
        *story,
    )


def balances(forecast: Forecast, told: Collection[str] = ()) -> Safe:
    """The three balances: what each asks and how it fares."""
    items = []
    for verdict in forecast.balances:
        kind = "holds" if verdict.holds else "breaks"
        share = asked(
            f"Holds in {members(verdict.share_holding, forecast.members)}.",
            told_name(verdict, "share_holding"),
            told,
        )
        cause = f" {capital(clause(verdict.cause))}." if verdict.cause else ""
        items.append(
            element(
                "li",
                element(
                    "h2",
                    BALANCE_TITLES[verdict.name],
                    element("small", f" {BALANCE_QUESTIONS[verdict.name]}"),
                ),
                element("p", line_glyph(kind), element("strong", balance_words(verdict), class_=kind)),
                element("p", share, cause),
            )
        )
    return element("ul", *items, class_="balances")


def findings(forecast: Forecast, *, noted: bool = True, told: Collection[str] = ()) -> Safe:
    """Everything that is or comes close to wrong, worst first; `noted` says how to try the rest."""
    every = ranked(forecast)
    if not every:
        return section("findings", "Findings", element("p", "Nothing came close to a bound."))
    breaks = sum(f.breaks for f in every)
    lead = f"{plural(len(every), 'finding')}, {breaks or 'none'} of them a reason to break; worst first. "
    lead += untried_note(every) if noted else ""
    first, rest = split_findings(forecast, _MOST_TO_WATCH)
    parts = [element("ol", *(_finding(f, forecast, told) for f in first), class_="findings")]
    if rest:
        items = [_finding(f, forecast, told) for f in rest]
        folded = element("ol", *items, class_="findings", start=len(first) + 1)
        parts.append(
            element("details", element("summary", f"{len(rest)} more to watch"), folded, class_="more")
        )
    return section("findings", "Findings", *parts, lead=lead)


def _finding(finding: Finding, forecast: Forecast, told: Collection[str]) -> Safe:
    kind = "breaks" if finding.breaks else "watch"
    sign = line_glyph("breaks") if finding.breaks else Safe()
    aside = element(
        "div",
        element("p", element("i", BALANCE_TITLES[finding.balance])),
        element("p", sign, element("strong", finding_kind(finding), class_=kind)),
        element("p", asked(finding_place(finding, forecast), told_name(finding, "share_of_members"), told)),
        class_="aside",
    )
    heading = asked(capital(clause(finding.what)), finding_asked(finding.id, "titles"), told)
    reason = asked(sentence(finding.why), finding_asked(finding.id, "reasons"), told)
    body = [element("h3", heading), element("p", reason)]
    measure = finding_measure(finding)
    if measure:
        name = told_name(finding, "bound" if finding.value is None else "value")
        body.append(element("p", asked(f"Value: {measure}.", name, told), class_="measure"))
    if finding.remedies:
        body.append(element("h4", "What helps"))
        body.append(element("ul", *(_remedy(r, finding, told) for r in finding.remedies), class_="remedies"))
    if finding.source:
        body.append(element("p", f"On whose word: {status_words(finding.source)}", class_="source"))
    return element("li", aside, element("div", *body), class_=kind)


def _remedy(remedy: Remedy, finding: Finding, told: Collection[str]) -> Safe:
    sign = (
        "unknown"
        if not remedy.checked or remedy.holds_after is None
        else "holds"
        if remedy.holds_after
        else "breaks"
    )
    words = f"{capital(clause(remedy.effect))}."
    said = asked(words, remedy_asked(finding, remedy.id, "has_share") if remedy.checked else "", told)
    whole = [" ", said] if isinstance(said, Safe) else [f" {said}"]
    effect = [element("span", *whole, class_="effect")] if remedy.effect else []
    return element(
        "li",
        line_glyph(sign),
        element("span", element("b", capital(clause(remedy.what))), f" ({remedy_verdict(remedy)}).", *effect),
    )


def water(forecast: Forecast, readings: Sequence[Reading], told: Collection[str] = ()) -> Safe:
    """Each bounded quantity with its band, and all of them by season."""
    bands = water_rows(forecast)
    if not bands:
        return section(
            "water", "Water", element("p", "No quantity of the water has bounds in this forecast.")
        )
    charts = [figure(series_chart(forecast, band.series, readings), told=told) for band in bands]
    note = (
        "! marks a season in which the middle leaves the act bounds, !! one in which it leaves those of harm."
    )
    bounds = Table(
        caption="Bounds and on whose word they stand",
        columns=("quantity", "unit", "act", "harm", "for days", "status", "source"),
        rows=tuple(
            (
                b.label,
                unit_words(b.unit),
                _outside((b.act_low, b.act_high)),
                _outside((b.harm_low, b.harm_high)),
                f"{b.harm_days:g}",
                status_words(b.status),
                b.source,
            )
            for b in bands
        ),
        asks=tuple(
            ("", "", _first_bound(b, "act"), _first_bound(b, "harm"), told_name(b, "harm_days"), "", "")
            for b in bands
        ),
    )
    lead = (
        "Dark line: the middle of the members; pale band: 5 to 95 % of them. Dashed: outside it is a "
        "finding. Dotted, with rocks beyond: harm."
    )
    return section(
        "water",
        "Water",
        *charts,
        table(water_by_quarter(forecast), told=told),
        *([table(water_at_the_end(forecast), told=told)] if told else []),
        element("p", note, class_="note"),
        *_price(forecast, told),
        table(bounds, told=told),
        lead=lead,
    )


def _price(forecast: Forecast, told: Collection[str]) -> list[Safe]:
    price = forecast.food_price
    if price is None:
        return []
    name = told_name(price, "uneaten_as_mg_no3_per_l_per_month")
    return [element("p", asked(price_words(forecast), name, told))]


def _first_bound(band: WaterBand, side: str) -> str:
    known = [name for name in (f"{side}_low", f"{side}_high") if getattr(band, name) is not None]
    return told_name(band, known[0]) if known else ""


def _outside(bounds: tuple[float | None, float | None]) -> str:
    low, high = bounds
    if low is None and high is None:
        return "–"
    if low is None:
        return f"above {high:g}"
    return f"below {low:g}" if high is None else f"below {low:g}, above {high:g}"


def mouths(forecast: Forecast, told: Collection[str] = ()) -> Safe:
    """Every animal with its condition and food, and the meals."""
    chart = mouths_chart(forecast)
    parts = [figure(chart, told=told)] if chart else [element("p", "The plan has no animals.")]
    if chart:
        parts.append(table(mouths_table(forecast), stacked=True, told=told))
    if forecast.meals:
        parts.append(table(meals_table(forecast), told=told))
    parts += [element("p", asked(words, name, told)) for name, words in told_rations(forecast)]
    parts += [table(content, stacked=True, told=told) for content in feeding_tables(forecast)]
    losses = tuple(asked(words, name, told) for name, words in told_losses(forecast))
    parts += [element("h3", LOSSES), bullets(*losses)] if losses else []
    return section("mouths", "Mouths", *parts)


def hands(forecast: Forecast, told: Collection[str] = ()) -> Safe:
    """The minutes against the budget."""
    m = forecast.minutes
    lead = f"{m.per_month_p50:.0f} minutes a month ({m.per_month_p05:.0f} to {m.per_month_p95:.0f}) "
    lead += f"of {m.budget_per_month:.0f} given, and {m.looks_per_month_p50:.0f} for looks besides."
    charts = [
        figure(c, told=told) for c in (minutes_by_week(forecast), minutes_by_chore(forecast)) if c is not None
    ]
    logged = true_minutes(forecast)
    if logged is not None:
        charts += [figure(logged), table(months_logged(forecast))]
    said = asked(lead, told_name(m, "per_month_p50"), told)
    return section("hands", "Hands", *charts, *_absences(forecast, told), lead=said)


def _absences(forecast: Forecast, told: Collection[str]) -> list[Safe]:
    absences, usual = long_absences(forecast), usual_days(forecast)
    parts: list[Safe] = []
    if absences:
        rows = tuple(
            (a.label or "away", short_date(a.first_on), short_date(a.last_on), str(length_days(a)))
            for a in absences
        )
        title = "Nobody there for longer than usual" if usual else "Nobody there"
        asks = tuple(("", "", "", f"days_away@{a.first_on}..{a.last_on}") for a in absences)
        columns = ("why", "from", "until", "days")
        parts.append(table(Table(caption=title, columns=columns, rows=rows, asks=asks), told=told))
    if usual:
        count = len(forecast.away) - len(absences)
        words = f"Besides, {count} stretches of up to {plural(usual, 'day')} come round with the weeks."
        parts.append(element("p", asked(words, "short_stretches_away", told), class_="note"))
    return parts


def additions(forecast: Forecast, told: Collection[str] = ()) -> Safe:
    """Who arrives when, behind which gate."""
    chart = additions_chart(forecast)
    lead = (
        "A gate is something to see or measure that must be true before the next animals come; "
        "the date alone never opens it."
    )
    parts = (
        [figure(chart, folded=False), table(chart.table, stacked=True, told=told)]
        if chart
        else [element("p", "No animals arrive in this plan.")]
    )
    return section("additions", "Additions and their gates", *parts, lead=lead if chart else "")


def crew(forecast: Forecast, told: Collection[str] = ()) -> Safe:
    """The clean-up crew against what it lives on, and how the pools stand."""
    chart = crew_chart(forecast)
    bounded = {band.series for band in forecast.water_bands}
    pools = [n for n in forecast.series if n not in bounded and not n.startswith(_NOT_WATER)]
    charts: list[Figure] = [chart] if chart else []
    charts += [series_chart(forecast, name) for name in pools]
    nothing = element("p", "The forecast has no crew and no pools of food.")
    parts = [figure(c, told=told) for c in charts] or [nothing]
    parts += [figure(seasons_chart(forecast, size), told=told) for size in forecast.crew_sizes]
    return section("crew", "Crew and what it lives on", *parts)


def doors(forecast: Forecast, told: Collection[str] = ()) -> Safe:
    """Where the elements come in and go out."""
    charts = [figure(c, told=told) for c in flux_charts(forecast)]
    lead = (
        "What comes in with food must leave again by some door, or it stays in the tank. "
        "Grams of the element a month, middle of the members."
    )
    return section(
        "doors",
        "Doors in and out",
        *(charts or [element("p", "No fluxes were recorded.")]),
        lead=lead if charts else "",
    )


def cautions(forecast: Forecast, told: Collection[str] = ()) -> Safe:
    """Where it can hurt; numbers that can be asked lead to their working."""
    said = (asked(one, asked_as(one), told) for one in forecast.cautions)
    return section("cautions", "Cautions", bullets(*said, HUMILITY))


def assumptions(forecast: Forecast) -> Safe:
    """Every default and every value used, on whose word, and what it would change."""
    groups = grouped(forecast)
    parts = [_assumed(title, members, unfolded=i == 0) for i, (title, members) in enumerate(groups)]
    if forecast.sources:
        parts += [element("h3", "Sources the numbers rest on"), bullets(*forecast.sources)]
    lead = f"{assumption_count(forecast)}. The weakest stand first in each group."
    return section("assumptions", "What we assumed and on whose word", *parts, lead=lead if groups else "")


def _assumed(title: str, members: Sequence[Assumption], *, unfolded: bool) -> Safe:
    rows = tuple(
        (
            joined([capital(a.what), " ", element("small", a.key)]),
            a.value,
            status_words(a.status),
            a.source or "no source",
            a.changes or "not known",
        )
        for a in members
    )
    columns = ("what", "taken as", "status", "on whose word", "if it were otherwise")
    content = Table(caption=title, columns=columns, rows=rows)
    summary = element("summary", f"{title} ({len(members)})")
    return element("details", summary, table(content, stacked=True), class_="assumed", open=unfolded)


def sureness(forecast: Forecast, told: Collection[str] = ()) -> Safe:
    """How many members, how wide, and whether the books close."""
    residual = f"{residual_words(forecast)} This says that the sums are right, not that the biology is."
    share = percent(forecast.share_holding)
    verdict = certainty(forecast) if forecast.members > 1 else f"{certainty(forecast)} ({share})"
    pairs = [
        ("Members", f"{forecast.members}. {rule_of_holding()}"),
        ("Verdict", asked(verdict, told_name(forecast, "share_holding"), told)),
        (
            "Bands",
            "5 to 95 % of the members; one in ten lies outside. What the model leaves out is not in them.",
        ),
        ("Conservation", asked(residual, told_name(forecast, "conservation_residual"), told)),
        (
            "Run",
            f"Engine {forecast.engine}, seed {forecast.seed}, plan {forecast.plan_file or 'without a file'}.",
        ),
    ]
    pairs += [("Ask why", words)] if (words := asking_words(forecast)) else []
    return section("sure", "How sure", definition(pairs, "sure"), *_notices(forecast))


def _notices(forecast: Forecast) -> list[Safe]:
    return [element("h3", "Notices"), bullets(*forecast.notices)] if forecast.notices else []
