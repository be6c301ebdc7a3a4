"""Made-up forecasts for tests of pictures and reports: a library's 300 L reef over three years.

No number here is biology or advice: the series are drawn from seeded noise so that they look like a forecast and
show each thing a picture must be able to show.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import numpy as np

from backreef.judgement.verdict import (
    Addition,
    AnimalOutcome,
    Assumption,
    AwayStretch,
    BalanceVerdict,
    Band,
    ChoreLine,
    CrewLine,
    Finding,
    FloatArray,
    FluxLine,
    Forecast,
    MealStream,
    Minutes,
    Remedy,
    WaterBand,
)

START_ON = date(2027, 1, 4)
DAYS = 1096
ASSUMED = "common practice, no source"

# id, common name, species, kind, arrives after days, already there, count, lengths (start, end, adult) cm, ration
STOCK: tuple[tuple[str, str, str, str, int, bool, int, tuple[float, float, float], float], ...] = (
    ("snails", "Trochus snail", "Trochus sp.", "snail", 28, False, 8, (1.8, 3.0, 3.5), 0.012),
    ("ceriths", "Cerith", "Cerithium sp.", "snail", 28, False, 10, (1.5, 2.0, 2.5), 0.005),
    ("clowns", "Ocellaris clownfish", "Amphiprion ocellaris", "fish", 70, False, 2, (3.0, 7.4, 8.0), 0.11),
    ("shrimps", "Skunk cleaner shrimp", "Lysmata amboinensis", "shrimp", 112, False, 2, (4.0, 5.5, 6.0), 0.03),
    ("blenny", "Tailspot blenny", "Ecsenius stigmatura", "fish", 168, False, 1, (3.5, 5.4, 6.0), 0.06),
    ("gramma", "Royal gramma", "Gramma loreto", "fish", 224, False, 1, (4.0, 6.6, 7.0), 0.05),
    ("urchin", "Tuxedo urchin", "Mespilia globulus", "urchin", 280, False, 1, (2.5, 4.4, 5.0), 0.05),
    ("anthias", "Lyretail anthias", "Pseudanthias squamipinnis", "fish", 336, False, 5, (5.0, 8.1, 10.0), 0.14),
    ("leather", "Toadstool leather coral", "Sarcophyton sp.", "coral", 0, True, 1, (8.0, 15.0, 25.0), 0.0),
)

AWAY: tuple[tuple[int, int, str], ...] = (
    (203, 223, "summer closing"),
    (350, 363, "Christmas"),
    (569, 589, "summer closing"),
    (716, 729, "Christmas"),
    (934, 954, "summer closing"),
    (1081, 1094, "Christmas"),
)


def day(index: int) -> date:
    """The date of a day of the horizon."""
    return START_ON + timedelta(days=index)


def band(middle: FloatArray, spread_ratio: float) -> Band:
    """A band around a middle line, wider with the years."""
    widen = spread_ratio * (0.4 + 0.6 * np.linspace(0.0, 1.0, middle.size))
    return Band(p05=middle * (1 - 0.8 * widen), p50=middle, p95=middle * (1 + widen))


def presence(days: int) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
    """Tuesday to Saturday, and never in an away stretch."""
    there = np.array([day(i).weekday() in (1, 2, 3, 4, 5) for i in range(days)], dtype=np.bool_)
    for first, last, _ in AWAY:
        there[first : last + 1] = False
    return there


def wave(days: int, *, seed: int, level: float, noise: float, season: float = 0.0) -> FloatArray:
    """A slow wandering line around a level, with a yearly swing."""
    rng = np.random.default_rng(seed)
    steps = rng.normal(0.0, 1.0, days)
    walk = np.zeros(days)
    for i in range(1, days):
        walk[i] = 0.97 * walk[i - 1] + steps[i]
    year = np.sin(2 * np.pi * (np.arange(days) - 60) / 365.25)
    line: FloatArray = level * (1 + noise * walk / 4 + season * year)
    return line


def minutes_per_week(days: int, present: np.ndarray[tuple[int], np.dtype[np.bool_]], scale: float) -> Band:
    """Trailing seven-day minutes: less where nobody is there, a peak in the week before each stretch."""
    daily = np.where(present, 6.0, 0.0) * scale
    for i in range(3, days, 14):
        daily[i] += 26.0 * scale * (present[i] or scale > 1.2)
    for first, _, _ in AWAY:
        if 3 < first < days:
            daily[first - 3] += 18.0
    total = np.array([daily[max(0, i - 6) : i + 1].sum() for i in range(days)])
    return Band(p05=total * 0.78, p50=total, p95=total * 1.3)


def series_of(days: int, present: np.ndarray[tuple[int], np.dtype[np.bool_]], *, breaking: bool) -> dict[str, Band]:
    """The daily quantities of the water, its algae and the keeper's minutes."""
    t = np.arange(days)
    ripe = 1 - np.exp(-t / 120)
    nitrate = wave(days, seed=1, level=7.0, noise=0.16, season=0.1) * (0.5 + 0.5 * ripe)
    phosphate = wave(days, seed=2, level=0.06, noise=0.14) * (0.6 + 0.4 * ripe)
    if breaking:
        load = np.clip((t - 320) / 300, 0.0, None) ** 0.8
        nitrate = nitrate + 24.0 * load
        phosphate = phosphate + 0.045 * load
    start = np.exp(-(((t - 14) / 7.0) ** 2))
    film = 1.2 * ripe + 2.4 * np.exp(-(((t - 60) / 30.0) ** 2)) + 0.1 * np.sin(t / 40)
    return {
        "nitrate_mg_no3_per_l": band(np.maximum(nitrate, 0.2), 0.45),
        "phosphate_mg_po4_per_l": band(np.maximum(phosphate, 0.005), 0.5),
        "ammonia_total_mg_n_per_l": band(0.008 + 0.06 * start, 0.8),
        "oxygen_mg_per_l": band(wave(days, seed=3, level=6.1, noise=0.02, season=-0.03), 0.06),
        "ph_total": band(wave(days, seed=4, level=8.05, noise=0.003), 0.012),
        "alkalinity_dkh": band(wave(days, seed=5, level=8.1, noise=0.03), 0.08),
        "temperature_degc": band(wave(days, seed=6, level=25.2, noise=0.006, season=0.015), 0.02),
        "film_algae_g_dry": band(np.maximum(film, 0.05), 0.5),
        "turf_algae_g_dry": band(3.0 + 5.0 * ripe * (2.0 if breaking else 1.0), 0.5),
        "copepods_g_dry": band(0.2 + 0.5 * ripe, 0.6),
        "minutes_per_week": minutes_per_week(days, present, 1.45 if breaking else 1.0),
    }


