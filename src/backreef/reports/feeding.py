"""Tables of feeding: without food, feeders, gaps, and rations that grow with the animals."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from backreef.judgement.verdict import Forecast, RationStep
from backreef.plots.figure import Table
from backreef.plots.words import UNKNOWN, figure, short_date
from backreef.usecases.told_numbers import told_name

_MOST_DATES = 4
LOSSES = "Beside hunger and water: who lives to the end"


def fasting_table(forecast: Forecast) -> Table:
    """Who lasts how long with nothing to eat, shortest first."""
    lines = sorted(forecast.fasting, key=lambda line: (line.quarter_gone_d_p50, line.common_name, line.on))
    warmest = max((line.warm_c for line in lines), default=0.0)
    rows = tuple(
        (
            line.common_name,
            short_date(line.on),
            figure(line.length_cm),
            _days(line.quarter_gone_d_p05, line.quarter_gone_d_p50, line.quarter_gone_d_p95),
            _days(line.harm_d_p05, line.harm_d_p50, line.harm_d_p95),
            figure(line.warm_quarter_gone_d_p50),
        )
        for line in lines
    )
    columns = ("animal", "on", "cm", "days to a quarter", "days to harm", f"a quarter at {warmest:g} °C")
    caption = "Without food: days until a quarter of the reserve is gone"
    asked = ("length_cm", "quarter_gone_d_p50", "harm_d_p50", "warm_quarter_gone_d_p50")
    asks = tuple(("", "", *(told_name(line, name) for name in asked)) for line in lines)
    return Table(caption=caption, columns=columns, rows=rows, asks=asks)


def _days(low_d: float, middle_d: float, high_d: float) -> str:
    return f"{figure(middle_d)} ({figure(low_d)}-{figure(high_d)})"


def feeders_table(forecast: Forecast) -> Table:
    """What each feeder is set to and when somebody has to see to it."""
    rows = tuple(
        (
            feeder.name,
            "; ".join(feeder.settings) or "gives nothing",
            f"{figure(feeder.grams_as_fed_per_d)} g",
            UNKNOWN if feeder.covered_d is None else figure(feeder.covered_d, 3),
            _dates(feeder.refills),
            _dates(feeder.batteries),
        )
        for feeder in forecast.feeders
    )
    columns = ("feeder", "set to", "a day", "days by itself", "filled on", "batteries on")
    asks = tuple(
        (
            "",
            told_name(feeder, "portions_g", part="1") if feeder.portions_g else "",
            told_name(feeder, "grams_as_fed_per_d"),
            "" if feeder.covered_d is None else told_name(feeder, "covered_d"),
            "",
            "",
        )
        for feeder in forecast.feeders
    )
    return Table(caption="Feeders", columns=columns, rows=rows, asks=asks)


def _dates(dates: tuple[date, ...]) -> str:
    shown = [short_date(each) for each in dates[:_MOST_DATES]]
    more = len(dates) - len(shown)
    return (", ".join(shown) + (f" and {more} more" if more else "")) or "never"


def gaps_table(forecast: Forecast) -> Table:
    """Each stretch with nobody there: days with food, and who suffers first."""
    rows = tuple(
        (
            f"{short_date(gap.first_on)} to {short_date(gap.last_on)}",
            f"{gap.fed_days} of {(gap.last_on - gap.first_on).days + 1}",
            "nobody; all get something"
            if gap.hungry_quarter_gone_d_p05 is None
            else f"{gap.hungry}, a quarter gone after {figure(gap.hungry_quarter_gone_d_p05)} days",
        )
        for gap in forecast.gaps
    )
    columns = ("nobody there", "days with food", "first to suffer")
    asks = tuple(
        (
            "",
            told_name(gap, "fed_days"),
            "" if gap.hungry_quarter_gone_d_p05 is None else told_name(gap, "hungry_quarter_gone_d_p05"),
        )
        for gap in forecast.gaps
    )
    return Table(caption="Gaps, and who goes without", columns=columns, rows=rows, asks=asks)


def shopping_table(forecast: Forecast) -> Table:
    """What to buy of each food, in packs that are used before they go stale."""
    rows = tuple(
        (
            line.label,
            f"{figure(line.grams_per_month)} g",
            UNKNOWN
            if line.opened_d is None
            else f"{figure(line.opened_d)} ({figure(line.opened_d_low or 0.0)})",
            f"{line.packs_per_trip} x {figure(line.pack_g)} g",
            f"{line.stale_frac:.0%}" if line.stale_frac else "none",
            f"{line.thaw_loss_frac:.0%}" if line.thaw_loss_frac else "none",
            _dates(line.trips),
        )
        for line in forecast.shopping
    )
    columns = (
        "food",
        "a month",
        "days once open (surely)",
        "packs a trip",
        "stale",
        "lost on thawing",
        "trips",
    )
    asks = tuple(
        (
            "",
            told_name(line, "grams_per_month"),
            "" if line.opened_d is None else told_name(line, "opened_d"),
            told_name(line, "packs_per_trip"),
            told_name(line, "stale_frac") if line.stale_frac else "",
            told_name(line, "thaw_loss_frac") if line.thaw_loss_frac else "",
            "",
        )
        for line in forecast.shopping
    )
    return Table(caption="Food to buy", columns=columns, rows=rows, asks=asks)


def feeding_tables(forecast: Forecast) -> tuple[Table, ...]:
    """All tables of feeding that say something."""
    tables = (
        fasting_table(forecast),
        feeders_table(forecast),
        gaps_table(forecast),
        shopping_table(forecast),
    )
    return tuple(content for content in tables if content.rows)


def ration_words(forecast: Forecast) -> Iterator[str]:
    """How each meal that follows its animals grows, a sentence each."""
    yield from (words for _, words in told_rations(forecast))


def told_rations(forecast: Forecast) -> Iterator[tuple[str, str]]:
    """How each meal that follows its animals grows: the figure that explains it, and a sentence."""
    meals: dict[str, list[RationStep]] = {}
    for step in forecast.rations:
        meals.setdefault(step.meal_id, []).append(step)
    for first, *later in meals.values():
        words = f"{first.label}: {figure(first.grams_as_fed_per_d)} g a day at first"
        steps = [
            f"from month {step.month} ({short_date(step.on)}) the ration is {figure(grams)} g"
            for step in later
            if (grams := step.grams_as_fed_per_d)
        ]
        told = f"{words}; {', '.join(steps)}." if steps else f"{words}, and it stays so within a tenth."
        yield told_name(first, "grams_as_fed_per_d"), told


def loss_words(forecast: Forecast) -> Iterator[str]:
    """Who of the animals is there at the end, and what takes the others, a sentence each."""
    yield from (words for _, words in told_losses(forecast))


def told_losses(forecast: Forecast) -> Iterator[tuple[str, str]]:
    """Who of the animals is there at the end, and what takes the others: its figure, and a sentence."""
    for one in sorted(forecast.animals, key=lambda one: (one.alive_end_share, one.common_name)):
        if not one.losses:
            continue
        causes = ", ".join(f"{loss.cause} {loss.lost_frac:.0%}" for loss in one.losses)
        living = f"{one.alive_end_share:.0%} live to the end"
        words = f"{one.common_name}: {living}; each alone would take: {causes}."
        yield told_name(one, "alive_end_share"), words


def price_words(forecast: Forecast) -> str:
    """What the food costs the water, in a sentence or two; empty where nothing is fed."""
    price = forecast.food_price
    if price is None:
        return ""
    words = (
        f"The food brings {figure(price.nitrogen_g_per_month)} g of nitrogen a month; "
        f"{price.uneaten_frac:.0%} of it is in food that nobody eats adrift, as much as "
        f"{figure(price.uneaten_as_mg_no3_per_l_per_month)} mg/L of nitrate."
    )
    if price.change_l_per_month is None:
        return words
    return (
        f"{words} To carry that out by water changes alone would take "
        f"{figure(price.change_l_per_month)} L a month at {figure(price.nitrate_held_mg_no3_per_l)} mg/L."
    )
