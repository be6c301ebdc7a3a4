from __future__ import annotations

import re
from datetime import timedelta
from typing import TYPE_CHECKING

import pytest

from backreef.web.place import Place
from tests.page_world import text_of

if TYPE_CHECKING:
    from django.test import Client

PASSWORD = "a long walk to the reef"
PAGE = "/t/reef/people/"


def stranger() -> Client:
    from django.test import Client

    return Client(SERVER_NAME="localhost")


def invited(keeper: Client, name: str, role: str = "carer") -> str:
    """The address of an invitation, as it is shown once."""
    page = keeper.post(PAGE, {"do": "give", "name": name, "role": role}).content.decode()
    found = re.search(r'readonly value="http://localhost(/invitation/[^"]+)"', page)
    assert found is not None, page
    return found[1]


def accepted(address: str, password: str = PASSWORD) -> Client:
    browser = stranger()
    response = browser.post(address, {"password": password, "again": password})
    assert response.status_code == 302
    return browser


def test_somebody_is_invited_chooses_a_password_and_comes_again(client: Client) -> None:
    mate = accepted(invited(client, "mate"))
    assert "Test tank" in text_of(mate.get("/"))
    assert mate.post("/t/reef/plan/text/", {"do": "save"}).status_code == 403
    again = stranger()
    assert again.post("/sign-in/", {"name": "mate", "password": PASSWORD}).status_code == 302
    assert again.get("/t/reef/log/").status_code == 200


def test_an_invitation_works_once_and_not_for_ever(client: Client) -> None:
    from backreef.web import people
    from backreef.web.models import Link

    address = invited(client, "mate")
    accepted(address)
    assert stranger().get(address).status_code == 410
    person = people.person_of("mate")
    assert person is not None
    secret = people.invitation(person)
    Link.objects.filter(kind=Link.INVITATION).update(ends_at=Link.objects.last().made_at - timedelta(days=1))  # type: ignore[union-attr]
    assert stranger().get(f"/invitation/{secret}/").status_code == 410


def test_a_weak_password_does_not_use_an_invitation_up(client: Client) -> None:
    address = invited(client, "mate")
    browser = stranger()
    for first, again, words in (
        ("short", "short", "too short"),
        (PASSWORD, "another long walk", "not the same"),
    ):
        response = browser.post(address, {"password": first, "again": again})
        assert response.status_code == 422
        assert words in text_of(response)
    accepted(address)


def test_a_new_invitation_closes_the_older_one(client: Client) -> None:
    first = invited(client, "mate")
    page = client.post("/people/", {"do": "invite", "name": "mate"})
    assert "The invitation for mate" in text_of(page)
    assert stranger().get(first).status_code == 410


@pytest.mark.parametrize("name", ["keeper", "Keeper", "sitter", "two words", "", "x" * 41, "<b>"])
def test_names_that_are_none_are_refused(client: Client, name: str) -> None:
    from django.contrib.auth.models import User

    before = User.objects.count()
    response = client.post(PAGE, {"do": "give", "name": name, "role": "viewer"})
    assert response.status_code == 422
    assert 'aria-invalid="true"' in response.content.decode()
    assert User.objects.count() == before


def test_a_role_that_is_none_is_refused(client: Client) -> None:
    response = client.post(PAGE, {"do": "give", "name": "mate", "role": "keeper"})
    assert response.status_code == 422
    assert "owner, carer or viewer" in text_of(response)


def test_a_role_is_changed_and_taken_back_at_once(client: Client) -> None:
    mate = accepted(invited(client, "mate", "viewer"))
    assert mate.post("/t/reef/log/", {"line": "no3 12", "do": "save"}).status_code == 403
    client.post(PAGE, {"do": "give", "name": "mate", "role": "carer"})
    assert mate.post("/t/reef/log/", {"line": "no3 12", "do": "save"}).status_code == 302
    client.post(PAGE, {"do": "take", "name": "mate"})
    assert mate.get("/t/reef/log/").status_code == 404


def test_a_closed_account_is_signed_out_everywhere(client: Client) -> None:
    mate = accepted(invited(client, "mate"))
    accepted(invited(client, "other"))
    client.post("/people/", {"do": "close", "name": "mate"})
    assert mate.get("/").status_code == 302
    assert stranger().post("/sign-in/", {"name": "mate", "password": PASSWORD}).status_code == 403
    assert "The account is closed" in text_of(client.get("/people/"))


