"""A reconciliation as a page for a terminal: what came, what was planned, what moved, what is in doubt."""

from __future__ import annotations

from backreef.calibration.outcome import (
    Alarm,
    Gate,
    Moved,
    NextReading,
    Outlook,
    Questioned,
    Reconciled,
    Spread,
    Suspected,
    ToDo,
    WaterAhead,
)
from backreef.calibration.tables import number
from backreef.plots.words import minutes_words, plural, reading, short_date
from backreef.reports.text_layout import Style, heading, paragraph, text_table

MOST_SHOWN, FEW = 8, 3
WORTH_SAYING_FRAC = 0.05
"""Bounds that fewer members leave are not listed on the page."""
HONESTY = "The bands hold 90 in 100 of the members; what the model leaves out, they leave out too."


def reconcile_page(found: Reconciled, style: Style) -> str:
    """The whole page, ending with a line break."""
    used = sum(one.used for one in found.readings)
    title = f"{found.plan_name}: the plan and its log, to {short_date(found.last_on)}"
    lines = [style.paint(line, "strong") for line in paragraph(title, style)]
    role = "sea" if found.holds else "break"
    lines += [style.paint(line, role) for line in paragraph(verdict_words(found), style)]
    told = f"{plural(used, 'reading')} from {short_date(found.first_reading_on)} on were used"
    if found.entered:
        told += f", and {plural(len(found.entered), 'thing')} done otherwise than planned"
    lines += paragraph(f"{told}.", style)
    if found.questioned:
        lines += heading("Readings that are not believed", style)
        for doubt in found.questioned:
            lines += paragraph(question_words(doubt), style, first="  - ", rest="    ")
    for alarm in found.alarms:
        lines += _alarm_lines(alarm, style)
    lines += heading("Last reading, and the outlook", style)
    lines += text_table(
        ("", "came", "fitted then", f"planned {_ahead(found)}", f"fitted {_ahead(found)}"),
        [_outlook_row(one, found) for one in found.outlooks],
        style,
    )
    lines += heading("What this tank does otherwise", style)
    lines += _moved_lines(found, style)
    lines += _ahead_lines(found, style)
    if found.next_readings:
        lines += heading("Which reading next week would settle most per minute", style)
        for one in found.next_readings[:FEW]:
            lines += paragraph(next_words(one), style, first="  - ", rest="    ")
    lines += _week_lines(found, style)
    lines += _left_out_lines(found, style)
    for notice in found.notices:
        lines += ["", *paragraph(notice, style)]
    lines.append("")
    lines += paragraph(origin_words(found), style)
    lines += paragraph(f"{plural(found.members, 'member')}, seed {found.seed}. {HONESTY}", style)
    return "\n".join(lines) + "\n"


def origin_words(found: Reconciled) -> str:
    """How the fit came to be."""
    origin, on = found.origin, short_date(found.origin.fitted_on)
    if origin.how == "fresh":
        words = f"The tank was fitted afresh to all readings up to {on}."
        if origin.why_fresh:
            words += f" The fit before was not gone on from: {origin.why_fresh}."
    else:
        more = plural(origin.since_count, "reading") if origin.since_count else "no reading"
        words = f"The fit went on from that of {on}, with {more} since."
    if origin.kept:
        words += " Nothing has changed since, so the answer is the one that was kept."
    return words


def verdict_words(found: Reconciled) -> str:
    """Whether the water holds in the weeks ahead, as fitted."""
    worst, until = worst_of(found), short_date(found.until_on)
    if worst is None:
        return f"As fitted to the log, the water stays within its harm bounds until {until}."
    return f"As fitted to the log, this breaks: {water_words(worst)}."


def worst_of(found: Reconciled) -> WaterAhead | None:
    """The harm bound for which it breaks, if it does."""
    harmful = [one for one in found.water if one.harm and one.share_fitted > 0]
    return None if found.holds else harmful[0]


def water_words(one: WaterAhead) -> str:
    """A bound that is left ahead, in words."""
    side = "below" if one.low_side else "above"
    when = "" if one.first_on is None else f", around {short_date(one.first_on)}"
    return (
        f"{one.label} {side} {reading(one.bound)} {one.unit} in {one.share_fitted:.0%} of the members{when} "
        f"(as planned: {one.share_planned:.0%})"
    ).replace("%", " %")


def bound_words(one: WaterAhead) -> str:
    """The same with what kind of bound it is."""
    return f"{water_words(one)}; {'harm' if one.harm else 'act'} bound"


def _ahead(found: Reconciled) -> str:
    return short_date(found.until_on)


def spread_words(spread: Spread) -> str:
    """A middle with its ends."""
    return f"{reading(spread.p50)} ({reading(spread.p05)} to {reading(spread.p95)})"


def _outlook_row(one: Outlook, found: Reconciled) -> tuple[str, ...]:
    mine = [each for each in found.readings if each.series == one.series]
    last = next((each for each in reversed(mine) if each.used), mine[-1])
    sign = "" if last.sign == "=" else f"{last.sign} "
    day = min(int(last.at_d), found.days - 1)
    then = Spread(
        p05=float(one.fitted.p05[day]), p50=float(one.fitted.p50[day]), p95=float(one.fitted.p95[day])
    )
    return (
        f"{one.label}, {one.unit}" if one.unit else one.label,
        f"{sign}{reading(last.value)}",
        spread_words(then),
        spread_words(one.ahead_planned),
        spread_words(one.ahead_fitted),
    )