def water_bands() -> tuple[WaterBand, ...]:
    """Bounds such as a keeper's plan would carry; the figures only have to be plausible."""
    rows: tuple[tuple[str, str, str, tuple[float | None, float | None, float | None, float | None], float], ...] = (
        ("nitrate_mg_no3_per_l", "nitrate", "mg NO3/L", (1.0, 25.0, None, 50.0), 14.0),
        ("phosphate_mg_po4_per_l", "phosphate", "mg PO4/L", (0.01, 0.15, None, 0.3), 30.0),
        ("ammonia_total_mg_n_per_l", "total ammonia", "mg N/L", (None, 0.1, None, 0.25), 2.0),
        ("oxygen_mg_per_l", "oxygen at dawn", "mg/L", (5.0, None, 4.0, None), 0.25),
        ("ph_total", "pH", "total scale", (7.8, 8.45, 7.6, 8.6), 3.0),
        ("alkalinity_dkh", "alkalinity", "dKH", (7.0, 9.5, 6.0, 11.0), 7.0),
        ("temperature_degc", "temperature", "°C", (24.0, 27.0, 22.0, 29.0), 2.0),
    )
    return tuple(
        WaterBand(
            series=series, label=label, unit=unit, act_low=bounds[0], act_high=bounds[1], harm_low=bounds[2],
            harm_high=bounds[3], harm_days=days, source=ASSUMED, status="practice",
        )
        for series, label, unit, bounds, days in rows
    )  # fmt: skip


