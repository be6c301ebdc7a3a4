"""The page of a forecast for a terminal: verdict first, then the ribbon, the findings and the balances."""

from __future__ import annotations

from backreef.judgement.verdict import Finding, Forecast
from backreef.plots.additions import filter_words, open_words
from backreef.plots.crew import crew_words, size_words
from backreef.plots.crew_seasons import lasting_words, years_table
from backreef.plots.flux import ELEMENTS, flux_words
from backreef.plots.months import least, most, quarters
from backreef.plots.mouths import is_broken, thinnest_first
from backreef.plots.words import (
    BALANCE_TITLES,
    NBSP,
    balance_words,
    brief,
    capital,
    clause,
    count_words,
    long_date,
    members,
    minutes_words,
    percent,
    reading,
    sentence,
    short_date,
    span_words,
)
from backreef.reports.feeding import LOSSES, feeding_tables, loss_words, price_words, ration_words
from backreef.reports.tables import (
    OVER_ACT,
    OVER_HARM,
    bound_mark,
    flux_table,
    quarter_name,
    water_cell,
    water_rows,
)
from backreef.reports.text_layout import Style, heading, padded, paragraph, text_table
from backreef.reports.text_ribbon import text_ribbon
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
    split_findings,
    untried_note,
)
from backreef.units import unit_words

_NUTRIENTS = ("nitrate_", "phosphate_")
_MOST_TO_WATCH = 6
_MOST_FOODS = 2
_FOOD_LETTERS = 20


def forecast_page(
    forecast: Forecast, width: int = 80, *, colour: bool = False, ascii_only: bool = False
) -> str:
    """The whole page as text of at most `width` columns, ending with a line break."""
    style = Style(width=width, colour=colour, ascii_only=ascii_only)
    blocks = (
        _verdict,
        text_ribbon,
        _balances,
        _findings,
        _water,
        _animals,
        _feeding,
        _minutes,
        _additions,
        _crew,
        _doors,
        _assumptions,
        _cautions,
    )
    lines: list[str] = []
    for block in blocks:
        lines += block(forecast, style)
    return _finished(lines)


def fluxes_page(
    forecast: Forecast, width: int = 80, *, colour: bool = False, ascii_only: bool = False
) -> str:
    """The doors in and out by element, as text of at most `width` columns."""
    style = Style(width=width, colour=colour, ascii_only=ascii_only)
    content = flux_table(forecast)
    if not content.rows:
        return "No fluxes were recorded.\n"
    lines = [style.paint(style.plain(content.caption), "strong")]
    lines += text_table(content.columns, content.rows, style)
    lines.append("")
    for words in _door_words(forecast):
        lines += paragraph(words, style)
    return _finished(lines)


def _finished(lines: list[str]) -> str:
    return "\n".join(line.rstrip() for line in lines).replace(NBSP, " ") + "\n"


def _verdict(forecast: Forecast, style: Style) -> list[str]:
    until = f"{span_words(forecast.days)} from {long_date(forecast.start_on)}"
    lines = [
        *(style.paint(line, "quiet") for line in paragraph(f"{plan_title(forecast)}: {until}", style)),
        "",
    ]
    role = "strong" if forecast.holds else "break"
    lines += [style.paint(line, role) for line in paragraph(headline(forecast), style)]
    for words in (reason(forecast), later_breaks(forecast), certainty(forecast)):
        lines += paragraph(words, style)
    return [*lines, ""]


def _balances(forecast: Forecast, style: Style) -> list[str]:
    lines = [""]
    for verdict in forecast.balances:
        name = padded(BALANCE_TITLES[verdict.name], 8)
        words = "" if verdict.holds else f"{style.paint(balance_words(verdict), 'break')}; "
        lines.append(f"{name}{words}holds in {members(verdict.share_holding, forecast.members)}")
        if verdict.cause:
            lines += paragraph(f"{capital(clause(verdict.cause))}.", style, first=" " * 8, rest=" " * 8)
    return lines


