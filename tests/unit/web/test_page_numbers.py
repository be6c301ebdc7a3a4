"""Every number on the page's other pages answers why, or stands in a list with the reason why it need not."""

from __future__ import annotations

import re
from collections import Counter
from datetime import timedelta
from typing import TYPE_CHECKING

import pytest

from backreef.usecases import kept_fits
from backreef.usecases import rehearse as rehearsing
from backreef.web.place import Place
from tests.forecast_parts import START_ON
from tests.number_census import named_numbers, shown_numbers
from tests.page_world import PLAN, do_the_work
from tests.unit.web.test_other_pages import AWAY, REHEARSED
from tests.unit.web.test_propose_page import an_answer
from tests.unit.web.test_reconcile_page import FOUND

if TYPE_CHECKING:
    from django.test import Client

ON = START_ON + timedelta(days=40)
PAGES = {
    "tanks": "/",
    "season": f"/t/reef/forecast/season/{ON.year}-{ON.month - (ON.month - 1) % 3}/",
    "day": f"/t/reef/forecast/day/{ON}/",
    "plan": "/t/reef/plan/",
    "propose": "/t/reef/propose/",
    "away": "/t/reef/away/",
    "sheet": "/t/reef/away/sheet.html",
    "log": "/t/reef/log/",
    "reconcile": "/t/reef/reconcile/",
}

NAMED = named_numbers("page")


def test_every_number_of_the_other_pages_leads_to_its_working_or_is_named(
    client: Client, place: Place, monkeypatch: pytest.MonkeyPatch
) -> None:
    plan = PLAN.replace("2027-01-04", START_ON.isoformat()).replace('"1 years"', '"3 years"')
    (place.folder / "reef.toml").write_text(plan, encoding="utf-8")
    monkeypatch.setattr(rehearsing, "rehearse", lambda *_, **__: REHEARSED)
    monkeypatch.setattr(kept_fits, "reconcile_again", lambda *_, **__: FOUND)
    client.post("/t/reef/log/", {"line": "no3 12", "do": "save"})
    client.post("/t/reef/forecast/")
    client.post("/t/reef/away/", {**AWAY, "do": "rehearse"})
    client.post("/t/reef/reconcile/")
    do_the_work(monkeypatch)
    an_answer(place)
    used: Counter[str] = Counter()
    faults, linked = [], Counter[str]()
    for page, address in PAGES.items():
        response = client.post(address, AWAY) if page == "sheet" else client.get(address)
        assert response.status_code == 200, page
        for one in shown_numbers(response.content.decode("utf-8")):
            where = f"{page}/{one.where}"
            linked[page] += len(one.numbers) if one.figure else 0
            if one.figure:
                continue
            rules = [rule["where"] for rule in NAMED if re.fullmatch(rule["where"], where)]
            used.update(rules)
            faults += [] if rules else [f"{where}: {one.text}"]
    assert not faults, "\n".join(faults)
    assert not [rule["where"] for rule in NAMED if not used[rule["where"]]], "no longer needed"
    assert {"tanks", "season", "day", "away", "reconcile"} <= set(+linked)
