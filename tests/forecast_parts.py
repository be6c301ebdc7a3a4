"""Pieces of made-up forecasts: stock, water, meals, minutes, crew, doors and assumptions of a 300 L reef.

No number here is biology or advice: the series are drawn from seeded noise so that they look like a forecast
and show each thing a picture must be able to show.
"""

from __future__ import annotations

import math
from datetime import date, timedelta

import numpy as np

from backreef.judgement.verdict import (
    Addition,
    AnimalOutcome,
    Assumption,
    BalanceVerdict,
    Band,
    CrewLine,
    CrewSeason,
    CrewSize,
    FloatArray,
    FluxLine,
    Loss,
    MealStream,
    WaterBand,
)
from backreef.judgement.verdict_hands import ChoreLine, Minutes

START_ON = date(2027, 1, 4)
DAYS = 1096
ASSUMED = "common practice, no source"

# id, common name, species, kind, arrives after days, there already, count, cm at start, end, adult, ration
STOCK: tuple[tuple[str, str, str, str, int, bool, int, tuple[float, float, float], float], ...] = (
    ("snails", "Trochus snail", "Trochus sp.", "snail", 28, False, 8, (1.8, 3.0, 3.5), 0.012),
    ("ceriths", "Cerith", "Cerithium sp.", "snail", 28, False, 10, (1.5, 2.0, 2.5), 0.005),
    ("clowns", "Ocellaris clownfish", "Amphiprion ocellaris", "fish", 70, False, 2, (3.0, 7.4, 8.0), 0.11),
    (
        "shrimps",
        "Skunk cleaner shrimp",
        "Lysmata amboinensis",
        "shrimp",
        112,
        False,
        2,
        (4.0, 5.5, 6.0),
        0.03,
    ),
    ("blenny", "Tailspot blenny", "Ecsenius stigmatura", "fish", 168, False, 1, (3.5, 5.4, 6.0), 0.06),
    ("gramma", "Royal gramma", "Gramma loreto", "fish", 224, False, 1, (4.0, 6.6, 7.0), 0.05),
    ("urchin", "Tuxedo urchin", "Mespilia globulus", "urchin", 280, False, 1, (2.5, 4.4, 5.0), 0.05),
    (
        "anthias",
        "Lyretail anthias",
        "Pseudanthias squamipinnis",
        "fish",
        336,
        False,
        5,
        (5.0, 8.1, 10.0),
        0.14,
    ),
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


def series_of(
    days: int, present: np.ndarray[tuple[int], np.dtype[np.bool_]], *, breaking: bool
) -> dict[str, Band]:
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
    rows: tuple[
        tuple[str, str, str, tuple[float | None, float | None, float | None, float | None], float], ...
    ] = (
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
            series=series,
            label=label,
            unit=unit,
            act_low=bounds[0],
            act_high=bounds[1],
            harm_low=bounds[2],
            harm_high=bounds[3],
            harm_days=days,
            source=ASSUMED,
            status="practice",
        )
        for series, label, unit, bounds, days in rows
    )


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
    eats: tuple[tuple[str, float], ...] = (("frozen mysis", 0.55), ("dry pellet", 0.38), ("copepods", 0.07))
    if kind in ("snail", "urchin"):
        eats = (("film algae", 0.81), ("turf", 0.12), ("detritus", 0.07))
    if kind == "coral":
        eats = (("light", 0.92), ("dissolved food", 0.08))
    return AnimalOutcome(
        id=ident,
        species=species,
        common_name=name,
        kind=kind,
        arrives_on=None if there else day(arrives),
        already_there=there,
        count_start=count,
        count_end_p50=float(max(count - (3 if starving else 0), 0)),
        count_end_p05=float(max(count - (4 if starving else 1), 0)),
        count_end_p95=float(count),
        alive_end_share=0.6 if starving else 0.95,
        length_start_cm=start_cm,
        length_end_cm_p50=end_cm,
        adult_length_cm=adult_cm,
        condition_p50=float(np.nanmean(condition)),
        condition_end_p05=float(condition[-1] * 0.85),
        energy_met_share_p50=float(np.nanmean(fed)),
        ration_g_dry_per_d_p50=ration,
        eats=eats,
        condition=Band(p05=condition * 0.9, p50=condition, p95=np.minimum(condition * 1.05, 1.0)),
        energy_met=band(fed, 0.25),
        losses=(Loss(cause="settling in", lost_frac=0.05),) if kind == "fish" else (),
    )


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
            on=day(arrives),
            animal_id=ident,
            common_name=name,
            count=count,
            gate=gates[kind],
            gate_open_share=None if kind == "shrimp" else 0.97 - 0.05 * (index % 3),
            filter_days_p05=None if kind == "shrimp" else 2.0 * (index % 3),
            filter_days_p50=None if kind == "shrimp" else 5.0 * (index % 3),
            filter_days_p95=None if kind == "shrimp" else 9.0 * (index % 3),
            ammonia_most_mg_n_per_l_p95=None if kind == "shrimp" else 0.031,
        )
        for index, (ident, name, _, kind, arrives, there, count, _, _) in enumerate(STOCK)
        if not there and arrives < days
    )


