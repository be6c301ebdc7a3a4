"""Proposals in the page: wishes in, plans out, one adopted; and what-ifs."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from backreef.usecases import why
from backreef.usecases.asked import Asking
from backreef.usecases.kept import kept_text
from backreef.usecases.offers import Offer, Offers, SoFar
from backreef.usecases.plan_desk import digest_of
from backreef.web.place import Place
from tests.page_world import PLAN, do_the_work, look_here, text_of

if TYPE_CHECKING:
    from django.test import Client

PROPOSE, WHAT_IF = "/t/reef/propose/", "/t/reef/what-if/"
OFFERED = PLAN.replace("count = 2", "count = 4")


def stands(place: Place) -> str:
    return (place.folder / "reef.toml").read_text(encoding="utf-8")


def an_answer(place: Place, status: str = "found") -> None:
    """A search that has ended, with one plan, or with none."""
    from backreef.web.models import Job

    job = Job.objects.create(kind="propose", stem="reef", digest=digest_of(PLAN), state=Job.DONE, asked={})
    offer = Offer(
        aim="most_wishes",
        title="Most of the wishes",
        text=OFFERED,
        verdict="holds in 63 of 64 members",
        reasons=("4 April 2027: 4 clowns",),
        differences=("animals clowns: count: 2 in the plan as it is, 4 in this one",),
    )
    found = Offers(
        status=status,
        words="One plan holds.",
        plans=() if status == "none" else (offer,),
        outcomes="",
        wishes=("a shoal: met",),
        conflicts=(("a shark", "It collides with the tank."),),
        as_it_is="Even with nobody new the plan breaks: Nitrate rises." if status == "none" else "",
        tried=("9 × clowns: Clowns starve (holds in 25 % of the weakest members)",),
        left_out=("shark: too large",),
    )
    (place.results / job.file_name).write_text(kept_text(found), encoding="utf-8")


def test_wishes_are_kept_in_the_plan_and_a_search_is_asked_for(client: Client, place: Place) -> None:
    from backreef.web.models import Job

    assert "What you wish" in text_of(client.get(PROPOSE))
    said = {
        "do": "search",
        "before": digest_of(PLAN),
        "keeper.wishes[0].text": "a shoal that moves",
        "keeper.wishes[0].weight": "2",
        "keeper.minutes_per_month": "90 min",
    }
    assert client.post(PROPOSE, said).status_code == 302
    assert '{ text = "a shoal that moves", weight = 2 }' in stands(place)
    job = Job.objects.get()
    assert (job.kind, job.digest) == ("propose", digest_of(stands(place)))
    assert "waits for its turn" in text_of(client.get(PROPOSE))


def test_a_search_without_a_plan_says_what_becomes_of_the_tank_as_it_is_and_what_was_tried(
    client: Client, place: Place
) -> None:
    an_answer(place, status="none")
    page = text_of(client.get(PROPOSE))
    assert "Even with nobody new the plan breaks: Nitrate rises." in page
    tried = page[page.index("Tried and not taken (1)") :]
    assert "9 × clowns: Clowns starve (holds in 25 % of the weakest members)" in tried
    assert "Adopt it" not in page


def test_faulty_wishes_are_told_and_nothing_is_searched(client: Client, place: Place) -> None:
    from backreef.web.models import Job

    said = {"do": "search", "before": digest_of(PLAN), "keeper.minutes_per_month": "many"}
    response = client.post(PROPOSE, said)
    assert response.status_code == 422
    assert "keeper.minutes_per_month" in text_of(response)
    assert stands(place) == PLAN
    assert not Job.objects.exists()


def test_what_was_found_is_compared_and_adopted(client: Client, place: Place) -> None:
    an_answer(place)
    page = text_of(client.get(PROPOSE))
    for words in ("Most of the wishes", "Holds in 63 of 64", "count: 2 in the plan as it is", "a shark"):
        assert words in page
    said = {"do": "adopt", "offer": "0", "before": digest_of(PLAN)}
    assert "Adopted" in text_of(client.post(PROPOSE, said, follow=True))
    assert stands(place) == OFFERED
    assert "adopted: most of the wishes" in text_of(client.get("/t/reef/plan/versions/")).lower()
    assert "changed since this search" in text_of(client.get(PROPOSE))
    assert "changed elsewhere" in text_of(client.post(PROPOSE, said, follow=True))
    assert client.post(PROPOSE, said | {"offer": "7"}).status_code == 404


def test_numbers_of_an_offer_are_asked_of_its_own_text(
    client: Client, place: Place, monkeypatch: pytest.MonkeyPatch
) -> None:
    an_answer(place)
    assert 'href="/t/reef/why/?of=offer.0.share_holding"' in client.get(PROPOSE).content.decode()
    asked = []

    def workings_beside(path: Path, figure: str, *, text: str | None, **_: object) -> dict[str, why.Working]:
        asked.append((figure, text))
        return {figure: why.working_of(Asking(path, members=1, seed=1, text=text), figure)}

    monkeypatch.setattr(why, "workings_beside", workings_beside)
    for of in ("offer.0.mass_in_service_kg", "mass_in_service_kg"):
        assert client.post("/t/reef/why/", {"of": of}).status_code == 302
    do_the_work(monkeypatch)
    assert asked == [("mass_in_service_kg", OFFERED), ("mass_in_service_kg", None)]
    page = client.get("/t/reef/why/?of=offer.0.mass_in_service_kg").content.decode()
    assert "reef, plan 1 that was found.toml:" in page
    assert "?of=offer.0.floor_load_kn_per_m2" in page
    assert "plan 1 that was found" not in client.get("/t/reef/why/?of=mass_in_service_kg").content.decode()
    assert client.get("/t/reef/why/?of=offer.7.mass_in_service_kg").status_code == 404


def test_an_offer_is_laid_over_the_plan(
    client: Client, place: Place, monkeypatch: pytest.MonkeyPatch
) -> None:
    an_answer(place, "stopped")
    look_here(monkeypatch)
    assert "The search was stopped" in text_of(client.get(PROPOSE))
    said = {"do": "try", "offer": "0", "before": digest_of(PLAN)}
    for headers in ({"HX-Request": "true"}, {}):
        assert "Mouths holds in" in text_of(client.post(PROPOSE, said, headers=headers))
    assert stands(place) == PLAN


def test_the_best_so_far_is_shown_while_it_runs(client: Client, place: Place) -> None:
    from backreef.web import jobs
    from backreef.web.models import Job

    job = Job.objects.create(kind="propose", stem="reef", digest="", state=Job.RUNNING, asked={})
    jobs.keep_beside(job, SoFar(lines=("5 animals: holds",), best="5 animals: holds in 4 of 4"))
    for address in (PROPOSE, f"/jobs/{job.pk}/"):
        assert "Best so far: 5 animals: holds in 4 of 4" in text_of(client.get(address))
    assert list(place.results.glob("*.sofar.json"))


def test_a_search_ends_with_plans_or_says_why_not(
    client: Client, place: Place, monkeypatch: pytest.MonkeyPatch
) -> None:
    said = {
        "do": "search",
        "before": digest_of(PLAN),
        "keeper.wishes[0].text": "a shoal that moves",
        "keeper.minutes_per_month": "90 min",
    }
    client.post(PROPOSE, said)
    do_the_work(monkeypatch)
    page = text_of(client.get(PROPOSE))
    assert "Search anew" in page or "The search failed" in page


def test_each_fault_of_a_search_has_a_line_and_says_nothing_of_the_folder(
    client: Client, place: Place, monkeypatch: pytest.MonkeyPatch
) -> None:
    client.post(PROPOSE, {"do": "search", "before": digest_of(PLAN)})
    do_the_work(monkeypatch)
    notice = client.get(PROPOSE).content.decode().partition("The search failed")[2].partition("</p>")[0]
    lines = notice.split("<br>")
    assert len(lines) > 1
    assert (
        sum("keeper.wishes" in line for line in lines)
        == sum("keeper.presence" in line for line in lines)
        == 1
    )
    assert [line.count("reef.toml") for line in lines] == [1] * len(lines)
    assert str(place.folder) not in notice


def test_what_ifs_change_nothing_until_asked(
    client: Client, place: Place, monkeypatch: pytest.MonkeyPatch
) -> None:
    look_here(monkeypatch)
    page = client.get(WHAT_IF).content.decode()
    assert 'name="more" value="0"' in page
    query = "?more=0&food-0=pellet_micro&away=2027-08-02"
    for headers in ({"HX-Request": "true"}, {}):
        look = text_of(client.get(WHAT_IF + query, headers=headers))
        assert "Hands holds in" in look
        assert "count: 2 in as it is, 3 in changed" in look
        assert "two weeks away" in look
        assert "Make it the plan" in look
    assert stands(place) == PLAN
    said = {"more": "0", "food-0": "pellet_micro", "away": "2027-08-02", "before": digest_of(PLAN)}
    client.post(WHAT_IF, said)
    assert "count = 3" in stands(place)
    assert 'food = "pellet_micro"' in stands(place)
    assert "first = 2027-08-02, last = 2027-08-15" in stands(place)
    assert "changed meanwhile" in text_of(client.post(WHAT_IF, said, follow=True))


def test_a_chore_is_skipped(client: Client, place: Place, monkeypatch: pytest.MonkeyPatch) -> None:
    look_here(monkeypatch)
    with_chore = f'{PLAN}\n[[upkeep]]\ntask = "wc_do"\nshare = "10 %"\nevery = "14 days"\n'
    (place.folder / "reef.toml").write_text(with_chore, encoding="utf-8")
    assert "14 days" in text_of(client.get(WHAT_IF))
    assert "only in as it is" in text_of(client.get(f"{WHAT_IF}?skip=0"))
    assert "no entry 8" in text_of(client.get(f"{WHAT_IF}?skip=7"))
    assert "is no date" in text_of(client.get(f"{WHAT_IF}?away=soon"))


def test_two_plans_are_laid_over_each_other(
    client: Client, place: Place, monkeypatch: pytest.MonkeyPatch
) -> None:
    look_here(monkeypatch)
    other = PLAN.replace("Test tank", "Other tank").replace("count = 2", "count = 3")
    (place.folder / "other.toml").write_text(other, encoding="utf-8")
    assert "has no forecast yet" in text_of(client.get(f"{WHAT_IF}?beside=plan:other"))
    for stem in ("reef", "other"):
        client.post(f"/t/{stem}/forecast/")
    do_the_work(monkeypatch)
    page = text_of(client.get(f"{WHAT_IF}?beside=plan:other"))
    assert "Other tank: the middle, and 5 to 95 % of the members" in page
    assert "animals clowns: count: 2 in Test tank, 3 in Other tank" in page
    client.post("/t/reef/plan/animals/0/", {"before": digest_of(PLAN), "animals[0].count": "5"})
    from backreef.web.models import Version

    first = Version.objects.order_by("pk")[0]
    assert "count: 5 in as it is, 2 in changed" in text_of(client.get(f"{WHAT_IF}?beside=version:{first.pk}"))
    assert "no such version" in text_of(client.get(f"{WHAT_IF}?beside=version:99999"))
