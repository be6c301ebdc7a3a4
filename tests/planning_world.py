"""Small problems for tests of the planner: a few animals with made-up responses, and a tank to read."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from itertools import product
from typing import Any

import numpy as np

from backreef.aquarium.load import load_plan_text
from backreef.aquarium.plan import Plan
from backreef.catalogue.entries import Catalogue
from backreef.catalogue.load import load_catalogue
from backreef.planning.candidates import Candidate, Quarrel
from backreef.planning.choices import Choice
from backreef.planning.facts import ANYBODY, Facts, heads, met, serves, some, steps, taken
from backreef.planning.programme import Programme
from backreef.planning.responses import Limit, Measured, Response
from backreef.planning.wishes import ReadWish

SHORT_PLAN = """\
start_on = 2027-01-04

[tank]
name = "Test tank"
display = "100 x 50 x 50 cm"
sump = "50 L"
rock = "30 kg"
lid = "glass"
corals = "none"

[tank.start]
kind = "established"
age = "12 months"

[keeper]
minutes_per_month = "{minutes} min"
presence = ["{days} 8:00-18:00"]
wishes = [
  {{ text = "a little goby", weight = 2, species = ["neon_goby"] }},
  {{ text = "something that grazes", weight = 1 }},
]

[[animals]]
id = "gramma"
species = "royal_gramma"
count = 1

[[meals]]
id = "pellets"
food = "pellet_small"
amount = "0.3 g"
by = "feeder"
times = ["10:00", "17:00"]

[[devices]]
id = "feeder"
kind = "feeder_auger"
hopper = "100 g"

[[upkeep]]
task = "wc_do"
every = "4 weeks on Saturday"
share = "12 %"

