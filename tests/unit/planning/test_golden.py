"""Each rule's rows on one small problem, as a file that people can read: a rule that changes shows itself.

`BACKREEF_RECORD_GOLDEN=1` writes the file anew; read the difference before you keep it.
"""

from __future__ import annotations

import math
import os
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

from backreef.planning import arrivals, stock
from backreef.planning.arrivals import Timing
from backreef.planning.candidates import Quarrel
from backreef.planning.choices import a_device
from backreef.planning.facts import PINNED, Facts
from backreef.planning.programme import Row
from tests.planning_world import (
    a_candidate,
    a_choice,
    a_response,
    a_short_plan,
    a_wish,
    measured_base,
    some_facts,
)
from tests.unit.planning.test_arrivals import from_months, some_timing

GOLDEN = Path(__file__).with_name("golden_rows.txt")


def the_facts() -> Facts:
    """Two gobies that quarrel, a snail, two ways to feed and two to change water, and somebody's question."""
    names = ("goby", "rival", "snail", "asked")
    return some_facts(
        candidates=tuple(a_candidate(name, least=1 + (name == "goby"), most=3) for name in names),
        quarrels=(Quarrel(first="goby", second="rival", what="they fight", rule="fights"),),
        wishes=(a_wish("a pair", "goby", "rival", weight=2.0, least=2), a_wish("a snail", "snail")),
        feedings=(a_choice("as_planned", "feeding"), a_choice("feeder", "feeding")),
        choices=tuple(replace(a_choice(name), group="water change") for name in ("by_hand", "by_pump")),
        responses={
            "goby": a_response(nitrate=1.0, minutes=2.0, eaten=0.1),
            "rival": a_response(nitrate=2.0, minutes=3.0, eaten=0.2),
            "snail": a_response(nitrate=-0.5, minutes=1.0),
            "asked": a_response(nitrate=0.25, minutes=2.0, eaten=0.05),
            "feeder": a_response(minutes=-6.0),
            "by_hand": a_response(nitrate=-8.0, minutes=10.0),
            "by_pump": a_response(nitrate=-4.0, minutes=5.0),
        },
        base=measured_base(nitrate=30.0, minutes=30.0),
        asked_only=frozenset({"asked"}),
        unfit=frozenset({("feeder", "rival")}),
        money=100.0,
        prices={"goby": 18.0, "rival": 30.0, "snail": 4.0, "asked": 25.0, "by_pump": 60.0, PINNED: 12.0},
    )


def the_timing() -> Timing:
    """A bold fish and a shy one, a snail, a quarantine tank and a pair of months that was refused."""
    shy = a_candidate("shy", add_stage="early", aggression="none", min_tank_age_months=from_months(14.0))
    bold = a_candidate("bold", add_stage="last", aggression="high")
    plan = a_short_plan()
    box = a_device("apart", "quarantine_tank", {})
    timing = some_timing(
        shy,
        bold,
        a_candidate("snail", kind="snail"),
        plan=replace(plan, devices=(*plan.devices, box)),
        one_a_day=True,
        banned=(frozenset({("shy", 1), ("bold", 2)}),),
    )
    months = tuple(replace(month, fish=month.number != 1) for month in timing.months[:3])
    return replace(timing, months=months, month_min=timing.month_min[:3])


def written(rows: Iterator[Row]) -> Iterator[str]:
    for row in rows:
        low = "" if math.isinf(row.low) else f"{row.low:.6g} <= "
        high = "" if math.isinf(row.high) else f" <= {row.high:.6g}"
        terms = " ".join(f"{value:+.6g} {name}" for name, value in row.terms.items()) or "0"
        yield f"  {row.name}: {low}{terms}{high}"


def all_rules() -> str:
    lines: list[str] = []
    facts, timing = the_facts(), the_timing()
    for rule in stock.RULES:
        lines += [f"stage 1, {rule.__name__}: {rule.__doc__}", *written(rule(facts))]
    for each in arrivals.RULES:
        lines += [f"stage 2, {each.__name__}: {each.__doc__}", *written(each(timing))]
    return "\n".join(lines) + "\n"


def test_every_rule_gives_the_rows_that_stand_in_the_file() -> None:
    if os.environ.get("BACKREEF_RECORD_GOLDEN"):
        GOLDEN.write_text(all_rules(), encoding="utf-8")
    assert all_rules() == GOLDEN.read_text(encoding="utf-8")


def test_every_rule_has_a_row_in_the_file() -> None:
    facts, timing = the_facts(), the_timing()
    silent = [rule.__name__ for rule in stock.RULES if not list(rule(facts))]
    silent += [rule.__name__ for rule in arrivals.RULES if not list(rule(timing))]
    assert silent == []
