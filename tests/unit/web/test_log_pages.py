from __future__ import annotations

import io
from datetime import timedelta
from typing import TYPE_CHECKING, Any

from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image

from backreef.web import bootstrap
from backreef.web.place import Place
from tests.page_world import PLAN, text_of

if TYPE_CHECKING:
    from django.test import Client

LOG = "/t/reef/log/"
TABLE = b"date,no3 (mg/L),po4\n2026-01-10,5,0.04\n2026-01-17,7,0.05\n"


def entries() -> list[str]:
    from backreef.logbook.store import Wanted

    store = bootstrap.log_store()
    return [] if store is None else [one.what.kind for one in store.entries(Wanted(tank="Test tank"))]


def test_a_line_is_shown_before_it_is_saved(client: Client) -> None:
    response = client.post(LOG, {"line": "no3 12 ppm, fed double", "do": "look"})
    page = text_of(response)
    assert "Understood as" in page
    assert "Nitrate: 12 mg/L NO3" in page
    assert "Assumed:" in page
    assert entries() == []
    assert client.post(LOG, {"line": "no3 12 ppm, fed double", "do": "save"}).status_code == 302
    assert entries() == ["reading", "feeding"]
    assert "nitrate: 12 mg/L NO3" in text_of(client.get(LOG))


def test_what_is_logged_is_told_by_the_clock_of_the_tanks_place(client: Client, place: Place) -> None:
    """A keeper on the other side of the world feeds in the evening, and it is no other day."""
    from backreef.logbook.store import Wanted

    elsewhere = PLAN + '[keeper]\ntime_zone = "Pacific/Auckland"\n'
    (place.folder / "reef.toml").write_text(elsewhere, encoding="utf-8")
    for at in ("2026-01-10 18:30", "2026-07-10 18:30", ""):
        assert client.post(LOG, {"line": "no3 12", "at": at, "do": "save"}).status_code == 302
    store = bootstrap.log_store()
    assert store is not None
    told = [one.at for one in store.entries(Wanted(tank="Test tank"))]
    assert [at.isoformat() for at in told[:2]] == ["2026-01-10T18:30:00+13:00", "2026-07-10T18:30:00+12:00"]
    assert told[2].utcoffset() in (timedelta(hours=12), timedelta(hours=13))


def test_it_looks_while_one_types(client: Client) -> None:
    response = client.post(LOG, {"line": "po4 0.08"}, headers={"HX-Request": "true"})
    assert "Phosphate: 0.08" in text_of(response)
    assert "<html" not in response.content.decode()
    assert entries() == []


def test_a_line_that_cannot_be_read_says_why(client: Client) -> None:
    response = client.post(LOG, {"line": "no3 lots, xyzzy 3", "do": "save"})
    assert response.status_code == 422
    assert response.content.decode().count('<ul class="faults"') == 1
    assert 'value="no3 lots, xyzzy 3"' in response.content.decode()
    assert entries() == []


def test_the_last_line_is_taken_back(client: Client) -> None:
    client.post(LOG, {"line": "no3 12", "do": "save"})
    client.post(LOG, {"do": "undo"})
    assert entries() == []
    assert client.post(LOG, {"do": "undo"}).status_code == 409


def test_an_entry_is_corrected_and_keeps_what_it_said(client: Client) -> None:
    client.post(LOG, {"line": "no3 12", "do": "save"})
    store = bootstrap.log_store()
    assert store is not None
    (entry,) = store.all_revisions()
    page = f"{LOG}{entry.id}/"
    assert client.post(page, {"line": "no3 21", "why": "misread", "do": "correct"}).status_code == 302
    words = text_of(client.get(page))
    assert "21 mg/L" in words
    assert "12 mg/L" in words
    assert "misread" in words
    assert client.post(page, {"do": "withdraw"}).status_code == 302
    assert entries() == []


def test_a_table_is_shown_then_saved_and_comes_out_again(client: Client) -> None:
    upload = SimpleUploadedFile("log.csv", TABLE)
    shown = client.post("/t/reef/log-table/", {"table": upload})
    page = shown.content.decode()
    assert "4 new entries" in text_of(shown)
    assert entries() == []
    token = page.partition('name="token" value="')[2].partition('"')[0]
    assert client.post("/t/reef/log-table/", {"token": token, "do": "save"}).status_code == 302
    assert entries() == ["reading"] * 4
    again = client.post("/t/reef/log-table/", {"table": SimpleUploadedFile("log.csv", TABLE)})
    assert "4 rows are in the log already" in text_of(again)
    out = client.get("/t/reef/log-table/export.csv")
    assert out.headers["Content-Type"].startswith("text/csv")
    assert out.content.decode().count("\r\n") == 5


def test_a_wrong_table_is_refused_with_every_fault(client: Client) -> None:
    wrong = SimpleUploadedFile("wrong.csv", b"date,no3\n2026-01-10,many\nyesterdayish,3\n")
    response = client.post("/t/reef/log-table/", {"table": wrong})
    assert response.status_code == 422
    page = text_of(response)
    assert "wrong.csv, row 2" in page
    assert "wrong.csv, row 3" in page
    assert entries() == []


def test_a_made_up_token_finds_no_file(client: Client) -> None:
    for token in ("../../web", "x", "a" * 40):
        assert client.post("/t/reef/log-table/", {"token": token, "do": "save"}).status_code == 422


def test_a_photograph_is_kept_and_shown(client: Client, place: Place) -> None:
    out = io.BytesIO()
    Image.new("RGB", (2000, 1500), "teal").save(out, "PNG")
    upload = SimpleUploadedFile("front.png", out.getvalue())
    client.post("/t/reef/photographs/", {"picture": upload, "caption": "the front"})
    assert entries() == ["photograph"]
    page = client.get(LOG).content.decode()
    assert "the front" in page
    address = page.partition('class="shot" src="')[2].partition('"')[0]
    picture: Any = client.get(address)
    assert picture.headers["Content-Type"] == "image/png"
    assert Image.open(io.BytesIO(b"".join(picture.streaming_content))).size == (704, 528)
    whole: Any = client.get(address.partition("?")[0])
    assert Image.open(io.BytesIO(b"".join(whole.streaming_content))).size == (2000, 1500)
    assert list(place.waiting.iterdir()) == []


def test_what_is_no_photograph_is_refused(client: Client) -> None:
    upload = SimpleUploadedFile("notes.png", b"<svg onload='alert(1)'>")
    response = client.post("/t/reef/photographs/", {"picture": upload}, follow=True)
    assert "notes.png is no picture" in text_of(response)
    assert entries() == []


def test_what_somebody_wrote_is_never_markup(client: Client) -> None:
    client.post(LOG, {"line": "note: <script>alert(1)</script>", "do": "save"})
    assert "<script>alert" not in client.get(LOG).content.decode()


def test_readings_make_a_course(client: Client) -> None:
    client.post(LOG, {"line": "no3 12, kh 8", "do": "save"})
    page = client.get(f"{LOG}?show=alkalinity_dkh")
    assert "Alkalinity" in text_of(page)
    assert 'class="reading"' in page.content.decode()
