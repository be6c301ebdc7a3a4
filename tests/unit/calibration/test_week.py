from __future__ import annotations

from dataclasses import replace
from datetime import date

from backreef.calibration.deeds import deeds_of
from backreef.calibration.evidence import taken_of
from backreef.calibration.fit import lived_of
from backreef.calibration.outcome import Alarm, NextReading, Questioned, Spread, Suspected
from backreef.calibration.week import Known, gates_of, this_week
from backreef.logbook.entries import Entry, Sighting
from tests.reconcile_world import SMALL, entry, reading
from tests.unit.aquarium.plans import catalogue, plan_of

KNOWN = 40
NITRATE = "nitrate_mg_n_per_l"
GATED = """\
[[animals]]
id = "grazers"
species = "cerith"
count = 2
arrives_on = 2026-03-02
gate = "nitrate < 20 mg/L NO3 and film algae visible"
[[upkeep]]
id = "extra_change"
task = "wc_do"
share = "20 %"
every = "5 days"
when = "nitrate > 30 mg/L NO3"
"""


def known(*entries: Entry) -> Known:
    plan = plan_of(SMALL + GATED)
    deeds = deeds_of(entries, plan, catalogue(), last_day=KNOWN - 1)
    lived = lived_of(deeds, catalogue(), known_days=KNOWN, days=KNOWN + 14)
    taken, _ = taken_of(entries, plan.start_on)
    return Known(
        plan=deeds.plan,
        catalogue=catalogue(),
        schedule=lived.prepared.keeper,
        entries=entries,
        taken=taken,
        first_day=KNOWN,
    )


def seen(day: float, *, there: bool = True) -> Entry:
    return entry(f"s{day}", day, Sighting(thing="film_algae", seen=there, written=""))


def low(day: float = 38.0) -> Entry:
    return entry("n", day, reading(NITRATE, 2.0))


def high(day: float = 38.0) -> Entry:
    return entry("n", day, reading(NITRATE, 9.0))


def state(*entries: Entry) -> tuple[str, str]:
    (gate,) = gates_of(known(*entries))
    return gate.state, gate.why


def test_a_gate_opens_when_film_was_seen_twice_and_the_water_is_right() -> None:
    assert state(seen(20.0), seen(30.0), low())[0] == "open"


def test_a_gate_waits_for_a_second_look_and_for_a_reading() -> None:
    assert state(seen(30.0), low())[0] == "not known"
    assert "once more" in state(seen(30.0), low())[1]
    assert state(seen(20.0), seen(30.0))[0] == "not known"
    assert state(seen(20.0), seen(30.0), low(10.0))[0] == "not known"
    assert state(seen(2.0), seen(30.0), low())[0] == "not known"


def test_a_gate_is_closed_by_the_last_look_and_by_a_reading() -> None:
    assert state(seen(20.0), seen(30.0, there=False), low())[0] == "closed"
    assert state(seen(20.0), seen(30.0), high())[0] == "closed"


def test_work_of_the_week_has_reason_minutes_and_what_happens_if_not() -> None:
    todo = this_week(known(low()), alarms=(), questioned=(), readings=())
    assert todo
    for one in todo:
        assert one.kind == "chore"
        assert one.why
        assert one.minutes is not None
        assert one.minutes > 0
        assert one.if_not
        assert date(2026, 2, 14) <= (one.on or date.min) < date(2026, 2, 21)


def asked_for(*entries: Entry) -> list[str]:
    todo = this_week(known(*entries), alarms=(), questioned=(), readings=())
    return [one.what for one in todo if "nitrate > 30" in one.why]


def test_work_on_condition_is_listed_only_if_the_last_reading_asks_for_it() -> None:
    assert asked_for(high())
    assert not asked_for(low())


def test_checks_stand_first_and_the_best_reading_last() -> None:
    suspect = Suspected(
        id="double_food",
        what="twice the food",
        check="weigh",
        minutes=5,
        since_on=date(2026, 2, 1),
        share_frac=0.8,
    )
    alarm = Alarm(
        series="nitrate_mg_no3_per_l",
        label="nitrate",
        kind="drift",
        upward=True,
        since_on=date(2026, 2, 1),
        ratio=20.0,
        suspects=(suspect, replace(suspect, id="other", check="not worth it", share_frac=0.05)),
    )
    doubt = Questioned(
        entry_id="x",
        on=date(2026, 2, 10),
        words="nitrate: 100",
        written="100",
        series="nitrate_mg_no3_per_l",
        value=100.0,
        unit="mg/L NO3",
        others_say=Spread(p05=8.0, p50=10.0, p95=12.0),
        would_be=10.0,
        slip="a decimal point too far to the right",
    )
    best = NextReading(
        series="phosphate_mg_po4_per_l",
        label="phosphate",
        kit="photometer",
        own=True,
        minutes=4.0,
        settles_frac=0.2,
        per_minute_frac=0.05,
        most_about="phosphate",
    )
    todo = this_week(known(low()), alarms=[alarm], questioned=[doubt], readings=[best])
    assert [one.kind for one in todo[:2]] == ["check", "again"]
    assert todo[-1].kind == "reading"
    assert "not worth it" not in [one.what for one in todo]
    old = this_week(known(low()), alarms=(), questioned=[replace(doubt, on=date(2026, 1, 7))], readings=())
    assert "again" not in [one.kind for one in old]
