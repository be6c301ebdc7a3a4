"""A fleet as a page for a terminal: the most pressing tank first, then every carer's rounds."""

from __future__ import annotations

from backreef.planning.rounds import Job, Stop
from backreef.plots.words import plural, short_date
from backreef.reports.text_layout import Style, heading, paragraph, text_table
from backreef.usecases.fleet import CarerWeek, Fleet
from backreef.usecases.fleet_tank import DAYS_PER_WEEK, TankWeek

NO_WAY = "Ways between tanks are left out: a visit is a visit."


def fleet_page(found: Fleet, style: Style) -> str:
    """The whole page, ending with a line break."""
    last = found.day(DAYS_PER_WEEK - 1)
    title = f"{plural(len(found.tanks), 'tank')}, {short_date(found.week_from)} to {short_date(last)}"
    lines = [style.paint(line, "strong") for line in paragraph(title, style)]
    lines += paragraph(summary_words(found), style)
    lines += heading("Tanks, the most pressing first", style)
    lines += text_table(
        ("tank", "plan", "members that hold", "log"), [_row(one) for one in found.tanks], style
    )
    for one in found.tanks:
        lines += _tank_lines(one, style)
    if found.faulty:
        lines += heading("Plans that cannot be read", style)
    for fault in found.faulty:
        lines += paragraph(str(fault), style, first="  - ", rest="    ")
    if found.without_plan:
        names = ", ".join(found.without_plan)
        lines += ["", *paragraph(f"In the log, but without a plan here: {names}.", style)]
    for carer in found.carers:
        lines += _carer_lines(carer, found, style)
    lines += ["", *paragraph(f"{NO_WAY} {plural(found.members, 'member')} a tank, seed {found.seed}.", style)]
    return "\n".join(lines) + "\n"


def summary_words(found: Fleet) -> str:
    """How many plans hold, and what else is to be known at once."""
    holding = sum(bool(one.holds) for one in found.tanks)
    alarmed = sum(one.outlook is not None and bool(one.outlook.alarms) for one in found.tanks)
    ahead = sum(one.outlook is not None and not one.outlook.holds for one in found.tanks)
    parts = [f"{holding} of {len(found.tanks)} plans hold"]
    if alarmed:
        parts.append(f"something changed in {plural(alarmed, 'tank')}")
    if ahead:
        parts.append(f"in {plural(ahead, 'tank')} the water leaves a harm bound in the weeks ahead")
    if found.faulty:
        parts.append(f"{plural(len({fault.file for fault in found.faulty}), 'plan file')} cannot be read")
    return f"{'; '.join(parts)}."


def _row(one: TankWeek) -> tuple[str, ...]:
    plan = "holds" if one.holds else f"breaks {short_date(one.first_break)}" if one.first_break else "breaks"
    if one.outlook is None:
        log = "no readings"
    else:
        state = "holds" if one.outlook.holds else "breaks"
        log = f"{state} ahead; read {short_date(one.outlook.last_reading_on)}"
    return one.tank, plan, f"{one.share_holding:.0%}".replace("%", " %"), log


def _tank_lines(one: TankWeek, style: Style) -> list[str]:
    """What is to be said of a tank beside its row."""
    said: list[str] = []
    if one.outlook is not None:
        said += [f"changed: {alarm}" for alarm in one.outlook.alarms]
        said += [f"ahead: {bound}" for bound in one.outlook.water]
        said += [f"{todo.what}: {todo.why}" for todo in one.outlook.to_do if todo.kind != "reading"]
        said += [f"may come: {gate}" for gate in one.outlook.gates]
    said += [f"nobody is there for: {missed}" for missed in one.missed]
    if not one.holds and one.cause:
        said.append(f"the plan breaks: {one.cause}")
    said += list(one.notices)
    if not said:
        return []
    lines = ["", *(style.paint(line, "strong") for line in paragraph(one.tank, style, first="  ", rest="  "))]
    for words in said:
        lines += paragraph(words, style, first="  - ", rest="    ")
    return lines


def _carer_lines(carer: CarerWeek, found: Fleet, style: Style) -> list[str]:
    rounds = carer.rounds
    total = sum(rounds.minutes_by_day.values())
    proof = "" if rounds.proven else "; fewer visits may be possible, the search was cut off"
    lines = heading(
        f"{carer.carer}: {plural(len(rounds.stops), 'visit')}, {total:.0f} min in all{proof}", style
    )
    for day, minutes in sorted(rounds.minutes_by_day.items()):
        words = f"{found.day(day):%A} {short_date(found.day(day))}, {minutes:.0f} min"
        lines += paragraph(words, style, first="  ", rest="  ")
        for stop in (one for one in rounds.stops if one.day == day):
            lines += paragraph(stop_words(stop), style, first="    - ", rest="      ")
    return lines


def stop_words(stop: Stop) -> str:
    """A visit in words; looks are put together."""
    work = [
        _counted(what, stop.jobs) for what in dict.fromkeys(job.what for job in stop.jobs if not job.look)
    ]
    looks = sum(job.look for job in stop.jobs)
    if looks:
        work.append(plural(looks, "look"))
    return f"{stop.tank}, {stop.minutes:.0f} min: {'; '.join(work)}"


def _counted(what: str, jobs: tuple[Job, ...]) -> str:
    times = sum(job.what == what for job in jobs)
    return what if times == 1 else f"{what} ({times} times)"
