from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from backreef.usecases.plan_desk import digest_of
from backreef.web.place import Place
from tests.page_world import PLAN, text_of

if TYPE_CHECKING:
    from django.test import Client


def stands(place: Place) -> str:
    return (place.folder / "reef.toml").read_text(encoding="utf-8")


def test_it_shows_the_plan_with_findings_beside_the_animal(client: Client) -> None:
    page = text_of(client.get("/t/reef/plan/"))
    assert "2 × Ocellaris clownfish" in page
    assert "a dead one fouls this water" in page


def test_saving_what_nobody_touched_changes_nothing(client: Client, place: Place) -> None:
    from backreef.usecases.plan_form import fields_of

    for name, section in (("tank", ("tank",)), ("keeper", ("keeper",)), ("file", ())):
        said = {field.name: field.written for field in fields_of(PLAN, section)}
        assert (
            client.post(f"/t/reef/plan/part/{name}/", {"before": digest_of(PLAN), **said}).status_code == 302
        )
    assert stands(place) == PLAN


def test_a_change_keeps_every_other_word(client: Client, place: Place) -> None:
    said = {"before": digest_of(PLAN), "animals[0].count": "3", "animals[0].length": "4 cm"}
    assert client.post("/t/reef/plan/animals/0/", said).status_code == 302
    assert stands(place) == PLAN.replace("count = 2", 'count = 3\nlength = "4 cm"')


def test_a_fault_stands_beside_its_field_and_nothing_is_saved(client: Client, place: Place) -> None:
    said = {"before": digest_of(PLAN), "animals[0].count": "0", "animals[0].length": "long"}
    response = client.post("/t/reef/plan/animals/0/", said)
    assert response.status_code == 422
    page = response.content.decode()
    assert 'value="0"' in page
    assert "found 0, but this lies between 1 and 5000" in page
    assert "&#x27;long&#x27; does not begin with a number" in page
    assert stands(place) == PLAN


def test_it_looks_while_one_types_and_saves_nothing(client: Client, place: Place) -> None:
    said = {"before": digest_of(PLAN), "animals[0].count": "7000"}
    response = client.post("/t/reef/plan/animals/0/", said, headers={"HX-Request": "true"})
    assert response.status_code == 200
    assert 'hx-swap-oob="true"' in response.content.decode()
    assert "found 7000" in response.content.decode()
    assert stands(place) == PLAN


def test_a_file_that_was_changed_elsewhere_is_not_overwritten(client: Client, place: Place) -> None:
    other = PLAN.replace("0.2 g", "0.3 g")
    (place.folder / "reef.toml").write_text(other, encoding="utf-8")
    said = {"before": digest_of(PLAN), "animals[0].count": "3"}
    response = client.post("/t/reef/plan/animals/0/", said)
    assert response.status_code == 422
    assert "changed elsewhere" in text_of(response)
    assert 'value="3"' in response.content.decode()
    assert stands(place) == other


def test_an_animal_comes_and_goes(client: Client, place: Place) -> None:
    found = client.get("/t/reef/plan/add/animals/?q=cerith")
    assert "Cerith snail" in text_of(found)
    response = client.post("/t/reef/plan/add/animals/", {"thing": "cerith"})
    assert response.headers["Location"] == "/t/reef/plan/animals/2/"
    assert 'species = "cerith"' in stands(place)
    assert client.post("/t/reef/plan/animals/2/", {"do": "remove"}).status_code == 302
    assert stands(place).split() == PLAN.split()


@pytest.mark.parametrize(("section", "thing"), [("foods", "pellet_small"), ("devices", "skimmer_hang")])
def test_something_of_every_list_can_be_looked_at_and_added(
    client: Client, place: Place, section: str, thing: str
) -> None:
    address = f"/t/reef/plan/add/{section}/?q={thing}&thing={thing}"
    assert "Put it into the plan" in text_of(client.get(address))
    assert client.post(address, {"thing": thing}).headers["Location"] == f"/t/reef/plan/{section}/0/"
    assert f"[[{section}]]" in stands(place)
    assert client.get(f"/t/reef/plan/{section}/0/").status_code == 200


def test_each_list_is_added_to_by_its_own_word(client: Client) -> None:
    page = text_of(client.get("/t/reef/plan/"))
    for words in ("Add animals", "Add a meal", "Add a label", "Add a chore", "Add a device"):
        assert page.count(words) == 1


def test_removing_what_something_else_names_is_refused(client: Client, place: Place) -> None:
    named = PLAN.replace('amount = "0.2 g"', 'enough_for = "growth"\nwho = ["clowns"]')
    (place.folder / "reef.toml").write_text(named, encoding="utf-8")
    response = client.post("/t/reef/plan/animals/0/", {"do": "remove"}, follow=True)
    assert "cannot simply go" in text_of(response)
    assert stands(place) == named


def test_the_text_is_saved_as_it_was_typed(client: Client, place: Place) -> None:
    typed = PLAN.replace("# a remark", "# another remark")
    said = {"before": digest_of(PLAN), "text": typed.replace("\n", "\r\n"), "do": "save"}
    assert client.post("/t/reef/plan/text/", said).status_code == 302
    assert stands(place) == typed


def test_a_faulty_text_is_shown_with_its_lines(client: Client, place: Place) -> None:
    said = {"before": digest_of(PLAN), "text": PLAN.replace("300 L", "300 X"), "do": "save"}
    response = client.post("/t/reef/plan/text/", said)
    assert response.status_code == 422
    assert "Line 6" in text_of(response)
    assert stands(place) == PLAN


def test_versions_tell_changes_in_words_and_come_back(client: Client, place: Place) -> None:
    from backreef.web.models import Version

    said = {"before": digest_of(PLAN), "animals[0].count": "3"}
    client.post("/t/reef/plan/animals/0/", said)
    page = text_of(client.get("/t/reef/plan/versions/"))
    assert "animals clowns: count: 2 → 3" in page
    assert "as it was first seen here" in page.lower()
    first = Version.objects.order_by("pk")[0]
    assert client.post("/t/reef/plan/versions/", {"version": first.pk}).status_code == 302
    assert stands(place) == PLAN


def test_the_file_comes_out_byte_by_byte(client: Client) -> None:
    assert client.get("/t/reef/plan/file/").content == PLAN.encode()


def test_no_name_leads_out_of_the_folder(client: Client) -> None:
    for stem in ("..", "%2e%2e%2freef", "other", "reef.toml"):
        assert client.get(f"/t/{stem}/plan/").status_code == 404