def animal(row: int, days: int, *, starving: bool) -> AnimalOutcome:
    """What became of one entry of the stock."""
    ident, name, species, kind, arrives, there, count, (start_cm, end_cm, adult_cm), ration = STOCK[row]
    t = np.arange(days)
    fed = wave(days, seed=20 + row, level=1.08, noise=0.05)
    condition = np.clip(wave(days, seed=40 + row, level=0.93, noise=0.02), 0.0, 1.0)
    for first, last, _ in AWAY:
        fed[first : last + 6] *= 0.72
    if starving:
        fade = np.clip((t - arrives - 40) / 260, 0.0, 1.0)
        fed = fed * (1 - 0.36 * fade)
        condition = np.clip(condition - 0.72 * fade * np.clip((t - arrives) / 420, 0.0, 1.0), 0.04, 1.0)
    fed = np.where(t < arrives, np.nan, fed)
    condition = np.where(t < arrives, np.nan, condition)
    eats = (("frozen mysis", 0.55), ("dry pellet", 0.38), ("copepods", 0.07))
    if kind in ("snail", "urchin"):
        eats = (("film algae", 0.81), ("turf", 0.12), ("detritus", 0.07))
    if kind == "coral":
        eats = (("light", 0.92), ("dissolved food", 0.08))
    return AnimalOutcome(
        id=ident, species=species, common_name=name, kind=kind, arrives_on=None if there else day(arrives),
        already_there=there, count_start=count, count_end_p50=float(count - (3 if starving else 0)),
        length_start_cm=start_cm, length_end_cm_p50=end_cm, adult_length_cm=adult_cm,
        condition_p50=float(np.nanmean(condition)), condition_end_p05=float(condition[-1] * 0.85),
        energy_met_share_p50=float(np.nanmean(fed)), ration_g_dry_per_d_p50=ration, eats=eats,
        condition=Band(p05=condition * 0.9, p50=condition, p95=np.minimum(condition * 1.05, 1.0)),
        energy_met=band(fed, 0.25),
    )  # fmt: skip


def additions(days: int) -> tuple[Addition, ...]:
    """One arrival per animal that is not there yet, each behind a gate."""
    gates = {
        "snail": "film on the glass comes back within 3 days of wiping",
        "fish": "ammonia and nitrite at the limit of the test for 14 days, everyone eats",
        "shrimp": "salinity within 0.5 of 35 for a month",
        "urchin": "turf or coralline on most of the rock",
    }
    return tuple(
        Addition(
            on=day(arrives), animal_id=ident, common_name=name, count=count, gate=gates[kind],
            gate_open_share=None if kind == "shrimp" else 0.97 - 0.05 * (index % 3),
        )
        for index, (ident, name, _, kind, arrives, there, count, _, _) in enumerate(STOCK)
        if not there and arrives < days
    )  # fmt: skip


def meals(days: int, present: np.ndarray[tuple[int], np.dtype[np.bool_]]) -> tuple[MealStream, ...]:
    """Pellets by a feeder every day, frozen food by hand on the days somebody is there, algae sheet twice a week."""
    t = np.arange(days)
    settled = np.clip((t - 60) / 300, 0.0, 1.0)
    pellets = np.where(t < 70, 0.0, 0.2 + 0.25 * settled)
    frozen = np.where(present & (t >= 70), 0.5 + 0.9 * settled, 0.0)
    sheet = np.where(present & (t >= 168) & (t % 7 == 2), 0.6, 0.0)
    return (
        MealStream(id="pellets", label="dry pellet", by="feeder", grams_as_fed_per_day=pellets, eaten_share_p50=0.86),
        MealStream(id="mysis", label="frozen mysis", by="hand", grams_as_fed_per_day=frozen, eaten_share_p50=0.9),
        MealStream(id="sheet", label="dried algae", by="hand", grams_as_fed_per_day=sheet, eaten_share_p50=0.62),
    )


