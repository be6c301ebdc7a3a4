"""Looking at a change before it is saved, taking one back, rows of small tables."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest

from backreef.usecases.plan_desk import digest_of
from backreef.web import quick, quick_work
from backreef.web.place import Place
from tests.cli_world import stand_in
from tests.page_world import PLAN, look_here, text_of

if TYPE_CHECKING:
    from django.test import Client

ADD = "/t/reef/plan/add/animals/"


def stands(place: Place) -> str:
    return (place.folder / "reef.toml").read_text(encoding="utf-8")


def test_a_newcomer_is_looked_at_in_the_three_balances(
    client: Client, place: Place, monkeypatch: pytest.MonkeyPatch
) -> None:
    look_here(monkeypatch)
    page = client.get(f"{ADD}?q=tang&thing=yellow_tang").content.decode()
    assert 'hx-trigger="load, change"' in page
    assert "Put it into the plan" in page
    said = {"thing": "yellow_tang", "count": "2", "arrives_on": "2027-03-01", "do": "try"}
    look = text_of(client.post(ADD, said, headers={"HX-Request": "true"}))
    for balance in ("Mouths", "Water", "Hands"):
        assert f"{balance} holds in" in look
    assert "A quick look" in look
    assert "too small" in look  # found new by the rules
    assert "species yellow_tang, count 2, arrives_on 2027-03-01" in look
    assert stands(place) == PLAN


def test_a_newcomer_comes_as_it_was_asked_for(client: Client, place: Place) -> None:
    client.post(ADD, {"thing": "cerith", "count": "3", "arrives_on": "2027-03-01"})
    assert 'species = "cerith"\ncount = 3\narrives_on = 2027-03-01' in stands(place)


def test_what_is_wrong_with_a_newcomer_is_said(
    client: Client, place: Place, monkeypatch: pytest.MonkeyPatch
) -> None:
    look_here(monkeypatch)
    said = {"thing": "cerith", "count": "many", "do": "try"}
    assert "animals[2].count" in text_of(client.post(ADD, said, headers={"HX-Request": "true"}))
    assert client.get(f"{ADD}?thing=nothing_of_this_name").status_code == 200
    response = client.post(ADD, {"thing": "cerith", "count": "0"}, follow=True)
    assert "animals[2].count" in text_of(response)
    assert stands(place) == PLAN


@pytest.mark.parametrize("script", [True, False])
def test_a_form_can_be_looked_at_before_it_is_saved(
    client: Client, place: Place, monkeypatch: pytest.MonkeyPatch, *, script: bool
) -> None:
    look_here(monkeypatch)
    said = {"before": digest_of(PLAN), "animals[0].count": "3", "do": "try"}
    headers = {"HX-Request": "true"} if script else {}
    response = client.post("/t/reef/plan/animals/0/", said, headers=headers)
    assert response.status_code == 200
    assert "Water holds in" in text_of(response)
    assert "count: 2 in as it is, 3 in changed" in text_of(response)
    assert stands(place) == PLAN


def test_what_takes_too_long_is_said(client: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    def slow(_: object) -> dict[str, object]:
        raise quick.TooSlow

    monkeypatch.setattr(quick, "ask", slow)
    said = {"before": digest_of(PLAN), "animals[0].count": "3", "do": "try"}
    response = client.post("/t/reef/plan/animals/0/", said, headers={"HX-Request": "true"})
    assert "took too long" in text_of(response)


def test_the_last_change_is_taken_back_and_then_the_one_before(client: Client, place: Place) -> None:
    assert ">Undo<" not in client.get("/t/reef/plan/").content.decode()
    texts = [PLAN]
    for count in ("3", "4"):
        said = {"before": digest_of(stands(place)), "animals[0].count": count}
        client.post("/t/reef/plan/animals/0/", said)
        texts.append(stands(place))
    for earlier in (texts[1], texts[0]):
        assert ">Undo<" in client.get("/t/reef/plan/").content.decode()
        said = {"do": "undo", "before": digest_of(stands(place))}
        assert "Taken back" in text_of(client.post("/t/reef/plan/versions/", said, follow=True))
        assert stands(place) == earlier
    assert ">Undo<" not in client.get("/t/reef/plan/").content.decode()
    said = {"before": digest_of(PLAN), "animals[0].count": "5"}
    client.post("/t/reef/plan/animals/0/", said)
    client.post("/t/reef/plan/versions/", {"do": "undo", "before": digest_of(stands(place))})
    assert stands(place) == PLAN


def test_nothing_is_taken_back_of_a_plan_that_was_changed_elsewhere(client: Client, place: Place) -> None:
    client.post("/t/reef/plan/animals/0/", {"before": digest_of(PLAN), "animals[0].count": "3"})
    seen = digest_of(stands(place))
    other = stands(place).replace("0.2 g", "0.3 g")
    (place.folder / "reef.toml").write_text(other, encoding="utf-8")
    response = client.post("/t/reef/plan/versions/", {"do": "undo", "before": seen}, follow=True)
    assert "nothing to take back" in text_of(response)
    assert stands(place) == other


def test_days_closed_are_filled_in_as_rows(client: Client, place: Place) -> None:
    page = client.get("/t/reef/plan/part/keeper/").content.decode()
    assert 'name="keeper.closed[0].weekday"' in page
    said = {
        "before": digest_of(PLAN),
        "keeper.closed[0].weekday": "Sunday",
        "keeper.closed[1].every_year": "2 Aug to 15 Aug",
        "keeper.closed[1].label": "summer",
        "keeper.helpers[0].name": "caretaker",
        "keeper.helpers[0].tasks": "ato_refill",
        "keeper.helpers[0].when_closed": "yes",
    }
    assert client.post("/t/reef/plan/part/keeper/", said).status_code == 302
    assert 'weekday = "Sunday"' in stands(place)
    assert '{ every_year = "2 Aug to 15 Aug", label = "summer" }' in stands(place)
    assert "when_closed = true" in stands(place)


def test_remarks_inside_a_list_are_not_lost(client: Client, place: Place) -> None:
    remarked = PLAN + '\n[keeper]\nclosed = [\n  { weekday = "Sunday" }, # the caretaker sings\n]\n'
    (place.folder / "reef.toml").write_text(remarked, encoding="utf-8")
    said = {"before": digest_of(remarked), "keeper.closed[0].weekday": "Monday"}
    response = client.post("/t/reef/plan/part/keeper/", said)
    assert "remarks stand inside" in text_of(response)
    assert stands(place) == remarked


def test_an_opened_page_leaves_only_the_change_to_be_simulated(
    client: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    from backreef.usecases import forecast as usecase

    judged: list[int] = []

    def judge(*told: Any, **more: Any) -> Any:
        judged.append(len(told[0].animals))
        return stand_in(*told, **more)

    look_here(monkeypatch)
    monkeypatch.setattr(usecase, "default_judge", lambda: judge)
    monkeypatch.setattr(quick, "wake", lambda ready: quick_work.answer({"do": quick_work.WAKE, **ready()}))
    client.get(f"{ADD}?q=tang&thing=yellow_tang")
    assert judged == [2]
    said = {"thing": "yellow_tang", "count": "1", "arrives_on": "", "do": "try"}
    client.post(ADD, said, headers={"HX-Request": "true"})
    assert judged == [2, 3]


def test_the_warm_process_answers_and_goes_on_after_nonsense() -> None:
    try:
        assert quick_work.answer({"do": quick_work.WAKE})["html"] == ""
        assert "failed" in str(quick.ask({"do": "nothing"})["faults"])
        faulty = {"do": quick_work.LOOK, "before": PLAN, "after": "no plan", "path": "x.toml", "until": None}
        assert quick.ask(faulty)["faults"]
    finally:
        quick.leave()
