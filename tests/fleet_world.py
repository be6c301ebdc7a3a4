"""A small firm for tests: tanks whose plans are short, two carers, and a log."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from backreef.logbook.entries import Entry
from backreef.usecases.fleet_tank import Asked, TankOrder
from tests.unit.aquarium.plans import plan_of

WEEK = date(2026, 2, 2)
"""A Monday."""
TANK = """\
start_on = 2026-01-05
[tank]
name = "{name}"
display = "{litres} L"
rock = "15 kg"
start = {{ kind = "seeded", age = "8 weeks", nitrate = "8 mg/L NO3", phosphate = "0.08 mg/L PO4" }}
[[animals]]
id = "pair"
species = "ocellaris_clown"
count = 2
length = "4 cm"
[[meals]]
id = "pellets"
food = "pellet_small"
amount = "0.15 g"
by = "feeder"
times = ["12:00", "17:00"]
[keeper]
name = "{carer}"
presence = ["{presence}"]
minutes_per_month = "400 min"
[[devices]]
id = "feeder"
kind = "feeder_auger"
[[upkeep]]
task = "wc_do"
share = "10 %"
every = "14 days"
[goals]
horizon = "8 weeks"
"""


def tank_text(
    name: str, *, litres: int = 200, carer: str = "Ana", presence: str = "Mon-Fri 8:00-20:00"
) -> str:
    """The plan of a tank of the firm."""
    return TANK.format(name=name, litres=litres, carer=carer, presence=presence)


def a_firm(folder: Path) -> Path:
    """A folder with five plans, of which one has faults and one has nobody there for its work."""
    for name, text in {
        "hall": tank_text("Hall", litres=300),
        "desk": tank_text("Desk", litres=120),
        "waiting": tank_text("Waiting room", carer="Ben", presence="Tue 9:00-12:00"),
        "twin": tank_text("Twin", carer="Ben"),
        "faulty": tank_text("Faulty").replace("15 kg", "15 gal"),
    }.items():
        (folder / f"{name}.toml").write_text(text, encoding="utf-8")
    return folder


def orders(count: int, *, members: int = 8, log: tuple[Entry, ...] = ()) -> list[TankOrder]:
    """So many tanks of different sizes, to be looked at; the first with a log where there is one."""
    return [
        TankOrder(
            plan=plan_of(tank_text(f"tank {number}", litres=120 + 40 * number)),
            own_entries=(),
            log=() if number else log,
            asked=Asked(week_from=WEEK, members=members, seed=3, weeks_ahead=2),
        )
        for number in range(count)
    ]