def minutes(scale: float) -> Minutes:
    """The ledger of minutes with one line per task."""
    rows: tuple[tuple[str, str, float, float, bool, bool], ...] = (
        ("water_change", "Water change 30 L", 52.0, 26.0, True, False),
        ("feed_frozen", "Thaw, rinse and feed frozen food", 64.0, 232.0, True, False),
        ("glass", "Wipe the front glass", 22.0, 87.0, True, False),
        ("tests", "Nitrate, phosphate and alkalinity tests", 24.0, 26.0, True, False),
        ("skimmer", "Empty and rinse the skimmer cup", 16.0, 52.0, True, False),
        ("top_off", "Fill the top-off reservoir", 9.0, 40.0, True, False),
        ("harvest", "Cut back the refugium algae", 8.0, 12.0, True, False),
        ("look", "Look: all there, all eating", 32.0, 230.0, True, True),
    )
    lines = tuple(
        ChoreLine(
            task=task, name=name, minutes_per_month_p05=m * scale * 0.75, minutes_per_month_p50=m * scale,
            minutes_per_month_p95=m * scale * 1.35, times_per_year=times, needs_presence=there, look=look,
        )
        for task, name, m, times, there, look in rows
    )  # fmt: skip
    total = sum(line.minutes_per_month_p50 for line in lines if not line.look)
    return Minutes(
        per_month_p05=total * 0.82, per_month_p50=total, per_month_p95=total * 1.22, budget_per_month=240.0,
        looks_per_month_p50=32.0, by_chore=lines, busiest_day=day(200), busiest_day_minutes=74.0 * scale,
    )  # fmt: skip


def crew() -> tuple[CrewLine, ...]:
    """Foods that grow in the tank, against what their eaters could take."""
    return (
        CrewLine(
            pool="film", label="film algae", eaters=("Trochus snail", "Cerith"), grown_g_dry_per_d_p50=0.16,
            wanted_g_dry_per_d_p50=0.13, eaten_g_dry_per_d_p50=0.11, standing_series="film_algae_g_dry",
        ),
        CrewLine(
            pool="turf", label="turf", eaters=("Tuxedo urchin", "Tailspot blenny"), grown_g_dry_per_d_p50=0.07,
            wanted_g_dry_per_d_p50=0.12, eaten_g_dry_per_d_p50=0.065, standing_series="turf_algae_g_dry",
        ),
        CrewLine(
            pool="detritus", label="detritus", eaters=("Cerith",), grown_g_dry_per_d_p50=0.2,
            wanted_g_dry_per_d_p50=0.03, eaten_g_dry_per_d_p50=0.03, standing_series="detritus_g_dry",
        ),
    )  # fmt: skip


def fluxes() -> tuple[FluxLine, ...]:
    """Doors through which nitrogen, phosphorus, carbon and oxygen come and go."""
    rows: tuple[tuple[str, float, float, float, float], ...] = (
        ("food", 1.62, 0.25, 9.1, 0.0),
        ("make-up water", 0.02, 0.002, 0.1, 0.0),
        ("animals that arrive", 0.05, 0.01, 0.3, 0.0),
        ("light (algae and corals)", 0.0, 0.0, 6.2, 14.0),
        ("exchange with the air", 0.0, 0.0, -9.4, 8.0),
        ("water changes", -0.21, -0.03, -0.4, 0.0),
        ("algae harvest", -0.42, -0.04, -2.4, 0.0),
        ("skimmer", -0.24, -0.05, -1.5, 0.0),
        ("gas from rock and sand", -0.61, 0.0, 0.0, 0.0),
        ("phosphate medium", 0.0, -0.11, 0.0, 0.0),
        ("breathing and decay", 0.0, 0.0, 0.0, -22.0),
    )
    lines: list[FluxLine] = []
    for door, n, p, c, o in rows:
        lines.append(FluxLine(element="N", door=door, g_per_month_p50=n))
        lines.append(FluxLine(element="P", door=door, g_per_month_p50=p))
        lines.append(FluxLine(element="C", door=door, g_per_month_p50=c))
        lines.append(FluxLine(element="O2", door=door, g_per_month_p50=o))
    return tuple(line for line in lines if line.g_per_month_p50 != 0.0)


