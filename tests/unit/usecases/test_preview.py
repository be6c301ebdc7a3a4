"""A look that goes on from what was marched before shows what a look from the first day shows."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest

from backreef.reports.change_html import change_content
from backreef.simulation import taken_up
from backreef.usecases import preview as looks
from tests.rehearsal_world import FEEDER, LAMP, SMALL

PLAN = SMALL + FEEDER + LAMP
WITH_MORE = f'{PLAN}[[animals]]\nid = "a_shrimp"\nspecies = "peppermint_shrimp"\narrives_on = 2027-03-31\n'
PATH = Path("reef.toml")


@pytest.fixture(autouse=True)
def _nothing_is_remembered() -> Iterator[None]:
    looks.forget()
    yield
    looks.forget()


def test_it_is_the_same_look(monkeypatch: pytest.MonkeyPatch) -> None:
    marches: list[taken_up.Taking] = []

    class Watched(taken_up.Taking):
        def __init__(self, *told: object) -> None:
            super().__init__(*told)  # type: ignore[arg-type]
            marches.append(self)

    monkeypatch.setattr(taken_up, "Taking", Watched)
    until_on = date(2028, 1, 1)
    with monkeypatch.context() as forgetful:
        forgetful.setattr(looks, "MOST_REMEMBERED", 0)
        from_the_first_day = change_content(looks.preview(PLAN, WITH_MORE, PATH, until_on=until_on))
    assert [march.first_day for march in marches] == [0, 0]
    looks.forget()
    looks.get_ready(PLAN, PATH, until_on=until_on)
    marches.clear()
    gone_on = change_content(looks.preview(PLAN, WITH_MORE, PATH, until_on=until_on))
    assert [march.first_day for march in marches] == [84]
    assert gone_on == from_the_first_day
    assert "species peppermint_shrimp" in gone_on
