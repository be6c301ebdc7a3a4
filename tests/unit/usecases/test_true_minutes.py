"""The keeper's real minutes beside the assumed ones, from entries of the log to page and report."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime

import jsonschema
import pytest

from backreef.judgement.verdict import Forecast
from backreef.judgement.verdict_hands import ChoreLine, MonthLine
from backreef.logbook.entries import Chore, Entry
from backreef.plots.true_minutes import true_minutes
from backreef.reports.document import forecast_schema, to_document
from backreef.reports.html import report_html
from backreef.reports.text_layout import Style
from backreef.reports.work_text import work_page
from backreef.usecases.true_minutes import with_true_minutes
from tests import forecast_world as world
from tests.logbook_world import a_reading, an_entry

GLASS = ChoreLine(
    task="glass_inner",
    name="Clean the inner glass",
    minutes_per_month_p05=16.0,
    minutes_per_month_p50=20.0,
    minutes_per_month_p95=24.0,
    times_per_year=48.0,
    needs_presence=True,
    look=False,
)
"""Twenty minutes a month, four times a month: five minutes each, four to six."""


def forecast() -> Forecast:
    base = world.a_holding_forecast()
    march = MonthLine(
        first_on=date(2027, 3, 1),
        days=31,
        minutes_p05=80.0,
        minutes_p50=100.0,
        minutes_p95=120.0,
        budget_minutes=240.0,
    )
    minutes = replace(base.minutes, by_chore=(GLASS,), by_month=(march,), looks_per_month_p50=30.4375)
    return replace(base, minutes=minutes)


def done(task: str, minutes: float | None, *, day: int = 2, month: int = 3) -> Entry:
    what = Chore(task=task, minutes=minutes, written="as it was written")
    return an_entry(f"{task}{month}-{day}-{minutes}", what, at=datetime(2027, month, day, 12, tzinfo=UTC))


ENTRIES = (
    done("glass_inner", 8.0, day=2),
    done("glass_inner", 12.0, day=9),
    done("glass_inner", 9.0, day=16),
    done("glass_inner", None, day=23),
    done("wc_do", 45.0, day=10),
    done("glass_inner", 7.0, day=3, month=4),
    an_entry("reading", a_reading()),
)


def logged() -> Forecast:
    return with_true_minutes(forecast(), ENTRIES)


def test_each_time_is_counted_and_what_has_no_minutes_is_not_guessed() -> None:
    glass = next(line for line in logged().minutes.logged if line.task == "glass_inner")
    assert (glass.times, glass.times_without) == (4, 1)
    assert (glass.least_min, glass.middle_min, glass.most_min) == (7.0, 8.5, 12.0)


def test_what_was_assumed_stands_beside_it_for_one_time() -> None:
    glass = next(line for line in logged().minutes.logged if line.task == "glass_inner")
    assert (glass.assumed_low_min, glass.assumed_min, glass.assumed_high_min) == pytest.approx((4, 5, 6))


def test_a_task_that_the_plan_does_not_have_has_no_assumed_minutes() -> None:
    change = next(line for line in logged().minutes.logged if line.task == "wc_do")
    assert change.middle_min == 45.0
    assert change.assumed_min is None
    assert "not in the plan" in work_page(logged(), Style(width=80, colour=False, ascii_only=True))


def test_months_stand_beside_those_of_the_forecast_looks_included() -> None:
    march, april = logged().minutes.logged_by_month
    assert (march.first_on, march.minutes, march.times) == (date(2027, 3, 1), 8 + 12 + 9 + 45, 4)
    assert march.forecast_min == pytest.approx(100.0 + 31.0), "a minute of looks a day"
    assert (april.minutes, april.forecast_min) == (7.0, None)


def test_the_most_work_comes_first_and_totals_agree() -> None:
    minutes = logged().minutes
    assert [line.task for line in minutes.logged] == ["wc_do", "glass_inner"]
    assert sum(month.minutes for month in minutes.logged_by_month) == 8 + 12 + 9 + 45 + 7


def test_without_chores_in_the_log_nothing_changes() -> None:
    assert with_true_minutes(forecast(), (an_entry("reading", a_reading()),)) == forecast()


def test_page_report_and_document_show_it() -> None:
    page = work_page(logged(), Style(width=80, colour=False, ascii_only=True))
    assert "Minutes as logged, each time" in page
    assert "8 (7-12)" in page
    assert "5 (4-6)" in page
    assert all(len(line) <= 80 for line in page.splitlines())
    figure = true_minutes(logged())
    assert figure is not None
    assert "1 take longer than assumed, 0 less" in figure.description
    assert "Minutes each time, as logged and as assumed" in report_html(logged())
    assert "as logged" not in report_html(forecast())
    document = to_document(logged())
    jsonschema.validate(document, forecast_schema())
    assert document["minutes"]["logged"][1]["assumed_min"] == 5.0