def assumptions() -> tuple[Assumption, ...]:
    """Defaults taken and values that rest on memory or practice, a good forty of them."""
    named = (
        Assumption(
            key="tank.rock_kg", what="Live rock", value="45 kg (30 to 60)", status="practice", source=ASSUMED,
            changes="Less rock removes less nitrate: the first break would come about two months earlier.",
        ),
        Assumption(
            key="tank.age", what="Age of the tank", value="new, rock from a running tank", status="default",
            source="the plan does not say", changes="Dry rock would bring an ammonia peak before day 40.",
        ),
        Assumption(
            key="fish.maintenance", what="Energy a clownfish needs to hold its weight",
            value="43.2 kJ per kg^0.80 a day", status="published", source="Lupatsch et al. 2013 (abstract)",
            changes="10 % more need would put the pair at 98 % of its energy.",
        ),
        Assumption(
            key="feeder.portion_error", what="Portion error of the dry feeder", value="±15 %", status="memory",
            source="remembered, no page at hand", changes="±30 % would thin the smallest fish first.",
        ),
    )  # fmt: skip
    many = tuple(
        Assumption(
            key=f"model.rate_{i}", what=f"Rate number {i} of the water model", value=f"{0.1 + 0.03 * i:.2f} per day",
            status=("published", "calc", "memory", "practice")[i % 4], source=f"table {i}, made up for tests",
            changes="little",
        )
        for i in range(1, 37)
    )  # fmt: skip
    return named + many


def verdict(name: str, share: float, first: int | None, cause: str) -> BalanceVerdict:
    """One balance; it holds when no first day is given."""
    return BalanceVerdict(
        name=name,  # type: ignore[arg-type]
        holds=first is None,
        share_holding=share,
        first_break=None if first is None else day(first),
        cause=cause,
    )


def holding_findings() -> tuple[Finding, ...]:
    """Two things that come close, neither of them a break."""
    return (
        Finding(
            id="urchin_turf", balance="mouths", harm=0.35, breaks=False, who="Tuxedo urchin", first_on=day(520),
            days=84, share_of_members=0.31, value=0.86, bound=1.0, unit="share of need",
            what="The urchin outgrows the turf in the second summer",
            why="The blenny and the urchin could eat 0.12 g of turf a day; 0.07 g grows at this light and nitrate.",
            source=ASSUMED,
            remedies=(
                Remedy(what="dried algae for the urchin twice a week", checked=True, holds_after=True,
                       effect="the urchin gets 1.04 of its need; 9 more minutes a month"),
                Remedy(what="leave out the urchin", checked=False),
            ),
        ),
        Finding(
            id="minutes_july", balance="hands", harm=0.12, breaks=False, who="keeper", first_on=day(197), days=7,
            share_of_members=0.12, value=74.0, bound=55.2, unit="min/week",
            what="The week before the summer closing is full",
            why="Water change, feeder test and reservoir fall on the same three days.", source="calc",
        ),
    )  # fmt: skip