def _findings(forecast: Forecast, style: Style) -> list[str]:
    every = ranked(forecast)
    if not every:
        return [*heading("Findings", style), "  Nothing came close to a bound."]
    lines = heading("Findings, worst first", style)
    told, rest = split_findings(forecast, _MOST_TO_WATCH)
    for number, finding in enumerate(told, 1):
        lines += _finding(number, finding, forecast, style)
    if rest:
        lines += [
            "",
            *paragraph(f"{len(rest)} more to watch; the report tells of each:", style, first="    "),
        ]
    for finding in rest:
        lines += paragraph(capital(clause(finding.what)), style, first="    - ", rest="      ")
    note = untried_note(told)
    return [*lines, "", *paragraph(note, style, first="    ")] if note else lines


def _finding(number: int, finding: Finding, forecast: Forecast, style: Style) -> list[str]:
    start = f"{number:2d}. "
    head = paragraph(capital(clause(finding.what)), style, first=start, rest="    ")
    kind = f"{BALANCE_TITLES[finding.balance]}, {finding_kind(finding)}: {finding_place(finding, forecast)}"
    measure = finding_measure(finding)
    lines = [style.paint(line, "break" if finding.breaks else "strong") for line in head]
    lines += paragraph(f"{kind}; {measure}." if measure else f"{kind}.", style, first="    ", rest="    ")
    lines += paragraph(sentence(finding.why), style, first="    ", rest="    ")
    for remedy in finding.remedies:
        effect = f" {capital(clause(remedy.effect))}." if remedy.effect else ""
        words = f"{capital(clause(remedy.what))} ({remedy_verdict(remedy)}).{effect}"
        lines += paragraph(words, style, first="    > ", rest="      ")
    return ["", *lines] if number > 1 else lines


