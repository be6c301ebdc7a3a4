from __future__ import annotations

from dataclasses import replace
from datetime import date
from itertools import pairwise

import numpy as np
import pytest

from backreef.judgement.verdict import Band, CrewLine, FluxLine, Forecast
from backreef.plots.additions import additions_chart, open_words
from backreef.plots.axis import axis_labels, border, cuts
from backreef.plots.crew import crew_chart, crew_words
from backreef.plots.figure import Reading
from backreef.plots.flux import flux_charts, flux_words
from backreef.plots.living import energy_met_of
from backreef.plots.minutes import minutes_by_chore, minutes_by_week
from backreef.plots.months import months, quarters, span_band
from backreef.plots.mouths import is_broken, mouths_chart, mouths_table, thinnest_first
from backreef.plots.scale import TimeScale
from backreef.plots.series import series_chart, series_description
from tests.forecast_parts import day
from tests.forecast_world import a_breaking_forecast, a_holding_forecast, a_minimal_forecast


@pytest.fixture(scope="module")
def breaking() -> Forecast:
    return a_breaking_forecast()


def test_it_says_how_long_a_quantity_is_outside_its_bounds(breaking: Forecast) -> None:
    harmed = int((breaking.series["nitrate_mg_no3_per_l"].p50 > 50).sum())
    told = series_description(breaking, "nitrate_mg_no3_per_l")
    assert f"{harmed} outside the harm bounds" in told
    assert "never outside its act bounds" in series_description(a_holding_forecast(), "nitrate_mg_no3_per_l")


def test_it_says_so_where_nothing_is_known_of_a_quantity() -> None:
    assert series_description(a_minimal_forecast(), "copepods_g_dry") == "Nothing is known of it."


def test_it_sets_what_was_measured_against_one_quantity(breaking: Forecast) -> None:
    reading = Reading(series="ph_total", on=day(30), value=8.0)
    assert 'class="reading"' in series_chart(breaking, "ph_total", [reading]).wide
    assert 'class="reading"' not in series_chart(breaking, "oxygen_mg_per_l", [reading]).wide


def test_it_draws_a_quantity_without_bounds(breaking: Forecast) -> None:
    drawn = series_chart(breaking, "film_algae_g_dry")
    assert drawn.title == "Film algae, g dry"
    assert "bound-" not in drawn.wide
    assert len(drawn.table.columns) == 2


def test_what_an_animal_gets_is_known_from_the_end_of_its_first_day(breaking: Forecast) -> None:
    days = len(breaking.dates)
    share = np.where(np.arange(days) == 20, 0.0, 0.9)
    met = Band(p05=share, p50=share, p95=share)
    later = replace(breaking.animals[0], arrives_on=day(20), already_there=False, energy_met=met)
    assert np.isnan(energy_met_of(breaking, later).p50[:21]).all()
    assert (energy_met_of(breaking, later).p50[21:] == 0.9).all()
    there = replace(later, arrives_on=None)
    assert energy_met_of(breaking, there).p50[20] == 0.0  # a day on which nothing is eaten is known


def test_it_puts_the_thinnest_animal_first_and_marks_it(breaking: Forecast) -> None:
    drawn = mouths_chart(breaking)
    assert drawn is not None
    assert drawn.description.startswith(
        "The thinnest first. Lyretail anthias (5, in the end 2): lowest condition 0.17"
    )
    assert drawn.wide.count('class="broken"') == 1
    assert mouths_table(breaking).rows[0][0] == "Lyretail anthias"


def test_it_puts_unknown_condition_last(breaking: Forecast) -> None:
    unknown = replace(breaking.animals[0], condition_end_p05=float("nan"))
    assert thinnest_first((unknown, *breaking.animals[1:]))[-1] is unknown
    assert not is_broken(breaking, unknown)


@pytest.mark.parametrize(("met", "hatched"), [(1.2, False), (1.0, False), (0.5, True)])
def test_it_hatches_only_where_food_falls_short(*, met: float, hatched: bool, breaking: Forecast) -> None:
    flat = np.full(len(breaking.dates), met)
    animal = replace(breaking.animals[0], energy_met=Band(p05=flat, p50=flat, p95=flat))
    drawn = mouths_chart(replace(breaking, animals=(animal,)))
    assert drawn is not None
    assert ('class="short"' in drawn.wide) == hatched


def test_it_compares_the_weeks_with_their_share_of_the_budget(breaking: Forecast) -> None:
    drawn = minutes_by_week(breaking)
    assert drawn is not None
    assert "of 156 weeks ask for more than 55 minutes" in drawn.description
    bare = {name: band for name, band in breaking.series.items() if name != "minutes_per_week"}
    assert minutes_by_week(replace(breaking, series=bare)) is None