def test_an_owner_cannot_take_over_an_account_by_inviting_it(client: Client) -> None:
    owner = accepted(invited(client, "owner", "owner"))
    accepted(invited(client, "mate"))
    response = owner.post(PAGE, {"do": "give", "name": "mate", "role": "viewer"})
    assert response.status_code == 302
    assert "/invitation/" not in owner.get(PAGE).content.decode()
    assert owner.post("/people/", {"do": "invite", "name": "mate"}).status_code == 403


def test_nobody_closes_the_keepers_account(client: Client) -> None:
    client.post("/people/", {"do": "close", "name": "keeper"})
    assert client.get("/").status_code == 200


def test_a_password_is_changed_by_who_knows_the_old_one(client: Client) -> None:
    address = invited(client, "mate")
    mate, elsewhere = accepted(address), stranger()
    elsewhere.post("/sign-in/", {"name": "mate", "password": PASSWORD})
    fresh = "another long walk to the reef"
    wrong = mate.post("/password/", {"old": "guess", "password": fresh, "again": fresh})
    assert wrong.status_code == 422
    assert mate.post("/password/", {"old": PASSWORD, "password": fresh, "again": fresh}).status_code == 302
    assert mate.get("/").status_code == 200
    assert elsewhere.get("/").status_code == 302
    assert stranger().post("/sign-in/", {"name": "mate", "password": fresh}).status_code == 302


def test_guessing_at_one_name_from_many_addresses_is_slow_too(client: Client) -> None:
    from backreef.web import access

    accepted(invited(client, "mate"))
    browser = stranger()
    for number in range(access.MOST_ATTEMPTS_AT_A_NAME):
        said = {"name": "mate", "password": "guess"}
        assert browser.post("/sign-in/", said, REMOTE_ADDR=f"10.0.0.{number}").status_code == 403
    said = {"name": "mate", "password": PASSWORD}
    assert browser.post("/sign-in/", said, REMOTE_ADDR="10.0.1.1").status_code == 429


def test_whether_a_name_is_known_is_not_told(client: Client) -> None:
    accepted(invited(client, "mate"))
    answers = {
        text_of(stranger().post("/sign-in/", {"name": name, "password": "guess"})).replace(name, "")
        for name in ("mate", "nobody-at-all")
    }
    assert len(answers) == 1


def test_a_session_ends_by_itself(client: Client, place: Place) -> None:
    from django.contrib.sessions.models import Session
    from django.utils import timezone

    from backreef.web import bootstrap

    assert client.get("/").status_code == 200
    (session,) = Session.objects.all()
    assert timedelta(days=13) < session.expire_date - timezone.now() < timedelta(days=15)
    Session.objects.update(expire_date=timezone.now() - timedelta(seconds=1))
    assert client.get("/").status_code == 302
    bootstrap.forget_old_sessions()
    assert not Session.objects.exists()


def test_invitations_stand_in_no_log() -> None:
    from backreef.web.logs import without_secrets

    assert without_secrets("GET /invitation/abcdefghijkl/ 500") == "GET /invitation/.../ 500"


def test_an_owner_makes_a_further_plan_and_the_same_people_come_in(client: Client, place: Place) -> None:
    owner = accepted(invited(client, "owner", "owner"))
    carer = accepted(invited(client, "mate"))
    assert carer.post("/t/reef/plan/copy/", {"name": "summer"}).status_code == 403
    response = owner.post("/t/reef/plan/copy/", {"name": "With a tang"})
    assert response.headers["Location"] == "/t/with_a_tang/plan/"
    further = place.folder / "with_a_tang.toml"
    assert further.read_bytes() == (place.folder / "reef.toml").read_bytes()
    assert owner.get("/t/with_a_tang/plan/part/tank/").status_code == 200
    assert carer.get("/t/with_a_tang/log/").status_code == 200
    assert carer.get("/t/with_a_tang/plan/part/tank/").status_code == 403
    for name in ("Test tank (reef)", "Test tank (with_a_tang)"):
        assert name in text_of(owner.get("/"))
    owner.post("/t/reef/plan/copy/", {"name": "With a tang"})
    assert (place.folder / "with_a_tang_2.toml").exists()