def _water(forecast: Forecast, style: Style) -> list[str]:
    bands = water_rows(forecast)
    spans = quarters(forecast.dates)
    lines = heading("Water by season, middle of the members (5-95 %)", style)
    shown = [
        b
        for b in bands
        if b.series.startswith(_NUTRIENTS) or any(bound_mark(forecast.series[b.series], b, s) for s in spans)
    ]
    per_block = max(1, (style.width - 16) // 21)
    for start in range(0, len(shown), per_block):
        block = shown[start : start + per_block]
        rows = [
            [quarter_name(forecast, s), *(water_cell(forecast.series[b.series], b, s) for b in block)]
            for s in spans
        ]
        lines += text_table(["season", *(f"{b.label}, {unit_words(b.unit)}" for b in block)], rows, style)
    if shown:
        lines += paragraph(
            f"{OVER_ACT} outside the act bounds, {OVER_HARM} outside the harm bounds.",
            style,
            first="  ",
            rest="  ",
        )
    lines += paragraph(price_words(forecast), style, first="  ", rest="  ") if price_words(forecast) else []
    calm = [
        f"{b.label} {reading(least(middle))} to {reading(most(middle))} {unit_words(b.unit)}"
        for b, middle in ((b, forecast.series[b.series].p50) for b in bands)
        if b not in shown
    ]
    if calm:
        lines += paragraph(
            f"Inside the act bounds throughout: {'; '.join(calm)}.", style, first="  ", rest="  "
        )
    return lines if bands else [*lines, "  No quantity of the water has bounds."]


def _animals(forecast: Forecast, style: Style) -> list[str]:
    lines = heading("Mouths, thinnest first", style)
    if not forecast.animals:
        return [*lines, "  The plan has no animals."]
    rows = []
    for a in thinnest_first(forecast.animals):
        name = f"{a.common_name} (breaks)" if is_broken(forecast, a) else a.common_name
        foods = (
            ", ".join(
                f"{brief(what, _FOOD_LETTERS)} {percent(share)}" for what, share in a.eats[:_MOST_FOODS]
            )
            or "not known"
        )
        count = count_words(a.count_start)
        if a.count_end_p50 != a.count_start:
            count += f" to {count_words(a.count_end_p50)}"
        rows.append(
            (
                name,
                count,
                reading(a.length_end_cm_p50),
                reading(a.condition_end_p05),
                percent(a.energy_met_share_p50),
                foods,
            )
        )
    return lines + text_table(
        ("animal", "number", "cm at end", "condition", "of need", "eats most"), rows, style
    )


def _feeding(forecast: Forecast, style: Style) -> list[str]:
    lines: list[str] = []
    for content in feeding_tables(forecast):
        lines += heading(content.caption, style)
        lines += text_table(content.columns, content.rows, style)
    for title, told in (
        ("Rations that follow their animals", list(ration_words(forecast))),
        (LOSSES, list(loss_words(forecast))),
    ):
        if told:
            lines += heading(title, style)
        for words in told:
            lines += paragraph(words, style, first="  ", rest="    ")
    return lines


def _minutes(forecast: Forecast, style: Style) -> list[str]:
    m = forecast.minutes
    lines = heading("Hands", style)
    words = f"{m.per_month_p50:.0f} minutes a month ({m.per_month_p05:.0f}-{m.per_month_p95:.0f}) of "
    words += f"{m.budget_per_month:.0f} given; looks and head counts {m.looks_per_month_p50:.0f} besides."
    if m.busiest_day is not None:
        words += f" Fullest day {short_date(m.busiest_day)}, {m.busiest_day_minutes:.0f} minutes."
    lines += paragraph(words, style, first="  ", rest="  ")
    rows = [
        (
            line.name if not line.look else f"{line.name} (a look)",
            minutes_words(line.minutes_per_month_p50),
            f"{line.minutes_per_month_p05:.0f}-{line.minutes_per_month_p95:.0f}",
            f"{line.times_per_year:.0f}",
            "yes" if line.needs_presence else "no",
        )
        for line in sorted(m.by_chore, key=lambda line: (line.look, -line.minutes_per_month_p50))
    ]
    if not rows:
        return lines
    return lines + text_table(
        ("task", "min a month", "5-95 %", "times a year", "somebody there"), rows, style
    )


def _additions(forecast: Forecast, style: Style) -> list[str]:
    if not forecast.additions:
        return []
    lines = heading("Additions, each behind its gate", style)
    for a in sorted(forecast.additions, key=lambda a: a.on):
        on = f"  {padded(short_date(a.on), 12)}"
        lines += paragraph(f"{a.count} {a.common_name}", style, first=on, rest=" " * 14)
        gate = f"gate: {a.gate} ({open_words(forecast, a)})" if a.gate else "no gate"
        lines += paragraph(gate, style, first=" " * 14, rest=" " * 14)
        lines += paragraph(f"filter: {filter_words(a)}", style, first=" " * 14, rest=" " * 14)
    return lines


def _crew(forecast: Forecast, style: Style) -> list[str]:
    if not forecast.crew:
        return []
    rows = [
        (
            line.label,
            reading(line.grown_g_dry_per_d_p50),
            reading(line.wanted_g_dry_per_d_p50),
            reading(line.eaten_g_dry_per_d_p50),
            crew_words(line),
        )
        for line in forecast.crew
    ]
    columns = ("food", "grows", "could be taken", "is eaten", "so")
    lines = [*heading("Crew and what it lives on, g dry a day", style), *text_table(columns, rows, style)]
    for size in forecast.crew_sizes:
        lines += paragraph(size_words(size), style, first="  ", rest="    ")
        if size.seasons:
            seasons = years_table(size)
            lines += text_table(seasons.columns, seasons.rows, style, indent=4)
            lines += paragraph(lasting_words(size), style, first="    ", rest="    ")
    return lines


def _doors(forecast: Forecast, style: Style) -> list[str]:
    words = _door_words(forecast)[:2]
    if not words:
        return []
    lines = heading("Doors in and out", style)
    for said in words:
        lines += paragraph(said, style, first="  ", rest="  ")
    return lines


def _door_words(forecast: Forecast) -> list[str]:
    by_element = [(name, [x for x in forecast.fluxes if x.element == element]) for element, name in ELEMENTS]
    return [flux_words(name, lines) for name, lines in by_element if lines]


def _assumptions(forecast: Forecast, style: Style) -> list[str]:
    lines = heading("On whose word", style)
    lines += paragraph(f"{assumption_count(forecast)}. The report lists each.", style, first="  ", rest="  ")
    lines += paragraph(residual_words(forecast), style, first="  ", rest="  ")
    words = f"{forecast.members} members, seed {forecast.seed}, engine {forecast.engine}."
    lines += paragraph(words, style, first="  ", rest="  ")
    return lines + paragraph(asking_words(forecast), style, first="  ", rest="  ")


def _cautions(forecast: Forecast, style: Style) -> list[str]:
    lines = heading("Cautions", style)
    for caution in (*forecast.cautions, HUMILITY):
        lines += paragraph(caution, style, first="  - ", rest="    ")
    for notice in forecast.notices:
        lines += paragraph(f"Notice: {notice}", style, first="  - ", rest="    ")
    return lines
