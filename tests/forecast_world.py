"""Made-up forecasts for tests of pictures and reports: a library's 300 L reef over three years.

No number here is biology or advice: the series are drawn from seeded noise so that they look like a forecast
and show each thing a picture must be able to show.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np

from backreef.judgement.verdict import Addition, AwayStretch, Band, Finding, Forecast, Remedy
from tests.feeding_parts import fasting, feeders, gaps, price, rations, shopping
from tests.forecast_parts import (
    ASSUMED,
    AWAY,
    DAYS,
    START_ON,
    STOCK,
    additions,
    animal,
    assumptions,
    crew,
    crew_sizes,
    day,
    fluxes,
    meals,
    minutes,
    presence,
    series_of,
    verdict,
    water_bands,
)


def holding_findings() -> tuple[Finding, ...]:
    """Two things that come close, neither of them a break."""
    return (
        Finding(
            id="urchin_turf",
            balance="mouths",
            harm=0.35,
            breaks=False,
            who="Tuxedo urchin",
            first_on=day(520),
            days=84,
            share_of_members=0.31,
            value=0.86,
            bound=1.0,
            unit="share of need",
            what="The urchin outgrows the turf in the second summer",
            why="The blenny and the urchin could eat 0.12 g of turf a day; 0.07 g grows at this light.",
            source=ASSUMED,
            remedies=(
                Remedy(
                    id="remedy_1",
                    what="dried algae for the urchin twice a week",
                    checked=True,
                    holds_after=True,
                    effect="the urchin gets 1.04 of its need; 9 more minutes a month",
                ),
                Remedy(id="remedy_2", what="leave out the urchin", checked=False),
            ),
        ),
        Finding(
            id="minutes_july",
            balance="hands",
            harm=0.12,
            breaks=False,
            who="keeper",
            first_on=day(197),
            days=7,
            share_of_members=0.12,
            value=74.0,
            bound=55.2,
            unit="min/week",
            what="The week before the summer closing is full",
            why="Water change, feeder test and reservoir fall on the same three days.",
            source="calc",
        ),
    )


def breaking_findings() -> tuple[Finding, ...]:
    """One break in each balance, with remedies that were tried and others that were not."""
    return (
        Finding(
            id="anthias_starve",
            balance="mouths",
            harm=0.95,
            breaks=True,
            who="Lyretail anthias",
            first_on=day(560),
            days=312,
            share_of_members=0.86,
            value=0.71,
            bound=1.0,
            unit="share of need",
            what="The five anthias get thinner every week and the first dies in the second summer",
            why="They need three or more small meals a day in the water column. The plan offers them one "
            "frozen meal on open days; from the feeder they catch little before it sinks, and nobody feeds "
            "on 148 days a year.",
            source="common practice, no source; energy need from published plankton-eater rates",
            remedies=(
                Remedy(
                    id="remedy_3",
                    what="two more feeder portions a day at 11:00 and 15:00",
                    checked=True,
                    holds_after=False,
                    effect="condition at the end 0.61 instead of 0.21, but nitrate breaks seven weeks sooner",
                ),
                Remedy(
                    id="remedy_4",
                    what="leave out the anthias; two pajama cardinalfish instead",
                    checked=True,
                    holds_after=True,
                    effect="Mouths and Water hold in 62 of 64 members",
                ),
                Remedy(id="remedy_5", what="somebody who feeds on closed days", advice=True),
            ),
        ),
        Finding(
            id="nitrate_high",
            balance="water",
            harm=0.7,
            breaks=True,
            who="corals, urchin",
            first_on=day(742),
            days=355,
            share_of_members=0.81,
            value=78.0,
            bound=50.0,
            unit="mg NO3/L",
            what="Nitrate passes 50 mg/L and stays there",
            why="Food brings 1.6 g of nitrogen a month; harvest, water changes and rock take out 1.5 g.",
            source=ASSUMED,
            remedies=(
                Remedy(
                    id="remedy_6",
                    what="30 L more water change a fortnight",
                    checked=True,
                    holds_after=False,
                    effect="first break 96 days later; 58 more minutes a month",
                ),
                Remedy(
                    id="remedy_7",
                    what="refugium of 30 L instead of 12 L",
                    checked=True,
                    holds_after=True,
                    effect="nitrate ends at 19 mg/L; 14 more minutes a month",
                ),
            ),
        ),
        Finding(
            id="closed_days",
            balance="hands",
            harm=0.5,
            breaks=True,
            who="keeper",
            first_on=day(206),
            days=43,
            share_of_members=1.0,
            value=3.0,
            bound=0.0,
            unit="chores/month",
            what="Water changes fall on days when the library is closed",
            why="The rhythm of 14 days meets the summer and Christmas closings; nobody else is named.",
            source="calc",
            remedies=(
                Remedy(
                    id="remedy_8",
                    what="tie the water change to open Thursdays",
                    checked=True,
                    holds_after=True,
                    effect="no chore on a closed day",
                ),
            ),
        ),
        Finding(
            id="phosphate_act",
            balance="water",
            harm=0.2,
            breaks=False,
            who="corals",
            first_on=day(868),
            days=120,
            share_of_members=0.44,
            value=0.17,
            bound=0.15,
            unit="mg PO4/L",
            what="Phosphate leaves its band late in the third year",
            why="The rock has taken up what it can and gives some back.",
            source=ASSUMED,
        ),
    )


@cache
def a_holding_forecast(days: int = DAYS) -> Forecast:
    """A plan that holds for three years with two things to watch."""
    present = presence(days)
    return Forecast(
        plan_name="Reading room reef",
        plan_file="library.toml",
        story="A 300 L reef in a public library, open five "
        "days a week; one librarian has four hours a month for it.",
        start_on=START_ON,
        days=days,
        members=64,
        seed=7,
        engine="made up for tests",
        holds=True,
        share_holding=62 / 64,
        share_low=0.893,
        share_high=0.991,
        first_break=None,
        first_break_cause="",
        balances=(
            verdict("mouths", 63 / 64, None, ""),
            verdict("water", 62 / 64, None, ""),
            verdict("hands", 1.0, None, ""),
        ),
        first_breaks=(day(500), day(700), *[None] * 62),
        findings=holding_findings(),
        animals=tuple(
            animal(i, days, starving=False)
            for i, row in enumerate(STOCK)
            if row[0] != "anthias" and row[4] < days
        ),
        additions=tuple(a for a in additions(days) if a.animal_id != "anthias"),
        meals=meals(days, present),
        minutes=minutes(1.0),
        dates=tuple(day(i) for i in range(days)),
        series=series_of(days, present, breaking=False),
        water_bands=water_bands(),
        present=present,
        away=tuple(
            AwayStretch(first_on=day(a), last_on=day(b), label=label) for a, b, label in AWAY if b < days
        ),
        crew=crew(),
        crew_sizes=crew_sizes(),
        fasting=fasting(),
        rations=rations(),
        feeders=feeders(),
        gaps=gaps(),
        shopping=shopping(),
        food_price=price(),
        fluxes=fluxes(),
        conservation_residual=3.1e-13,
        conservation_by_element={"N": 1.2e-13, "P": 3.1e-13, "C": 8.0e-14},
        assumptions=assumptions(),
        sources=(
            "Lupatsch et al. 2013, Israeli Journal of Aquaculture",
            "Garcia & Gordon 1992 (from memory)",
        ),
        cautions=(
            "Unplug the heater and the pumps before hands go in; use a residual-current device.",
            "Rabbitfish, urchins and some corals sting or poison: gloves, and a doctor when in doubt.",
            "Never release animals, algae or water into the wild.",
        ),
    )


@cache
def a_breaking_forecast() -> Forecast:
    """A plan that breaks in all three balances, first in Hands."""
    base = a_holding_forecast()
    return replace(
        base,
        holds=False,
        share_holding=0.0,
        share_low=0.0,
        share_high=0.056,
        first_break=day(206),
        first_break_cause="water changes fall on days when the library is closed",
        first_breaks=(day(206),) * 64,
        balances=(
            verdict("mouths", 9 / 64, 560, "the five anthias starve: they get 71 % of the energy they need"),
            verdict("water", 12 / 64, 742, "nitrate stays above 50 mg/L for more than 14 days"),
            verdict("hands", 0.0, 206, "water changes fall on days when the library is closed"),
        ),
        findings=breaking_findings(),
        animals=tuple(animal(row, DAYS, starving=STOCK[row][0] == "anthias") for row in range(len(STOCK))),
        additions=additions(DAYS),
        minutes=minutes(1.45),
        series=series_of(DAYS, base.present, breaking=True),
    )


@cache
def a_minimal_forecast() -> Forecast:
    """Rock and water only: no animals, one member, sixty days."""
    base = a_holding_forecast(days=60)
    alone = {name: Band(p05=b.p50, p50=b.p50, p95=b.p50) for name, b in base.series.items()}
    alone["copepods_g_dry"] = Band(p05=np.full(60, np.nan), p50=np.full(60, np.nan), p95=np.full(60, np.nan))
    return replace(
        base,
        plan_name="",
        story="",
        members=1,
        first_breaks=(None,),
        share_holding=1.0,
        share_low=0.05,
        share_high=1.0,
        balances=tuple(replace(b, share_holding=1.0) for b in base.balances),
        findings=(),
        animals=(),
        additions=(),
        meals=(),
        series=alone,
        away=(),
        crew=(),
        fluxes=(),
        assumptions=(),
        sources=(),
        cautions=(),
        minutes=replace(base.minutes, by_chore=(), busiest_day=None, busiest_day_minutes=0.0),
        conservation_by_element={},
    )


@cache
def an_odd_forecast() -> Forecast:
    """Forty animals with hostile, very long, right-to-left and wide names, and unknown values."""
    base = a_breaking_forecast()
    names = (
        "<script>alert('reef')</script>",
        'Tom & "Jerry" ]]> <!-- -->',
        "Łukasz’s 𝓯𝓪𝓷𝓬𝔂 blåfisk 🐠",
        "紅海の美しい小さなハゼの仲間たち",
        "سمكة المهرج",
        "bell\x07 and \x1b[31mred\x1b[0m",
        "a" * 120,
        "a name of many words that goes on and on until no label anywhere could possibly hold it " * 2,
    )
    many = tuple(
        replace(
            animal(i % len(STOCK), DAYS, starving=i % 7 == 0),
            id=f"entry_{i}",
            common_name=names[i % len(names)],
            length_end_cm_p50=None if i % 3 == 0 else 7.0,
            adult_length_cm=None,
            length_start_cm=None,
            eats=(),
        )
        for i in range(40)
    )
    arrivals = tuple(
        Addition(
            on=day(20 + 9 * i),
            animal_id=f"entry_{i}",
            common_name=names[i % len(names)],
            count=1 + i % 30,
            gate=names[(i + 3) % len(names)],
            gate_open_share=None if i % 2 else i / 40,
            filter_days_p05=None,
            filter_days_p50=None,
            filter_days_p95=None,
            ammonia_most_mg_n_per_l_p95=None,
        )
        for i in range(40)
    )
    odd = replace(
        base.findings[0],
        who=names[0],
        what=names[7],
        why=names[1],
        unit="<b>",
        value=float("nan"),
        remedies=(Remedy(id="remedy_9", what=names[0], effect=names[6]),),
    )
    return replace(
        base,
        plan_name=names[0],
        plan_file="C:\\plans\\<odd>.toml",
        story=names[1],
        animals=many,
        additions=arrivals,
        findings=(odd, *base.findings[1:]),
        cautions=names,
        notices=names,
        balances=(replace(base.balances[0], cause=names[7]), *base.balances[1:]),
    )
