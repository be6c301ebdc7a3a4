from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from backreef.calibration.outcome import Gate, Origin, Reconciled, ToDo
from backreef.logbook.entries import Entry
from backreef.usecases import kept_fits, why
from backreef.web.place import Place
from tests.page_world import PLAN, do_the_work, text_of

if TYPE_CHECKING:
    from django.test import Client

PAGE = "/t/reef/reconcile/"
FIGURE = "fit.week.wipe_the_glass.minutes"
LINK = f'href="/t/reef/why/?of={FIGURE}"'
FOUND = Reconciled(
    plan_name="Test tank",
    plan_file="reef.toml",
    start_on=date(2027, 1, 4),
    days=30,
    first_reading_on=date(2027, 1, 5),
    last_on=date(2027, 1, 20),
    until_on=date(2027, 3, 17),
    members=96,
    seed=1,
    origin=Origin(how="fresh", fitted_on=date(2027, 1, 20), since_count=0, why_fresh="", kept=False),
    holds=True,
    readings=(),
    questioned=(),
    entered=(),
    left_out=(),
    outlooks=(),
    moved=(),
    tangled=(),
    water=(),
    alarms=(),
    next_readings=(),
    week_from=date(2027, 1, 21),
    this_week=(
        ToDo(
            kind="chore",
            what="wipe the glass",
            why="it falls due by the plan",
            minutes=6.0,
            if_not="algae hide the fish",
            on=date(2027, 1, 22),
        ),
    ),
    gates=(
        Gate(
            entry_id="shoal",
            who="cardinalfish",
            count=4,
            planned_on=date(2027, 2, 2),
            state="closed",
            why="nitrate is 30 mg/L",
        ),
    ),
)


def test_without_a_log_it_asks_for_a_reading(client: Client) -> None:
    assert "Nothing is in the log yet" in text_of(client.get(PAGE))


def test_it_is_asked_for_read_and_gives_the_week_to_the_first_page(
    client: Client, place: Place, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked = []

    def reconcile(path: object, entries: list[object], **_: object) -> Reconciled:
        asked.append((path, len(entries)))
        return FOUND

    monkeypatch.setattr(kept_fits, "reconcile_again", reconcile)
    client.post("/t/reef/log/", {"line": "no3 12", "do": "save"})
    assert client.post(PAGE).status_code == 302
    do_the_work(monkeypatch)
    assert asked == [(place.folder / "reef.toml", 1)]
    page = text_of(client.get(PAGE))
    assert "This week, from 21 Jan 2027" in page
    assert "Wipe the glass" in page
    first = text_of(client.get("/"))
    assert "The week from 21 Jan 2027" in first
    assert "Wipe the glass on 22 Jan 2027, 6 min: it falls due by the plan." in first
    assert "The gate is closed for 4 cardinalfish" in first


@pytest.mark.parametrize("change", ["log", "plan"])
def test_a_list_of_another_plan_or_log_is_not_shown_as_this_weeks(
    client: Client, place: Place, monkeypatch: pytest.MonkeyPatch, change: str
) -> None:
    monkeypatch.setattr(kept_fits, "reconcile_again", lambda *_, **__: FOUND)
    client.post("/t/reef/log/", {"line": "no3 12", "do": "save"})
    client.post(PAGE)
    do_the_work(monkeypatch)
    assert LINK in client.get(PAGE).content.decode()
    if change == "log":
        client.post("/t/reef/log/", {"line": "no3 14", "do": "save"})
    else:
        (place.folder / "reef.toml").write_text(PLAN.replace("0.2 g", "0.3 g"), encoding="utf-8")
    assert "has been changed since" in text_of(client.get(PAGE))
    assert "The week from" not in text_of(client.get("/"))
    assert LINK not in client.get(PAGE).content.decode(), "it would answer for another log or plan"


def test_a_number_of_it_answers_for_as_long_as_plan_and_log_are_as_they_were(
    client: Client, place: Place, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked = []

    def why_fit(path: Path, entries: Sequence[Entry], figure: str, **_: object) -> why.Working:
        asked.append((path, len(entries), figure))
        return why.why(path, "mass_in_service_kg")

    monkeypatch.setattr(why, "why_fit", why_fit)
    client.post("/t/reef/log/", {"line": "no3 12", "do": "save"})
    address = f"/t/reef/why/?of={FIGURE}"
    assert client.post("/t/reef/why/", {"of": FIGURE}).url == address  # type: ignore[attr-defined]
    do_the_work(monkeypatch)
    assert asked == [(place.folder / "reef.toml", 1, FIGURE)]
    assert "Mass of the filled tank" in text_of(client.get(address))
    client.post("/t/reef/log/", {"line": "no3 14", "do": "save"})
    assert "Mass of the filled tank" not in text_of(client.get(address))
