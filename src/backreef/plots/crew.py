"""The clean-up crew against what grows for it."""

from __future__ import annotations

from collections.abc import Iterator

from backreef.judgement.verdict import CrewLine, CrewSize, Forecast
from backreef.plots.bars import Bar, bar_figure
from backreef.plots.figure import Figure, Table
from backreef.plots.words import capital, figure, listed, percent, reading
from backreef.usecases.told_numbers import told_name

_EVEN = 0.1
"""How far wanted and grown may differ and still be called even: a word for people, not a judgement."""


def crew_chart(forecast: Forecast, *, ident: str = "crew-food") -> Figure | None:
    """What the tank grows, what its eaters could take and what they get; None without a crew."""
    if not forecast.crew:
        return None
    bars: list[Bar] = []
    for line in forecast.crew:
        bars += [Bar(name=f"{capital(line.label)}: {crew_words(line)}"), *_three(line)]
    title = "What grows for the crew, and what it could take"
    description = " ".join(f"{capital(line.label)}: {crew_words(line)}." for line in forecast.crew)

    table = Table(
        caption="Crew and its food, g dry a day, middle of the members",
        columns=("food", "eaters", "grows", "could be taken", "is eaten"),
        rows=tuple(
            (
                line.label,
                listed(line.eaters) or "nobody",
                reading(line.grown_g_dry_per_d_p50),
                reading(line.wanted_g_dry_per_d_p50),
                reading(line.eaten_g_dry_per_d_p50),
            )
            for line in forecast.crew
        ),
        asks=tuple(
            (
                "",
                "",
                told_name(line, "grown_g_dry_per_d_p50"),
                told_name(line, "wanted_g_dry_per_d_p50"),
                told_name(line, "eaten_g_dry_per_d_p50"),
            )
            for line in forecast.crew
        ),
    )
    return bar_figure(bars, (ident, title, description), table=table)


def crew_words(line: CrewLine) -> str:
    """Whether the food suffices, in one clause."""
    grown, wanted = line.grown_g_dry_per_d_p50, line.wanted_g_dry_per_d_p50
    if wanted <= 0:
        return "nobody eats it"
    if grown <= 0:
        return "none grows, its eaters live on other food or starve"
    if wanted > grown * (1 + _EVEN):
        return f"eaters could take {figure(wanted / grown)} times what grows"
    if grown > wanted * (1 + _EVEN):
        return f"{figure(grown / wanted)} times what its eaters could take"
    return "grows about as fast as it could be eaten"


def size_words(size: CrewSize) -> str:
    """How many of a grazer the tank feeds, and when it starves, in a sentence."""
    starving = [f"in year {year} in {percent(share)}" for year, share in _years(size) if share > 0]
    fate = f"thin for weeks {listed(starving)} of the members" if starving else "never thin for weeks"
    low, high = reading(size.held_count_p05), reading(size.held_count_p95)
    held = f"about {reading(size.held_count_p50)} ({low} to {high})"
    return f"{size.common_name}: {size.count} in the plan; what grows holds {held}; {fate}."


def _years(size: CrewSize) -> Iterator[tuple[int, float]]:
    yield from enumerate(size.starving_share_by_year, start=1)


def _three(line: CrewLine) -> list[Bar]:
    rows = (
        ("grows", line.grown_g_dry_per_d_p50, "bar"),
        ("could be taken", line.wanted_g_dry_per_d_p50, "bar-line"),
        ("is eaten", line.eaten_g_dry_per_d_p50, "bar-hatch"),
    )
    return [
        Bar(name=name, value=value, words=f"{reading(value)} g a day", look=look)
        for name, value, look in rows
    ]
