"""Texts of plans on disk: what a forecast of one rests on, and two who write at once."""

from __future__ import annotations

import os
import threading
from pathlib import Path

import pytest

from backreef.aquarium.plan import Plan
from backreef.usecases import preview
from backreef.usecases.plan_desk import Overtaken, digest_of, keep_text, rests_on, text_rests_on
from tests.page_world import PLAN

CLOSED = PLAN + '[keeper]\nclosed = [{ calendar = "closed.ics" }]\n'
CALENDAR = """\
BEGIN:VCALENDAR
VERSION:2.0
PRODID:-//reading room//closed//
BEGIN:VEVENT
UID:1
DTSTAMP:20260101T000000Z
DTSTART;VALUE=DATE:20270{month}01
DTEND;VALUE=DATE:20270{month}05
SUMMARY:closed
END:VEVENT
END:VCALENDAR
"""


def in_folder(folder: Path, month: int) -> Path:
    path = folder / "reef.toml"
    path.write_text(CLOSED, encoding="utf-8")
    (folder / "closed.ics").write_text(
        CALENDAR.replace("{month}", f"{month}"), encoding="utf-8", newline="\r\n"
    )
    return path


def test_a_forecast_rests_on_the_calendars_beside_its_plan(tmp_path: Path) -> None:
    sums = [rests_on(in_folder(tmp_path, month)) for month in (3, 3, 4)]
    assert sums[0] == sums[1] != sums[2]
    assert text_rests_on(PLAN, tmp_path / "reef.toml") == digest_of(PLAN)
    (tmp_path / "closed.ics").unlink()
    assert rests_on(tmp_path / "reef.toml") == digest_of(CLOSED)


def test_a_look_is_not_remembered_where_only_a_calendar_changed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    looked: list[str] = []

    def look(plan: Plan, *_: object, **__: object) -> str:
        looked.append(plan.name)
        return "a forecast"

    monkeypatch.setattr(preview, "_look_at", look)
    preview.forget()
    for month in (3, 3, 4):
        preview.get_ready(CLOSED, in_folder(tmp_path, month), until_on=None)
    preview.forget()
    assert len(looked) == 2


def test_of_two_who_write_at_once_the_later_is_told_so(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "reef.toml"
    path.write_text(PLAN, encoding="utf-8")
    texts = [PLAN.replace("0.2 g", amount) for amount in ("0.3 g", "0.4 g")]
    refused: list[str] = []

    def write(text: str) -> None:
        try:
            keep_text(path, text, before=digest_of(PLAN))
        except Overtaken:
            refused.append(text)

    second = threading.Thread(target=write, args=(texts[1],))

    def slow(_handle: int) -> None:
        monkeypatch.setattr(os, "fsync", lambda _handle: None)
        second.start()
        second.join(0.3)  # it would be through by now if it did not wait

    monkeypatch.setattr(os, "fsync", slow)
    write(texts[0])
    second.join()
    assert refused == [texts[1]]
    assert path.read_text(encoding="utf-8") == texts[0]
