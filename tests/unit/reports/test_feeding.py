"""The tables of feeding in the page and in the report."""

from dataclasses import replace

from backreef.reports.feeding import (
    LOSSES,
    fasting_table,
    feeders_table,
    gaps_table,
    loss_words,
    price_words,
    ration_words,
    shopping_table,
)
from backreef.reports.html import report_html
from backreef.reports.text import forecast_page
from tests import forecast_world as world


def test_it_says_who_lasts_how_long_the_shortest_first() -> None:
    young, grown = fasting_table(world.a_holding_forecast()).rows
    assert young[1:4] == ("4 Jan 2027", "4", "3.1 (2.5-4)")
    assert grown[2] == "7"


def test_it_announces_a_growing_ration_by_month_and_one_that_stays() -> None:
    growing, staying = ration_words(world.a_holding_forecast())
    assert "0.12 g a day at first" in growing
    assert "from month 14 (7 Feb 2028) the ration is 0.17 g" in growing
    assert staying == "Flakes: 0.05 g a day at first, and it stays so within a tenth."


def test_a_feeder_shows_its_settings_dates_and_days_by_itself() -> None:
    busy, idle = feeders_table(world.a_holding_forecast()).rows
    assert busy[1] == "11:00 2 x 0.1 g Small pellets; 17:00 0.2 g Small pellets"
    assert busy[3] == "21"
    assert busy[4].endswith("1 May 2027 and 3 more")
    assert idle[1:] == ("gives nothing", "0 g", "not known", "never", "never")


def test_a_gap_names_who_suffers_first_or_that_nobody_does() -> None:
    hungry, fed = gaps_table(world.a_holding_forecast()).rows
    assert hungry[1:] == ("21 of 21", "Yellow tang, a quarter gone after 2.7 days")
    assert fed[2] == "nobody; all get something"


def test_what_to_buy_is_told_with_what_goes_stale_and_what_thawing_costs() -> None:
    dry, frozen = shopping_table(world.a_holding_forecast()).rows
    assert dry[1:6] == ("5.2 g", "76 (61)", "1 x 100 g", "87%", "none")
    assert frozen[2:6] == ("not known", "2 x 100 g", "none", "10%")
    assert dry[6] == "4 Jan 2027, 3 Jul 2027"


def test_the_price_of_food_is_told_in_water() -> None:
    told = world.a_holding_forecast()
    words = price_words(told)
    assert "33% of it is in food that nobody eats adrift, as much as 5.9 mg/L of nitrate" in words
    assert "220 L a month at 8 mg/L" in words
    assert words in report_html(told)
    assert words in " ".join(forecast_page(told).split())
    assert price_words(replace(told, food_price=None)) == ""


def test_page_and_report_show_all_of_it_and_neither_shows_an_empty_table() -> None:
    told = world.a_holding_forecast()
    page, report = forecast_page(told), report_html(told)
    for words in ("Without food", "Feeders", "Gaps, and who goes without", "from month 14", "Food to buy"):
        assert words in " ".join(page.split())
        assert words in report
    silent = replace(told, fasting=(), feeders=(), gaps=(), rations=(), shopping=())
    page, report = forecast_page(silent), report_html(silent)
    for words in ("Without food", "Gaps, and who goes without", "Rations that follow"):
        assert words not in page
        assert words not in report


def test_page_and_report_tell_who_lives_and_what_takes_the_others() -> None:
    told = world.a_holding_forecast()
    lost = [one for one in told.animals if one.losses]
    sentences = tuple(loss_words(told))
    assert 0 < len(lost) == len(sentences) < len(told.animals)
    assert all("% live to the end; each alone would take: settling in 5%." in each for each in sentences)
    page, report = " ".join(forecast_page(told).split()), report_html(told)
    assert all(each in page and each in report for each in sentences)
    nobody = replace(told, animals=tuple(replace(one, losses=()) for one in told.animals))
    assert LOSSES not in forecast_page(nobody)
    assert LOSSES not in report_html(nobody)
