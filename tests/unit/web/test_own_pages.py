from __future__ import annotations

import tomllib
from typing import TYPE_CHECKING

import pytest

from backreef.catalogue.entries import Value
from backreef.web.place import Place
from tests.page_world import PLAN, do_the_work, text_of

if TYPE_CHECKING:
    from django.test import Client

FOOD = "/t/reef/own/foods/pellet_small/"
FISH = "/t/reef/own/species/ocellaris_clown/"


def own_of(place: Place, name: str) -> dict[str, object]:
    return tomllib.loads((place.folder / "own-catalogue" / name).read_text(encoding="utf-8"))


def test_a_number_of_ones_own_takes_the_place_of_what_ships(client: Client, place: Place) -> None:
    from backreef.catalogue.load import load_catalogue

    said = {
        "protein_frac.value": "0,5",
        "protein_frac.low": "0.47",
        "protein_frac.high": "0.52",
        "note": "label",
    }
    assert client.post(FOOD, said).status_code == 302
    assert 'catalogue = "own-catalogue"' in (place.folder / "reef.toml").read_text(encoding="utf-8")
    found = load_catalogue(extra=place.folder / "own-catalogue").foods["pellet_small"].protein_frac
    assert isinstance(found, Value)
    assert (found.value, found.low, found.high) == (0.5, 0.47, 0.52)
    told = own_of(place, "foods/pellet_small.toml")["protein_frac"]
    assert told == {
        "value": 0.5,
        "low": 0.47,
        "high": 0.52,
        "source": "keeper",
        "place": "label",
        "status": "memory",
    }
    page = text_of(client.get("/t/reef/own/"))
    assert "0.5 (0.47 to 0.52)" in page
    assert "fat" not in page


def test_every_fault_comes_at_once_and_nothing_is_written(client: Client, place: Place) -> None:
    said = {"protein_frac.value": "62", "fat_frac.value": "much", "ash_frac.low": "0.2"}
    response = client.post(FOOD, said)
    assert response.status_code == 422
    page = text_of(response)
    assert "did you mean 0.62?" in page
    assert "'much' is no number" in page
    assert "have to rise in this order" in page
    assert 'value="62"' in response.content.decode()
    assert not (place.folder / "own-catalogue").exists()
    assert (place.folder / "reef.toml").read_text(encoding="utf-8") == PLAN


def test_a_food_of_ones_own_can_be_fed(client: Client, place: Place) -> None:
    assert client.post(FOOD, {"name": "House pellets", "protein_frac.value": "0.47"}).status_code == 302
    assert own_of(place, "foods/house_pellets.toml")["name"] == "House pellets"
    client.post("/t/reef/plan/add/meals/", {"thing": "house_pellets", "amount": "0.1 g"})
    assert 'food = "house_pellets"' in (place.folder / "reef.toml").read_text(encoding="utf-8")
    refused = client.post("/t/reef/own/foods/house_pellets/", {"do": "take"}, follow=True)
    assert "the plan needs it" in text_of(refused)
    assert own_of(place, "foods/house_pellets.toml")["name"] == "House pellets"


def test_a_name_that_is_there_already_is_refused(client: Client) -> None:
    response = client.post(FOOD, {"name": "Flake"})
    assert response.status_code == 422
    assert "there is a food 'flake' already" in text_of(response)


def test_ones_own_is_taken_back(client: Client, place: Place) -> None:
    client.post(FISH, {"adult_length_cm.value": "9"})
    assert own_of(place, "species/ocellaris_clown.toml")
    assert "The catalogue says: 8" in text_of(client.get(FISH))
    assert client.post(FISH, {"do": "take"}).status_code == 302
    assert not (place.folder / "own-catalogue" / "species" / "ocellaris_clown.toml").exists()
    assert client.get("/t/reef/plan/").status_code == 200


def test_a_forecast_is_stale_after_a_number_of_ones_own(
    client: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    client.post(FOOD, {"protein_frac.value": "0.47"})
    client.post("/t/reef/forecast/")
    do_the_work(monkeypatch)
    assert "has been changed since" not in text_of(client.get("/t/reef/forecast/"))
    client.post(FOOD, {"protein_frac.value": "0.48"})
    assert "has been changed since" in text_of(client.get("/t/reef/forecast/"))


def test_what_is_nowhere_is_not_found(client: Client) -> None:
    for address in ("foods/nothing", "devices/ato", "foods/..", "species/pellet_small"):
        assert client.get(f"/t/reef/own/{address}/").status_code == 404


def test_entries_outside_of_the_folder_are_not_touched(client: Client, place: Place) -> None:
    outside = place.folder.parent / f"{place.folder.name}-elsewhere"
    (outside / "foods").mkdir(parents=True)
    text = PLAN.replace("[tank]", f'catalogue = "../{outside.name}"\n\n[tank]', 1)
    (place.folder / "reef.toml").write_text(text, encoding="utf-8")
    assert client.post(FOOD, {"protein_frac.value": "0.47"}).status_code in (302, 404, 409)
    assert list(outside.rglob("*.toml")) == []
