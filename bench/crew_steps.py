"""A crew that comes at once against one that comes in steps: who holds, how much film is left, who goes thin.

`python -m bench.crew_steps examples/family_first_reef.toml first_snails --more 3` forecasts the plan with
that entry left out, as written, with so many more at once, and with so many more later: after a year, in the
next October, and one by one in each of the next two years.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from dataclasses import replace
from datetime import date

from backreef.aquarium.plan import AnimalEntry, Plan
from backreef.judgement.verdict import Forecast
from backreef.usecases.check import load_plan
from backreef.usecases.forecast import forecast_plan

YEAR_D = 365
OCTOBER = 10


def crews(plan: Plan, entry: AnimalEntry, more: int) -> Iterator[tuple[str, Plan]]:
    """The plan with each of the crews."""
    first = entry.arrives_on or plan.start_on
    autumn = date(first.year + (first.month >= OCTOBER), OCTOBER, first.day)
    years = [first.replace(year=first.year + number) for number in (1, 2)]
    rest = [one for one in plan.animals if one.id != entry.id]

    def with_crew(count: int, *steps: tuple[int, date]) -> Plan:
        later = [
            replace(entry, id=f"{entry.id}_{number}", count=heads, arrives_on=on)
            for number, (heads, on) in enumerate(steps)
        ]
        here = [replace(entry, count=count)] if count else []
        return replace(plan, animals=(*rest, *here, *later))

    yield "none", with_crew(0)
    yield "as written", with_crew(entry.count)
    yield f"{more} more at once", with_crew(entry.count + more)
    yield f"{more} more after a year", with_crew(entry.count, (more, years[0]))
    yield f"{more} more in the autumn", with_crew(entry.count, (more, autumn))
    yield "one more in each year", with_crew(entry.count, *((1, on) for on in years))


def told(name: str, forecast: Forecast, entry: AnimalEntry) -> str:
    """One line for a crew, and one for each of its steps."""
    film = forecast.series["film_algae_g_dry"].p50
    years = [film[first : first + YEAR_D].mean() for first in range(0, len(film) - YEAR_D + 1, YEAR_D)]
    shown = ", ".join(f"{one:.2f}" for one in years)
    minutes = f"{forecast.minutes.per_month_p50:.0f} minutes a month"
    lines = [f"{name:24s} holds {forecast.share_holding:4.0%}, film {shown} g, {minutes}"]
    if not forecast.holds:
        lines.append(f"    {forecast.first_break_cause}")
    for size in forecast.crew_sizes:
        if size.animal_id.startswith(entry.id):
            thin = [f"{share:.0%}" for share in size.starving_share_by_year]
            lasting = ["-" if one.lasting_count is None else str(one.lasting_count) for one in size.seasons]
            lines.append(f"    {size.count}: thin {' '.join(thin)}; enough for a year {' '.join(lasting)}")
    return "\n".join(lines)


def main() -> None:
    """Print what becomes of each crew."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("plan")
    parser.add_argument("entry")
    parser.add_argument("--more", type=int, default=3)
    parser.add_argument("--members", type=int, default=16)
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    plan = load_plan(asked.plan)
    entry = next(one for one in plan.animals if one.id == asked.entry)
    for name, one in crews(plan, entry, asked.more):
        print(told(name, forecast_plan(one, members=asked.members, seed=asked.seed), entry), flush=True)


if __name__ == "__main__":
    main()