def test_it_lists_tasks_from_the_largest_and_looks_apart(breaking: Forecast) -> None:
    drawn = minutes_by_chore(breaking)
    assert drawn is not None
    assert drawn.table.rows[0][0] == "Thaw, rinse and feed frozen food"
    assert [row[4] for row in drawn.table.rows if row[0].startswith("Look")] == ["apart"]
    assert "Looks and head counts, outside the budget" in drawn.wide


def crew_line(grown: float, wanted: float) -> CrewLine:
    return CrewLine(
        pool="film",
        label="film",
        eaters=(),
        grown_g_dry_per_d_p50=grown,
        wanted_g_dry_per_d_p50=wanted,
        eaten_g_dry_per_d_p50=0.0,
        standing_series="",
    )


@pytest.mark.parametrize(
    ("grown", "wanted", "words"),
    [
        (0.1, 0.2, "eaters could take 2 times what grows"),
        (0.2, 0.1, "2 times what its eaters could take"),
        (0.1, 0.105, "grows about as fast as it could be eaten"),
        (0.1, 0.0, "nobody eats it"),
        (0.0, 0.1, "none grows, its eaters live on other food or starve"),
    ],
)
def test_it_says_whether_the_crews_food_suffices(grown: float, wanted: float, words: str) -> None:
    assert crew_words(crew_line(grown, wanted)) == words


def test_it_draws_no_crew_where_there_is_none() -> None:
    assert crew_chart(a_minimal_forecast()) is None
    assert additions_chart(a_minimal_forecast()) is None
    assert mouths_chart(a_minimal_forecast()) is None
    assert flux_charts(a_minimal_forecast()) == ()


def test_it_adds_up_what_comes_in_and_leaves() -> None:
    lines = [
        FluxLine(element="N", door="food", g_per_month_p50=1.6),
        FluxLine(element="N", door="harvest", g_per_month_p50=-2.0),
    ]
    assert flux_words("Nitrogen", lines) == (
        "Nitrogen: 1.6 g a month comes in, 2 g leaves, 0.4 g is taken from what was there."
    )


def test_it_orders_doors_in_before_doors_out(breaking: Forecast) -> None:
    nitrogen = flux_charts(breaking)[0]
    assert nitrogen.table.rows[0] == ("food", "in 1.6")
    assert nitrogen.table.rows[-1] == ("left in the tank", "more 0.21")


def test_it_tells_an_open_gate_from_one_that_nobody_can_foresee(breaking: Forecast) -> None:
    first, shrimp = breaking.additions[0], breaking.additions[3]
    assert open_words(breaking, first) == "open in 62 of 64 members"
    assert open_words(breaking, shrimp) == "not known beforehand: look"
    drawn = additions_chart(breaking)
    assert drawn is not None
    assert drawn.wide.count('class="gate-unknown"') == 1


@pytest.mark.parametrize(
    ("days", "count"),
    [(60, 8), (365, 12), (1096, 36), (366 * 12, 12)],
    ids=["weeks", "months", "3 years", "years"],
)
def test_it_cuts_the_border_by_the_length_of_the_time(days: int, count: int) -> None:
    time = TimeScale(first_on=date(2027, 1, 4), days=days, left=0, right=800)
    assert len(cuts(time)) == count
    assert border(time, 0).count("<rect") == count + 2


@pytest.mark.parametrize("days", [1, 20, 60, 365, 1096, 3650])
@pytest.mark.parametrize("wide", [300.0, 800.0])
def test_it_never_writes_labels_over_each_other(days: int, wide: float) -> None:
    time = TimeScale(first_on=date(2027, 10, 20), days=days, left=0, right=wide)
    xs = sorted(float(part.split('"')[0]) for part in axis_labels(time, 10).split(' x="')[1:])
    assert all(b - a > 20 for a, b in pairwise(xs))


def test_it_cuts_a_horizon_by_calendar(breaking: Forecast) -> None:
    assert [span.on.isoformat() for span in quarters(breaking.dates)][:3] == [
        "2027-01-04",
        "2027-04-01",
        "2027-07-01",
    ]
    spans = months(breaking.dates)
    assert spans[0].first == 0
    assert spans[-1].last == len(breaking.dates)
    assert all(a.last == b.first for a, b in pairwise(spans))


def test_it_takes_the_ends_of_a_band_over_a_span(breaking: Forecast) -> None:
    values = np.arange(10.0)
    band = Band(p05=values - 1, p50=values, p95=values + 1)
    span = months(breaking.dates[:10])[0]
    assert span_band(band, span) == (-1.0, 4.5, 10.0)