def question_words(one: Questioned) -> str:
    """Why a reading is not believed, and what it would be if it had slipped."""
    unit = f" {one.unit}" if one.unit else ""
    words = (
        f"{short_date(one.on)}, entry {one.entry_id[:8]}, '{one.written}': {reading(one.value)}{unit}, where "
        f"the others say {reading(one.others_say.p05)} to {reading(one.others_say.p95)}. It was set aside"
    )
    if one.would_be is not None:
        slip = f"it were {one.slip}" if one.slip.startswith("a ") else one.slip
        return f"{words}. It would be {reading(one.would_be)}{unit} if {slip}; 'log correct' mends it."
    return (
        f"{words}; no slip of a digit or a unit explains it. If it was right, the next reading will say so."
    )


def _moved_lines(found: Reconciled, style: Style) -> list[str]:
    lines: list[str] = []
    least = number("told_least_frac")
    moved = [one for one in found.moved if one.meaning and one.told_frac >= least]
    for one in moved:
        lines += paragraph(moved_words(one), style, first="  - ", rest="    ")
    if not moved:
        lines += paragraph("Nothing that the readings tell: the plan's own numbers stand.", style, first="  ")
    hints = [one.meaning for one in found.moved if one.meaning and one.told_frac < least]
    if hints:
        words = f"Only hinted at, against what was thought: {'; '.join(hints)}."
        lines += paragraph(words, style, first="  ", rest="  ")
    unknown = [one.what for one in found.moved if not one.meaning and one.told_frac < least]
    if unknown:
        words = f"These readings do not tell: {', '.join(unknown)}."
        lines += paragraph(words, style, first="  ", rest="  ")
    for pair in found.tangled[:MOST_SHOWN]:
        words = f"They cannot tell {pair.one} from {pair.other}."
        lines += paragraph(words, style, first="  ", rest="  ")
    return lines


def moved_words(one: Moved) -> str:
    """What a number that moved means, with its range before and after."""
    unit = "" if one.unit == "-" else f" {one.unit}"
    sentence = one.meaning[:1].upper() + one.meaning[1:]
    return (
        f"{sentence} than was thought ({one.what} {spread_words(one.after)}{unit}, before "
        f"{spread_words(one.before)})."
    )


def _alarm_lines(alarm: Alarm, style: Style) -> list[str]:
    lines = heading(alarm_words(alarm), style)
    for one in alarm.suspects:
        lines += paragraph(suspect_words(one), style, first="  - ", rest="    ")
    return lines


def alarm_words(alarm: Alarm) -> str:
    """What changed, and since when."""
    way = "up" if alarm.upward else "down"
    how = f"a step {way}" if alarm.kind == "step" else f"a slow drift {way}"
    return f"Something changed: {how} in {alarm.label}, about {short_date(alarm.since_on)}"


def suspect_words(one: Suspected) -> str:
    """A cause with how likely it is, and what would tell."""
    share = f"{one.share_frac:.0%}".replace("%", " %")
    told = f"{share}: {one.what}, from about {short_date(one.since_on)}"
    return f"{told}. To tell: {one.check} ({minutes_words(one.minutes)} min)."


def next_words(one: NextReading) -> str:
    """A reading with what it settles and what it takes."""
    share = f"{one.settles_frac:.0%}".replace("%", " %")
    words = f"{one.label}, {one.kit.replace('_', ' ')}: {minutes_words(one.minutes)} min"
    words += f" take away {share} of the doubt about the outlook"
    if one.own:
        return f"{words}, most of it about {one.most_about}."
    return f"{words} (you have not used such a kit yet)."


def _ahead_lines(found: Reconciled, style: Style) -> list[str]:
    troubles = [one for one in found.water if max(one.share_fitted, one.share_planned) >= WORTH_SAYING_FRAC]
    if not troubles:
        return []
    lines = heading(f"Bounds that the water may leave until {_ahead(found)}", style)
    for one in troubles[:MOST_SHOWN]:
        lines += paragraph(bound_words(one), style, first="  - ", rest="    ")
    return lines


def _week_lines(found: Reconciled, style: Style) -> list[str]:
    lines = heading(f"This week, from {short_date(found.week_from)}", style)
    for one in found.this_week:
        lines += paragraph(to_do_words(one), style, first="  - ", rest="    ")
    if not found.this_week:
        lines += paragraph("Nothing but food and a look.", style, first="  ")
    for gate in found.gates:
        lines += paragraph(gate_words(gate), style, first="  - ", rest="    ")
    return lines


def to_do_words(one: ToDo) -> str:
    """A thing to do with its reason, its minutes and what happens if it is left."""
    minutes = "" if one.minutes is None else f", {minutes_words(one.minutes)} min"
    on = "" if one.on is None else f" on {short_date(one.on)}"
    left = f" If not: {one.if_not}." if one.if_not else ""
    end = "" if one.why.endswith("?") else "."
    return f"{one.what[:1].upper()}{one.what[1:]}{on}{minutes}: {one.why}{end}{left}"


def gate_words(gate: Gate) -> str:
    """Whether some animals may come, and what says so."""
    who = f"{gate.count} {gate.who} (planned for {short_date(gate.planned_on)})"
    if gate.state == "open":
        return f"The gate is open for {who}: {gate.why}."
    if gate.state == "closed":
        return f"The gate is closed for {who}: {gate.why}."
    return f"Not known yet whether {who} may come: {gate.why}."


def _left_out_lines(found: Reconciled, style: Style) -> list[str]:
    if not found.left_out:
        return []
    lines = heading("Not part of the run", style)
    by_why: dict[str, list[str]] = {}
    for one in found.left_out:
        by_why.setdefault(one.why, []).append(f"{short_date(one.on)} {one.words}")
    for why, things in by_why.items():
        shown = "; ".join(things[:FEW]) + (f"; and {len(things) - FEW} more" if len(things) > FEW else "")
        lines += paragraph(f"{shown}: {why}", style, first="  - ", rest="    ")
    return lines
