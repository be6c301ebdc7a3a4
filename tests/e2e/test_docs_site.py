"""The pages of docs become a site without a dead link, and ask no other host for anything."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

import click
import pytest

from backreef.cli.app import VERBS, backreef
from tests.cli_world import ROOT, environment
from tests.docs_world import DOCS

PAGES = sorted(DOCS.rglob("*.md"))
ELSEWHERE = r"=\"(?:https?:)?//"
ASKS = re.compile(
    rf"<(?:script|img|iframe|source)[^>]+src{ELSEWHERE}|<link[^>]+stylesheet[^>]+href{ELSEWHERE}"
)


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("site")
    build = [sys.executable, "-m", "sphinx", "-q", "-W", "--keep-going", "-d", str(folder / "kept")]
    done = subprocess.run(
        [*build, str(DOCS), str(folder / "html")],
        capture_output=True,
        text=True,
        env=environment(),
        check=False,
    )
    assert (done.returncode, done.stderr) == (0, "")
    return folder / "html"


def test_every_page_is_in_it(site: Path) -> None:
    made = {str(page.relative_to(site).with_suffix(".md")) for page in site.rglob("*.html")}
    assert {str(page.relative_to(DOCS)) for page in PAGES} <= made


def test_it_asks_no_other_host(site: Path) -> None:
    assert [page.name for page in site.rglob("*.html") if ASKS.search(page.read_text(encoding="utf-8"))] == []


@pytest.mark.parametrize("page", [*PAGES, ROOT / "CONTRIBUTING.md"], ids=lambda page: page.name)
def test_what_it_links_or_names_is_there(page: Path) -> None:
    text = page.read_text(encoding="utf-8")
    links = [target for target in re.findall(r"\]\(([^)#\s]+)[^)]*\)", text) if "://" not in target]
    named = re.findall(r"`((?:src|docs|tests|bench|scripts|examples)/[\w./-]+\.\w+)`", text)
    assert [target for target in links if not (page.parent / target).exists()] == []
    assert [target for target in named if not (ROOT / target).exists()] == []


@pytest.mark.parametrize(
    "page", [*PAGES, ROOT / "README.md", ROOT / "CONTRIBUTING.md"], ids=lambda page: page.name
)
def test_its_commands_are_commands_with_options_that_they_take(page: Path) -> None:
    text = page.read_text(encoding="utf-8")
    said = re.findall(r"(?:python3 go\.py|^(?: {4}|\$ )backreef) ([a-z]+)([^`#\n]*)", text, re.MULTILINE)
    for verb, rest in said:
        assert verb in {*VERBS, "test"}, verb
        taken = {"--long"} if verb == "test" else options_of(verb, rest.split())
        assert set(re.findall(r"(?<!\S)--[a-z][a-z-]*", rest)) <= taken, rest
    modules = [
        name.replace(".", "/") for name in re.findall(r"python -m ((?:tests|bench|scripts)\.[\w.]*\w)", text)
    ]
    assert [name for name in modules if not (ROOT / f"{name}.py").exists()] == []
    files = re.findall(r"\b((?:tests|bench|scripts)/[\w./-]+\.py)\b", text)
    assert [name for name in files if not (ROOT / name).exists()] == []


def options_of(verb: str, words: list[str]) -> set[str]:
    """What a command takes, or the part of it that the next word names; `log 'LINE'` is `log line`."""
    command = backreef.get_command(click.Context(backreef), verb)
    parts = command.commands if isinstance(command, click.Group) else {}
    part = parts.get(words[0], parts.get("line")) if words else None
    asked = [one for one in (command, part) if one is not None]
    return {
        name for one in asked for param in one.params for name in (*param.opts, *param.secondary_opts)
    } | {"--help"}


def test_the_guide_to_the_interface_runs(tmp_path: Path) -> None:
    done = subprocess.run(
        [sys.executable, "-P", str(DOCS / "api_guide.py")],
        capture_output=True,
        text=True,
        cwd=tmp_path,
        env=environment(),
        check=False,
    )
    assert (done.returncode, done.stderr) == (0, "")
    assert "which gallon?" in done.stdout
