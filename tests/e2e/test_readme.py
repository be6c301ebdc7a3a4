"""What the README promises can be done, and its picture is one that everybody can see."""

from __future__ import annotations

import re
from xml.etree import ElementTree as ET

import pytest

from backreef.cli.app import VERBS
from backreef.judgement.verdict import Forecast
from scripts.write_ribbon import PICTURE, ribbon_svg
from tests.cli_world import ROOT
from tests.forecast_world import a_breaking_forecast, a_holding_forecast

README = (ROOT / "README.md").read_text(encoding="utf-8")
SVG = "{http://www.w3.org/2000/svg}"


def test_its_links_lead_somewhere() -> None:
    targets = re.findall(r"\]\(([^)#]+)\)", README)
    assert "docs/reading_room_ribbon.svg" in targets
    assert [target for target in targets if not (ROOT / target).exists()] == []


def test_its_commands_are_commands() -> None:
    verbs = set(re.findall(r"python3 go\.py (\w+)", README))
    assert {"demo", "test"} <= verbs
    assert verbs - {"test"} <= set(VERBS)


@pytest.mark.parametrize("forecast", [a_holding_forecast(), a_breaking_forecast()], ids=["holds", "breaks"])
def test_a_ribbon_stands_alone(forecast: Forecast) -> None:
    text = ribbon_svg(forecast)
    root = ET.fromstring(text)
    assert root.tag == f"{SVG}svg"
    assert forecast.plan_name in (root.findtext(f"{SVG}title") or "")
    assert root.findtext(f"{SVG}desc")
    assert "--paper" in (root.findtext(f"{SVG}style") or "")
    assert re.findall(r"(?:href|src|url)\s*[=(]\s*[\"']?(?!#)[a-z]+:", text) == []


def test_the_picture_in_the_repository_is_such_a_ribbon() -> None:
    root = ET.fromstring(PICTURE.read_text(encoding="utf-8"))
    assert (root.findtext(f"{SVG}title") or "").startswith("Year ribbon of Reading")
    assert root.find(f"{SVG}style") is not None
