"""What the page is asked for never leads out of its folder."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from backreef.errors import InputFaults
from backreef.usecases.plan_desk import catalogue_beside, check_text, digest_of, keep_text, plan_of_text
from tests.page_world import PLAN, text_of

if TYPE_CHECKING:
    from django.test import Client

    from backreef.web.place import Place

SECRET = "BEGIN:VCALENDAR\nVERSION:2.0\nPRODID:secret words of somebody\nEND:VCALENDAR\n"
CLOSED = '\n[keeper]\nclosed = [{{ weekday = "Sunday" }}, {{ calendar = "{named}" }}]\n'


@pytest.fixture
def secret(place: Place) -> Path:
    """A file and a folder beside the served folder, and a link to each in it."""
    outside = place.folder.parent / f"{place.folder.name}-outside"
    outside.mkdir()
    (outside / "secret.ics").write_text(SECRET, encoding="utf-8")
    (place.folder / "link.ics").symlink_to(outside / "secret.ics")
    (place.folder / "link").symlink_to(outside)
    (place.folder / "round").symlink_to("round")
    return outside


def texts_leading_out(outside: Path) -> list[tuple[str, str]]:
    """Plans that name what lies elsewhere, with the key that does."""
    away = [
        f"../{outside.name}/secret.ics",
        str(outside / "secret.ics"),
        "link.ics",
        "link/secret.ics",
        "round",
    ]
    away += ["/etc/passwd", "/dev/zero", "a/../../b.ics", "//server/share.ics"]
    named = [(PLAN + CLOSED.format(named=one), "keeper.closed[1].calendar") for one in away]
    folders = [f"../{outside.name}", str(outside), "link", "..", "/", "~/../.."]
    return named + [(f'catalogue = "{one}"\n{PLAN}', "catalogue") for one in folders[:-1]]


def test_no_text_of_the_page_names_a_file_elsewhere(client: Client, place: Place, secret: Path) -> None:
    for text, key in texts_leading_out(secret):
        said = {"text": text, "before": digest_of(PLAN), "do": "save"}
        response = client.post("/t/reef/plan/text/", said)
        assert response.status_code == 422, text
        shown = text_of(response)
        assert "lies outside of the plan" in shown
        assert key in shown
        assert "secret words" not in response.content.decode().replace(text, "")
        assert (place.folder / "reef.toml").read_text(encoding="utf-8") == PLAN


def test_what_lies_elsewhere_is_not_even_looked_at(place: Place, secret: Path) -> None:
    path = place.folder / "reef.toml"
    for text, key in texts_leading_out(secret):
        with pytest.raises(InputFaults) as refusal:
            plan_of_text(text, path)
        assert [fault.key for fault in refusal.value.faults] == [key]
        assert refusal.value.faults[0].line is not None
        with pytest.raises(InputFaults):
            keep_text(path, text, before=digest_of(PLAN))
        assert not check_text(text, path).ok
        assert catalogue_beside(text, path).species


def test_what_lies_beside_the_plan_is_read(client: Client, place: Place) -> None:
    calendar = (
        "BEGIN:VCALENDAR\nVERSION:2.0\nPRODID:x\nBEGIN:VEVENT\nUID:1\nDTSTART;VALUE=DATE:20270301\n"
        "SUMMARY:Stocktaking\nEND:VEVENT\nEND:VCALENDAR\n"
    )
    (place.folder / "days").mkdir()
    (place.folder / "days" / "closed.ics").write_text(calendar, encoding="utf-8")
    (place.folder / "own").mkdir()
    text = f'catalogue = "own"\n{PLAN}{CLOSED.format(named="days/../days/closed.ics")}'
    said = {"text": text, "before": digest_of(PLAN), "do": "save"}
    assert client.post("/t/reef/plan/text/", said).status_code == 302


@pytest.mark.parametrize(
    "address",
    [
        "/t/../plan/",
        "/t/..%2f..%2fetc%2fpasswd/plan/file/",
        "/t/%2e%2e/plan/file/",
        "/t/reef/own/species/..%2f..%2freef/",
        "/t/reef/own/../reef/",
        "/t/reef/own/%2e%2e/reef/",
        "/photographs/..%2f..%2f.backreef%2fsecret-key/",
        "/photographs/../",
        "/assets/0/..%2fsettings.py",
        "/assets/0/../../settings.py",
        "/catalogue/../species/",
        "/catalogue/species/..%2f..%2fsources/",
    ],
)
def test_no_address_leads_out_of_the_folder(client: Client, place: Place, address: str) -> None:
    response = client.get(address)
    assert response.status_code in (400, 404, 409), response.status_code
    for kept in (place.secret_key(), PLAN, "DATA_UPLOAD_MAX"):
        assert kept.encode() not in response.content