[goals]
horizon = "6 months"
"""
NITRATE = Limit(
    series="nitrate_mg_no3_per_l", label="nitrate", unit="mg/L NO3", upper=True, bound=50.0, act=25.0, days=60
)


@cache
def the_catalogue() -> Catalogue:
    return load_catalogue()


def a_short_plan(*, minutes: int = 300, days: str = "Mon-Sun", **changes: Any) -> Plan:
    """A tank of 250 litres with a gramma, for half a year."""
    plan = load_plan_text(SHORT_PLAN.format(minutes=minutes, days=days), "plan.toml", the_catalogue())
    return replace(plan, **changes)


def a_candidate(
    species_id: str = "neon_goby", *, least: int = 1, most: int = 4, kind: str = "fish", **changes: Any
) -> Candidate:
    species = replace(the_catalogue().species["neon_goby"], id=species_id, kind=kind, **changes)
    return Candidate(species=species, least_count=least, most_count=most, cautions=())


def a_wish(wish_id: str, *species: str, weight: float = 1.0, least: int = 1) -> ReadWish:
    return ReadWish(
        id=wish_id, text=wish_id, weight=weight, species=frozenset(species), least_count=least, named=True
    )


def a_response(*, nitrate: float = 0.0, minutes: float = 0.0, eaten: float = 0.0) -> Response:
    return Response(
        water={NITRATE.name: nitrate},
        minutes_per_month=minutes,
        quarter_min_per_month=0.0,
        arrival_min=minutes * 24.0,
        eaten_g_per_d=eaten,
    )


def measured_base(*, nitrate: float = 10.0, minutes: float = 30.0, eaten: float = 0.1) -> Measured:
    return Measured(
        water={NITRATE.name: np.full(8, nitrate)},
        minutes_per_month=minutes,
        quarter_min_per_month=minutes,
        arrival_min=0.0,
        offered_g_per_d=1.0,
        eaten_g_per_d={},
        eaten_by_all_g_per_d=eaten,
        slowest_per_day=np.full(730, minutes / 30.4),
    )


def a_choice(choice_id: str, kind: Any = "export") -> Choice:
    return Choice(id=choice_id, kind=kind, words=choice_id, change=lambda plan: plan)


def some_facts(**changes: Any) -> Facts:
    """One goby that eats 0.1 g and takes 2 minutes; 10 of 50 mg/L nitrate; food in steps of 0.05 g."""
    facts = Facts(
        candidates=(a_candidate(),),
        quarrels=(),
        wishes=(a_wish("goby", "neon_goby"),),
        feedings=(a_choice("as_planned", "feeding"),),
        choices=(),
        limits=(NITRATE,),
        base=measured_base(),
        responses={"neon_goby": a_response(nitrate=1.0, minutes=2.0, eaten=0.1)},
        food_response=a_response(nitrate=10.0),
        eaten_frac=1.0,
        least_steps=1,
        most_steps=40,
        budget_min_per_month=60.0,
        further_frac=0.3,
    )
    return replace(facts, **changes)


def several(count: int, *, seed: int = 1, budget: float = 60.0) -> Facts:
    """Facts with so many made-up animals, of which some quarrel, and a wish for every second pair."""
    draw = np.random.default_rng(seed)
    names = [f"kind{number}" for number in range(count)]
    candidates = tuple(
        a_candidate(name, least=int(draw.integers(1, 3)), most=int(draw.integers(3, 5))) for name in names
    )
    quarrels = tuple(
        Quarrel(first=names[one], second=names[other], what="fight", rule="fights")
        for one in range(count)
        for other in range(one + 1, count)
        if draw.random() < 0.25
    )
    wishes = tuple(
        a_wish(
            f"wish{number}",
            *draw.choice(names, size=min(2, count), replace=False),
            weight=float(draw.integers(1, 5)),
            least=int(draw.integers(1, 4)),
        )
        for number in range(max(1, count // 2 + 1))
    )
    responses = {
        name: a_response(
            nitrate=float(draw.uniform(0.0, 8.0)),
            minutes=float(draw.uniform(0.5, 4.0)),
            eaten=float(draw.uniform(0.01, 0.2)),
        )
        for name in names
    }
    return some_facts(
        candidates=candidates,
        quarrels=quarrels,
        wishes=wishes,
        responses=responses,
        base=measured_base(nitrate=20.0, minutes=50.0),
        budget_min_per_month=budget,
        most_steps=12,
    )


def best_by_trying_all(facts: Facts, programme: Programme) -> float:
    """The best value of the aim over every stock of these facts that breaks no row; -inf if there is none.

    Numbers of heads and steps of the ration are all tried; what follows from them (who comes, which wish is
    met) is worked out. There is one way of feeding and no choice.
    """
    ranges = [range(one.most_count + 1) for one in facts.candidates]
    (feeding,) = facts.feedings
    place = {one.name: number for number, one in enumerate(programme.variables)}
    stocks = np.array(list(product(*ranges, range(facts.least_steps, facts.most_steps + 1))), dtype=float)
    chosen = np.zeros((len(stocks), len(place)))
    chosen[:, place[taken(feeding.id)]] = 1.0
    chosen[:, place[steps(feeding.id)]] = stocks[:, -1]
    chosen[:, place[ANYBODY]] = stocks[:, :-1].any(axis=1)
    for number, one in enumerate(facts.candidates):
        chosen[:, place[heads(one.id)]] = stocks[:, number]
        chosen[:, place[some(one.id)]] = stocks[:, number] > 0
        for wish in facts.wishes:
            if serves(wish.id, one.id) in place:
                fits = stocks[:, number] >= wish.least_count
                chosen[:, place[serves(wish.id, one.id)]] = fits
                chosen[fits, place[met(wish.id)]] = 1.0
    fine = np.ones(len(stocks), dtype=bool)
    for row in programme.rows:
        if row.rule != "margin":
            total = sum(value * chosen[:, place[name]] for name, value in row.terms.items())
            fine &= (total >= row.low - 1e-9) & (total <= row.high + 1e-9)
    values = sum(value * chosen[:, place[name]] for name, value in programme.aim.items())
    return float(np.max(np.broadcast_to(values, fine.shape)[fine], initial=-np.inf))