def breaking_findings() -> tuple[Finding, ...]:
    """One break in each balance, with remedies that were tried and others that were not."""
    return (
        Finding(
            id="anthias_starve", balance="mouths", harm=0.95, breaks=True, who="Lyretail anthias", first_on=day(560),
            days=312, share_of_members=0.86, value=0.71, bound=1.0, unit="share of need",
            what="The five anthias get thinner every week and the first dies in the second summer",
            why="They need three or more small meals a day in the water column. The plan offers them one frozen "
            "meal on open days; from the feeder they catch little before it sinks, and nobody feeds on 148 days a year.",
            source="common practice, no source; energy need from published plankton-eater rates",
            remedies=(
                Remedy(what="two more feeder portions a day at 11:00 and 15:00", checked=True, holds_after=False,
                       effect="condition at the end 0.61 instead of 0.21, but nitrate breaks seven weeks sooner"),
                Remedy(what="leave out the anthias; two pajama cardinalfish instead", checked=True, holds_after=True,
                       effect="Mouths and Water hold in 62 of 64 members"),
                Remedy(what="somebody who feeds on closed days", checked=False),
            ),
        ),
        Finding(
            id="nitrate_high", balance="water", harm=0.7, breaks=True, who="corals, urchin", first_on=day(742),
            days=355, share_of_members=0.81, value=78.0, bound=50.0, unit="mg NO3/L",
            what="Nitrate passes 50 mg/L and stays there",
            why="Food brings 1.6 g of nitrogen a month; harvest, water changes, skimmer and rock take out 1.5 g.",
            source=ASSUMED,
            remedies=(
                Remedy(what="30 L more water change a fortnight", checked=True, holds_after=False,
                       effect="first break 96 days later; 58 more minutes a month"),
                Remedy(what="refugium of 30 L instead of 12 L", checked=True, holds_after=True,
                       effect="nitrate ends at 19 mg/L; 14 more minutes a month"),
            ),
        ),
        Finding(
            id="closed_days", balance="hands", harm=0.5, breaks=True, who="keeper", first_on=day(206), days=43,
            share_of_members=1.0, value=3.0, bound=0.0, unit="chores/month",
            what="Water changes fall on days when the library is closed",
            why="The rhythm of 14 days meets the summer and Christmas closings; nobody is named to do it instead.",
            source="calc",
            remedies=(Remedy(what="tie the water change to open Thursdays", checked=True, holds_after=True,
                             effect="no chore on a closed day"),),
        ),
        Finding(
            id="phosphate_act", balance="water", harm=0.2, breaks=False, who="corals", first_on=day(868), days=120,
            share_of_members=0.44, value=0.17, bound=0.15, unit="mg PO4/L",
            what="Phosphate leaves its band late in the third year",
            why="The rock has taken up what it can and gives some back.", source=ASSUMED,
        ),
    )  # fmt: skip


def a_holding_forecast(days: int = DAYS) -> Forecast:
    """A plan that holds for three years with two things to watch."""
    present = presence(days)
    return Forecast(
        plan_name="Reading room reef", plan_file="library.toml", story="A 300 L reef in a public library, open five "
        "days a week; one librarian has four hours a month for it.", start_on=START_ON, days=days, members=64,
        seed=7, engine="made up for tests", holds=True, share_holding=62 / 64, share_low=0.893, share_high=0.991,
        first_break=None, first_break_cause="",
        balances=(verdict("mouths", 63 / 64, None, ""), verdict("water", 62 / 64, None, ""),
                  verdict("hands", 1.0, None, "")),
        findings=holding_findings(),
        animals=tuple(
            animal(i, days, starving=False) for i, row in enumerate(STOCK) if row[0] != "anthias" and row[4] < days
        ),
        additions=tuple(a for a in additions(days) if a.animal_id != "anthias"), meals=meals(days, present),
        minutes=minutes(1.0), dates=tuple(day(i) for i in range(days)),
        series=series_of(days, present, breaking=False), water_bands=water_bands(), present=present,
        away=tuple(AwayStretch(first_on=day(a), last_on=day(b), label=label) for a, b, label in AWAY if b < days),
        crew=crew(), fluxes=fluxes(), conservation_residual=3.1e-13,
        conservation_by_element={"N": 1.2e-13, "P": 3.1e-13, "C": 8.0e-14}, assumptions=assumptions(),
        sources=("Lupatsch et al. 2013, Israeli Journal of Aquaculture", "Garcia & Gordon 1992 (from memory)"),
        cautions=("Unplug the heater and the pumps before hands go in; use a residual-current device.",
                  "Rabbitfish, urchins and some corals sting or poison: gloves, and a doctor when in doubt.",
                  "Never release animals, algae or water into the wild."),
    )  # fmt: skip


