"""Plans, keepers and rhythms as hypothesis draws them, for what must hold for every schedule."""

from __future__ import annotations

from datetime import date, timedelta

from hypothesis import strategies as st

from backreef.aquarium.plan import ClosedRule, Helper, Keeper, Meal, Plan, PresenceWindow, Rhythm
from backreef.schedule.build import Schedule, build_schedule
from tests.unit.schedule.world import (
    a_catalogue,
    a_keeper,
    a_meal,
    a_plan,
    an_animal,
    an_upkeep,
    with_device,
)

CATALOGUE = a_catalogue()


STATED = ("wc_do", "sand_clean", "test_quick", "test_full", "glass_inner", "glass_outer", "rock_blow")


starts = st.dates(min_value=date(2023, 12, 1), max_value=date(2032, 3, 5))


hours = st.integers(min_value=0, max_value=47).map(lambda half: half / 2)


@st.composite
def window_sets(draw: st.DrawFn) -> tuple[PresenceWindow, ...]:
    weekdays = draw(st.sets(st.integers(0, 6), max_size=7))
    start = draw(st.sampled_from([0.0, 7.5, 9.0, 17.0]))
    length = draw(st.sampled_from([1.0, 4.0, 7.0]))
    return tuple(
        PresenceWindow(weekday=day, from_hour=start, to_hour=start + length) for day in sorted(weekdays)
    )


@st.composite
def closures(draw: st.DrawFn) -> ClosedRule:
    kind = draw(st.sampled_from(["dates", "yearly", "weekday", "public_holidays"]))
    if kind == "dates":
        first = draw(starts)
        return ClosedRule(
            kind="dates", label="", first_on=first, last_on=first + timedelta(days=draw(st.integers(0, 40)))
        )
    if kind == "yearly":
        first, last = (
            draw(st.dates(date(2028, 1, 1), date(2028, 12, 31))),
            draw(st.dates(date(2028, 1, 1), date(2028, 12, 31))),
        )
        return ClosedRule(
            kind="yearly",
            label="away",
            first_month=first.month,
            first_day=first.day,
            last_month=last.month,
            last_day=last.day,
        )
    if kind == "weekday":
        return ClosedRule(kind="weekday", label="", weekday=draw(st.integers(0, 6)))
    return ClosedRule(kind="public_holidays", label="", country=draw(st.sampled_from(["GB", "DE", "US"])))


@st.composite
def rhythms(draw: st.DrawFn) -> Rhythm:
    kind = draw(st.sampled_from(["interval", "weekly", "monthly"]))
    weekdays = tuple(sorted(draw(st.sets(st.integers(0, 6), min_size=1, max_size=3))))
    if kind == "interval":
        return Rhythm(kind="interval", text="", every_days=draw(st.floats(1, 90)))
    if kind == "weekly":
        return Rhythm(kind="weekly", text="", weekdays=weekdays, every_weeks=draw(st.integers(1, 8)))
    return Rhythm(
        kind="monthly",
        text="",
        weekdays=weekdays,
        nth=draw(st.sampled_from([-2, -1, 1, 2, 3, 4, 5])),
        every_months=draw(st.integers(1, 6)),
    )


@st.composite
def helpers(draw: st.DrawFn) -> Helper:
    comes = draw(st.none() | st.integers(0, 22))
    return Helper(
        name=draw(st.sampled_from(["caretaker", "neighbour"])),
        tasks=tuple(sorted(draw(st.sets(st.sampled_from([*STATED, "feed_dry_hand", "ato_refill"]))))),
        weekdays=tuple(sorted(draw(st.sets(st.integers(0, 6))))),
        when_closed=draw(st.booleans()),
        minutes_per_visit=draw(st.sampled_from([None, 10.0, 40.0])),
        at_hour=comes,
        until_hour=None if comes is None else draw(st.none() | st.integers(comes + 1, 24)),
    )


@st.composite
def keepers(draw: st.DrawFn) -> Keeper:
    stops = draw(st.dictionaries(st.sampled_from(STATED), st.floats(0, 14), max_size=2))
    return a_keeper(
        minutes_per_month=draw(st.floats(0, 600)),
        presence=draw(window_sets()),
        closed=tuple(draw(st.lists(closures(), max_size=3))),
        helpers=tuple(draw(st.lists(helpers(), max_size=2, unique_by=lambda helper: helper.name))),
        refuses=tuple(sorted(draw(st.sets(st.sampled_from(STATED), max_size=2)))),
        stops_after=stops,
    )


@st.composite
def meals(draw: st.DrawFn) -> tuple[Meal, ...]:
    by_hand = a_meal(
        food=draw(st.sampled_from(["pellet", "mysid"])),
        times=tuple(sorted(draw(st.sets(hours, min_size=1, max_size=3)))),
        weekdays=tuple(sorted(draw(st.sets(st.integers(0, 6))))),
    )
    by_feeder = a_meal(
        "fed",
        by="feeder",
        grams_as_fed=draw(st.floats(0.01, 2.0)),
        times=tuple(sorted(draw(st.sets(hours, min_size=1, max_size=4)))),
        only_when_present=draw(st.booleans()),
    )
    return draw(st.sampled_from([(), (by_hand,), (by_feeder,), (by_hand, by_feeder)]))


@st.composite
def plans(draw: st.DrawFn) -> Plan:
    start_on = draw(starts)
    days = draw(st.integers(1, 420))
    tasks = sorted(draw(st.sets(st.sampled_from(STATED), max_size=4)))
    arrival = start_on + timedelta(days=draw(st.integers(-20, 400)))
    plan = a_plan(
        start_on=start_on,
        horizon_days=days,
        keeper=draw(keepers()),
        meals=draw(meals()),
        upkeep=tuple(an_upkeep(task, draw(rhythms())) for task in tasks),
        devices=(),
        animals=(an_animal("goby", arrival),),
    )
    kinds = [("ato", "ato"), ("socks", "sock"), ("skimmer", "skimmer_sump"), ("hospital", "quarantine_tank")]
    for device_id, kind in draw(st.lists(st.sampled_from(kinds), unique=True)):
        plan = with_device(plan, device_id, kind)
    return with_device(plan, "feeder", "feeder_drum_mains", numbers={"hopper_g": draw(st.floats(5, 60))})


def schedule_of(plan: Plan) -> Schedule:
    return build_schedule(plan, CATALOGUE)
