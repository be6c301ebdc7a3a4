"""What the pages of docs show of files, lines and answers is so."""

from __future__ import annotations

import ast
import re
import textwrap
from html import unescape
from pathlib import Path

import click
import pytest

import backreef
from backreef.aquarium.load import load_plan_text
from backreef.catalogue.load import load_catalogue
from backreef.cli.app import VERBS
from backreef.cli.app import backreef as program
from backreef.logbook.line import read_line
from backreef.logbook.vocabulary import Vocabulary
from backreef.reports.html import report_html
from backreef.usecases.examples import example_plan
from tests.cli_world import ROOT, process
from tests.docs_world import blocks, page
from tests.e2e.conftest import Run
from tests.forecast_world import a_breaking_forecast

TEMPLATES = ROOT / "src" / "backreef" / "web" / "templates" / "web"
MISTAKES = """\
start_on = 2027-01-04
[tank]
display = "66 gal"
[keeper]
minutes_per_month = "60 min"

[[animals]]
id = "pair"
species = "ocelaris_clown"
"""
CALENDAR = """\
BEGIN:VCALENDAR
VERSION:2.0
PRODID:here
BEGIN:VEVENT
UID:1
DTSTAMP:20260101T000000Z
DTSTART;VALUE=DATE:20270301
SUMMARY:new floor
END:VEVENT
END:VCALENDAR
"""


def test_the_shortest_plan_is_one() -> None:
    shortest, _ = blocks("plan-file.md", "toml")
    plan = load_plan_text(shortest, "shortest.toml", load_catalogue())
    assert plan.start_on.isoformat() == "2027-01-04"


def test_closed_days_can_be_said_as_the_page_says(tmp_path: Path, run: Run) -> None:
    shortest, closed = blocks("plan-file.md", "toml")
    (tmp_path / "closures.ics").write_text(CALENDAR, encoding="utf-8")
    (tmp_path / "plan.toml").write_text(f"{shortest}\n[keeper]\n{closed}", encoding="utf-8")
    done = run("check", tmp_path / "plan.toml")
    assert (done.code, done.err) == (0, "")
    assert closed.count("{") == 5, "five kinds of rules"


def test_mistakes_are_told_as_the_page_tells_them(folder: Path, run: Run) -> None:
    (folder / "reef.toml").write_text(MISTAKES, encoding="utf-8")
    (said,) = blocks("plan-file.md", "text")
    assert set(said.splitlines()) <= set(run("check", "reef.toml").err.splitlines())


@pytest.mark.parametrize("name", ["log.md", "commands.md", "from-nothing.md", "../README.md"])
def test_a_line_for_the_log_is_understood(name: str) -> None:
    animals = load_plan_text(example_plan().read_text(encoding="utf-8"), "p.toml", load_catalogue()).animals
    words = Vocabulary(catalogue=load_catalogue(), animals=animals)
    lines = re.findall(r"\blog ['\"]([^'\"]+)['\"]", page(name))
    assert lines
    for line in lines:
        assert read_line(line, words)


def test_what_the_readme_shows_of_python_is_there() -> None:
    (code,) = re.findall(r"^      import backreef\n(?:.*\n)*?\n(?=Every)", page("../README.md"), re.MULTILINE)
    tree = ast.parse(textwrap.dedent(code))
    asked = [node for node in ast.walk(tree) if isinstance(node, ast.Attribute)]
    assert len(asked) == 5
    for node in asked:
        owner = backreef if ast.unparse(node.value) == "backreef" else backreef.Forecast
        assert hasattr(owner, node.attr), node.attr


def test_every_page_of_the_web_application_is_told() -> None:
    told = page("page.md").lower()
    titles = {
        title
        for file in TEMPLATES.glob("*.html")
        for title in re.findall(r'block title %\}\{% translate "([^"]+)"', file.read_text(encoding="utf-8"))
    }
    assert {"Tanks", "Calendar", "Why"} <= titles
    assert [title for title in sorted(titles) if title.lower() not in told] == []


def test_every_document_and_every_kind_of_file_is_told() -> None:
    told = page("formats.md")
    schemas = sorted((ROOT / "src" / "backreef").glob("*/data/*.schema.json"))
    assert len(schemas) > 5
    for file in schemas:
        assert f"`{file.relative_to(ROOT)}`" in told
        (name,) = re.findall(r"backreef\.\w+/\d+", file.read_text(encoding="utf-8"))[:1]
        assert f"| `{name}` |" in told
    commands = [program.get_command(click.Context(program), verb) for verb in VERBS]
    written = {
        option.opts[0]
        for command in commands
        if command is not None
        for option in command.params
        if isinstance(option, click.Option) and option.metavar == "FILE"
    }
    assert {"--html", "--json", "--ics", "--pdf"} <= written
    assert [option for option in sorted(written) if option not in told] == []


def test_from_nothing_to_the_first_monday(tmp_path: Path) -> None:
    plan, feeder = blocks("first-tank.md", "toml")
    for wrong, right in (("ocelaris", "ocellaris"), ("10 gal", "10 %"), ('"hand"', '"feeder"')):
        plan = plan.replace(wrong, right)
    (tmp_path / "my-reefs").mkdir()
    (tmp_path / "my-reefs" / "kitchen_reef.toml").write_text(
        f"{plan}\n{feeder}".replace("2027-", "2024-"), encoding="utf-8"
    )
    said = [command for block in blocks("from-nothing.md", "console") for command in block.splitlines()]
    logged, monday, calendar = (one.removeprefix("$ python3 go.py ") for one in said if "kitchen_reef" in one)
    verb, line, *rest = re.findall(r'"[^"]+"|\S+', logged)
    done = process(
        verb, line.strip('"'), *rest, "--at", "2024-01-20 10:00", "--yes", folder=tmp_path, judge="real"
    )
    assert (done.code, done.err) == (0, "")
    done = process(*monday.split(), folder=tmp_path, judge="real")
    assert done.code == 0
    assert "\nThis week, from 21 Jan 2024\n" in done.out
    done = process(*calendar.split(), folder=tmp_path, judge="real")
    assert (done.code, done.err) == (0, "")
    assert (tmp_path / "work.ics").read_bytes().startswith(b"BEGIN:VCALENDAR")


def test_the_guide_to_a_report_goes_through_its_sections_and_names_its_tables() -> None:
    report = report_html(a_breaking_forecast())
    guide = page("reading-a-report.md")
    sections = [unescape(one) for one in re.findall(r"<h2 id=[^>]*>([^<]+)", report)]
    places = [guide.find(f"\n## {one}\n") for one in sections]
    assert -1 not in places, sections
    assert places == sorted(places), "in the order of the report"
    said = {unescape(one) for one in re.findall(r"<(?:caption|h3)[^>]*>([^<]+)", report)}
    tables = re.findall(r"^- \*([^*]+)\*:|\(\*([^*]+)\*\)|^they stand", guide, re.MULTILINE)
    named = {" ".join("".join(one).split()) for one in tables if any(one)}
    remedies = {"simulated: mends this", "simulated: not enough", "not simulated", "advice"}
    assert {"Food to buy", "Minutes a month by task"} <= named - remedies <= said


def test_the_page_on_python_says_what_each_public_name_is() -> None:
    told = page("api.md")
    named = [name for name in backreef.__all__ if not name.startswith("__")]
    assert [name for name in named if not re.search(rf"\b{name}\b", told)] == []
