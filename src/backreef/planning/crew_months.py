"""From which month on the tank feeds a grazer that comes, by the simulation of a plan that holds."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date

from backreef.judgement.verdict import CrewSeason, CrewSize, Forecast
from backreef.planning.arrivals import Month
from backreef.planning.plans import Picked
from backreef.planning.writing import Coming, entry_name

TooEarly = frozenset[tuple[str, int]]
"""A candidate and the number of a month in which it does not come."""


def lean_months(picked: Picked, forecast: Forecast, months: Sequence[Month]) -> tuple[TooEarly, ...]:
    """Months in which a grazer would come before the tank feeds so many of it for a year.

    None where it feeds them at once, nor where no month is left from which it does: then it is the simulation
    of the plan as it is that counts.
    """
    return tuple(
        frozenset({(each.candidate.id, month.number)})
        for each, fed_from in _early(picked, forecast)
        if any(month.on >= fed_from for month in months)
        for month in months
        if month.on < fed_from
    )


def those_months(lean: Sequence[TooEarly], picked: Picked, months: Sequence[Month]) -> list[TooEarly]:
    """The months in which those grazers come in another plan, which did not hold."""
    grazers = {species for pairs in lean for species, _ in pairs}
    number_of = {month.on: month.number for month in months}
    return [
        frozenset({(each.candidate.id, number_of[each.on])})
        for each in picked.coming
        if each.candidate.id in grazers
    ]


def _early(picked: Picked, forecast: Forecast) -> Iterator[tuple[Coming, date]]:
    """The grazers that come too early, each with the first day of the quarter from which they are fed."""
    for each in picked.coming:
        name = entry_name(each.candidate.id)
        for size in forecast.crew_sizes:
            seasons = _whole_seasons(size, each.on) if size.animal_id == name else []
            enough = [season for season in seasons if (season.lasting_count or 0) >= each.count]
            if enough and enough[0] is not seasons[0]:
                yield each, enough[0].first_on


def _whole_seasons(size: CrewSize, on: date) -> list[CrewSeason]:
    """Quarters of which it is known how many they feed, from the first that began with the animals there.

    In the one in which they come they crop what had grown before, which says little of what grows.
    """
    return [one for one in size.seasons if one.first_on >= on and one.lasting_count is not None]
