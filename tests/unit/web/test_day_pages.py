"""Seasons and days of a forecast, and why a number is what it is."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

import pytest

from backreef.usecases import why as asking
from backreef.web import bootstrap, quick, quick_work
from backreef.web.place import Place
from tests.cli_world import stand_in
from tests.forecast_parts import DAYS, START_ON
from tests.logbook_world import an_entry
from tests.page_world import PLAN, do_the_work, text_of

if TYPE_CHECKING:
    from django.test import Client

    from backreef.judgement.verdict import Forecast

FORECAST = "/t/reef/forecast/"
NITRATE = "nitrate_mg_no3_per_l"


@pytest.fixture
def forecast(client: Client, place: Place, monkeypatch: pytest.MonkeyPatch) -> Client:
    """The keeper's browser, with a forecast there whose days are those of the plan."""
    plan = PLAN.replace("2027-01-04", START_ON.isoformat()).replace('"1 years"', '"3 years"')
    (place.folder / "reef.toml").write_text(plan, encoding="utf-8")
    client.post(FORECAST)
    do_the_work(monkeypatch)
    return client


def test_the_forecast_leads_to_its_seasons_and_they_to_each_other(forecast: Client) -> None:
    first = f"{FORECAST}season/{START_ON.year}-{START_ON.month - (START_ON.month - 1) % 3}/"
    assert f'href="{first}"' in forecast.get(FORECAST).content.decode()
    page = forecast.get(first)
    assert page.status_code == 200
    assert '<svg class="chart"' in page.content.decode()
    assert 'rel="next"' in page.content.decode()
    assert 'rel="prev"' not in page.content.decode()
    for wrong in ("1999-1", f"{START_ON.year}-2", f"{START_ON.year}-13"):
        assert forecast.get(f"{FORECAST}season/{wrong}/").status_code == 404


def test_a_day_says_what_is_eaten_done_and_measured(forecast: Client) -> None:
    on = START_ON + timedelta(days=40)
    store = bootstrap.log_store(create=True)
    assert store is not None
    at = an_entry("a1").at.replace(year=on.year, month=on.month, day=on.day)
    store.add([an_entry("a1", tank="Test tank", at=at)])
    page = text_of(forecast.get(f"{FORECAST}day/{on}/"))
    assert "0.2 g" in page
    assert "pellets" in page
    assert "min" in page
    assert "Nitrate: 11.95 mg/L NO3" in page
    assert "Why nitrate?" in page
    assert "The day before" in page
    part = forecast.get(f"{FORECAST}day/{on}/", headers={"HX-Request": "true"}).content.decode()
    assert "<html" not in part
    assert "The water" in part


def test_how_animals_of_the_plan_are_fed_can_be_asked(forecast: Client) -> None:
    on = START_ON + timedelta(days=100)
    page = forecast.get(f"{FORECAST}day/{on}/").content.decode()
    for what in ("condition_ratio", "energy_met_ratio"):
        assert f"?of=clowns.{what}@{on}" in page
    assert "Cerith" in page
    assert "?of=ceriths" not in page  # the forecast has them, the plan has not


def test_what_an_animal_gets_is_not_known_before_its_first_day_is_over(
    client: Client, place: Place, monkeypatch: pytest.MonkeyPatch
) -> None:
    def judge(*asked: Any, **how: Any) -> Forecast:
        found = stand_in(*asked, **how)
        pair = next(one for one in found.animals if one.id == "clowns")
        came.append(pair.arrives_on or START_ON)
        pair.energy_met.p50[(came[0] - START_ON).days] = 0.0
        return found

    came: list[date] = []

    plan = PLAN.replace("2027-01-04", START_ON.isoformat())
    (place.folder / "reef.toml").write_text(plan, encoding="utf-8")
    client.post(FORECAST)
    do_the_work(monkeypatch, judge)
    asked = "?of=clowns.energy_met_ratio@"
    first, second = (client.get(f"{FORECAST}day/{came[0] + timedelta(days=n)}/") for n in (0, 1))
    assert "0\u00a0%</td>" not in first.content.decode()
    assert "not known" in text_of(first)
    assert asked not in first.content.decode()
    assert asked in second.content.decode()


def test_days_outside_of_the_forecast_are_not_there(forecast: Client) -> None:
    for on in (START_ON - timedelta(days=1), START_ON + timedelta(days=DAYS)):
        assert forecast.get(f"{FORECAST}day/{on}/").status_code == 404
    assert forecast.get(f"{FORECAST}day/2027-02-31/").status_code == 404
    assert "The day before" not in text_of(forecast.get(f"{FORECAST}day/{START_ON}/"))


def test_without_a_forecast_its_days_lead_to_it(client: Client) -> None:
    for address in ("season/2027-1/", "day/2027-01-05/"):
        response = client.get(f"{FORECAST}{address}")
        assert response.headers["Location"] == FORECAST


def test_a_number_is_worked_out_and_then_known(client: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    asked = "tank.rock_kg"
    page = client.get(f"/t/reef/why/?of={asked}")
    assert "Work it out" in text_of(page)
    client.post("/t/reef/why/", {"of": asked})
    assert "waits for its turn" in text_of(client.get(f"/t/reef/why/?of={asked}"))
    do_the_work(monkeypatch)
    page = client.get(f"/t/reef/why/?of={asked}")
    assert "How it comes about" in text_of(page)
    assert "Work it out" not in text_of(page)


def test_what_cannot_be_asked_is_said(client: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    client.post("/t/reef/why/", {"of": "tank.rok_kg"})
    do_the_work(monkeypatch)
    assert "did you mean tank.rock_kg" in text_of(client.get("/t/reef/why/?of=tank.rok_kg"))
    assert "could not be worked out" not in text_of(client.get("/t/reef/why/?of=tank.sump_l"))


def test_one_march_answers_for_every_series_of_a_day(
    client: Client, place: Place, monkeypatch: pytest.MonkeyPatch
) -> None:
    from backreef.web.models import Job

    short = PLAN.replace('"1 years"', '"0.06 years"')
    (place.folder / "reef.toml").write_text(short, encoding="utf-8")
    client.post("/t/reef/why/", {"of": f"{NITRATE}@2027-01-10"})
    waiting = client.get("/t/reef/why/?of=oxygen_mg_per_l@2027-01-10")
    assert "waits for its turn" in text_of(waiting)
    do_the_work(monkeypatch)
    fed = [
        f"{one}.{what}" for one in ("clowns", "urchin") for what in ("condition_ratio", "energy_met_ratio")
    ]
    for name in (*asking.daily_series(), *fed):
        assert "How it comes about" in text_of(client.get(f"/t/reef/why/?of={name}@2027-01-10"))
    assert Job.objects.count() == 1


def test_everything_that_can_be_asked_is_listed(client: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    assert "Show everything" in text_of(client.get("/t/reef/why/"))
    monkeypatch.setattr(quick, "ask", quick_work.answer)
    for page in (
        client.get("/t/reef/why/?list=now"),
        client.get("/t/reef/why/", headers={"HX-Request": "true"}),
    ):
        assert "?of=clowns.mass_g" in page.content.decode()
        assert f"?of={NITRATE}%40" in page.content.decode()