def meals(days: int, present: np.ndarray[tuple[int], np.dtype[np.bool_]]) -> tuple[MealStream, ...]:
    """Pellets by a feeder every day, frozen food by hand when somebody is there, algae sheet once a week."""
    t = np.arange(days)
    settled = np.clip((t - 60) / 300, 0.0, 1.0)
    pellets = np.where(t < 70, 0.0, 0.2 + 0.25 * settled)
    frozen = np.where(present & (t >= 70), 0.5 + 0.9 * settled, 0.0)
    sheet = np.where(present & (t >= 168) & (t % 7 == 2), 0.6, 0.0)
    return (
        MealStream(
            id="pellets", label="dry pellet", by="feeder", grams_as_fed_per_day=pellets, eaten_share_p50=0.86
        ),
        MealStream(
            id="mysis", label="frozen mysis", by="hand", grams_as_fed_per_day=frozen, eaten_share_p50=0.9
        ),
        MealStream(
            id="sheet", label="dried algae", by="hand", grams_as_fed_per_day=sheet, eaten_share_p50=0.62
        ),
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
            task=task,
            name=name,
            minutes_per_month_p05=m * scale * 0.75,
            minutes_per_month_p50=m * scale,
            minutes_per_month_p95=m * scale * 1.35,
            times_per_year=times,
            needs_presence=there,
            look=look,
        )
        for task, name, m, times, there, look in rows
    )
    total = sum(line.minutes_per_month_p50 for line in lines if not line.look)
    return Minutes(
        per_month_p05=total * 0.82,
        per_month_p50=total,
        per_month_p95=total * 1.22,
        budget_per_month=240.0,
        looks_per_month_p50=32.0,
        by_chore=lines,
        busiest_day=day(200),
        busiest_day_minutes=74.0 * scale,
    )


def crew() -> tuple[CrewLine, ...]:
    """Foods that grow in the tank, against what their eaters could take."""
    return (
        CrewLine(
            pool="film",
            label="film algae",
            eaters=("Trochus snail", "Cerith"),
            grown_g_dry_per_d_p50=0.16,
            wanted_g_dry_per_d_p50=0.13,
            eaten_g_dry_per_d_p50=0.11,
            standing_series="film_algae_g_dry",
        ),
        CrewLine(
            pool="turf",
            label="turf",
            eaters=("Tuxedo urchin", "Tailspot blenny"),
            grown_g_dry_per_d_p50=0.07,
            wanted_g_dry_per_d_p50=0.12,
            eaten_g_dry_per_d_p50=0.065,
            standing_series="turf_algae_g_dry",
        ),
        CrewLine(
            pool="detritus",
            label="detritus",
            eaters=("Cerith",),
            grown_g_dry_per_d_p50=0.2,
            wanted_g_dry_per_d_p50=0.03,
            eaten_g_dry_per_d_p50=0.03,
            standing_series="detritus_g_dry",
        ),
    )


def crew_sizes() -> tuple[CrewSize, ...]:
    """A snail that comes in the second quarter, for which film grows in summer."""
    none = math.nan
    held = ((none, none, none), (4.0, 6.0, 9.0), (8.0, 11.0, 14.0), (3.0, 5.2, 7.0))
    firsts = (START_ON, date(2027, 4, 1), date(2027, 7, 1), date(2027, 10, 1), date(2028, 1, 1))
    return (
        CrewSize(
            animal_id="snails",
            common_name="Trochus snail",
            count=8,
            held_count_p05=4.2,
            held_count_p50=7.1,
            held_count_p95=10.4,
            starving_share_by_year=(0.25,),
            seasons=tuple(
                CrewSeason(
                    first_on=first,
                    last_on=after - timedelta(days=1),
                    held_count_p05=low,
                    held_count_p50=middle,
                    held_count_p95=high,
                    starving_share=0.25 if middle < 6 else 0.0,
                    lasting_count=None if math.isnan(middle) else 5,
                )
                for first, after, (low, middle, high) in zip(firsts[:-1], firsts[1:], held, strict=True)
            ),
        ),
    )


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
            key="tank.rock_kg",
            what="Live rock",
            value="45 kg (30 to 60)",
            status="practice",
            source=ASSUMED,
            changes="Less rock removes less nitrate: the first break would come about two months earlier.",
        ),
        Assumption(
            key="tank.age",
            what="Age of the tank",
            value="new, rock from a running tank",
            status="default",
            source="the plan does not say",
            changes="Dry rock would bring an ammonia peak before day 40.",
        ),
        Assumption(
            key="fish.maintenance",
            what="Energy a clownfish needs to hold its weight",
            value="43.2 kJ per kg^0.80 a day",
            status="published",
            source="Lupatsch et al. 2013 (abstract)",
            changes="10 % more need would put the pair at 98 % of its energy.",
        ),
        Assumption(
            key="feeder.portion_error",
            what="Portion error of the dry feeder",
            value="±15 %",
            status="memory",
            source="remembered, no page at hand",
            changes="±30 % would thin the smallest fish first.",
        ),
    )
    many = tuple(
        Assumption(
            key=f"model.rate_{i}",
            what=f"Rate number {i} of the water model",
            value=f"{0.1 + 0.03 * i:.2f} per day",
            status=("published", "calc", "memory", "practice")[i % 4],
            source=f"table {i}, made up for tests",
            changes="little",
        )
        for i in range(1, 37)
    )
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
