"""A reconciliation as one HTML file: the answer, readings on the bands, what is in doubt, what to do."""

from __future__ import annotations

from collections.abc import Collection

from backreef.calibration.outcome import Moved, Reconciled
from backreef.calibration.tables import number
from backreef.plots.figure import Table
from backreef.plots.markup import Safe, element, joined
from backreef.plots.outlook import outlook_chart
from backreef.plots.words import minutes_words, plural, short_date
from backreef.reports.html import html_page
from backreef.reports.html_parts import asked, bullets, figure, section, table
from backreef.reports.reconcile_text import (
    HONESTY,
    alarm_words,
    bound_words,
    gate_words,
    next_words,
    origin_words,
    question_words,
    spread_words,
    suspect_words,
    verdict_words,
    worst_of,
)
from backreef.usecases.told_numbers import told_name


def reconcile_html(found: Reconciled) -> str:
    """The whole page as one HTML document."""
    title = f"{found.plan_name}: the plan and its log"
    main = element("main", joined([element("h1", title), reconcile_content(found)]))
    return html_page(title, main, skip_to="outlook")


def reconcile_content(found: Reconciled, told: Collection[str] = ()) -> Safe:
    """All of it but the title; numbers whose figure is `told` lead to its working."""
    used = sum(one.used for one in found.readings)
    lead = (
        f"{plural(used, 'reading')} from {short_date(found.first_reading_on)} to {short_date(found.last_on)}"
    )
    pictures = [figure(outlook_chart(found, one), told=told) for one in found.outlooks]
    parts = [
        _verdict(found, told),
        element("p", f"{lead}.", class_="lead"),
        *_alarms(found, told),
        *_questioned(found, told),
        section("outlook", "What came, and the outlook", *pictures),
        section("week", f"This week, from {short_date(found.week_from)}", *_week(found, told)),
        section("moved", "What this tank does otherwise", *_moved(found, told)),
        *_water(found, told),
        *_left_out(found),
        element("p", origin_words(found)),
        element("p", f"{plural(found.members, 'member')}, seed {found.seed}. {HONESTY}"),
    ]
    return joined(parts)


def _verdict(found: Reconciled, told: Collection[str]) -> Safe:
    worst = worst_of(found)
    figure_of = "" if worst is None else told_name(worst, "share_fitted")
    words = asked(verdict_words(found), figure_of, told)
    return element("p", words, class_="holds" if found.holds else "breaks")


def _alarms(found: Reconciled, told: Collection[str]) -> list[Safe]:
    return [
        section(
            f"alarm-{place}",
            alarm_words(alarm),
            bullets(
                *(asked(suspect_words(one), told_name(one, "share_frac"), told) for one in alarm.suspects)
            ),
        )
        for place, alarm in enumerate(found.alarms, start=1)
    ]


def _questioned(found: Reconciled, told: Collection[str]) -> list[Safe]:
    if not found.questioned:
        return []
    said = bullets(*(asked(question_words(one), told_name(one, "value"), told) for one in found.questioned))
    return [section("questioned", "Readings that are not believed", said)]


def _week(found: Reconciled, told: Collection[str]) -> list[Safe]:
    rows = tuple(
        (
            one.what[:1].upper() + one.what[1:],
            "" if one.on is None else short_date(one.on),
            "not known" if one.minutes is None else minutes_words(one.minutes),
            one.why,
            one.if_not,
        )
        for one in found.this_week
    )
    asks = tuple(("", "", told_name(one, "minutes"), "", "") for one in found.this_week)
    columns = ("what", "day", "minutes", "why", "if not")
    whole = Table(caption="To do", columns=columns, rows=rows, asks=asks)
    parts = [table(whole, stacked=True, told=told)] if rows else []
    if found.gates:
        parts.append(bullets(*(gate_words(gate) for gate in found.gates)))
    if found.next_readings:
        parts.append(element("h3", "Which reading next week would settle most per minute"))
        said = (asked(next_words(one), told_name(one, "settles_frac"), told) for one in found.next_readings)
        parts.append(bullets(*said))
    return parts or [element("p", "Nothing but food and a look.")]


def _moved(found: Reconciled, told: Collection[str]) -> list[Safe]:
    rows = tuple(
        (
            one.what,
            spread_words(one.before),
            spread_words(one.after),
            "" if one.unit == "-" else one.unit,
            f"{one.told_frac:.0%}".replace("%", " %"),
            _meaning(one),
        )
        for one in found.moved
    )
    columns = ("number", "before", "after", "unit", "told by the log", "meaning")
    asks = tuple(
        (
            "",
            told_name(one, "before", part="p50"),
            told_name(one, "after", part="p50"),
            "",
            told_name(one, "told_frac"),
            "",
        )
        for one in found.moved
    )
    numbers = Table(caption="Numbers that differ between tanks", columns=columns, rows=rows, asks=asks)
    parts = [table(numbers, stacked=True, told=told)]
    parts += [
        element("p", f"These readings cannot tell {pair.one} from {pair.other}.") for pair in found.tangled
    ]
    return parts


def _meaning(one: Moved) -> str:
    if not one.meaning:
        return "not told by these readings" if one.told_frac < number("told_least_frac") else "as thought"
    return f"{'' if one.told_frac >= number('told_least_frac') else 'a hint: '}{one.meaning}"


def _water(found: Reconciled, told: Collection[str]) -> list[Safe]:
    ahead = [one for one in found.water if one.share_fitted > 0]
    if not ahead:
        return []
    said = bullets(*(asked(bound_words(one), told_name(one, "share_fitted"), told) for one in ahead))
    return [section("bounds", f"Bounds that the water may leave until {short_date(found.until_on)}", said)]


def _left_out(found: Reconciled) -> list[Safe]:
    said = [f"{short_date(one.on)} {one.words}: {one.why}" for one in found.left_out]
    said += list(found.notices)
    return [section("left-out", "Not part of the run, and assumed", bullets(*said))] if said else []