def a_breaking_forecast() -> Forecast:
    """A plan that breaks in all three balances, first in Hands."""
    base = a_holding_forecast()
    return replace(
        base, holds=False, share_holding=0.0, share_low=0.0, share_high=0.056, first_break=day(206),
        first_break_cause="water changes fall on days when the library is closed",
        balances=(
            verdict("mouths", 9 / 64, 560, "the five anthias starve: they get 71 % of the energy they need"),
            verdict("water", 12 / 64, 742, "nitrate stays above 50 mg/L for more than 14 days"),
            verdict("hands", 0.0, 206, "water changes fall on days when the library is closed"),
        ),
        findings=breaking_findings(),
        animals=tuple(animal(row, DAYS, starving=STOCK[row][0] == "anthias") for row in range(len(STOCK))),
        additions=additions(DAYS), minutes=minutes(1.45), series=series_of(DAYS, base.present, breaking=True),
    )  # fmt: skip


def a_minimal_forecast() -> Forecast:
    """Rock and water only: no animals, one member, sixty days."""
    base = a_holding_forecast(days=60)
    alone = {name: Band(p05=b.p50, p50=b.p50, p95=b.p50) for name, b in base.series.items()}
    alone["copepods_g_dry"] = Band(p05=np.full(60, np.nan), p50=np.full(60, np.nan), p95=np.full(60, np.nan))
    return replace(
        base, plan_name="", story="", members=1, share_holding=1.0, share_low=0.05, share_high=1.0,
        balances=tuple(replace(b, share_holding=1.0) for b in base.balances), findings=(), animals=(), additions=(),
        meals=(), series=alone, away=(), crew=(), fluxes=(), assumptions=(), sources=(), cautions=(),
        minutes=replace(base.minutes, by_chore=(), busiest_day=None, busiest_day_minutes=0.0),
        conservation_by_element={},
    )  # fmt: skip


def an_odd_forecast() -> Forecast:
    """Forty animals with hostile, very long, right-to-left and wide names, and unknown values where allowed."""
    base = a_breaking_forecast()
    names = (
        "<script>alert('reef')</script>", "Tom & \"Jerry\" ]]> <!-- -->", "Łukasz’s 𝓯𝓪𝓷𝓬𝔂 blåfisk 🐠",
        "紅海の美しい小さなハゼの仲間たち", "سمكة المهرج", "bell\x07 and \x1b[31mred\x1b[0m", "a" * 120,
        "a name of many words that goes on and on until no label anywhere could possibly hold it " * 2,
    )  # fmt: skip
    many = tuple(
        replace(
            animal(i % len(STOCK), DAYS, starving=i % 7 == 0), id=f"entry_{i}", common_name=names[i % len(names)],
            length_end_cm_p50=None if i % 3 == 0 else 7.0, adult_length_cm=None, length_start_cm=None, eats=(),
        )
        for i in range(40)
    )  # fmt: skip
    arrivals = tuple(
        Addition(
            on=day(20 + 9 * i), animal_id=f"entry_{i}", common_name=names[i % len(names)], count=1 + i % 30,
            gate=names[(i + 3) % len(names)], gate_open_share=None if i % 2 else i / 40,
        )
        for i in range(40)
    )  # fmt: skip
    odd = replace(
        base.findings[0], who=names[0], what=names[7], why=names[1], unit="<b>", value=float("nan"),
        remedies=(Remedy(what=names[0], effect=names[6]),),
    )  # fmt: skip
    return replace(
        base, plan_name=names[0], plan_file="C:\\plans\\<odd>.toml", story=names[1], animals=many, additions=arrivals,
        findings=(odd, *base.findings[1:]), cautions=names, notices=names,
        balances=(replace(base.balances[0], cause=names[7]), *base.balances[1:]),
    )  # fmt: skip
